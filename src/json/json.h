/* A thin wrapper of the JSON library: a strict reader with borrowed values, and a writer.
 * jansson is included in src/json only. One document, one free. */
#ifndef FL_JSON_JSON_H
#define FL_JSON_JSON_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"
#include "base/str.h"
#include "base/sv.h"

/* ---- reading ---- */

typedef struct fl_json_doc fl_json_doc;     /* owns everything below it */
typedef struct fl_json_value fl_json_value; /* borrowed; NULL stands for "absent" */

typedef enum fl_json_type {
    FL_JSON_ABSENT = 0, /* the value pointer was NULL */
    FL_JSON_NULL,
    FL_JSON_BOOL,
    FL_JSON_NUMBER,
    FL_JSON_STRING,
    FL_JSON_ARRAY,
    FL_JSON_OBJECT
} fl_json_type;

/* Parses the whole text: strict JSON, UTF-8, no duplicate keys, depth at most FL_JSON_DEPTH_MAX,
 * any value at the top. FL_EFORMAT with line and column. *out is owned by the caller
 * (fl_json_free). */
fl_status fl_json_parse(fl_sv text, fl_json_doc **out, fl_err *err) FL_MUST_USE;
void fl_json_free(fl_json_doc *doc);
const fl_json_value *fl_json_root(const fl_json_doc *doc);

fl_json_type fl_json_type_of(const fl_json_value *value);
/* Member of an object; NULL when absent, or when `object` is not an object. */
const fl_json_value *fl_json_get(const fl_json_value *object, const char *key);
/* Elements of an array or members of an object; 0 for anything else. */
size_t fl_json_size(const fl_json_value *value);
const fl_json_value *fl_json_at(const fl_json_value *array, size_t index);
/* The i-th member in the document's order: its key and its value. */
const fl_json_value *fl_json_member(const fl_json_value *object, size_t index, fl_sv *key);

bool fl_json_bool(const fl_json_value *value, bool fallback);
/* The text, or the empty view when it is not a string. Valid while the document lives. */
fl_sv fl_json_text(const fl_json_value *value);
/* True and *out set when the value is a number (for int: a whole one that fits exactly). */
bool fl_json_number(const fl_json_value *value, double *out);
bool fl_json_int(const fl_json_value *value, int64_t *out);

/* The required member as a number in [min, max]; FL_EINVAL naming `key` and the value. */
fl_status fl_json_need_number(const fl_json_value *object, const char *key, double min, double max,
                              double *out, fl_err *err) FL_MUST_USE;

/* The canonical bytes of a value: keys sorted by byte order, no white space, numbers in their
 * shortest form that reads back the same (at most 17 digits), UTF-8 unescaped but for control
 * characters, '"' and '\'. Appended to *out. */
fl_status fl_json_canonical(const fl_json_value *value, fl_str *out, fl_err *err) FL_MUST_USE;

/* ---- writing ---- */

typedef struct fl_json_writer fl_json_writer; /* a value under construction */

fl_json_writer *fl_json_writer_new(void);
void fl_json_writer_free(fl_json_writer *w);

/* Each takes the key inside an object and NULL inside an array or at the top. */
void fl_json_begin_object(fl_json_writer *w, const char *key);
void fl_json_begin_array(fl_json_writer *w, const char *key);
void fl_json_end(fl_json_writer *w);
void fl_json_put_text(fl_json_writer *w, const char *key, fl_sv text);
void fl_json_put_cstr(fl_json_writer *w, const char *key, const char *text);
void fl_json_put_number(fl_json_writer *w, const char *key, double value); /* not finite: null */
void fl_json_put_int(fl_json_writer *w, const char *key, int64_t value);
void fl_json_put_bool(fl_json_writer *w, const char *key, bool value);
void fl_json_put_null(fl_json_writer *w, const char *key);
/* Puts an already serialised JSON text in place (a frozen answer); FL_EFORMAT if it is none. */
fl_status fl_json_put_raw(fl_json_writer *w, const char *key, fl_sv json, fl_err *err) FL_MUST_USE;

/* Serialises the finished top value: members in the order of writing, 15 significant digits;
 * is_pretty puts one member a line. Asserts that every begin had its end. */
void fl_json_write(const fl_json_writer *w, bool is_pretty, fl_str *out);

#endif
