/* Properties of the event codec over random events of every kind: write and read come back to the
 * same struct and bytes; the canonical form is a fixed point, whatever the white space and the
 * order of members it came from; damaged text is refused or still canonical, and never harms.
 * Random values are drawn from the schemas, so that whatever a schema allows is tried. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/limits.h"
#include "base/rng.h"
#include "json/event_codec.h"
#include "json/event_codec_fields.h"
#include "json/schema_parts.h"
#include "support/check.h"
#include "support/schema_walk.h"

#define N_ROUNDS 200 /* of every kind */
#define N_DAMAGES 25

/* What a random event is made with. */
typedef struct maker {
    fl_rng rng;
    fl_arena *arena;
} maker;

static uint64_t below(maker *m, uint64_t bound)
{
    return fl_rng_below(&m->rng, bound);
}

static fl_id random_id(maker *m)
{
    fl_id id;
    uint64_t words[2] = {fl_rng_next(&m->rng), fl_rng_next(&m->rng) | 1};
    memcpy(&id, words, sizeof id);
    return id;
}

/* A text of up to 40 characters of a set. */
static fl_sv random_of(maker *m, const char *first, const char *set, size_t min_len, size_t max_len)
{
    size_t len = min_len + below(m, max_len - min_len + 1);
    char *text = FL_ARENA_ARRAY(m->arena, char, len + 1);
    for (size_t i = 0; i < len; i++) {
        const char *from = i == 0 ? first : set;
        text[i] = from[below(m, strlen(from))];
    }
    return (fl_sv){text, len};
}

/* Letters, quotes, backslashes, marks of two to four bytes; for longer texts also controls. */
static fl_sv random_prose(maker *m, bool is_long)
{
    static const char *const pieces[] = {
        "a", "Z", " ", "\"", "\\", "/",    "\xc3\xa9", "\xe2\x80\xa8", "\xf0\x9f\x8c\xb1",
        "{", "}", "0", "\n", "\t", "\x01", "\x7f"};
    size_t n_pieces = is_long ? 16 : 12;
    size_t n = 1 + below(m, 40);
    char *text = FL_ARENA_ARRAY(m->arena, char, n * 4 + 1);
    size_t len = 0;
    for (size_t i = 0; i < n; i++) {
        const char *piece = pieces[below(m, n_pieces)];
        memcpy(text + len, piece, strlen(piece));
        len += strlen(piece);
    }
    return (fl_sv){text, len};
}

static fl_sv random_text(maker *m, const fl_field *field, const fl_json_value *schema)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz";
    static const char code[] = "abcdefghijklmnopqrstuvwxyz0123456789_";
    static const char hex[] = "0123456789abcdef";
    fl_sv regex = fl_json_text(fl_json_get(schema, "pattern"));
    const fl_schema_pattern *pattern = fl_schema_pattern_find(regex);
    if (pattern == NULL) {
        return random_prose(m, field->type == FL_FIELD_TEXT);
    }
    if (strstr(pattern->would_do, "hex digits") != NULL) {
        return random_of(m, hex, hex, 64, 64);
    }
    if (strstr(pattern->would_do, "a code") != NULL) {
        return random_of(m, letters, code, 1, 30);
    }
    return random_prose(m, false);
}

static double limit_of(const fl_json_value *schema, const char *keyword, double otherwise)
{
    double limit = otherwise;
    (void)fl_json_number(fl_json_get(schema, keyword), &limit);
    return limit;
}

/* Within the schema's limits; now and then at one of them. */
static double random_number(maker *m, const fl_json_value *schema)
{
    double above = limit_of(schema, "exclusiveMinimum", -INFINITY);
    double low = limit_of(schema, "minimum", isfinite(above) ? nextafter(above, INFINITY) : -1e9);
    double high = limit_of(schema, "maximum", 1e9);
    uint64_t choice = below(m, 8);
    if (choice == 0) {
        return low;
    }
    return choice == 1 ? high : low + (high - low) * fl_rng_uniform(&m->rng);
}

static int64_t random_int(maker *m, const fl_json_value *schema)
{
    double low = limit_of(schema, "minimum", -1e9);
    double high = limit_of(schema, "maximum", 1e9);
    uint64_t choice = below(m, 4);
    if (choice == 0) {
        return (int64_t)low;
    }
    return choice == 1 ? (int64_t)high
                       : (int64_t)low + (int64_t)below(m, (uint64_t)(high - low) + 1);
}

