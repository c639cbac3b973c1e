/* Sample sizes against every cell of the ISPM 31 tables (hypergeometric, binomial, and the exact
 * extension by efficacy), recomputed with scipy; the chance of a miss against GSL's hypergeometric
 * distribution and against counting by hand. */
#include <math.h>

#include <gsl/gsl_randist.h>

#include "core/sample/sample.h"
#include "support/check.h"

static fl_sample_design design_of(int64_t lot, double level, double confidence)
{
    return (fl_sample_design){.lot_size = lot,
                              .frac_level = level,
                              .prob_confidence = confidence,
                              .prob_efficacy = 1.0,
                              .method = FL_SAMPLE_HYPERGEOMETRIC,
                              .rounding = FL_SAMPLE_FLOOR};
}

static fl_sample_size size_of(const fl_sample_design *design)
{
    fl_sample_size out = {0};
    fl_err err = {0};

    check_ok(fl_sample_size_of(design, &out, &err), &err);
    return out;
}

/* Source: tests/reference/ispm31_hypergeometric.csv (scipy.stats.hypergeom; the 95 and 99 % cells
 * are those of ISPM 31's appendix 2). */
static void test_hypergeometric_table(void **state)
{
    fl_table table = fl_table_read("ispm31_hypergeometric.csv");
    (void)state;

    assert_int_equal(table.n_rows, 480);
    for (size_t i = 0; i < table.n_rows; i++) {
        const fl_sample_design design =
            design_of((int64_t)fl_table_number(&table, i, "lot_size"),
                      fl_table_number(&table, i, "level_of_detection_pct") / 100.0,
                      fl_table_number(&table, i, "confidence_pct") / 100.0);
        const double want = fl_table_number(&table, i, "n_min");
        const fl_sample_size got = size_of(&design);

        check_int(got.infested_plants, fl_table_number(&table, i, "D"));
        check_int(got.is_rounded, fl_table_number(&table, i, "rounding"));
        if (isnan(want)) {
            check_int(got.reason, FL_SAMPLE_UNDER_ONE_PLANT);
            check_int(got.sample_size, 0);
            check_true(got.is_under_one_plant);
            check_true(got.size_for_one > 0);
        } else {
            check_int(got.reason, FL_SAMPLE_ATTAINABLE);
            check_int(got.sample_size, want);
            check_true(got.prob_reached >= design.prob_confidence - 1e-12);
            check_false(got.is_under_one_plant);
        }
    }
    fl_table_free(&table);
}

/* Source: tests/reference/ispm31_binomial.csv (ISPM 31 appendix 3; recomputed). */
static void test_binomial_table(void **state)
{
    fl_table table = fl_table_read("ispm31_binomial.csv");
    (void)state;

    assert_int_equal(table.n_rows, 140);
    for (size_t i = 0; i < table.n_rows; i++) {
        fl_sample_design design =
            design_of(1000, fl_table_number(&table, i, "level_of_detection_pct") / 100.0,
                      fl_table_number(&table, i, "confidence_pct") / 100.0);
        const double want = fl_table_number(&table, i, "n_min");
        fl_sample_size got;

        design.prob_efficacy = fl_table_number(&table, i, "efficacy_pct") / 100.0;
        design.method = FL_SAMPLE_BINOMIAL;
        got = size_of(&design);
        check_int(got.reason, FL_SAMPLE_ATTAINABLE);
        check_int(got.sample_size, want);
        check_int(got.exceeds_lot, want > 1000.0);
        check_close(got.prob_reached,
                    1.0 - pow(1.0 - design.frac_level * design.prob_efficacy, want), 1e-9, 0.0);
    }
    fl_table_free(&table);
}

/* Source: tests/reference/ispm31_hypergeometric_efficacy.csv (scipy, exact sum). */
static void test_efficacy_table(void **state)
{
    fl_table table = fl_table_read("ispm31_hypergeometric_efficacy.csv");
    (void)state;

    assert_int_equal(table.n_rows, 144);
    for (size_t i = 0; i < table.n_rows; i++) {
        fl_sample_design design =
            design_of((int64_t)fl_table_number(&table, i, "lot_size"),
                      fl_table_number(&table, i, "level_of_detection_pct") / 100.0,
                      fl_table_number(&table, i, "confidence_pct") / 100.0);
        const double want = fl_table_number(&table, i, "n_min");
        fl_sample_size got;

        design.prob_efficacy = fl_table_number(&table, i, "efficacy_pct") / 100.0;
        got = size_of(&design);
        if (!isnan(want)) {
            check_int(got.reason, FL_SAMPLE_ATTAINABLE);
            check_int(got.sample_size, want);
        } else if (got.infested_plants == 0) {
            check_int(got.reason, FL_SAMPLE_UNDER_ONE_PLANT);
        } else {
            check_int(got.reason, FL_SAMPLE_EFFICACY_TOO_LOW);
            check_true(got.prob_reached < design.prob_confidence);
            check_int(got.sample_size, 0);
        }
    }
    fl_table_free(&table);
}

