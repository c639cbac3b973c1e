/* Dates and times of day as loggers write them. */
#include <string.h>

#include "base/civil.h"
#include "core/readings/logfile.h"

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_probe_order[FL_PROBE_ORDERS] = {FL_PROBE_ORDER_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

/* Loggers did not exist before, and will have other files after. */
#define EPOCH_FIRST_S INT64_C(946684800) /* 2000-01-01 */
#define EPOCH_LAST_S INT64_C(4102444800) /* 2100-01-01 */

/* A field while it is read. */
typedef struct reader {
    const char *p;
    const char *end;
} reader;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static void skip_blanks(reader *r)
{
    while (r->p < r->end && (*r->p == ' ' || *r->p == '\t')) {
        r->p++;
    }
}

/* Digits as a number; *n_digits of them, at most `most`. */
static int64_t read_digits(reader *r, int most, int *n_digits)
{
    int64_t value = 0;
    int n = 0;
    while (r->p < r->end && is_digit(*r->p) && n < most) {
        value = value * 10 + (*r->p - '0');
        r->p++;
        n++;
    }
    *n_digits = n;
    return value;
}

static bool take(reader *r, char c)
{
    if (r->p < r->end && *r->p == c) {
        r->p++;
        return true;
    }
    return false;
}

/* Jan to Dec by the first three letters, the rest of the word skipped; 0 when it is none. */
static int read_month_name(reader *r)
{
    static const char names[] = "janfebmaraprmayjunjulaugsepoctnovdec";
    if (r->end - r->p < 3) {
        return 0;
    }
    for (int m = 0; m < 12; m++) {
        if (lower(r->p[0]) == names[3 * m] && lower(r->p[1]) == names[3 * m + 1] &&
            lower(r->p[2]) == names[3 * m + 2]) {
            while (r->p < r->end && ((*r->p >= 'a' && *r->p <= 'z') ||
                                     (*r->p >= 'A' && *r->p <= 'Z') || *r->p == '.')) {
                r->p++;
            }
            return m + 1;
        }
    }
    return 0;
}

/* "5-Mar-2026", "Mar 5, 2026", "5 March 26": the month is named, so that day and year are clear. */
static bool read_named_date(reader *r, fl_probe_when *out)
{
    reader at = *r;
    int n = 0;
    int day = (int)read_digits(&at, 2, &n);
    bool has_day = n > 0;
    while (has_day && at.p < at.end &&
           (*at.p == '-' || *at.p == ' ' || *at.p == '.' || *at.p == '/')) {
        at.p++;
    }
    int month = read_month_name(&at);
    if (month == 0) {
        return false;
    }
    while (at.p < at.end && (*at.p == '-' || *at.p == ' ' || *at.p == '/')) {
        at.p++;
    }
    if (!has_day) {
        day = (int)read_digits(&at, 2, &n);
        if (n == 0) {
            return false;
        }
        (void)take(&at, ',');
        skip_blanks(&at);
    }
    int year = (int)read_digits(&at, 4, &n);
    if (n != 2 && n != 4) {
        return false;
    }
    out->part[0] = n == 2 ? 2000 + year : year;
    out->part[1] = month;
    out->part[2] = day;
    out->orders = 1U << FL_PROBE_YMD;
    out->has_date = true;
    *r = at;
    return true;
}

/* The orders that three numbers of so many digits allow: a mask of 1u << fl_probe_order. */
static unsigned orders_of(const int *digits)
{
    const unsigned year_last = 1U << FL_PROBE_DMY | 1U << FL_PROBE_MDY;
    bool is_short = digits[0] <= 2 && digits[1] <= 2;
    if (digits[0] == 4 && digits[1] <= 2 && digits[2] <= 2) {
        return 1U << FL_PROBE_YMD;
    }
    if (is_short && digits[2] == 4) {
        return year_last;
    }
    if (is_short && digits[2] == 2) {
        return year_last | (digits[0] == 2 ? 1U << FL_PROBE_YMD : 0U);
    }
    return 0;
}

/* Three numbers with the same sign between them. */
static bool read_plain_date(reader *r, fl_probe_when *out)
{
    reader at = *r;
    int digits[3];
    for (int i = 0; i < 3; i++) {
        out->part[i] = (int)read_digits(&at, 4, &digits[i]);
        if (digits[i] == 0 || digits[i] == 3) {
            return false;
        }
        if (i < 2) {
            char sign = at.p < at.end ? *at.p : '\0';
            if (sign != '-' && sign != '/' && sign != '.') {
                return false;
            }
            at.p++;
            while (sign == '.' && at.p < at.end && *at.p == ' ') {
                at.p++;
            }
        }
    }
    out->orders = orders_of(digits);
    if (out->orders == 0) {
        return false;
    }
    out->has_date = true;
    *r = at;
    return true;
}

/* "+01:00", "-0330", "Z". */
static bool read_zone(reader *r, fl_probe_when *out)
{
    int n = 0;
    if (take(r, 'Z') || take(r, 'z')) {
        out->has_zone = true;
        out->zone_min = 0;
        return true;
    }
    if (r->p >= r->end || (*r->p != '+' && *r->p != '-')) {
        return true;
    }
    int sign = *r->p == '-' ? -1 : 1;
    r->p++;
    int hours = (int)read_digits(r, 2, &n);
    if (n != 2) {
        return false;
    }
    (void)take(r, ':');
    int minutes = (int)read_digits(r, 2, &n);
    out->has_zone = true;
    out->zone_min = sign * (hours * 60 + minutes);
    return hours <= 14 && minutes < 60;
}

/* "AM", "p.m.": moves the hour; false when the hour does not go with it. */
static bool read_half(reader *r, fl_probe_when *out)
{
    skip_blanks(r);
    if (r->end - r->p < 2) {
        return true;
    }
    char half = lower(r->p[0]);
    bool has_dot = r->p[1] == '.';
    const char *m = r->p + (has_dot ? 2 : 1);
    if ((half != 'a' && half != 'p') || m >= r->end || lower(*m) != 'm') {
        return true;
    }
    r->p = m + 1;
    (void)take(r, '.');
    if (out->hour < 1 || out->hour > 12) {
        return false;
    }
    out->hour = out->hour % 12 + (half == 'p' ? 12 : 0);
    return true;
}

static bool read_time(reader *r, fl_probe_when *out)
{
    int n = 0;
    int m = 0;
    out->hour = (int)read_digits(r, 2, &n);
    if (n == 0 || !take(r, ':')) {
        return false;
    }
    out->minute = (int)read_digits(r, 2, &m);
    if (m != 2) {
        return false;
    }
    if (take(r, ':')) {
        out->second = (int)read_digits(r, 2, &m);
        if (m != 2) {
            return false;
        }
        if (r->p < r->end && (*r->p == '.' || *r->p == ',')) { /* a fraction is cut */
            r->p++;
            (void)read_digits(r, 9, &m);
        }
    }
    out->has_time = true;
    return read_half(r, out) && read_zone(r, out) && out->hour < 24 && out->minute < 60 &&
           out->second < 61;
}

static bool read_epoch(fl_sv field, fl_probe_when *out)
{
    int n = 0;
    reader r = {field.ptr, field.ptr + field.len};
    int64_t value = read_digits(&r, 13, &n);
    if (r.p != r.end || (n != 9 && n != 10 && n != 13)) {
        return false;
    }
    value = n == 13 ? value / 1000 : value;
    if (value < EPOCH_FIRST_S || value >= EPOCH_LAST_S) {
        return false;
    }
    *out = (fl_probe_when){
        .has_date = true, .has_time = true, .is_epoch = true, .has_zone = true, .at_s = value};
    return true;
}

bool fl_probe_when_read(fl_sv field, fl_probe_when *out)
{
    reader r = {field.ptr, field.ptr + field.len};
    *out = (fl_probe_when){0};
    if (field.len < 4 || field.len > FL_PROBE_FIELD_MAX) {
        return false;
    }
    if (read_epoch(field, out)) {
        return true;
    }
    bool has_date = read_plain_date(&r, out) || read_named_date(&r, out);
    if (has_date) {
        (void)take(&r, 'T');
        (void)take(&r, ',');
        skip_blanks(&r);
        if (r.p == r.end) {
            return true;
        }
    }
    bool is_fine = read_time(&r, out);
    skip_blanks(&r);
    return is_fine && r.p == r.end;
}

static int days_in_month(int year, int month)
{
    static const int days[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && is_leap ? 1 : 0);
}

bool fl_probe_when_utc(const fl_probe_when *date, const fl_probe_when *time, fl_probe_order order,
                       int tz_offset_min, int64_t *at_s)
{
    static const int year_at[FL_PROBE_ORDERS] = {2, 2, 0};
    static const int month_at[FL_PROBE_ORDERS] = {1, 0, 1};
    static const int day_at[FL_PROBE_ORDERS] = {0, 1, 2};
    if (date->is_epoch) {
        *at_s = date->at_s;
        return true;
    }
    int year = date->part[year_at[order]];
    int month = date->part[month_at[order]];
    int day = date->part[day_at[order]];
    year += year < 100 ? 2000 : 0;
    if ((date->orders & 1U << order) == 0 || year < 1990 || year > 2099 || month < 1 ||
        month > 12 || day < 1 || day > days_in_month(year, month)) {
        return false;
    }
    int zone_min = time->has_zone ? time->zone_min : tz_offset_min;
    *at_s = fl_civil_days(year, month, day) * 86400 + time->hour * 3600 + time->minute * 60 +
            (time->second < 60 ? time->second : 59) - (int64_t)zone_min * 60;
    return true;
}