/* A moment between the years 1 and 9999, mostly of our time. */
static int64_t random_moment(maker *m)
{
    if (below(m, 10) == 0) {
        return FL_EVENT_UTC_S_MIN +
               (int64_t)below(m, (uint64_t)(FL_EVENT_UTC_S_MAX - FL_EVENT_UTC_S_MIN));
    }
    return INT64_C(1500000000) + (int64_t)below(m, 500000000);
}

static void make_shape(maker *m, const fl_shape *shape, const fl_json_value *schema, void *out);

static void make_ids(maker *m, fl_id_list *list)
{
    size_t count = 1 + below(m, 4);
    fl_id *ids = FL_ARENA_ARRAY(m->arena, fl_id, count);
    for (size_t i = 0; i < count; i++) {
        ids[i] = random_id(m);
    }
    *list = (fl_id_list){ids, count};
}

static void make_objects(maker *m, const fl_field *field, const fl_json_value *schema, char *out)
{
    const fl_json_value *items = fl_schema_resolved(fl_json_get(schema, "items"));
    size_t count = 1 + below(m, 4);
    char *objects = fl_arena_alloc(m->arena, count, field->shape->size);
    for (size_t i = 0; i < count; i++) {
        make_shape(m, field->shape, items, objects + i * field->shape->size);
    }
    memcpy(out + field->offset, &objects, sizeof objects);
    memcpy(out + field->count_offset, &count, sizeof count);
}

static bool has_members(const fl_json_value *schema)
{
    return fl_json_get(fl_schema_resolved(schema), "properties") != NULL;
}

/* A history card, in canonical form: the one object inside an event that has a schema. */
static fl_sv make_card(maker *m)
{
    return fl_arena_printf(
        m->arena,
        "{\"format\":\"fernlock-history\",\"from\":\"a keeper\",\"lot\":{\"count\":%u,"
        "\"form\":\"potted\",\"id\":\"5f0b7a52-0a6e-4b0e-8d2f-6f2f3c1d9e10\",\"plant\":\"fig\"},"
        "\"made_at\":\"2026-03-15T18:00:00Z\",\"past\":[{\"at\":\"2025-09-20T12:00:00Z\","
        "\"kind\":\"came\",\"precision\":\"day\",\"text\":\"came\"}],\"provenance\":"
        "{\"since_at\":\"2025-09-20T12:00:00Z\",\"since_precision\":\"day\"},\"version\":1}",
        1 + (unsigned)below(m, 1000));
}

static void make_text(maker *m, const fl_field *field, const fl_json_value *schema, fl_sv *text)
{
    if (field->type == FL_FIELD_DATE) {
        *text = fl_arena_printf(m->arena, "%04u-%02u-%02u", 2000 + (unsigned)below(m, 60),
                                1 + (unsigned)below(m, 12), 1 + (unsigned)below(m, 28));
    } else if (field->type == FL_FIELD_JSON && has_members(schema)) {
        *text = make_card(m);
    } else if (field->type == FL_FIELD_JSON) {
        *text = fl_arena_printf(m->arena, "{\"a\":[%u,{\"b\":null}],\"n\":0.%u1}",
                                (unsigned)below(m, 1000), (unsigned)below(m, 1000));
    } else {
        *text = random_text(m, field, schema);
    }
}

static void make_unsigned(maker *m, const fl_field *field, void *slot)
{
    uint64_t n_words = (uint64_t)field->words->count;
    unsigned value = (unsigned)below(m, field->type == FL_FIELD_WORD ? n_words : 1u << n_words);
    memcpy(slot, &value, sizeof value);
}

/* What stands for an absent member. */
static void make_absent(const fl_field *field, void *slot)
{
    unsigned word = field->type == FL_FIELD_WORD ? (unsigned)field->fallback : 0;
    if (field->type == FL_FIELD_NUMBER) {
        *(double *)slot = field->fallback;
    } else if (field->type == FL_FIELD_INT) {
        *(int64_t *)slot = (int64_t)field->fallback;
    } else if (field->type == FL_FIELD_TIME) {
        *(int64_t *)slot = INT64_MIN;
    } else if (field->type == FL_FIELD_WORD) {
        memcpy(slot, &word, sizeof word);
    }
}

