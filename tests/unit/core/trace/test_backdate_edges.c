/* Back-dating at the edges of what backdate.h allows: each figure it names as a limit is let
 * through, what lies beyond is refused and named; rows behind the counted ones are not read. Then
 * windows of a few hours counted by hand (quantiles by their definition: the first hour at which
 * the sum reaches the share), chains whose answer is known (GSL's gamma, exp), and what must not
 * matter: the unit of the weights, and that a colony's last stage had a clock. */
#include <math.h>

#include <gsl/gsl_cdf.h>

#include "core/trace/backdate.h"
#include "support/check.h"

#define HOURS 400

static const fl_stage_model CHAIN =
    {3, {{4, 10.0, 50.0, 30.0, 0.0}, {4, 10.0, 80.0, 30.0, 0.0}, {1, 0.0, 0.0, 0.0, 0.0}}, 0.0, 0};
static const double SHARE[4] = {0.5, 0.3, 0.2, 7.0}; /* the fourth belongs to no stage */
static const double DETECT[4] = {0.1, 0.3, 0.7, 7.0};
static const double MULTIPLIER[3] = {0.5, 1.5, -1.0}; /* the third to no eye */
static const double WEIGHT[3] = {0.25, 0.75, -1.0};

static double temps_c[HOURS + 1];
static double likelihood[FL_BACKDATE_HOURS_MAX + 1];

static fl_backdate_query sound(void)
{
    for (int h = 0; h < HOURS; h++) {
        temps_c[h] = 20.0;
    }
    temps_c[HOURS] = (double)NAN; /* the hour after the find: nobody asks */
    return (fl_backdate_query){.set = {&CHAIN},
                               .n_sets = 1,
                               .share = SHARE,
                               .temps_c = temps_c,
                               .n_hours = HOURS,
                               .stage_seen = 1,
                               .detect = DETECT,
                               .cap = 0.95,
                               .n_mix = 2,
                               .multiplier = MULTIPLIER,
                               .weight = WEIGHT};
}

static void accepts(const fl_backdate_query *query)
{
    fl_err err = {0};
    check_ok(fl_backdate_likelihood(query, likelihood, &err), &err);
    for (int h = 0; h <= query->n_hours; h++) {
        check_true(likelihood[h] >= -1e-8 && likelihood[h] <= 1.0 + 1e-8);
    }
}

static void refuses(const fl_backdate_query *query, const char *because)
{
    fl_err err = {0};
    likelihood[0] = 42.0;
    check_true(fl_backdate_likelihood(query, likelihood, &err) != FL_OK);
    check_contains(err.message, because);
    check_close(likelihood[0], 42.0, 0.0, 0.0);
}

static void test_sets(void **state)
{
    (void)state;
    fl_stage_model shorter = CHAIN;
    fl_stage_model broken = CHAIN;
    shorter.n_stages = 2;
    shorter.stage[1] = CHAIN.stage[2];
    broken.stage[0].n_substages = 0;
    fl_backdate_query query = sound();
    for (int i = 0; i < FL_BACKDATE_SETS_MAX; i++) {
        query.set[i] = &CHAIN;
    }
    query.n_sets = FL_BACKDATE_SETS_MAX;
    accepts(&query);
    query.n_sets = FL_BACKDATE_SETS_MAX + 1;
    refuses(&query, "give 1 to 4");
    query.n_sets = 2;
    query.set[1] = &shorter;
    refuses(&query, "set 1 has 2 stages, the first has 3");
    query.set[1] = &broken;
    refuses(&query, "");
    query.n_sets = 1; /* what stands behind the one that counts is not looked at */
    accepts(&query);
}

