/* Writes the zip of an export. */
#include "app/export.h"

#include <stdio.h>
#include <string.h>

#include "app/export_tables.h"
#include "app/files.h"
#include "app/zip.h"
#include "base/alloc.h"
#include "base/limits.h"
#include "json/event_codec.h"
#include "json/json.h"
#include "json/schema.h"

#define TEXTS_MAX 64 /* README, room, journal, moments and tables */
#define EVENT_COLUMNS "position,event,kind,occurred_at,precision,recorded_at,voided_by,device,note"

typedef struct blob_source {
    fl_app *app;
    fl_hash hash;
} blob_source;

typedef struct export
{
    fl_app *app;
    const fl_export_options *options;
    fl_room room;
    fl_arena arena;
    fl_zip_out *zip;
    fl_str texts[TEXTS_MAX]; /* until the zip is written */
    size_t n_texts;
    fl_journal_row *rows;
    size_t n_rows;
    fl_exported done;
    fl_err *err;
}
export;

/* ---- texts ---- */

/* A new text that lives until the zip is written. */
static fl_str *new_text(export *e)
{
    fl_str *text = &e->texts[e->n_texts++];
    fl_str_init(text, SIZE_MAX / 8);
    return text;
}

static fl_status add_text(export *e, const char *name, const fl_str *text)
{
    e->done.n_files++;
    return fl_zip_add(e->zip, name, fl_str_sv(text), e->err);
}

static fl_status add_journal(export *e, fl_hash *hash)
{
    fl_str *text = new_text(e);
    for (size_t i = 0; i < e->n_rows; i++) {
        fl_str_append(text, e->rows[i].bytes);
        fl_str_append_char(text, '\n');
    }
    *hash = fl_hash_of(text->ptr, text->len);
    e->done.n_events = (int64_t)e->n_rows;
    if (text->len > FL_EXPORT_JOURNAL_BYTES_MAX) {
        return fl_fail(e->err, FL_ETOOBIG, "the journal has more than %zu bytes: use backup",
                       FL_EXPORT_JOURNAL_BYTES_MAX);
    }
    return add_text(e, "journal.jsonl", text);
}

static fl_status add_moments(export *e)
{
    fl_str *text = new_text(e);
    for (size_t i = 0; i < e->n_rows; i++) {
        char id[FL_ID_TEXT_MAX];
        char at[FL_CIVIL_TEXT_MAX];
        fl_str_appendf(text, "{\"event\":\"%s\",\"recorded_at\":\"%s\"}\n",
                       fl_id_format(id, e->rows[i].id),
                       fl_civil_format_utc(at, e->rows[i].recorded_s));
    }
    return add_text(e, "recorded.jsonl", text);
}

static fl_status add_room(export *e, fl_hash journal)
{
    char hex[FL_HASH_TEXT_MAX];
    char at[FL_CIVIL_TEXT_MAX];
    fl_str *text = new_text(e);
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "format", FL_EXPORT_FORMAT);
    fl_json_put_cstr(w, "made_by", "fernlock");
    fl_json_put_cstr(w, "exported_at", fl_civil_format_utc(at, e->room.now_s));
    fl_json_put_text(w, "name", e->room.name);
    fl_json_put_bool(w, "is_demo", e->room.is_demo);
    fl_json_put_int(w, "tz_offset_min", e->app->tz_offset_min);
    fl_json_put_int(w, "events", e->done.n_events);
    fl_json_put_int(w, "blobs", e->done.n_blobs);
    fl_json_put_cstr(w, "journal_sha256", fl_hash_format(hex, journal));
    fl_json_end(w);
    fl_json_write(w, true, text);
    fl_json_writer_free(w);
    fl_str_append_char(text, '\n');
    return add_text(e, "room.json", text);
}

static fl_status add_readme(export *e)
{
    fl_str *text = new_text(e);
    fl_str_append_cstr(text, fl_export_readme);
    fl_str_appendf(text, "%-16s%s\r\n", "events", "every event, with what voided it");
    for (size_t i = 0; i < fl_export_table_count; i++) {
        fl_str_appendf(text, "%-16s%s\r\n", fl_export_tables[i].name, fl_export_tables[i].what);
    }
    return add_text(e, "README.txt", text);
}

/* ---- tables ---- */

