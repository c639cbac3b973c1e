/* Judges schemas: a keyword that the checker does not know, or one with something unfit behind it,
 * must not pass for a rule that holds. */
#include "base/shown.h"
#include "json/schema_parts.h"

/* Where the lint stands. */
typedef struct lint {
    const fl_json_value *root;
    const fl_json_where *at; /* in the schema */
    fl_err *err;
} lint;

static fl_status lint_schema(const lint *l, const fl_json_value *schema);

static fl_status unfit(const lint *l, const char *would_do)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    return fl_fail(l->err, FL_EFORMAT, "schema %s: %s", fl_json_where_format(where, l->at),
                   would_do);
}

static fl_status lint_schemas(const lint *l, const fl_json_value *list)
{
    if (fl_json_type_of(list) != FL_JSON_ARRAY || fl_json_size(list) == 0) {
        return unfit(l, "give a list of schemas");
    }
    for (size_t i = 0; i < fl_json_size(list); i++) {
        fl_json_where at = fl_json_where_index(l->at, i);
        const lint below = {l->root, &at, l->err};
        fl_status status = lint_schema(&below, fl_json_at(list, i));
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

static fl_status lint_map(const lint *l, const fl_json_value *map)
{
    if (fl_json_type_of(map) != FL_JSON_OBJECT) {
        return unfit(l, "give an object of schemas");
    }
    for (size_t i = 0; i < fl_json_size(map); i++) {
        fl_sv name;
        const fl_json_value *schema = fl_json_member(map, i, &name);
        fl_json_where at = fl_json_where_key(l->at, name);
        const lint below = {l->root, &at, l->err};
        fl_status status = lint_schema(&below, schema);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

static fl_status lint_words(const lint *l, const fl_json_value *list)
{
    if (fl_json_type_of(list) != FL_JSON_ARRAY) {
        return unfit(l, "give a list of texts");
    }
    for (size_t i = 0; i < fl_json_size(list); i++) {
        if (fl_json_type_of(fl_json_at(list, i)) != FL_JSON_STRING) {
            return unfit(l, "give a list of texts");
        }
    }
    return FL_OK;
}

static fl_status lint_size(const lint *l, const fl_json_value *rule)
{
    int64_t size = 0;
    if (!fl_json_int(rule, &size) || size < 0) {
        return unfit(l, "give a whole number from 0");
    }
    return FL_OK;
}

static fl_status lint_text(const lint *l, const fl_json_value *rule, fl_schema_shape shape)
{
    const fl_json_value *root = l->root;
    fl_sv text = fl_json_text(rule);
    if (shape == FL_SHAPE_TYPE && !fl_schema_type_is_known(text)) {
        return unfit(l, "give one of JSON Schema's types");
    }
    if (shape == FL_SHAPE_PATTERN && fl_schema_pattern_find(text) == NULL) {
        return unfit(l, "the pattern is not among those known (src/json/schema_pattern.c)");
    }
    if (shape == FL_SHAPE_REF && (text.len == 0 || fl_schema_resolve(text, &root) == NULL)) {
        return unfit(l, "refers to nothing");
    }
    return FL_OK;
}

/* Judges what stands behind a keyword. */
static fl_status lint_rule(const lint *l, const fl_json_value *rule, fl_schema_shape shape)
{
    switch (shape) {
    case FL_SHAPE_NUMBER:
        return fl_json_type_of(rule) == FL_JSON_NUMBER ? FL_OK : unfit(l, "give a number");
    case FL_SHAPE_SIZE:
        return lint_size(l, rule);
    case FL_SHAPE_BOOL:
        return fl_json_type_of(rule) == FL_JSON_BOOL ? FL_OK : unfit(l, "give true or false");
    case FL_SHAPE_WORDS:
        return lint_words(l, rule);
    case FL_SHAPE_LIST:
        return fl_json_type_of(rule) == FL_JSON_ARRAY && fl_json_size(rule) > 0
                   ? FL_OK
                   : unfit(l, "give a list of values");
    case FL_SHAPE_TYPE:
    case FL_SHAPE_PATTERN:
    case FL_SHAPE_REF:
        return lint_text(l, rule, shape);
    case FL_SHAPE_SCHEMA:
        return lint_schema(l, rule);
    case FL_SHAPE_SCHEMAS:
        return lint_schemas(l, rule);
    case FL_SHAPE_SCHEMA_MAP:
        return lint_map(l, rule);
    case FL_SHAPE_NOTE:
    case FL_SHAPE_ANY:
        break;
    }
    return FL_OK;
}

static fl_status lint_keyword(const lint *l, fl_sv name, const fl_json_value *rule)
{
    const fl_schema_keyword *keyword = fl_schema_keyword_find(name);
    if (keyword == NULL) {
        return fl_fail(l->err, FL_EFORMAT, "schema: the keyword \"%.*s\" is not among those known",
                       FL_SHOWN(name));
    }
    return lint_rule(l, rule, keyword->shape);
}

static fl_status lint_schema(const lint *l, const fl_json_value *schema)
{
    if (fl_json_type_of(schema) == FL_JSON_BOOL) {
        return FL_OK;
    }
    if (fl_json_type_of(schema) != FL_JSON_OBJECT) {
        return unfit(l, "give a schema: an object, true or false");
    }
    for (size_t i = 0; i < fl_json_size(schema); i++) {
        fl_sv name;
        const fl_json_value *rule = fl_json_member(schema, i, &name);
        fl_json_where at = fl_json_where_key(l->at, name);
        const lint below = {l->root, &at, l->err};
        fl_status status = lint_keyword(&below, name, rule);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

fl_status fl_schema_lint(const fl_json_value *schema, fl_err *err)
{
    const lint l = {.root = schema, .err = err};
    return lint_schema(&l, schema);
}