static void make_field(maker *m, const fl_field *field, const fl_json_value *schema, char *out)
{
    void *slot = out + field->offset;
    switch (field->type) {
    case FL_FIELD_ID:
        *(fl_id *)slot = random_id(m);
        break;
    case FL_FIELD_IDS:
        make_ids(m, slot);
        break;
    case FL_FIELD_LINE:
    case FL_FIELD_TEXT:
    case FL_FIELD_DATE:
    case FL_FIELD_JSON:
        make_text(m, field, schema, slot);
        break;
    case FL_FIELD_INT:
        *(int64_t *)slot = random_int(m, schema);
        break;
    case FL_FIELD_NUMBER:
        *(double *)slot = random_number(m, schema);
        break;
    case FL_FIELD_BOOL:
        *(bool *)slot = below(m, 2) == 1;
        break;
    case FL_FIELD_WORD:
    case FL_FIELD_WORDS:
        make_unsigned(m, field, slot);
        break;
    case FL_FIELD_TIME:
        *(int64_t *)slot = random_moment(m);
        break;
    case FL_FIELD_OBJECT:
        make_shape(m, field->shape, schema, slot);
        break;
    case FL_FIELD_OBJECTS:
        make_objects(m, field, schema, out);
        break;
    case FL_FIELD_TYPE_COUNT:
        break;
    }
}

static void make_shape(maker *m, const fl_shape *shape, const fl_json_value *schema, void *out)
{
    const fl_json_value *properties = fl_json_get(schema, "properties");
    for (size_t i = 0; i < shape->n_fields; i++) {
        const fl_field *field = &shape->fields[i];
        if (!field->is_needed && below(m, 3) == 0) {
            make_absent(field, (char *)out + field->offset);
        } else {
            make_field(m, field, fl_schema_resolved(fl_json_get(properties, field->key)), out);
        }
    }
}

/* What the schema says by oneOf, and what is asked of the sense. */
static void mend(fl_event *event)
{
    fl_ev_bottle_opened *bottle = &event->body.bottle_opened;
    fl_ev_readings_imported *readings = &event->body.readings_imported;
    if (event->kind == FL_KIND_BOTTLE_OPENED) {
        bool is_water = bottle->agent == FL_AGENT_NONE || bottle->agent == FL_AGENT_HOT_WATER;
        bottle->agent = is_water ? FL_AGENT_BLEACH : bottle->agent;
        bool is_bleach = bottle->agent == FL_AGENT_BLEACH;
        bottle->label_pct = is_bleach ? 0.1 + bottle->label_pct / 6 : bottle->label_pct;
    } else if (event->kind == FL_KIND_READINGS_IMPORTED && readings->to_s < readings->from_s) {
        int64_t from_s = readings->to_s;
        readings->to_s = readings->from_s;
        readings->from_s = from_s;
    }
}

/* Exact, or vague: then the moment is the middle that the text stands for. */
static void make_occurred(maker *m, fl_event *event)
{
    static const int lengths[] = {10, 7, 4}; /* day, month, year */
    event->at_s = random_moment(m);
    event->precision = FL_PRECISION_EXACT;
    if (below(m, 3) == 0) {
        char text[40];
        fl_err err = {0};
        int tz_offset_min = (int)below(m, 1681) - 840;
        (void)snprintf(text, sizeof text, "%04u-%02u-%02u", 1900 + (unsigned)below(m, 200),
                       1 + (unsigned)below(m, 12), 1 + (unsigned)below(m, 28));
        text[lengths[below(m, 3)]] = '\0';
        check_ok(fl_civil_parse(fl_sv_from_cstr(text), tz_offset_min, &event->at_s,
                                &event->precision, &err),
                 &err);
    }
}

static fl_event make_event(maker *m, fl_kind kind)
{
    fl_event event;
    memset(&event, 0, sizeof event);
    event.kind = kind;
    const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[kind].word));
    const fl_json_value *properties = fl_json_get(schema, "properties");
    make_occurred(m, &event);
    make_shape(m, fl_event_envelope_shape(), schema, &event);
    make_shape(m, fl_event_body_shape(kind), fl_json_get(properties, "body"), &event.body);
    mend(&event);
    return event;
}

/* ---- equality of structs, member by member ---- */

static bool is_equal_shape(const fl_shape *shape, const char *a, const char *b);

