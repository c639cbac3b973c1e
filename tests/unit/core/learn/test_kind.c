/* Sources of one kind pooled: against quadratures of scipy (learn_kinds.csv), against counts pooled
 * on another grid (support/learn_judge.h, itself held to a published example), and by what must be
 * true. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sf_expint.h>

#include "base/rng.h"
#include "core/learn/kind.h"
#include "support/check.h"
#include "support/learn_judge.h"

#define LESSONS_MAX 2000
#define SOURCES_MAX 80

/* A kind under construction. */
typedef struct record {
    fl_learn_kind kind;
    fl_learn_lesson lesson[LESSONS_MAX + 1];
    int first_of[SOURCES_MAX + 1];
    double mean[LESSONS_MAX + 1];
    fl_learn_grid grid;
    double *storage, *work;
} record;

static void begin(record *r, double a, double b)
{
    r->kind = (fl_learn_kind){
        .mean = {a, b}, .lesson = r->lesson, .first_of = r->first_of, .half_life_days = 365.0};
    r->first_of[0] = 0;
    r->storage = r->work = NULL;
}

static void add_source(record *r)
{
    r->kind.n_sources++;
    r->first_of[r->kind.n_sources] = r->first_of[r->kind.n_sources - 1];
}

static void add(record *r, double cause, double missed, double age, double share)
{
    int *n = &r->first_of[r->kind.n_sources];
    r->lesson[(*n)++] = (fl_learn_lesson){{cause, missed, age}, share};
}

static void found(record *r)
{
    add(r, 1.0, 0.0, 0.0, 1.0);
}

static void quiet(record *r, double missed, double age)
{
    add(r, 0.0, missed, age, 1.0);
}

/* The grid and the working space, made anew for the record as it stands. */
static void prepare(record *r)
{
    int n = r->first_of[r->kind.n_sources];
    free(r->storage);
    free(r->work);
    r->storage = malloc(fl_learn_grid_doubles(r->kind.n_sources, n) * sizeof *r->storage);
    check_true(r->storage != NULL);
    fl_learn_grid_init(&r->grid, r->kind.n_sources, n, r->storage);
    r->work = malloc(fl_learn_kind_doubles(&r->grid, &r->kind) * sizeof *r->work);
    check_true(r->work != NULL);
}

static void end(record *r)
{
    free(r->storage);
    free(r->work);
}

static double mean_of(record *r, int source)
{
    fl_learn_risk risk;
    fl_err err;
    prepare(r);
    check_ok(fl_learn_kind_risk(&r->grid, &r->kind, source, r->work, &risk, &err), &err);
    check_true(risk.low <= risk.high && risk.sd > 0.0);
    check_true(risk.low <= risk.mean); /* the high end may lie below: most are clean, few are not */
    return risk.mean;
}

static void without_each(record *r)
{
    fl_err err;
    prepare(r);
    check_ok(fl_learn_kind_without_each(&r->grid, &r->kind, r->work, r->mean, &err), &err);
}

/* ---- scipy ---- */

/* The cases of tests/reference/learn_kinds.py. */
static void one_source(record *r)
{
    begin(r, 3.0, 7.0);
    add_source(r);
    found(r), quiet(r, 0.3, 0.0), quiet(r, 0.5, 200.0), quiet(r, 0.9, 0.0);
}

static void two_sources(record *r)
{
    begin(r, 2.1, 7.9);
    add_source(r);
    found(r), add(r, 1.0, 0.0, 100.0, 1.0), quiet(r, 0.2, 0.0);
    add_source(r);
    quiet(r, 0.4, 0.0), quiet(r, 0.4, 700.0);
}

static void rare(record *r)
{
    begin(r, 0.56, 9.44);
    add_source(r);
    quiet(r, 0.3, 0.0), quiet(r, 0.1, 0.0);
    add_source(r);
    quiet(r, 0.2, 0.0);
    add_source(r);
    found(r), quiet(r, 0.6, 0.0);
}

static void forms(record *r)
{
    begin(r, 1.2, 8.8);
    add_source(r);
    add(r, 0.0, 0.1, 0.0, 0.4), add(r, 1.0, 0.0, 30.0, 0.4);
    add_source(r);
    quiet(r, 0.1, 0.0), add(r, 0.0, 0.2, 0.0, 0.7);
}

static void moss(record *r)
{
    begin(r, 4.0, 6.0);
    add_source(r);
    add(r, 0.0, 0.3, 0.0, 1.5), quiet(r, 0.3, 0.0), found(r);
}

