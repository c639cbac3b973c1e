/* Back-dating: against gamma distributions (GSL), against the forward filter run from each hour,
 * and the reference's definition of the window. */
#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#include "core/trace/backdate.h"
#include "support/check.h"

#define HOURS 1200

static const double ONE[1] = {1.0};

/* Egg, larva, adult at a constant rate: 12 substages of mean 5 d and 8 d at 20 C. */
static const fl_stage_model CHAIN = {
    3,
    {{12, 10.0, 50.0, 30.0, 0.0}, {12, 10.0, 80.0, 30.0, 0.0}, {1, 0.0, 0.0, 0.0, 0.0}},
    0.0,
    0};

static double temps_c[HOURS];
static double likelihood[HOURS + 1];

static void constant(double temp_c)
{
    for (int h = 0; h < HOURS; h++) {
        temps_c[h] = temp_c;
    }
}

static fl_backdate_query plain(const double *share, int stage_seen, int n_hours)
{
    static const double all[FL_STAGES_MAX] = {1, 1, 1, 1, 1, 1, 1, 1};
    return (fl_backdate_query){.set = {&CHAIN},
                               .n_sets = 1,
                               .share = share,
                               .temps_c = temps_c,
                               .n_hours = n_hours,
                               .stage_seen = stage_seen,
                               .detect = all,
                               .cap = 1.0,
                               .n_mix = 1,
                               .multiplier = ONE,
                               .weight = ONE};
}

/* An egg laid evenly in its stage: it is still an egg after `progress` mean lengths with
 * (1/k) sum over j of P(Gamma(j) > k progress); GSL's gamma distribution. */
static double still_egg(double progress)
{
    double sum = 0.0;
    for (int j = 1; j <= 12; j++) {
        sum += gsl_cdf_gamma_Q(12.0 * progress, j, 1.0) / 12.0;
    }
    return sum;
}

static void test_one_stage_is_a_gamma(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    constant(20.0);
    fl_backdate_query query = plain(share, 0, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 37) {
        double age_days = (HOURS - h) / 24.0;
        check_close(likelihood[h], still_egg(age_days / 5.0), 1e-6, 1e-8);
    }
}

/* Hypoexponential (reference 7.5.1): still a larva = still in either stage, less still an egg. The
 * two stages have one rate curve; with equal substage rates they are one gamma of 24 substages. */
static void test_two_stages_are_a_longer_gamma(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    fl_stage_model equal = CHAIN;
    equal.stage[1].degree_days = 50.0;
    constant(25.0); /* 15 degrees above: 3.333 d a stage */
    fl_backdate_query query = plain(share, 1, HOURS);
    query.set[0] = &equal;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 31) {
        double progress = (HOURS - h) / 24.0 * 15.0 / 50.0;
        double either = 0.0;
        for (int j = 1; j <= 12; j++) {
            either += gsl_cdf_gamma_Q(12.0 * progress, 12.0 + j, 1.0) / 12.0;
        }
        check_close(likelihood[h], either - still_egg(progress), 1e-6, 1e-8);
    }
}

/* The forward filter from each hour (itself checked against matrix exponentials): looks that found
 * nothing, a treatment, deaths, temperatures that change, three multipliers. */