/* GSL 2.7: gsl_ran_hypergeometric_pdf(0, D, N - D, n) where all is seen; and the sum of its terms
 * times (1 - e)^k. GSL computes through ln choose: about 1e-10 relative at these sizes. */
static void test_miss_against_gsl(void **state)
{
    static const unsigned cases[][3] = {
        {25, 1, 20},     {50, 5, 30},       {200, 10, 60},      {1000, 400, 12}, {1000, 990, 3},
        {5000, 25, 700}, {10000, 10, 2588}, {100000, 500, 596}, {300, 150, 160}, {40, 40, 7},
    };
    static const double efficacies[] = {1.0, 0.8, 0.5, 0.05};
    (void)state;

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const unsigned lot = cases[i][0];
        const unsigned infested = cases[i][1];
        const unsigned sample = cases[i][2];

        for (size_t j = 0; j < sizeof efficacies / sizeof efficacies[0]; j++) {
            double want = 0.0;
            double got = -1.0;
            for (unsigned k = 0; k <= infested && k <= sample; k++) {
                want += gsl_ran_hypergeometric_pdf(k, infested, lot - infested, sample) *
                        pow(1.0 - efficacies[j], k);
            }
            assert_int_equal(fl_sample_miss(lot, infested, sample, efficacies[j], &got), FL_OK);
            check_close(got, want, 1e-8, 1e-14);
        }
    }
}

/* By counting: 3 of 5 plants infested, 2 examined: both of the 2 clean ones, 1 of 10 pairs; each
 * infested one overlooked with chance 1/2: 1/10 + 6/10/2 + 3/10/4. */
static void test_miss_by_counting(void **state)
{
    double got = -1.0;
    (void)state;

    assert_int_equal(fl_sample_miss(5, 3, 2, 1.0, &got), FL_OK);
    check_close(got, 0.1, 1e-14, 0.0);
    assert_int_equal(fl_sample_miss(5, 3, 2, 0.5, &got), FL_OK);
    check_close(got, 0.475, 1e-14, 0.0);
    assert_int_equal(fl_sample_miss(5, 3, 0, 1.0, &got), FL_OK);
    check_close(got, 1.0, 0.0, 0.0);
    assert_int_equal(fl_sample_miss(5, 0, 5, 1.0, &got), FL_OK);
    check_close(got, 1.0, 0.0, 0.0);
    assert_int_equal(fl_sample_miss(5, 3, 5, 0.0, &got), FL_OK);
    check_close(got, 1.0, 1e-14, 0.0);
    assert_int_equal(fl_sample_miss(5, 3, 3, 1.0, &got), FL_OK);
    check_close(got, 0.0, 0.0, 0.0);
}

/* Very large lots: no overflow, and the binomial limit (relative gap about n/N). */
static void test_miss_large_lot(void **state)
{
    double got = -1.0;
    (void)state;

    assert_int_equal(fl_sample_miss(FL_SAMPLE_LOT_MAX, 50000000, 58, 1.0, &got), FL_OK);
    check_close(got, pow(0.95, 58.0), 1e-6, 0.0);
    assert_int_equal(fl_sample_miss(FL_SAMPLE_LOT_MAX, 500000000, 900000000, 0.5, &got), FL_OK);
    check_close(got, 0.0, 0.0, 1e-14);
    assert_int_equal(
        fl_sample_miss(FL_SAMPLE_LOT_MAX, FL_SAMPLE_LOT_MAX, FL_SAMPLE_LOT_MAX, 1e-9, &got), FL_OK);
    check_close(got, exp(-1.0), 1e-8, 0.0);
}

/* More examined, more infested, better eyes: never a larger chance of missing them. */
static void test_miss_falls(void **state)
{
    (void)state;
    for (int64_t infested = 1; infested <= 30; infested += 7) {
        double last = 1.0;
        for (int64_t sample = 1; sample <= 60; sample++) {
            double got = -1.0;
            double more = -1.0;
            double better = -1.0;
            assert_int_equal(fl_sample_miss(60, infested, sample, 0.7, &got), FL_OK);
            assert_int_equal(fl_sample_miss(60, infested + 1, sample, 0.7, &more), FL_OK);
            assert_int_equal(fl_sample_miss(60, infested, sample, 0.8, &better), FL_OK);
            check_true(got >= 0.0 && got < last);
            check_true(more < got);
            check_true(better < got);
            last = got;
        }
    }
}