static void test_stage_and_eyes(void **state)
{
    (void)state;
    static const double five[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 100.0};
    static const double heavy[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 1e9};
    static const double more[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 100.001};
    static const double weigh_more[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 1.001e9};
    static const double none[2] = {0.0, 0.0};
    fl_backdate_query query = sound();
    for (int s = -1; s <= 2; s++) {
        query.stage_seen = s;
        accepts(&query);
    }
    query.stage_seen = 3;
    refuses(&query, "stage 3 was seen: give 0 to 2");
    query.stage_seen = -2;
    refuses(&query, "stage -2 was seen");
    query = sound();
    query.n_mix = FL_MIXTURE_MAX;
    query.multiplier = five;
    query.weight = heavy;
    accepts(&query);
    query.n_mix = FL_MIXTURE_MAX + 1;
    refuses(&query, "6 multipliers");
    query.n_mix = FL_MIXTURE_MAX;
    query.multiplier = more;
    refuses(&query, "multiplier 100.001");
    query.multiplier = five;
    query.weight = weigh_more;
    refuses(&query, "of weight");
    query = sound();
    query.n_mix = 1;
    accepts(&query);
    query.n_mix = 0;
    refuses(&query, "0 multipliers");
    query = sound();
    query.weight = none;
    refuses(&query, "all weights are 0");
}

static void test_chances(void **state)
{
    (void)state;
    static const double edges[3] = {0.0, 1.0, 1.0};
    static const double over[3] = {0.0, 1.0, 1.0 + 1e-9};
    static const double under[3] = {-1e-9, 0.5, 0.5};
    fl_backdate_query query = sound();
    query.cap = 1.0;
    query.detect = edges;
    query.share = edges;
    fl_err err = {0};
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err); /* its sum is the caller's */
    query.cap = 0.0;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    query.cap = 1.0 + 1e-9;
    refuses(&query, "capped at 1");
    query = sound();
    query.share = over;
    refuses(&query, "share of stage 2");
    query.share = under;
    refuses(&query, "share of stage 0");
    query = sound();
    query.detect = over;
    refuses(&query, "chance to be seen of stage 2");
    query.detect = under;
    refuses(&query, "chance to be seen of stage 0");
}

static void test_history(void **state)
{
    (void)state;
    const fl_backdate_op ops[] = {
        {0, true, {0.0, 1.0, 0.5, 7.0}}, {5, false, {0.5, 0.5, 0.5}},
        {5, true, {0.1, 0.1, 0.1}},      {HOURS, true, {0.1, 0.1, 0.1}},
        {3, true, {0.1, 0.1, 0.1}},      {HOURS + 1, true, {0.1, 0.1, 0.1}},
        {-1, true, {0.1, 0.1, 0.1}},     {7, true, {0.1, 1.1, 0.1}},
        {7, false, {0.1, 0.1, -0.1}}};
    fl_backdate_query query = sound();
    query.ops = ops;
    query.n_ops = 4; /* at the first and at the last hour, two at one hour */
    accepts(&query);
    query.n_ops = 5;
    refuses(&query, "operation 4 at hour 3");
    for (size_t i = 5; i < 7; i++) {
        query.ops = &ops[i];
        query.n_ops = 1;
        refuses(&query, "operation 0 at hour");
    }
    query.ops = &ops[7];
    refuses(&query, "chance of a look of stage 1");
    query.ops = &ops[8];
    refuses(&query, "survival of stage 2");
    query = sound();
    temps_c[HOURS - 1] = FL_FILTER_TEMP_MAX_C;
    temps_c[0] = FL_FILTER_TEMP_MIN_C;
    accepts(&query);
    temps_c[HOURS - 1] = FL_FILTER_TEMP_MAX_C + 1e-6;
    refuses(&query, "at hour 399");
    temps_c[HOURS - 1] = 20.0;
    temps_c[0] = FL_FILTER_TEMP_MIN_C - 1e-6;
    refuses(&query, "at hour 0");
}

/* From no hour at all (what was carried in is what was seen) to two years. */
static void test_hours(void **state)
{
    (void)state;
    static double two_years[FL_BACKDATE_HOURS_MAX];
    fl_err err = {0};
    fl_backdate_query query = sound();
    query.n_hours = 0;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    /* 0.3 of it larvae, seen with 0.3 times 0.5 or 1.5 */
    check_close(likelihood[0], 0.3 * (0.25 * 0.15 + 0.75 * 0.45), 1e-12, 0.0);
    query.n_hours = -1;
    refuses(&query, "-1 hours");
    for (int h = 0; h < FL_BACKDATE_HOURS_MAX; h++) {
        two_years[h] = 5.0; /* colder than they grow: nothing changes */
    }
    query.temps_c = two_years;
    query.n_hours = FL_BACKDATE_HOURS_MAX;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    check_close(likelihood[0], 0.3 * (0.25 * 0.15 + 0.75 * 0.45), 1e-12, 0.0);
    query.n_hours = FL_BACKDATE_HOURS_MAX + 1;
    refuses(&query, "hours: give 0 to 17568");
}

