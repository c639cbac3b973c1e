/* The keywords that judge a value without a further schema: its type, its size, its text, its
 * number; and equality as JSON Schema means it. */
#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "base/num.h"
#include "base/shown.h"
#include "json/schema_parts.h"

#define MESSAGE_MAX 200
#define SHOWN_TEXT_MAX (FL_SHOWN_MAX + 8)

fl_status fl_schema_misfit(const fl_schema_scope *scope, const char *format, ...)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    char what[MESSAGE_MAX];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    return fl_fail(scope->err, FL_EINVAL, "%s: %s", fl_json_where_format(where, scope->at), what);
}

/* The value as it stands in a message. */
static const char *show(char buffer[SHOWN_TEXT_MAX], const fl_json_value *value)
{
    double number = 0.0;
    fl_json_type type = fl_json_type_of(value);
    if (type == FL_JSON_STRING) {
        fl_sv text = fl_json_text(value);
        (void)snprintf(buffer, SHOWN_TEXT_MAX, "\"%.*s\"", FL_SHOWN(text));
    } else if (fl_json_number(value, &number)) {
        (void)fl_num_format(buffer, number, 15);
    } else if (type == FL_JSON_BOOL) {
        (void)snprintf(buffer, SHOWN_TEXT_MAX, "%s", fl_json_bool(value, false) ? "true" : "false");
    } else if (type == FL_JSON_NULL) {
        (void)snprintf(buffer, SHOWN_TEXT_MAX, "null");
    } else {
        (void)snprintf(buffer, SHOWN_TEXT_MAX, type == FL_JSON_ARRAY ? "a list" : "an object");
    }
    return buffer;
}

/* ---- type, const, enum ---- */

typedef struct type_name {
    const char *name;
    fl_json_type type;
    const char *would_do;
} type_name;

static const type_name types[] = {
    {"null", FL_JSON_NULL, "null"},          {"boolean", FL_JSON_BOOL, "true or false"},
    {"number", FL_JSON_NUMBER, "a number"},  {"integer", FL_JSON_NUMBER, "a whole number"},
    {"string", FL_JSON_STRING, "a text"},    {"array", FL_JSON_ARRAY, "a list"},
    {"object", FL_JSON_OBJECT, "an object"},
};

static const type_name *type_find(fl_sv name)
{
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        if (fl_sv_eq_cstr(name, types[i].name)) {
            return &types[i];
        }
    }
    return NULL;
}

bool fl_schema_type_is_known(fl_sv name)
{
    return type_find(name) != NULL;
}

static bool is_whole_number(const fl_json_value *value)
{
    double number = 0.5;
    return fl_json_number(value, &number) && number == trunc(number);
}

fl_status fl_schema_check_type(const fl_schema_scope *scope, const fl_json_value *rule,
                               const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    const type_name *wanted = type_find(fl_json_text(rule));
    assert(wanted != NULL);
    bool is_integer = fl_sv_eq_cstr(fl_json_text(rule), "integer");
    if (fl_json_type_of(value) != wanted->type || (is_integer && !is_whole_number(value))) {
        return fl_schema_misfit(scope, "%s: give %s", show(shown, value), wanted->would_do);
    }
    return FL_OK;
}

static bool is_equal(const fl_json_value *a, const fl_json_value *b);

static bool is_equal_list(const fl_json_value *a, const fl_json_value *b)
{
    for (size_t i = 0; i < fl_json_size(a); i++) {
        if (!is_equal(fl_json_at(a, i), fl_json_at(b, i))) {
            return false;
        }
    }
    return true;
}

/* Keys that this layer lends out are terminated texts. */
static bool is_equal_object(const fl_json_value *a, const fl_json_value *b)
{
    for (size_t i = 0; i < fl_json_size(a); i++) {
        fl_sv key;
        const fl_json_value *value = fl_json_member(a, i, &key);
        if (!is_equal(value, fl_json_get(b, key.ptr))) {
            return false;
        }
    }
    return true;
}

