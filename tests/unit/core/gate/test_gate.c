/* The gate decides (design section 4, the gate): every condition met and not met, the date of each,
 * which use and which threat bind, and that pathogens and what is out of reach stay out of the sum.
 * Ceilings, least days and weights are the frozen policy of docs/decisions/0002. */
#include <math.h>

#include "core/gate/gate.h"
#include "support/check.h"

#define DAY ((int64_t)86400)
#define NOW (1000 * DAY)
#define USE(u) (1U << (u))

typedef struct gate_case {
    fl_gate_threat threats[8];
    fl_gate_input in;
    fl_gate_answer out;
} gate_case;

static void add_threat(gate_case *c, const char *code, double chance)
{
    fl_gate_threat *t = &c->threats[c->in.n_threats++];
    *t = (fl_gate_threat){.threat = fl_know_threat_find(fl_sv_from_cstr(code)),
                          .chance = chance,
                          .least = chance / 2,
                          .most = fmin(1.0, 2.0 * chance),
                          .prior = 0.001, /* no guard */
                          .guard_share = 1.0,
                          .guard_s = NOW};
    check_true(t->threat != NULL);
}

/* Everything is met: nothing is there, forty days have gone by, it was looked at this morning. */
static gate_case *quiet(gate_case *c, unsigned uses)
{
    *c = (gate_case){0};
    c->in = (fl_gate_input){.uses = uses,
                            .now_s = NOW,
                            .today_end_s = NOW + DAY / 2,
                            .last_way_in_s = NOW - 40 * DAY,
                            .last_look_s = NOW - 3600,
                            .next_round_s = NOW + 3 * DAY,
                            .threats = c->threats};
    c->in.residue = (fl_residue_verdict){.answer = FL_RESIDUE_KNOWN_CLEAN, .is_ok_for_use = true};
    for (int u = 0; u < FL_USE_COUNT; u++) {
        c->in.dates[u] = (fl_gate_dates){0.0, NOW, NOW};
    }
    return c;
}

static const fl_condition *decide(gate_case *c, fl_condition_kind kind)
{
    fl_gate_decide(&c->in, &c->out);
    return &c->out.conditions[kind];
}

static void test_all_met_is_open(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_AMPHIBIAN) | USE(FL_USE_STOCK));
    add_threat(&c, "fungus_gnat", 0.01);
    fl_gate_decide(&c.in, &c.out);
    check_true(c.out.is_open);
    check_int(c.out.earliest_s, NOW);
    check_int(c.out.quick_s, NOW);
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        check_true(c.out.conditions[i].is_met);
        check_int(c.out.conditions[i].kind, i);
        check_int(c.out.conditions[i].earliest_s, NOW);
        check_true(c.out.conditions[i].reason != NULL);
    }
}

/* Any one condition closes it. */
static void test_any_one_closes_it(void **state)
{
    (void)state;
    gate_case c;
    for (int kind = 0; kind < FL_CONDITION_COUNT; kind++) {
        quiet(&c, USE(FL_USE_AMPHIBIAN));
        add_threat(&c, "fungus_gnat", 0.01);
        switch ((fl_condition_kind)kind) {
        case FL_CONDITION_HOLD:
            c.in.is_held = true;
            break;
        case FL_CONDITION_CHANCE:
            c.threats[0].chance = 0.5;
            break;
        case FL_CONDITION_GUARD:
            c.threats[0].prior = 0.3;
            c.threats[0].guard_share = 0.949;
            break;
        case FL_CONDITION_LEAST_DAYS:
            c.in.last_way_in_s = NOW - 27 * DAY;
            break;
        case FL_CONDITION_STEPS:
            c.in.steps_needed = 1U << FL_STEP_STRIP;
            break;
        case FL_CONDITION_RESIDUE:
            c.in.residue.is_ok_for_use = false;
            break;
        case FL_CONDITION_PATHOGEN:
            c.in.pathogen.was_with_amphibians = true;
            break;
        case FL_CONDITION_RELEASE_LOOK:
            c.in.last_look_s = NOW - 2 * DAY;
            break;
        case FL_CONDITION_COUNT:
            break;
        }
        fl_gate_decide(&c.in, &c.out);
        check_false(c.out.is_open);
        for (int i = 0; i < FL_CONDITION_COUNT; i++) {
            check_true(c.out.conditions[i].is_met == (i != kind));
        }
    }
}

/* ---- the sum ---- */

