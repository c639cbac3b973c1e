/* Bytes to UTF-8, and dates as people write them. */
#include <string.h>

#include "app/sheet_in.h"
#include "base/num.h"
#include "base/str.h"

/* ---- encodings ---- */

static void put_utf8(char *out, size_t *n, unsigned long c)
{
    if (c < 0x80) {
        out[(*n)++] = (char)c;
    } else if (c < 0x800) {
        out[(*n)++] = (char)(0xc0 | (c >> 6));
        out[(*n)++] = (char)(0x80 | (c & 0x3f));
    } else if (c < 0x10000) {
        out[(*n)++] = (char)(0xe0 | (c >> 12));
        out[(*n)++] = (char)(0x80 | ((c >> 6) & 0x3f));
        out[(*n)++] = (char)(0x80 | (c & 0x3f));
    } else {
        out[(*n)++] = (char)(0xf0 | (c >> 18));
        out[(*n)++] = (char)(0x80 | ((c >> 12) & 0x3f));
        out[(*n)++] = (char)(0x80 | ((c >> 6) & 0x3f));
        out[(*n)++] = (char)(0x80 | (c & 0x3f));
    }
}

/* How many bytes a sequence has by its first; 0 when none begins so. */
static size_t length_by_first(unsigned char c)
{
    if (c < 0x80) {
        return 1;
    }
    if (c < 0xc2 || c > 0xf4) {
        return 0;
    }
    return c < 0xe0 ? 2 : c < 0xf0 ? 3 : 4;
}

/* Forms that are longer than they need be, surrogates, and what is beyond U+10FFFF. */
static bool is_forbidden(unsigned char first, unsigned char second)
{
    return (first == 0xe0 && second < 0xa0) || (first == 0xed && second > 0x9f) ||
           (first == 0xf0 && second < 0x90) || (first == 0xf4 && second > 0x8f);
}

/* How many bytes the sequence at `at` has; 0 when it is no UTF-8 (RFC 3629). */
static size_t utf8_length(fl_sv text, size_t at)
{
    const unsigned char *p = (const unsigned char *)text.ptr + at;
    size_t n = length_by_first(p[0]);
    if (n == 0 || n > text.len - at) {
        return 0;
    }
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xc0) != 0x80) {
            return 0;
        }
    }
    return n > 1 && is_forbidden(p[0], p[1]) ? 0 : n;
}

static bool is_utf8(fl_sv text)
{
    size_t at = 0;
    while (at < text.len) {
        size_t n = utf8_length(text, at);
        if (n == 0) {
            return false;
        }
        at += n;
    }
    return true;
}

/* Windows-1252 differs from Latin-1 in these (the code page's own table; holes become U+FFFD). */
static const unsigned short high[32] = {
    0x20ac, 0xfffd, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
    0x2039, 0x0152, 0xfffd, 0x017d, 0xfffd, 0xfffd, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0xfffd, 0x017e, 0x0178};

static fl_sv from_1252(fl_sv bytes, fl_arena *arena)
{
    char *out = FL_ARENA_ARRAY(arena, char, 3 * bytes.len + 1);
    size_t n = 0;
    for (size_t i = 0; i < bytes.len; i++) {
        unsigned char c = (unsigned char)bytes.ptr[i];
        put_utf8(out, &n, c >= 0x80 && c < 0xa0 ? high[c - 0x80] : c);
    }
    return (fl_sv){out, n};
}

static fl_sv from_utf16(fl_sv bytes, bool is_big, fl_arena *arena)
{
    char *out = FL_ARENA_ARRAY(arena, char, 2 * bytes.len + 4);
    size_t n = 0;
    for (size_t i = 0; i + 1 < bytes.len; i += 2) {
        const unsigned char *p = (const unsigned char *)bytes.ptr + i;
        unsigned long c =
            is_big ? (unsigned long)p[0] << 8 | p[1] : (unsigned long)p[1] << 8 | p[0];
        if (c >= 0xd800 && c < 0xdc00 && i + 3 < bytes.len) {
            unsigned long low =
                is_big ? (unsigned long)p[2] << 8 | p[3] : (unsigned long)p[3] << 8 | p[2];
            bool is_pair = low >= 0xdc00 && low < 0xe000;
            c = is_pair ? 0x10000 + ((c - 0xd800) << 10) + (low - 0xdc00) : 0xfffd;
            i += is_pair ? 2U : 0U;
        } else if (c >= 0xd800 && c < 0xe000) {
            c = 0xfffd;
        }
        put_utf8(out, &n, c);
    }
    return (fl_sv){out, n};
}

static bool begins(fl_sv bytes, const char *mark, size_t len)
{
    return bytes.len >= len && memcmp(bytes.ptr, mark, len) == 0;
}

