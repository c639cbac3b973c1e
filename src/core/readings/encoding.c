/* From bytes to UTF-8: UTF-8, UTF-16 and Windows-1252 by what the bytes are. */
#include <string.h>

#include "core/readings/logfile.h"

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_probe_encoding[FL_PROBE_ENCODINGS] = {FL_PROBE_ENCODING_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

/* The bytes of one UTF-8 character at text[i]; 0 when it is none. RFC 3629. */
static size_t utf8_length(fl_sv text, size_t i)
{
    const unsigned char *p = (const unsigned char *)text.ptr + i;
    size_t left = text.len - i;
    size_t n = p[0] < 0x80   ? 1
               : p[0] < 0xC2 ? 0
               : p[0] < 0xE0 ? 2
               : p[0] < 0xF0 ? 3
               : p[0] < 0xF5 ? 4
                             : 0;
    if (n == 0 || n > left) {
        return 0;
    }
    for (size_t k = 1; k < n; k++) {
        if ((p[k] & 0xC0) != 0x80) {
            return 0;
        }
    }
    bool is_bad = n == 3 && ((p[0] == 0xE0 && p[1] < 0xA0) || (p[0] == 0xED && p[1] > 0x9F));
    is_bad = is_bad || (n == 4 && ((p[0] == 0xF0 && p[1] < 0x90) || (p[0] == 0xF4 && p[1] > 0x8F)));
    return is_bad ? 0 : n;
}

static bool is_utf8(fl_sv text)
{
    for (size_t i = 0; i < text.len;) {
        size_t n = (unsigned char)text.ptr[i] < 0x80 ? 1 : utf8_length(text, i);
        if (n == 0) {
            return false;
        }
        i += n;
    }
    return true;
}

/* By the zeros that UTF-16 has in every other byte of Latin text; else FL_PROBE_ENCODINGS. */
static fl_probe_encoding by_zeros(fl_sv bytes)
{
    size_t zeros[2] = {0, 0};
    size_t seen = bytes.len < 4096 ? bytes.len : 4096;
    for (size_t i = 0; i < seen; i++) {
        zeros[i % 2] += bytes.ptr[i] == '\0' ? 1U : 0U;
    }
    if (seen >= 4 && zeros[1] > seen / 4 && zeros[0] == 0) {
        return FL_PROBE_UTF16LE;
    }
    return seen >= 4 && zeros[0] > seen / 4 && zeros[1] == 0 ? FL_PROBE_UTF16BE
                                                             : FL_PROBE_ENCODINGS;
}

fl_probe_encoding fl_probe_encoding_of(fl_sv bytes)
{
    const unsigned char *p = (const unsigned char *)bytes.ptr;
    if (bytes.len >= 3 && p[0] == 0xEF && p[1] == 0xBB && p[2] == 0xBF) {
        return FL_PROBE_UTF8_BOM;
    }
    if (bytes.len >= 2 && p[0] == 0xFF && p[1] == 0xFE) {
        return FL_PROBE_UTF16LE;
    }
    if (bytes.len >= 2 && p[0] == 0xFE && p[1] == 0xFF) {
        return FL_PROBE_UTF16BE;
    }
    fl_probe_encoding wide = by_zeros(bytes);
    if (wide != FL_PROBE_ENCODINGS) {
        return wide;
    }
    return is_utf8(bytes) ? FL_PROBE_UTF8 : FL_PROBE_CP1252;
}

size_t fl_probe_decode_bound(fl_probe_encoding encoding, size_t len)
{
    switch (encoding) {
    case FL_PROBE_UTF16LE:
    case FL_PROBE_UTF16BE:
        return len / 2 * 3 + 3;
    case FL_PROBE_CP1252:
        return len * 3;
    case FL_PROBE_UTF8:
    case FL_PROBE_UTF8_BOM:
    case FL_PROBE_ENCODINGS:
    default:
        return 0;
    }
}

static size_t put_utf8(char *out, uint32_t c)
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        out[0] = (char)(0xC0 | (c >> 6));
        out[1] = (char)(0x80 | (c & 0x3F));
        return 2;
    }
    if (c < 0x10000) {
        out[0] = (char)(0xE0 | (c >> 12));
        out[1] = (char)(0x80 | ((c >> 6) & 0x3F));
        out[2] = (char)(0x80 | (c & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | (c >> 18));
    out[1] = (char)(0x80 | ((c >> 12) & 0x3F));
    out[2] = (char)(0x80 | ((c >> 6) & 0x3F));
    out[3] = (char)(0x80 | (c & 0x3F));
    return 4;
}

/* What Windows-1252 has at 0x80 to 0x9F; 0 where it has nothing. The WHATWG's table of the same
 * name agrees but for the five holes. */
static uint32_t cp1252(unsigned char byte)
{
    static const uint16_t high[32] = {
        0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
        0x2039, 0x0152, 0,      0x017D, 0,      0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
        0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};
    if (byte < 0x80 || byte >= 0xA0) {
        return byte;
    }
    return high[byte - 0x80] != 0 ? high[byte - 0x80] : 0xFFFD;
}

static uint32_t unit_at(const unsigned char *p, bool is_low_first)
{
    return is_low_first ? (uint32_t)p[0] | (uint32_t)p[1] << 8
                        : (uint32_t)p[1] | (uint32_t)p[0] << 8;
}

static fl_sv decode_utf16(fl_sv bytes, bool is_low_first, char *buffer)
{
    const unsigned char *p = (const unsigned char *)bytes.ptr;
    size_t n = bytes.len / 2;
    size_t len = 0;
    for (size_t i = 0; i < n; i++) {
        uint32_t c = unit_at(p + 2 * i, is_low_first);
        if (i == 0 && c == 0xFEFF) {
            continue;
        }
        if (c >= 0xD800 && c < 0xDC00 && i + 1 < n) {
            uint32_t low = unit_at(p + 2 * i + 2, is_low_first);
            if (low >= 0xDC00 && low < 0xE000) {
                len += put_utf8(buffer + len, 0x10000 + ((c - 0xD800) << 10) + (low - 0xDC00));
                i++;
                continue;
            }
        }
        len += put_utf8(buffer + len, c >= 0xD800 && c < 0xE000 ? 0xFFFD : c);
    }
    return (fl_sv){buffer, len};
}

fl_sv fl_probe_decode(fl_probe_encoding encoding, fl_sv bytes, char *buffer)
{
    size_t len = 0;
    switch (encoding) {
    case FL_PROBE_UTF8_BOM:
        return (fl_sv){bytes.ptr + 3, bytes.len - 3};
    case FL_PROBE_UTF16LE:
    case FL_PROBE_UTF16BE:
        return decode_utf16(bytes, encoding == FL_PROBE_UTF16LE, buffer);
    case FL_PROBE_CP1252:
        for (size_t i = 0; i < bytes.len; i++) {
            len += put_utf8(buffer + len, cp1252((unsigned char)bytes.ptr[i]));
        }
        return (fl_sv){buffer, len};
    case FL_PROBE_UTF8:
    case FL_PROBE_ENCODINGS:
    default:
        return bytes;
    }
}