/* Hands a finished table's text over to the zip. */
static fl_status add_table(export *e, const char *name, fl_csv_out *csv)
{
    fl_str *text = new_text(e);
    if (e->options->has_bom) {
        fl_str_append_cstr(text, "\xEF\xBB\xBF");
    }
    fl_str_append(text, fl_str_sv(&csv->text));
    fl_csv_out_done(csv);
    return add_text(e, fl_arena_printf(&e->arena, "tables/%s.csv", name).ptr, text);
}

static fl_id voided_by(const fl_voiding *voidings, size_t n, fl_id event)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(voidings[i].event, event)) {
            return voidings[i].by;
        }
    }
    return (fl_id){{0}};
}

static void put_event(fl_csv_out *csv, const fl_journal_row *row, const fl_event *event, fl_id by)
{
    static const char *const precisions[FL_PRECISION_COUNT] = {"exact", "hour", "day", "month",
                                                               "year"};
    fl_csv_put_int(csv, row->position);
    fl_csv_put_id(csv, row->id);
    fl_csv_put_cstr(csv, fl_kinds[event->kind].word);
    fl_csv_put_moment(csv, event->at_s);
    fl_csv_put_cstr(csv, precisions[event->precision]);
    fl_csv_put_moment(csv, row->recorded_s);
    fl_csv_put_id(csv, by);
    fl_csv_put_text(csv, event->device);
    fl_csv_put_text(csv, event->note);
    fl_csv_end_row(csv);
}

static fl_status add_events(export *e)
{
    fl_csv_out csv;
    fl_voiding *voidings = NULL;
    size_t n_voidings = 0;
    fl_status status = fl_store_voidings(e->app->store, &e->arena, &voidings, &n_voidings, e->err);
    fl_csv_out_init(&csv, EVENT_COLUMNS);
    for (size_t i = 0; i < e->n_rows && status == FL_OK; i++) {
        fl_event event;
        fl_arena arena;
        status = fl_progress_tick(e->app->progress, FL_WORK_EVENTS, (int64_t)i, (int64_t)e->n_rows,
                                  e->err);
        if (status != FL_OK) {
            break;
        }
        fl_arena_init(&arena);
        status = fl_event_decode(e->rows[i].bytes, e->app->tz_offset_min, &arena, &event, e->err);
        if (status == FL_OK) {
            put_event(&csv, &e->rows[i], &event, voided_by(voidings, n_voidings, event.id));
        }
        fl_arena_done(&arena);
    }
    if (status != FL_OK) {
        fl_csv_out_done(&csv);
        return status;
    }
    return add_table(e, "events", &csv);
}

static fl_status add_tables(export *e)
{
    fl_status status = add_events(e);
    for (size_t i = 0; i < fl_export_table_count && status == FL_OK; i++) {
        fl_csv_out csv;
        fl_csv_out_init(&csv, fl_export_tables[i].columns);
        fl_export_tables[i].fill(&e->room, &csv);
        status = add_table(e, fl_export_tables[i].name, &csv);
    }
    return status;
}

static fl_status add_schemas(export *e)
{
    const char *name = NULL;
    fl_sv text;
    fl_status status = FL_OK;
    for (size_t i = 0; status == FL_OK && fl_schema_file(i, &name, &text); i++) {
        e->done.n_files++;
        status =
            fl_zip_add(e->zip, fl_arena_printf(&e->arena, "schema/%s", name).ptr, text, e->err);
    }
    return status;
}

/* ---- blobs ---- */

static fl_status load_blob(void *context, fl_arena *arena, fl_sv *bytes, fl_err *err)
{
    const blob_source *blob = context;
    return fl_store_blob_get(blob->app->store, blob->hash, arena, bytes, err);
}

/* By their first bytes: JPEG and PNG files are packed already. */
static bool is_packed(fl_sv bytes)
{
    return bytes.len > 3 &&
           (memcmp(bytes.ptr, "\xFF\xD8\xFF", 3) == 0 || memcmp(bytes.ptr, "\x89PNG", 4) == 0);
}

/* Each is read once now, which checks its hash, and once more when the zip is written, so that only
 * one is in memory at a time. */
static fl_status add_blob(export *e, fl_hash hash)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_arena arena;
    fl_sv bytes;
    fl_arena_init(&arena);
    fl_status status = fl_store_blob_get(e->app->store, hash, &arena, &bytes, e->err);
    if (status == FL_OK) {
        blob_source *blob = FL_ARENA_NEW(&e->arena, blob_source);
        *blob = (blob_source){.app = e->app, .hash = hash};
        const fl_zip_source source = {
            .load = load_blob, .context = blob, .size = bytes.len, .is_dense = is_packed(bytes)};
        const char *name = fl_arena_printf(&e->arena, "blobs/%s", fl_hash_format(hex, hash)).ptr;
        e->done.n_files++;
        status = fl_zip_add_later(e->zip, name, &source, e->err);
    }
    fl_arena_done(&arena);
    return status;
}