/* Weights of docs/decisions/0002: thrips 1 and gnat 0.6 for plants only, 0.4 and 0.3 for frogs.
 * What is out of reach is not in it. */
static void test_the_weighted_sum(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    add_threat(&c, "western_flower_thrips", 0.03);
    add_threat(&c, "fungus_gnat", 0.05);
    add_threat(&c, "root_knot_nematode", 0.9);
    check_close(fl_gate_sum(c.threats, 3, FL_USE_PLANTS_ONLY), 0.03 + 0.6 * 0.05, 1e-12, 0.0);
    check_close(fl_gate_sum(c.threats, 3, FL_USE_AMPHIBIAN), 0.4 * 0.03 + 0.3 * 0.05, 1e-12, 0.0);
    check_close(fl_gate_sum(c.threats, 0, FL_USE_STOCK), 0.0, 0.0, 0.0);
    const fl_condition *chance = decide(&c, FL_CONDITION_CHANCE);
    check_true(chance->is_met);
    check_close(chance->value, 0.06, 1e-12, 0.0);
    check_close(chance->limit, 0.10, 1e-12, 0.0);
    check_close(c.out.sum, 0.06, 1e-12, 0.0);
}

/* The ceilings, to the last digit on both sides. */
static void test_ceilings(void **state)
{
    (void)state;
    static const double ceiling[FL_USE_COUNT] = {0.10, 0.05, 0.05, 0.02, 0.05};
    for (int u = 0; u < FL_USE_COUNT; u++) {
        gate_case c;
        quiet(&c, USE(u));
        add_threat(&c, "ants", 0.0);
        double weight = c.threats[0].threat->weight[u];
        c.threats[0].chance = ceiling[u] / weight * (1.0 - 1e-9);
        check_true(decide(&c, FL_CONDITION_CHANCE)->is_met);
        c.threats[0].chance = ceiling[u] / weight * (1.0 + 1e-9);
        check_false(decide(&c, FL_CONDITION_CHANCE)->is_met);
        check_close(c.out.ceiling, ceiling[u], 1e-12, 0.0);
    }
}

/* Of several uses the one that is met last binds; its worst threat leads, by weight x chance. */
static void test_the_binding_use(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY) | USE(FL_USE_AMPHIBIAN));
    add_threat(&c, "fungus_gnat", 0.12);         /* 0.072 and 0.036 */
    add_threat(&c, "predatory_planarian", 0.05); /* 0.015 and 0.040 */
    c.in.dates[FL_USE_PLANTS_ONLY] = (fl_gate_dates){0.087, NOW, NOW};
    c.in.dates[FL_USE_AMPHIBIAN] = (fl_gate_dates){0.076, NOW + 20 * DAY, NOW + 6 * DAY};
    const fl_condition *chance = decide(&c, FL_CONDITION_CHANCE);
    check_false(chance->is_met);
    check_int(chance->use, FL_USE_AMPHIBIAN);
    check_int(chance->earliest_s, NOW + 20 * DAY);
    check_int(c.out.binding_use, FL_USE_AMPHIBIAN);
    check_str(c.out.worst->threat->code, "predatory_planarian");
    check_int(c.out.earliest_s, NOW + 20 * DAY);
    check_int(c.out.quick_s, NOW + 6 * DAY);
    /* Both met: the closer to its ceiling binds. */
    c.threats[0].chance = 0.05;
    c.threats[1].chance = 0.004;
    check_true(decide(&c, FL_CONDITION_CHANCE)->is_met);
    check_int(c.out.binding_use, FL_USE_AMPHIBIAN);
}

/* Two dates: the guard and the slow ones belong to the second, all else to both. */
static void test_two_dates(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    add_threat(&c, "citrus_mealybug", 0.4);
    c.threats[0].prior = 0.06;
    c.threats[0].guard_share = 0.2;
    c.threats[0].guard_s = NOW + 50 * DAY;
    c.in.dates[FL_USE_PLANTS_ONLY] = (fl_gate_dates){0.4, NOW + 40 * DAY, NOW + 10 * DAY};
    c.in.last_way_in_s = NOW - 2 * DAY;
    fl_gate_decide(&c.in, &c.out);
    check_int(c.out.earliest_s, NOW + 50 * DAY);
    check_int(c.out.quick_s, NOW + 12 * DAY); /* the least days */
    c.in.dates[FL_USE_PLANTS_ONLY].all_s = FL_GATE_NEVER;
    fl_gate_decide(&c.in, &c.out);
    check_int(c.out.earliest_s, FL_GATE_NEVER);
}

