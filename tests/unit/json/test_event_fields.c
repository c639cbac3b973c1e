/* The tables that read and write events against the schemas: the same members, the same ones
 * needed, types that belong together. Two descriptions of one thing hold each other. */
#include "json/event_codec_fields.h"
#include "json/schema_parts.h"
#include "support/check.h"
#include "support/schema_walk.h"

static const char *json_type_of(fl_field_type type)
{
    static const char *const names[FL_FIELD_TYPE_COUNT] = {
        [FL_FIELD_ID] = "string",     [FL_FIELD_IDS] = "array",     [FL_FIELD_LINE] = "string",
        [FL_FIELD_TEXT] = "string",   [FL_FIELD_DATE] = "string",   [FL_FIELD_JSON] = "object",
        [FL_FIELD_INT] = "integer",   [FL_FIELD_NUMBER] = "number", [FL_FIELD_BOOL] = "boolean",
        [FL_FIELD_WORD] = "",         [FL_FIELD_WORDS] = "array",   [FL_FIELD_TIME] = "string",
        [FL_FIELD_OBJECT] = "object", [FL_FIELD_OBJECTS] = "array",
    };
    return names[type];
}

/* The words of a schema are those of the table. */
static void check_enum(const fl_json_value *schema, const fl_word_list *list)
{
    const fl_json_value *words = fl_json_get(schema, "enum");
    check_int(fl_json_size(words), list->count);
    for (int i = 0; i < list->count; i++) {
        check_sv(fl_json_text(fl_json_at(words, (size_t)i)), list->words[i].word);
    }
}

static void check_shape(const fl_shape *shape, const fl_json_value *schema);

static void check_field(const fl_field *field, const fl_json_value *schema)
{
    const fl_json_value *items = fl_schema_resolved(fl_json_get(schema, "items"));
    const fl_json_value *pattern = fl_json_get(schema, "pattern");
    check_sv(fl_json_text(fl_json_get(schema, "type")), json_type_of(field->type));
    switch (field->type) {
    case FL_FIELD_ID:
    case FL_FIELD_IDS:
        pattern = fl_json_get(field->type == FL_FIELD_IDS ? items : schema, "pattern");
        check_contains(fl_schema_pattern_find(fl_json_text(pattern))->would_do, "a UUID");
        break;
    case FL_FIELD_DATE:
        check_contains(fl_schema_pattern_find(fl_json_text(pattern))->would_do, "a date");
        break;
    case FL_FIELD_TIME:
        check_contains(fl_schema_pattern_find(fl_json_text(pattern))->would_do, "T18:30:00Z");
        break;
    case FL_FIELD_LINE:
        check_true(pattern != NULL);
        break;
    case FL_FIELD_TEXT:
        check_true(pattern == NULL);
        break;
    case FL_FIELD_WORD:
        check_enum(schema, field->words);
        break;
    case FL_FIELD_WORDS:
        check_enum(items, field->words);
        break;
    case FL_FIELD_OBJECT:
        check_shape(field->shape, schema);
        break;
    case FL_FIELD_OBJECTS:
        check_shape(field->shape, items);
        break;
    case FL_FIELD_JSON:
    case FL_FIELD_INT:
    case FL_FIELD_NUMBER:
    case FL_FIELD_BOOL:
    case FL_FIELD_TYPE_COUNT:
        break;
    }
}

static void check_shape(const fl_shape *shape, const fl_json_value *schema)
{
    const fl_json_value *properties = fl_json_get(schema, "properties");
    check_int(shape->n_fields, fl_json_size(properties));
    for (size_t i = 0; i < shape->n_fields; i++) {
        const fl_field *field = &shape->fields[i];
        const fl_json_value *property = fl_json_get(properties, field->key);
        if (property == NULL ||
            field->is_needed != fl_schema_requires(schema, fl_sv_from_cstr(field->key))) {
            print_error("%s: not in the schema, or not needed in both\n", field->key);
            fail();
        }
        check_true(field->offset < shape->size);
        check_field(field, fl_schema_resolved(property));
    }
}

static void test_bodies(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[i].word));
        const fl_json_value *properties = fl_json_get(schema, "properties");
        check_shape(fl_event_body_shape((fl_kind)i), fl_json_get(properties, "body"));
    }
}

/* The envelope's table, and what event_codec.c reads itself. */
static void test_envelope(void **state)
{
    (void)state;
    const fl_shape *shape = fl_event_envelope_shape();
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[i].word));
        const fl_json_value *properties = fl_json_get(schema, "properties");
        check_int(fl_json_size(properties), shape->n_fields + 4);
        for (size_t j = 0; j < shape->n_fields; j++) {
            const fl_field *field = &shape->fields[j];
            check_true(field->is_needed == fl_schema_requires(schema, fl_sv_from_cstr(field->key)));
            check_field(field, fl_schema_resolved(fl_json_get(properties, field->key)));
        }
        check_true(fl_schema_requires(schema, FL_SV("kind")) &&
                   fl_schema_requires(schema, FL_SV("occurred_at")) &&
                   fl_schema_requires(schema, FL_SV("body")) &&
                   !fl_schema_requires(schema, FL_SV("tz_offset_min")));
    }
}

/* Each word's own letters, moved about, still find it. */
static void test_near_kinds(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"lot_move", "lot_moved, "},
        {"moved_lot", "lot_moved, "},
        {"look", "look_done, "},
        {"placeset", "place_set, "},
        {"void", "event_voided"},
        {"photo", "photo_attached, "},
        {"", "lot_cut"},
        {"arrive", "lot_arrived"},
        {"an unlikely word that is much longer than any kind of event is", ", "},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        fl_str near;
        fl_str_init(&near, 200);
        fl_event_near_kinds(fl_sv_from_cstr(pairs[i][0]), &near);
        check_contains(near.ptr, pairs[i][1]);
        fl_str_done(&near);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bodies),
    cmocka_unit_test(test_envelope),
    cmocka_unit_test(test_near_kinds),
};
FL_TEST_MAIN(tests)