static void test_backward_is_forward(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {0.5, 0.3, 0.2};
    const double detect[3] = {0.1, 0.3, 0.7};
    const double multiplier[3] = {0.25, 1.0, 1.8};
    const double weight[3] = {0.2, 0.5, 0.3};
    fl_stage_model dying = CHAIN;
    dying.stage[0].mortality_per_day = 0.05;
    for (int h = 0; h < HOURS; h++) {
        temps_c[h] = 18.0 + 6.0 * sin(h / 24.0 * 2.0 * acos(-1.0)) + h * 0.002;
    }
    const fl_backdate_op ops[3] = {{300, true, {0.05, 0.2, 0.6}},
                                   {500, false, {0.9, 0.3, 0.6}},
                                   {900, true, {0.05, 0.2, 0.6}}};
    fl_backdate_query query = plain(share, 1, HOURS);
    query.set[0] = &dying;
    query.detect = detect;
    query.cap = 0.95;
    query.n_mix = 3;
    query.multiplier = multiplier;
    query.weight = weight;
    query.ops = ops;
    query.n_ops = 3;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int from = 0; from < HOURS; from += 113) {
        fl_filter f;
        fl_filter_seed seed = {.prior = 1.0, .share = share, .n_mix = 3, .multiplier = multiplier};
        check_ok(fl_filter_start(&dying, &seed, &f, &err), &err);
        int at = from;
        for (int i = 0; i < 3; i++) {
            if (ops[i].hour < from) {
                continue;
            }
            check_ok(fl_filter_advance(&dying, &temps_c[at], ops[i].hour - at, &f, &err), &err);
            at = ops[i].hour;
            check_ok(ops[i].is_look ? fl_filter_look(&dying, ops[i].by_stage, 0.95, &f, &err)
                                    : fl_filter_treat(&dying, ops[i].by_stage, false, &f, &err),
                     &err);
        }
        check_ok(fl_filter_advance(&dying, &temps_c[at], HOURS - at, &f, &err), &err);
        double seen = 0.0;
        for (int w = 0; w < 3; w++) {
            for (int i = 12; i < 24; i++) { /* larvae */
                seen += weight[w] * f.alive[i][w] * fmin(0.95, multiplier[w] * detect[1]);
            }
        }
        check_close(likelihood[from], seen, 1e-7, 1e-9);
    }
}

/* Quantiles of a window by the gamma: an egg of mean 5 d that was seen, any hour alike before. The
 * age's density is still_egg(a) / 5 * 24/13 ... integrated numerically here. */
static void test_window_holds_98_in_100(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    fl_backdate_window w;
    constant(20.0);
    fl_backdate_query query = plain(share, 0, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, false, &w);
    double all = 0.0;
    double inside = 0.0;
    double before = 0.0;
    for (int h = 0; h <= HOURS; h++) {
        double p = still_egg((HOURS - h) / 24.0 / 5.0);
        all += p;
        inside += h >= w.from_h && h <= w.to_h ? p : 0.0;
        before += h < w.from_h ? p : 0.0;
    }
    check_true(w.is_possible && !w.is_bound);
    check_close(inside / all, 0.98, 0.0, 0.016); /* the last hour alone holds 1.5 % */
    check_close(before / all, 0.01, 0.0, 0.005);
    check_true(w.from_h < w.middle_h && w.middle_h < w.to_h);
}

/* "An adult gives only a bound": no founder that came in as an egg less than the shortest
 * development ago can be one. */
static void test_adult_gives_a_bound(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {0.6, 0.4, 0.0};
    fl_backdate_window w;
    constant(20.0);
    fl_backdate_query query = plain(share, 2, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, true, &w);
    check_true(w.is_bound && w.is_possible);
    check_int(w.from_h, 0);
    check_true(likelihood[w.to_h] >= 0.01 * likelihood[0]);
    check_true(likelihood[w.to_h + 1] < 0.01 * likelihood[0]);
    double days = (HOURS - w.to_h) / 24.0;
    check_true(days > 0.0 && days < 1.0); /* the oldest larvae that come in are adult in hours */
    /* colder: the same stages take longer, the bound is earlier */
    constant(15.0);
    fl_backdate_window colder;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, true, &colder);
    check_true(colder.to_h < w.to_h);
}

static void test_cold_makes_it_impossible(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    fl_backdate_window w;
    constant(9.0);
    fl_backdate_query query = plain(share, 2, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, true, &w);
    check_false(w.is_possible);
}

