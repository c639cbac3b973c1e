/* The reader: jansson parses, we bound the depth and lend the values out. */
#include "json/json.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include <jansson.h>

#include "base/alloc.h"
#include "base/limits.h"
#include "base/num.h"
#include "base/shown.h"
#include "json/text.h"

struct fl_json_doc {
    json_t *root; /* owned */
};

static void *take_memory(size_t size)
{
    return fl_alloc_resize(NULL, size, 1);
}

/* jansson without memory gives half an object or calls good text malformed: it asks where all of us
 * ask, which ends the process instead (base/alloc.h). Before main, so before any thread. */
__attribute__((constructor)) static void share_memory(void)
{
    json_set_alloc_funcs(take_memory, fl_alloc_free);
}

static const json_t *json_of(const fl_json_value *value)
{
    return (const json_t *)value;
}

static const fl_json_value *value_of(const json_t *json)
{
    return (const fl_json_value *)json;
}

/* jansson's iterators take a writable object, and only read it. */
static json_t *lend(const json_t *json)
{
    return (json_t *)(uintptr_t)json;
}

/* True when nothing is nested deeper than `levels`. */
static bool is_within_depth(const json_t *json, int levels)
{
    if (!json_is_array(json) && !json_is_object(json)) {
        return true;
    }
    if (levels == 0) {
        return false;
    }
    for (size_t i = 0; i < json_array_size(json); i++) {
        if (!is_within_depth(json_array_get(json, i), levels - 1)) {
            return false;
        }
    }
    json_t *object = lend(json);
    for (void *at = json_object_iter(object); at != NULL; at = json_object_iter_next(object, at)) {
        if (!is_within_depth(json_object_iter_value(at), levels - 1)) {
            return false;
        }
    }
    return true;
}

fl_status fl_json_load(fl_sv text, json_t **out, fl_err *err)
{
    json_error_t fault;
    /* jansson takes a zero byte for the end of the text, and would not look at what follows */
    if (text.len > 0 && memchr(text.ptr, 0, text.len) != NULL) {
        return fl_fail(err, FL_EFORMAT, "JSON line 1: a zero byte in the text");
    }
    json_t *root = json_loadb(text.ptr == NULL ? "" : text.ptr, text.len,
                              JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &fault);
    if (root == NULL) {
        return fl_fail(err, FL_EFORMAT, "JSON line %d column %d: %s", fault.line, fault.column,
                       fault.text);
    }
    *out = root;
    return FL_OK;
}

fl_status fl_json_parse(fl_sv text, fl_json_doc **out, fl_err *err)
{
    json_t *root = NULL;
    fl_status status = fl_json_load(text, &root, err);
    if (status != FL_OK) {
        return status;
    }
    if (!is_within_depth(root, FL_JSON_DEPTH_MAX)) {
        json_decref(root);
        return fl_fail(err, FL_EFORMAT, "JSON: nested deeper than %d levels", FL_JSON_DEPTH_MAX);
    }
    fl_json_doc *doc = fl_alloc(1, sizeof *doc);
    doc->root = root;
    *out = doc;
    return FL_OK;
}

void fl_json_free(fl_json_doc *doc)
{
    if (doc != NULL) {
        json_decref(doc->root);
        fl_alloc_free(doc);
    }
}

const fl_json_value *fl_json_root(const fl_json_doc *doc)
{
    return value_of(doc->root);
}

fl_json_type fl_json_type_of(const fl_json_value *value)
{
    static const fl_json_type types[] = {
        [JSON_OBJECT] = FL_JSON_OBJECT, [JSON_ARRAY] = FL_JSON_ARRAY,
        [JSON_STRING] = FL_JSON_STRING, [JSON_INTEGER] = FL_JSON_NUMBER,
        [JSON_REAL] = FL_JSON_NUMBER,   [JSON_TRUE] = FL_JSON_BOOL,
        [JSON_FALSE] = FL_JSON_BOOL,    [JSON_NULL] = FL_JSON_NULL,
    };
    return value == NULL ? FL_JSON_ABSENT : types[json_typeof(json_of(value))];
}

