/* What went wrong, in one line for a person, with the place in the source for us.
 * There is no "last error": the caller hands the struct in. */
#ifndef FL_BASE_ERR_H
#define FL_BASE_ERR_H

#include "base/status.h"

#define FL_ERR_MESSAGE_MAX 240

typedef struct fl_err {
    fl_status code;                   /* FL_OK until something failed */
    char message[FL_ERR_MESSAGE_MAX]; /* one line, names the bad value and what would do */
    const char *file;                 /* static string */
    int line;
} fl_err;

/* Fills err (may be NULL) and returns code, so that a failing line is one return:
 *     return fl_fail(err, FL_EINVAL, "label-pct %g: give 1 to 16", pct);
 * Control characters in the formatted text become '?'; the text is cut at 239 bytes. */
#ifndef __clang_analyzer__
#define fl_fail(err, code, ...) fl_fail_at((err), (code), __FILE__, __LINE__, __VA_ARGS__)
#else /* the analyser reads one file at a time: this tells it what the answer is */
#define fl_fail(err, code, ...)                                                                    \
    ((void)fl_fail_at((err), (code), __FILE__, __LINE__, __VA_ARGS__), (code))
#endif

fl_status fl_fail_at(fl_err *err, fl_status code, const char *file, int line, const char *format,
                     ...) __attribute__((format(printf, 5, 6)));

/* Sets err (may be NULL) back to FL_OK and an empty message. */
void fl_err_clear(fl_err *err);

#endif
