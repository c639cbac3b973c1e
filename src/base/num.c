/* Numbers as text. strtod and printf read the locale, which this program never sets: it stays "C".
 * The grammar is checked here first, so that only plain decimals reach strtod. */
#include "base/num.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/shown.h"

#define DECIMAL_TEXT_MAX 400
#define PLAIN_EXPONENT_MIN (-5)
#define PLAIN_EXPONENT_MAX 15

static size_t skip_digits(fl_sv text, size_t at)
{
    while (at < text.len && text.ptr[at] >= '0' && text.ptr[at] <= '9') {
        at++;
    }
    return at;
}

/* [-] digits [. digits] [e [+-] digits], with at least one digit before the exponent. */
static bool is_decimal(fl_sv text)
{
    size_t at = text.len > 0 && text.ptr[0] == '-' ? 1 : 0;
    size_t end = skip_digits(text, at);
    size_t digits = end - at;
    if (end < text.len && text.ptr[end] == '.') {
        size_t fraction = end + 1;
        end = skip_digits(text, fraction);
        if (end == fraction) {
            return false;
        }
        digits += end - fraction;
    }
    if (digits == 0) {
        return false;
    }
    if (end < text.len && (text.ptr[end] == 'e' || text.ptr[end] == 'E')) {
        at = end + 1;
        if (at < text.len && (text.ptr[at] == '-' || text.ptr[at] == '+')) {
            at++;
        }
        end = skip_digits(text, at);
        if (end == at) {
            return false;
        }
    }
    return end == text.len;
}

fl_status fl_num_parse_double(fl_sv text, const char *what, double *out, fl_err *err)
{
    char buffer[DECIMAL_TEXT_MAX];
    if (text.len >= sizeof buffer || !is_decimal(text)) {
        return fl_fail(err, FL_EFORMAT, "%s \"%.*s\": give a decimal number such as 3.5", what,
                       FL_SHOWN(text));
    }
    memcpy(buffer, text.ptr, text.len);
    buffer[text.len] = '\0';
    double value = strtod(buffer, NULL);
    if (!isfinite(value)) {
        return fl_fail(err, FL_EFORMAT, "%s \"%.*s\": too large for a number", what,
                       FL_SHOWN(text));
    }
    *out = value;
    return FL_OK;
}

fl_status fl_num_parse_double_in(fl_sv text, const char *what, double min, double max, double *out,
                                 fl_err *err)
{
    double value = 0.0;
    fl_status status = fl_num_parse_double(text, what, &value, err);
    if (status != FL_OK) {
        return status;
    }
    if (value < min || value > max) {
        char low[FL_NUM_TEXT_MAX];
        char high[FL_NUM_TEXT_MAX];
        return fl_fail(err, FL_EDOMAIN, "%s %.*s: give %s to %s", what, FL_SHOWN(text),
                       fl_num_format(low, min, 15), fl_num_format(high, max, 15));
    }
    *out = value;
    return FL_OK;
}

/* The value of [-]digits; false when it is no integer. Saturates far outside int64_t's range, which
 * the caller's range check then refuses: *is_huge. */
static bool read_integer(fl_sv text, int64_t *out, bool *is_huge)
{
    bool is_negative = text.len > 0 && text.ptr[0] == '-';
    size_t at = is_negative ? 1 : 0;
    int64_t value = 0;
    *is_huge = false;
    if (at == text.len || skip_digits(text, at) != text.len) {
        return false;
    }
    for (; at < text.len; at++) {
        int digit = text.ptr[at] - '0';
        int64_t step = is_negative ? -digit : digit;
        if (__builtin_mul_overflow(value, 10, &value) ||
            __builtin_add_overflow(value, step, &value)) {
            *is_huge = true;
            return true;
        }
    }
    *out = value;
    return true;
}

fl_status fl_num_parse_int(fl_sv text, const char *what, int64_t min, int64_t max, int64_t *out,
                           fl_err *err)
{
    int64_t value = 0;
    bool is_huge = false;
    if (!read_integer(text, &value, &is_huge)) {
        return fl_fail(err, FL_EFORMAT, "%s \"%.*s\": give a whole number", what, FL_SHOWN(text));
    }
    if (is_huge || value < min || value > max) {
        return fl_fail(err, FL_EDOMAIN, "%s %.*s: give %lld to %lld", what, FL_SHOWN(text),
                       (long long)min, (long long)max);
    }
    *out = value;
    return FL_OK;
}

/* The significant digits of a value and the power of ten of the first one. */
typedef struct decimal {
    char digits[18]; /* without trailing zeros, at least one */
    int count;
    int exponent;
    bool is_negative;
} decimal;

static decimal decimal_of(double value, int digits)
{
    char text[FL_NUM_TEXT_MAX];
    decimal d = {.is_negative = value < 0.0};
    (void)snprintf(text, sizeof text, "%.*e", digits - 1, fabs(value));
    const char *at = text;
    for (; *at != 'e'; at++) {
        if (*at != '.') {
            d.digits[d.count++] = *at;
        }
    }
    d.exponent = (int)strtol(at + 1, NULL, 10);
    while (d.count > 1 && d.digits[d.count - 1] == '0') {
        d.count--;
    }
    return d;
}

/* 0.00123, 12.3 or 12300: the point written out. */
static size_t write_plain(char *buffer, const decimal *d)
{
    size_t len = 0;
    int last = d->exponent < d->count - 1 ? d->count - 1 : d->exponent;
    for (int i = d->exponent < 0 ? d->exponent : 0; i <= last; i++) {
        if (i == d->exponent + 1) {
            buffer[len++] = '.';
        }
        buffer[len++] = i < d->count && i >= 0 ? d->digits[i] : '0';
    }
    return len;
}

static size_t write_scientific(char *buffer, const decimal *d)
{
    size_t len = 0;
    for (int i = 0; i < d->count; i++) {
        if (i == 1) {
            buffer[len++] = '.';
        }
        buffer[len++] = d->digits[i];
    }
    len += (size_t)snprintf(buffer + len, 8, "e%d", d->exponent);
    return len;
}

const char *fl_num_format(char *buffer, double value, int digits)
{
    assert(isfinite(value));
    assert(digits >= 1 && digits <= 17);
    decimal d = decimal_of(value, digits);
    size_t len = 0;
    if (d.is_negative) {
        buffer[len++] = '-';
    }
    if (d.exponent >= PLAIN_EXPONENT_MIN && d.exponent < PLAIN_EXPONENT_MAX) {
        len += write_plain(buffer + len, &d);
    } else {
        len += write_scientific(buffer + len, &d);
    }
    buffer[len] = '\0';
    return buffer;
}
