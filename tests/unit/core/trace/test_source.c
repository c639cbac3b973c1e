/* Weights of ways in: against a hand computation and against an explicit sum over the number of
 * founders. */
#include <math.h>
#include <string.h>

#include "core/know/know.h"
#include "core/trace/backdate.h"
#include "core/trace/source.h"
#include "support/check.h"

static const fl_stage_model CHAIN =
    {3, {{2, 10.0, 50.0, 30.0, 0.0}, {2, 10.0, 80.0, 30.0, 0.0}, {1, 0.0, 0.0, 0.0, 0.0}}, 0.0, 0};
static const double DETECT[3] = {0.1, 0.3, 0.7};
static const double WEIGHT[2] = {0.25, 0.75};
static const double COLONY[3] = {0.1, 0.4, 0.5};

/* 0.2 of it eggs, 0.3 larvae, 0.4 a colony, 0.1 found; the second multiplier is 2. */
static fl_filter state_of(void)
{
    fl_filter f = {.prior = 1.0, .n = 5, .n_mix = 2, .multiplier = {1.0, 2.0}};
    for (int w = 0; w < 2; w++) {
        f.alive[0][w] = 0.05;
        f.alive[1][w] = 0.15;
        f.alive[2][w] = 0.2;
        f.alive[3][w] = 0.1;
        f.alive[4][w] = 0.4;
        f.found[w] = 0.1;
    }
    return f;
}

static fl_source_seen larva(double founders)
{
    return (fl_source_seen){.stage = 1,
                            .detect = DETECT,
                            .cap = 0.95,
                            .weight = WEIGHT,
                            .colony = COLONY,
                            .founders = founders};
}

/* P(no founder of n found, at least one seen now) = (1-D)^n - (1-D-q)^n, summed over n. */
static double by_sum(double found, double any, double mean)
{
    double sum = 0.0;
    double p = exp(-mean) / (1.0 - exp(-mean));
    for (int n = 1; n < 200; n++) {
        p *= mean / n;
        sum += p * (pow(1.0 - found, n) - pow(1.0 - found - any, n));
    }
    return sum;
}

static void test_larva_by_hand(void **state)
{
    (void)state;
    fl_err err = {0};
    double got = 0.0;
    const fl_filter f = state_of();
    const fl_source_seen seen = larva(3.0);
    check_ok(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err), &err);
    double any[2] = {0.2 * 0.1 + 0.3 * 0.3 + 0.4 * 0.7,   /* 0.39 */
                     0.2 * 0.2 + 0.3 * 0.6 + 0.4 * 0.95}; /* 2 x 0.7 is capped */
    double as[2] = {0.3 * 0.3 + 0.4 * 0.7 * 0.4, 0.3 * 0.6 + 0.4 * 0.95 * 0.4};
    double want = 0.25 * by_sum(0.1, any[0], 3.0) * as[0] / any[0] +
                  0.75 * by_sum(0.1, any[1], 3.0) * as[1] / any[1];
    check_close(got, want, 1e-12, 0.0);
}

/* With almost surely one founder it is linear: q_s itself. */
static void test_one_founder_is_linear(void **state)
{
    (void)state;
    fl_err err = {0};
    double got = 0.0;
    const fl_filter f = state_of();
    const fl_source_seen seen = larva(1e-6);
    check_ok(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err), &err);
    check_close(got, 0.25 * (0.09 + 0.112) + 0.75 * (0.18 + 0.152), 1e-5, 0.0);
}

static void test_steady_is_poisson(void **state)
{
    (void)state;
    fl_err err = {0};
    double got = 0.0;
    const fl_filter f = state_of();
    fl_source_seen seen = larva(3.0);
    seen.stage = -1; /* anything */
    check_ok(fl_source_likelihood(&CHAIN, &f, true, &seen, &got, &err), &err);
    double want = 0.25 * exp(-0.1) * (1.0 - exp(-0.39)) + 0.75 * exp(-0.1) * (1.0 - exp(-0.6));
    check_close(got, want, 1e-12, 0.0);
}

static void test_refuses_nonsense(void **state)
{
    (void)state;
    fl_err err = {0};
    double got = 42.0;
    fl_filter f = state_of();
    fl_source_seen seen = larva(3.0);
    seen.stage = 3;
    check_true(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err) == FL_EDOMAIN);
    check_status(&err, FL_EDOMAIN);
    seen = larva(0.0);
    check_true(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err) == FL_EDOMAIN);
    static const double none[2] = {0.0, 0.0};
    seen = larva(3.0);
    seen.weight = none;
    check_true(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err) == FL_EDOMAIN);
    f.n = 4;
    seen = larva(3.0);
    check_true(fl_source_likelihood(&CHAIN, &f, false, &seen, &got, &err) == FL_EINVAL);
    check_close(got, 42.0, 0.0, 0.0);
}

static void test_facts_of_a_disease(void **state)
{
    (void)state;
    const char *fact = NULL;
    const fl_source_facts none = {0};
    const fl_source_facts positive = {.has_positive = true, .keeps_animals = true};
    const fl_source_facts shop = {.keeps_animals = true};
    const fl_source_facts lab = {.keeps_animals = true, .is_sterile = true};
    const fl_source_facts ill = {.has_ill = true, .is_outdoors = true};
    double w_none = fl_source_disease_weight(&none, &fact);
    check_str(fact, "other");
    double w_positive = fl_source_disease_weight(&positive, &fact);
    check_str(fact, "positive");
    double w_shop = fl_source_disease_weight(&shop, &fact);
    check_str(fact, "sold_with_animals");
    double w_ill = fl_source_disease_weight(&ill, &fact);
    check_str(fact, "died_or_ill");
    double w_lab = fl_source_disease_weight(&lab, &fact);
    check_str(fact, "sterile");
    check_true(w_positive > w_ill && w_ill > w_shop && w_shop > w_none && w_none > w_lab);
    const fl_source_facts tank = {.was_with_amphibians = true, .was_in_occupied = true};
    (void)fl_source_disease_weight(&tank, &fact);
    check_str(fact, "with_amphibians");
    const fl_source_facts gecko = {.was_in_occupied = true};
    (void)fl_source_disease_weight(&gecko, &fact);
    check_str(fact, "occupied");
    const fl_source_facts pond = {.is_outdoors = true};
    (void)fl_source_disease_weight(&pond, &fact);
    check_str(fact, "outdoors");
}

static void test_scale(void **state)
{
    (void)state;
    double w[3] = {1.0, 3.0, 0.0};
    fl_source_scale(w, 3);
    check_close(w[0], 0.25, 1e-15, 0.0);
    check_close(w[1], 0.75, 1e-15, 0.0);
    double zero[4] = {0.0};
    fl_source_scale(zero, 4);
    check_close(zero[2], 0.25, 1e-15, 0.0);
    fl_source_scale(zero, 0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_larva_by_hand),      cmocka_unit_test(test_one_founder_is_linear),
    cmocka_unit_test(test_steady_is_poisson),  cmocka_unit_test(test_refuses_nonsense),
    cmocka_unit_test(test_facts_of_a_disease), cmocka_unit_test(test_scale),
};
FL_TEST_MAIN(tests)
