/* Judges a value by a schema, one keyword after another in the order in which the schema has them;
 * the first misfit is reported. One table holds every keyword; a keyword judges only values of its
 * own type, as the standard says. Here are also the keywords that lead to further schemas. */
#include "json/schema.h"

#include <assert.h>

#include "base/shown.h"
#include "json/schema_parts.h"

#define DEPTH_MAX 64 /* schemas inside schemas while one value is judged; more is a circle */
#define MESSAGE_MAX 200

static fl_status fit(const fl_schema_scope *scope, const fl_json_value *schema,
                     const fl_json_value *value);

/* ---- objects ---- */

static fl_status fit_member(const fl_schema_scope *scope, const fl_json_value *schema, fl_sv key,
                            const fl_json_value *value)
{
    fl_json_where at = fl_json_where_key(scope->at, key);
    fl_schema_scope below = *scope;
    below.at = &at;
    return fit(&below, schema, value);
}

static fl_status check_properties(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value)
{
    for (size_t i = 0; i < fl_json_size(rule); i++) {
        fl_sv key;
        const fl_json_value *property = fl_json_member(rule, i, &key);
        const fl_json_value *member = fl_json_get(value, key.ptr);
        fl_status status = member == NULL ? FL_OK : fit_member(scope, property, key, member);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

static fl_status check_required(const fl_schema_scope *scope, const fl_json_value *rule,
                                const fl_json_value *value)
{
    if (fl_json_type_of(value) != FL_JSON_OBJECT) {
        return FL_OK;
    }
    for (size_t i = 0; i < fl_json_size(rule); i++) {
        fl_sv key = fl_json_text(fl_json_at(rule, i));
        if (fl_json_get(value, key.ptr) == NULL) {
            return fl_schema_misfit(scope, "\"%.*s\" is missing", FL_SHOWN(key));
        }
    }
    return FL_OK;
}

/* The members that a schema names, for a message. */
static fl_status refuse_member(const fl_schema_scope *scope, const fl_json_value *properties,
                               fl_sv key)
{
    fl_str known;
    fl_str_init(&known, MESSAGE_MAX);
    for (size_t i = 0; i < fl_json_size(properties); i++) {
        fl_sv name;
        (void)fl_json_member(properties, i, &name);
        fl_str_append_cstr(&known, i == 0 ? "" : ", ");
        fl_str_append(&known, name);
    }
    fl_status status = fl_schema_misfit(scope, "\"%.*s\" is not known here: give %s", FL_SHOWN(key),
                                        known.len == 0 ? "nothing" : known.ptr);
    fl_str_done(&known);
    return status;
}

static fl_status check_additional(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value)
{
    bool is_closed = fl_json_type_of(rule) == FL_JSON_BOOL && !fl_json_bool(rule, true);
    const fl_json_value *properties = fl_json_get(scope->schema, "properties");
    if (fl_json_type_of(value) != FL_JSON_OBJECT) {
        return FL_OK;
    }
    for (size_t i = 0; i < fl_json_size(value); i++) {
        fl_sv key;
        const fl_json_value *member = fl_json_member(value, i, &key);
        if (fl_json_get(properties, key.ptr) != NULL) {
            continue;
        }
        fl_status status = is_closed ? refuse_member(scope, properties, key)
                                     : fit_member(scope, rule, key, member);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

/* ---- arrays ---- */

static fl_status check_items(const fl_schema_scope *scope, const fl_json_value *rule,
                             const fl_json_value *value)
{
    if (fl_json_type_of(value) != FL_JSON_ARRAY) {
        return FL_OK;
    }
    for (size_t i = 0; i < fl_json_size(value); i++) {
        fl_json_where at = fl_json_where_index(scope->at, i);
        fl_schema_scope below = *scope;
        below.at = &at;
        fl_status status = fit(&below, rule, fl_json_at(value, i));
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

/* ---- other schemas ---- */

static fl_status check_ref(const fl_schema_scope *scope, const fl_json_value *rule,
                           const fl_json_value *value)
{
    fl_schema_scope there = *scope;
    const fl_json_value *target = fl_schema_resolve(fl_json_text(rule), &there.root);
    assert(target != NULL);
    return fit(&there, target, value);
}

static fl_status check_one_of(const fl_schema_scope *scope, const fl_json_value *rule,
                              const fl_json_value *value)
{
    size_t n_fits = 0;
    fl_str reasons;
    fl_str_init(&reasons, MESSAGE_MAX);
    fl_status status = FL_OK;
    for (size_t i = 0; i < fl_json_size(rule) && status == FL_OK; i++) {
        fl_err reason = {0};
        fl_schema_scope branch = *scope;
        branch.err = &reason;
        fl_status fitted = fit(&branch, fl_json_at(rule, i), value);
        n_fits += fitted == FL_OK ? 1 : 0;
        if (fitted == FL_EINVAL) {
            fl_str_appendf(&reasons, "%s%s", reasons.len == 0 ? "" : "; or ", reason.message);
        } else if (fitted != FL_OK) {
            status = fl_fail(scope->err, fitted, "%s", reason.message);
        }
    }
    if (status == FL_OK && n_fits == 0) {
        status = fl_schema_misfit(scope, "fits no form: %s", reasons.ptr);
    } else if (status == FL_OK && n_fits > 1) {
        status = fl_schema_misfit(scope, "fits %zu forms at once: give one", n_fits);
    }
    fl_str_done(&reasons);
    return status;
}

/* ---- the table ---- */

static const fl_schema_keyword keywords[] = {
    {"type", FL_SHAPE_TYPE, fl_schema_check_type},
    {"const", FL_SHAPE_ANY, fl_schema_check_const},
    {"enum", FL_SHAPE_LIST, fl_schema_check_enum},
    {"properties", FL_SHAPE_SCHEMA_MAP, check_properties},
    {"required", FL_SHAPE_WORDS, check_required},
    {"additionalProperties", FL_SHAPE_SCHEMA, check_additional},
    {"items", FL_SHAPE_SCHEMA, check_items},
    {"minItems", FL_SHAPE_SIZE, fl_schema_check_min_items},
    {"maxItems", FL_SHAPE_SIZE, fl_schema_check_max_items},
    {"uniqueItems", FL_SHAPE_BOOL, fl_schema_check_unique},
    {"minLength", FL_SHAPE_SIZE, fl_schema_check_min_length},
    {"maxLength", FL_SHAPE_SIZE, fl_schema_check_max_length},
    {"pattern", FL_SHAPE_PATTERN, fl_schema_check_pattern},
    {"minimum", FL_SHAPE_NUMBER, fl_schema_check_minimum},
    {"maximum", FL_SHAPE_NUMBER, fl_schema_check_maximum},
    {"exclusiveMinimum", FL_SHAPE_NUMBER, fl_schema_check_above},
    {"$ref", FL_SHAPE_REF, check_ref},
    {"oneOf", FL_SHAPE_SCHEMAS, check_one_of},
    {"$defs", FL_SHAPE_SCHEMA_MAP, NULL},
    {"$schema", FL_SHAPE_NOTE, NULL},
    {"$id", FL_SHAPE_NOTE, NULL},
    {"$comment", FL_SHAPE_NOTE, NULL},
    {"title", FL_SHAPE_NOTE, NULL},
    {"description", FL_SHAPE_NOTE, NULL},
    {"examples", FL_SHAPE_NOTE, NULL},
};

const fl_schema_keyword *fl_schema_keyword_find(fl_sv name)
{
    for (size_t i = 0; i < sizeof keywords / sizeof keywords[0]; i++) {
        if (fl_sv_eq_cstr(name, keywords[i].name)) {
            return &keywords[i];
        }
    }
    return NULL;
}

static fl_status fit(const fl_schema_scope *scope, const fl_json_value *schema,
                     const fl_json_value *value)
{
    fl_schema_scope below = *scope;
    if (fl_json_type_of(schema) == FL_JSON_BOOL) {
        return fl_json_bool(schema, true) ? FL_OK
                                          : fl_schema_misfit(scope, "nothing may stand here");
    }
    below.schema = schema;
    if (++below.depth > DEPTH_MAX) {
        return fl_fail(scope->err, FL_EFORMAT, "schema: refers to itself without an end");
    }
    for (size_t i = 0; i < fl_json_size(schema); i++) {
        fl_sv name;
        const fl_json_value *rule = fl_json_member(schema, i, &name);
        const fl_schema_keyword *keyword = fl_schema_keyword_find(name);
        assert(keyword != NULL);
        fl_status status = keyword->check == NULL ? FL_OK : keyword->check(&below, rule, value);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

fl_status fl_schema_fit(const fl_json_value *schema, const fl_json_value *value, fl_err *err)
{
    const fl_schema_scope scope = {.root = schema, .err = err};
    return fit(&scope, schema, value);
}

fl_status fl_schema_check(const fl_json_value *schema, const fl_json_value *value, fl_err *err)
{
    fl_status status = fl_schema_lint(schema, err);
    return status == FL_OK ? fl_schema_fit(schema, value, err) : status;
}
