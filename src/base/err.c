/* Fills the error struct: one line, no control characters, cut to the struct's size. */
#include "base/err.h"

#include <assert.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

static void flatten(char *text)
{
    for (; *text != '\0'; text++) {
        unsigned char c = (unsigned char)*text;
        if (c < 0x20 || c == 0x7f) {
            *text = '?';
        }
    }
}

/* A cut in the middle of a UTF-8 character would make the message unprintable: drop its start. */
static void drop_broken_tail(char *text, size_t len)
{
    size_t start = len;
    while (start > 0 && len - start < 4 && ((unsigned char)text[start - 1] & 0xc0) == 0x80) {
        start--;
    }
    if (start == 0) {
        return;
    }
    unsigned char lead = (unsigned char)text[start - 1];
    size_t need = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : lead >= 0xc0 ? 2 : 1;
    if (need > 1 && len - (start - 1) < need) {
        text[start - 1] = '\0';
    }
}

fl_status fl_fail_at(fl_err *err, fl_status code, const char *file, int line, const char *format,
                     ...)
{
    assert(code != FL_OK);
    if (err == NULL) {
        return code;
    }
    va_list args;
    va_start(args, format);
    int written = vsnprintf(err->message, sizeof err->message, format, args);
    va_end(args);
    if (written < 0) {
        err->message[0] = '\0';
    } else if ((size_t)written >= sizeof err->message) {
        drop_broken_tail(err->message, sizeof err->message - 1);
    }
    flatten(err->message);
    err->code = code;
    err->file = file;
    err->line = line;
    return code;
}

void fl_err_clear(fl_err *err)
{
    if (err != NULL) {
        *err = (fl_err){.code = FL_OK, .file = "", .line = 0};
    }
}
