/* Development figures against published days: tests/reference/know_development.csv, each row with
 * its source. The days are computed here from the tables alone, not by core/develop. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/know/know.h"
#include "support/check.h"

/* Days through one stage at a constant temperature; infinite when it does not develop. */
static double stage_days(const fl_stage_rate *stage, double temp_c)
{
    double above = fmin(temp_c, stage->upper_c) - stage->threshold_c;
    return above > 0.0 ? stage->degree_days / above : (double)INFINITY;
}

static double days_between(const fl_stage_model *model, int from, int to, double temp_c)
{
    double days = 0.0;
    for (int i = from; i < to; i++) {
        days += stage_days(&model->stage[i], temp_c);
    }
    return days;
}

static double whole_days(const fl_stage_model *model, double temp_c)
{
    return days_between(model, 0, model->n_stages - 1, temp_c);
}

static int stage_named(const fl_threat *threat, const char *name)
{
    for (int i = 0; i < threat->n_stages; i++) {
        if (strcmp(threat->stage[i].name, name) == 0) {
            return i;
        }
    }
    fail_msg("%s has no stage %s", threat->code, name);
    return 0;
}

static const fl_threat *named(const char *code)
{
    const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(code));
    check_true(threat != NULL);
    return threat;
}

static void check_row(const fl_table *t, size_t row)
{
    const fl_threat *threat = named(fl_table_text(t, row, "threat"));
    int from = stage_named(threat, fl_table_text(t, row, "from"));
    int to = stage_named(threat, fl_table_text(t, row, "to"));
    double temp_c = fl_table_number(t, row, "temp_c"), days = fl_table_number(t, row, "days");
    double tol = fl_table_number(t, row, "tol");
    double fast = days_between(&threat->fast, from, to, temp_c);
    double slow = days_between(&threat->slow, from, to, temp_c);
    const char *check = fl_table_text(t, row, "check");
    print_message("%s %s to %s at %g: published %g, fast %.2f, slow %.2f (%s)\n", threat->code,
                  fl_table_text(t, row, "from"), fl_table_text(t, row, "to"), temp_c, days, fast,
                  slow, fl_table_text(t, row, "source"));
    if (strcmp(check, "fast") == 0) {
        check_close(fast, days, tol, 0.0);
    } else if (strcmp(check, "slow") == 0) {
        check_close(slow, days, tol, 0.0);
    } else {
        check_str(check, "between");
        check_true(fast <= days * (1.0 + tol));
        check_true(days <= slow * (1.0 + tol));
    }
}

static void test_published_days(void **state)
{
    (void)state;
    fl_table t = fl_table_read("know_development.csv");
    check_true(t.n_rows >= 45);
    for (size_t row = 0; row < t.n_rows; row++) {
        check_row(&t, row);
    }
    fl_table_free(&t);
}

/* Colder is later, for every threat, as long as both temperatures are within its range. */
static void test_colder_is_later(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        for (int temp_c = 16; temp_c < 20 && threat->n_stages > 0; temp_c++) {
            double cold_slow = whole_days(&threat->slow, temp_c);
            double cold_fast = whole_days(&threat->fast, temp_c);
            check_true(cold_slow > whole_days(&threat->slow, temp_c + 1));
            check_true(cold_fast > whole_days(&threat->fast, temp_c + 1));
        }
    }
}

static void test_slow_is_not_faster_than_fast(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        for (double temp_c = 16.0; temp_c <= 26.0; temp_c += 0.25) {
            for (int s = 0; s + 1 < threat->n_stages; s++) {
                check_true(stage_days(&threat->slow.stage[s], temp_c) >=
                           stage_days(&threat->fast.stage[s], temp_c));
            }
        }
    }
}

/* Heat above the upper limit is no help. */
static void test_no_speed_above_the_upper_limit(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        if (threat->n_stages > 0) {
            check_close(whole_days(&threat->slow, 36.0), whole_days(&threat->slow, 44.0), 0.0, 0.0);
        }
    }
}

/* What an old hand would say: gnats and thrips in weeks, mealybugs in months. */
static void test_mealybug_later_than_gnat(void **state)
{
    (void)state;
    const fl_threat *gnat = named("fungus_gnat"), *mealybug = named("citrus_mealybug");
    const fl_threat *root = named("root_mealybug"), *aphid = named("aphid");
    for (double temp_c = 18.0; temp_c <= 26.0; temp_c += 1.0) {
        check_true(whole_days(&mealybug->slow, temp_c) > whole_days(&gnat->slow, temp_c));
        check_true(whole_days(&mealybug->fast, temp_c) > whole_days(&gnat->fast, temp_c));
        check_true(whole_days(&root->slow, temp_c) > whole_days(&mealybug->slow, temp_c));
        check_true(whole_days(&aphid->slow, temp_c) < whole_days(&gnat->slow, temp_c));
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_published_days),
    cmocka_unit_test(test_colder_is_later),
    cmocka_unit_test(test_slow_is_not_faster_than_fast),
    cmocka_unit_test(test_no_speed_above_the_upper_limit),
    cmocka_unit_test(test_mealybug_later_than_gnat),
};
FL_TEST_MAIN(tests)
