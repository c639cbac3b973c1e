/* The evening's plan, the recipe from the room's own bottle, and the prices of places: a mixed
 * cohort costs days, an uncleaned bin and what rots are told. */
#include <math.h>
#include <string.h>

#include "app/plans.h"
#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})
#define CARD (1U << FL_DEVICE_YELLOW_CARD)

typedef struct stage {
    fl_keeper k;
    fl_id store, zoo, bench, bin_1, bin_2, bin_3, spot, tank;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->zoo = fl_keeper_source(&s->k, "a pet shop", FL_SOURCE_NURSERY, true);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    s->bin_3 = fl_keeper_place(&s->k, "bin 3", FL_PLACE_BIN, 0, 23.0);
    s->spot = fl_keeper_place(&s->k, "window sill", FL_PLACE_OPEN_SPOT, 0, 23.0);
    s->tank = fl_keeper_place(&s->k, "tank", FL_PLACE_ENCLOSURE, 0, 23.0);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
}

static fl_id buy(stage *s, fl_id source, fl_id arrival, fl_id place, fl_use use)
{
    return fl_keeper_arrive(&s->k, source, arrival, place, FL_FORM_POTTED, use, 1);
}

/* ---- the plan ---- */

/* The dip comes from where it was bought and where it goes. */
static void test_the_plan_of_a_lot(void **state)
{
    (void)state;
    stage s;
    fl_prep_plan plan;
    set_stage(&s);
    fl_id plain = buy(&s, s.store, fl_keeper_id(&s.k), s.bench, FL_USE_AMPHIBIAN);
    fl_id beside = buy(&s, s.zoo, fl_keeper_id(&s.k), s.bench, FL_USE_AMPHIBIAN);
    fl_id same = buy(&s, s.zoo, fl_keeper_id(&s.k), s.bench, FL_USE_PLANTS_ONLY);
    fl_keeper_ask(&s.k);
    fl_plan_for_lot(&s.k.room, fl_keeper_lot(&s.k, plain), &plan);
    check_int(fl_prep_called_for(&plan) & 1U << FL_STEP_DIP, 0);
    fl_plan_for_lot(&s.k.room, fl_keeper_lot(&s.k, beside), &plan);
    check_true((fl_prep_called_for(&plan) & 1U << FL_STEP_DIP) != 0);
    fl_plan_for_lot(&s.k.room, fl_keeper_lot(&s.k, same), &plan);
    check_int(fl_prep_called_for(&plan) & 1U << FL_STEP_DIP, 0);
    strike_stage(&s);
}

/* A find begins a new round: what was done before it is asked for again; a retracted one does
 * not. */
static void test_steps_after_a_find(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.store, fl_keeper_id(&s.k), s.bin_1, FL_USE_PLANTS_ONLY);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_STRIP, FL_AGENT_NONE, "");
    fl_keeper_day(&s.k, 7, 0);
    fl_id finding = fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, "aphid", lot);
    fl_keeper_ask(&s.k);
    check_int(fl_steps_done(&s.k.room, fl_keeper_lot(&s.k, lot)), 0);
    fl_keeper_day(&s.k, 7, 1);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_ask(&s.k);
    check_int(fl_steps_done(&s.k.room, fl_keeper_lot(&s.k, lot)), 1U << FL_STEP_RINSE);
    fl_event event = {.kind = FL_KIND_FINDING_RETRACTED};
    event.body.finding_retracted =
        (fl_ev_finding_retracted){.finding = finding, .why = FL_SV("a bud scale")};
    fl_keeper_record(&s.k, &event);
    fl_keeper_ask(&s.k);
    check_int(fl_steps_done(&s.k.room, fl_keeper_lot(&s.k, lot)),
              1U << FL_STEP_RINSE | 1U << FL_STEP_STRIP);
    strike_stage(&s);
}

/* ---- the recipe ---- */

