/* Clearance scenarios: the reference's cases written as JSON, and what is refused. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/scenario.h"
#include "base/str.h"
#include "support/check.h"

#define STAGES                                                                                     \
    "\"stages\":["                                                                                 \
    "{\"name\":\"egg\",\"substages\":16,\"threshold_c\":10,\"degree_days\":60,\"upper_c\":30,"     \
    "\"detect\":0.02,\"mortality_per_day\":0},"                                                    \
    "{\"name\":\"larva\",\"substages\":16,\"threshold_c\":9,\"degree_days\":80,\"upper_c\":30,"    \
    "\"detect\":0.5},"                                                                             \
    "{\"name\":\"pupa\",\"substages\":16,\"threshold_c\":10.5,\"degree_days\":55,\"upper_c\":30,"  \
    "\"detect\":0.05,\"mortality_per_day\":0},"                                                    \
    "{\"name\":\"adult\",\"detect\":0.7}]"
#define TREAT "\"treat\":[0.9,0.1,0.6,0.05]"

/* The constant case: 10 of 40 plants looked at on days 7 to 35; days out of order on purpose, and
 * day 7 as one entry with its look and its treatment. */
#define CONSTANT                                                                                   \
    "\"start_substage\":0,\"prior\":0.3,\"temperature_c\":20,\"days\":42,\"events\":["             \
    "{\"day\":14,\"look\":0.25},{\"day\":0," TREAT "},{\"day\":7,\"look\":0.25," TREAT "},"        \
    "{\"day\":28,\"look\":0.25},{\"day\":21,\"look\":0.25},{\"day\":35,\"look\":0.25}]"

static fl_scenario parsed(const char *text)
{
    fl_scenario scenario;
    fl_err err;
    check_ok(fl_scenario_parse(fl_sv_from_cstr(text), &scenario, &err), &err);
    return scenario;
}

/* Every "post" row of a reference table against the scenario's days (scipy 1.10.1). */
static void check_table(const char *text, const char *file, const char *many_column)
{
    fl_scenario scenario = parsed(text);
    fl_scenario_day day[64];
    fl_err err;
    check_ok(fl_scenario_run(&scenario, day, &err), &err);
    fl_table table = fl_table_read(file);
    int n_checked = 0;
    for (size_t row = 0; row < table.n_rows; row++) {
        if (strcmp(fl_table_text(&table, row, "when"), "post") != 0) {
            continue;
        }
        const fl_scenario_day *got = &day[(int)fl_table_number(&table, row, "day")];
        check_close(got->mass.alive, fl_table_number(&table, row, "A_alive_unfound"), 0.0, 1e-8);
        check_close(got->mass.found, fl_table_number(&table, row, "D_found"), 0.0, 1e-8);
        check_close(got->mass.dead, fl_table_number(&table, row, "X_dead"), 0.0, 1e-8);
        check_close(got->alive_by_stage[1], fl_table_number(&table, row, "a_larva"), 0.0, 1e-8);
        check_close(got->chance.one, fl_table_number(&table, row, "P_one"), 0.0, 1e-8);
        check_close(got->chance.many, fl_table_number(&table, row, many_column), 0.0, 1e-8);
        check_close(got->chance.chance, fmax(got->chance.one, got->chance.many), 0.0, 0.0);
        n_checked++;
    }
    check_int(n_checked, scenario.days + 1);
    fl_table_free(&table);
    fl_scenario_done(&scenario);
}

static void test_constant_case(void **unused)
{
    (void)unused;
    check_table("{" STAGES "," CONSTANT "}", "clearance_constT.csv", "P_ztpois"); /* default many */
    check_table("{" STAGES "," CONSTANT ",\"many\":{\"family\":\"zt-poisson\",\"lambda\":3}}",
                "clearance_constT.csv", "P_ztpois");
    check_table("{" STAGES "," CONSTANT
                ",\"many\":{\"family\":\"zt-negbin\",\"mean\":3,\"size\":0.5}}",
                "clearance_constT.csv", "P_ztnb");
}

static void test_varying_case(void **unused)
{
    (void)unused;
    const double pi = acos(-1.0);
    fl_str text;
    fl_str_init(&text, 100000);
    fl_str_append_cstr(&text, "{" STAGES ",\"start\":[0.6,0.3,0.1,0],\"prior\":0.15,\"days\":35,"
                              "\"temperature_c\":[");
    for (int h = 0; h < 35 * 24; h++) {
        double temp_c = 20.0 + 12.0 * sin(2.0 * pi * ((h + 0.5) / 24.0 - 0.25));
        fl_str_appendf(&text, "%s%.3f", h > 0 ? "," : "", temp_c);
    }
    fl_str_append_cstr(&text, "],\"events\":[{\"day\":0," TREAT "},{\"day\":3,\"look\":1},"
                              "{\"day\":10," TREAT "},{\"day\":10,\"look\":1},"
                              "{\"day\":17,\"look\":1},{\"day\":24,\"look\":1}]}");
    check_table(text.ptr, "clearance_varT.csv", "P_ztpois");
    fl_str_done(&text);
}