/* ---- the guard ---- */

/* Nobody to wait for: all have shown. Of two that will have shown by the same round, the one that
 * is further from it is named, whichever comes first in the list. */
static void test_the_guard_names_the_furthest(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_STOCK));
    check_close(decide(&c, FL_CONDITION_GUARD)->value, 1.0, 0.0, 0.0);
    check_true(decide(&c, FL_CONDITION_GUARD)->threat == NULL);
    add_threat(&c, "fungus_gnat", 0.1);
    add_threat(&c, "citrus_mealybug", 0.1);
    add_threat(&c, "aphid", 0.1);
    for (size_t i = 0; i < 3; i++) {
        c.threats[i].prior = 0.3;
        c.threats[i].guard_share = i == 1 ? 0.2 : 0.4;
        c.threats[i].guard_s = NOW + 14 * DAY;
    }
    check_str(decide(&c, FL_CONDITION_GUARD)->threat->code, "citrus_mealybug");
    check_close(decide(&c, FL_CONDITION_GUARD)->value, 0.2, 0.0, 0.0);
    c.threats[2].guard_s = NOW + 7 * DAY; /* sooner, though further from it today */
    c.threats[2].guard_share = 0.1;
    check_str(decide(&c, FL_CONDITION_GUARD)->threat->code, "citrus_mealybug");
}

/* Asked for where weight x prior is at least 0.5 %; the last to be met binds and is named. */
static void test_the_guard(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    add_threat(&c, "western_flower_thrips", 0.0);
    add_threat(&c, "citrus_mealybug", 0.0);
    add_threat(&c, "root_knot_nematode", 0.0); /* out of reach: no guard */
    for (int i = 0; i < 3; i++) {
        c.threats[i].prior = 0.08;
        c.threats[i].guard_share = 0.5;
        c.threats[i].guard_s = NOW + (7 + 7 * i) * DAY;
    }
    const fl_condition *guard = decide(&c, FL_CONDITION_GUARD);
    check_false(guard->is_met);
    check_str(guard->threat->code, "citrus_mealybug");
    check_int(guard->earliest_s, NOW + 14 * DAY);
    check_close(guard->value, 0.5, 0.0, 0.0);
    check_close(guard->limit, 0.95, 1e-12, 0.0);
    c.threats[0].guard_share = c.threats[1].guard_share = 0.95;
    check_true(decide(&c, FL_CONDITION_GUARD)->is_met);
    /* weight x prior just below and at 0.5 % */
    c.threats[1].guard_share = 0.5;
    c.threats[1].prior = 0.005 - 1e-9;
    check_true(decide(&c, FL_CONDITION_GUARD)->is_met);
    c.threats[1].prior = 0.005 + 1e-9;
    check_false(decide(&c, FL_CONDITION_GUARD)->is_met);
}

/* A threat that nobody can see at this effort: never by waiting. */
static void test_a_guard_that_never_comes(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    add_threat(&c, "root_mealybug", 0.0);
    c.threats[0].prior = 0.02;
    c.threats[0].guard_share = 0.0;
    c.threats[0].guard_s = FL_GATE_NEVER;
    check_int(decide(&c, FL_CONDITION_GUARD)->earliest_s, FL_GATE_NEVER);
    check_int(c.out.earliest_s, FL_GATE_NEVER);
}

/* ---- days, steps, residues, holds, the look ---- */

static void test_least_days(void **state)
{
    (void)state;
    static const int days[FL_USE_COUNT] = {14, 21, 21, 28, 28};
    for (int u = 0; u < FL_USE_COUNT; u++) {
        gate_case c;
        quiet(&c, USE(u));
        c.in.last_way_in_s = NOW - days[u] * DAY + 1;
        check_false(decide(&c, FL_CONDITION_LEAST_DAYS)->is_met);
        check_int(c.out.conditions[FL_CONDITION_LEAST_DAYS].earliest_s, NOW + 1);
        c.in.last_way_in_s = NOW - days[u] * DAY;
        check_true(decide(&c, FL_CONDITION_LEAST_DAYS)->is_met);
        check_close(c.out.conditions[FL_CONDITION_LEAST_DAYS].value, days[u], 0.0, 0.0);
    }
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY) | USE(FL_USE_REPTILE)); /* the longest of the uses */
    c.in.last_way_in_s = NOW - 15 * DAY;
    check_int(decide(&c, FL_CONDITION_LEAST_DAYS)->earliest_s, NOW + 6 * DAY);
    check_int(c.out.conditions[FL_CONDITION_LEAST_DAYS].use, FL_USE_REPTILE);
}

