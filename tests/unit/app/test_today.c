/* What is due: which lines, in which order, five at most, and when the next thing falls due. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/today.h"
#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})

typedef struct stage {
    fl_keeper k;
    fl_id store, bench, bin_1, bin_2, tank;
    fl_today today;
} stage;

/* The keeper's round is on Mondays, the day on which every test begins. */
static void set_stage(stage *s)
{
    memset(s, 0, sizeof *s);
    fl_keeper_init(&s->k);
    fl_event room = {.kind = FL_KIND_ROOM_SET};
    room.body.room_set = (fl_ev_room_set){.round_weekday = 0, .round_effort = FL_EFFORT_CAREFUL};
    fl_keeper_record(&s->k, &room);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    s->tank = fl_keeper_place(&s->k, "the tank", FL_PLACE_ENCLOSURE, 0, 23.0);
}

static void ask(stage *s)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_today_list(s->k.chances, &s->k.room, &s->k.room.arena, &s->today, &s->k.err),
             &s->k.err);
    check_true(s->today.n >= 0 && s->today.n <= FL_TODAY_LINES);
    for (int i = 0; i < s->today.n; i++) {
        check_true(s->today.lines[i].text.len > 0);
        check_true(i == 0 || s->today.lines[i].kind >= s->today.lines[i - 1].kind);
    }
}

static bool has_line(const stage *s, fl_due_kind kind)
{
    for (int i = 0; i < s->today.n; i++) {
        if (s->today.lines[i].kind == kind) {
            return true;
        }
    }
    return false;
}

/* The line of a kind; fails the test when there is none. */
static const fl_due *line(const stage *s, fl_due_kind kind)
{
    for (int i = 0; i < s->today.n; i++) {
        if (s->today.lines[i].kind == kind) {
            return &s->today.lines[i];
        }
    }
    fail_msg("no line \"%s\"", fl_words_due[kind].word);
    return &s->today.lines[0]; /* not reached */
}

static void check_text(const stage *s, fl_due_kind kind, const char *part)
{
    char text[256];
    (void)snprintf(text, sizeof text, "%.*s", FL_SV_ARG(line(s, kind)->text));
    check_contains(text, part);
}

static fl_id buy(stage *s, fl_id arrival, fl_id place)
{
    return fl_keeper_arrive(&s->k, s->store, arrival, place, FL_FORM_POTTED, FL_USE_PLANTS_ONLY, 1);
}

static void clean(stage *s, fl_id lot)
{
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_STRIP, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, "");
}

static void test_an_empty_room(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    ask(&s);
    check_int(s.today.n, 0);
    check_int(s.today.n_more, 0);
    check_int(s.today.n_in_quarantine, 0);
    check_int(s.today.next_s, FL_TIME_OPEN);
    fl_keeper_done(&s.k);
}

/* An arrival is one line; cleaned, it waits for a place; in its bin, for the next round day. */
static void test_from_the_door_to_the_bin(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = buy(&s, arrival, s.bench);
    fl_id b = buy(&s, arrival, s.bench);
    ask(&s);
    check_int(s.today.n, 1);
    check_text(&s, FL_DUE_PREP, "2 lots came home: clean them");
    check_int(line(&s, FL_DUE_PREP)->n_lots, 2);
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, a)), FL_PHASE_ARRIVED);
    fl_keeper_day(&s.k, 0, 1);
    clean(&s, a);
    ask(&s);
    check_text(&s, FL_DUE_PREP, "1 lot came home: clean it");
    check_text(&s, FL_DUE_PLACE, "1 cleaned lot on the bench");
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, a)), FL_PHASE_CLEANED);
    clean(&s, b);
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, a, s.bin_1);
    fl_keeper_move(&s.k, b, s.bin_2);
    ask(&s);
    check_int(s.today.n, 0); /* the round of today was before they came */
    check_int(s.today.n_in_quarantine, 2);
    check_int(s.today.next_s, FL_KEEPER_START_S + 7 * (int64_t)FL_DAY_S - FL_HOUR_S); /* noon */
    fl_keeper_day(&s.k, 6, 0);
    ask(&s);
    check_int(s.today.n, 0);
    fl_keeper_day(&s.k, 7, -8);
    ask(&s);
    check_text(&s, FL_DUE_LOOK, "Look at bin 1, bin 2");
    check_int(line(&s, FL_DUE_LOOK)->n_places, 2);
    fl_keeper_day(&s.k, 9, 0); /* missed: it is still one line, and the date is the round's */
    ask(&s);
    check_int(s.today.n, 1);
    check_true(line(&s, FL_DUE_LOOK)->at_s < s.k.now_s);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    fl_keeper_look(&s.k, s.bin_2, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    ask(&s);
    check_int(s.today.n, 0);
    check_int(s.today.next_s, FL_KEEPER_START_S + 14 * (int64_t)FL_DAY_S - FL_HOUR_S);
    fl_keeper_done(&s.k);
}

