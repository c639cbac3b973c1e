/* The patterns that schemas may use: a fixed set, each with a matcher of its own instead of a
 * regular expression engine. The expressions are plain ECMA-262, so that other validators agree. */
#include "json/schema_parts.h"

#define RE_DATE "[0-9]{4}-[0-9]{2}-[0-9]{2}"
#define RE_TIME "T[0-9]{2}:[0-9]{2}:[0-9]{2}(\\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})"
#define RE_HEX(count) "[0-9a-fA-F]{" count "}"

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_lower_hex(char c)
{
    return is_digit(c) || (c >= 'a' && c <= 'f');
}

/* One character against one of a shape: '9' a digit, 'h' a hex digit, else itself. */
static bool fits_char(char c, char shape)
{
    if (shape == '9') {
        return is_digit(c);
    }
    if (shape == 'h') {
        return is_lower_hex(c) || (c >= 'A' && c <= 'F');
    }
    return c == shape;
}

/* Takes the shape off the front of *text; false when it is not there. */
static bool take(fl_sv *text, const char *shape)
{
    size_t len = fl_sv_from_cstr(shape).len;
    if (text->len < len) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        if (!fits_char(text->ptr[i], shape[i])) {
            return false;
        }
    }
    *text = (fl_sv){text->ptr + len, text->len - len};
    return true;
}

static bool is_whole(fl_sv text, const char *shape)
{
    return take(&text, shape) && text.len == 0;
}

static bool is_uuid(fl_sv text)
{
    return is_whole(text, "hhhhhhhh-hhhh-hhhh-hhhh-hhhhhhhhhhhh");
}

static bool is_date(fl_sv text)
{
    return is_whole(text, "9999-99-99");
}

static bool is_moment(fl_sv text)
{
    if (!take(&text, "9999-99-99T99:99:99")) {
        return false;
    }
    if (take(&text, ".")) {
        if (!take(&text, "9")) {
            return false;
        }
        while (take(&text, "9")) {
        }
    }
    return is_whole(text, "Z") || is_whole(text, "+99:99") || is_whole(text, "-99:99");
}

static bool is_when(fl_sv text)
{
    return is_whole(text, "9999") || is_whole(text, "9999-99") || is_date(text) || is_moment(text);
}

static bool is_sha256(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        if (!is_lower_hex(text.ptr[i])) {
            return false;
        }
    }
    return text.len == 64;
}

static bool is_code(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        bool is_letter = c >= 'a' && c <= 'z';
        if (!is_letter && (i == 0 || (!is_digit(c) && c != '_'))) {
            return false;
        }
    }
    return text.len > 0;
}

static bool is_one_line(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        unsigned char c = (unsigned char)text.ptr[i];
        if (c < 0x20 || c == 0x7f) {
            return false;
        }
    }
    return true;
}

static const fl_schema_pattern patterns[] = {
    {"^" RE_HEX("8") "-" RE_HEX("4") "-" RE_HEX("4") "-" RE_HEX("4") "-" RE_HEX("12") "$",
     "a UUID such as 0b8e6f1c-5d2a-4c3e-9f10-2a7b3c4d5e6f", is_uuid},
    {"^[0-9]{4}(-[0-9]{2}(-[0-9]{2}(" RE_TIME ")?)?)?$",
     "2026-03-01T18:30:00Z, 2026-03-01, 2026-03 or 2026", is_when},
    {"^" RE_DATE RE_TIME "$", "a moment such as 2026-03-01T18:30:00Z", is_moment},
    {"^" RE_DATE "$", "a date such as 2026-03-01", is_date},
    {"^[0-9a-f]{64}$", "64 lower-case hex digits", is_sha256},
    {"^[a-z][a-z0-9_]*$", "a code such as fungus_gnat", is_code},
    {"^[^\\x00-\\x1f\\x7f]*$", "one line without control characters", is_one_line},
};

const fl_schema_pattern *fl_schema_pattern_find(fl_sv regex)
{
    for (size_t i = 0; i < sizeof patterns / sizeof patterns[0]; i++) {
        if (fl_sv_eq_cstr(regex, patterns[i].regex)) {
            return &patterns[i];
        }
    }
    return NULL;
}