static void test_mixture_case(void **unused)
{
    (void)unused;
    fl_scenario scenario =
        parsed("{" STAGES "," CONSTANT ",\"detect_mixture\":[{\"multiplier\":0.3,\"weight\":0.25},"
               "{\"multiplier\":1,\"weight\":0.75}]}");
    fl_scenario_day day[43];
    fl_err err;
    check_ok(fl_scenario_run(&scenario, day, &err), &err);
    fl_table table = fl_table_read("clearance_mixture.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        if (strcmp(fl_table_text(&table, row, "when"), "post") == 0) {
            const fl_scenario_day *got = &day[(int)fl_table_number(&table, row, "day")];
            check_close(got->chance.one, fl_table_number(&table, row, "P_one_mix"), 0.0, 1e-8);
            check_close(got->chance.many, fl_table_number(&table, row, "P_ztpois3_mix"), 0.0, 1e-8);
        }
    }
    fl_table_free(&table);
    fl_scenario_done(&scenario);
}

/* Left out: no upper limit, no mortality, no events; a null upper limit is the same. */
static void test_what_may_be_left_out(void **unused)
{
    (void)unused;
    fl_scenario scenario =
        parsed("{\"stages\":[{\"substages\":1,\"threshold_c\":0,\"degree_days\":80,\"detect\":0},"
               "{\"substages\":1,\"threshold_c\":0,\"degree_days\":80,\"detect\":0,"
               "\"upper_c\":null},{\"detect\":1,\"mortality_per_day\":0.5}],"
               "\"start\":[1,0,0],\"prior\":1,\"temperature_c\":80,\"days\":0}");
    check_close(scenario.model.stage[0].upper_c, 200.0, 0.0, 0.0);
    check_close(scenario.model.stage[1].upper_c, 200.0, 0.0, 0.0);
    check_close(scenario.model.stage[2].mortality_per_day, 0.5, 0.0, 0.0);
    check_int(scenario.n_mix, 1);
    fl_scenario_day day[1];
    fl_err err;
    check_ok(fl_scenario_run(&scenario, day, &err), &err);
    check_close(day[0].chance.chance, 1.0, 0.0, 0.0);
    fl_scenario_done(&scenario);
    fl_scenario_done(&scenario); /* twice is fine */
    fl_scenario_done(NULL);
}

static void expect_refusal(const char *text, const char *message)
{
    fl_scenario scenario;
    memset(&scenario, 7, sizeof scenario);
    fl_scenario before = scenario;
    fl_err err = {0};
    if (fl_scenario_parse(fl_sv_from_cstr(text), &scenario, &err) == FL_OK) {
        print_error("accepted: %s\n", text);
        fail();
    }
    check_contains(err.message, message);
    check_int(memcmp(&scenario, &before, sizeof before), 0);
}

#define REST ",\"start_substage\":0,\"prior\":0.3,\"temperature_c\":20,\"days\":3"

static void test_refuses_keys_and_stages(void **unused)
{
    (void)unused;
    expect_refusal("{", "JSON");
    expect_refusal("[]", "give an object");
    expect_refusal("{" STAGES REST ",\"evnts\":[]}", "unknown key \"evnts\"");
    expect_refusal("{\"stages\":[]" REST "}", "stages: give a list of 2 to 8");
    expect_refusal("{\"stages\":7" REST "}", "stages: give a list");
    expect_refusal("{\"stages\":[{\"substages\":3,\"threshold_c\":5,\"degree_days\":50,"
                   "\"detect\":0.1,\"upper\":30},{\"detect\":1}]" REST "}",
                   "stages[0]: unknown key \"upper\"");
    expect_refusal("{\"stages\":[{\"substages\":3.5,\"threshold_c\":5,\"degree_days\":50,"
                   "\"detect\":0.1},{\"detect\":1}]" REST "}",
                   "stages[0]: substages 3.5: give a whole number");
    expect_refusal("{\"stages\":[{\"substages\":3,\"threshold_c\":5,\"degree_days\":0,"
                   "\"detect\":0.1},{\"detect\":1}]" REST "}",
                   "stages[0]: degree_days");
    expect_refusal("{\"stages\":[{\"substages\":3,\"threshold_c\":5,\"degree_days\":50,"
                   "\"detect\":0.1,\"upper_c\":5},{\"detect\":1}]" REST "}",
                   "upper_c 5");
    expect_refusal("{\"stages\":[{\"substages\":160,\"threshold_c\":5,\"degree_days\":50,"
                   "\"detect\":0.1},{\"detect\":1}]" REST "}",
                   "160 substages");
    expect_refusal("{\"stages\":[{\"substages\":3,\"threshold_c\":5,\"degree_days\":50,"
                   "\"detect\":0.1},{\"detect\":1.5}]" REST "}",
                   "stages[1]: detect");
    expect_refusal("{\"stages\":[3,4]" REST "}", "stages[0]: give an object");
}

