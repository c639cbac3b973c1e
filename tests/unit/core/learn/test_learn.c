/* Purchases as counts; and the judges of test_kind.c held to scipy tables, the Beta distribution of
 * GSL and a published example. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>

#include "core/learn/learn.h"
#include "support/check.h"
#include "support/learn_judge.h"

/* `found` proved purchases, then `quiet` ones that would have been missed with l. */
static void fill(fl_learn_purchase *purchase, int found, int quiet, double missed)
{
    for (int i = 0; i < found + quiet; i++) {
        purchase[i] = (fl_learn_purchase){.prob_cause = i < found ? 1.0 : 0.0,
                                          .prob_missed = i < found ? 0.0 : missed};
    }
}

/* tests/reference/source_risk.csv: a sum over 20 001 midpoints in scipy. Where a + found < 1 the
 * density has a pole at 0, which midpoints of the risk itself do not resolve: there the table is
 * off by up to 4e-4 (its first such row has mean 0.0503698; the Beta's is 0.05 exactly). */
static void test_source_table(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("source_risk.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        fl_learn_beta prior = {fl_table_number(&table, row, "a"),
                               fl_table_number(&table, row, "b")};
        int found = (int)fl_table_number(&table, row, "found");
        int quiet = (int)fl_table_number(&table, row, "quiet");
        double missed = fl_table_number(&table, row, "l");
        fl_learn_purchase purchase[20];
        fill(purchase, found, quiet, missed);
        fl_learn_risk risk;
        risk = fl_judge_source(&prior, purchase, found + quiet, 0.0);
        double slack = prior.a + found < 1.0 ? 5e-4 : 1e-6;
        check_close(risk.mean, fl_table_number(&table, row, "post_mean"), 0.0, slack);
        check_close(risk.sd, fl_table_number(&table, row, "post_sd"), 0.0, slack);
    }
    check_int(table.n_rows, 27);
    fl_table_free(&table);
}

/* Perfect looks: Beta(a + found, b + quiet), also with a strong pole at either end, as for a rare
 * threat (prior 0.0002 worth ten purchases). */
static void test_perfect_looks_are_a_beta(void **unused)
{
    (void)unused;
    static const double cases[][4] = {
        {1, 9, 0, 5},       {0.5, 4.5, 0, 5},      {0.1, 0.1, 1, 1},
        {2, 8, 3, 4},       {0.3, 30, 2, 0},       {1, 4, 200, 900},
        {0.02, 9.98, 0, 4}, {0.002, 9.998, 0, 30}, {9.99, 0.01, 3, 0}};
    static fl_learn_purchase purchase[1200];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_learn_beta prior = {cases[i][0], cases[i][1]};
        int found = (int)cases[i][2];
        int quiet = (int)cases[i][3];
        fill(purchase, found, quiet, 0.0);
        fl_learn_risk risk;
        risk = fl_judge_source(&prior, purchase, found + quiet, 0.0);
        double a = prior.a + found;
        double b = prior.b + quiet;
        check_close(risk.mean, a / (a + b), 1e-7, 0.0);
        check_close(risk.sd, sqrt(a * b / (a + b + 1.0)) / (a + b), 1e-7, 0.0);
        if (gsl_cdf_beta_P(1e-300, a, b) < 0.05) { /* else the point is below every double */
            check_close(gsl_cdf_beta_P(risk.low, a, b), 0.05, 0.0, 1e-2);
        } else {
            check_close(risk.low, 0.0, 0.0, 1e-300);
        }
        if (gsl_cdf_beta_P(1.0 - 1e-15, a, b) > 0.95) {
            check_close(gsl_cdf_beta_P(risk.high, a, b), 0.95, 0.0, 1e-2);
        } else {
            check_close(risk.high, 1.0, 1e-14, 0.0);
        }
    }
}

/* GSL's quadrature over the risk itself, for records that are only partly seen. */
typedef struct record {
    const fl_learn_purchase *purchase;
    int n;
    double a, b;
    int power;
} record;

