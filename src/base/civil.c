/* The proleptic Gregorian calendar by arithmetic. Days are counted from 1970-01-01; a 400-year
 * cycle has 146097 of them. */
#include "base/civil.h"

#include <assert.h>
#include <stdbool.h>
#include <stdio.h>

#include "base/shown.h"

#define DAYS_TO_1970 719162 /* from 0001-01-01 */
#define CYCLE_DAYS 146097   /* 400 years */
#define CENTURY_DAYS 36524  /* the first three of a cycle */
#define QUAD_DAYS 1461      /* four years with one leap day */
#define NOON_S 43200
#define TZ_MIN_MAX 1439

static const int days_before_month[13] = {0,   31,  59,  90,  120, 151, 181,
                                          212, 243, 273, 304, 334, 365};

static bool is_leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int month_days(int year, int month)
{
    int days = days_before_month[month] - days_before_month[month - 1];
    return month == 2 && is_leap(year) ? 29 : days;
}

static int64_t floor_div(int64_t a, int64_t b)
{
    int64_t quotient = a / b;
    return a % b < 0 ? quotient - 1 : quotient;
}

int64_t fl_civil_days(int year, int month, int day)
{
    assert(month >= 1 && month <= 12);
    assert(day >= 1 && day <= month_days(year, month));
    int64_t before = (int64_t)year - 1;
    int64_t days = 365 * before + floor_div(before, 4) - floor_div(before, 100);
    days += floor_div(before, 400) + days_before_month[month - 1] + day - 1;
    if (month > 2 && is_leap(year)) {
        days++;
    }
    return days - DAYS_TO_1970;
}

/* Sets year, month and day from days since 1970-01-01. */
static void set_date(fl_civil *civil, int64_t days)
{
    int64_t since = days + DAYS_TO_1970;
    int64_t cycle = floor_div(since, CYCLE_DAYS);
    int rest = (int)(since - cycle * CYCLE_DAYS);
    /* the last day of a cycle and of a quad would open a fifth part: it belongs to the fourth */
    int century = rest / CENTURY_DAYS > 3 ? 3 : rest / CENTURY_DAYS;
    rest -= century * CENTURY_DAYS;
    int quad = rest / QUAD_DAYS;
    rest -= quad * QUAD_DAYS;
    int year = rest / 365 > 3 ? 3 : rest / 365;
    rest -= year * 365;
    civil->year = (int)(cycle * 400) + century * 100 + quad * 4 + year + 1;
    civil->month = 1;
    while (rest >= month_days(civil->year, civil->month)) {
        rest -= month_days(civil->year, civil->month);
        civil->month++;
    }
    civil->day = rest + 1;
}

fl_civil fl_civil_from_utc(int64_t utc_s, int tz_offset_min)
{
    /* far outside the years 1 to 9999 is a mistake of the caller; a zone may reach a little over */
    assert(utc_s >= INT64_C(-62135683200) && utc_s <= INT64_C(253402387200));
    int64_t local_s = utc_s + (int64_t)tz_offset_min * 60;
    int64_t days = floor_div(local_s, FL_DAY_S);
    int second = (int)(local_s - days * FL_DAY_S);
    fl_civil civil = {
        .hour = second / FL_HOUR_S, .minute = second / 60 % 60, .second = second % 60};
    set_date(&civil, days);
    return civil;
}

int fl_civil_weekday(int64_t utc_s, int tz_offset_min)
{
    int64_t days = floor_div(utc_s + (int64_t)tz_offset_min * 60, FL_DAY_S);
    int64_t since_monday = days + 3; /* 1970-01-01 was a Thursday */
    return (int)(since_monday - floor_div(since_monday, 7) * 7);
}

int64_t fl_civil_noon(int64_t utc_s, int tz_offset_min)
{
    const int64_t offset_s = (int64_t)tz_offset_min * 60;
    return floor_div(utc_s + offset_s, FL_DAY_S) * FL_DAY_S + FL_DAY_S / 2 - offset_s;
}

int64_t fl_civil_day_end(int64_t utc_s, int tz_offset_min)
{
    return fl_civil_noon(utc_s, tz_offset_min) + FL_DAY_S / 2;
}

/* ---- reading ---- */

/* `count` digits at *at as a number; false when they are not digits. */
static bool read_digits(fl_sv text, size_t *at, size_t count, int *out)
{
    int value = 0;
    if (text.len - *at < count) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        char c = text.ptr[*at + i];
        if (c < '0' || c > '9') {
            return false;
        }
        value = value * 10 + (c - '0');
    }
    *at += count;
    *out = value;
    return true;
}

static bool read_char(fl_sv text, size_t *at, char lower_c)
{
    if (*at >= text.len) {
        return false;
    }
    char c = text.ptr[*at];
    if (c >= 'A' && c <= 'Z') {
        c = (char)(c - 'A' + 'a'); /* RFC 3339 allows "t" and "z" */
    }
    if (c != lower_c) {
        return false;
    }
    (*at)++;
    return true;
}