static bool is_equal_number(const fl_json_value *a, const fl_json_value *b)
{
    int64_t whole_a = 0;
    int64_t whole_b = 0;
    double number_a = 0.0;
    double number_b = 0.0;
    if (fl_json_int(a, &whole_a) && fl_json_int(b, &whole_b)) {
        return whole_a == whole_b;
    }
    return fl_json_number(a, &number_a) && fl_json_number(b, &number_b) && number_a == number_b;
}

/* Equal as JSON Schema means it: 1 and 1.0 are, the order of members does not matter. */
static bool is_equal(const fl_json_value *a, const fl_json_value *b)
{
    if (fl_json_type_of(a) != fl_json_type_of(b) || fl_json_size(a) != fl_json_size(b)) {
        return false;
    }
    switch (fl_json_type_of(a)) {
    case FL_JSON_BOOL:
        return fl_json_bool(a, false) == fl_json_bool(b, false);
    case FL_JSON_NUMBER:
        return is_equal_number(a, b);
    case FL_JSON_STRING:
        return fl_sv_eq(fl_json_text(a), fl_json_text(b));
    case FL_JSON_ARRAY:
        return is_equal_list(a, b);
    case FL_JSON_OBJECT:
        return is_equal_object(a, b);
    case FL_JSON_ABSENT:
    case FL_JSON_NULL:
        break;
    }
    return true;
}

fl_status fl_schema_check_const(const fl_schema_scope *scope, const fl_json_value *rule,
                                const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    char wanted[SHOWN_TEXT_MAX];
    if (!is_equal(rule, value)) {
        return fl_schema_misfit(scope, "%s: give %s", show(shown, value), show(wanted, rule));
    }
    return FL_OK;
}

/* The values of a list as a person reads them, without quotes. */
static void append_choices(fl_str *out, const fl_json_value *list)
{
    char shown[SHOWN_TEXT_MAX];
    for (size_t i = 0; i < fl_json_size(list); i++) {
        const fl_json_value *choice = fl_json_at(list, i);
        fl_str_append_cstr(out, i == 0 ? "" : ", ");
        if (fl_json_type_of(choice) == FL_JSON_STRING) {
            fl_str_append(out, fl_json_text(choice));
        } else {
            fl_str_append_cstr(out, show(shown, choice));
        }
    }
}

fl_status fl_schema_check_enum(const fl_schema_scope *scope, const fl_json_value *rule,
                               const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    fl_str choices;
    for (size_t i = 0; i < fl_json_size(rule); i++) {
        if (is_equal(fl_json_at(rule, i), value)) {
            return FL_OK;
        }
    }
    fl_str_init(&choices, MESSAGE_MAX);
    append_choices(&choices, rule);
    fl_status status = fl_schema_misfit(scope, "%s: give %s", show(shown, value), choices.ptr);
    fl_str_done(&choices);
    return status;
}

/* ---- counts ---- */

static int64_t size_of_rule(const fl_json_value *rule)
{
    int64_t size = 0;
    bool is_size = fl_json_int(rule, &size);
    assert(is_size);
    (void)is_size;
    return size;
}

fl_status fl_schema_check_min_items(const fl_schema_scope *scope, const fl_json_value *rule,
                                    const fl_json_value *value)
{
    int64_t least = size_of_rule(rule);
    if (fl_json_type_of(value) == FL_JSON_ARRAY && (int64_t)fl_json_size(value) < least) {
        return fl_schema_misfit(scope, "%zu entries: give at least %lld", fl_json_size(value),
                                (long long)least);
    }
    return FL_OK;
}

fl_status fl_schema_check_max_items(const fl_schema_scope *scope, const fl_json_value *rule,
                                    const fl_json_value *value)
{
    int64_t most = size_of_rule(rule);
    if (fl_json_type_of(value) == FL_JSON_ARRAY && (int64_t)fl_json_size(value) > most) {
        return fl_schema_misfit(scope, "%zu entries: give at most %lld", fl_json_size(value),
                                (long long)most);
    }
    return FL_OK;
}

