/* Inside src/json only: jansson values from text, and as text in our own number format. */
#ifndef FL_JSON_TEXT_H
#define FL_JSON_TEXT_H

#include <stdbool.h>

#include <jansson.h>

#include "base/err.h"
#include "base/str.h"

/* Parses strict JSON of any depth (jansson's own limit is 2048). *out is owned by the caller.
 * FL_EFORMAT with line and column. */
fl_status fl_json_load(fl_sv text, json_t **out, fl_err *err) FL_MUST_USE;

typedef struct fl_json_style {
    bool is_sorted; /* members by the byte order of their keys; else in the order of insertion */
    bool is_pretty; /* one member or element a line, indented by two */
    int digits;     /* significant digits of doubles; 0: the fewest of 15 to 17 that read back */
} fl_json_style;

/* Appends the value. Its depth must be bounded by the caller (it is: the parser and the writer
 * refuse deeper ones). A text that does not fit leaves out->is_full set. */
void fl_json_append(const json_t *value, const fl_json_style *style, fl_str *out);

#endif