/* Rounding up instead: reference clearance-and-tracing 3.2, the number in epiR's rsu.sep.rs. */
static void test_rounding_up(void **state)
{
    fl_sample_design design = design_of(25, 0.02, 0.95);
    fl_sample_size got;
    (void)state;

    design.rounding = FL_SAMPLE_CEIL;
    got = size_of(&design);
    check_int(got.infested_plants, 1);
    check_true(got.is_under_one_plant && got.is_rounded);
    /* one infested plant of 25, by counting: 1 - n/25 <= 0.05 from n = 24 */
    check_int(got.sample_size, 24);
    check_int(got.size_for_one, 24);

    design = design_of(150, 0.05, 0.95);
    check_int(size_of(&design).infested_plants, 7);
    design.rounding = FL_SAMPLE_CEIL;
    got = size_of(&design);
    check_int(got.infested_plants, 8);
    design.rounding = FL_SAMPLE_FLOOR;
    check_true(got.sample_size < size_of(&design).sample_size);

    /* 3000 * 0.001 is not exactly 3 in binary: no plant may be lost or gained */
    design = design_of(3000, 0.001, 0.95);
    check_int(size_of(&design).infested_plants, 3);
    design.rounding = FL_SAMPLE_CEIL;
    check_int(size_of(&design).infested_plants, 3);
    check_false(size_of(&design).is_rounded);
}

/* A confidence met exactly counts: 19 of 20 plants, one infested, 95 %. */
static void test_tie(void **state)
{
    fl_sample_design design = design_of(20, 0.05, 0.95);
    (void)state;

    check_int(size_of(&design).sample_size, 19);
    check_close(size_of(&design).prob_reached, 0.95, 1e-13, 0.0);
    design = design_of(1, 1.0, 0.5);
    check_int(size_of(&design).sample_size, 1);
    design.method = FL_SAMPLE_BINOMIAL;
    check_int(size_of(&design).sample_size, 1);
    check_close(size_of(&design).prob_reached, 1.0, 0.0, 0.0);
}

static void check_refused(fl_sample_design design, const char *message)
{
    fl_sample_size out = {.sample_size = 77};
    fl_err err = {0};

    check_int(fl_sample_size_of(&design, &out, &err), FL_EDOMAIN);
    check_contains(err.message, message);
    check_int(out.sample_size, 77);
}

static void test_bad_values(void **state)
{
    fl_sample_design design = design_of(100, 0.05, 0.95);
    double out = 3.0;
    (void)state;

    check_refused(design_of(0, 0.05, 0.95), "lot of 0");
    check_refused(design_of((int64_t)FL_SAMPLE_LOT_MAX + 1, 0.05, 0.95), "lot of 1000000001");
    check_refused(design_of(100, 0.0, 0.95), "level 0");
    check_refused(design_of(100, 1.5, 0.95), "level 1.5");
    check_refused(design_of(100, NAN, 0.95), "level nan");
    check_refused(design_of(100, 0.05, 1.0), "confidence 1");
    check_refused(design_of(100, 0.05, 0.0), "confidence 0");
    design.prob_efficacy = 0.0;
    check_refused(design, "efficacy 0");
    design.prob_efficacy = 1.01;
    check_refused(design, "efficacy 1.01");

    check_int(fl_sample_miss(0, 0, 0, 1.0, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, 6, 1, 1.0, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, 1, 6, 1.0, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, -1, 1, 1.0, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, 1, -1, 1.0, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, 1, 1, NAN, &out), FL_EDOMAIN);
    check_int(fl_sample_miss(5, 1, 1, 1.1, &out), FL_EDOMAIN);
    check_close(out, 3.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_hypergeometric_table),
    cmocka_unit_test(test_binomial_table),
    cmocka_unit_test(test_efficacy_table),
    cmocka_unit_test(test_miss_against_gsl),
    cmocka_unit_test(test_miss_by_counting),
    cmocka_unit_test(test_miss_large_lot),
    cmocka_unit_test(test_miss_falls),
    cmocka_unit_test(test_rounding_up),
    cmocka_unit_test(test_tie),
    cmocka_unit_test(test_bad_values),
};
FL_TEST_MAIN(tests)
