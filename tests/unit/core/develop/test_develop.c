/* Rates, days, progress, spread and the guard. */
#include <math.h>
#include <string.h>

#include "core/clear/filter.h"
#include "core/develop/develop.h"
#include "support/check.h"

static const fl_stage_model FIXTURE = {
    4,
    {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0.1}, {16, 10.5, 55, 28, 0}, {1, 0, 0, 0, 0}},
    0.0,
    0};

/* The linear law at 11 temperatures with the published constants of Katayama 1997 and McDonald et
 * al. 1998 for Frankliniella occidentalis, egg to adult (tests/reference/development_rates.csv). */
static void test_linear_law(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("development_rates.csv");
    int n_checked = 0;
    for (size_t row = 0; row < table.n_rows; row++) {
        if (strcmp(fl_table_text(&table, row, "model"), "linear") != 0) {
            continue;
        }
        bool is_katayama = strncmp(fl_table_text(&table, row, "parameters"), "9.5", 3) == 0;
        fl_stage_model model = {
            2,
            {{12, is_katayama ? 9.5 : 7.9, is_katayama ? 194 : 268, 36, 0}, {1, 0, 0, 0, 0}},
            0.0,
            0};
        double temp_c = fl_table_number(&table, row, "T_C");
        check_close(fl_develop_rate_per_day(&model.stage[0], temp_c),
                    fl_table_number(&table, row, "rate_per_day"), 1e-9, 0.0);
        fl_develop_time time;
        fl_err err;
        check_ok(fl_develop_days(&model, 0, 0, temp_c, &time, &err), &err);
        check_true(time.does_develop);
        check_close(time.days, fl_table_number(&table, row, "days"), 1e-5, 0.0);
        n_checked++;
    }
    check_int(n_checked, 22);
    fl_table_free(&table);
}

/* Katayama 1997: 34.2, 19.2, 12.1 and 9.5 days observed at 15, 20, 25 and 30 C; the paper's line is
 * within 4 % of each. */
static void test_observed_thrips_days(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {2, {{12, 9.5, 194, 35, 0}, {1, 0, 0, 0, 0}}, 0.0, 0};
    static const double observed[][2] = {{15, 34.2}, {20, 19.2}, {25, 12.1}, {30, 9.5}};
    for (size_t i = 0; i < 4; i++) {
        fl_develop_time time;
        fl_err err;
        check_ok(fl_develop_days(&model, 0, 0, observed[i][0], &time, &err), &err);
        check_close(time.days, observed[i][1], 0.04, 0.0);
        check_str(fl_develop_note(&time), "");
    }
}

static void test_days_add_up(void **unused)
{
    (void)unused;
    fl_develop_time part;
    fl_develop_time whole;
    fl_err err;
    double sum = 0.0;
    for (int s = 0; s < 3; s++) {
        check_ok(fl_develop_days(&FIXTURE, s, s, 20.0, &part, &err), &err);
        sum += part.days;
    }
    check_ok(fl_develop_days(&FIXTURE, 0, 2, 20.0, &whole, &err), &err);
    check_close(whole.days, sum, 1e-15, 0.0);
    check_close(whole.days, 6.0 + 80.0 / 11.0 + 55.0 / 9.5, 1e-14, 0.0);
    check_true(!whole.is_near && !whole.is_clamped);
}

