/* Makes JSON members of structs, by the tables of event_codec_fields.c: the way back of
 * event_codec_reader.c. */
#include "json/event_codec_writer.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/civil.h"
#include "json/event_codec_fields.h"

typedef json_t *(*make_fn)(const fl_field *field, const char *in, fl_err *err);

static json_t *refuse(fl_err *err, fl_status status, const char *key, const char *would_do)
{
    (void)fl_fail(err, status, "%s: %s", key, would_do);
    return NULL;
}

static json_t *make_id_value(fl_id id)
{
    char text[FL_ID_TEXT_MAX];
    return json_string(fl_id_format(text, id));
}

static json_t *make_id(const fl_field *field, const char *in, fl_err *err)
{
    (void)err;
    const fl_id *id = (const void *)(in + field->offset);
    return make_id_value(*id);
}

static json_t *make_ids(const fl_field *field, const char *in, fl_err *err)
{
    (void)err;
    const fl_id_list *list = (const void *)(in + field->offset);
    json_t *array = json_array();
    for (size_t i = 0; i < list->count; i++) {
        (void)json_array_append_new(array, make_id_value(list->ids[i]));
    }
    return array;
}

static json_t *make_text(const fl_field *field, const char *in, fl_err *err)
{
    const fl_sv *text = (const void *)(in + field->offset);
    json_t *value = json_stringn(text->ptr == NULL ? "" : text->ptr, text->len);
    return value != NULL ? value : refuse(err, FL_EFORMAT, field->key, "the text is not UTF-8");
}

static json_t *make_json(const fl_field *field, const char *in, fl_err *err)
{
    const fl_sv *text = (const void *)(in + field->offset);
    json_error_t fault;
    json_t *value =
        json_loadb(text->ptr == NULL ? "" : text->ptr, text->len, JSON_REJECT_DUPLICATES, &fault);
    return value != NULL ? value : refuse(err, FL_EFORMAT, field->key, fault.text);
}

static json_t *make_int(const fl_field *field, const char *in, fl_err *err)
{
    (void)err;
    const int64_t *whole = (const void *)(in + field->offset);
    return json_integer(*whole);
}

static json_t *make_number(const fl_field *field, const char *in, fl_err *err)
{
    const double *number = (const void *)(in + field->offset);
    json_t *value = json_real(*number); /* NULL when it is not finite */
    return value != NULL ? value : refuse(err, FL_EINVAL, field->key, "not a number");
}

static json_t *make_bool(const fl_field *field, const char *in, fl_err *err)
{
    (void)err;
    const bool *claim = (const void *)(in + field->offset);
    return json_boolean(*claim);
}

static unsigned unsigned_at(const fl_field *field, const char *in)
{
    unsigned value = 0;
    memcpy(&value, in + field->offset, sizeof value);
    return value;
}

static json_t *make_word(const fl_field *field, const char *in, fl_err *err)
{
    unsigned word = unsigned_at(field, in);
    if (word >= (unsigned)field->words->count) {
        return refuse(err, FL_EINVAL, field->key, "no word has this number");
    }
    return json_string(field->words->words[word].word);
}

static json_t *make_words(const fl_field *field, const char *in, fl_err *err)
{
    unsigned mask = unsigned_at(field, in);
    json_t *array = json_array();
    if (mask >> field->words->count != 0) {
        json_decref(array);
        return refuse(err, FL_EINVAL, field->key, "no word has one of these bits");
    }
    for (int i = 0; i < field->words->count; i++) {
        if ((mask >> i & 1u) != 0) {
            (void)json_array_append_new(array, json_string(field->words->words[i].word));
        }
    }
    return array;
}

static json_t *make_time(const fl_field *field, const char *in, fl_err *err)
{
    char text[FL_CIVIL_TEXT_MAX];
    const int64_t *utc_s = (const void *)(in + field->offset);
    if (*utc_s < FL_EVENT_UTC_S_MIN || *utc_s > FL_EVENT_UTC_S_MAX) {
        return refuse(err, FL_EDOMAIN, field->key, "give a time in the years 1 to 9999");
    }
    return json_string(fl_civil_format_utc(text, *utc_s));
}