fl_sv fl_sheet_decode(fl_sv bytes, fl_arena *arena, const char **encoding)
{
    *encoding = "UTF-16";
    if (begins(bytes, "\xff\xfe", 2)) {
        return from_utf16((fl_sv){bytes.ptr + 2, bytes.len - 2}, false, arena);
    }
    if (begins(bytes, "\xfe\xff", 2)) {
        return from_utf16((fl_sv){bytes.ptr + 2, bytes.len - 2}, true, arena);
    }
    /* without a mark: every other byte of plain text is zero */
    if (bytes.len >= 4 && bytes.ptr[0] != '\0' && bytes.ptr[1] == '\0' && bytes.ptr[3] == '\0') {
        return from_utf16(bytes, false, arena);
    }
    if (bytes.len >= 4 && bytes.ptr[0] == '\0' && bytes.ptr[1] != '\0' && bytes.ptr[2] == '\0') {
        return from_utf16(bytes, true, arena);
    }
    *encoding = "UTF-8";
    if (begins(bytes, "\xef\xbb\xbf", 3)) {
        bytes = (fl_sv){bytes.ptr + 3, bytes.len - 3};
    }
    if (is_utf8(bytes)) {
        return bytes;
    }
    *encoding = "Windows-1252";
    return from_1252(bytes, arena);
}

/* ---- dates ---- */

#define PARTS 3

/* "4.3.2026" into three numbers; *separator is what stands between. */
static bool split_date(fl_sv text, int64_t part[PARTS], size_t digits[PARTS], char *separator)
{
    size_t at = 0;
    *separator = '\0';
    for (int i = 0; i < PARTS; i++) {
        size_t from = at;
        while (at < text.len && text.ptr[at] >= '0' && text.ptr[at] <= '9') {
            at++;
        }
        digits[i] = at - from;
        if (digits[i] == 0 || digits[i] > 4 ||
            fl_num_parse_int((fl_sv){text.ptr + from, at - from}, "date", 0, 9999, &part[i],
                             NULL) != FL_OK) {
            return false;
        }
        bool is_last = i == PARTS - 1;
        if (!is_last) {
            char c = at < text.len ? text.ptr[at] : '\0';
            if ((c != '.' && c != '/' && c != '-') || (*separator != '\0' && c != *separator)) {
                return false;
            }
            *separator = c;
            at++;
            while (at < text.len && text.ptr[at] == ' ') { /* "4. 3. 2026" */
                at++;
            }
        }
    }
    return at == text.len;
}

static bool is_month_and_day(int64_t month, int64_t day)
{
    return month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

static bool put_noon(int64_t year, int64_t month, int64_t day, int tz_offset_min, int64_t *at_s)
{
    fl_str iso;
    fl_precision precision;
    fl_str_init(&iso, FL_CIVIL_TEXT_MAX);
    fl_str_appendf(&iso, "%04d-%02d-%02d", (int)year, (int)month, (int)day);
    bool is_date = fl_civil_parse(fl_str_sv(&iso), tz_offset_min, at_s, &precision, NULL) == FL_OK;
    fl_str_done(&iso);
    return is_date;
}

fl_date_shape fl_sheet_date(fl_sv text, fl_sheet_dates dates, int tz_offset_min, int64_t *at_s)
{
    int64_t part[PARTS];
    size_t digits[PARTS];
    char separator = '\0';
    if (!split_date(fl_sv_trim(text), part, digits, &separator)) {
        return FL_DATE_NONE;
    }
    if (digits[0] == 4) {
        bool is_date = put_noon(part[0], part[1], part[2], tz_offset_min, at_s);
        return is_date ? FL_DATE_FIXED : FL_DATE_NONE;
    }
    if (digits[2] != 4 && digits[2] != 2) {
        return FL_DATE_NONE;
    }
    int64_t year = digits[2] == 2 ? 2000 + part[2] : part[2];
    bool can_dmy = is_month_and_day(part[1], part[0]);
    bool can_mdy = is_month_and_day(part[0], part[1]) && separator != '.';
    bool is_both = can_dmy && can_mdy && part[0] != part[1];
    bool is_mdy = can_mdy && (!can_dmy || (is_both && dates == FL_SHEET_DATES_MDY));
    bool is_date = is_mdy ? put_noon(year, part[0], part[1], tz_offset_min, at_s)
                          : can_dmy && put_noon(year, part[1], part[0], tz_offset_min, at_s);
    if (!is_date) {
        return FL_DATE_NONE;
    }
    return is_both                                  ? FL_DATE_OPEN
           : separator == '.' || can_mdy == can_dmy ? FL_DATE_FIXED
           : is_mdy                                 ? FL_DATE_MDY
                                                    : FL_DATE_DMY;
}