static void perhaps_from_elsewhere(record *r)
{
    begin(r, 0.9, 9.1);
    add_source(r);
    add(r, 0.35, 0.4, 0.0, 1.0), quiet(r, 0.5, 0.0);
    add_source(r);
    add(r, 0.8, 0.1, 60.0, 0.5), quiet(r, 0.05, 0.0), quiet(r, 0.05, 0.0);
}

static void many(record *r)
{
    begin(r, 3.0, 7.0);
    add_source(r);
    for (int i = 0; i < 11; i++) {
        add(r, i < 6 ? 1.0 : 0.0, i < 6 ? 0.0 : 0.2, 0.0, 1.0);
    }
    add_source(r);
    for (int i = 0; i < 8; i++) {
        quiet(r, 0.1, 0.0);
    }
    add_source(r);
    found(r), quiet(r, 0.3, 0.0), quiet(r, 0.3, 0.0);
    add_source(r);
}

static const struct {
    const char *name;
    void (*make)(record *r);
} cases[] = {{"one_source", one_source},
             {"two_sources", two_sources},
             {"rare", rare},
             {"forms", forms},
             {"moss", moss},
             {"perhaps_from_elsewhere", perhaps_from_elsewhere},
             {"many", many}};

/* Gauss-Jacobi and Gauss-Laguerre quadratures of the same model (scipy 1.10.1). */
static void test_scipy(void **unused)
{
    (void)unused;
    static record r;
    fl_table table = fl_table_read("learn_kinds.csv");
    int checked = 0;
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        cases[c].make(&r);
        without_each(&r);
        for (size_t row = 0; row < table.n_rows; row++) {
            if (strcmp(fl_table_text(&table, row, "case"), cases[c].name) != 0) {
                continue;
            }
            int source = (int)fl_table_number(&table, row, "source");
            const char *left_out = fl_table_text(&table, row, "left_out");
            double got = strcmp(left_out, "all") == 0
                             ? mean_of(&r, source)
                             : r.mean[r.first_of[source] + (int)strtol(left_out, NULL, 10)];
            check_close(got, fl_table_number(&table, row, "mean"), 2e-4, 0.0);
            checked++;
        }
        end(&r);
    }
    check_int(checked, table.n_rows);
    check_int(checked, 70);
    fl_table_free(&table);
}

/* ---- counts pooled ---- */

/* Whole counts: a found purchase is certain, a quiet one surely clean. Both have mu ~ Beta(1, 4),
 * k ~ Gamma(2, rate 0.1). */
static void test_counts(void **unused)
{
    (void)unused;
    static const int counts[][2] = {{1, 1}, {0, 0}, {9, 20}, {2, 30}, {0, 14}};
    static record r;
    fl_learn_count count[5];
    double want[5];
    fl_judge_pool pool;
    begin(&r, 1.0, 4.0);
    for (int s = 0; s < 5; s++) {
        count[s] = (fl_learn_count){counts[s][0], counts[s][1]};
        add_source(&r);
        for (int k = 0; k < counts[s][1]; k++) {
            add(&r, k < counts[s][0] ? 1.0 : 0.0, 0.0, 0.0, 1.0);
        }
    }
    pool = fl_judge_pooled(count, 5, FL_JUDGE_MODEST, want);
    for (int s = 0; s < 5; s++) {
        check_close(mean_of(&r, s), want[s], 1e-3, 0.0);
    }
    check_close(mean_of(&r, 5), pool.new_mean, 1e-3, 0.0);
    end(&r);
}

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
    for (char *stop = at; n < SOURCES_MAX; at = stop, n++) {
        out[n] = strtod(at, &stop);
        if (stop == at) {
            break;
        }
    }
    return n;
}

/* The 71 groups of rats of Tarone 1982 (partial_pooling.csv), 1 739 animals: with the hyperprior
 * of reference 4.2 instead of the published one, which data as many as these outweigh: the
 * published analysis (Gelman et al., chapter 5) computes to 0.2109 for the current group, 0.0636
 * and 0.2687 for two others and 0.1443 for a new one. */
