/* Tonight's evening from a room: the order by hygiene, and how far it has come, from the journal
 * alone: late steps, a lot that comes in, a tub that is lost, a tub that was disinfected. What is
 * expected follows from the rules (design sections 2 and 5), step by step. */
#include <math.h>
#include <string.h>

#include "app/evening.h"
#include "app/today.h"
#include "support/keeper.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id store, lab, zoo, bench, shop, cups, pets;
    fl_evening_options options;
    fl_evening e;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->options = fl_evening_options_usual();
    s->options.effort = 20000;
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->lab = fl_keeper_source(&s->k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    s->zoo = fl_keeper_source(&s->k, "a pet shop", FL_SOURCE_NURSERY, true);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->shop = fl_keeper_id(&s->k);
    s->cups = fl_keeper_id(&s->k);
    s->pets = fl_keeper_id(&s->k);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static void ask(stage *s)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_evening_make(&s->k.room, s->k.chances, &s->options, &s->arena, &s->e, &s->k.err),
             &s->k.err);
}

static const fl_evening_lot *lot_of(const stage *s, fl_id lot)
{
    static const fl_evening_lot none = {0};
    for (size_t i = 0; i < s->e.n_lots; i++) {
        if (fl_id_eq(s->e.lots[i].lot->id, lot)) {
            return &s->e.lots[i];
        }
    }
    return &none;
}

/* The next line of a lot's step; NULL when it has none. */
static const fl_evening_item *item_of(const stage *s, fl_id lot, fl_step step)
{
    for (size_t i = 0; i < s->e.n_items; i++) {
        const fl_evening_item *it = &s->e.items[i];
        if (it->lot >= 0 && fl_id_eq(s->e.lots[it->lot].lot->id, lot) &&
            s->e.lots[it->lot].steps[it->step].plan->step == step) {
            return it;
        }
    }
    return NULL;
}

static fl_id start(stage *s, fl_id lot, fl_step step, fl_agent agent, int tub, int planned_s)
{
    const double untold = (double)NAN;
    fl_event event = {.kind = FL_KIND_STEP_STARTED};
    fl_id run = fl_keeper_id(&s->k);
    event.body.step_started = (fl_ev_step_started){
        .run = run,
        .step = {.lots = {&lot, 1},
                 .step = step,
                 .agent = agent,
                 .dose_mg_per_l = untold,
                 .pct = untold,
                 .temp_c = untold,
                 .minutes = untold,
                 .tub = tub > 0 ? fl_evening_tub_name(tub, &s->arena) : FL_SV("")},
        .planned_s = planned_s};
    fl_keeper_record(&s->k, &event);
    return run;
}

static void finish(stage *s, fl_id run, fl_id lot, fl_step step, fl_agent agent, int tub)
{
    const double untold = (double)NAN;
    fl_ev_step done = {.lots = {&lot, 1},
                       .step = step,
                       .agent = agent,
                       .dose_mg_per_l = untold,
                       .pct = untold,
                       .temp_c = untold,
                       .minutes = untold,
                       .tub = tub > 0 ? fl_evening_tub_name(tub, &s->arena) : FL_SV("")};
    fl_event event = {.kind = FL_KIND_STEP_DONE};
    event.body.step_done = (fl_ev_step_done){.run = run, .steps = &done, .n_steps = 1};
    fl_keeper_record(&s->k, &event);
}

static void disinfect(stage *s, const char *part)
{
    fl_event event = {.kind = FL_KIND_PLACE_CLEANED};
    event.body.place_cleaned = (fl_ev_place_cleaned){.place = s->bench,
                                                     .agent = FL_AGENT_BLEACH,
                                                     .efficacy = (double)NAN,
                                                     .part = fl_sv_from_cstr(part)};
    fl_keeper_record(&s->k, &event);
}

/* Raised sterile before a shop's plants, those before what stood with animals; every line of one is
 * over before hands go to the next; it ends with the sink. */
static void test_clean_before_suspect(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id pet = fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_POTTED, FL_USE_AMPHIBIAN, 1);
    fl_id plant = fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    fl_id cup =
        fl_keeper_arrive(&s.k, s.lab, s.cups, s.bench, FL_FORM_TISSUE_CULTURE, FL_USE_STOCK, 1);
    ask(&s);
    check_int(s.e.begun_s, INT64_MIN);
    check_int(s.e.n_lots, 3);
    check_true(lot_of(&s, cup)->risk < lot_of(&s, plant)->risk);
    check_true(lot_of(&s, plant)->risk < lot_of(&s, pet)->risk);
    check_true(item_of(&s, cup, FL_STEP_POT_UP)->end_s <=
               item_of(&s, plant, FL_STEP_STRIP)->start_s);
    check_true(item_of(&s, plant, FL_STEP_POT_UP)->end_s <=
               item_of(&s, pet, FL_STEP_STRIP)->start_s);
    check_int(s.e.items[s.e.n_items - 1].job, FL_BENCH_LAST_WASH);
    check_true(s.e.finish_low_s < s.e.finish_s && s.e.finish_s < s.e.finish_high_s);
    check_true(s.e.has_dip && !s.e.has_mix && s.e.no_mix_why.len > 0); /* no bottle is recorded */
    strike_stage(&s);
}