/* Two sets are equally likely: the mean of each alone; weights of any sum give the same. */
static void test_sets_and_weights_are_means(void **state)
{
    (void)state;
    static const double tenfold[2] = {2.5, 7.5};
    static double first[HOURS + 1];
    static double second[HOURS + 1];
    fl_err err = {0};
    fl_stage_model slower = CHAIN;
    slower.stage[0].degree_days = 75.0;
    fl_backdate_query query = sound();
    check_ok(fl_backdate_likelihood(&query, first, &err), &err);
    query.set[0] = &slower;
    check_ok(fl_backdate_likelihood(&query, second, &err), &err);
    query.set[1] = &CHAIN;
    query.n_sets = 2;
    query.weight = tenfold;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 7) {
        check_close(likelihood[h], 0.5 * (first[h] + second[h]), 1e-12, 1e-15);
    }
}

/* The last stage is a colony: it does not end, whatever clock stands in its row. */
static void test_the_last_stage_does_not_end(void **state)
{
    (void)state;
    static double plain[HOURS + 1];
    fl_err err = {0};
    fl_stage_model clocked = CHAIN;
    clocked.stage[2].degree_days = 40.0;
    clocked.stage[2].threshold_c = 10.0;
    clocked.stage[2].upper_c = 30.0;
    fl_backdate_query query = sound();
    query.stage_seen = 2;
    check_ok(fl_backdate_likelihood(&query, plain, &err), &err);
    query.set[0] = &clocked;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 7) {
        check_close(likelihood[h], plain[h], 1e-12, 0.0);
    }
}

/* Too cold to grow, deaths of a tenth a day: what is left of the eggs is exp(-0.1 d). */
static void test_deaths_without_growth(void **state)
{
    (void)state;
    static const double eggs[3] = {1.0, 0.0, 0.0};
    static const double sure[3] = {1.0, 1.0, 1.0};
    static const double one[1] = {1.0};
    fl_err err = {0};
    fl_stage_model dying = CHAIN;
    dying.stage[0].mortality_per_day = 0.1;
    fl_backdate_query query = sound();
    query.set[0] = &dying;
    query.share = eggs;
    query.detect = sure;
    query.cap = 1.0;
    query.n_mix = 1;
    query.multiplier = one;
    query.weight = one;
    query.stage_seen = 0;
    for (int h = 0; h < HOURS; h++) {
        temps_c[h] = 5.0;
    }
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 25) {
        check_close(likelihood[h], exp(-0.1 * (HOURS - h) / 24.0), 1e-9, 0.0);
    }
}

/* A stage of one substage that lasts a quarter of an hour: still in it after h hours with
 * exp(-4.17 h), to the 1e-8 that the header promises. */
static void test_a_stage_within_the_hour(void **state)
{
    (void)state;
    static const double eggs[3] = {1.0, 0.0, 0.0};
    static const double sure[3] = {1.0, 1.0, 1.0};
    static const double one[1] = {1.0};
    fl_err err = {0};
    fl_stage_model brief = CHAIN;
    brief.stage[0].n_substages = 1;
    brief.stage[0].degree_days = 0.1;
    fl_backdate_query query = sound();
    query.set[0] = &brief;
    query.share = eggs;
    query.detect = sure;
    query.cap = 1.0;
    query.n_mix = 1;
    query.multiplier = one;
    query.weight = one;
    query.stage_seen = 0;
    query.n_hours = 4;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= 4; h++) {
        check_close(likelihood[h], exp(-100.0 / 24.0 * (4 - h)), 0.0, 1e-8);
    }
}

