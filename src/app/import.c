/* Reads the zip of an export into a new room. */
#include "app/import.h"

#include <string.h>

#include "app/export.h"
#include "app/files.h"
#include "app/fold.h"
#include "app/zip.h"
#include "base/limits.h"
#include "base/shown.h"
#include "json/event_codec.h"
#include "json/json.h"

#define ROOM_BYTES_MAX 65536
#define BLOBS "blobs/"
#define BATCH_BYTES ((size_t)64 << 20) /* of blobs, in one transaction */

/* What room.json says. */
typedef struct card {
    int64_t tz_offset_min;
    int64_t n_events;
    int64_t n_blobs;
    fl_sv journal_sha256;
} card;

typedef struct import {
    fl_zip_in *zip;
    fl_arena arena; /* journal and moments, until the room is made */
    card card;
    fl_sv journal;
    fl_sv moments; /* empty: the zip has none */
    fl_app app;    /* the new room, in its scratch folder */
    const fl_progress *progress;
    fl_err *err;
} import;

/* ---- room.json ---- */

static fl_status need_int(import *im, const fl_json_value *root, const char *key, int64_t max,
                          int64_t *out)
{
    double number = 0.0;
    fl_status status = fl_json_need_number(root, key, (double)-max, (double)max, &number, im->err);
    if (status == FL_OK && !fl_json_int(fl_json_get(root, key), out)) {
        status = fl_fail(im->err, FL_EINVAL, "room.json: %s must be a whole number", key);
    }
    return status;
}

