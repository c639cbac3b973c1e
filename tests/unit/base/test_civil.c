/* base/civil.h: against the examples of RFC 3339, section 5.8, and against the C library's gmtime_r
 * and timegm on every 61st day of the years 1 to 9999. */
#define _GNU_SOURCE
#include <string.h>
#include <time.h>

#include "base/civil.h"
#include "support/check.h"

static int64_t parse(const char *text, int tz_offset_min, fl_precision want)
{
    int64_t utc_s = 0;
    fl_precision precision = FL_PRECISION_COUNT;
    fl_err err = {0};
    check_ok(fl_civil_parse(fl_sv_from_cstr(text), tz_offset_min, &utc_s, &precision, &err), &err);
    check_int(precision, want);
    return utc_s;
}

static void check_utc(const char *text, const char *want)
{
    char buffer[FL_CIVIL_TEXT_MAX];
    check_str(fl_civil_format_utc(buffer, parse(text, 0, FL_PRECISION_EXACT)), want);
}

static void test_rfc_3339_examples(void **state)
{
    (void)state;
    check_utc("1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50Z");
    check_utc("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z");
    check_utc("1990-12-31T23:59:60Z", "1990-12-31T23:59:59Z"); /* a leap second reads as :59 */
    check_utc("1990-12-31T15:59:60-08:00", "1990-12-31T23:59:59Z");
    check_utc("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27Z");
    check_utc("2026-03-01t18:30:00z", "2026-03-01T18:30:00Z"); /* 5.6: lower case may be used */
}

/* POSIX.1, "Seconds since the Epoch". */
static void test_known_seconds(void **state)
{
    (void)state;
    check_int(parse("1970-01-01T00:00:00Z", 0, FL_PRECISION_EXACT), 0);
    check_int(parse("2038-01-19T03:14:07Z", 0, FL_PRECISION_EXACT), 2147483647);
    check_int(parse("1969-12-31T23:59:59Z", 0, FL_PRECISION_EXACT), -1);
    /* an offset in the text wins over the caller's */
    check_int(parse("1970-01-01T01:00:00+01:00", -300, FL_PRECISION_EXACT), 0);
}

static void test_vague_times(void **state)
{
    (void)state;
    char buffer[FL_CIVIL_TEXT_MAX];
    int64_t day = parse("2026-03-01", 60, FL_PRECISION_DAY);
    check_str(fl_civil_format_utc(buffer, day), "2026-03-01T11:00:00Z");
    int64_t month = parse("2023-03", 0, FL_PRECISION_MONTH);
    check_str(fl_civil_format_utc(buffer, month), "2023-03-15T12:00:00Z");
    int64_t year = parse("2020", -300, FL_PRECISION_YEAR);
    check_str(fl_civil_format_utc(buffer, year), "2020-07-01T17:00:00Z");
    check_int(parse("2024-02-29", 0, FL_PRECISION_DAY) % FL_DAY_S, FL_DAY_S / 2);
}

static void test_refuses(void **state)
{
    (void)state;
    static const char *const malformed[] = {"",
                                            "26",
                                            "2026-",
                                            "2026-3",
                                            "2026-03-1",
                                            "2026-03-01T",
                                            "2026-03-01T18:30Z",
                                            "2026-03-01T18:30:00",
                                            "2026-03-01T18:30:00.Z",
                                            "2026-03-01T18:30:00+0100",
                                            "2026-03-01T18:30:00Zx",
                                            "2026-03-01T18:30:00+24:00",
                                            "2026-03-01T18:30:00+01:60",
                                            "2026-03-01 18:30:00Z",
                                            "20260301",
                                            "2026/03/01",
                                            " 2026",
                                            "2026 ",
                                            "-026",
                                            "1 March 2026",
                                            "2026-03-01T18:30:00+01:00:00"};
    static const char *const impossible[] = {"0000",
                                             "2026-00",
                                             "2026-13",
                                             "2026-02-29",
                                             "1900-02-29",
                                             "2026-04-31",
                                             "2026-01-00",
                                             "2026-01-01T24:00:00Z",
                                             "2026-01-01T23:60:00Z",
                                             "2026-01-01T23:59:61Z"};
    int64_t utc_s = 7;
    fl_precision precision = FL_PRECISION_HOUR;
    for (size_t i = 0; i < sizeof malformed / sizeof malformed[0]; i++) {
        fl_err err = {0};
        fl_sv text = fl_sv_from_cstr(malformed[i]);
        check_int(fl_civil_parse(text, 0, &utc_s, &precision, &err), FL_EFORMAT);
        check_status(&err, FL_EFORMAT);
        check_contains(err.message, malformed[i]);
    }
    for (size_t i = 0; i < sizeof impossible / sizeof impossible[0]; i++) {
        fl_err err = {0};
        fl_sv text = fl_sv_from_cstr(impossible[i]);
        check_int(fl_civil_parse(text, 0, &utc_s, &precision, &err), FL_EDOMAIN);
        check_contains(err.message, impossible[i]);
    }
    check_int(utc_s, 7);
    check_int(precision, FL_PRECISION_HOUR);
}