static void test_rats(void **unused)
{
    (void)unused;
    static record r;
    double y[SOURCES_MAX];
    double n[SOURCES_MAX];
    fl_learn_count count[SOURCES_MAX];
    double want[SOURCES_MAX];
    fl_judge_pool pool;
    int groups = read_numbers("# y:", y);
    check_int(groups, 71);
    check_int(read_numbers("# n:", n), groups);
    begin(&r, 1.0, 4.0);
    for (int g = 0; g < groups; g++) {
        count[g] = (fl_learn_count){y[g], n[g]};
        add_source(&r);
        for (int k = 0; k < (int)n[g]; k++) {
            add(&r, k < (int)y[g] ? 1.0 : 0.0, 0.0, 0.0, 1.0);
        }
    }
    pool = fl_judge_pooled(count, groups, FL_JUDGE_MODEST, want);
    check_close(mean_of(&r, 70), want[70], 1e-2, 0.0);
    check_close(mean_of(&r, 0), want[0], 2e-2, 0.0);
    check_close(mean_of(&r, 66), want[66], 1e-2, 0.0);
    check_close(mean_of(&r, groups), pool.new_mean, 1e-2, 0.0);
    check_close(mean_of(&r, 70), 0.21086, 0.02, 0.0);
    check_close(mean_of(&r, 0), 0.06357, 0.05, 0.0);
    check_close(mean_of(&r, 66), 0.26874, 0.02, 0.0);
    check_close(mean_of(&r, groups), 0.14430, 0.02, 0.0);
    end(&r);
}

/* ---- what must be true ---- */

/* Nothing seen, nothing learned: the tables' mean, however rare the threat; and so when nobody
 * could have seen anything. */
static void test_without_a_record(void **unused)
{
    (void)unused;
    static record r;
    static const double means[] = {0.3, 0.02, 0.0024, 0.0002, 2e-6};
    for (size_t i = 0; i < sizeof means / sizeof means[0]; i++) {
        begin(&r, 10.0 * means[i], 10.0 * (1.0 - means[i]));
        check_close(mean_of(&r, 0), means[i], 1e-4, 0.0);
        add_source(&r);
        quiet(&r, 1.0, 0.0), quiet(&r, 1.0, 90.0);
        check_close(mean_of(&r, 0), means[i], 1e-4, 0.0);
        check_close(mean_of(&r, 1), means[i], 1e-4, 0.0);
        without_each(&r);
        check_close(r.mean[0], means[i], 1e-4, 0.0);
        end(&r);
    }
}

/* By hand, for one perfectly seen quiet purchase of a rare threat: E(t (1 - t)) / E(1 - t), with
 * E(t^2) = E(mu (mu k + 1) / (k + 1)) and E(1/(k+1)) = c: E(t^2) = (1 - c) E(mu^2) + c E(mu). For
 * Gamma(2, 0.1), c = 0.01 (10 - e^0.1 E1(0.1)), E1 by GSL. */
static void test_by_hand(void **unused)
{
    (void)unused;
    static record r;
    const double c = 0.01 * (10.0 - exp(0.1) * gsl_sf_expint_E1(0.1));
    const double m = 0.0024;
    const double square = m * (10.0 * m + 1.0) / 11.0;
    const double second = (1.0 - c) * square + c * m;
    begin(&r, 10.0 * m, 10.0 * (1.0 - m));
    add_source(&r);
    quiet(&r, 0.0, 0.0);
    check_close(mean_of(&r, 0), (m - second) / (1.0 - m), 1e-4, 0.0);
    /* and the kind's: E(mu (1 - t)) / E(1 - t) */
    check_close(mean_of(&r, 1), (m - square) / (1.0 - m), 1e-4, 0.0);
    r.lesson[0].purchase.prob_cause = 1.0; /* found: E(t^2) / E(t), E(mu^2) / E(mu) */
    check_close(mean_of(&r, 0), second / m, 1e-3, 0.0);
    check_close(mean_of(&r, 1), square / m, 1e-3, 0.0);
    end(&r);
}

/* A find half forgotten teaches less than a fresh one, and more than none, however old. */
static void test_old_finds(void **unused)
{
    (void)unused;
    static record r;
    double before = 1.0;
    for (int years = 0; years < 9; years++) {
        begin(&r, 0.2, 9.8);
        add_source(&r);
        add(&r, 1.0, 0.0, 365.0 * years, 1.0);
        double now = mean_of(&r, 0);
        check_true(now < before && now > 0.02);
        before = now;
        end(&r);
    }
    /* even t^(1/256) speaks against a risk of nothing, which a rare threat's prior allows for */
    check_true(before < 0.035);
}

/* What a source shows raises or lowers the others, but less than itself; and each purchase is left
 * out of its own. */
static void test_leaning(void **unused)
{
    (void)unused;
    static record r;
    begin(&r, 2.1, 7.9);
    add_source(&r);
    found(&r), found(&r), quiet(&r, 0.2, 0.0);
    add_source(&r);
    quiet(&r, 0.2, 0.0), quiet(&r, 0.2, 0.0), quiet(&r, 0.2, 0.0);
    double bad = mean_of(&r, 0);
    double good = mean_of(&r, 1);
    double fresh = mean_of(&r, 2);
    check_true(bad > fresh && fresh > good && bad > 0.21);
    without_each(&r);
    check_true(r.mean[0] < bad && r.mean[2] > bad);
    check_true(r.mean[3] > good && r.mean[3] < fresh);
    r.kind.n_sources = 1; /* the bad one alone says more ill of the kind */
    double alone = mean_of(&r, 1);
    check_true(alone > fresh);
    end(&r);
}