static json_t *make_struct(const fl_field *field, const char *in, fl_err *err)
{
    json_t *object = json_object();
    if (fl_shape_write(field->shape, in, object, err) != FL_OK) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static json_t *make_object(const fl_field *field, const char *in, fl_err *err)
{
    return make_struct(field, in + field->offset, err);
}

static size_t count_at(const fl_field *field, const char *in)
{
    size_t count = 0;
    memcpy(&count, in + field->count_offset, sizeof count);
    return count;
}

static json_t *make_objects(const fl_field *field, const char *in, fl_err *err)
{
    const char *items = NULL;
    json_t *array = json_array();
    memcpy(&items, in + field->offset, sizeof items);
    for (size_t i = 0; i < count_at(field, in); i++) {
        json_t *object = make_struct(field, items + i * field->shape->size, err);
        if (object == NULL) {
            json_decref(array);
            return NULL;
        }
        (void)json_array_append_new(array, object);
    }
    return array;
}

static bool is_number_absent(const fl_field *field, double number)
{
    return isnan(field->fallback) ? isnan(number) : number == field->fallback;
}

/* True when the struct holds what stands for an absent member. */
static bool is_absent(const fl_field *field, const char *in)
{
    const void *slot = in + field->offset;
    switch (field->type) {
    case FL_FIELD_ID:
        return fl_id_is_none(*(const fl_id *)slot);
    case FL_FIELD_IDS:
        return ((const fl_id_list *)slot)->count == 0;
    case FL_FIELD_LINE:
    case FL_FIELD_TEXT:
    case FL_FIELD_DATE:
    case FL_FIELD_JSON:
        return ((const fl_sv *)slot)->len == 0;
    case FL_FIELD_INT:
        return *(const int64_t *)slot == (int64_t)field->fallback;
    case FL_FIELD_NUMBER:
        return is_number_absent(field, *(const double *)slot);
    case FL_FIELD_BOOL:
        return !*(const bool *)slot;
    case FL_FIELD_WORD:
        return unsigned_at(field, in) == (unsigned)field->fallback;
    case FL_FIELD_WORDS:
        return unsigned_at(field, in) == 0;
    case FL_FIELD_TIME:
        return *(const int64_t *)slot == INT64_MIN;
    case FL_FIELD_OBJECTS:
        return count_at(field, in) == 0;
    case FL_FIELD_OBJECT:
    case FL_FIELD_TYPE_COUNT:
        break;
    }
    return false;
}

fl_status fl_shape_write(const fl_shape *shape, const void *in, json_t *object, fl_err *err)
{
    static const make_fn makers[FL_FIELD_TYPE_COUNT] = {
        [FL_FIELD_ID] = make_id,         [FL_FIELD_IDS] = make_ids,
        [FL_FIELD_LINE] = make_text,     [FL_FIELD_TEXT] = make_text,
        [FL_FIELD_DATE] = make_text,     [FL_FIELD_JSON] = make_json,
        [FL_FIELD_INT] = make_int,       [FL_FIELD_NUMBER] = make_number,
        [FL_FIELD_BOOL] = make_bool,     [FL_FIELD_WORD] = make_word,
        [FL_FIELD_WORDS] = make_words,   [FL_FIELD_TIME] = make_time,
        [FL_FIELD_OBJECT] = make_object, [FL_FIELD_OBJECTS] = make_objects,
    };
    for (size_t i = 0; i < shape->n_fields; i++) {
        const fl_field *field = &shape->fields[i];
        fl_err inner = {0};
        assert(field->type < FL_FIELD_TYPE_COUNT);
        if (!field->is_needed && is_absent(field, in)) {
            continue;
        }
        json_t *value = makers[field->type](field, in, &inner);
        if (value == NULL) {
            return fl_fail(err, inner.code, "%s", inner.message);
        }
        int failed = json_object_set_new(object, field->key, value);
        assert(failed == 0);
        (void)failed;
    }
    return FL_OK;
}