static void open_bottle(stage *s, fl_id bottle, double pct)
{
    fl_event event = {.kind = FL_KIND_BOTTLE_OPENED};
    event.body.bottle_opened = (fl_ev_bottle_opened){.bottle = bottle,
                                                     .agent = FL_AGENT_BLEACH,
                                                     .name = FL_SV("bleach"),
                                                     .label_pct = pct,
                                                     .specific_gravity = (double)NAN,
                                                     .store_c = (double)NAN};
    fl_keeper_record(&s->k, &event);
}

/* 5 parts in 100 (common practice, no source) from the room's last bottle, weaker as it ages; a
 * strip's reading replaces the label. */
static void test_the_recipe(void **state)
{
    (void)state;
    stage s;
    fl_bleach_mix mix;
    set_stage(&s);
    fl_keeper_ask(&s.k);
    check_int(fl_plan_bleach(&s.k.room, (double)NAN, 4000.0, &mix, &s.k.err), FL_ENOTFOUND);
    check_ok(fl_plan_bleach(&s.k.room, 6.0, 4000.0, &mix, &s.k.err), &s.k.err);
    check_close(mix.product_ml, 200.0, 1e-12, 0.0);
    check_close(mix.water_ml, 3800.0, 1e-12, 0.0);
    check_true(mix.strength.is_age_unknown);
    fl_id bottle = fl_keeper_id(&s.k);
    open_bottle(&s, bottle, 6.0);
    fl_keeper_ask(&s.k);
    check_ok(fl_plan_bleach(&s.k.room, (double)NAN, 4000.0, &mix, &s.k.err), &s.k.err);
    double fresh = mix.chlorine_mg_per_l;
    check_close(mix.product_ml, 200.0, 1e-12, 0.0);
    check_close(mix.strength.now_pct, 6.0, 1e-9, 0.0);
    fl_keeper_day(&s.k, 200, 0);
    fl_keeper_ask(&s.k);
    check_ok(fl_plan_bleach(&s.k.room, (double)NAN, 4000.0, &mix, &s.k.err), &s.k.err);
    check_true(mix.chlorine_mg_per_l < 0.95 * fresh);
    double aged = mix.strength.now_pct;
    fl_event tested = {.kind = FL_KIND_BOTTLE_TESTED};
    tested.body.bottle_tested = (fl_ev_bottle_tested){.bottle = bottle, .strength_pct = 3.0};
    fl_keeper_record(&s.k, &tested);
    fl_keeper_ask(&s.k);
    check_ok(fl_plan_bleach(&s.k.room, (double)NAN, 4000.0, &mix, &s.k.err), &s.k.err);
    check_close(mix.strength.now_pct, 3.0, 1e-9, 0.0);
    check_true(aged > 3.0);
    open_bottle(&s, fl_keeper_id(&s.k),
                8.25); /* a new bottle: the old one's strip is not its own */
    fl_keeper_ask(&s.k);
    check_ok(fl_plan_bleach(&s.k.room, (double)NAN, 4000.0, &mix, &s.k.err), &s.k.err);
    check_close(mix.strength.now_pct, 8.25, 1e-9, 0.0);
    check_ok(fl_plan_bleach(&s.k.room, 6.0, 4000.0, &mix, &s.k.err), &s.k.err); /* told: told */
    check_close(mix.strength.now_pct, 6.0, 1e-9, 0.0);
    strike_stage(&s);
}

/* ---- prices ---- */

typedef struct prices {
    fl_place_price *list;
    size_t n;
} prices;

static prices price_of(stage *s, fl_id lot)
{
    prices p = {0};
    fl_keeper_ask(&s->k);
    const fl_lot *lots[1] = {fl_keeper_lot(&s->k, lot)};
    check_ok(
        fl_plan_prices(&s->k.room, &s->k.app, lots, 1, &s->k.room.arena, &p.list, &p.n, &s->k.err),
        &s->k.err);
    return p;
}

static const fl_place_price *price_at(const prices *p, fl_id place)
{
    for (size_t i = 0; i < p->n; i++) {
        if (fl_id_eq(p->list[i].place->place, place)) {
            return &p->list[i];
        }
    }
    fail_msg("no price for that place");
    return &p->list[0]; /* not reached */
}