#define WITH(text) "{" STAGES "," text "}"

static void test_refuses_start_founders_mixture(void **unused)
{
    (void)unused;
    expect_refusal(WITH("\"prior\":0.3,\"temperature_c\":20,\"days\":3"),
                   "one of \"start\" and \"start_substage\"");
    expect_refusal(WITH("\"start\":[1,0,0,0]" REST), "one of \"start\"");
    expect_refusal(WITH("\"start\":[1,0,0],\"prior\":0.3,\"temperature_c\":20,\"days\":3"),
                   "start: give 4 numbers");
    expect_refusal(WITH("\"start\":[1,0,0,2],\"prior\":0.3,\"temperature_c\":20,\"days\":3"),
                   "start[3]");
    expect_refusal(WITH("\"start\":[1,0,0,0.5],\"prior\":0.3,\"temperature_c\":20,\"days\":3"),
                   "the shares sum to 1.5");
    expect_refusal(WITH("\"start_substage\":49,\"prior\":0.3,\"temperature_c\":20,\"days\":3"),
                   "start_substage");
    expect_refusal(WITH("\"start_substage\":0,\"prior\":1.3,\"temperature_c\":20,\"days\":3"),
                   "prior");
    expect_refusal("{" STAGES REST ",\"many\":{\"family\":\"poisson\"}}", "zt-poisson");
    expect_refusal("{" STAGES REST ",\"many\":{\"family\":\"zt-poisson\",\"lambda\":0}}", "lambda");
    expect_refusal("{" STAGES REST ",\"many\":{\"family\":\"zt-negbin\",\"mean\":2}}", "size");
    expect_refusal("{" STAGES REST ",\"many\":{\"famly\":\"zt-negbin\"}}", "famly");
    expect_refusal("{" STAGES REST ",\"many\":3}", "give an object");
    expect_refusal("{" STAGES REST ",\"detect_mixture\":[]}", "detect_mixture: give a list");
    expect_refusal("{" STAGES REST ",\"detect_mixture\":[{\"multiplier\":1}]}",
                   "detect_mixture[0]: weight");
    expect_refusal("{" STAGES REST ",\"detect_mixture\":[{\"multiplier\":1,\"weight\":0}]}",
                   "all weights are 0");
}

static void test_refuses_time_and_events(void **unused)
{
    (void)unused;
    expect_refusal(WITH("\"start_substage\":0,\"prior\":0.3,\"temperature_c\":[20],\"days\":1"),
                   "24 hourly numbers for 1 days");
    expect_refusal(WITH("\"start_substage\":0,\"prior\":0.3,\"temperature_c\":120,\"days\":1"),
                   "temperature_c 120");
    expect_refusal(WITH("\"start_substage\":0,\"prior\":0.3,\"temperature_c\":[\"x\"],\"days\":0"),
                   "temperature_c[0]");
    expect_refusal(WITH("\"start_substage\":0,\"prior\":0.3,\"temperature_c\":20,\"days\":9999"),
                   "days");
    expect_refusal("{" STAGES REST ",\"events\":{}}", "events: give a list");
    expect_refusal("{" STAGES REST ",\"events\":[{\"day\":1}]}", "events[0]: give \"treat\"");
    expect_refusal("{" STAGES REST ",\"events\":[{\"day\":4,\"look\":1}]}", "events[0]: day");
    expect_refusal("{" STAGES REST ",\"events\":[{\"day\":0,\"look\":2}]}", "events[0]: look");
    expect_refusal("{" STAGES REST ",\"events\":[{\"day\":0,\"look\":1},"
                   "{\"day\":0,\"treat\":[1,1,1]}]}",
                   "events[1]: treat: give 4 numbers");
    fl_str text;
    fl_str_init(&text, 200000);
    fl_str_append_cstr(&text, "{" STAGES REST ",\"events\":[{\"day\":0,\"look\":1}");
    for (int i = 0; i < FL_SCENARIO_EVENTS_MAX; i++) {
        fl_str_append_cstr(&text, ",{\"day\":0,\"look\":1}");
    }
    fl_str_append_cstr(&text, "]}");
    expect_refusal(text.ptr, "at most 2000");
    fl_str_done(&text);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_constant_case),
    cmocka_unit_test(test_varying_case),
    cmocka_unit_test(test_mixture_case),
    cmocka_unit_test(test_what_may_be_left_out),
    cmocka_unit_test(test_refuses_keys_and_stages),
    cmocka_unit_test(test_refuses_start_founders_mixture),
    cmocka_unit_test(test_refuses_time_and_events),
};
FL_TEST_MAIN(tests)