/* A find: the hold is the first line, and lasts until it is lifted. */
static void test_a_hold_leads(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, fl_keeper_id(&s.k), s.bin_1);
    buy(&s, fl_keeper_id(&s.k), s.bench);
    fl_keeper_day(&s.k, 7, 0);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, "aphid", lot);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, "fungus_gnat", lot);
    ask(&s);
    check_int(s.today.lines[0].kind, FL_DUE_HOLD);
    check_text(&s, FL_DUE_HOLD, "bin 1 is on hold");
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, lot)), FL_PHASE_HELD);
    int holds = 0;
    for (int i = 0; i < s.today.n; i++) {
        holds += s.today.lines[i].kind == FL_DUE_HOLD ? 1 : 0;
    }
    check_int(holds, 1); /* one line a place, however many were found */
    fl_keeper_done(&s.k);
}

/* A timed step is due when its minutes are over, until it is done or abandoned. */
static void test_a_timer(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, fl_keeper_id(&s.k), s.bench);
    fl_event start = {.kind = FL_KIND_STEP_STARTED};
    start.body.step_started = (fl_ev_step_started){.run = fl_keeper_id(&s.k),
                                                   .step = {.lots = {&lot, 1},
                                                            .step = FL_STEP_SOAK,
                                                            .dose_mg_per_l = (double)NAN,
                                                            .pct = (double)NAN,
                                                            .temp_c = (double)NAN,
                                                            .minutes = 15.0},
                                                   .planned_s = 900};
    fl_keeper_record(&s.k, &start);
    ask(&s);
    check_int(line(&s, FL_DUE_STEP)->at_s, s.k.now_s + 900);
    check_text(&s, FL_DUE_STEP, "soak");
    fl_event end = {.kind = FL_KIND_STEP_ABANDONED};
    end.body.step_abandoned =
        (fl_ev_step_abandoned){.run = start.body.step_started.run, .why = FL_SV("the phone rang")};
    fl_keeper_record(&s.k, &end);
    ask(&s);
    check_false(has_line(&s, FL_DUE_STEP));
    fl_keeper_done(&s.k);
}

/* Quiet enough but for today's look: told as one line; released, it is established. */
static void test_ready_to_go(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lab = fl_keeper_source(&s.k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    fl_id cup = fl_keeper_arrive(&s.k, lab, fl_keeper_id(&s.k), s.bin_1, FL_FORM_TISSUE_CULTURE,
                                 FL_USE_PLANTS_ONLY, 1);
    fl_keeper_step(&s.k, &cup, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    for (int week = 1; week <= 6; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
        ask(&s);
        check_true(week > 3 || !has_line(&s, FL_DUE_RELEASE));
    }
    fl_keeper_day(&s.k, 43, 0);
    ask(&s);
    check_text(&s, FL_DUE_RELEASE, "1 lot is quiet enough to go, after a look today");
    fl_keeper_release(&s.k, cup, s.tank);
    ask(&s);
    check_false(has_line(&s, FL_DUE_RELEASE));
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, cup)), FL_PHASE_ESTABLISHED);
    check_int(s.today.n_in_quarantine, 0);
    fl_keeper_done(&s.k);
}

/* Established places are looked over every two to three months (common practice, no source); a
 * collection that was just entered is not overdue. */
static void test_upkeep(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_already_here(&s.k, s.tank, 3);
    ask(&s);
    check_int(s.today.n, 0);
    check_true(s.today.next_s > s.k.now_s + 55 * (int64_t)FL_DAY_S);
    check_true(s.today.next_s < s.k.now_s + 92 * (int64_t)FL_DAY_S);
    fl_keeper_day(&s.k, 55, 0);
    ask(&s);
    check_int(s.today.n, 0);
    fl_keeper_day(&s.k, 92, 0);
    ask(&s);
    check_text(&s, FL_DUE_UPKEEP, "Look over the tank");
    fl_keeper_look(&s.k, s.tank, FL_EFFORT_GLANCE, 0, NULL, NO_ID);
    ask(&s);
    check_int(s.today.n, 0);
    fl_keeper_done(&s.k);
}

/* After a find the next look does not wait for the round (the reference: looks at least five days
 * apart): a place on hold is due five days after its last look; one that is put on hold long after
 * its last look is due at once; lifted, the round counts again. */