/* The C library is the judge. */
static void test_agrees_with_the_library(void **state)
{
    (void)state;
    const int64_t first = fl_civil_days(1, 1, 1);
    const int64_t last = fl_civil_days(9999, 12, 31);
    check_int(last - first + 1, 3652059); /* 9999 years: 365 * 9999 + 2424 leap days */
    for (int64_t day = first; day <= last; day += 61) {
        time_t utc_s = (time_t)(day * FL_DAY_S + day % FL_DAY_S);
        struct tm want;
        check_true(gmtime_r(&utc_s, &want) != NULL);
        fl_civil got = fl_civil_from_utc(utc_s, 0);
        check_int(got.year, want.tm_year + 1900);
        check_int(got.month, want.tm_mon + 1);
        check_int(got.day, want.tm_mday);
        check_int(got.hour, want.tm_hour);
        check_int(got.minute, want.tm_min);
        check_int(got.second, want.tm_sec);
        check_int(fl_civil_weekday(utc_s, 0), (want.tm_wday + 6) % 7);
        int64_t days = fl_civil_days(got.year, got.month, got.day);
        want.tm_hour = want.tm_min = want.tm_sec = 0;
        check_int(days * FL_DAY_S, timegm(&want));
    }
}

static void test_edges_of_the_calendar(void **state)
{
    (void)state;
    char buffer[FL_CIVIL_TEXT_MAX];
    static const char *const days[] = {"0001-01-01", "1600-12-31", "2000-02-29", "2000-12-31",
                                       "2001-01-01", "2100-02-28", "2100-03-01", "9999-12-31"};
    for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
        int64_t noon = parse(days[i], 0, FL_PRECISION_DAY);
        check_str(fl_civil_format_date(buffer, noon, 0), days[i]);
        check_int(fl_civil_noon(noon - FL_DAY_S / 2, 0), noon); /* its first second, its last */
        check_int(fl_civil_noon(noon + FL_DAY_S / 2 - 1, 0), noon);
    }
    /* a zone moves the date */
    int64_t late = parse("2026-03-01T23:30:00Z", 0, FL_PRECISION_EXACT);
    check_str(fl_civil_format_date(buffer, late, 60), "2026-03-02");
    check_str(fl_civil_format_date(buffer, late, -60), "2026-03-01");
    check_int(fl_civil_weekday(late, 0), 6); /* 1 March 2026 is a Sunday */
    check_int(fl_civil_weekday(late, 60), 0);
    check_int(fl_civil_noon(late, 60), parse("2026-03-02", 60, FL_PRECISION_DAY));
    check_int(fl_civil_noon(late, -60), parse("2026-03-01", -60, FL_PRECISION_DAY));
    check_int(fl_civil_day_end(late, 0), parse("2026-03-02T00:00:00Z", 0, FL_PRECISION_EXACT));
    check_int(fl_civil_day_end(late, 60), parse("2026-03-02T23:00:00Z", 0, FL_PRECISION_EXACT));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rfc_3339_examples),
    cmocka_unit_test(test_known_seconds),
    cmocka_unit_test(test_vague_times),
    cmocka_unit_test(test_refuses),
    cmocka_unit_test(test_agrees_with_the_library),
    cmocka_unit_test(test_edges_of_the_calendar),
};
FL_TEST_MAIN(tests)