/* As many substages as there may be, in two stages of one clock: still in either of them when less
 * than all have been passed, by GSL's gamma distribution; what stands in rows of no stage is not
 * read. An egg takes so many days at 20 C. */
static void check_all_substages(double egg_days)
{
    enum { EACH = (FL_SUBSTAGES_MAX - 1) / 2 };
    static const double eggs[4] = {1.0, 0.0, 0.0, 7.0};
    static const double sure[4] = {1.0, 1.0, 1.0, 7.0};
    static const double one[1] = {1.0};
    fl_err err = {0};
    fl_stage_model longest = CHAIN;
    longest.stage[0].n_substages = EACH;
    longest.stage[0].degree_days = 10.0 * egg_days;
    longest.stage[1].n_substages = FL_SUBSTAGES_MAX - 1 - EACH;
    longest.stage[1].degree_days = 10.0 * egg_days * (FL_SUBSTAGES_MAX - 1 - EACH) / EACH;
    longest.stage[3] = (fl_stage_rate){2, 10.0, 50.0, 30.0, 0.0};
    fl_backdate_query query = sound();
    query.set[0] = &longest;
    query.share = eggs;
    query.detect = sure;
    query.cap = 1.0;
    query.n_mix = 1;
    query.multiplier = one;
    query.weight = one;
    query.stage_seen = 1;
    const fl_backdate_op halved = {HOURS, false, {0.5, 0.5, 0.5, 7.0}};
    query.ops = &halved;
    query.n_ops = 1;
    check_ok(fl_backdate_likelihood(&query, likelihood, &err), &err);
    for (int h = 0; h <= HOURS; h += 5) {
        double passed = EACH * (HOURS - h) / 24.0 / egg_days;
        double want = 0.0;
        for (int j = 1; j <= EACH; j++) { /* spread evenly over the egg's substages */
            want += gsl_cdf_gamma_Q(passed, FL_SUBSTAGES_MAX - 1 - EACH + j, 1.0) / EACH;
            want -= gsl_cdf_gamma_Q(passed, j, 1.0) / EACH;
        }
        check_close(likelihood[h], 0.5 * want, 1e-6, 1e-8);
    }
}

static void test_all_substages_by_gamma(void **state)
{
    (void)state;
    check_all_substages(5.0);
    check_all_substages(0.5); /* several substages an hour */
}

/* ---- windows by hand ---- */

static fl_backdate_window window_of(const double *values, int n_hours, bool is_bound)
{
    fl_backdate_window w;
    fl_backdate_window_of(values, NULL, n_hours, is_bound, &w);
    return w;
}

static void test_windows_of_a_few_hours(void **state)
{
    (void)state;
    static const double reaches[3] = {1.0, 98.0, 1.0}; /* of 100: 1 %, 99 %, 100 % */
    static const double halves[2] = {50.0, 50.0};
    static const double last[3] = {0.0, 0.0, 1.0};
    static const double below[3] = {-1e-12, 1.0, -1e-12}; /* rounding below 0 counts as 0 */
    static const double none[3] = {0.0, 0.0, 0.0};
    fl_backdate_window w = window_of(reaches, 2, false);
    check_int(w.from_h, 0);
    check_int(w.middle_h, 1);
    check_int(w.to_h, 1);
    w = window_of(halves, 1, false);
    check_int(w.middle_h, 0);
    check_int(w.to_h, 1);
    w = window_of(last, 2, false);
    check_true(w.is_possible);
    check_int(w.from_h, 2);
    check_int(w.to_h, 2);
    w = window_of(below, 2, false);
    check_int(w.from_h, 1);
    check_int(w.to_h, 1);
    check_false(window_of(none, 2, false).is_possible);
    check_false(window_of(none, 2, true).is_possible);
}

/* A bound: the last hour that has at least a hundredth of the best. A likelihood is known up to a
 * factor: a thousandth of it gives the same. */
