/* Freedom from infestation, as the veterinary literature has it: the filter with one founder and
 * one stage that is seen is that recursion (docs/models/clearance.md). Held against the R package
 * epiR, and against figures that papers print. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/clear/filter.h"
#include "core/sample/sample.h"
#include "support/check.h"

static const double ONE[1] = {1.0};
static const fl_founders SINGLE = {.family = FL_FOUNDERS_ONE};

/* An egg that never hatches, and what is seen: all of it is in the last stage from the start. */
static const fl_stage_model HERD = {
    .n_stages = 2,
    .stage = {{.n_substages = 1, .threshold_c = 10.0, .degree_days = 100.0, .upper_c = 30.0},
              {.n_substages = 1}}};

/* P(infested) after one negative look of sensitivity `se`. */
static double after_negative(double prior, double se)
{
    fl_filter_seed seed = {.prior = prior, .substage = 1, .n_mix = 1, .multiplier = ONE};
    const double detect[2] = {0.0, se};
    fl_filter state;
    fl_chance chance = {0};
    fl_err err;
    check_ok(fl_filter_start(&HERD, &seed, &state, &err), &err);
    check_ok(fl_filter_look(&HERD, detect, 1.0, &state, &err), &err);
    check_ok(fl_filter_chance(&state, ONE, &SINGLE, &chance, &err), &err);
    return chance.one;
}

/* Introduction between two looks: independent ways in (design 4.4). */
static double with_introduction(double prob, double p_intro)
{
    return 1.0 - (1.0 - prob) * (1.0 - p_intro);
}

/* rsu.pfree.rs: twelve negative periods; the package discounts before the first one too. */
static void test_twelve_negative_periods(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("epir_rsu_pfree_rs.csv");
    double prob = 0.0;
    int n = 0;
    for (size_t row = 0; row < table.n_rows; row++) {
        double prior = fl_table_number(&table, row, "prior");
        prob = fl_table_number(&table, row, "period") < 1.5 ? 1.0 - prior : prob;
        prob = with_introduction(prob, fl_table_number(&table, row, "p.intro"));
        check_close(1.0 - prob, fl_table_number(&table, row, "disc.prior"), 1e-10, 0.0);
        prob = after_negative(prob, fl_table_number(&table, row, "se.p"));
        check_close(1.0 - prob, fl_table_number(&table, row, "PFree"), 1e-10, 0.0);
        n++;
    }
    check_int(n, 216);
    fl_table_free(&table);
}

/* rsu.pfree.equ: where the recursion settles, before and after the introduction. */
static void test_the_plateau(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("epir_rsu_pfree_equ.csv");
    check_true(table.n_rows > 10);
    for (size_t row = 0; row < table.n_rows; row++) {
        double se = fl_table_number(&table, row, "se.p");
        double p_intro = fl_table_number(&table, row, "p.intro");
        double want = fl_table_number(&table, row, "epfree");
        double prob = 0.5;
        for (int i = 0; i < 2000; i++) {
            prob = after_negative(with_introduction(prob, p_intro), se);
        }
        /* epfree: where the next look begins, 1 - p.intro / se; depfree: after the look */
        check_close(1.0 - with_introduction(prob, p_intro), want, 1e-9, 0.0);
        check_close(1.0 - prob, fl_table_number(&table, row, "depfree"), 1e-9, 0.0);
    }
    fl_table_free(&table);
}

/* Printed in the papers (reference 9.2). */
static void test_figures_that_papers_print(void **unused)
{
    (void)unused;
    /* Martin et al. 2007, Prev. Vet. Med. 79:98-115: classical swine fever in Denmark, 2005:
     * monthly sensitivities for design prevalences of 0.1, 0.5 and 1 %, twelve negative months */
    static const double se[3] = {0.18, 0.63, 0.86};
    static const double printed[3] = {0.91, 1.00, 1.00};
    for (int i = 0; i < 3; i++) {
        double prob = 0.5;
        for (int month = 0; month < 12; month++) {
            prob = after_negative(prob, se[i]);
        }
        check_close(1.0 - prob, printed[i], 0.0, 0.0055);
    }
}

/* Nishiura 2009, Int. J. Hyg. Environ. Health 212:97-104: smallpox incubates for 12.5 days, SD 2.2;
 * the gamma's 95th percentile is printed as 16.2 days. One stage of (12.5/2.2)^2 = 32 substages,
 * everything noticed that shows: a quarantine that long leaves 5 % of the prior odds. */
