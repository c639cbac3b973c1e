/* Reads JSON members into structs, by the tables of event_codec_fields.c. The schema has been
 * checked where the text came from outside; what is checked here besides is what a schema cannot
 * say (bytes of a text, a date that exists), and that the types are right, so that a damaged
 * journal gives an error and nothing worse. */
#include <assert.h>
#include <string.h>

#include "base/civil.h"
#include "base/limits.h"
#include "base/shown.h"
#include "json/event_codec_fields.h"

fl_status fl_field_fail(const fl_json_where *at, fl_status status, const fl_err *inner, fl_err *err)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    return fl_fail(err, status, "%s: %s", fl_json_where_format(where, at), inner->message);
}

static fl_status fail_at(const fl_field_reading *reading, fl_status status, const char *would_do)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    return fl_fail(reading->err, status, "%s: %s", fl_json_where_format(where, reading->at),
                   would_do);
}

static fl_status read_id(const fl_field_reading *reading, const fl_field *field,
                         const fl_json_value *value, void *slot)
{
    (void)field;
    fl_err inner = {0};
    fl_id id;
    fl_status status = fl_id_parse(fl_json_text(value), &id, &inner);
    if (status != FL_OK) {
        return fl_field_fail(reading->at, status, &inner, reading->err);
    }
    if (fl_id_is_none(id)) { /* in structs it stands for an absent one */
        return fail_at(reading, FL_EINVAL, "all zero: give a random UUID");
    }
    memcpy(slot, &id, sizeof id);
    return FL_OK;
}

static fl_status read_ids(const fl_field_reading *reading, const fl_field *field,
                          const fl_json_value *value, void *slot)
{
    size_t count = fl_json_size(value);
    fl_id *ids = FL_ARENA_ARRAY(reading->arena, fl_id, count);
    if (fl_json_type_of(value) != FL_JSON_ARRAY) {
        return fail_at(reading, FL_EINVAL, "give a list of ids");
    }
    for (size_t i = 0; i < count; i++) {
        fl_json_where at = fl_json_where_index(reading->at, i);
        fl_field_reading below = *reading;
        below.at = &at;
        fl_status status = read_id(&below, field, fl_json_at(value, i), &ids[i]);
        if (status != FL_OK) {
            return status;
        }
    }
    fl_id_list *list = slot;
    *list = (fl_id_list){ids, count};
    return FL_OK;
}

/* JSON Schema counts characters; the limits are bytes. */
static fl_status read_text(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    fl_sv *text = slot;
    size_t most = field->type == FL_FIELD_TEXT ? FL_NOTE_BYTES_MAX : FL_NAME_BYTES_MAX;
    if (fl_json_type_of(value) != FL_JSON_STRING) {
        return fail_at(reading, FL_EINVAL, "give a text");
    }
    if (fl_json_text(value).len > most) {
        return fl_fail(reading->err, FL_EINVAL, "%s: %zu bytes: give at most %zu",
                       fl_json_where_format(where, reading->at), fl_json_text(value).len, most);
    }
    *text = fl_arena_copy_sv(reading->arena, fl_json_text(value));
    return FL_OK;
}

static fl_status parse_time(const fl_field_reading *reading, const fl_json_value *value,
                            int64_t *utc_s, fl_precision *precision)
{
    fl_err inner = {0};
    fl_status status =
        fl_civil_parse(fl_json_text(value), reading->tz_offset_min, utc_s, precision, &inner);
    return status == FL_OK ? FL_OK : fl_field_fail(reading->at, status, &inner, reading->err);
}

static fl_status read_time(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    (void)field;
    fl_precision precision = FL_PRECISION_EXACT;
    return parse_time(reading, value, slot, &precision);
}

static fl_status read_date(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    fl_precision precision = FL_PRECISION_EXACT;
    int64_t utc_s = 0;
    fl_status status = parse_time(reading, value, &utc_s, &precision);
    if (status != FL_OK) {
        return status;
    }
    if (precision != FL_PRECISION_DAY) {
        return fail_at(reading, FL_EINVAL, "give a date such as 2026-03-01");
    }
    return read_text(reading, field, value, slot);
}

static fl_status read_json(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    (void)field;
    fl_str text;
    fl_sv *out = slot;
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    fl_status status = fl_json_canonical(value, &text, reading->err);
    if (status == FL_OK) {
        *out = fl_arena_copy_sv(reading->arena, fl_str_sv(&text));
    }
    fl_str_done(&text);
    return status;
}

static fl_status read_int(const fl_field_reading *reading, const fl_field *field,
                          const fl_json_value *value, void *slot)
{
    (void)field;
    return fl_json_int(value, slot) ? FL_OK : fail_at(reading, FL_EINVAL, "give a whole number");
}

static fl_status read_number(const fl_field_reading *reading, const fl_field *field,
                             const fl_json_value *value, void *slot)
{
    (void)field;
    return fl_json_number(value, slot) ? FL_OK : fail_at(reading, FL_EINVAL, "give a number");
}

static fl_status read_bool(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    (void)field;
    bool *out = slot;
    if (fl_json_type_of(value) != FL_JSON_BOOL) {
        return fail_at(reading, FL_EINVAL, "give true or false");
    }
    *out = fl_json_bool(value, false);
    return FL_OK;
}

