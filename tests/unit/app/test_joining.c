/* Two bins are joined only when each side is quiet enough for the stricter use; when not, no place
 * is suggested for it, the reason is told, and the keeper who insists is recorded all the same. */
#include <stdio.h>
#include <string.h>

#include "app/plans.h"
#include "support/keeper.h"
#include "view/words.h"

#define CARD (1U << FL_DEVICE_YELLOW_CARD)
#define NO_ID ((fl_id){{0}})

static void check_sv_has(fl_sv text, const char *want)
{
    char line[1024];
    (void)snprintf(line, sizeof line, "%.*s", FL_SV_ARG(text));
    if (strstr(line, want) == NULL) {
        fail_msg("\"%s\" is not in: %s", want, line);
    }
}

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id store, lab, bench, bin_1, bin_2;
    fl_place_price *prices;
    size_t n_prices;
} stage;

static void set_stage(stage *s)
{
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->lab = fl_keeper_source(&s->k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 23.0);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

/* Comes home and has every step that is called for. */
static fl_id bring(stage *s, fl_id source, fl_id place, fl_form form, fl_use use)
{
    fl_prep_plan plan;
    const fl_id lot = fl_keeper_arrive(&s->k, source, fl_keeper_id(&s->k), place, form, use, 1);
    fl_keeper_ask(&s->k);
    fl_plan_for_lot(&s->k.room, fl_keeper_lot(&s->k, lot), &plan);
    for (int step = 0; step < FL_STEP_COUNT; step++) {
        if ((fl_prep_called_for(&plan) & 1U << step) != 0) {
            fl_keeper_step(&s->k, &lot, 1, (fl_step)step,
                           step == FL_STEP_DIP ? FL_AGENT_BLEACH : FL_AGENT_NONE, "");
        }
    }
    return lot;
}

static void look_weekly(stage *s, int from_day, int weeks)
{
    for (int week = 1; week <= weeks; week++) {
        fl_keeper_day(&s->k, from_day + 7 * week, 0);
        fl_keeper_look(&s->k, s->bin_1, FL_EFFORT_ROOTS, CARD, NULL, NO_ID);
        fl_keeper_look(&s->k, s->bin_2, FL_EFFORT_ROOTS, CARD, NULL, NO_ID);
    }
}

/* The price of bin 2 for a lot. */
static const fl_place_price *price_of_bin_2(stage *s, fl_id lot)
{
    fl_keeper_ask(&s->k);
    const fl_lot *lots[1] = {fl_keeper_lot(&s->k, lot)};
    check_ok(fl_plan_prices(&s->k.room, &s->k.app, lots, 1, &s->arena, &s->prices, &s->n_prices,
                            &s->k.err),
             &s->k.err);
    for (size_t i = 0; i < s->n_prices; i++) {
        if (fl_id_eq(s->prices[i].place->place, s->bin_2)) {
            return &s->prices[i];
        }
    }
    fail_msg("no price for bin 2");
    return NULL; /* not reached */
}

static bool any_best(const stage *s)
{
    for (size_t i = 0; i < s->n_prices; i++) {
        if (s->prices[i].is_best) {
            return true;
        }
    }
    return false;
}

/* Both have been looked at for months: quiet enough for plants only on both sides. */
static void test_each_is_fit(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id a = bring(&s, s.lab, s.bin_1, FL_FORM_TISSUE_CULTURE, FL_USE_PLANTS_ONLY);
    (void)bring(&s, s.lab, s.bin_2, FL_FORM_TISSUE_CULTURE, FL_USE_PLANTS_ONLY);
    look_weekly(&s, 0, 8);
    const fl_place_price *p = price_of_bin_2(&s, a);
    check_true(p->is_mixed && p->joining.is_one);
    check_int(p->joining.use, FL_USE_PLANTS_ONLY);
    check_false(fl_joining_is_unfit(&p->joining));
    check_sv_has(fl_say_price(&s.k.room, p, &s.arena), "They may share it");
    strike_stage(&s);
}

/* The same two, but the one there is for amphibians: the stricter use is asked of both, and the
 * store's plant, quiet enough for plants only, is not fit for it. */
static void test_the_stricter_use_is_asked_of_both(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id plain = bring(&s, s.store, s.bin_1, FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    (void)bring(&s, s.lab, s.bin_2, FL_FORM_TISSUE_CULTURE, FL_USE_AMPHIBIAN);
    look_weekly(&s, 0, 5);
    fl_keeper_ask(&s.k);
    fl_gate_now now;
    check_ok(fl_gate_ask_now(s.k.chances, &s.k.room, fl_keeper_lot(&s.k, plain), 0, &s.arena, &now,
                             &s.k.err),
             &s.k.err);
    check_true(now.waits_for_look_only); /* for what it is for itself, it is quiet enough */
    const fl_place_price *p = price_of_bin_2(&s, plain);
    check_int(p->joining.use, FL_USE_AMPHIBIAN);
    check_true(fl_joining_is_unfit(&p->joining));
    check_true(p->joining.own.lot != NULL && fl_id_eq(p->joining.own.lot->id, plain));
    check_false(p->is_best);
    check_false(fl_plan_price_is_free(p));
    check_sv_has(fl_say_price(&s.k.room, p, &s.arena),
                 "Not fit to be joined for amphibians, the stricter use: a plant");
    strike_stage(&s);
}

/* A fresh lot among quiet ones: whichever side it is on. With every bin taken none is suggested;
 * the keeper who insists is recorded, and what was there waits as long as was said. */
static void test_insisting_is_recorded(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    (void)bring(&s, s.lab, s.bin_1, FL_FORM_TISSUE_CULTURE, FL_USE_PLANTS_ONLY);
    const fl_id quiet = bring(&s, s.lab, s.bin_2, FL_FORM_TISSUE_CULTURE, FL_USE_PLANTS_ONLY);
    look_weekly(&s, 0, 8);
    const fl_id fresh = bring(&s, s.store, s.bench, FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    const fl_place_price *p = price_of_bin_2(&s, fresh);
    check_true(fl_joining_is_unfit(&p->joining));
    check_true(fl_id_eq(p->joining.own.lot->id, fresh));
    check_true(p->joining.own.sum > p->joining.own.ceiling);
    check_true(p->joining.there.lot == NULL);
    check_false(any_best(&s)); /* both bins hold others */
    check_true(fl_plan_delay_days(p) > 7);
    fl_keeper_move(&s.k, fresh, s.bin_2);
    p = price_of_bin_2(&s, quiet); /* asked from the other side: it stands there already */
    check_true(p->joining.is_one && fl_id_eq(p->joining.there.lot->id, fresh));
    check_true(fl_id_eq(fl_keeper_lot(&s.k, fresh)->place, s.bin_2));
    check_false(fl_keeper_gate(&s.k, quiet, 0).answer.is_open);
    strike_stage(&s);
}

/* One purchase is one already, and so are a mother and what was cut or split from her. */
static void test_one_origin_is_not_joined(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id arrival = fl_keeper_id(&s.k);
    const fl_id a =
        fl_keeper_arrive(&s.k, s.store, arrival, s.bin_2, FL_FORM_POTTED, FL_USE_PLANTS_ONLY, 2);
    const fl_id b =
        fl_keeper_arrive(&s.k, s.store, arrival, s.bench, FL_FORM_POTTED, FL_USE_PLANTS_ONLY, 1);
    check_false(price_of_bin_2(&s, b)->joining.is_one);
    fl_keeper_day(&s.k, 1, 0);
    const fl_id cut = fl_keeper_cut(&s.k, a, s.bench, 3);
    check_false(price_of_bin_2(&s, cut)->joining.is_one);
    const fl_id old = fl_keeper_already_here(&s.k, s.bench, 1);
    check_true(price_of_bin_2(&s, old)->joining.is_one);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_each_is_fit),
    cmocka_unit_test(test_the_stricter_use_is_asked_of_both),
    cmocka_unit_test(test_insisting_is_recorded),
    cmocka_unit_test(test_one_origin_is_not_joined),
};
FL_TEST_MAIN(tests)