static void test_notes_by_temperature(void **unused)
{
    (void)unused;
    static const struct {
        double temp_c;
        bool does_develop;
        const char *note;
    } rows[] = {
        {9.9, false, "does not develop: warm the plant"},
        {10.5, false, "does not develop: warm the plant"}, /* the pupa's threshold itself */
        {10.6, true, "unreliable: warm the plant"},
        {13.5, true, "unreliable: warm the plant"},
        {13.6, true, ""},
        {28.0, true, ""},
        {28.1, true, "no faster than at the upper limit, perhaps slower"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fl_develop_time time;
        fl_err err;
        check_ok(fl_develop_days(&FIXTURE, 0, 2, rows[i].temp_c, &time, &err), &err);
        check_int(time.does_develop, rows[i].does_develop);
        check_str(fl_develop_note(&time), rows[i].note);
        check_int(time.days > 0.0, rows[i].does_develop);
    }
    fl_develop_time warm;
    fl_develop_time hot;
    fl_err err;
    check_ok(fl_develop_days(&FIXTURE, 0, 2, 30.0, &warm, &err), &err);
    check_ok(fl_develop_days(&FIXTURE, 0, 2, 40.0, &hot, &err), &err);
    check_close(hot.days, warm.days, 0.0, 0.0); /* never extrapolated */
}

static void test_days_refused(void **unused)
{
    (void)unused;
    fl_develop_time time = {.days = -1.0};
    fl_stage_model bad = FIXTURE;
    bad.stage[0].degree_days = -1.0;
    fl_err err;
    check_int(fl_develop_days(&bad, 0, 1, 20.0, &time, &err), FL_EDOMAIN);
    check_int(fl_develop_days(&FIXTURE, 0, 3, 20.0, &time, &err), FL_EDOMAIN);
    check_contains(err.message, "give 0 to 2");
    check_int(fl_develop_days(&FIXTURE, -1, 2, 20.0, &time, &err), FL_EDOMAIN);
    check_int(fl_develop_days(&FIXTURE, 2, 1, 20.0, &time, &err), FL_EDOMAIN);
    check_int(fl_develop_days(&FIXTURE, 0, 1, NAN, &time, &err), FL_EDOMAIN);
    check_close(time.days, -1.0, 0.0, 0.0);
}

/* Hour by hour, not at the mean: nights below the threshold bring nothing, hot hours no more than
 * the upper limit does. */
static void test_progress_sums_hours(void **unused)
{
    (void)unused;
    const fl_stage_rate rate = {16, 10, 60, 30, 0};
    double temps[24];
    for (int h = 0; h < 24; h++) {
        temps[h] = h < 12 ? 5.0 : 25.0;
    }
    double progress = -1.0;
    fl_err err;
    check_ok(fl_develop_progress(&rate, temps, 24, &progress, &err), &err);
    check_close(progress, 12.0 * 15.0 / 24.0 / 60.0, 1e-14, 0.0);
    temps[20] = 60.0;
    check_ok(fl_develop_progress(&rate, temps, 24, &progress, &err), &err);
    check_close(progress, (11.0 * 15.0 + 20.0) / 24.0 / 60.0, 1e-14, 0.0);
    check_ok(fl_develop_progress(&rate, NULL, 0, &progress, &err), &err);
    check_close(progress, 0.0, 0.0, 0.0);
    temps[3] = NAN;
    check_int(fl_develop_progress(&rate, temps, 24, &progress, &err), FL_EDOMAIN);
    check_int(fl_develop_progress(&rate, temps, -1, &progress, &err), FL_EDOMAIN);
    check_int(fl_develop_progress(&rate, temps, FL_FILTER_HOURS_MAX + 1, &progress, &err),
              FL_ETOOBIG);
    check_close(progress, 0.0, 0.0, 0.0);
}

static void test_substages_from_spread(void **unused)
{
    (void)unused;
    static const struct {
        double cv;
        int n;
    } rows[] = {{0.25, 16}, {1.0, 1}, {0.289, 12}, {0.01, 60}, {3.0, 1}};
    int n = 0;
    fl_err err;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_ok(fl_develop_substages(rows[i].cv, &n, &err), &err);
        check_int(n, rows[i].n);
    }
    check_int(fl_develop_substages(0.0, &n, &err), FL_EDOMAIN);
    check_int(fl_develop_substages(NAN, &n, &err), FL_EDOMAIN);
}

/* scipy.stats.gamma.cdf(t, 16, scale=1/(16 r)), r = 1/6 per day
 * (tests/reference/erlang_occupancy.csv). */
static void test_share_through_is_gamma(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("erlang_occupancy.csv");
    double share = -1.0;
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        double progress = fl_table_number(&table, row, "day") / 6.0;
        check_ok(fl_develop_share_through(16, progress, &share, &err), &err);
        check_close(share, fl_table_number(&table, row, "gamma_cdf_left_egg"), 1e-9, 0.0);
    }
    fl_table_free(&table);
    check_int(fl_develop_share_through(0, 1.0, &share, &err), FL_EDOMAIN);
    check_int(fl_develop_share_through(161, 1.0, &share, &err), FL_EDOMAIN);
    check_int(fl_develop_share_through(16, -0.1, &share, &err), FL_EDOMAIN);
    check_int(fl_develop_share_through(16, NAN, &share, &err), FL_EDOMAIN);
    check_int(fl_develop_share_through(16, (double)INFINITY, &share, &err), FL_EDOMAIN);
}