/* A step can be done any evening: it closes the gate, and puts nothing off. */
static void test_steps(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    c.in.steps_needed = 1U << FL_STEP_STRIP | 1U << FL_STEP_RINSE;
    c.in.steps_done = 1U << FL_STEP_RINSE | 1U << FL_STEP_DIP;
    const fl_condition *steps = decide(&c, FL_CONDITION_STEPS);
    check_false(steps->is_met);
    check_int(steps->steps_missing, 1U << FL_STEP_STRIP);
    check_int(steps->earliest_s, NOW);
    c.in.steps_done |= 1U << FL_STEP_STRIP;
    check_true(decide(&c, FL_CONDITION_STEPS)->is_met);
}

/* Bleach of today where animals would meet it today; US EPA 1986: 0.019 and 0.011 mg/L (S10). */
static void test_chlorine_today(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_AMPHIBIAN));
    check_str(decide(&c, FL_CONDITION_STEPS)->reason, "");
    c.in.chlorine = FL_GATE_CHLORINE_LEFT;
    check_false(decide(&c, FL_CONDITION_STEPS)->is_met);
    check_str(decide(&c, FL_CONDITION_STEPS)->reason, "chlorine_left");
    c.in.chlorine = FL_GATE_CHLORINE_RINSED;
    check_true(decide(&c, FL_CONDITION_STEPS)->is_met);
    check_str(decide(&c, FL_CONDITION_STEPS)->reason, "chlorine_today");
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    c.in.chlorine = FL_GATE_CHLORINE_LEFT;
    check_true(decide(&c, FL_CONDITION_STEPS)->is_met);
}

/* Fertiliser prills: asked where it came in a pot and animals are there; what was left closes. */
static void test_prills(void **state)
{
    (void)state;
    static const struct {
        fl_use use;
        bool asks;
        fl_prills told;
        bool is_met;
        const char *reason;
    } cases[] = {
        {FL_USE_AMPHIBIAN, true, FL_PRILLS_NOT_TOLD, true, "prills_not_told"},
        {FL_USE_AMPHIBIAN, true, FL_PRILLS_REMOVED, true, ""},
        {FL_USE_AMPHIBIAN, true, FL_PRILLS_NONE_SEEN, true, ""},
        {FL_USE_AMPHIBIAN, true, FL_PRILLS_LEFT, false, "prills_left"},
        {FL_USE_REPTILE, true, FL_PRILLS_LEFT, false, "prills_left"},
        {FL_USE_INVERTEBRATE, true, FL_PRILLS_LEFT, false, "prills_left"},
        {FL_USE_PLANTS_ONLY, true, FL_PRILLS_LEFT, true, ""},
        {FL_USE_STOCK, true, FL_PRILLS_LEFT, true, ""},
        {FL_USE_AMPHIBIAN, false, FL_PRILLS_LEFT, true, ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gate_case c;
        quiet(&c, USE(cases[i].use));
        c.in.asks_prills = cases[i].asks;
        c.in.prills = cases[i].told;
        const fl_condition *steps = decide(&c, FL_CONDITION_STEPS);
        check_true(steps->is_met == cases[i].is_met);
        check_str(steps->reason, cases[i].reason);
        check_int(steps->earliest_s, NOW);
    }
}

static void test_residues(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_AMPHIBIAN));
    c.in.residue = (fl_residue_verdict){
        .answer = FL_RESIDUE_UNKNOWN, .why = FL_RESIDUE_WHY_WAIT, .wait_days = 9.0};
    c.in.residue_use = FL_USE_AMPHIBIAN;
    const fl_condition *residue = decide(&c, FL_CONDITION_RESIDUE);
    check_false(residue->is_met);
    check_int(residue->earliest_s, NOW + 9 * DAY);
    check_str(residue->reason, "wait");
    c.in.residue = (fl_residue_verdict){.answer = FL_RESIDUE_KNOWN_SYSTEMIC,
                                        .why = FL_RESIDUE_WHY_SYSTEMIC,
                                        .wait_days = (double)NAN};
    check_int(decide(&c, FL_CONDITION_RESIDUE)->earliest_s, FL_GATE_NEVER);
}

static void test_a_hold(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    c.in.is_held = true;
    check_int(decide(&c, FL_CONDITION_HOLD)->earliest_s, FL_GATE_NEVER);
    check_int(c.out.quick_s, FL_GATE_NEVER);
}

