/* Dilutions as text and as two numbers. */
#include "core/dip/parts.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

#include "base/num.h"
#include "base/shown.h"

static bool has_char(fl_sv text, char c)
{
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] == c) {
            return true;
        }
    }
    return false;
}

/* Asks which convention is meant, with both spelt out in the reader's own numbers. */
static fl_status ask_convention(fl_sv text, char sign, fl_err *err)
{
    fl_sv rest = text;
    fl_sv first = fl_sv_trim(fl_sv_split(&rest, sign));
    double a = 0.0;
    double b = 0.0;
    fl_err ignored;
    if (fl_num_parse_double(first, "part", &a, &ignored) != FL_OK ||
        fl_num_parse_double(fl_sv_trim(rest), "part", &b, &ignored) != FL_OK || a <= 0 || b <= a) {
        return fl_fail(err, FL_EFORMAT, "ratio \"%.*s\": write it as 1+19, \"1 in 20\" or 5 %%",
                       FL_SHOWN(text));
    }
    return fl_fail(err, FL_EINVAL,
                   "ratio \"%.*s\" has two meanings: is it %g part in %g in all (write %g+%g), or "
                   "%g part and %g parts of water (write %g+%g)?",
                   FL_SHOWN(text), a, b, a, b - a, a, b, a, b);
}

/* "1 in 20": true and both numbers' texts, else false. */
static bool split_in(fl_sv text, fl_sv *first, fl_sv *second)
{
    for (size_t i = 1; i + 3 < text.len; i++) {
        fl_sv word = {text.ptr + i, 4};
        if (fl_sv_eq_nocase(word, FL_SV(" in "))) {
            *first = fl_sv_trim((fl_sv){text.ptr, i});
            *second = fl_sv_trim((fl_sv){text.ptr + i + 4, text.len - i - 4});
            return true;
        }
    }
    return false;
}

/* "5 %", "5% by volume": true and the number's text. */
static bool split_percent(fl_sv text, fl_sv *number)
{
    fl_sv rest = text;
    *number = fl_sv_trim(fl_sv_split(&rest, '%'));
    rest = fl_sv_trim(rest);
    return has_char(text, '%') && (rest.len == 0 || fl_sv_eq_nocase(rest, FL_SV("by volume")));
}

static fl_status parse_percent(fl_sv number, fl_parts *out, fl_err *err)
{
    double pct = 0.0;
    fl_status status =
        fl_num_parse_double_in(number, "percent by volume", 0.0001, 100.0, &pct, err);
    if (status == FL_OK) {
        *out = (fl_parts){.product = pct, .water = 100.0 - pct};
    }
    return status;
}

fl_status fl_parts_parse(fl_sv text, fl_parts *out, fl_err *err)
{
    fl_sv number;
    if (split_percent(text, &number)) {
        return parse_percent(number, out, err);
    }
    if (has_char(text, ':')) {
        return ask_convention(text, ':', err);
    }
    if (has_char(text, '/')) {
        return ask_convention(text, '/', err);
    }
    fl_sv first = {NULL, 0};
    fl_sv second = text;
    bool is_total = split_in(text, &first, &second);
    if (!is_total) {
        if (!has_char(text, '+')) {
            return fl_fail(err, FL_EFORMAT, "ratio \"%.*s\": write it as 1+19, \"1 in 20\" or 5 %%",
                           FL_SHOWN(text));
        }
        first = fl_sv_trim(fl_sv_split(&second, '+'));
    }
    fl_parts parts = {0.0, 0.0};
    fl_status status = fl_num_parse_double(first, "parts of product", &parts.product, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_num_parse_double(fl_sv_trim(second), "parts of water", &parts.water, err);
    if (status != FL_OK) {
        return status;
    }
    if (is_total) {
        parts.water -= parts.product;
    }
    status = fl_parts_check(parts, err);
    if (status == FL_OK) {
        *out = parts;
    }
    return status;
}

fl_status fl_parts_check(fl_parts parts, fl_err *err)
{
    if (!(parts.product > 0.0) || parts.product > FL_PARTS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "parts of product %g: give more than 0, at most %g",
                       parts.product, FL_PARTS_MAX);
    }
    if (!(parts.water >= 0.0) || parts.water > FL_PARTS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "parts of water %g: give 0 to %g", parts.water,
                       FL_PARTS_MAX);
    }
    return FL_OK;
}

double fl_parts_share(fl_parts parts)
{
    assert(parts.product > 0.0 && parts.water >= 0.0);
    return parts.product / (parts.product + parts.water);
}