/* A young stage may be a colony's child: then hours long before are possible too. */
static void test_colony_lengthens_the_window(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {0.7, 0.3, 0.0};
    const double colony[3] = {0.0, 0.5, 0.5};
    fl_backdate_window alone;
    fl_backdate_window with;
    constant(22.0);
    fl_backdate_query query = plain(share, 1, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, false, &alone);
    query.colony = colony;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, NULL, HOURS, false, &with);
    check_true(with.from_h < alone.from_h);
    check_close(likelihood[0], 0.5, 1e-6, 0.0); /* by now surely a colony: half of it is larvae */
}

/* A prior narrows the window to where it is not 0. */
static void test_prior_counts(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    double prior[HOURS + 1] = {0.0};
    fl_backdate_window w;
    constant(20.0);
    prior[HOURS - 48] = 1.0;
    fl_backdate_query query = plain(share, 0, HOURS);
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    fl_backdate_window_of(likelihood, prior, HOURS, false, &w);
    check_int(w.from_h, HOURS - 48);
    check_int(w.to_h, HOURS - 48);
}

static void test_of_the_tables(void **state)
{
    (void)state;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    double detect[FL_STAGES_MAX];
    double colony[FL_STAGES_MAX];
    double sum = 0.0;
    check_int(fl_backdate_stage(gnat, FL_SV("larva")), 1);
    check_int(fl_backdate_stage(gnat, FL_SV("")), -1);
    check_int(fl_backdate_stage(gnat, FL_SV("nymph")), -1);
    check_true(fl_backdate_is_bound(gnat, 3) && !fl_backdate_is_bound(gnat, 1));
    check_false(fl_backdate_is_bound(gnat, -1));
    for (int s = 0; s < gnat->n_stages; s++) {
        detect[s] = fl_know_detect(gnat, s, FL_EFFORT_CAREFUL, 0, false);
    }
    fl_backdate_colony(gnat, detect, colony);
    for (int s = 0; s < gnat->n_stages; s++) {
        sum += colony[s];
    }
    check_close(sum, 1.0, 1e-12, 0.0);
    check_true(colony[3] > colony[1]); /* adults are what one sees of gnats */
    check_close(colony[0], 0.0, 0.0, 0.0);
}

static void test_refuses_nonsense(void **state)
{
    (void)state;
    fl_err err = {0};
    const double share[3] = {1.0, 0.0, 0.0};
    constant(20.0);
    likelihood[0] = 42.0;
    fl_backdate_query query = plain(share, 3, HOURS);
    check_true(fl_backdate_likelihood(&query, likelihood, &err) == FL_EINVAL);
    check_status(&err, FL_EINVAL);
    query = plain(share, 0, HOURS);
    query.n_sets = 0;
    check_true(fl_backdate_likelihood(&query, likelihood, &err) == FL_EINVAL);
    query = plain(share, 0, FL_BACKDATE_HOURS_MAX + 1);
    check_true(fl_backdate_likelihood(&query, likelihood, &err) == FL_EINVAL);
    query = plain(share, 0, HOURS);
    temps_c[3] = (double)NAN;
    check_true(fl_backdate_likelihood(&query, likelihood, &err) == FL_EDOMAIN);
    constant(20.0);
    const fl_backdate_op late[1] = {{HOURS + 1, true, {0.5}}};
    query.ops = late;
    query.n_ops = 1;
    check_true(fl_backdate_likelihood(&query, likelihood, &err) == FL_EINVAL);
    check_close(likelihood[0], 42.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_one_stage_is_a_gamma),
    cmocka_unit_test(test_two_stages_are_a_longer_gamma),
    cmocka_unit_test(test_backward_is_forward),
    cmocka_unit_test(test_window_holds_98_in_100),
    cmocka_unit_test(test_adult_gives_a_bound),
    cmocka_unit_test(test_cold_makes_it_impossible),
    cmocka_unit_test(test_colony_lengthens_the_window),
    cmocka_unit_test(test_prior_counts),
    cmocka_unit_test(test_of_the_tables),
    cmocka_unit_test(test_refuses_nonsense),
};
FL_TEST_MAIN(tests)
