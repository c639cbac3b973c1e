/* base/num.h. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/num.h"
#include "base/rng.h"
#include "support/check.h"

static void test_reads_decimals(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double want;
    } cases[] = {
        {"0", 0.0},   {"-3.5", -3.5},  {"1e3", 1000.0}, {"8.25", 8.25}, {".5", 0.5},
        {"007", 7.0}, {"1E-2", 0.01},  {"2e+2", 200.0}, {"-0", 0.0},    {"1e-400", 0.0},
        {"7.6", 7.6}, {"-.25", -0.25}, {"4e0", 4.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double got = 99.0;
        fl_err err = {0};
        check_ok(fl_num_parse_double(fl_sv_from_cstr(cases[i].text), "x", &got, &err), &err);
        check_close(got, cases[i].want, 0.0, 0.0);
    }
}

static void test_refuses_what_is_no_decimal(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",  " 1", "1 ", "1,5", "nan",   "inf", "-inf", "0x1",   "1e",       "1e+",   "e5",
        ".", "-",  "5.", "+1",  "1.2.3", "1f",  "--1",  "1e5.5", "infinity", "1e400", "-1e400"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double got = 99.0;
        fl_err err = {0};
        check_int(fl_num_parse_double(fl_sv_from_cstr(bad[i]), "dose", &got, &err), FL_EFORMAT);
        check_status(&err, FL_EFORMAT);
        check_contains(err.message, "dose");
        check_contains(err.message, bad[i]);
        check_close(got, 99.0, 0.0, 0.0);
    }
    char digits[1000];
    memset(digits, '1', sizeof digits);
    double got = 99.0;
    check_int(fl_num_parse_double((fl_sv){digits, sizeof digits}, "x", &got, NULL), FL_EFORMAT);
    check_int(fl_num_parse_double((fl_sv){NULL, 0}, "x", &got, NULL), FL_EFORMAT);
    check_int(fl_num_parse_double(FL_SV("1\0"), "x", &got, NULL), FL_EFORMAT);
}

static void test_ranges(void **state)
{
    (void)state;
    double got = 99.0;
    fl_err err = {0};
    check_ok(fl_num_parse_double_in(FL_SV("1"), "pct", 1.0, 16.0, &got, &err), &err);
    check_ok(fl_num_parse_double_in(FL_SV("16"), "pct", 1.0, 16.0, &got, &err), &err);
    check_close(got, 16.0, 0.0, 0.0);
    check_int(fl_num_parse_double_in(FL_SV("16.01"), "pct", 1.0, 16.0, &got, &err), FL_EDOMAIN);
    check_str(err.message, "pct 16.01: give 1 to 16");
    check_int(fl_num_parse_double_in(FL_SV("0.99"), "pct", 1.0, 16.0, &got, &err), FL_EDOMAIN);
    check_int(fl_num_parse_double_in(FL_SV("x"), "pct", 1.0, 16.0, &got, &err), FL_EFORMAT);
    check_close(got, 16.0, 0.0, 0.0);
}

static void test_integers(void **state)
{
    (void)state;
    int64_t got = 99;
    fl_err err = {0};
    check_ok(fl_num_parse_int(FL_SV("-42"), "n", -100, 100, &got, &err), &err);
    check_int(got, -42);
    check_ok(fl_num_parse_int(FL_SV("9223372036854775807"), "n", 0, INT64_MAX, &got, &err), &err);
    check_true(got == INT64_MAX);
    check_ok(fl_num_parse_int(FL_SV("-9223372036854775808"), "n", INT64_MIN, 0, &got, &err), &err);
    check_true(got == INT64_MIN);
    check_int(fl_num_parse_int(FL_SV("9223372036854775808"), "n", 0, INT64_MAX, &got, &err),
              FL_EDOMAIN);
    check_int(
        fl_num_parse_int(FL_SV("99999999999999999999"), "n", INT64_MIN, INT64_MAX, &got, &err),
        FL_EDOMAIN);
    check_int(fl_num_parse_int(FL_SV("101"), "n", 0, 100, &got, &err), FL_EDOMAIN);
    check_str(err.message, "n 101: give 0 to 100");
    static const char *const bad[] = {"", "-", "1.0", "1e3", " 1", "+1", "0x10", "1_000"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        check_int(fl_num_parse_int(fl_sv_from_cstr(bad[i]), "n", 0, 100, &got, &err), FL_EFORMAT);
    }
    check_true(got == INT64_MIN); /* untouched by all that failed */
}

static void test_formats(void **state)
{
    (void)state;
    static const struct {
        double value;
        int digits;
        const char *want;
    } cases[] = {
        {0.0, 6, "0"},
        {-0.0, 6, "0"},
        {7.6, 15, "7.6"},
        {1.0 / 3.0, 3, "0.333"},
        {123456.0, 3, "123000"},
        {-12.5, 15, "-12.5"},
        {0.00001234, 4, "0.00001234"},
        {0.000001234, 4, "1.234e-6"},
        {9.9999, 2, "10"},
        {1e14, 15, "100000000000000"},
        {1e15, 15, "1e15"},
        {-1.5e300, 15, "-1.5e300"},
        {5e-324, 1, "5e-324"},
        {100.0, 17, "100"},
        {0.1, 17, "0.10000000000000001"},
        {999999999999999.0, 15, "999999999999999"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char buffer[FL_NUM_TEXT_MAX];
        check_str(fl_num_format(buffer, cases[i].value, cases[i].digits), cases[i].want);
    }
}

/* 17 digits read back as the same double (IEEE 754-2019, 5.12.2), and the reader agrees with the C
 * library's strtod, for every size of number. */
static void test_round_trip(void **state)
{
    (void)state;
    const uint64_t seed = 20260301;
    fl_rng rng = {seed};
    for (int i = 0; i < 20000; i++) {
        uint64_t bits = fl_rng_next(&rng);
        double value = 0.0;
        double back = 0.0;
        char buffer[FL_NUM_TEXT_MAX];
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value)) {
            continue;
        }
        if (i % 2 == 0) { /* half of them of everyday size */
            value = (fl_rng_uniform(&rng) - 0.5) * pow(10.0, (double)fl_rng_below(&rng, 9));
        }
        const char *text = fl_num_format(buffer, value, 17);
        check_true(strlen(text) < FL_NUM_TEXT_MAX);
        check_ok(fl_num_parse_double(fl_sv_from_cstr(text), "x", &back, NULL), NULL);
        if (back != value || back != strtod(text, NULL)) {
            print_error("seed %llu, number %d: %.17g became %s\n", (unsigned long long)seed, i,
                        value, text);
            fail();
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_reads_decimals), cmocka_unit_test(test_refuses_what_is_no_decimal),
    cmocka_unit_test(test_ranges),         cmocka_unit_test(test_integers),
    cmocka_unit_test(test_formats),        cmocka_unit_test(test_round_trip),
};
FL_TEST_MAIN(tests)