/* "Z" or "+01:00" up to the end of the text. */
static bool read_offset(fl_sv text, size_t *at, int *offset_min)
{
    int hours = 0;
    int minutes = 0;
    if (read_char(text, at, 'z')) {
        *offset_min = 0;
        return *at == text.len;
    }
    bool is_west = read_char(text, at, '-');
    if (!is_west && !read_char(text, at, '+')) {
        return false;
    }
    if (!read_digits(text, at, 2, &hours) || !read_char(text, at, ':') ||
        !read_digits(text, at, 2, &minutes) || hours > 23 || minutes > 59) {
        return false;
    }
    *offset_min = is_west ? -(hours * 60 + minutes) : hours * 60 + minutes;
    return *at == text.len;
}

/* "T18:30:00.25Z": from the "T" to the end. */
static bool read_time(fl_sv text, size_t *at, fl_civil *civil, int *offset_min)
{
    if (!read_char(text, at, 't') || !read_digits(text, at, 2, &civil->hour) ||
        !read_char(text, at, ':') || !read_digits(text, at, 2, &civil->minute) ||
        !read_char(text, at, ':') || !read_digits(text, at, 2, &civil->second)) {
        return false;
    }
    if (read_char(text, at, '.')) {
        size_t first = *at;
        while (*at < text.len && text.ptr[*at] >= '0' && text.ptr[*at] <= '9') {
            (*at)++;
        }
        if (*at == first) {
            return false;
        }
    }
    return read_offset(text, at, offset_min);
}

/* Year, then month, then day, then a time, as far as the text goes. */
static bool read_civil(fl_sv text, fl_civil *civil, fl_precision *precision, int *offset_min)
{
    size_t at = 0;
    *civil = (fl_civil){.month = 7, .day = 1, .hour = 12};
    *precision = FL_PRECISION_YEAR;
    if (!read_digits(text, &at, 4, &civil->year) || at == text.len) {
        return at == 4;
    }
    *precision = FL_PRECISION_MONTH;
    civil->day = 15;
    if (!read_char(text, &at, '-') || !read_digits(text, &at, 2, &civil->month)) {
        return false;
    }
    if (at == text.len) {
        return true;
    }
    *precision = FL_PRECISION_DAY;
    if (!read_char(text, &at, '-') || !read_digits(text, &at, 2, &civil->day)) {
        return false;
    }
    if (at == text.len) {
        return true;
    }
    *precision = FL_PRECISION_EXACT;
    return read_time(text, &at, civil, offset_min);
}

static bool is_valid(const fl_civil *civil)
{
    return civil->year >= 1 && civil->month >= 1 && civil->month <= 12 && civil->day >= 1 &&
           civil->day <= month_days(civil->year, civil->month) && civil->hour <= 23 &&
           civil->minute <= 59 && civil->second <= 60;
}

fl_status fl_civil_parse(fl_sv text, int tz_offset_min, int64_t *utc_s, fl_precision *precision,
                         fl_err *err)
{
    fl_civil civil;
    fl_precision found = FL_PRECISION_EXACT;
    int offset_min = tz_offset_min;
    assert(tz_offset_min >= -TZ_MIN_MAX && tz_offset_min <= TZ_MIN_MAX);
    if (!read_civil(text, &civil, &found, &offset_min)) {
        return fl_fail(err, FL_EFORMAT,
                       "time \"%.*s\": give 2026-03-01T18:30:00Z, 2026-03-01, 2026-03 or 2026",
                       FL_SHOWN(text));
    }
    if (!is_valid(&civil)) {
        return fl_fail(err, FL_EDOMAIN, "time \"%.*s\": there is no such date or time",
                       FL_SHOWN(text));
    }
    int second = civil.second == 60 ? 59 : civil.second; /* a leap second */
    *utc_s = fl_civil_days(civil.year, civil.month, civil.day) * FL_DAY_S + civil.hour * FL_HOUR_S +
             civil.minute * 60 + second - (int64_t)offset_min * 60;
    *precision = found;
    return FL_OK;
}

/* ---- writing ---- */

const char *fl_civil_format_utc(char *buffer, int64_t utc_s)
{
    fl_civil c = fl_civil_from_utc(utc_s, 0);
    (void)snprintf(buffer, FL_CIVIL_TEXT_MAX, "%04d-%02d-%02dT%02d:%02d:%02dZ", c.year, c.month,
                   c.day, c.hour, c.minute, c.second);
    return buffer;
}

const char *fl_civil_format_date(char *buffer, int64_t utc_s, int tz_offset_min)
{
    fl_civil c = fl_civil_from_utc(utc_s, tz_offset_min);
    (void)snprintf(buffer, FL_CIVIL_TEXT_MAX, "%04d-%02d-%02d", c.year, c.month, c.day);
    return buffer;
}
