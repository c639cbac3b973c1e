/* Export and import against python's zipfile, csv, json and sqlite3, and Info-ZIP's unzip: what is
 * written is read by others and is the room; what others write to do harm is refused and leaves no
 * room behind. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/export.h"
#include "app/files.h"
#include "app/import.h"
#include "base/str.h"
#include "support/keeper.h"
#include "support/outside.h"

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    char out[FL_TEMP_PATH_MAX]; /* a folder beside the room */
    fl_err err;
} rig;

static const char *out_file(rig *r, const char *name)
{
    return fl_files_join(&r->arena, r->out, name);
}

static const char *room_file(rig *r)
{
    return fl_files_join(&r->arena, r->k.dir, "room.sqlite");
}

static void put_blob(rig *r, fl_id subject, fl_sv bytes)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_hash hash = fl_hash_of(bytes.ptr, bytes.len);
    check_ok(fl_store_begin(r->k.app.store, &r->err), &r->err);
    check_ok(fl_store_blob_put(r->k.app.store, hash, bytes, &r->err), &r->err);
    check_ok(fl_store_commit(r->k.app.store, &r->err), &r->err);
    fl_event event = {.kind = FL_KIND_PHOTO_ATTACHED};
    event.body.photo_attached =
        (fl_ev_photo_attached){.subject = subject,
                               .blob = fl_sv_from_cstr(fl_hash_format(hex, hash)),
                               .caption = FL_SV("+1, \"very\" nice")};
    fl_keeper_record(&r->k, &event);
}

/* A year with one of everything that is awkward: vague times, voidings, a finding, a conflict, a
 * release, photos, and texts that break careless CSV. */
static void live_a_year(rig *r)
{
    fl_keeper *k = &r->k;
    fl_event name = {.kind = FL_KIND_ROOM_SET, .precision = FL_PRECISION_DAY};
    name.body.room_set = (fl_ev_room_set){.name = FL_SV("coin d'été 緑"), .round_weekday = 5};
    fl_keeper_record(k, &name);
    fl_id shop = fl_keeper_source(k, "=HYPERLINK(\"http://x\")", FL_SOURCE_CHAIN_STORE, true);
    fl_id other = fl_keeper_source(k, "-1+cmd|' /C'!A0", FL_SOURCE_TRADE, false);
    fl_id bench = fl_keeper_place(k, "Bench, by \"the\" sink", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(k, "@bin with an at", FL_PLACE_BIN, 0, -3.5);
    fl_id tank = fl_keeper_place(k, "苔の森", FL_PLACE_ENCLOSURE, 1U << FL_USE_AMPHIBIAN, 23.0);
    fl_keeper_already_here(k, tank, 3);
    for (int month = 0; month < 12; month++) {
        fl_keeper_day(k, 30 * month, 0);
        fl_id arrival = fl_keeper_id(k);
        fl_id lot = fl_keeper_arrive(k, month % 2 == 0 ? shop : other, arrival, bench,
                                     FL_FORM_POTTED, FL_USE_STOCK, 2 + month);
        fl_id second = fl_keeper_arrive(k, shop, arrival, bench, FL_FORM_PLUG, FL_USE_AMPHIBIAN, 1);
        fl_keeper_step(k, (const fl_id[]){lot, second}, 2, FL_STEP_DIP, FL_AGENT_BLEACH, "tub, A");
        fl_keeper_clean(k, bin);
        fl_keeper_move(k, lot, bin);
        fl_keeper_day(k, 30 * month + 8, 0);
        fl_keeper_look(k, bin, FL_EFFORT_CAREFUL, 1U << FL_DEVICE_YELLOW_CARD,
                       month == 7 ? "fungus_gnat" : NULL, lot);
        fl_event look = {.kind = FL_KIND_LOOK_DONE, .note = FL_SV("two\r\nlines, \"quoted\"")};
        look.body.look_done = (fl_ev_look_done){.place = bin, .frac_examined = 0.5};
        fl_keeper_record(k, &look);
        if (month % 3 == 0) {
            fl_event voided = {.kind = FL_KIND_EVENT_VOIDED};
            voided.body.event_voided =
                (fl_ev_event_voided){.event = look.id, .why = FL_SV("= a mistake")};
            fl_keeper_record(k, &voided);
        }
        fl_event release = {.kind = FL_KIND_LOT_RELEASED};
        release.body.lot_released = (fl_ev_lot_released){
            .lot = lot, .to = tank, .answer_json = FL_SV("{\"answer\":\"yes, \\\"quiet\\\"\"}")};
        fl_keeper_record(k, &release);
        fl_keeper_move(k, lot, bench);
    }
    char bytes[70000];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (char)(i * i >> 3);
    }
    bytes[0] = '\xFF';
    bytes[1] = '\xD8';
    bytes[2] = '\xFF';
    put_blob(r, bench, (fl_sv){bytes, sizeof bytes});
    put_blob(r, bench, FL_SV("a short one"));
}