static double integrand(double theta, void *params)
{
    const record *r = params;
    double value = pow(theta, r->a - 1.0 + r->power) * pow(1.0 - theta, r->b - 1.0);
    for (int i = 0; i < r->n; i++) {
        double w = r->purchase[i].prob_cause;
        double l = r->purchase[i].prob_missed;
        double factor = w * theta + (1.0 - w) * (1.0 - theta * (1.0 - l));
        value *= pow(factor, pow(0.5, r->purchase[i].age_days / 100.0));
    }
    return value;
}

static void test_against_quadrature(void **unused)
{
    (void)unused;
    static const fl_learn_purchase purchase[6] = {{1.0, 0.0, 0.0}, {0.4, 0.3, 0.0},
                                                  {0.0, 0.7, 150}, {0.0, 0.1, 0.0},
                                                  {1.0, 0.5, 300}, {0.0, 1.0, 0.0}};
    const fl_learn_beta prior = {1.3, 6.5};
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    double integral[3];
    for (int power = 0; power < 3; power++) {
        record r = {purchase, 6, prior.a, prior.b, power};
        gsl_function f = {integrand, &r};
        double error = 0.0;
        check_int(
            gsl_integration_qags(&f, 0.0, 1.0, 0.0, 1e-10, 1000, space, &integral[power], &error),
            0);
    }
    gsl_integration_workspace_free(space);
    double mean = integral[1] / integral[0];
    fl_learn_risk risk;
    risk = fl_judge_source(&prior, purchase, 6, 100.0);
    check_close(risk.mean, mean, 1e-8, 0.0);
    check_close(risk.sd, sqrt(integral[2] / integral[0] - mean * mean), 1e-7, 0.0);
}

/* ispm31_betabinomial.csv (scipy's betabinom): plants that share a risk are as a source's purchases
 * that share one. Each next quiet one is as likely as the risk learned from those before says, and
 * the product of them is the chance that a sample of n shows nothing. Rows of up to 300. */
static void test_clumped_samples(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("ispm31_betabinomial.csv");
    static fl_learn_purchase purchase[300];
    int checked = 0;
    fill(purchase, 0, 300, 0.0);
    for (size_t row = 0; row < table.n_rows; row++) {
        double theta = fl_table_number(&table, row, "theta");
        double level = fl_table_number(&table, row, "level_of_detection_pct") *
                       fl_table_number(&table, row, "efficacy_pct") / 1e4;
        double allowed = 1.0 - fl_table_number(&table, row, "confidence_pct") / 100.0;
        double n_min = fl_table_number(&table, row, "n_min");
        const fl_learn_beta prior = {level / theta, (1.0 - level) / theta};
        double quiet = 1.0;
        double before = 1.0;
        if (!(n_min <= 300.0)) {
            continue;
        }
        for (int n = 0; n < (int)n_min; n++) {
            fl_learn_risk risk;
            before = quiet;
            risk = fl_judge_source(&prior, purchase, n, 0.0);
            quiet *= 1.0 - risk.mean;
        }
        /* a tie: of a = 1, b = 19, 171 plants leave 19/190 = 0.1 exactly; the table has 172 */
        check_true(quiet <= allowed * (1.0 + 1e-6) && before > allowed * (1.0 - 1e-6));
        checked++;
    }
    check_int(checked, 12);
    fl_table_free(&table);
}

static void test_what_a_record_teaches(void **unused)
{
    (void)unused;
    const fl_learn_beta prior = {1.0, 4.0};
    fl_learn_purchase purchase[6];
    fl_learn_risk blind;
    fl_learn_risk sharp;
    fl_learn_risk maybe;
    fill(purchase, 0, 5, 1.0); /* nobody could have seen anything: nothing is learnt */
    blind = fl_judge_source(&prior, purchase, 5, 0.0);
    check_close(blind.mean, 0.2, 1e-9, 0.0);
    fill(purchase, 0, 5, 0.2);
    sharp = fl_judge_source(&prior, purchase, 5, 0.0);
    check_true(sharp.mean < blind.mean);
    purchase[0].prob_cause = 0.5; /* a find that may have had another cause */
    maybe = fl_judge_source(&prior, purchase, 5, 0.0);
    check_true(maybe.mean > sharp.mean);
    purchase[0].prob_cause = 1.0;
    blind = fl_judge_source(&prior, purchase, 5, 0.0);
    check_true(blind.mean > maybe.mean);
    /* left out of its own prior: the list without it */
    maybe = fl_judge_source(&prior, purchase + 1, 4, 0.0);
    check_true(maybe.mean < sharp.mean + 0.05 && maybe.mean < blind.mean);
}

