/* app/calendar.h: what is planned, ids that stay, sequence numbers that grow, cancellations (RFC
 * 5545 sections 3.8.4.7, 3.8.7.4, 3.8.1.11). How it is written is judged by parsers of others:
 * tests/reference/test_calendar_python.c and tests/browser/calendar.test.mjs. */
#include <math.h>

#include "app/calendar.h"
#include "app/chores.h"
#include "support/keeper.h"

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    fl_id shop, bench, bin, lot;
    fl_calendar_entry *entries;
    size_t n;
} rig;

static void ask(rig *r)
{
    fl_keeper_ask(&r->k);
    check_ok(fl_calendar_make(&r->k.app, &r->k.room, r->k.chances, &r->arena, &r->entries, &r->n,
                              &r->k.err),
             &r->k.err);
}

static void publish(rig *r)
{
    check_ok(fl_calendar_publish(&r->k.app, r->entries, r->n, &r->k.err), &r->k.err);
}

/* A lot in a bin; the room's round is on Sundays. */
static void begin(rig *r)
{
    *r = (rig){.n = 0};
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    fl_event set = {.kind = FL_KIND_ROOM_SET};
    set.body.room_set = (fl_ev_room_set){
        .name = FL_SV("hall"), .round_weekday = 6, .round_effort = FL_EFFORT_CAREFUL};
    fl_keeper_record(&r->k, &set);
    r->shop = fl_keeper_source(&r->k, "shop", FL_SOURCE_NURSERY, false);
    r->bench = fl_keeper_place(&r->k, "bench", FL_PLACE_BENCH, 0, 23.0);
    r->bin = fl_keeper_place(&r->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    r->lot = fl_keeper_arrive(&r->k, r->shop, fl_keeper_id(&r->k), r->bench, FL_FORM_POTTED,
                              FL_USE_PLANTS_ONLY, 2);
    fl_keeper_move(&r->k, r->lot, r->bin);
    ask(r);
}

static void end(rig *r)
{
    fl_arena_done(&r->arena);
    fl_keeper_done(&r->k);
}

/* Stands for an entry that is not there. */
static const fl_calendar_entry none = {.day = -1, .sequence = -1};

static const fl_calendar_entry *first_of(const rig *r, fl_calendar_kind kind)
{
    for (size_t i = 0; i < r->n; i++) {
        if (r->entries[i].kind == kind && !r->entries[i].is_cancelled) {
            return &r->entries[i];
        }
    }
    return &none;
}

static const fl_calendar_entry *find(const rig *r, fl_id uid)
{
    for (size_t i = 0; i < r->n; i++) {
        if (fl_id_eq(r->entries[i].uid, uid)) {
            return &r->entries[i];
        }
    }
    return &none;
}

/* 2026-03-02 is a Monday: rounds fall on the 8th, the 15th … until the bin could open. */
static void test_rounds_and_release(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    int64_t monday = fl_civil_days(2026, 3, 2);
    const fl_calendar_entry *round = first_of(&r, FL_CALENDAR_ROUND);
    const fl_calendar_entry *release = first_of(&r, FL_CALENDAR_RELEASE);
    check_true(round != &none);
    check_int(round->day, monday + 6);
    check_int(round->minute, 18 * 60);
    check_sv(round->summary, "Round of looks: 1 place");
    check_sv(round->text, "bin 1.");
    int64_t last = round->day;
    for (size_t i = 0; i < r.n; i++) {
        if (r.entries[i].kind == FL_CALENDAR_ROUND) {
            check_int((r.entries[i].day - monday) % 7, 6);
            last = r.entries[i].day;
        }
    }
    fl_gate_report report;
    check_ok(fl_gate_ask(r.k.chances, &r.k.room, fl_keeper_lot(&r.k, r.lot), 0, &r.arena, &report,
                         &r.k.err),
             &r.k.err);
    if (report.answer.earliest_s != FL_GATE_NEVER) {
        check_true(release != &none);
        check_int(release->day, report.answer.earliest_s / FL_DAY_S);
        check_true(last <= release->day && last > release->day - 7);
        check_contains(release->summary.ptr, "bin 1 could be quiet enough");
    } else {
        check_true(release == &none);
    }
    end(&r);
}

static void test_same_until_something_changes(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_calendar_entry *before = r.entries;
    size_t n = r.n;
    publish(&r);
    fl_keeper_day(&r.k, 0, 3);
    ask(&r);
    check_int(r.n, n);
    for (size_t i = 0; i < n; i++) {
        check_true(fl_id_eq(before[i].uid, r.entries[i].uid));
        check_int(r.entries[i].sequence, 0);
        check_int(r.entries[i].stamp_s, before[i].stamp_s);
    }
    end(&r);
}

/* A second bin joins the round: the same entry, changed, with a higher number. */
static void test_update(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    publish(&r);
    fl_id uid = first_of(&r, FL_CALENDAR_ROUND)->uid;
    fl_id bin = fl_keeper_place(&r.k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    fl_id lot = fl_keeper_arrive(&r.k, r.shop, fl_keeper_id(&r.k), r.bench, FL_FORM_POTTED,
                                 FL_USE_PLANTS_ONLY, 2);
    fl_keeper_move(&r.k, lot, bin);
    fl_keeper_day(&r.k, 0, 2);
    ask(&r);
    const fl_calendar_entry *changed = find(&r, uid);
    check_true(changed != &none);
    check_true(changed->sequence > 0);
    check_int(changed->stamp_s, r.k.now_s);
    check_contains(changed->summary.ptr, "2 places");
    int64_t sequence = changed->sequence;
    ask(&r); /* given out again before it was remembered: not lower, not other */
    check_int(find(&r, uid)->sequence, sequence);
    publish(&r);
    fl_keeper_day(&r.k, 0, 5);
    ask(&r);
    check_int(find(&r, uid)->sequence, sequence);
    end(&r);
}

/* The lot is lost: what lay ahead is cancelled, told for a while, and then ends. */
static void test_cancellation(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    publish(&r);
    fl_id uid = first_of(&r, FL_CALENDAR_ROUND)->uid;
    size_t n = r.n;
    fl_event lost = {.kind = FL_KIND_LOT_LOST};
    lost.body.lot_lost = (fl_ev_lot_lost){.lot = r.lot, .count = 2};
    fl_keeper_record(&r.k, &lost);
    fl_keeper_day(&r.k, 1, 0);
    ask(&r);
    check_int(r.n, n); /* each of them, cancelled */
    const fl_calendar_entry *gone = find(&r, uid);
    check_true(gone->is_cancelled);
    check_true(gone->sequence > 0);
    int64_t sequence = gone->sequence;
    publish(&r);
    fl_keeper_day(&r.k, 20, 0);
    ask(&r);
    check_true(find(&r, uid)->is_cancelled); /* its day, 8 March, was not long ago */
    check_int(find(&r, uid)->sequence, sequence);
    fl_keeper_day(&r.k, 60, 0);
    ask(&r);
    check_true(find(&r, uid) == &none);
    end(&r);
}

/* A round that took place simply ends; nothing is cancelled. */
static void test_past_rounds_end(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    publish(&r);
    fl_id uid = first_of(&r, FL_CALENDAR_ROUND)->uid;
    fl_keeper_day(&r.k, 6, 0); /* Sunday, 8 March */
    (void)fl_keeper_look(&r.k, r.bin, FL_EFFORT_CAREFUL, 0, NULL, r.lot);
    fl_keeper_day(&r.k, 7, 0);
    ask(&r);
    check_true(find(&r, uid) == &none);
    const fl_calendar_entry *next = first_of(&r, FL_CALENDAR_ROUND);
    check_int(next->day, fl_civil_days(2026, 3, 15));
    end(&r);
}

static void test_long_soaks(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_event soak = {.kind = FL_KIND_STEP_STARTED};
    soak.body.step_started = (fl_ev_step_started){.run = fl_keeper_id(&r.k),
                                                  .step = {.lots = {&r.lot, 1},
                                                           .step = FL_STEP_SOAK,
                                                           .dose_mg_per_l = (double)NAN,
                                                           .pct = (double)NAN,
                                                           .temp_c = (double)NAN,
                                                           .minutes = (double)NAN},
                                                  .planned_s = 7200};
    fl_keeper_record(&r.k, &soak);
    ask(&r);
    const fl_calendar_entry *due = first_of(&r, FL_CALENDAR_SOAK);
    check_true(due != &none);
    check_int(due->at_s, r.k.now_s + 7200);
    check_sv(due->summary, "End of the soak");
    fl_id uid = due->uid;
    publish(&r);
    fl_event done = {.kind = FL_KIND_STEP_ABANDONED};
    done.body.step_abandoned =
        (fl_ev_step_abandoned){.run = soak.body.step_started.run, .why = FL_SV("it broke")};
    fl_keeper_record(&r.k, &done);
    ask(&r);
    check_true(find(&r, uid)->is_cancelled);
    /* a short one is for the clock at the sink */
    soak.body.step_started.run = fl_keeper_id(&r.k);
    soak.body.step_started.planned_s = FL_CALENDAR_SOAK_LEAST_S - 1;
    fl_keeper_record(&r.k, &soak);
    ask(&r);
    check_true(first_of(&r, FL_CALENDAR_SOAK) == &none);
    end(&r);
}

static void test_builds_and_upkeep(void **state)
{
    rig r;
    (void)state;
    begin(&r);
    fl_event build = {.kind = FL_KIND_BUILD_PLANNED};
    build.body.build_planned = (fl_ev_build_planned){
        .build = fl_keeper_id(&r.k), .name = FL_SV("moss wall"), .need_by = FL_SV("2026-06-01")};
    fl_keeper_record(&r.k, &build);
    fl_id tank = fl_keeper_place(&r.k, "tank", FL_PLACE_ENCLOSURE, 1U << FL_USE_PLANTS_ONLY, 23.0);
    (void)fl_keeper_already_here(&r.k, tank, 3);
    ask(&r);
    bool has_need = false;
    for (size_t i = 0; i < r.n; i++) {
        has_need = has_need || (r.entries[i].kind == FL_CALENDAR_BUILD &&
                                r.entries[i].day == fl_civil_days(2026, 6, 1));
    }
    check_true(has_need);
    const fl_calendar_entry *upkeep = first_of(&r, FL_CALENDAR_UPKEEP);
    check_true(upkeep != &none);
    check_sv(upkeep->summary, "Look over tank");
    int64_t wait = upkeep->day - fl_civil_days(2026, 3, 2);
    check_true(wait >= 60 && wait <= 91); /* app/routine.h */
    end(&r);
}

static void test_settings(void **state)
{
    rig r;
    fl_calendar_settings settings = {.zone = FL_SV("Europe/Vienna"), .minute = 1170};
    (void)state;
    begin(&r);
    check_ok(fl_calendar_settings_put(&r.k.app, &settings, &r.k.err), &r.k.err);
    settings = (fl_calendar_settings){.minute = 0};
    check_ok(fl_calendar_settings_get(&r.k.app, &r.arena, &settings, &r.k.err), &r.k.err);
    check_sv(settings.zone, "Europe/Vienna");
    check_int(settings.minute, 1170);
    ask(&r);
    check_int(first_of(&r, FL_CALENDAR_ROUND)->minute, 1170);
    settings.minute = 1440;
    check_int(fl_calendar_settings_put(&r.k.app, &settings, &r.k.err), FL_EDOMAIN);
    end(&r);
}

/* What serve does by itself: a backup a day, and the calendar's memory. */
static void test_chores(void **state)
{
    rig r;
    fl_sv what;
    (void)state;
    begin(&r);
    fl_app_chores(&r.k.app, true, &r.arena, &what);
    check_contains(what.ptr, "backup made and read back: ");
    fl_app_chores(&r.k.app, true, &r.arena, &what);
    check_int(what.len, 0); /* there is one of today */
    fl_keeper_day(&r.k, 1, 0);
    fl_app_chores(&r.k.app, false, &r.arena, &what);
    check_contains(what.ptr, "room-2026-03-03.sqlite");
    /* the entries were remembered: a change is an update, not a first publication */
    fl_calendar_settings settings = {.zone = FL_SV(""), .minute = 600};
    check_ok(fl_calendar_settings_put(&r.k.app, &settings, &r.k.err), &r.k.err);
    ask(&r);
    check_true(first_of(&r, FL_CALENDAR_ROUND)->sequence > 0);
    end(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rounds_and_release),
    cmocka_unit_test(test_same_until_something_changes),
    cmocka_unit_test(test_update),
    cmocka_unit_test(test_cancellation),
    cmocka_unit_test(test_past_rounds_end),
    cmocka_unit_test(test_long_soaks),
    cmocka_unit_test(test_builds_and_upkeep),
    cmocka_unit_test(test_settings),
    cmocka_unit_test(test_chores),
};
FL_TEST_MAIN(tests)