static void test_looks_move_forward_after_a_find(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, fl_keeper_id(&s.k), s.bench);
    clean(&s, lot);
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, lot, s.bin_1);
    fl_keeper_already_here(&s.k, s.tank, 2);
    fl_keeper_day(&s.k, 7, 0);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, "fungus_gnat", lot);
    ask(&s);
    check_false(has_line(&s, FL_DUE_LOOK));
    check_int(s.today.next_s, FL_KEEPER_START_S + 12 * (int64_t)FL_DAY_S); /* not day 14 */
    fl_keeper_day(&s.k, 12, 0);
    ask(&s);
    check_text(&s, FL_DUE_LOOK, "Look at bin 1");
    check_false(has_line(&s, FL_DUE_UPKEEP));
    fl_event hold = {.kind = FL_KIND_HOLD_SET};
    hold.body.hold_set = (fl_ev_hold_set){
        .hold = fl_keeper_id(&s.k), .place = s.tank, .why = FL_SV("gnats may be there")};
    fl_keeper_record(&s.k, &hold);
    ask(&s);
    check_text(&s, FL_DUE_LOOK, "Look at bin 1, the tank");
    fl_event lift = {.kind = FL_KIND_HOLD_LIFTED};
    lift.body.hold_lifted = (fl_ev_hold_lifted){.hold = hold.body.hold_set.hold};
    fl_keeper_day(&s.k, 12, 1);
    fl_keeper_record(&s.k, &lift);
    ask(&s);
    check_text(&s, FL_DUE_LOOK, "Look at bin 1");
    check_int(line(&s, FL_DUE_LOOK)->n_places, 1);
    fl_keeper_done(&s.k);
}

/* Splits are what their lot is: of what was here, established; of a cleaned purchase, cleaned. */
static void test_splits(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id old = fl_keeper_already_here(&s.k, s.bin_2, 3);
    fl_id lot = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bench, FL_FORM_POTTED,
                                 FL_USE_PLANTS_ONLY, 4);
    clean(&s, lot);
    fl_keeper_day(&s.k, 1, 0);
    fl_id old_split = fl_keeper_split(&s.k, old, 1);
    fl_id new_split = fl_keeper_split(&s.k, lot, 1);
    ask(&s);
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, old_split)), FL_PHASE_ESTABLISHED);
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, new_split)), FL_PHASE_CLEANED);
    check_int(s.today.n_in_quarantine, 0);
    fl_keeper_done(&s.k);
}

/* Five lines and no more, whatever happens; the rest is counted; names beyond three too. */
static void test_five_lines(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    char name[32];
    for (int i = 0; i < 8; i++) {
        (void)snprintf(name, sizeof name, "box %d", i);
        fl_id box = fl_keeper_place(&s.k, name, FL_PLACE_BIN, 0, 23.0);
        buy(&s, fl_keeper_id(&s.k), box);
        buy(&s, fl_keeper_id(&s.k), s.bench); /* eight arrivals: eight lines by themselves */
    }
    fl_keeper_day(&s.k, 7, 0);
    ask(&s);
    check_int(s.today.n, FL_TODAY_LINES);
    check_int(s.today.n_more, 4); /* three arrivals and the round */
    for (int i = 0; i < FL_TODAY_LINES; i++) {
        check_int(s.today.lines[i].kind, FL_DUE_PREP);
    }
    fl_keeper_done(&s.k);
    set_stage(&s);
    for (int i = 0; i < 8; i++) {
        (void)snprintf(name, sizeof name, "box %d", i);
        buy(&s, fl_keeper_id(&s.k), fl_keeper_place(&s.k, name, FL_PLACE_BIN, 0, 23.0));
    }
    fl_keeper_day(&s.k, 7, 0);
    ask(&s);
    check_int(s.today.n, 1);
    check_text(&s, FL_DUE_LOOK, "and 5 more");
    fl_keeper_done(&s.k);
}

/* Two records that do not agree are a line, the last one. */
static void test_a_conflict(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, fl_keeper_id(&s.k), s.bin_1);
    fl_event lost = {.kind = FL_KIND_LOT_LOST};
    lost.body.lot_lost = (fl_ev_lot_lost){.lot = lot, .count = 5, .why = FL_SV("rot")};
    fl_keeper_day(&s.k, 1, 0);
    fl_keeper_record(&s.k, &lost);
    ask(&s);
    check_int(s.today.lines[s.today.n - 1].kind, FL_DUE_CONFLICT);
    check_text(&s, FL_DUE_CONFLICT, "1 record does not agree");
    fl_keeper_done(&s.k);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_an_empty_room),
                                          cmocka_unit_test(test_from_the_door_to_the_bin),
                                          cmocka_unit_test(test_a_hold_leads),
                                          cmocka_unit_test(test_a_timer),
                                          cmocka_unit_test(test_ready_to_go),
                                          cmocka_unit_test(test_upkeep),
                                          cmocka_unit_test(test_looks_move_forward_after_a_find),
                                          cmocka_unit_test(test_splits),
                                          cmocka_unit_test(test_five_lines),
                                          cmocka_unit_test(test_a_conflict)};
FL_TEST_MAIN(tests)