/* A clean empty bin costs nothing and is best; one with last month's purchase would cost it weeks;
 * benches and enclosures are no choice. */
static void test_a_mixed_cohort_costs_days(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id old = buy(&s, s.store, fl_keeper_id(&s.k), s.bin_1, FL_USE_PLANTS_ONLY);
    for (int week = 1; week <= 5; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_ROOTS, CARD, NULL, NO_ID);
    }
    fl_id fresh = buy(&s, s.store, fl_keeper_id(&s.k), s.bench, FL_USE_PLANTS_ONLY);
    prices p = price_of(&s, fresh);
    check_int(p.n, 4);
    check_true(p.list[0].is_best);
    check_true(fl_id_eq(p.list[0].place->place, s.bin_2));
    const fl_place_price *mixed = price_at(&p, s.bin_1);
    const fl_place_price *empty = price_at(&p, s.bin_2);
    check_true(mixed->is_mixed && mixed->n_there == 1);
    check_false(empty->is_mixed || empty->is_unclean || empty->is_held);
    check_int(fl_plan_delay_days(empty), 0);
    check_true(fl_plan_delay_days(mixed) >= 14);
    check_true(mixed->their_after_s > mixed->their_before_s);
    check_false(mixed->is_best);
    /* The price is what the record would say: do it and ask the gate. */
    int64_t said = mixed->their_after_s;
    fl_keeper_move(&s.k, fresh, s.bin_1);
    fl_keeper_ask(&s.k);
    const fl_condition *c = fl_keeper_gate(&s.k, old, 0).answer.conditions;
    int64_t later = c[FL_CONDITION_CHANCE].earliest_s;
    later = c[FL_CONDITION_GUARD].earliest_s > later ? c[FL_CONDITION_GUARD].earliest_s : later;
    later = c[FL_CONDITION_LEAST_DAYS].earliest_s > later ? c[FL_CONDITION_LEAST_DAYS].earliest_s
                                                          : later;
    check_int(said, later);
    strike_stage(&s);
}

/* The rest of the same arrival belongs together and costs nobody anything. */
static void test_the_same_arrival_is_not_mixed(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    buy(&s, s.store, arrival, s.bin_1, FL_USE_PLANTS_ONLY);
    fl_id second = buy(&s, s.store, arrival, s.bench, FL_USE_PLANTS_ONLY);
    prices p = price_of(&s, second);
    const fl_place_price *with = price_at(&p, s.bin_1);
    check_false(with->is_mixed);
    check_int(fl_plan_delay_days(with), 0);
    strike_stage(&s);
}

/* Emptied and not cleaned; cleaned; held. */
static void test_unclean_and_held(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id gone = buy(&s, s.store, fl_keeper_id(&s.k), s.bin_1, FL_USE_PLANTS_ONLY);
    fl_id found = buy(&s, s.store, fl_keeper_id(&s.k), s.bin_2, FL_USE_PLANTS_ONLY);
    fl_keeper_day(&s.k, 2, 0);
    fl_keeper_move(&s.k, gone, s.tank);
    fl_keeper_look(&s.k, s.bin_2, FL_EFFORT_CAREFUL, 0, "aphid", found);
    fl_keeper_day(&s.k, 3, 0);
    fl_id fresh = buy(&s, s.store, fl_keeper_id(&s.k), s.bench, FL_USE_PLANTS_ONLY);
    prices p = price_of(&s, fresh);
    check_true(price_at(&p, s.bin_1)->is_unclean);
    check_int(price_at(&p, s.bin_1)->n_there, 0);
    check_true(price_at(&p, s.bin_2)->is_held);
    check_true(price_at(&p, s.bin_3)->is_best);
    check_true(fl_id_eq(p.list[p.n - 1].place->place, s.bin_2)); /* the held one comes last */
    int64_t unclean = price_at(&p, s.bin_1)->own_s;
    int64_t clean = price_at(&p, s.bin_3)->own_s;
    check_true(unclean >= clean);
    fl_keeper_clean(&s.k, s.bin_1);
    p = price_of(&s, fresh);
    check_false(price_at(&p, s.bin_1)->is_unclean);
    strike_stage(&s);
}

