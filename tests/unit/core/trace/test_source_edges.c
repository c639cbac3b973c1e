/* Ways in at the edges of what source.h allows, and what must not matter: that the weights of the
 * multipliers are a sum of 1, which of two equal facts came first. By hand, with one founder, where
 * the likelihood is linear: P(first seen now, and as a stage) = mean over multipliers of q_s. */
#include <math.h>

#include "core/trace/source.h"
#include "support/check.h"

static const fl_stage_model CHAIN =
    {3, {{2, 10.0, 50.0, 30.0, 0.0}, {2, 10.0, 80.0, 30.0, 0.0}, {1, 0.0, 0.0, 0.0, 0.0}}, 0.0, 0};
static const double DETECT[3] = {0.1, 0.3, 0.7};
static const double COLONY[3] = {0.1, 0.4, 0.5};

/* 0.2 eggs, 0.3 larvae, 0.4 a colony; one multiplier, 1. */
static fl_filter state_of(void)
{
    fl_filter f = {.prior = 1.0, .n = 5, .n_mix = 1, .multiplier = {1.0}};
    static const double alive[5] = {0.05, 0.15, 0.2, 0.1, 0.4};
    for (int i = 0; i < 5; i++) {
        f.alive[i][0] = alive[i];
    }
    return f;
}

static fl_source_seen stage_seen(int stage, const double *weight)
{
    return (fl_source_seen){.stage = stage,
                            .detect = DETECT,
                            .cap = 0.95,
                            .weight = weight,
                            .colony = COLONY,
                            .founders = 1e-6};
}

static double likelihood(const fl_filter *f, const fl_source_seen *seen)
{
    fl_err err = {0};
    double got = (double)NAN;
    check_ok(fl_source_likelihood(&CHAIN, f, false, seen, &got, &err), &err);
    return got;
}

/* Each stage: its own founders, and its part of what a colony shows. */
static void test_each_stage_by_hand(void **state)
{
    (void)state;
    static const double one[1] = {1.0};
    static const double two[1] = {2.0};
    const fl_filter f = state_of();
    const double colony = 0.4 * 0.7;
    const double want[3] = {0.2 * 0.1 + 0.1 * colony, 0.3 * 0.3 + 0.4 * colony, 0.5 * colony};
    double sum = 0.0;
    for (int s = 0; s < 3; s++) {
        fl_source_seen seen = stage_seen(s, one);
        check_close(likelihood(&f, &seen), want[s], 1e-5, 0.0);
        sum += likelihood(&f, &seen);
        seen.weight = two; /* a weight is a share of all weights */
        check_close(likelihood(&f, &seen), want[s], 1e-5, 0.0);
    }
    fl_source_seen any = stage_seen(-1, one); /* what was seen was some stage: they add up to it */
    check_close(likelihood(&f, &any), sum, 1e-5, 0.0);
}

/* Nothing is alive: nothing is seen, however likely it came this way. What nobody sees is taken to
 * be seen in 2 of 100, since it was. */
static void test_nothing_alive_and_hardly_seen(void **state)
{
    (void)state;
    static const double one[1] = {1.0};
    static const double hidden[3] = {0.0, 0.0, 0.0};
    fl_filter f = state_of();
    fl_source_seen seen = stage_seen(0, one);
    seen.detect = hidden;
    check_close(likelihood(&f, &seen), 0.02 * (0.2 + 0.1 * 0.4), 1e-5, 0.0);
    for (int i = 0; i < 5; i++) {
        f.alive[i][0] = 0.0;
    }
    check_close(likelihood(&f, &seen), 0.0, 0.0, 0.0);
}

static void refuses(const fl_source_seen *seen)
{
    fl_err err = {0};
    double got = 42.0;
    const fl_filter f = state_of();
    check_true(fl_source_likelihood(&CHAIN, &f, false, seen, &got, &err) == FL_EDOMAIN);
    check_contains(err.message,
                   seen->stage < -1 || seen->stage > 2 ? "give 0 to 2, or -1" : "give 1e-6 to 1e6");
    check_close(got, 42.0, 0.0, 0.0);
}

/* "1e-6 to 1e6 founders" and "stage 0 to 2, or -1": the figures themselves are allowed. */
static void test_limits(void **state)
{
    (void)state;
    static const double one[1] = {1.0};
    const fl_filter f = state_of();
    fl_source_seen seen = stage_seen(1, one);
    seen.founders = 1e6; /* surely seen: as a larva in q_s of q */
    check_close(likelihood(&f, &seen), (0.09 + 0.112) / (0.02 + 0.09 + 0.28), 1e-9, 0.0);
    seen.founders = 1.001e6;
    refuses(&seen);
    seen.founders = 0.999e-6;
    refuses(&seen);
    seen.founders = (double)NAN;
    refuses(&seen);
    seen = stage_seen(-2, one);
    refuses(&seen);
    seen = stage_seen(3, one);
    refuses(&seen);
}

/* Facts that weigh the same (0.2 and 0.2, 0.1 and 0.1 in data/disease_sources.csv): the first of
 * the list is named; a sterile start answers for all of them. */
static void test_equal_facts(void **state)
{
    (void)state;
    const char *fact = NULL;
    const fl_source_facts shop = {.was_with_amphibians = true, .keeps_animals = true};
    check_close(fl_source_disease_weight(&shop, &fact), 0.2, 1e-15, 0.0);
    check_str(fact, "with_amphibians");
    const fl_source_facts yard = {.was_in_occupied = true, .is_outdoors = true};
    check_close(fl_source_disease_weight(&yard, &fact), 0.1, 1e-15, 0.0);
    check_str(fact, "occupied");
    const fl_source_facts lab = {.has_positive = true, .is_sterile = true};
    check_close(fl_source_disease_weight(&lab, &fact), 0.0005, 1e-15, 0.0);
    check_str(fact, "sterile");
}

/* Scaling keeps proportions, and leaves alone what lies behind the n that are named. */
static void test_scale_keeps_proportions(void **state)
{
    (void)state;
    double w[4] = {2.0, 6.0, 12.0, 42.0};
    fl_source_scale(w, 3);
    check_close(w[0], 0.1, 1e-15, 0.0);
    check_close(w[1], 0.3, 1e-15, 0.0);
    check_close(w[2], 0.6, 1e-15, 0.0);
    check_close(w[3], 42.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_each_stage_by_hand), cmocka_unit_test(test_nothing_alive_and_hardly_seen),
    cmocka_unit_test(test_limits), cmocka_unit_test(test_equal_facts),
    cmocka_unit_test(test_scale_keeps_proportions)};
FL_TEST_MAIN(tests)