/* A plan starts when it is told to, and with more tubs it ends no later. */
static void test_options(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    for (int i = 0; i < 3; i++) {
        fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    }
    s.options.start_s = s.k.now_s + 7200;
    s.options.n_tubs = 1;
    ask(&s);
    int64_t one_s = s.e.finish_s;
    check_int(s.e.start_s, s.k.now_s + 7200);
    s.options.n_tubs = 3;
    ask(&s);
    check_true(s.e.finish_s < one_s);
    s.options.tubs_lost = 1U << 0 | 1U << 2; /* of three, only the second is left */
    ask(&s);
    check_int(s.e.finish_s, one_s);
    for (size_t i = 0; i < s.e.n_items; i++) {
        check_true(s.e.items[i].tub == 0 || s.e.items[i].tub == 2);
    }
    s.options.tubs_lost = 7;
    fl_err err = {0};
    check_int(fl_evening_make(&s.k.room, s.k.chances, &s.options, &s.arena, &s.e, &err),
              FL_EDOMAIN);
    check_contains(err.message, "tubs are lost");
    strike_stage(&s);
}

/* Steps go from waiting to running to done; the rest is planned from now on, and a step that ran
 * late moves what follows, not what was. */
static void test_as_it_goes(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    fl_id next = fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    s.k.now_s += 600;
    int64_t begun_s = s.k.now_s;
    fl_id run = start(&s, lot, FL_STEP_STRIP, FL_AGENT_NONE, 0, 600);
    ask(&s);
    check_int(s.e.begun_s, begun_s);
    check_int(lot_of(&s, lot)->steps[0].state, FL_STEP_RUNS);
    check_int(item_of(&s, lot, FL_STEP_STRIP)->end_s, begun_s + 600);
    check_true(item_of(&s, next, FL_STEP_STRIP)->start_s >= begun_s + 600); /* hands are at work */
    int64_t first_s = s.e.finish_s;
    s.k.now_s += 1500; /* 15 minutes late */
    finish(&s, run, lot, FL_STEP_STRIP, FL_AGENT_NONE, 0);
    ask(&s);
    check_int(lot_of(&s, lot)->steps[0].state, FL_STEP_IS_DONE);
    check_int(lot_of(&s, lot)->steps[0].started_s, begun_s);
    check_int(lot_of(&s, lot)->steps[0].ended_s, begun_s + 1500);
    check_int(s.e.finish_s, first_s + 900);
    check_true(item_of(&s, lot, FL_STEP_STRIP) == NULL);
    /* a soak runs; another lot comes home and joins the sheet */
    start(&s, lot, FL_STEP_SOAK, FL_AGENT_NONE, 1, 900);
    int64_t soaked_s = s.k.now_s;
    s.k.now_s += 60;
    fl_id late = fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    ask(&s);
    check_int(lot_of(&s, lot)->steps[1].state, FL_STEP_PASSED); /* the rinse was not recorded */
    check_int(item_of(&s, lot, FL_STEP_SOAK)->start_s, soaked_s);
    check_int(item_of(&s, lot, FL_STEP_SOAK)->tub, 1);
    check_true(item_of(&s, lot, FL_STEP_SOAK)->out_from_s >= soaked_s + 900);
    check_true(item_of(&s, late, FL_STEP_STRIP) != NULL);
    check_true(item_of(&s, next, FL_STEP_SOAK)->tub == 2 ||
               item_of(&s, next, FL_STEP_SOAK)->start_s >= item_of(&s, lot, FL_STEP_SOAK)->end_s);
    strike_stage(&s);
}

/* A stopped step is not begun again tonight; what follows it goes on. */
static void test_abandoned(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_POTTED, FL_USE_AMPHIBIAN, 1);
    s.k.now_s += 60;
    fl_id run = start(&s, lot, FL_STEP_DIP, FL_AGENT_BLEACH, 2, 300);
    s.k.now_s += 100;
    fl_event stop = {.kind = FL_KIND_STEP_ABANDONED};
    stop.body.step_abandoned = (fl_ev_step_abandoned){.run = run, .why = FL_SV("leaves paled")};
    fl_keeper_record(&s.k, &stop);
    ask(&s);
    check_true(item_of(&s, lot, FL_STEP_DIP) == NULL);
    check_true(item_of(&s, lot, FL_STEP_NEUTRALISE) != NULL);
    check_true((fl_steps_done(&s.k.room, fl_keeper_lot(&s.k, lot)) & 1U << FL_STEP_DIP) == 0);
    strike_stage(&s);
}

/* The tub a purchase was in is disinfected before the next, unless the record has it done; then
 * only its contact time is waited for. */