/* ---- all of it ---- */

static fl_status add_all(export *e)
{
    fl_hash *blobs = NULL;
    size_t n_blobs = 0;
    fl_hash journal;
    fl_status status = fl_store_blobs(e->app->store, &e->arena, &blobs, &n_blobs, e->err);
    e->done.n_blobs = (int64_t)n_blobs;
    if (status == FL_OK) {
        status = add_readme(e);
    }
    if (status == FL_OK) {
        status = add_journal(e, &journal);
    }
    if (status == FL_OK) {
        status = add_room(e, journal);
    }
    if (status == FL_OK) {
        status = add_moments(e);
    }
    if (status == FL_OK) {
        status = add_tables(e);
    }
    if (status == FL_OK) {
        status = add_schemas(e);
    }
    for (size_t i = 0; i < n_blobs && status == FL_OK; i++) {
        status =
            fl_progress_step(e->app->progress, FL_WORK_BLOBS, (int64_t)i, (int64_t)n_blobs, e->err);
        if (status == FL_OK) {
            status = add_blob(e, blobs[i]);
        }
    }
    return status;
}

/* Unpacks everything once: an export that cannot be read is said so when it is made. */
static fl_status read_back(const char *path, int64_t n_files, const fl_progress *progress,
                           fl_err *err)
{
    fl_zip_in *zip = NULL;
    fl_status status = fl_zip_open(path, &zip, err);
    if (status != FL_OK) {
        return status;
    }
    if (fl_zip_count(zip) != (size_t)n_files) {
        status = fl_fail(err, FL_EIO, "%.150s has not all that was written: try again", path);
    }
    if (status == FL_OK) {
        fl_zip_watch_in(zip, progress);
        status = fl_zip_check(zip, err);
    }
    fl_zip_close(zip);
    return status;
}

static fl_status write_zip(export *e, const char *path)
{
    int64_t local_s = e->room.now_s + (int64_t)e->app->tz_offset_min * 60;
    fl_status status = fl_zip_new(path, local_s, &e->zip, e->err);
    if (status == FL_OK) {
        status = add_all(e);
    }
    if (status == FL_OK) {
        fl_zip_watch_out(e->zip, e->app->progress);
        status = fl_zip_finish(e->zip, e->err);
    }
    fl_zip_free(e->zip);
    for (size_t i = 0; i < e->n_texts; i++) {
        fl_str_done(&e->texts[i]);
    }
    return status == FL_OK ? read_back(path, e->done.n_files, e->app->progress, e->err) : status;
}

/* The journal up to where the room was read: later events come with the next export. */
static fl_status read_journal(export *e)
{
    return e->room.position == 0 ? FL_OK
                                 : fl_store_journal_read(e->app->store, 0, (size_t)e->room.position,
                                                         &e->arena, &e->rows, &e->n_rows, e->err);
}

fl_status fl_app_export(fl_app *app, const char *file, const fl_export_options *options,
                        fl_exported *out, fl_err *err)
{
    fl_part part;
    export *e = fl_alloc(1, sizeof *e);
    *e = (export){.app = app, .options = options, .err = err};
    fl_arena_init(&e->arena);
    fl_status status = fl_progress_step(app->progress, FL_WORK_EVENTS, 0, 0, err);
    if (status == FL_OK) {
        status = fl_part_begin(file, false, &e->arena, &part, err);
    }
    if (status == FL_OK) {
        status = fl_room_load(app, &e->room, err);
        if (status == FL_OK) {
            status = read_journal(e);
            if (status == FL_OK) {
                status = write_zip(e, part.part);
            }
            fl_room_done(&e->room);
        }
        if (status == FL_OK) {
            status = fl_part_reopen(&part, err);
        }
        if (status == FL_OK) {
            e->done.bytes = fl_files_bytes(part.part);
            status = fl_part_finish(&part, false, err);
        }
        fl_part_drop(&part);
    }
    if (status == FL_OK) {
        *out = e->done;
    }
    fl_arena_done(&e->arena);
    fl_alloc_free(e);
    return status;
}