/* The look of the local day counts; not yesterday's, nor one that is still to come. */
static void test_the_release_look(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, USE(FL_USE_PLANTS_ONLY));
    c.in.last_look_s = c.in.today_end_s - DAY + 1; /* just after local midnight */
    check_true(decide(&c, FL_CONDITION_RELEASE_LOOK)->is_met);
    c.in.last_look_s = c.in.today_end_s - DAY;
    check_false(decide(&c, FL_CONDITION_RELEASE_LOOK)->is_met);
    c.in.last_look_s = NOW + 60;
    check_false(decide(&c, FL_CONDITION_RELEASE_LOOK)->is_met);
    c.in.last_look_s = INT64_MIN;
    check_false(decide(&c, FL_CONDITION_RELEASE_LOOK)->is_met);
    check_int(c.out.conditions[FL_CONDITION_RELEASE_LOOK].earliest_s, NOW);
}

/* ---- diseases of animals ---- */

static void test_pathogens(void **state)
{
    (void)state;
    static const struct {
        fl_pathogen_facts facts;
        bool is_met;
        const char *reason;
    } cases[] = {
        {{0}, true, ""},
        {{.was_with_amphibians = true, .was_in_occupied = true}, false, "with_amphibians"},
        {{.was_in_occupied = true}, false, "occupied_enclosure"},
        {{.source_keeps_animals = true}, false, "source_keeps_animals"},
        {{.is_from_outdoors = true}, false, "outdoors"},
        {{.has_positive = true, .was_in_occupied = true}, false, "positive"},
        /* a tested dip after it; never where an animal was ill */
        {{.was_with_amphibians = true, .was_disinfected = true}, true, "disinfected"},
        {{.source_keeps_animals = true, .was_disinfected = true}, true, "disinfected"},
        {{.has_positive = true, .was_disinfected = true}, false, "positive"},
        /* raised sterile: that answers for the seller, not for the frogs it lived with since */
        {{.is_sterile = true, .source_keeps_animals = true}, true, ""},
        {{.is_sterile = true, .is_from_outdoors = true}, true, ""},
        {{.is_sterile = true, .was_with_amphibians = true}, false, "with_amphibians"},
        {{.is_sterile = true, .has_positive = true}, false, "positive"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (int u = 0; u < FL_USE_COUNT; u++) {
            gate_case c;
            bool is_asked = u == FL_USE_AMPHIBIAN || u == FL_USE_STOCK;
            quiet(&c, USE(u));
            c.in.pathogen = cases[i].facts;
            const fl_condition *p = decide(&c, FL_CONDITION_PATHOGEN);
            check_true(p->is_met == (cases[i].is_met || !is_asked));
            check_str(p->reason, is_asked ? cases[i].reason : "");
            check_int(p->earliest_s, p->is_met ? NOW : FL_GATE_NEVER);
            check_close(c.out.sum, 0.0, 0.0, 0.0); /* never in the sum */
        }
    }
}

/* No use told counts as plants only. */
static void test_no_use(void **state)
{
    (void)state;
    gate_case c;
    quiet(&c, 0);
    add_threat(&c, "fungus_gnat", 0.16); /* 0.096 */
    check_true(decide(&c, FL_CONDITION_CHANCE)->is_met);
    check_int(c.out.binding_use, FL_USE_PLANTS_ONLY);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_all_met_is_open),
                                          cmocka_unit_test(test_any_one_closes_it),
                                          cmocka_unit_test(test_the_weighted_sum),
                                          cmocka_unit_test(test_ceilings),
                                          cmocka_unit_test(test_the_binding_use),
                                          cmocka_unit_test(test_two_dates),
                                          cmocka_unit_test(test_the_guard_names_the_furthest),
                                          cmocka_unit_test(test_the_guard),
                                          cmocka_unit_test(test_a_guard_that_never_comes),
                                          cmocka_unit_test(test_least_days),
                                          cmocka_unit_test(test_steps),
                                          cmocka_unit_test(test_chlorine_today),
                                          cmocka_unit_test(test_prills),
                                          cmocka_unit_test(test_residues),
                                          cmocka_unit_test(test_a_hold),
                                          cmocka_unit_test(test_the_release_look),
                                          cmocka_unit_test(test_pathogens),
                                          cmocka_unit_test(test_no_use)};
FL_TEST_MAIN(tests)
