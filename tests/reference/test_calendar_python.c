/* The calendar against Debian's python3-icalendar and the system's zone data base: RFC 5545's
 * lines, ids, times, alarms, zones over clock changes, updates and cancellations
 * (calendar_reader.py names the sections). Another parser, ical.js, reads it in
 * tests/browser/calendar.test.mjs. */
#include <stdio.h>
#include <string.h>

#include "app/calendar.h"
#include "app/files.h"
#include "print/calendar.h"
#include "support/keeper.h"
#include "support/outside.h"

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    fl_id lot;
    fl_calendar_entry *entries;
    size_t n;
} rig;

static void begin(rig *r)
{
    *r = (rig){.n = 0};
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    fl_id shop = fl_keeper_source(&r->k, "shop", FL_SOURCE_NURSERY, false);
    fl_id bench = fl_keeper_place(&r->k, "bench", FL_PLACE_BENCH, 0, 23.0);
    /* a name that needs escaping (3.3.11) and folding, some of it beyond one octet a letter */
    static const char name[] = "bin; one, \"left\" \\ 苔の森の水槽のそばの棚の箱";
    fl_id bin = fl_keeper_place(&r->k, name, FL_PLACE_BIN, 0, 23.0);
    r->lot = fl_keeper_arrive(&r->k, shop, fl_keeper_id(&r->k), bench, FL_FORM_POTTED,
                              FL_USE_PLANTS_ONLY, 2);
    fl_keeper_move(&r->k, r->lot, bin);
}

static void ask(rig *r)
{
    fl_keeper_ask(&r->k);
    check_ok(fl_calendar_make(&r->k.app, &r->k.room, r->k.chances, &r->arena, &r->entries, &r->n,
                              &r->k.err),
             &r->k.err);
    check_ok(fl_calendar_publish(&r->k.app, r->entries, r->n, &r->k.err), &r->k.err);
}

/* Writes it, twice the same, and lets python read it. */
static void check_read(rig *r, const char *zone)
{
    char path[FL_TEMP_PATH_MAX + 20];
    char rounds[16];
    char cancelled[16];
    int n_rounds = 0;
    int n_cancelled = 0;
    fl_str text;
    fl_str again;
    fl_sv name = strcmp(zone, "none") == 0 ? FL_SV("") : fl_sv_from_cstr(zone);
    fl_str_init(&text, FL_CALENDAR_BYTES_MAX);
    fl_str_init(&again, FL_CALENDAR_BYTES_MAX);
    check_ok(fl_calendar_write(r->entries, r->n, FL_SV("hall"), name, &text, &r->k.err), &r->k.err);
    check_ok(fl_calendar_write(r->entries, r->n, FL_SV("hall"), name, &again, &r->k.err),
             &r->k.err);
    check_str(text.ptr, again.ptr);
    for (size_t i = 0; i < r->n; i++) {
        n_cancelled += r->entries[i].is_cancelled ? 1 : 0;
        n_rounds += r->entries[i].kind == FL_CALENDAR_ROUND && !r->entries[i].is_cancelled ? 1 : 0;
    }
    (void)snprintf(path, sizeof path, "%s/room.ics", r->k.dir);
    (void)snprintf(rounds, sizeof rounds, "%d", n_rounds);
    (void)snprintf(cancelled, sizeof cancelled, "%d", n_cancelled);
    check_ok(fl_files_write(path, fl_str_sv(&text), true, &r->k.err), &r->k.err);
    fl_run run = OUTSIDE("/usr/bin/python3", FL_TEST_DATA_DIR "/calendar_reader.py", path, rounds,
                         cancelled, zone);
    check_str(run.out, "ok\n");
    fl_run_done(&run);
    fl_str_done(&text);
    fl_str_done(&again);
}

/* From 2 March on: the rounds stand on either side of the last Sunday of March. */
static void test_read(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    ask(&r);
    check_true(r.n > 3);
    check_read(&r, "Europe/Vienna");
    check_read(&r, "America/New_York");
    check_read(&r, "Australia/Sydney"); /* the other half of the year */
    check_read(&r, "Asia/Kolkata");     /* none, and half an hour */
    check_read(&r, "none");
    fl_event lost = {.kind = FL_KIND_LOT_LOST};
    lost.body.lot_lost = (fl_ev_lot_lost){.lot = r.lot, .count = 2};
    fl_keeper_day(&r.k, 1, 0);
    fl_keeper_record(&r.k, &lost);
    ask(&r);
    check_read(&r, "Europe/Vienna"); /* all of it cancelled */
    fl_arena_done(&r.arena);
    fl_keeper_done(&r.k);
}

static void test_zones(void **state)
{
    fl_err err = {0};
    (void)state;
    check_ok(fl_calendar_check_zone(FL_SV("Europe/Vienna"), &err), &err);
    check_ok(fl_calendar_check_zone(FL_SV(""), &err), &err);
    check_int(fl_calendar_check_zone(FL_SV("Europe/Wien"), &err), FL_EINVAL);
    check_int(fl_calendar_check_zone(FL_SV("../../etc/passwd"), &err), FL_EINVAL);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_read),
                                          cmocka_unit_test(test_zones)};
FL_TEST_MAIN(tests)