static fl_status read_card(import *im)
{
    size_t index = 0;
    int64_t format = 0;
    fl_sv text;
    fl_json_doc *doc = NULL;
    fl_status status = fl_zip_need(im->zip, "room.json", &index, im->err);
    if (status == FL_OK) {
        status = fl_zip_read(im->zip, index, ROOM_BYTES_MAX, &im->arena, &text, im->err);
    }
    if (status == FL_OK) {
        status = fl_json_parse(text, &doc, im->err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *root = fl_json_root(doc);
    status = need_int(im, root, "format", 1000000, &format);
    if (status == FL_OK && format != FL_EXPORT_FORMAT) {
        status = fl_fail(im->err, FL_EINVAL,
                         "room.json: format %lld, this fernlock reads %d: use a newer one",
                         (long long)format, FL_EXPORT_FORMAT);
    }
    if (status == FL_OK) {
        status = need_int(im, root, "tz_offset_min", 1080, &im->card.tz_offset_min);
    }
    if (status == FL_OK) {
        status = need_int(im, root, "events", INT32_MAX, &im->card.n_events);
    }
    if (status == FL_OK) {
        status = need_int(im, root, "blobs", INT32_MAX, &im->card.n_blobs);
    }
    im->card.journal_sha256 =
        fl_arena_copy_sv(&im->arena, fl_json_text(fl_json_get(root, "journal_sha256")));
    fl_json_free(doc);
    return status;
}

/* ---- journal.jsonl and recorded.jsonl ---- */

static fl_status read_journal(import *im)
{
    char hex[FL_HASH_TEXT_MAX];
    size_t index = 0;
    fl_status status = fl_zip_need(im->zip, "journal.jsonl", &index, im->err);
    if (status == FL_OK) {
        status = fl_zip_read(im->zip, index, FL_EXPORT_JOURNAL_BYTES_MAX, &im->arena, &im->journal,
                             im->err);
    }
    if (status != FL_OK) {
        return status;
    }
    const char *got = fl_hash_format(hex, fl_hash_of(im->journal.ptr, im->journal.len));
    if (!fl_sv_eq_cstr(im->card.journal_sha256, got)) {
        return fl_fail(im->err, FL_EFORMAT,
                       "journal.jsonl was changed after the export: its SHA-256 is not that of "
                       "room.json");
    }
    if (fl_zip_need(im->zip, "recorded.jsonl", &index, NULL) == FL_OK) {
        status = fl_zip_read(im->zip, index, FL_EXPORT_JOURNAL_BYTES_MAX, &im->arena, &im->moments,
                             im->err);
    }
    return status;
}

/* The next line's moment, which must belong to this event. */
static fl_status take_moment(import *im, fl_sv *moments, int64_t line, fl_id event, int64_t *at_s)
{
    fl_json_doc *doc = NULL;
    fl_precision precision = FL_PRECISION_EXACT;
    fl_id id = {{0}};
    if (im->moments.len == 0) {
        *at_s = fl_app_now(&im->app);
        return FL_OK;
    }
    fl_status status = fl_json_parse(fl_sv_split(moments, '\n'), &doc, NULL);
    if (status == FL_OK) {
        const fl_json_value *root = fl_json_root(doc);
        status = fl_id_parse(fl_json_text(fl_json_get(root, "event")), &id, NULL);
        if (status == FL_OK) {
            status = fl_civil_parse(fl_json_text(fl_json_get(root, "recorded_at")), 0, at_s,
                                    &precision, NULL);
        }
        fl_json_free(doc);
    }
    if (status != FL_OK || !fl_id_eq(id, event) || precision != FL_PRECISION_EXACT) {
        return fl_fail(im->err, FL_EFORMAT,
                       "recorded.jsonl line %lld does not say when event %lld was recorded",
                       (long long)line, (long long)line);
    }
    return FL_OK;
}

/* ---- one event ---- */

static fl_status fail_line(import *im, int64_t line, const char *what)
{
    return fl_fail(im->err, FL_EFORMAT, "journal.jsonl line %lld: %s", (long long)line, what);
}

static fl_status check_references(import *im, int64_t line, const fl_fact *facts, size_t n_facts)
{
    for (size_t i = 0; i < n_facts; i++) {
        bool exists = facts[i].is_definition;
        char text[FL_ID_TEXT_MAX];
        if (!exists) {
            fl_status status = fl_store_entity_exists(im->app.store, facts[i].entity, facts[i].id,
                                                      &exists, im->err);
            if (status != FL_OK) {
                return status;
            }
        }
        if (!exists) {
            return fl_fail(im->err, FL_EFORMAT,
                           "journal.jsonl line %lld: nothing before it brought %s into being",
                           (long long)line, fl_id_format(text, facts[i].id));
        }
    }
    return FL_OK;
}

/* As when it was recorded: only the first event of a room may make it a demo. */
static fl_status check_demo(import *im, int64_t line, const fl_event *event)
{
    if (event->kind != FL_KIND_ROOM_SET || !event->body.room_set.is_demo) {
        return FL_OK;
    }
    if (line == 1) {
        return fl_store_setting_put(im->app.store, FL_SV("demo"), FL_SV("yes"), im->err);
    }
    fl_arena arena;
    fl_sv value;
    fl_arena_init(&arena);
    fl_status status = fl_store_setting_get(im->app.store, FL_SV("demo"), &arena, &value, NULL);
    fl_arena_done(&arena);
    return status == FL_OK ? FL_OK : fail_line(im, line, "demo data in a room that is no demo");
}

static fl_status append(import *im, int64_t line, const fl_event *event, fl_sv bytes,
                        fl_sv *moments)
{
    fl_fact facts[2 * FL_LIST_MAX];
    size_t n_facts = 0;
    int64_t recorded_s = 0;
    fl_status status = take_moment(im, moments, line, event->id, &recorded_s);
    if (status == FL_OK) {
        status = check_demo(im, line, event);
    }
    if (status == FL_OK) {
        status = fl_event_facts(event, facts, sizeof facts / sizeof facts[0], &n_facts, im->err);
    }
    if (status == FL_OK) {
        status = check_references(im, line, facts, n_facts);
    }
    if (status != FL_OK) {
        return status;
    }
    status =
        fl_store_journal_append(im->app.store, event, bytes, facts, n_facts, recorded_s, im->err);
    return status == FL_ECONFLICT ? fail_line(im, line, "the id of an event before it") : status;
}

static fl_status append_line(import *im, int64_t line, fl_sv bytes, fl_sv *moments)
{
    fl_event event;
    fl_arena arena;
    fl_str canonical;
    fl_err why = {0};
    fl_arena_init(&arena);
    fl_str_init(&canonical, FL_EVENT_BYTES_MAX);
    fl_status status =
        fl_event_read(bytes, im->app.tz_offset_min, &arena, &event, &canonical, &why);
    if (status != FL_OK) {
        status = fl_fail(im->err, FL_EFORMAT, "journal.jsonl line %lld: %s", (long long)line,
                         why.message);
    } else if (!fl_sv_eq(fl_str_sv(&canonical), bytes)) {
        status = fail_line(im, line, "the event is not in canonical form");
    } else {
        status = append(im, line, &event, bytes, moments);
    }
    fl_str_done(&canonical);
    fl_arena_done(&arena);
    return status;
}

static fl_status append_all(import *im)
{
    fl_sv rest = im->journal;
    fl_sv moments = im->moments;
    int64_t line = 0;
    fl_status status = FL_OK;
    while (rest.len > 0 && status == FL_OK) {
        status = fl_progress_tick(im->progress, FL_WORK_EVENTS, line, im->card.n_events, im->err);
        line++;
        if (status == FL_OK) {
            status = append_line(im, line, fl_sv_split(&rest, '\n'), &moments);
        }
    }
    if (status == FL_OK && line != im->card.n_events) {
        status = fl_fail(im->err, FL_EFORMAT, "journal.jsonl has %lld events, room.json says %lld",
                         (long long)line, (long long)im->card.n_events);
    }
    return status;
}

/* ---- the room ---- */

/* What all of it means, in one go. */
static fl_status fold_all(import *im)
{
    fl_arena arena;
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_history history;
    fl_meaning meaning;
    fl_arena_init(&arena);
    fl_status status = fl_progress_step(im->progress, FL_WORK_COMPARE, 0, 0, im->err);
    if (status == FL_OK) {
        status = fl_store_journal_read(im->app.store, 0, SIZE_MAX, &arena, &rows, &count, im->err);
    }
    if (status == FL_OK) {
        status = fl_history_of_rows(rows, count, im->app.tz_offset_min, &arena, &history, im->err);
    }
    if (status == FL_OK) {
        fl_history_fold(&history, &arena, &meaning);
        status = fl_store_meaning_replace_all(im->app.store, &meaning, im->err);
    }
    fl_arena_done(&arena);
    return status;
}

static fl_status fill_journal(import *im)
{
    fl_status status = fl_store_begin(im->app.store, im->err);
    if (status != FL_OK) {
        return status;
    }
    status = append_all(im);
    if (status == FL_OK) {
        status = fold_all(im);
    }
    if (status != FL_OK) {
        fl_store_rollback(im->app.store);
        return status;
    }
    return fl_store_commit(im->app.store, im->err);
}

/* ---- blobs ---- */

static bool is_blob(const char *name)
{
    return strncmp(name, BLOBS, strlen(BLOBS)) == 0 && name[strlen(BLOBS)] != '\0';
}

static fl_status put_blob(import *im, size_t index, size_t *size)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_arena arena;
    fl_sv bytes;
    const char *name = fl_zip_name(im->zip, index);
    fl_arena_init(&arena);
    fl_status status =
        fl_zip_read(im->zip, index, FL_STORE_BLOB_BYTES_MAX, &arena, &bytes, im->err);
    if (status == FL_OK) {
        fl_hash hash = fl_hash_of(bytes.ptr, bytes.len);
        *size = bytes.len;
        if (strcmp(name + strlen(BLOBS), fl_hash_format(hex, hash)) != 0) {
            status =
                fl_fail(im->err, FL_EFORMAT,
                        "%.100s was changed after the export: its name is not its SHA-256", name);
        } else {
            status = fl_store_blob_put(im->app.store, hash, bytes, im->err);
        }
    }
    fl_arena_done(&arena);
    return status;
}

/* Puts blobs from entry *next on until a transaction holds enough of them. */
static fl_status put_batch(import *im, size_t *next, int64_t *n_blobs)
{
    size_t batch = 0;
    fl_status status = FL_OK;
    for (; *next < fl_zip_count(im->zip) && batch < BATCH_BYTES && status == FL_OK; (*next)++) {
        size_t size = 0;
        if (is_blob(fl_zip_name(im->zip, *next))) {
            status =
                fl_progress_step(im->progress, FL_WORK_BLOBS, *n_blobs, im->card.n_blobs, im->err);
            if (status == FL_OK) {
                status = put_blob(im, *next, &size);
            }
            (*n_blobs)++;
        }
        batch += size;
    }
    return status;
}

static fl_status fill_blobs(import *im)
{
    size_t next = 0;
    int64_t n_blobs = 0;
    fl_status status = FL_OK;
    while (next < fl_zip_count(im->zip) && status == FL_OK) {
        status = fl_store_begin(im->app.store, im->err);
        if (status != FL_OK) {
            return status;
        }
        status = put_batch(im, &next, &n_blobs);
        if (status == FL_OK) {
            status = fl_store_commit(im->app.store, im->err);
        } else {
            fl_store_rollback(im->app.store);
        }
    }
    if (status == FL_OK && n_blobs != im->card.n_blobs) {
        status = fl_fail(im->err, FL_EFORMAT, "%lld files in blobs/, room.json says %lld",
                         (long long)n_blobs, (long long)im->card.n_blobs);
    }
    return status;
}

/* ---- all of it ---- */

static fl_status make_room(import *im, const char *scratch, fl_clock clock, fl_verified *holds)
{
    fl_status status =
        fl_app_open(scratch, true, (int)im->card.tz_offset_min, clock, &im->app, im->err);
    if (status != FL_OK) {
        return status;
    }
    fl_app_watch(&im->app, im->progress);
    status = fill_journal(im);
    if (status == FL_OK) {
        status = fill_blobs(im);
    }
    if (status == FL_OK) {
        status = fl_app_verify(&im->app, holds, im->err);
    }
    fl_app_close(&im->app);
    return status;
}

/* A room that holds anything is never written over. */
static fl_status check_empty(const char *dir, fl_clock clock, fl_err *err)
{
    fl_app app = {0};
    int64_t last = 0;
    fl_status status = fl_app_open_reader(dir, clock, &app, err);
    if (status == FL_ENOTFOUND) {
        fl_err_clear(err);
        return FL_OK;
    }
    if (status == FL_OK) {
        status = fl_store_journal_last(app.store, &last, err);
        fl_app_close(&app);
    }
    if (status == FL_OK && last > 0) {
        status = fl_fail(err, FL_ECONFLICT,
                         "there is a room in %.120s already: give a new folder, --room NEW", dir);
    }
    return status;
}

static fl_status make_and_place(import *im, const fl_room_making *how, fl_imported *out)
{
    const char *scratch = NULL;
    fl_sv kept;
    fl_imported made = {.n_blobs = im->card.n_blobs};
    fl_status status = fl_files_make_folder(how->dir, im->err);
    if (status == FL_OK) {
        status = fl_files_make_scratch(how->dir, "importing", &im->arena, &scratch, im->err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = make_room(im, scratch, how->clock, &made.holds);
    if (status == FL_OK) {
        const fl_restoring what = {.backup = fl_files_join(&im->arena, scratch, "room.sqlite"),
                                   .dir = how->dir,
                                   .progress = how->progress};
        status = fl_store_restore_watched(&what, &im->arena, &kept, im->err);
    }
    fl_files_remove_scratch(scratch);
    if (status == FL_OK) {
        *out = made;
    }
    return status;
}

fl_status fl_app_import(const char *file, const char *dir, fl_clock clock, fl_imported *out,
                        fl_err *err)
{
    const fl_room_making how = {.dir = dir, .clock = clock};
    return fl_app_import_watched(file, &how, out, err);
}

fl_status fl_app_import_watched(const char *file, const fl_room_making *how, fl_imported *out,
                                fl_err *err)
{
import im = {.err = err, .progress = how->progress };
    fl_arena_init(&im.arena);
    fl_status status = check_empty(how->dir, how->clock, err);
    if (status == FL_OK) {
        status = fl_zip_open(file, &im.zip, err);
    }
    if (status == FL_OK) {
        fl_zip_watch_in(im.zip, how->progress);
        status = fl_zip_check(im.zip, err);
    }
    if (status == FL_OK) {
        status = read_card(&im);
    }
    if (status == FL_OK) {
        status = read_journal(&im);
    }
    if (status == FL_OK) {
        status = make_and_place(&im, how, out);
    }
    fl_zip_close(im.zip);
    fl_arena_done(&im.arena);
    return status;
}