static void test_bounds_of_a_few_hours(void **state)
{
    (void)state;
    static const double small[4] = {1e-3, 5e-4, 1.01e-5, 9.9e-6};
    static const double exactly[4] = {1.0, 0.5, 0.01, 0.0};
    static const double less[4] = {1.0, 0.5, 0.00999, 0.0};
    static const double only_first[3] = {1.0, 0.0, 0.0};
    check_int(window_of(exactly, 3, true).to_h, 2);
    check_int(window_of(less, 3, true).to_h, 1);
    check_int(window_of(small, 3, true).to_h, 2);
    check_int(window_of(less, 3, true).middle_h, 1);
    check_int(window_of(only_first, 2, true).to_h, 0);
    check_int(window_of(only_first, 2, true).from_h, 0);
}

/* ---- a threat's stages, made up ---- */

static fl_threat made_up(int n_stages)
{
    fl_threat threat = {.n_stages = n_stages};
    static const char *const names[3] = {"egg", "nymph", "adult"};
    static const double shares[3] = {0.6, 0.4, 0.0};
    for (int s = 0; s < n_stages; s++) {
        threat.stage[s].name = names[s];
        threat.stage[s].start_share = shares[s];
    }
    return threat;
}

/* 0.6, 0.4 and, at least, 0.2 in the last stage, times what is seen of each. */
static void test_what_a_colony_shows(void **state)
{
    (void)state;
    static const double detect[3] = {0.1, 0.5, 1.0};
    static const double hidden[3] = {0.0, 0.0, 0.0};
    double out[4] = {0.0, 0.0, 0.0, 42.0};
    fl_threat threat = made_up(3);
    fl_backdate_colony(&threat, detect, out);
    check_close(out[0], 0.06 / 0.46, 1e-12, 0.0);
    check_close(out[1], 0.20 / 0.46, 1e-12, 0.0);
    check_close(out[2], 0.20 / 0.46, 1e-12, 0.0);
    check_close(out[3], 42.0, 0.0, 0.0);
    threat.stage[2].start_share = 0.5; /* more than the least */
    fl_backdate_colony(&threat, detect, out);
    check_close(out[2], 0.50 / 0.76, 1e-12, 0.0);
    fl_backdate_colony(&threat, hidden, out); /* nothing can be seen: it was the last stage */
    check_close(out[0], 0.0, 0.0, 0.0);
    check_close(out[1], 0.0, 0.0, 0.0);
    check_close(out[2], 1.0, 0.0, 0.0);
}

/* The last stage, or one that breeds, be it the only one. */
static void test_what_gives_a_bound(void **state)
{
    (void)state;
    fl_threat threat = made_up(3);
    check_true(fl_backdate_is_bound(&threat, 2));
    check_false(fl_backdate_is_bound(&threat, 1));
    check_false(fl_backdate_is_bound(&threat, 0));
    check_false(fl_backdate_is_bound(&threat, -1));
    threat.stage[0].is_breeding = true;
    check_true(fl_backdate_is_bound(&threat, 0));
    threat = made_up(1);
    check_true(fl_backdate_is_bound(&threat, 0));
    check_int(fl_backdate_stage(&threat, FL_SV("egg")), 0);
    check_int(fl_backdate_stage(&threat, FL_SV("nymph")), -1);
    threat = made_up(3);
    threat.n_stages = 1; /* what stands in a row of no stage is none */
    check_int(fl_backdate_stage(&threat, FL_SV("nymph")), -1);
    threat.stage[0].name = "";
    check_int(fl_backdate_stage(&threat, FL_SV("")), -1); /* not told is not a stage without name */
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sets),
    cmocka_unit_test(test_stage_and_eyes),
    cmocka_unit_test(test_chances),
    cmocka_unit_test(test_history),
    cmocka_unit_test(test_hours),
    cmocka_unit_test(test_sets_and_weights_are_means),
    cmocka_unit_test(test_the_last_stage_does_not_end),
    cmocka_unit_test(test_deaths_without_growth),
    cmocka_unit_test(test_a_stage_within_the_hour),
    cmocka_unit_test(test_all_substages_by_gamma),
    cmocka_unit_test(test_windows_of_a_few_hours),
    cmocka_unit_test(test_bounds_of_a_few_hours),
    cmocka_unit_test(test_what_a_colony_shows),
    cmocka_unit_test(test_what_gives_a_bound),
};
FL_TEST_MAIN(tests)