static void test_a_quarantine_as_long_as_the_delay(void **unused)
{
    (void)unused;
    const fl_stage_model model = {
        .n_stages = 2,
        .stage = {{.n_substages = 32, .threshold_c = 10.0, .degree_days = 125.0, .upper_c = 30.0},
                  {.n_substages = 1}}};
    const double detect[2] = {0.0, 1.0};
    fl_filter_seed seed = {.prior = 0.5, .substage = 0, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_chance chance;
    fl_err err;
    int hours = 0;
    check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
    while (state.alive[32][0] < 0.95) {
        check_ok(fl_filter_advance_constant(&model, 20.0, 1, &state, &err), &err);
        hours++;
    }
    check_close(hours / 24.0, 16.2, 0.0, 0.2); /* computed from the moments: 16.33 */
    check_ok(fl_filter_look(&model, detect, 1.0, &state, &err), &err);
    check_ok(fl_filter_chance(&state, ONE, &SINGLE, &chance, &err), &err);
    double silent = 1.0 - state.found[0];
    check_close(chance.one, 0.5 * silent / (0.5 + 0.5 * silent), 1e-12, 0.0);
    check_close(silent, 0.05, 0.04, 0.0); /* to the hour */
}

/* MacKenzie et al. 2002, Ecology 83:2248-2255: occupancy after K negative visits, psi (1-p)^K /
 * (1 - psi + psi (1-p)^K); and how many it takes until it is at most alpha. */
static void test_occupancy_after_negative_visits(void **unused)
{
    (void)unused;
    for (int i = 1; i < 10; i++) {
        for (int j = 1; j < 10; j++) {
            double psi = i / 10.0;
            double p = j / 10.0;
            double prob = psi;
            int visits = 0;
            while (prob > 0.01) {
                prob = after_negative(prob, p);
                visits++;
                double missed = pow(1.0 - p, visits);
                check_close(prob, psi * missed / (1.0 - psi + psi * missed), 1e-12, 0.0);
            }
            double need = (log(0.01 / 0.99) - log(psi / (1.0 - psi))) / log1p(-p);
            check_int(visits, (int)ceil(need - 1e-9));
        }
    }
}

static int binomial_size(double level, double confidence, double efficacy)
{
    fl_sample_design design = {.lot_size = FL_SAMPLE_LOT_MAX,
                               .frac_level = level,
                               .prob_confidence = confidence,
                               .prob_efficacy = efficacy,
                               .method = FL_SAMPLE_BINOMIAL};
    fl_sample_size size;
    fl_err err;
    check_ok(fl_sample_size_of(&design, &size, &err), &err);
    return (int)size.sample_size;
}

/* The package writes NA for a lot so large that its size does not matter. */
static bool is_large(const fl_table *table, size_t row)
{
    return strcmp(fl_table_text(table, row, "N"), "NA") == 0;
}

/* rsu.sssep.rs and rsu.sspfree.rs for large lots: how many to look at for a wanted sensitivity, and
 * for a wanted chance of freedom from a prior. */
static void test_how_many_to_look_at(void **unused)
{
    (void)unused;
    int n = 0;
    fl_table table = fl_table_read("epir_rsu_sssep_rs.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        if (is_large(&table, row)) {
            check_int(binomial_size(fl_table_number(&table, row, "pstar"),
                                    fl_table_number(&table, row, "se.p"),
                                    fl_table_number(&table, row, "se.u")),
                      (int)fl_table_number(&table, row, "n"));
            n++;
        }
    }
    fl_table_free(&table);
    table = fl_table_read("epir_rsu_sspfree_rs.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        double prob = with_introduction(1.0 - fl_table_number(&table, row, "prior"),
                                        fl_table_number(&table, row, "p.intro"));
        double sep = fl_table_number(&table, row, "sep");
        check_close(1.0 - prob, fl_table_number(&table, row, "adj.prior"), 1e-10, 0.0);
        if (sep > 0.0) { /* else the prior is enough already */
            check_close(1.0 - after_negative(prob, sep), fl_table_number(&table, row, "pfree"),
                        1e-10, 0.0);
        }
        if (sep > 0.0 && is_large(&table, row)) {
            check_int(binomial_size(fl_table_number(&table, row, "pstar"), sep,
                                    fl_table_number(&table, row, "se.u")),
                      (int)fl_table_number(&table, row, "n"));
            n++;
        }
    }
    check_true(n > 20);
    fl_table_free(&table);
}

/* rsu.sep.rs: the sensitivity of a sample of n. A large lot: our binomial asks for just this n. A
 * lot of N with one infested plant: exact in both. With more the package approximates, (1 - n Se /
 * (N - (D-1)/2))^D; ours is exact, and they agree to 2 in 100. */