const fl_json_value *fl_json_get(const fl_json_value *object, const char *key)
{
    return value_of(json_object_get(json_of(object), key));
}

size_t fl_json_size(const fl_json_value *value)
{
    const json_t *json = json_of(value);
    return json_is_object(json) ? json_object_size(json) : json_array_size(json);
}

const fl_json_value *fl_json_at(const fl_json_value *array, size_t index)
{
    return value_of(json_array_get(json_of(array), index));
}

const fl_json_value *fl_json_member(const fl_json_value *object, size_t index, fl_sv *key)
{
    json_t *json = lend(json_of(object));
    void *at = json_object_iter(json);
    for (size_t i = 0; i < index && at != NULL; i++) {
        at = json_object_iter_next(json, at);
    }
    if (at == NULL) {
        return NULL;
    }
    if (key != NULL) {
        *key = fl_sv_from_cstr(json_object_iter_key(at));
    }
    return value_of(json_object_iter_value(at));
}

bool fl_json_bool(const fl_json_value *value, bool fallback)
{
    const json_t *json = json_of(value);
    return json_is_boolean(json) ? json_is_true(json) : fallback;
}

fl_sv fl_json_text(const fl_json_value *value)
{
    const json_t *json = json_of(value);
    if (!json_is_string(json)) {
        return FL_SV("");
    }
    return (fl_sv){json_string_value(json), json_string_length(json)};
}

bool fl_json_number(const fl_json_value *value, double *out)
{
    const json_t *json = json_of(value);
    if (!json_is_number(json)) {
        return false;
    }
    *out = json_number_value(json);
    return true;
}

bool fl_json_int(const fl_json_value *value, int64_t *out)
{
    const json_t *json = json_of(value);
    if (json_is_integer(json)) {
        *out = json_integer_value(json);
        return true;
    }
    double number = json_is_real(json) ? json_real_value(json) : 0.5;
    if (number != trunc(number) || fabs(number) > 0x1p53) {
        return false;
    }
    *out = (int64_t)number;
    return true;
}

/* The value as it stands in a message, cut short. */
static fl_status refuse(const fl_json_value *value, const char *key, double min, double max,
                        fl_err *err)
{
    static const fl_json_style style = {.is_sorted = false};
    char low[FL_NUM_TEXT_MAX];
    char high[FL_NUM_TEXT_MAX];
    fl_str shown;
    fl_str_init(&shown, FL_SHOWN_MAX);
    if (value == NULL) {
        fl_str_append_cstr(&shown, "missing");
    } else {
        fl_json_append(json_of(value), &style, &shown);
    }
    fl_status status =
        fl_fail(err, FL_EINVAL, "%s: %s: give a number from %s to %s", key, shown.ptr,
                fl_num_format(low, min, 15), fl_num_format(high, max, 15));
    fl_str_done(&shown);
    return status;
}

fl_status fl_json_need_number(const fl_json_value *object, const char *key, double min, double max,
                              double *out, fl_err *err)
{
    double number = 0.0;
    const fl_json_value *value = fl_json_get(object, key);
    assert(isfinite(min) && isfinite(max));
    if (!fl_json_number(value, &number) || number < min || number > max) {
        return refuse(value, key, min, max, err);
    }
    *out = number;
    return FL_OK;
}

fl_status fl_json_canonical(const fl_json_value *value, fl_str *out, fl_err *err)
{
    static const fl_json_style style = {.is_sorted = true};
    assert(value != NULL);
    size_t len = out->len;
    fl_json_append(json_of(value), &style, out);
    if (out->is_full) {
        out->len = len; /* as it was */
        if (out->ptr != NULL) {
            out->ptr[len] = '\0';
        }
        return fl_fail(err, FL_ETOOBIG, "JSON: more than %zu bytes", out->max);
    }
    return FL_OK;
}
