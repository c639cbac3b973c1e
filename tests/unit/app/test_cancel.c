/* Long work that is cancelled at its first word, its second, and so on until it runs to its end:
 * each time the room is as it was, byte for byte, and nothing lies about. */
#include <stdio.h>
#include <string.h>

#include "app/backup.h"
#include "app/export.h"
#include "app/files.h"
#include "app/import.h"
#include "app/readings.h"
#include "base/str.h"
#include "support/keeper.h"

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    fl_err err;
    char out[FL_TEMP_PATH_MAX]; /* beside the room */
    fl_id bench;
    bool is_open;
} rig;

static void put_photo(rig *r, fl_id subject, const char *bytes)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_sv photo = fl_sv_from_cstr(bytes);
    fl_hash hash = fl_hash_of(photo.ptr, photo.len);
    check_ok(fl_store_blob_put(r->k.app.store, hash, photo, &r->err), &r->err);
    fl_event event = {.kind = FL_KIND_PHOTO_ATTACHED};
    event.body.photo_attached = (fl_ev_photo_attached){
        .subject = subject, .blob = fl_sv_from_cstr(fl_hash_format(hex, hash))};
    fl_keeper_record(&r->k, &event);
}

static void rig_init(rig *r)
{
    memset(r, 0, sizeof *r);
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    (void)fl_temp_folder(r->out);
    fl_id source = fl_keeper_source(&r->k, "corner shop", FL_SOURCE_CHAIN_STORE, false);
    r->bench = fl_keeper_place(&r->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(&r->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    for (int i = 0; i < 40; i++) {
        fl_id lot = fl_keeper_arrive(&r->k, source, fl_keeper_id(&r->k), r->bench, FL_FORM_POTTED,
                                     FL_USE_STOCK, 3);
        fl_keeper_move(&r->k, lot, bin);
    }
    put_photo(r, bin, "one");
    put_photo(r, bin, "another");
    r->is_open = true;
}

static void close_room(rig *r)
{
    if (r->is_open) {
        fl_app_close(&r->k.app);
        r->is_open = false;
    }
}

static void open_room(rig *r)
{
    if (!r->is_open) {
        fl_clock clock = fl_clock_fixed(&r->k.now_s);
        check_ok(fl_app_open(r->k.dir, false, 0, clock, &r->k.app, &r->err), &r->err);
        r->is_open = true;
    }
}

static void rig_done(rig *r)
{
    open_room(r);
    fl_remove_folder(r->out);
    fl_arena_done(&r->arena);
    fl_keeper_done(&r->k);
}

/* ---- all that lies in a folder ---- */

static void add_file(rig *r, const char *path, fl_str *all)
{
    char block[4096];
    FILE *file = fopen(path, "rb");
    (void)r;
    if (file == NULL) {
        return;
    }
    size_t n = fread(block, 1, sizeof block, file);
    for (; n > 0; n = fread(block, 1, sizeof block, file)) {
        fl_str_append(all, (fl_sv){block, n});
    }
    (void)fclose(file);
}

/* Names and bytes, but not of the index of the log, which holds nothing of its own. */
static fl_hash picture(rig *r, const char *dir)
{
    const char **names = NULL;
    size_t n = 0;
    fl_str all;
    fl_str_init(&all, (size_t)1 << 28);
    check_ok(fl_files_list(dir, &r->arena, &names, &n, &r->err), &r->err);
    for (size_t i = 0; i < n; i++) {
        const size_t len = strlen(names[i]);
        if (len < 4 || strcmp(names[i] + len - 4, "-shm") != 0) {
            fl_str_append_cstr(&all, names[i]);
            fl_str_append_char(&all, '\n');
            add_file(r, fl_files_join(&r->arena, dir, names[i]), &all);
        }
    }
    const fl_hash hash = fl_hash_of(all.ptr, all.len);
    fl_str_done(&all);
    return hash;
}

static bool same_hash(fl_hash a, fl_hash b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

/* ---- stopping at the n-th word ---- */

typedef struct stopper {
    int left;
    int64_t done[FL_WORK_COUNT]; /* the last that was told */
} stopper;

static bool on_step(void *context, fl_work work, int64_t done, int64_t total)
{
    stopper *s = context;
    check_true(done >= s->done[work] || done == 0); /* never backwards; a work may come again */
    check_true(total == 0 || done <= total);
    s->done[work] = done;
    return --s->left > 0;
}

typedef fl_status (*work_fn)(rig *r, const fl_progress *progress, fl_err *err);

/* How many words the work says before it is done; at each it was cancelled once. */
static int cancel_everywhere(rig *r, work_fn work)
{
    const fl_hash room = picture(r, r->k.dir);
    const fl_hash out = picture(r, r->out);
    for (int n = 1;; n++) {
        stopper s = {.left = n};
        const fl_progress progress = {.step = on_step, .context = &s};
        fl_err err = {0};
        const fl_status status = work(r, &progress, &err);
        if (status == FL_OK) {
            check_int(s.left, 1); /* it said n - 1 words, and none was a no */
            return n - 1;
        }
        check_status(&err, FL_ECANCELLED);
        check_int(s.left, 0); /* and did not ask again */
        if (!same_hash(room, picture(r, r->k.dir)) || !same_hash(out, picture(r, r->out))) {
            fail_msg("cancelled at its word %d, it left something behind", n);
        }
    }
}

/* ---- the works ---- */

static fl_status work_verify(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_verified found;
    fl_app_watch(&r->k.app, progress);
    const fl_status status = fl_app_verify(&r->k.app, &found, err);
    fl_app_watch(&r->k.app, NULL);
    return status;
}

static fl_status work_backup(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_backup_made made;
    fl_app_watch(&r->k.app, progress);
    const fl_status status = fl_app_backup(&r->k.app, NULL, &r->arena, &made, err);
    fl_app_watch(&r->k.app, NULL);
    return status;
}

static fl_status work_export(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_exported done;
    const fl_export_options options = {.has_bom = false};
    const char *file = fl_files_join(&r->arena, r->out, "room.zip");
    fl_app_watch(&r->k.app, progress);
    const fl_status status = fl_app_export(&r->k.app, file, &options, &done, err);
    fl_app_watch(&r->k.app, NULL);
    return status;
}

static fl_status work_restore(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_restored restored;
    const fl_room_making how = {
        .dir = r->k.dir, .clock = fl_clock_fixed(&r->k.now_s), .progress = progress};
    return fl_app_restore_watched(fl_files_join(&r->arena, r->out, "copy.sqlite"), &how, &r->arena,
                                  &restored, err);
}

static fl_status work_import(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_imported done;
    const fl_room_making how = {.dir = fl_files_join(&r->arena, r->out, "new"),
                                .clock = fl_clock_fixed(&r->k.now_s),
                                .progress = progress};
    const fl_status status =
        fl_app_import_watched(fl_files_join(&r->arena, r->out, "room.zip"), &how, &done, err);
    const char **names = NULL;
    size_t n = 0;
    check_ok(fl_files_list(how.dir, &r->arena, &names, &n, &r->err), &r->err);
    check_true(status == FL_OK || n == 0); /* no room, and nothing of one */
    return status;
}

static fl_status work_chances(rig *r, const fl_progress *progress, fl_err *err)
{
    fl_room room;
    fl_chances *chances = NULL;
    check_ok(fl_room_load(&r->k.app, &room, &r->err), &r->err);
    fl_app_watch(&r->k.app, progress);
    const fl_status status = fl_chances_new(&room, &r->k.app, &chances, err);
    fl_app_watch(&r->k.app, NULL);
    if (status == FL_OK) {
        fl_chances_free(chances);
    }
    fl_room_done(&room);
    return status;
}

/* ---- tests ---- */

static void test_verify(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    /* the file and its rows, 85 events by 32, the meaning, two photos */
    check_int(cancel_everywhere(&r, work_verify), 1 + 3 + 1 + 2);
    rig_done(&r);
}

static void test_backup(void **state)
{
    (void)state;
    rig r;
    fl_backup_state how;
    rig_init(&r);
    /* backups/ itself is there before the first */
    check_ok(fl_files_make_folder(fl_files_join(&r.arena, r.k.dir, "backups"), &r.err), &r.err);
    const char **names = NULL;
    size_t n = 0;
    check_true(cancel_everywhere(&r, work_backup) > 10);
    check_ok(
        fl_files_list(fl_files_join(&r.arena, r.k.dir, "backups"), &r.arena, &names, &n, &r.err),
        &r.err);
    check_int(n, 1); /* the one that was not cancelled; none half-made, none "unreadable" */
    check_str(names[0], "room-2026-03-02.sqlite");
    check_ok(fl_app_backup_state(&r.k.app, &r.arena, &how, &r.err), &r.err);
    check_int(how.failed_s, 0); /* who cancels had no failure */
    rig_done(&r);
}

static void test_export_and_import(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    check_true(cancel_everywhere(&r, work_export) > 10);
    check_ok(fl_files_make_folder(fl_files_join(&r.arena, r.out, "new"), &r.err), &r.err);
    check_true(cancel_everywhere(&r, work_import) > 10);
    rig_done(&r);
}

static void test_restore(void **state)
{
    (void)state;
    rig r;
    fl_backup_made made;
    rig_init(&r);
    check_ok(fl_app_backup(&r.k.app, fl_files_join(&r.arena, r.out, "copy.sqlite"), &r.arena, &made,
                           &r.err),
             &r.err);
    close_room(&r);
    check_true(cancel_everywhere(&r, work_restore) > 10);
    open_room(&r);
    fl_keeper_verify(&r.k);
    rig_done(&r);
}

/* What was computed before stays in the memo: that alone may be written. */
static void test_chances(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    int n = 1;
    fl_status status = FL_ECANCELLED;
    for (; status != FL_OK; n++) {
        stopper s = {.left = n};
        const fl_progress progress = {.step = on_step, .context = &s};
        fl_err err = {0};
        status = work_chances(&r, &progress, &err);
        check_true(status == FL_OK || err.code == FL_ECANCELLED);
    }
    check_true(n > 3);
    fl_keeper_verify(&r.k);
    rig_done(&r);
}

/* A year of a logger that tells every ten minutes; cancelled before its first line, and later. */
static void test_readings(void **state)
{
    (void)state;
    rig r;
    fl_room room;
    fl_readings_look look;
    fl_str text;
    const fl_probe_told told = {.order = -1, .unit = -1};
    rig_init(&r);
    fl_str_init(&text, (size_t)1 << 24);
    fl_str_append_cstr(&text, "time,temperature C\n");
    for (int i = 0; i < 52560; i++) {
        fl_str_appendf(&text, "2025-%02d-%02dT%02d:%02d:00Z,21.%d\n", i / 4464 + 1,
                       i / 144 % 28 + 1, i / 6 % 24, i % 6 * 10, i % 10);
    }
    check_ok(fl_room_load(&r.k.app, &room, &r.err), &r.err);
    for (int n = 1; n <= 3; n++) {
        stopper s = {.left = n};
        const fl_progress progress = {.step = on_step, .context = &s};
        fl_err err = {0};
        fl_app_watch(&r.k.app, &progress);
        check_int(fl_readings_look_at(&r.k.app, &room, r.bench, fl_str_sv(&text), &told, &r.arena,
                                      &look, &err),
                  FL_ECANCELLED);
        check_status(&err, FL_ECANCELLED);
        check_int(s.done[FL_WORK_LINES], (n - 1) * 4096);
    }
    fl_app_watch(&r.k.app, NULL);
    fl_str_done(&text);
    fl_room_done(&room);
    rig_done(&r);
}

/* Many events at once: all or none. */
static void test_recording(void **state)
{
    (void)state;
    rig r;
    enum { N = 100 };
    fl_event events[N];
    rig_init(&r);
    for (int i = 0; i < N; i++) {
        events[i] = (fl_event){.id = fl_keeper_id(&r.k),
                               .kind = FL_KIND_PLACE_CLEANED,
                               .at_s = r.k.now_s,
                               .precision = FL_PRECISION_EXACT};
        events[i].body.place_cleaned.place = r.bench;
    }
    const fl_hash before = picture(&r, r.k.dir);
    for (int n = 1; n <= 3; n++) { /* at the 32nd, the 64th, the 96th */
        stopper s = {.left = n};
        const fl_progress progress = {.step = on_step, .context = &s};
        fl_err err = {0};
        fl_app_watch(&r.k.app, &progress);
        check_int(fl_app_record_events(&r.k.app, events, N, &err), FL_ECANCELLED);
        check_int(s.done[FL_WORK_RECORD], 32 * n);
        check_true(same_hash(before, picture(&r, r.k.dir)));
    }
    fl_app_watch(&r.k.app, NULL);
    check_ok(fl_app_record_events(&r.k.app, events, N, &r.err), &r.err);
    fl_keeper_verify(&r.k);
    rig_done(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_verify),    cmocka_unit_test(test_backup),
    cmocka_unit_test(test_restore),   cmocka_unit_test(test_export_and_import),
    cmocka_unit_test(test_chances),   cmocka_unit_test(test_readings),
    cmocka_unit_test(test_recording),
};
FL_TEST_MAIN(tests)