/* What rots in a closed box goes to the open spot. */
static void test_what_rots(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_event plant = {.kind = FL_KIND_PLANT_SET};
    plant.body.plant_set = (fl_ev_plant_set){
        .plant = fl_keeper_id(&s.k), .name = FL_SV("air plant"), .rots_when_closed = true};
    fl_keeper_record(&s.k, &plant);
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED};
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(&s.k),
                                                 .arrival = fl_keeper_id(&s.k),
                                                 .source = s.store,
                                                 .plant = plant.body.plant_set.plant,
                                                 .count = 1,
                                                 .form = FL_FORM_MOUNTED,
                                                 .place = s.bench,
                                                 .cost = (double)NAN};
    fl_keeper_record(&s.k, &event);
    prices p = price_of(&s, event.body.lot_arrived.lot);
    check_true(price_at(&p, s.bin_1)->rots);
    check_false(price_at(&p, s.spot)->rots);
    check_true(price_at(&p, s.spot)->is_best);
    strike_stage(&s);
}

/* The room must have been asked for. */
static void set_gasket(stage *s, fl_id place, bool has_gasket)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = *fl_defs_place(&s->k.room.defs, place);
    event.body.place_set.has_gasket = has_gasket;
    fl_keeper_record(&s->k, &event);
}

/* What goes to stock never gets quiet enough in a box that does not close tight: that is told, with
 * the date of one that does; such a box is not the best while another has a date. The date is what
 * the record says once the box is recorded as closing tight. */
static void test_a_box_without_a_gasket(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id boxes[] = {s.bin_1, s.bin_2, s.bin_3, s.spot};
    fl_id lot = buy(&s, s.store, fl_keeper_id(&s.k), s.bench, FL_USE_STOCK);
    fl_keeper_ask(&s.k);
    for (size_t i = 0; i < 4; i++) {
        set_gasket(&s, boxes[i], false);
    }
    prices p = price_of(&s, lot);
    const fl_place_price *leaky = price_at(&p, s.bin_1);
    check_true(leaky->own_s == FL_GATE_NEVER);
    check_true(leaky->own_sealed_s != FL_GATE_NEVER);
    check_true(fl_plan_price_is_free(leaky));
    check_true(price_at(&p, s.spot)->own_sealed_s == FL_GATE_NEVER); /* nothing to close */
    check_true(p.list[0].is_best);                                   /* nowhere has a date */
    int64_t said = leaky->own_sealed_s;
    set_gasket(&s, s.bin_1, true);
    p = price_of(&s, lot);
    const fl_place_price *tight = price_at(&p, s.bin_1);
    check_int(tight->own_s, said);
    check_true(tight->is_best);
    check_true(tight->own_sealed_s == FL_GATE_NEVER); /* it closes tight as it is */
    check_false(price_at(&p, s.bin_2)->is_best);
    strike_stage(&s);
}

static void test_nothing_to_place(void **state)
{
    (void)state;
    stage s;
    fl_place_price *list = NULL;
    size_t n = 0;
    set_stage(&s);
    fl_keeper_ask(&s.k);
    check_int(fl_plan_prices(&s.k.room, &s.k.app, NULL, 0, &s.k.room.arena, &list, &n, &s.k.err),
              FL_EINVAL);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_the_plan_of_a_lot),
                                          cmocka_unit_test(test_steps_after_a_find),
                                          cmocka_unit_test(test_the_recipe),
                                          cmocka_unit_test(test_a_mixed_cohort_costs_days),
                                          cmocka_unit_test(test_the_same_arrival_is_not_mixed),
                                          cmocka_unit_test(test_unclean_and_held),
                                          cmocka_unit_test(test_what_rots),
                                          cmocka_unit_test(test_a_box_without_a_gasket),
                                          cmocka_unit_test(test_nothing_to_place)};
FL_TEST_MAIN(tests)