/* As a list without the purchase. */
static void test_without_each(void **unused)
{
    (void)unused;
    static record r;
    static record rest;
    fl_rng rng = {31};
    begin(&r, 0.8, 9.2);
    for (int s = 0; s < 3; s++) {
        add_source(&r);
        for (int k = 0; k < 5; k++) {
            double cause = k == s ? 1.0 : k == 4 ? fl_rng_uniform(&rng) : 0.0;
            add(&r, cause, fl_rng_uniform(&rng), 500.0 * fl_rng_uniform(&rng),
                0.2 + 0.8 * fl_rng_uniform(&rng));
        }
    }
    without_each(&r);
    for (int left_out = 0; left_out < 15; left_out++) {
        begin(&rest, 0.8, 9.2);
        for (int s = 0; s < 3; s++) {
            add_source(&rest);
            for (int k = 5 * s; k < 5 * s + 5; k++) {
                if (k != left_out) {
                    rest.lesson[rest.first_of[rest.kind.n_sources]++] = r.lesson[k];
                }
            }
        }
        check_close(r.mean[left_out], mean_of(&rest, left_out / 5), 1e-6, 0.0);
        end(&rest);
    }
    end(&r);
}

/* Two thousand purchases: the mean is theirs. */
static void test_much_record(void **unused)
{
    (void)unused;
    static record r;
    begin(&r, 3.0, 7.0);
    add_source(&r);
    for (int k = 0; k < LESSONS_MAX; k++) {
        add(&r, k % 5 == 0 ? 1.0 : 0.0, 0.0, 0.0, 1.0);
    }
    check_close(mean_of(&r, 0), 0.2, 3e-3, 0.0);
    end(&r);
}

static void test_refused(void **unused)
{
    (void)unused;
    static record r;
    fl_learn_risk risk = {-1.0, -1.0, -1.0, -1.0};
    fl_err err;
    begin(&r, 1.0, 9.0);
    add_source(&r);
    found(&r), quiet(&r, 0.4, 10.0);
    prepare(&r);
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, 2, r.work, &risk, &err), FL_EDOMAIN);
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, -1, r.work, &risk, &err), FL_EDOMAIN);
    static const fl_learn_lesson bad[] = {{{1.1, 0, 0}, 1}, {{NAN, 0, 0}, 1}, {{0, -0.1, 0}, 1},
                                          {{0, 0, -1}, 1},  {{0, 0, 2e6}, 1}, {{0, 0, 0}, 0},
                                          {{0, 0, 0}, 101}, {{0, 0, 0}, NAN}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fl_learn_lesson good = r.lesson[1];
        r.lesson[1] = bad[i];
        check_int(fl_learn_kind_without_each(&r.grid, &r.kind, r.work, r.mean, &err), FL_EDOMAIN);
        check_contains(err.message, "purchase 1");
        r.lesson[1] = good;
    }
    r.kind.half_life_days = -1.0;
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, 0, r.work, &risk, &err), FL_EDOMAIN);
    r.kind.half_life_days = 0.0;
    r.kind.mean.b = 0.5;
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, 0, r.work, &risk, &err), FL_EDOMAIN);
    check_contains(err.message, "Beta(1, 0.5)");
    r.kind.mean.b = 9.0;
    r.first_of[1] = LESSONS_MAX + 1;
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, 0, r.work, &risk, &err), FL_ETOOBIG);
    r.first_of[1] = 2;
    r.kind.n_sources = FL_LEARN_SOURCES_MAX + 1;
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, 0, r.work, &risk, &err), FL_ETOOBIG);
    r.kind.n_sources = -1;
    check_int(fl_learn_kind_risk(&r.grid, &r.kind, -1, r.work, &risk, &err), FL_EDOMAIN);
    check_close(risk.mean, -1.0, 0.0, 0.0);
    end(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_scipy),       cmocka_unit_test(test_counts),
    cmocka_unit_test(test_rats),        cmocka_unit_test(test_without_a_record),
    cmocka_unit_test(test_by_hand),     cmocka_unit_test(test_old_finds),
    cmocka_unit_test(test_leaning),     cmocka_unit_test(test_without_each),
    cmocka_unit_test(test_much_record), cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