/* A purchase one half life old counts half: two of them count as one. */
static void test_fading(void **unused)
{
    (void)unused;
    const fl_learn_beta prior = {1.0, 4.0};
    fl_learn_purchase fresh[1];
    fl_learn_purchase old[2];
    fl_learn_risk want;
    fl_learn_risk got;
    fl_learn_count count;
    fl_err err;
    fill(fresh, 1, 0, 0.0);
    fill(old, 2, 0, 0.0);
    old[0].age_days = old[1].age_days = 365.0;
    want = fl_judge_source(&prior, fresh, 1, 365.0);
    got = fl_judge_source(&prior, old, 2, 365.0);
    check_close(got.mean, want.mean, 1e-9, 0.0);
    check_ok(fl_learn_count_of(old, 2, 365.0, &count, &err), &err);
    check_close(count.infested, 1.0, 1e-15, 0.0);
    check_close(count.judged, 1.0, 1e-15, 0.0);
    fill(old, 0, 2, 0.75);
    check_ok(fl_learn_count_of(old, 2, 0.0, &count, &err), &err);
    check_close(count.infested, 0.0, 0.0, 0.0);
    check_close(count.judged, 0.5, 1e-15, 0.0);
}

static void refuse(const fl_learn_purchase *purchase, int n, double half_life_days, fl_status code)
{
    fl_learn_count count = {-1.0, -1.0};
    fl_err err;
    check_int(fl_learn_count_of(purchase, n, half_life_days, &count, &err), code);
    check_status(&err, code);
    check_close(count.infested + count.judged, -2.0, 0.0, 0.0);
}

static void test_what_is_refused(void **unused)
{
    (void)unused;
    fl_learn_purchase purchase[2];
    fill(purchase, 1, 1, 0.5);
    refuse(purchase, -1, 0.0, FL_EDOMAIN);
    refuse(purchase, FL_LEARN_PURCHASES_MAX + 1, 0.0, FL_ETOOBIG);
    refuse(purchase, 2, -1.0, FL_EDOMAIN);
    purchase[1].prob_missed = 1.1;
    refuse(purchase, 2, 0.0, FL_EDOMAIN);
    purchase[1].prob_missed = 0.5;
    purchase[0].prob_cause = NAN;
    refuse(purchase, 2, 0.0, FL_EDOMAIN);
    purchase[0].prob_cause = 1.0;
    purchase[0].age_days = -3.0;
    refuse(purchase, 2, 30.0, FL_EDOMAIN);
}

/* ---- pooling ---- */

#define RATS_MAX 80

/* The numbers after "# y:" or "# n:" in partial_pooling.csv. */
static int read_numbers(const char *mark, double *out)
{
    char text[8192];
    FILE *file = fopen(FL_TEST_DATA_DIR "/partial_pooling.csv", "r");
    check_true(file != NULL);
    size_t len = fread(text, 1, sizeof text - 1, file);
    text[len] = '\0';
    (void)fclose(file);
    char *at = strstr(text, mark);
    check_true(at != NULL);
    at += strlen(mark);
    int n = 0;
    for (char *end = at; n < RATS_MAX; at = end) {
        out[n] = strtod(at, &end);
        if (end == at) {
            break;
        }
        n++;
        if (*end != ' ') {
            break;
        }
    }
    return n;
}

static double row_of(const fl_table *table, const char *quantity, const char *column)
{
    for (size_t row = 0; row < table->n_rows; row++) {
        if (strcmp(fl_table_text(table, row, "quantity"), quantity) == 0) {
            return fl_table_number(table, row, column);
        }
    }
    fail_msg("no row %s", quantity);
    return 0.0;
}