static void test_tubs_in_the_record(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    s.options.n_tubs = 1;
    fl_id first =
        fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_BARE_ROOT, FL_USE_STOCK, 1);
    fl_id other =
        fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_BARE_ROOT, FL_USE_PLANTS_ONLY, 1);
    s.k.now_s += 60;
    fl_id run = start(&s, first, FL_STEP_SOAK, FL_AGENT_NONE, 1, 900);
    s.k.now_s += 900;
    finish(&s, run, first, FL_STEP_SOAK, FL_AGENT_NONE, 1);
    for (int is_done = 0; is_done < 2; is_done++) {
        if (is_done) {
            s.k.now_s += 60;
            disinfect(&s, "tub 1");
            s.k.now_s += 540; /* 60 s of its 600 are left */
        }
        ask(&s);
        int n_cleans = 0;
        for (size_t i = 0; i < s.e.n_items; i++) {
            n_cleans += s.e.items[i].job == FL_BENCH_DISINFECT_TUB ? 1 : 0;
        }
        check_int(n_cleans, is_done ? 0 : 1);
    }
    check_true(item_of(&s, other, FL_STEP_SOAK)->start_s >= s.k.now_s + 60);
    strike_stage(&s);
}

/* All as planned: every step that was left, none in the future, none before it came home, in the
 * order of the sheet; then nothing is left, and the gate has its steps. */
static void test_all_as_planned(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_event *events = NULL;
    size_t n = 0;
    fl_id lot = fl_keeper_arrive(&s.k, s.store, s.shop, s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    fl_id pet = fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_POTTED, FL_USE_AMPHIBIAN, 1);
    int64_t came_s = s.k.now_s;
    s.k.now_s += 600;
    start(&s, lot, FL_STEP_STRIP, FL_AGENT_NONE, 0, 600);
    s.k.now_s += 1800;
    ask(&s);
    fl_evening_as_planned(&s.e, &s.arena, &events, &n);
    check_true(n > 12);
    int64_t now_s = s.k.now_s;
    for (size_t i = 0; i < n; i++) {
        check_true(events[i].at_s > came_s && events[i].at_s <= now_s);
        check_true(i == 0 || events[i].at_s > events[i - 1].at_s);
        s.k.now_s = events[i].at_s;
        fl_keeper_record(&s.k, &events[i]);
    }
    s.k.now_s = now_s;
    ask(&s);
    check_true(s.e.is_closed_up);
    check_int(s.e.n_items, 0);
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, lot)), FL_PHASE_CLEANED);
    check_int(fl_phase_of(&s.k.room, fl_keeper_lot(&s.k, pet)), FL_PHASE_CLEANED);
    check_int(lot_of(&s, lot)->steps[0].started_s,
              came_s + 600); /* the running one kept its start */
    check_int(s.k.room.meaning.n_conflicts, 0);
    strike_stage(&s);
}

/* A timed step's minutes come from its start and its end, so a dip that was cut short is a short
 * dip: the rule for animals' diseases wants one minute at least (Bryan 2009: ranavirus, 3 % for
 * 1 minute). */
static void test_minutes_from_the_journal(void **state)
{
    (void)state;
    for (int stood_s = 30; stood_s <= 90; stood_s += 60) {
        stage s;
        set_stage(&s);
        fl_id lot =
            fl_keeper_arrive(&s.k, s.zoo, s.pets, s.bench, FL_FORM_POTTED, FL_USE_AMPHIBIAN, 1);
        s.k.now_s += 60;
        const double untold = (double)NAN;
        fl_event event = {.kind = FL_KIND_STEP_STARTED};
        fl_id run = fl_keeper_id(&s.k);
        fl_ev_step dip = {.lots = {&lot, 1},
                          .step = FL_STEP_DIP,
                          .agent = FL_AGENT_BLEACH,
                          .dose_mg_per_l = 3000.0,
                          .pct = 5.0,
                          .temp_c = untold,
                          .minutes = untold};
        event.body.step_started = (fl_ev_step_started){.run = run, .step = dip, .planned_s = 300};
        fl_keeper_record(&s.k, &event);
        s.k.now_s += stood_s;
        fl_event end = {.kind = FL_KIND_STEP_DONE};
        end.body.step_done = (fl_ev_step_done){.run = run, .steps = &dip, .n_steps = 1};
        fl_keeper_record(&s.k, &end);
        fl_keeper_ask(&s.k);
        const fl_event *last = &s.k.room.events[s.k.room.n_events - 1];
        check_int(last->kind, FL_KIND_STEP_DONE);
        check_close(last->body.step_done.steps[0].minutes, stood_s / 60.0, 1e-12, 0.0);
        fl_condition c = fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_PATHOGEN);
        check_int(c.is_met, stood_s == 90);
        strike_stage(&s);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_clean_before_suspect),
    cmocka_unit_test(test_options),
    cmocka_unit_test(test_as_it_goes),
    cmocka_unit_test(test_abandoned),
    cmocka_unit_test(test_tubs_in_the_record),
    cmocka_unit_test(test_all_as_planned),
    cmocka_unit_test(test_minutes_from_the_journal),
};
FL_TEST_MAIN(tests)
