/* Read-only UTF-8 text: a pointer and a length, not terminated, never owned. */
#ifndef FL_BASE_SV_H
#define FL_BASE_SV_H

#include <stdbool.h>
#include <stddef.h>

typedef struct fl_sv {
    const char *ptr; /* may be NULL only when len is 0 */
    size_t len;      /* bytes */
} fl_sv;

#define FL_SV(literal) ((fl_sv){(literal), sizeof(literal) - 1})
/* For printf's "%.*s". */
#define FL_SV_ARG(sv) (int)(sv).len, ((sv).ptr ? (sv).ptr : "")

/* A view of a terminated string; NULL gives the empty view. */
fl_sv fl_sv_from_cstr(const char *text);

/* True when both hold the same bytes. */
bool fl_sv_eq(fl_sv a, fl_sv b);
bool fl_sv_eq_cstr(fl_sv a, const char *b);

/* Same, ignoring the case of ASCII letters. */
bool fl_sv_eq_nocase(fl_sv a, fl_sv b);

/* Byte order, -1, 0 or 1. */
int fl_sv_compare(fl_sv a, fl_sv b);

/* Without ASCII white space at both ends. */
fl_sv fl_sv_trim(fl_sv text);

/* Cuts the text at the first `separator`: returns what is before it and leaves the rest in *text
 * (empty when there was none). */
fl_sv fl_sv_split(fl_sv *text, char separator);

#endif