static bool is_equal_objects(const fl_field *field, const char *a, const char *b)
{
    size_t counts[2];
    const char *objects[2];
    memcpy(&counts[0], a + field->count_offset, sizeof counts[0]);
    memcpy(&counts[1], b + field->count_offset, sizeof counts[1]);
    memcpy(&objects[0], a + field->offset, sizeof objects[0]);
    memcpy(&objects[1], b + field->offset, sizeof objects[1]);
    for (size_t i = 0; i < counts[0] && counts[0] == counts[1]; i++) {
        if (!is_equal_shape(field->shape, objects[0] + i * field->shape->size,
                            objects[1] + i * field->shape->size)) {
            return false;
        }
    }
    return counts[0] == counts[1];
}

static bool is_equal_ids(const fl_id_list *a, const fl_id_list *b)
{
    return a->count == b->count &&
           (a->count == 0 || memcmp(a->ids, b->ids, a->count * sizeof(fl_id)) == 0);
}

static bool is_equal_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool is_equal_field(const fl_field *field, const char *a, const char *b)
{
    const void *in_a = a + field->offset;
    const void *in_b = b + field->offset;
    switch (field->type) {
    case FL_FIELD_ID:
        return fl_id_eq(*(const fl_id *)in_a, *(const fl_id *)in_b);
    case FL_FIELD_IDS:
        return is_equal_ids(in_a, in_b);
    case FL_FIELD_LINE:
    case FL_FIELD_TEXT:
    case FL_FIELD_DATE:
    case FL_FIELD_JSON:
        return fl_sv_eq(*(const fl_sv *)in_a, *(const fl_sv *)in_b);
    case FL_FIELD_NUMBER:
        return is_equal_number(*(const double *)in_a, *(const double *)in_b);
    case FL_FIELD_BOOL:
        return *(const bool *)in_a == *(const bool *)in_b;
    case FL_FIELD_INT:
    case FL_FIELD_TIME:
        return *(const int64_t *)in_a == *(const int64_t *)in_b;
    case FL_FIELD_WORD:
    case FL_FIELD_WORDS:
        return memcmp(in_a, in_b, sizeof(unsigned)) == 0;
    case FL_FIELD_OBJECT:
        return is_equal_shape(field->shape, in_a, in_b);
    case FL_FIELD_OBJECTS:
        return is_equal_objects(field, a, b);
    case FL_FIELD_TYPE_COUNT:
        break;
    }
    return false;
}

static bool is_equal_shape(const fl_shape *shape, const char *a, const char *b)
{
    for (size_t i = 0; i < shape->n_fields; i++) {
        if (!is_equal_field(&shape->fields[i], a, b)) {
            print_error("%s differs\n", shape->fields[i].key);
            return false;
        }
    }
    return true;
}

static bool is_equal_event(const fl_event *a, const fl_event *b)
{
    return a->kind == b->kind && a->at_s == b->at_s && a->precision == b->precision &&
           is_equal_shape(fl_event_envelope_shape(), (const char *)a, (const char *)b) &&
           is_equal_shape(fl_event_body_shape(a->kind), (const char *)&a->body,
                          (const char *)&b->body);
}

/* ---- the properties ---- */

/* Prints the value with its members in the opposite order, much white space, and 1e0 for 1. */
static void print_strangely(const fl_json_value *value, maker *m, fl_str *out)
{
    static const char *const spaces[] = {"", " ", "\n", "\t \r\n"};
    fl_json_type type = fl_json_type_of(value);
    int64_t whole = 0;
    fl_str_append_cstr(out, spaces[below(m, 4)]);
    if (type == FL_JSON_OBJECT) {
        fl_str_append_char(out, '{');
        for (size_t i = fl_json_size(value); i > 0; i--) {
            fl_sv key;
            const fl_json_value *member = fl_json_member(value, i - 1, &key);
            fl_str_appendf(out, "%s\"%.*s\" :", i == fl_json_size(value) ? "" : ",",
                           FL_SV_ARG(key));
            print_strangely(member, m, out);
        }
        fl_str_append_char(out, '}');
    } else if (type == FL_JSON_ARRAY) {
        for (size_t i = 0; i < fl_json_size(value); i++) {
            fl_str_append_char(out, i == 0 ? '[' : ',');
            print_strangely(fl_json_at(value, i), m, out);
        }
        fl_str_append_cstr(out, fl_json_size(value) == 0 ? "[]" : "]");
    } else if (fl_json_int(value, &whole) && whole != 0 && llabs(whole) < 1000000) {
        fl_str_appendf(out, "%" PRId64 "0e-1", whole);
    } else {
        check_ok(fl_json_canonical(value, out, NULL), NULL);
    }
    fl_str_append_cstr(out, spaces[below(m, 4)]);
}

