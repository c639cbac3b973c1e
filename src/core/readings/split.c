/* Rows, fields and numbers of a delimited text: RFC 4180 with any delimiter. */
#include "core/readings/split.h"

/* A quoted field from text[i] (behind the quote) on; returns where it ends (at the closing quote,
 * or the end of the text). */
static size_t skip_quoted(fl_sv text, size_t i, int64_t *lines)
{
    while (i < text.len) {
        if (text.ptr[i] == '"') {
            if (i + 1 >= text.len || text.ptr[i + 1] != '"') {
                return i;
            }
            i++;
        }
        *lines += text.ptr[i] == '\n' ? 1 : 0;
        i++;
    }
    return i;
}

/* True at the end of a line (or of the text). */
static bool ends_line(fl_sv text, size_t i)
{
    return i >= text.len || text.ptr[i] == '\n' || text.ptr[i] == '\r';
}

/* One field from *at on: *at is then at its delimiter or the end of the line. */
static fl_sv read_field(fl_sv text, size_t *at, char delimiter, int64_t *lines)
{
    size_t i = *at;
    while (i < text.len && (text.ptr[i] == ' ' || (text.ptr[i] == '\t' && delimiter != '\t'))) {
        i++;
    }
    if (i < text.len && text.ptr[i] == '"') {
        size_t from = i + 1;
        size_t to = skip_quoted(text, from, lines);
        i = to < text.len ? to + 1 : to;
        while (!ends_line(text, i) && text.ptr[i] != delimiter) {
            i++;
        }
        *at = i;
        return fl_sv_trim((fl_sv){text.ptr + from, to - from});
    }
    size_t from = i;
    while (!ends_line(text, i) && text.ptr[i] != delimiter) {
        i++;
    }
    size_t to = i;
    while (to > from && (text.ptr[to - 1] == ' ' || text.ptr[to - 1] == '\t')) {
        to--;
    }
    *at = i;
    return (fl_sv){text.ptr + from, to - from};
}

size_t fl_probe_split(fl_sv text, size_t *at, char delimiter, fl_sv *field, size_t max,
                      int64_t *lines)
{
    size_t n = 0;
    size_t i = *at;
    if (i >= text.len) {
        return 0;
    }
    for (;;) {
        fl_sv one = read_field(text, &i, delimiter, lines);
        if (n < max) {
            field[n] = one;
        }
        n++;
        if (ends_line(text, i)) {
            break;
        }
        i++;
    }
    if (i < text.len && text.ptr[i] == '\r') {
        i++;
        i += i < text.len && text.ptr[i] == '\n' ? 1U : 0U;
    } else if (i < text.len) {
        i++;
    }
    *lines += 1;
    *at = i;
    return n;
}

/* ---- numbers ---- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* What loggers write where they have no value. */
static bool is_no_value(fl_sv field)
{
    static const char *const words[] = {"-",    "--",   "---",  "----",  "nan", "n/a",
                                        "na",   "null", "err",  "error", "ol",  "none",
                                        "#n/a", "inf",  "-inf", "?"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (fl_sv_eq_nocase(field, fl_sv_from_cstr(words[i]))) {
            return true;
        }
    }
    return field.len == 0;
}

/* What may follow a number: blanks, a degree sign, %, C or F, RH; *unit is set. */
static bool is_unit(const char *p, const char *end, char *unit)
{
    for (; p < end; p++) {
        unsigned char c = (unsigned char)*p;
        char low = lower(*p);
        if (low == 'c' || low == 'f') {
            *unit = low == 'c' ? 'C' : 'F';
        } else if (c != ' ' && c != '%' && c < 0x80 && low != 'r' && low != 'h' && low != '.') {
            return false;
        }
    }
    return true;
}

/* Digits behind the decimal sign, rounded to three; how many there were. */
static int read_part(const char **p, const char *end, int64_t *value)
{
    int n = 0;
    for (; *p < end && **p >= '0' && **p <= '9'; (*p)++, n++) {
        if (n < 3) {
            *value = *value * 10 + (**p - '0');
        } else if (n == 3 && **p >= '5') {
            (*value)++;
        }
    }
    return n;
}

bool fl_probe_number(fl_sv field, char decimal, int32_t *milli, bool *is_missing, char *unit)
{
    const char *p = field.ptr;
    const char *end = field.ptr + field.len;
    int64_t value = 0;
    int n_whole = 0;
    int n_part = 0;
    *is_missing = false;
    bool is_negative = p < end && *p == '-';
    p += p < end && (*p == '-' || *p == '+') ? 1 : 0;
    for (; p < end && *p >= '0' && *p <= '9' && n_whole < 7; p++, n_whole++) {
        value = value * 10 + (*p - '0');
    }
    if (p < end && *p == decimal && n_whole > 0) {
        p++;
        n_part = read_part(&p, end, &value);
    }
    if (n_whole == 0 || n_whole >= 7 || !is_unit(p, end, unit)) {
        *is_missing = is_no_value(field);
        return false;
    }
    for (int i = n_part; i < 3; i++) {
        value *= 10;
    }
    if (value > INT32_MAX) {
        return false;
    }
    *milli = (int32_t)(is_negative ? -value : value);
    return true;
}
