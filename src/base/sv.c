/* Views of text: comparing, trimming, splitting. ASCII only where case or space matters. */
#include "base/sv.h"

#include <string.h>

fl_sv fl_sv_from_cstr(const char *text)
{
    return (fl_sv){text, text == NULL ? 0 : strlen(text)};
}

bool fl_sv_eq(fl_sv a, fl_sv b)
{
    return a.len == b.len && (a.len == 0 || memcmp(a.ptr, b.ptr, a.len) == 0);
}

bool fl_sv_eq_cstr(fl_sv a, const char *b)
{
    return fl_sv_eq(a, fl_sv_from_cstr(b));
}

static char lower(char c)
{
    return (c >= 'A' && c <= 'Z') ? (char)(c - 'A' + 'a') : c;
}

bool fl_sv_eq_nocase(fl_sv a, fl_sv b)
{
    if (a.len != b.len) {
        return false;
    }
    for (size_t i = 0; i < a.len; i++) {
        if (lower(a.ptr[i]) != lower(b.ptr[i])) {
            return false;
        }
    }
    return true;
}

int fl_sv_compare(fl_sv a, fl_sv b)
{
    size_t common = a.len < b.len ? a.len : b.len;
    int order = common == 0 ? 0 : memcmp(a.ptr, b.ptr, common);
    if (order == 0) {
        return (a.len > b.len) - (a.len < b.len);
    }
    return order < 0 ? -1 : 1;
}

static bool is_space(char c)
{
    return c == ' ' || (c >= '\t' && c <= '\r');
}

fl_sv fl_sv_trim(fl_sv text)
{
    while (text.len > 0 && is_space(text.ptr[0])) {
        text.ptr++;
        text.len--;
    }
    while (text.len > 0 && is_space(text.ptr[text.len - 1])) {
        text.len--;
    }
    return text;
}

fl_sv fl_sv_split(fl_sv *text, char separator)
{
    const char *at = text->len == 0 ? NULL : memchr(text->ptr, separator, text->len);
    fl_sv before = *text;
    if (at == NULL) {
        *text = (fl_sv){text->len == 0 ? text->ptr : text->ptr + text->len, 0};
        return before;
    }
    before.len = (size_t)(at - text->ptr);
    text->ptr = at + 1;
    text->len -= before.len + 1;
    return before;
}