static void test_sensitivity_of_a_sample(void **unused)
{
    (void)unused;
    int n_exact = 0;
    fl_table table = fl_table_read("epir_rsu_sep_rs.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        int n = (int)fl_table_number(&table, row, "n");
        double level = fl_table_number(&table, row, "pstar");
        double se = fl_table_number(&table, row, "se.u");
        double want = fl_table_number(&table, row, "se.p");
        if (is_large(&table, row)) {
            check_int(binomial_size(level, want - 1e-9, se), n);
            n_exact++;
            continue;
        }
        int64_t lot = (int64_t)fl_table_number(&table, row, "N");
        int64_t infested = (int64_t)ceil((double)lot * level - 1e-9);
        double miss = 1.0;
        if (n > lot) {
            continue; /* more than there are */
        }
        check_int(fl_sample_miss(lot, infested, n, se, &miss), FL_OK);
        check_close(1.0 - miss, want, infested == 1 ? 1e-10 : 0.0, infested == 1 ? 0.0 : 0.02);
        n_exact += infested == 1 ? 1 : 0;
    }
    check_int(table.n_rows, 108);
    check_true(n_exact > 30);
    fl_table_free(&table);
}

/* rsu.sep.rsvarse: thirty plants, looked at by eyes of 0.9 (5), 0.6 (10), 0.3 (15). Of a large lot
 * each plant is a way in of its own; in a lot of 100 each infested plant is one founder, among the
 * thirty with their mean sensitivity, 0.5. */
static void test_eyes_of_different_sharpness(void **unused)
{
    (void)unused;
    static const double eye[30] = {0.9, 0.9, 0.9, 0.9, 0.9, 0.6, 0.6, 0.6, 0.6, 0.6,
                                   0.6, 0.6, 0.6, 0.6, 0.6, 0.3, 0.3, 0.3, 0.3, 0.3,
                                   0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3};
    fl_table table = fl_table_read("epir_rsu_sep_rsvarse.csv");
    fl_filter_seed seed = {.prior = 1.0, .substage = 1, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        double level = fl_table_number(&table, row, "pstar");
        bool has_lot = !is_large(&table, row);
        double lot = has_lot ? fl_table_number(&table, row, "N") : 30.0;
        double quiet = 1.0;
        double one = 0.0;
        for (int i = 0; i < (has_lot ? (int)lround(lot * level) : 30); i++) {
            const double detect[2] = {0.0, has_lot ? 0.5 * 30.0 / lot : eye[i]};
            seed.prior = has_lot ? 1.0 : level;
            check_ok(fl_filter_start(&HERD, &seed, &state, &err), &err);
            check_ok(fl_filter_look(&HERD, detect, 1.0, &state, &err), &err);
            check_ok(fl_filter_likelihood(&state, ONE, &SINGLE, &one, &err), &err);
            quiet *= one;
        }
        check_close(1.0 - quiet, fl_table_number(&table, row, "se.p"), 1e-10, 0.0);
    }
    check_true(table.n_rows >= 4);
    fl_table_free(&table);
}

/* P(a look at n of 2 n plants shows nothing) when a Poisson number of founders is there, 2 n x
 * level on average. */
static double quiet_of_poisson(int n, double level, double efficacy)
{
    const double detect[2] = {0.0, 0.5 * efficacy};
    double lambda = 2.0 * n * level;
    const fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = lambda};
    fl_filter_seed seed = {.prior = -expm1(-lambda), .substage = 1, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    double quiet = 0.0;
    fl_err err;
    check_ok(fl_filter_start(&HERD, &seed, &state, &err), &err);
    check_ok(fl_filter_look(&HERD, detect, 1.0, &state, &err), &err);
    check_ok(fl_filter_likelihood(&state, ONE, &many, &quiet, &err), &err);
    return quiet;
}

/* ISPM 31's Poisson sample size (ispm31_poisson.csv): what our Poisson founders ask for. */
static void test_poisson_founders(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("ispm31_poisson.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        double level = fl_table_number(&table, row, "level_of_detection_pct") / 100.0;
        double efficacy = fl_table_number(&table, row, "efficacy_pct") / 100.0;
        double allowed = 1.0 - fl_table_number(&table, row, "confidence_pct") / 100.0;
        int n = (int)fl_table_number(&table, row, "n_min");
        check_true(quiet_of_poisson(n, level, efficacy) <= allowed * (1.0 + 1e-9));
        check_true(n == 1 || quiet_of_poisson(n - 1, level, efficacy) > allowed * (1.0 - 1e-9));
    }
    check_int(table.n_rows, 140);
    fl_table_free(&table);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_twelve_negative_periods),
    cmocka_unit_test(test_the_plateau),
    cmocka_unit_test(test_figures_that_papers_print),
    cmocka_unit_test(test_a_quarantine_as_long_as_the_delay),
    cmocka_unit_test(test_occupancy_after_negative_visits),
    cmocka_unit_test(test_how_many_to_look_at),
    cmocka_unit_test(test_sensitivity_of_a_sample),
    cmocka_unit_test(test_eyes_of_different_sharpness),
    cmocka_unit_test(test_poisson_founders),
};
FL_TEST_MAIN(tests)
