/* Text that is being built: always terminated, with a maximum size. */
#ifndef FL_BASE_STR_H
#define FL_BASE_STR_H

#include <stdbool.h>
#include <stddef.h>

#include "base/sv.h"

typedef struct fl_str {
    char *ptr;    /* owned; terminated; NULL only before the first append */
    size_t len;   /* bytes without the terminator */
    size_t cap;   /* bytes allocated */
    size_t max;   /* len never exceeds it */
    bool is_full; /* true once an append was cut: the text is not whole */
} fl_str;

/* An empty text of at most `max` bytes. */
void fl_str_init(fl_str *str, size_t max);
void fl_str_done(fl_str *str);
void fl_str_clear(fl_str *str);

/* Appends; what does not fit is cut and is_full becomes true. */
void fl_str_append(fl_str *str, fl_sv text);
void fl_str_append_cstr(fl_str *str, const char *text);
void fl_str_append_char(fl_str *str, char c);
void fl_str_appendf(fl_str *str, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* A view, valid until the next append. */
fl_sv fl_str_sv(const fl_str *str);

#endif