static void rig_init(rig *r)
{
    memset(r, 0, sizeof *r);
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    (void)fl_temp_folder(r->out);
}

static void rig_done(rig *r)
{
    fl_remove_folder(r->out);
    fl_arena_done(&r->arena);
    fl_keeper_done(&r->k);
}

static void export_to(rig *r, const char *file, bool has_bom)
{
    const fl_export_options options = {.has_bom = has_bom};
    fl_exported done;
    check_ok(fl_app_export(&r->k.app, file, &options, &done, &r->err), &r->err);
    check_int(done.bytes, fl_files_bytes(file));
}

static void judge(const char *zip, const char *room, const char *bom)
{
    fl_run run = OUTSIDE("python3", FL_TEST_DATA_DIR "/export_reader.py", zip, room, bom);
    check_contains(run.out, " events, ");
    fl_run_done(&run);
}

static void test_others_read_it(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    judge((export_to(&r, out_file(&r, "empty.zip"), false), out_file(&r, "empty.zip")),
          room_file(&r), NULL);
    live_a_year(&r);
    const char *zip = out_file(&r, "a.zip");
    export_to(&r, zip, false);
    judge(zip, room_file(&r), NULL);
    fl_run run = OUTSIDE("unzip", "-tq", zip);
    check_contains(run.out, "No errors detected");
    fl_run_done(&run);
    export_to(&r, out_file(&r, "bom.zip"), true);
    judge(out_file(&r, "bom.zip"), room_file(&r), "--bom");
    rig_done(&r);
}

static fl_str file_bytes(const char *path)
{
    fl_str text;
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    fl_str_init(&text, (size_t)1 << 30);
    char block[4096];
    size_t n = fread(block, 1, sizeof block, file);
    for (; n > 0; n = fread(block, 1, sizeof block, file)) {
        fl_str_append(&text, (fl_sv){block, n});
    }
    (void)fclose(file);
    return text;
}

static void check_same_bytes(const char *a, const char *b)
{
    fl_str left = file_bytes(a);
    fl_str right = file_bytes(b);
    check_true(fl_sv_eq(fl_str_sv(&left), fl_str_sv(&right)));
    fl_str_done(&left);
    fl_str_done(&right);
}

/* Out, in, out again: the second zip is the first, byte for byte, when the clock says the same; and
 * the second room verifies and is read by python as the first. */
static void test_round_trip(void **state)
{
    (void)state;
    rig r;
    fl_imported done;
    fl_app second = {0};
    fl_exported again;
    rig_init(&r);
    live_a_year(&r);
    const char *zip = out_file(&r, "a.zip");
    const char *copy = out_file(&r, "copy");
    fl_clock clock = fl_clock_fixed(&r.k.now_s);
    export_to(&r, zip, false);
    check_ok(fl_app_import(zip, copy, clock, &done, &r.err), &r.err);
    check_int(done.n_blobs, 2);
    fl_verified here;
    check_ok(fl_app_verify(&r.k.app, &here, &r.err), &r.err);
    check_true(here.n_conflicts > 0 && here.n_holds > 0);
    check_true(memcmp(&here, &done.holds, sizeof here) == 0);
    judge(zip, fl_files_join(&r.arena, copy, "room.sqlite"), NULL);
    check_ok(fl_app_open(copy, false, 0, clock, &second, &r.err), &r.err);
    check_int(second.tz_offset_min, 60);
    check_ok(fl_app_export(&second, out_file(&r, "b.zip"), &(fl_export_options){0}, &again, &r.err),
             &r.err);
    check_same_bytes(zip, out_file(&r, "b.zip"));
    /* the room goes on: it is a room like any other */
    int64_t position = 0;
    check_ok(fl_store_journal_last(second.store, &position, &r.err), &r.err);
    check_int(position, here.n_events);
    fl_app_close(&second);
    check_int(fl_app_import(zip, copy, clock, &done, &r.err), FL_ECONFLICT);
    check_status(&r.err, FL_ECONFLICT);
    rig_done(&r);
}

/* The demo, by the command line: a demo it was, a demo it is. */
static void test_demo_by_command(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    const char *demo = out_file(&r, "demo");
    const char *back = out_file(&r, "back");
    const char *zip = out_file(&r, "demo.zip");
    static const char now[] = "2026-11-25T12:00:00Z";
#define FERNLOCK(...) OUTSIDE(FL_BINARY, "--now", now, __VA_ARGS__)
    fl_run run = FERNLOCK("--room", demo, "demo");
    fl_run_done(&run);
    run = FERNLOCK("--room", demo, "export", zip);
    fl_run_done(&run);
    judge(zip, fl_files_join(&r.arena, demo, "room.sqlite"), NULL);
    run = FERNLOCK("--room", back, "import", zip);
    fl_run_done(&run);
    fl_run first = FERNLOCK("--room", demo, "today", "--json");
    fl_run second = FERNLOCK("--room", back, "today", "--json");
    check_str(first.out, second.out);
    fl_run_done(&first);
    fl_run_done(&second);
    rig_done(&r);
}

