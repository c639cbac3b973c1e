/* Single-sine degree-days against published values: Zalom et al. 1983 table 7 (degrees F, 55/90),
 * the UC IPM printout for Ojai 2016 (degrees C, 12/33), and quadrature by scipy 1.10.1 for the
 * other cutoffs (tests/reference/degree_days.csv, ojai2016_degree_days.csv). */
#include <math.h>
#include <string.h>

#include "core/develop/degree_days.h"
#include "support/check.h"

static fl_cutoff cutoff_of(const char *name)
{
    return strcmp(name, "horizontal") == 0 ? FL_CUTOFF_HORIZONTAL
           : strcmp(name, "vertical") == 0 ? FL_CUTOFF_VERTICAL
                                           : FL_CUTOFF_INTERMEDIATE;
}

static double degree_days(double min, double max, fl_degree_day_limits limits)
{
    double out = -1.0;
    fl_err err;
    check_ok(fl_degree_days_single_sine(min, max, &limits, &out, &err), &err);
    return out;
}

/* Half of the last printed digit, and what rounding of a tie may add. */
static void check_published(double got, double published, int decimals)
{
    check_close(got, published, 0.0, 0.5 * pow(10.0, -decimals) + 1e-3);
}

static void test_published_table(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("degree_days.csv");
    int n_published = 0;
    int n_cutoffs[3] = {0, 0, 0};
    for (size_t row = 0; row < table.n_rows; row++) {
        if (strcmp(fl_table_text(&table, row, "method"), "single sine") != 0) {
            continue;
        }
        fl_degree_day_limits limits = {fl_table_number(&table, row, "lo"),
                                       fl_table_number(&table, row, "hi"),
                                       cutoff_of(fl_table_text(&table, row, "cutoff"))};
        double got = degree_days(fl_table_number(&table, row, "min"),
                                 fl_table_number(&table, row, "max"), limits);
        check_close(got, fl_table_number(&table, row, "computed"), 0.0, 6e-7);
        double published = fl_table_number(&table, row, "published");
        if (!isnan(published)) {
            check_published(got, published, 2);
            n_published++;
        }
        n_cutoffs[limits.cutoff]++;
    }
    check_int(n_published, 8); /* six rows of Zalom's table, two of UC IPM */
    check_int(n_cutoffs[FL_CUTOFF_HORIZONTAL], 13);
    check_int(n_cutoffs[FL_CUTOFF_INTERMEDIATE], 5);
    check_int(n_cutoffs[FL_CUTOFF_VERTICAL], 5);
    fl_table_free(&table);
}

static void test_half_a_year_of_ojai(void **unused)
{
    (void)unused;
    const fl_degree_day_limits limits = {12.0, 33.0, FL_CUTOFF_HORIZONTAL};
    fl_table table = fl_table_read("ojai2016_degree_days.csv");
    int n_published = 0;
    double worst = 0.0;
    for (size_t row = 0; row < table.n_rows; row++) {
        double got = degree_days(fl_table_number(&table, row, "min_C"),
                                 fl_table_number(&table, row, "max_C"), limits);
        double published = fl_table_number(&table, row, "published_single_sine");
        if (!isnan(published)) {
            check_published(got, published, 2);
            worst = fmax(worst, fabs(got - published));
            n_published++;
        }
    }
    check_int(n_published, 182);
    check_true(worst > 0.001); /* the column was really compared */
    fl_table_free(&table);
}

/* A fine sum of the definition, for every position of the sine against the thresholds. */
static void test_against_a_fine_sum(void **unused)
{
    (void)unused;
    const double pi = acos(-1.0);
    for (int cutoff = 0; cutoff < 3; cutoff++) {
        const fl_degree_day_limits limits = {10.0, 25.0, (fl_cutoff)cutoff};
        for (double mean = 0.0; mean <= 50.0; mean += 5.0) {
            for (double half = 0.5; half < 30.0; half += 6.5) {
                double sum = 0.0;
                for (int i = 0; i < 40000; i++) {
                    double temp = mean - half * cos(pi * (i + 0.5) / 40000.0);
                    double over = temp > 25.0 ? temp - 25.0 : 0.0;
                    double felt = fmin(fmax(temp - 10.0, 0.0), 15.0);
                    double hot[] = {felt, fmax(0.0, felt - over), over > 0.0 ? 0.0 : felt};
                    sum += hot[cutoff];
                }
                check_close(degree_days(mean - half, mean + half, limits), sum / 40000.0, 0.0,
                            1e-3);
            }
        }
    }
}

static void test_flat_days_and_edges(void **unused)
{
    (void)unused;
    const fl_degree_day_limits vertical = {10.0, 25.0, FL_CUTOFF_VERTICAL};
    const fl_degree_day_limits between = {10.0, 25.0, FL_CUTOFF_INTERMEDIATE};
    check_close(degree_days(20.0, 20.0, vertical), 10.0, 1e-15, 0.0);
    check_close(degree_days(25.0, 25.0, vertical), 15.0, 1e-15, 0.0); /* at the limit: not above */
    check_close(degree_days(25.1, 25.1, vertical), 0.0, 0.0, 1e-12);
    check_close(degree_days(10.0, 10.0, vertical), 0.0, 0.0, 0.0);
    check_close(degree_days(30.0, 30.0, between), 10.0, 1e-14, 0.0);
    check_close(degree_days(45.0, 45.0, between), 0.0, 0.0, 1e-12);
    check_close(degree_days(-40.0, 5.0, between), 0.0, 0.0, 0.0);
}

static void test_refused(void **unused)
{
    (void)unused;
    const fl_degree_day_limits good = {10.0, 25.0, FL_CUTOFF_HORIZONTAL};
    const fl_degree_day_limits crossed = {25.0, 25.0, FL_CUTOFF_HORIZONTAL};
    const fl_degree_day_limits nan_limit = {NAN, 25.0, FL_CUTOFF_HORIZONTAL};
    const fl_degree_day_limits unknown = {10.0, 25.0, (fl_cutoff)3};
    double out = -1.0;
    fl_err err;
    check_int(fl_degree_days_single_sine(20.0, 19.9, &good, &out, &err), FL_EDOMAIN);
    check_contains(err.message, "19.9");
    check_int(fl_degree_days_single_sine(NAN, 20.0, &good, &out, &err), FL_EDOMAIN);
    check_int(fl_degree_days_single_sine(10.0, 1e9, &good, &out, &err), FL_EDOMAIN);
    check_int(fl_degree_days_single_sine(10.0, 20.0, &crossed, &out, &err), FL_EDOMAIN);
    check_int(fl_degree_days_single_sine(10.0, 20.0, &nan_limit, &out, &err), FL_EDOMAIN);
    check_int(fl_degree_days_single_sine(10.0, 20.0, &unknown, &out, &err), FL_EINVAL);
    check_close(out, -1.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_published_table),
    cmocka_unit_test(test_half_a_year_of_ojai),
    cmocka_unit_test(test_against_a_fine_sum),
    cmocka_unit_test(test_flat_days_and_edges),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