/* The guard against GSL's gamma distribution. The larvae die, which must not count. */
static void test_guard_against_gamma(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {
        4,
        {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0.1}, {16, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}},
        0.0,
        0};
    static const double eggs[4] = {1.0, 0.0, 0.0, 0.0};
    fl_develop_wait wait = {.share = eggs, .stages_seen = 1U << 1, .temp_c = 20.0};
    fl_err err;
    for (int day = 0; day <= 40; day += 4) {
        wait.n_hours = 24 * day;
        double got = -1.0;
        check_ok(fl_develop_chance_reached(&model, &wait, &got, &err), &err);
        /* eggs of every age alike: the mean of 16 gamma distributions of shape 1 to 16 */
        double want = 0.0;
        for (int left = 1; left <= 16; left++) {
            double share = 0.0;
            check_ok(fl_develop_share_through(left, day / 6.0 * 16.0 / left, &share, &err), &err);
            want += share / 16.0;
        }
        check_close(got, want, 0.0, 1e-8);
    }
}

static void test_guard_counts_what_has_passed(void **unused)
{
    (void)unused;
    static const double share[4] = {0.5, 0.2, 0.2, 0.1};
    double temps[48];
    for (int h = 0; h < 48; h++) {
        temps[h] = 22.0;
    }
    fl_develop_wait wait = {.share = share, .stages_seen = 1U << 1 | 1U << 3, .temp_c = 5.0};
    double got = -1.0;
    fl_err err;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 0.5, 1e-15, 0.0); /* larvae, pupae beyond them, adults */
    wait.n_hours = 5000;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 0.5, 1e-15, 0.0); /* cold: nothing hatches */
    wait.stages_seen = 1U << 3;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 0.1, 1e-14, 0.0);
    wait.stages_seen = 0;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 0.0, 0.0, 0.0);
    wait.stages_seen = 1U << 5; /* no such stage */
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 0.0, 0.0, 0.0);
    wait.stages_seen = 1;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 1.0, 0.0, 0.0);
    wait.stages_seen = 1U << 2;
    wait.n_hours = 48;
    wait.temp_c = 22.0;
    double constant = -1.0;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &constant, &err), &err);
    wait.temps_c = temps;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, constant, 1e-14, 0.0);
    wait.n_hours = 24 * 200;
    wait.temps_c = NULL;
    check_ok(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), &err);
    check_close(got, 1.0, 1e-12, 0.0); /* deaths do not count */
}

static void test_guard_refused(void **unused)
{
    (void)unused;
    static const double share[4] = {0.5, 0.2, 0.2, 0.1};
    static const double bad[4] = {0.5, 0.2, 0.2, 0.2};
    fl_develop_wait wait = {.share = bad, .stages_seen = 2, .temp_c = 20.0};
    double got = -1.0;
    fl_err err;
    check_int(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), FL_EDOMAIN);
    wait.share = share;
    wait.temp_c = NAN;
    check_int(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), FL_EDOMAIN);
    wait.temp_c = 20.0;
    wait.n_hours = -1;
    check_int(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), FL_EDOMAIN);
    wait.n_hours = FL_FILTER_HOURS_MAX + 1;
    check_int(fl_develop_chance_reached(&FIXTURE, &wait, &got, &err), FL_ETOOBIG);
    check_close(got, -1.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_linear_law),
    cmocka_unit_test(test_observed_thrips_days),
    cmocka_unit_test(test_days_add_up),
    cmocka_unit_test(test_notes_by_temperature),
    cmocka_unit_test(test_days_refused),
    cmocka_unit_test(test_progress_sums_hours),
    cmocka_unit_test(test_substages_from_spread),
    cmocka_unit_test(test_share_through_is_gamma),
    cmocka_unit_test(test_guard_against_gamma),
    cmocka_unit_test(test_guard_counts_what_has_passed),
    cmocka_unit_test(test_guard_refused),
};
FL_TEST_MAIN(tests)