/* ---- what must be refused ---- */

static void check_refused(rig *r, const char *name, const char *wanted)
{
    fl_imported done = {.n_blobs = 77};
    fl_err err = {0};
    const char *dir = fl_files_join(&r->arena, r->out, "new");
    fl_status status =
        fl_app_import(out_file(r, name), dir, fl_clock_fixed(&r->k.now_s), &done, &err);
    if (status == FL_OK) {
        fail_msg("%s was taken", name);
    }
    check_int(err.code, status);
    if (strstr(err.message, wanted) == NULL) {
        fail_msg("%s: \"%s\" does not say \"%s\"", name, err.message, wanted);
    }
    check_int(done.n_blobs, 77);
    check_false(fl_files_exist(fl_files_join(&r->arena, dir, "room.sqlite")));
    check_false(fl_files_exist(fl_files_join(&r->arena, r->out, "evil")));
}

static void test_hostile_zips_are_refused(void **state)
{
    (void)state;
    rig r;
    int n = 0;
    rig_init(&r);
    live_a_year(&r);
    export_to(&r, out_file(&r, "good.zip"), false);
    fl_run run =
        OUTSIDE("python3", FL_TEST_DATA_DIR "/hostile_zips.py", out_file(&r, "good.zip"), r.out);
    fl_sv rest = fl_sv_from_cstr(run.out);
    while (rest.len > 0) {
        fl_sv line = fl_sv_split(&rest, '\n');
        fl_sv name = fl_sv_split(&line, '\t');
        check_refused(&r, fl_arena_copy_sv(&r.arena, name).ptr,
                      fl_arena_copy_sv(&r.arena, line).ptr);
        n++;
    }
    check_int(n, 38);
    fl_run_done(&run);
    check_refused(&r, "there-is-none.zip", "there is no file");

    fl_imported done; /* what another program may leave out */
    fl_verified here;
    check_ok(fl_app_verify(&r.k.app, &here, &r.err), &r.err);
    check_ok(fl_app_import(out_file(&r, "minimal.zip"), out_file(&r, "minimal"),
                           fl_clock_fixed(&r.k.now_s), &done, &r.err),
             &r.err);
    check_true(memcmp(&here, &done.holds, sizeof here) == 0);
    rig_done(&r);
}

/* One byte changed anywhere: refused, or it was a byte that says nothing (a date, an attribute, a
 * table) and the room is the same. Nothing in between. */
static void test_every_damage_shows(void **state)
{
    (void)state;
    rig r;
    int n_refused = 0;
    rig_init(&r);
    fl_id bench = fl_keeper_place(&r.k, "bench", FL_PLACE_BENCH, 0, 21.0);
    put_blob(&r, bench, FL_SV("a photo"));
    const char *zip = out_file(&r, "good.zip");
    export_to(&r, zip, false);
    fl_str good = file_bytes(zip);
    const char *bad = out_file(&r, "bad.zip");
    fl_clock clock = fl_clock_fixed(&r.k.now_s);
    const size_t step = good.len / 150;
    for (size_t at = 0; at < good.len; at += step) {
        fl_err err = {0};
        fl_imported done;
        const char *dir = fl_arena_printf(&r.arena, "%s/room-%zu", r.out, at).ptr;
        good.ptr[at] = (char)(good.ptr[at] ^ 0x15);
        check_ok(fl_files_write(bad, fl_str_sv(&good), true, &r.err), &r.err);
        good.ptr[at] = (char)(good.ptr[at] ^ 0x15);
        if (fl_app_import(bad, dir, clock, &done, &err) != FL_OK) {
            check_true(err.message[0] != '\0');
            check_false(fl_files_exist(fl_files_join(&r.arena, dir, "room.sqlite")));
            n_refused++;
        } else {
            judge(zip, fl_files_join(&r.arena, dir, "room.sqlite"), NULL);
        }
    }
    check_true(n_refused > 60);
    for (size_t len = 0; len < good.len; len += step) { /* and cut short */
        fl_err err = {0};
        fl_imported done;
        const char *dir = out_file(&r, "short");
        check_ok(fl_files_write(bad, (fl_sv){good.ptr, len}, true, &r.err), &r.err);
        check_true(fl_app_import(bad, dir, clock, &done, &err) != FL_OK);
    }
    fl_str_done(&good);
    rig_done(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_others_read_it),     cmocka_unit_test(test_round_trip),
    cmocka_unit_test(test_demo_by_command),    cmocka_unit_test(test_hostile_zips_are_refused),
    cmocka_unit_test(test_every_damage_shows),
};
FL_TEST_MAIN(tests)