/* 71 groups of rats (Tarone 1982, as in Gelman et al., chapter 5). The data were typed from memory;
 * the published mean and spread of the first 70 raw rates are checked first. Published: E(alpha)
 * 2.4, E(beta) 14.3; the rest of the column "computed" is numpy's. */
static void test_rats(void **unused)
{
    (void)unused;
    double y[RATS_MAX];
    double groups[RATS_MAX];
    fl_learn_count count[RATS_MAX];
    double mean[RATS_MAX];
    int n = read_numbers("# y:", y);
    check_int(n, 71);
    check_int(read_numbers("# n:", groups), n);
    double sum = 0.0;
    double squares = 0.0;
    for (int k = 0; k < n; k++) {
        count[k] = (fl_learn_count){y[k], groups[k]};
        sum += k < 70 ? y[k] / groups[k] : 0.0;
        squares += k < 70 ? y[k] / groups[k] * (y[k] / groups[k]) : 0.0;
    }
    check_close(sum / 70.0, 0.136, 0.0, 0.0005);
    check_close(sqrt((squares - sum * sum / 70.0) / 69.0), 0.103, 0.0, 0.001);
    fl_table table = fl_table_read("partial_pooling.csv");
    fl_judge_pool pool;
    pool = fl_judge_pooled(count, n, FL_JUDGE_DIFFUSE, mean);
    check_close(pool.alpha_mean, row_of(&table, "E(alpha|y)", "published"), 0.0, 0.05);
    check_close(pool.beta_mean, row_of(&table, "E(beta|y)", "published"), 0.0, 0.05);
    check_close(pool.alpha_mean, row_of(&table, "E(alpha|y)", "computed"), 1e-3, 0.0);
    check_close(pool.beta_mean, row_of(&table, "E(beta|y)", "computed"), 1e-3, 0.0);
    check_close(pool.new_mean, row_of(&table, "new group predictive mean", "computed"), 0.0, 2e-5);
    check_close(mean[70], row_of(&table, "current group posterior mean", "computed"), 0.0, 2e-5);
    check_close(mean[0], row_of(&table, "0/20 group posterior mean", "computed"), 0.0, 2e-5);
    check_close(mean[66], row_of(&table, "16/52 group posterior mean", "computed"), 0.0, 2e-5);
    fl_table_free(&table);
}

/* Without data the modest hyperprior is itself: mu ~ Beta(1, 4), mean 1/5; kappa ~ Gamma(2, 0.1),
 * mean 20, independent, so alpha has mean 4 and beta 16. */
static void test_no_record_at_all(void **unused)
{
    (void)unused;
    fl_judge_pool pool;
    pool = fl_judge_pooled(NULL, 0, FL_JUDGE_MODEST, NULL);
    check_close(pool.new_mean, 0.2, 1e-5, 0.0);
    check_close(pool.alpha_mean, 4.0, 1e-4, 0.0);
    check_close(pool.beta_mean, 16.0, 1e-4, 0.0);
}

/* Little record leans on the others, much record stands for itself. */
static void test_sources_lean_on_each_other(void **unused)
{
    (void)unused;
    const fl_learn_count count[4] = {{1, 1}, {0, 0}, {40, 100}, {1.5, 30.25}};
    double mean[4];
    fl_judge_pool pool;
    pool = fl_judge_pooled(count, 4, FL_JUDGE_MODEST, mean);
    check_close(mean[1], pool.new_mean, 1e-12, 0.0);
    check_true(mean[0] > pool.new_mean && mean[0] < 0.5);
    check_close(mean[2], 0.4, 0.1, 0.0);
    check_true(mean[3] > 1.5 / 30.25 && mean[3] < pool.new_mean);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_source_table),       cmocka_unit_test(test_perfect_looks_are_a_beta),
    cmocka_unit_test(test_against_quadrature), cmocka_unit_test(test_what_a_record_teaches),
    cmocka_unit_test(test_clumped_samples),    cmocka_unit_test(test_fading),
    cmocka_unit_test(test_what_is_refused),    cmocka_unit_test(test_rats),
    cmocka_unit_test(test_no_record_at_all),   cmocka_unit_test(test_sources_lean_on_each_other),
};
FL_TEST_MAIN(tests)