static fl_status read_text(maker *m, fl_sv text, fl_event *event, fl_str *bytes, fl_err *err)
{
    fl_str_clear(bytes);
    return fl_event_read(text, 0, m->arena, event, bytes, err);
}

/* The same event in another dress has the same canonical bytes. */
static void check_dress(maker *m, fl_sv canonical)
{
    fl_err err = {0};
    fl_json_doc *doc = NULL;
    fl_str strange;
    fl_str bytes;
    fl_event event;
    fl_str_init(&strange, 4 * FL_EVENT_BYTES_MAX);
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    check_ok(fl_json_parse(canonical, &doc, &err), &err);
    print_strangely(fl_json_root(doc), m, &strange);
    check_ok(read_text(m, fl_str_sv(&strange), &event, &bytes, &err), &err);
    check_true(fl_sv_eq(fl_str_sv(&bytes), canonical));
    fl_str_done(&bytes);
    fl_str_done(&strange);
    fl_json_free(doc);
}

/* Bytes are changed, taken out or doubled; what is still accepted is a fixed point. */
static void check_damage(maker *m, fl_sv canonical)
{
    fl_str bytes;
    fl_str again;
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    fl_str_init(&again, FL_EVENT_BYTES_MAX);
    for (int i = 0; i < N_DAMAGES; i++) {
        fl_err err = {0};
        fl_event event;
        char *text = FL_ARENA_ARRAY(m->arena, char, canonical.len + 1);
        memcpy(text, canonical.ptr, canonical.len);
        size_t at = below(m, canonical.len);
        size_t len = canonical.len;
        uint64_t choice = below(m, 3);
        if (choice == 0) {
            text[at] = (char)below(m, 256);
        } else if (choice == 1) {
            memmove(text + at, text + at + 1, --len - at);
        } else {
            len = at;
        }
        fl_status status = read_text(m, (fl_sv){text, len}, &event, &bytes, &err);
        check_status(&err, status);
        if (status == FL_OK) {
            check_ok(read_text(m, fl_str_sv(&bytes), &event, &again, &err), &err);
            check_true(fl_sv_eq(fl_str_sv(&bytes), fl_str_sv(&again)));
        }
    }
    fl_str_done(&again);
    fl_str_done(&bytes);
}

static void check_event(maker *m, const fl_event *event)
{
    fl_err err = {0};
    fl_event back;
    fl_event decoded;
    fl_str bytes;
    fl_str read_bytes;
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    fl_str_init(&read_bytes, FL_EVENT_BYTES_MAX);
    check_ok(fl_event_write(event, &bytes, &err), &err);
    check_ok(read_text(m, fl_str_sv(&bytes), &back, &read_bytes, &err), &err);
    check_true(fl_sv_eq(fl_str_sv(&bytes), fl_str_sv(&read_bytes)));
    check_true(is_equal_event(event, &back));
    check_ok(fl_event_decode(fl_str_sv(&bytes), 99, m->arena, &decoded, &err), &err);
    check_true(is_equal_event(event, &decoded));
    check_dress(m, fl_str_sv(&bytes));
    check_damage(m, fl_str_sv(&bytes));
    fl_str_done(&read_bytes);
    fl_str_done(&bytes);
}

/* Which event is tried; the tear-down names the last one, so that a failure can be repeated. */
static struct {
    fl_kind kind;
    uint64_t seed;
} tried;

static int name_last(void **state)
{
    (void)state;
    print_message("last tried: %s, seed %" PRIu64 "\n", fl_kinds[tried.kind].word, tried.seed);
    return 0;
}

static void test_random_events(void **state)
{
    (void)state;
    for (int kind = 0; kind < FL_KIND_COUNT; kind++) {
        for (uint64_t round = 0; round < N_ROUNDS; round++) {
            fl_arena arena;
            tried.kind = (fl_kind)kind;
            tried.seed = (uint64_t)kind * 1000 + round;
            fl_arena_init(&arena);
            maker m = {{tried.seed}, &arena};
            fl_event event = make_event(&m, (fl_kind)kind);
            check_event(&m, &event);
            fl_arena_done(&arena);
        }
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test_teardown(test_random_events, name_last)};
FL_TEST_MAIN(tests)
