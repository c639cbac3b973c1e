/* Inside src/json only: the parts of the schema checker. schema.c and schema_leaf.c judge values,
 * schema_lint.c judges schemas, schema_pattern.c knows the patterns, schema_store.c keeps the
 * embedded files. */
#ifndef FL_JSON_SCHEMA_PARTS_H
#define FL_JSON_SCHEMA_PARTS_H

#include "json/json.h"
#include "json/pointer.h"
#include "json/schema.h"

/* What stands behind a keyword. */
typedef enum fl_schema_shape {
    FL_SHAPE_NOTE = 0, /* nothing that is checked */
    FL_SHAPE_ANY,
    FL_SHAPE_TYPE,
    FL_SHAPE_NUMBER,
    FL_SHAPE_SIZE, /* a whole number >= 0 */
    FL_SHAPE_BOOL,
    FL_SHAPE_WORDS,   /* texts */
    FL_SHAPE_LIST,    /* values, at least one */
    FL_SHAPE_PATTERN, /* one of schema_pattern.c */
    FL_SHAPE_REF,
    FL_SHAPE_SCHEMA,
    FL_SHAPE_SCHEMAS,   /* a list of schemas, at least one */
    FL_SHAPE_SCHEMA_MAP /* schemas by name */
} fl_schema_shape;

/* Where a check stands. */
typedef struct fl_schema_scope {
    const fl_json_value *root;   /* the document that "#" stands for */
    const fl_json_value *schema; /* whose keywords are being followed */
    const fl_json_where *at;     /* in the value */
    int depth;                   /* how many schemas deep */
    fl_err *err;
} fl_schema_scope;

/* Judges `value` by one keyword of the scope's schema; `rule` is what stands behind the keyword. */
typedef fl_status (*fl_schema_rule)(const fl_schema_scope *scope, const fl_json_value *rule,
                                    const fl_json_value *value);

typedef struct fl_schema_keyword {
    const char *name;
    fl_schema_shape shape;
    fl_schema_rule check; /* NULL: nothing to check */
} fl_schema_keyword;

/* FL_EINVAL with "JSON pointer: …" of where the scope stands in the value. */
fl_status fl_schema_misfit(const fl_schema_scope *scope, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The keywords of schema_leaf.c. */
fl_status fl_schema_check_type(const fl_schema_scope *scope, const fl_json_value *rule,
                               const fl_json_value *value);
fl_status fl_schema_check_const(const fl_schema_scope *scope, const fl_json_value *rule,
                                const fl_json_value *value);
fl_status fl_schema_check_enum(const fl_schema_scope *scope, const fl_json_value *rule,
                               const fl_json_value *value);
fl_status fl_schema_check_min_items(const fl_schema_scope *scope, const fl_json_value *rule,
                                    const fl_json_value *value);
fl_status fl_schema_check_max_items(const fl_schema_scope *scope, const fl_json_value *rule,
                                    const fl_json_value *value);
fl_status fl_schema_check_unique(const fl_schema_scope *scope, const fl_json_value *rule,
                                 const fl_json_value *value);
fl_status fl_schema_check_min_length(const fl_schema_scope *scope, const fl_json_value *rule,
                                     const fl_json_value *value);
fl_status fl_schema_check_max_length(const fl_schema_scope *scope, const fl_json_value *rule,
                                     const fl_json_value *value);
fl_status fl_schema_check_pattern(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value);
fl_status fl_schema_check_minimum(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value);
fl_status fl_schema_check_maximum(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value);
fl_status fl_schema_check_above(const fl_schema_scope *scope, const fl_json_value *rule,
                                const fl_json_value *value);

/* NULL when the keyword is not among ours. */
const fl_schema_keyword *fl_schema_keyword_find(fl_sv name);

/* True for the names of JSON Schema's types. */
bool fl_schema_type_is_known(fl_sv name);

/* A pattern of the fixed set. */
typedef struct fl_schema_pattern {
    const char *regex;    /* as it stands in schemas */
    const char *would_do; /* for messages */
    bool (*fits)(fl_sv text);
} fl_schema_pattern;

/* NULL when the regular expression is not among ours. */
const fl_schema_pattern *fl_schema_pattern_find(fl_sv regex);

/* What a $ref stands for, "#", "#/$defs/name", "file.json" or "file.json#/$defs/name": *root
 * becomes the document it is in. NULL when there is no such thing (then *root is untouched). */
const fl_json_value *fl_schema_resolve(fl_sv ref, const fl_json_value **root);

/* An embedded file by its name ("common.json"); NULL when there is none. */
const fl_json_value *fl_schema_document(fl_sv name);

/* Checks the schema itself: known keywords only, each with what belongs behind it. FL_EFORMAT. */
fl_status fl_schema_lint(const fl_json_value *schema, fl_err *err) FL_MUST_USE;

/* fl_schema_check for a schema that is known to be sound (the embedded ones are: a test). */
fl_status fl_schema_fit(const fl_json_value *schema, const fl_json_value *value,
                        fl_err *err) FL_MUST_USE;

#endif
