/* Growing text with a ceiling: what does not fit is cut, and the text says so. */
#include "base/str.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"

#define STR_FIRST ((size_t)64)

void fl_str_init(fl_str *str, size_t max)
{
    assert(max < SIZE_MAX / 4);
    *str = (fl_str){.max = max};
}

void fl_str_done(fl_str *str)
{
    if (str == NULL) {
        return;
    }
    fl_alloc_free(str->ptr);
    *str = (fl_str){.max = str->max};
}

void fl_str_clear(fl_str *str)
{
    str->len = 0;
    str->is_full = false;
    if (str->ptr != NULL) {
        str->ptr[0] = '\0';
    }
}

/* Makes room for `more` bytes and the terminator; returns how many of them fit. */
static size_t make_room(fl_str *str, size_t more)
{
    size_t room = str->max - str->len;
    if (more > room) {
        more = room;
        str->is_full = true;
    }
    size_t need = str->len + more + 1;
    if (need > str->cap) {
        size_t cap = str->cap == 0 ? STR_FIRST : str->cap * 2;
        cap = cap < need ? need : cap;
        cap = cap > str->max + 1 ? str->max + 1 : cap;
        str->ptr = fl_alloc_resize(str->ptr, cap, 1);
        str->cap = cap;
    }
    return more;
}

void fl_str_append(fl_str *str, fl_sv text)
{
    size_t fits = make_room(str, text.len);
    if (fits > 0) {
        memcpy(str->ptr + str->len, text.ptr, fits);
    }
    str->len += fits;
    str->ptr[str->len] = '\0';
}

void fl_str_append_cstr(fl_str *str, const char *text)
{
    fl_str_append(str, fl_sv_from_cstr(text));
}

void fl_str_append_char(fl_str *str, char c)
{
    fl_str_append(str, (fl_sv){&c, 1});
}

void fl_str_appendf(fl_str *str, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int len = vsnprintf(NULL, 0, format, args);
    va_end(args);
    assert(len >= 0);
    size_t fits = make_room(str, (size_t)len);
    va_start(args, format);
    (void)vsnprintf(str->ptr + str->len, fits + 1, format, args);
    va_end(args);
    str->len += fits;
}

fl_sv fl_str_sv(const fl_str *str)
{
    return (fl_sv){str->ptr, str->len};
}