static fl_status find_word(const fl_field_reading *reading, const fl_word_list *list,
                           const fl_json_value *value, unsigned *out)
{
    char where[FL_JSON_WHERE_TEXT_MAX];
    fl_sv word = fl_json_text(value);
    int found = fl_word_find(list->words, list->count, word);
    if (found < 0) {
        return fl_fail(reading->err, FL_EINVAL, "%s: \"%.*s\": give a word such as %s",
                       fl_json_where_format(where, reading->at), FL_SHOWN(word),
                       list->words[0].word);
    }
    *out = (unsigned)found;
    return FL_OK;
}

static fl_status read_word(const fl_field_reading *reading, const fl_field *field,
                           const fl_json_value *value, void *slot)
{
    unsigned word = 0;
    fl_status status = find_word(reading, field->words, value, &word);
    memcpy(slot, &word, sizeof word); /* enums are unsigned here: see the assertion below */
    return status;
}
static_assert(sizeof(fl_form) == sizeof(unsigned) && sizeof(fl_use) == sizeof(unsigned),
              "an enum of words is as wide as unsigned");

static fl_status read_words(const fl_field_reading *reading, const fl_field *field,
                            const fl_json_value *value, void *slot)
{
    unsigned *mask = slot;
    if (fl_json_type_of(value) != FL_JSON_ARRAY) {
        return fail_at(reading, FL_EINVAL, "give a list of words");
    }
    for (size_t i = 0; i < fl_json_size(value); i++) {
        unsigned word = 0;
        fl_status status = find_word(reading, field->words, fl_json_at(value, i), &word);
        if (status != FL_OK) {
            return status;
        }
        *mask |= 1u << word;
    }
    return FL_OK;
}

static fl_status read_object(const fl_field_reading *reading, const fl_field *field,
                             const fl_json_value *value, void *slot)
{
    return fl_shape_read(reading, field->shape, value, slot);
}

/* Sets the pointer and the count of a list of structs; the slot is the whole enclosing struct. */
static fl_status read_objects(const fl_field_reading *reading, const fl_field *field,
                              const fl_json_value *value, void *whole)
{
    size_t count = fl_json_size(value);
    char *items = fl_arena_alloc(reading->arena, count, field->shape->size);
    if (fl_json_type_of(value) != FL_JSON_ARRAY) {
        return fail_at(reading, FL_EINVAL, "give a list of objects");
    }
    for (size_t i = 0; i < count; i++) {
        fl_json_where at = fl_json_where_index(reading->at, i);
        fl_field_reading below = *reading;
        below.at = &at;
        fl_status status = fl_shape_read(&below, field->shape, fl_json_at(value, i),
                                         items + i * field->shape->size);
        if (status != FL_OK) {
            return status;
        }
    }
    memcpy((char *)whole + field->offset, &items, sizeof items);
    memcpy((char *)whole + field->count_offset, &count, sizeof count);
    return FL_OK;
}

/* What stands in the struct when the member is absent; the rest of it is zero already. */
static void put_absent(const fl_field *field, void *slot)
{
    if (field->type == FL_FIELD_NUMBER) {
        double *number = slot;
        *number = field->fallback;
    } else if (field->type == FL_FIELD_INT) {
        int64_t *whole = slot;
        *whole = (int64_t)field->fallback;
    } else if (field->type == FL_FIELD_WORD) {
        unsigned word = (unsigned)field->fallback;
        memcpy(slot, &word, sizeof word);
    } else if (field->type == FL_FIELD_TIME) {
        int64_t *utc_s = slot;
        *utc_s = INT64_MIN;
    }
}

typedef fl_status (*read_fn)(const fl_field_reading *reading, const fl_field *field,
                             const fl_json_value *value, void *slot);

static fl_status read_field(const fl_field_reading *reading, const fl_field *field,
                            const fl_json_value *value, char *out)
{
    static const read_fn readers[FL_FIELD_TYPE_COUNT] = {
        [FL_FIELD_ID] = read_id,         [FL_FIELD_IDS] = read_ids,
        [FL_FIELD_LINE] = read_text,     [FL_FIELD_TEXT] = read_text,
        [FL_FIELD_DATE] = read_date,     [FL_FIELD_JSON] = read_json,
        [FL_FIELD_INT] = read_int,       [FL_FIELD_NUMBER] = read_number,
        [FL_FIELD_BOOL] = read_bool,     [FL_FIELD_WORD] = read_word,
        [FL_FIELD_WORDS] = read_words,   [FL_FIELD_TIME] = read_time,
        [FL_FIELD_OBJECT] = read_object, [FL_FIELD_OBJECTS] = read_objects,
    };
    void *slot = field->type == FL_FIELD_OBJECTS ? out : out + field->offset;
    fl_json_where at = fl_json_where_key(reading->at, fl_sv_from_cstr(field->key));
    fl_field_reading below = *reading;
    below.at = &at;
    if (value != NULL) {
        return readers[field->type](&below, field, value, slot);
    }
    if (field->is_needed) {
        return fail_at(&below, FL_EINVAL, "missing");
    }
    put_absent(field, slot);
    return FL_OK;
}

fl_status fl_shape_read(const fl_field_reading *reading, const fl_shape *shape,
                        const fl_json_value *object, void *out)
{
    for (size_t i = 0; i < shape->n_fields; i++) {
        const fl_field *field = &shape->fields[i];
        fl_status status = read_field(reading, field, fl_json_get(object, field->key), out);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}