fl_status fl_schema_check_unique(const fl_schema_scope *scope, const fl_json_value *rule,
                                 const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    if (fl_json_type_of(value) != FL_JSON_ARRAY || !fl_json_bool(rule, false)) {
        return FL_OK;
    }
    for (size_t i = 0; i < fl_json_size(value); i++) {
        for (size_t j = 0; j < i; j++) {
            if (is_equal(fl_json_at(value, i), fl_json_at(value, j))) {
                return fl_schema_misfit(scope, "%s stands twice: give each once",
                                        show(shown, fl_json_at(value, i)));
            }
        }
    }
    return FL_OK;
}

/* ---- texts ---- */

/* Characters (code points) of UTF-8, which the parser has checked. */
static int64_t count_characters(fl_sv text)
{
    int64_t count = 0;
    for (size_t i = 0; i < text.len; i++) {
        if (((unsigned char)text.ptr[i] & 0xc0) != 0x80) {
            count++;
        }
    }
    return count;
}

fl_status fl_schema_check_min_length(const fl_schema_scope *scope, const fl_json_value *rule,
                                     const fl_json_value *value)
{
    int64_t least = size_of_rule(rule);
    if (fl_json_type_of(value) == FL_JSON_STRING && count_characters(fl_json_text(value)) < least) {
        return fl_schema_misfit(scope, "\"%.*s\": give at least %lld characters",
                                FL_SHOWN(fl_json_text(value)), (long long)least);
    }
    return FL_OK;
}

fl_status fl_schema_check_max_length(const fl_schema_scope *scope, const fl_json_value *rule,
                                     const fl_json_value *value)
{
    int64_t most = size_of_rule(rule);
    int64_t length = count_characters(fl_json_text(value));
    if (fl_json_type_of(value) == FL_JSON_STRING && length > most) {
        return fl_schema_misfit(scope, "%lld characters: give at most %lld", (long long)length,
                                (long long)most);
    }
    return FL_OK;
}

fl_status fl_schema_check_pattern(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    const fl_schema_pattern *pattern = fl_schema_pattern_find(fl_json_text(rule));
    assert(pattern != NULL);
    if (fl_json_type_of(value) == FL_JSON_STRING && !pattern->fits(fl_json_text(value))) {
        return fl_schema_misfit(scope, "%s: give %s", show(shown, value), pattern->would_do);
    }
    return FL_OK;
}

/* ---- numbers ---- */

static double number_of(const fl_json_value *rule)
{
    double number = NAN;
    bool is_number = fl_json_number(rule, &number);
    assert(is_number);
    (void)is_number;
    return number;
}

fl_status fl_schema_check_minimum(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    char limit[SHOWN_TEXT_MAX];
    double number = 0.0;
    if (fl_json_number(value, &number) && number < number_of(rule)) {
        return fl_schema_misfit(scope, "%s: give at least %s", show(shown, value),
                                show(limit, rule));
    }
    return FL_OK;
}

fl_status fl_schema_check_maximum(const fl_schema_scope *scope, const fl_json_value *rule,
                                  const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    char limit[SHOWN_TEXT_MAX];
    double number = 0.0;
    if (fl_json_number(value, &number) && number > number_of(rule)) {
        return fl_schema_misfit(scope, "%s: give at most %s", show(shown, value),
                                show(limit, rule));
    }
    return FL_OK;
}

fl_status fl_schema_check_above(const fl_schema_scope *scope, const fl_json_value *rule,
                                const fl_json_value *value)
{
    char shown[SHOWN_TEXT_MAX];
    char limit[SHOWN_TEXT_MAX];
    double number = 0.0;
    if (fl_json_number(value, &number) && number <= number_of(rule)) {
        return fl_schema_misfit(scope, "%s: give more than %s", show(shown, value),
                                show(limit, rule));
    }
    return FL_OK;
}
