/* Events between JSON and structs: the envelope, and the order of checks. What comes from outside
 * is parsed, held against the schema of its kind, read into the struct, and asked whether it makes
 * sense in itself; what the program writes goes the same way back before it is handed out. */
#include "json/event_codec.h"

#include <assert.h>

#include <jansson.h>

#include "base/civil.h"
#include "base/limits.h"
#include "base/shown.h"
#include "json/event_codec_fields.h"
#include "json/event_codec_writer.h"
#include "json/schema_parts.h"
#include "json/text.h"

#define TZ_OFFSET_MIN_MAX 840 /* the farthest zones are 14 hours from UTC */
#define DAY_MIN 1440
#define NEAR_TEXT_MAX 120

/* ---- sense ---- */

static fl_status refuse_twice(fl_err *err, const char *pointer)
{
    return fl_fail(err, FL_EINVAL, "%s: names itself: give another id", pointer);
}

/* Ids of findings are new, so they differ. */
static fl_status check_findings(const fl_ev_look_done *look, fl_err *err)
{
    for (size_t i = 0; i < look->n_findings; i++) {
        for (size_t j = 0; j < i; j++) {
            if (fl_id_eq(look->findings[i].finding, look->findings[j].finding)) {
                return fl_fail(err, FL_EINVAL,
                               "/body/findings/%zu/finding: as in entry %zu: give each its own id",
                               i, j);
            }
        }
    }
    return FL_OK;
}

/* What neither the schema nor one member alone can show. */
static fl_status check_sense(const fl_event *event, fl_err *err)
{
    if (event->kind == FL_KIND_LOT_CUT &&
        fl_id_eq(event->body.lot_cut.lot, event->body.lot_cut.mother)) {
        return refuse_twice(err, "/body/lot");
    }
    if (event->kind == FL_KIND_LOT_SPLIT &&
        fl_id_eq(event->body.lot_split.lot, event->body.lot_split.new_lot)) {
        return refuse_twice(err, "/body/new_lot");
    }
    if (event->kind == FL_KIND_EVENT_VOIDED &&
        fl_id_eq(event->id, event->body.event_voided.event)) {
        return refuse_twice(err, "/body/event");
    }
    if (event->kind == FL_KIND_READINGS_IMPORTED &&
        event->body.readings_imported.to_s < event->body.readings_imported.from_s) {
        return fl_fail(err, FL_EINVAL, "/body/to_at: earlier than from_at: give the last reading");
    }
    return event->kind == FL_KIND_LOOK_DONE ? check_findings(&event->body.look_done, err) : FL_OK;
}

/* ---- reading ---- */

/* The offset for vague times: the event's own, else the room's, which *tz_offset_min holds. */
static fl_status read_offset(const fl_json_value *root, int *tz_offset_min, fl_err *err)
{
    int64_t offset = 0;
    const fl_json_value *value = fl_json_get(root, "tz_offset_min");
    if (value == NULL) {
        return FL_OK;
    }
    if (!fl_json_int(value, &offset) || offset < -TZ_OFFSET_MIN_MAX || offset > TZ_OFFSET_MIN_MAX) {
        return fl_fail(err, FL_EINVAL, "/tz_offset_min: give minutes from %d to %d",
                       -TZ_OFFSET_MIN_MAX, TZ_OFFSET_MIN_MAX);
    }
    *tz_offset_min = (int)offset;
    return FL_OK;
}

static fl_status read_occurred(const fl_json_value *root, int tz_offset_min, fl_event *event,
                               fl_err *err)
{
    fl_err inner = {0};
    fl_json_where at = fl_json_where_key(NULL, FL_SV("occurred_at"));
    fl_sv text = fl_json_text(fl_json_get(root, "occurred_at"));
    fl_status status = fl_civil_parse(text, tz_offset_min, &event->at_s, &event->precision, &inner);
    return status == FL_OK ? FL_OK : fl_field_fail(&at, status, &inner, err);
}

/* The kind of the event; FL_EINVAL with near ones. */
static fl_status read_kind(const fl_json_value *root, fl_kind *kind, fl_err *err)
{
    const fl_json_value *value = fl_json_get(root, "kind");
    fl_sv word = fl_json_text(value);
    int found = fl_kind_find(word);
    if (fl_json_type_of(root) != FL_JSON_OBJECT) {
        return fl_fail(err, FL_EINVAL,
                       "(top): give an event: an object with id, kind, "
                       "occurred_at and body");
    }
    if (fl_json_type_of(value) != FL_JSON_STRING) {
        return fl_fail(err, FL_EINVAL, "/kind: missing or no text: give one such as lot_moved");
    }
    if (found < 0) {
        fl_str near;
        fl_str_init(&near, NEAR_TEXT_MAX);
        fl_event_near_kinds(word, &near);
        fl_status status = fl_fail(err, FL_EINVAL, "/kind: \"%.*s\" is no kind of event; near: %s",
                                   FL_SHOWN(word), near.ptr);
        fl_str_done(&near);
        return status;
    }
    *kind = (fl_kind)found;
    return FL_OK;
}

/* Reads envelope and body of a parsed event into *event, which is zeroed. */
static fl_status read_event(const fl_json_value *root, int tz_offset_min, fl_arena *arena,
                            fl_event *event, fl_err *err)
{
    fl_field_reading reading = {.arena = arena, .tz_offset_min = tz_offset_min, .err = err};
    fl_status status = read_kind(root, &event->kind, err);
    if (status == FL_OK) {
        status = read_offset(root, &reading.tz_offset_min, err);
    }
    if (status == FL_OK) {
        status = read_occurred(root, reading.tz_offset_min, event, err);
    }
    if (status == FL_OK) {
        status = fl_shape_read(&reading, fl_event_envelope_shape(), root, event);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_where at = fl_json_where_key(NULL, FL_SV("body"));
    reading.at = &at;
    return fl_shape_read(&reading, fl_event_body_shape(event->kind), fl_json_get(root, "body"),
                         &event->body);
}

/* Holds a parsed event against the schema of its kind. */
static fl_status check_schema(const fl_json_value *root, fl_err *err)
{
    fl_kind kind = FL_KIND_COUNT;
    fl_status status = read_kind(root, &kind, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[kind].word));
    assert(schema != NULL); /* a test has one for every kind */
    return fl_schema_fit(schema, root, err);
}

/* Appends `text` whole or not at all. */
static fl_status append_whole(fl_str *out, fl_sv text, fl_err *err)
{
    if (text.len > out->max - out->len) {
        return fl_fail(err, FL_ETOOBIG, "event: %zu bytes: no room for them", text.len);
    }
    fl_str_append(out, text);
    return FL_OK;
}

/* A parsed event, checked, as struct and as canonical bytes. */
static fl_status accept(const fl_json_value *root, int tz_offset_min, fl_arena *arena,
                        fl_event *event, fl_str *bytes, fl_err *err)
{
    fl_status status = check_schema(root, err);
    if (status == FL_OK) {
        status = read_event(root, tz_offset_min, arena, event, err);
    }
    if (status == FL_OK) {
        status = check_sense(event, err);
    }
    return status == FL_OK ? fl_json_canonical(root, bytes, err) : status;
}

fl_status fl_event_read(fl_sv text, int tz_offset_min, fl_arena *arena, fl_event *out,
                        fl_str *canonical, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_event event = {0};
    fl_str bytes;
    if (text.len > FL_EVENT_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "event: %zu bytes: at most %d", text.len,
                       FL_EVENT_BYTES_MAX);
    }
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    fl_status status = fl_json_parse(text, &doc, err);
    if (status == FL_OK) {
        status = accept(fl_json_root(doc), tz_offset_min, arena, &event, &bytes, err);
    }
    if (status == FL_OK && canonical != NULL) {
        status = append_whole(canonical, fl_str_sv(&bytes), err);
    }
    if (status == FL_OK) {
        *out = event;
    }
    fl_str_done(&bytes);
    fl_json_free(doc);
    return status;
}

fl_status fl_event_decode(fl_sv canonical, int tz_offset_min, fl_arena *arena, fl_event *out,
                          fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_event event = {0};
    fl_status status = fl_json_parse(canonical, &doc, err);
    if (status == FL_OK) {
        status = read_event(fl_json_root(doc), tz_offset_min, arena, &event, err);
    }
    if (status == FL_OK) {
        *out = event;
    }
    fl_json_free(doc);
    return status;
}

/* ---- writing ---- */

/* The offset at which this moment is local noon, in (-12 h, 12 h]. */
static int noon_offset_min(int64_t at_s)
{
    fl_civil utc = fl_civil_from_utc(at_s, 0);
    return 720 - (utc.hour * 60 + utc.minute);
}

/* True when at this offset the moment is the middle that its precision stands for. */
static bool is_middle(int64_t at_s, fl_precision precision, int tz_offset_min)
{
    fl_civil local = fl_civil_from_utc(at_s, tz_offset_min);
    bool is_noon = local.hour == 12 && local.minute == 0 && local.second == 0;
    if (precision == FL_PRECISION_MONTH) {
        return is_noon && local.day == 15;
    }
    if (precision == FL_PRECISION_YEAR) {
        return is_noon && local.month == 7 && local.day == 1;
    }
    return is_noon && precision == FL_PRECISION_DAY;
}

/* A vague moment as the date, month or year whose middle it is, with the offset that makes it. */
static fl_status put_vague(const fl_event *event, json_t *object, fl_err *err)
{
    static const size_t lengths[FL_PRECISION_COUNT] = {
        [FL_PRECISION_DAY] = 10, [FL_PRECISION_MONTH] = 7, [FL_PRECISION_YEAR] = 4};
    char text[FL_CIVIL_TEXT_MAX];
    int near = noon_offset_min(event->at_s);
    const int offsets[] = {near, near + DAY_MIN, near - DAY_MIN};
    for (size_t i = 0; i < sizeof offsets / sizeof offsets[0]; i++) {
        if (offsets[i] < -TZ_OFFSET_MIN_MAX || offsets[i] > TZ_OFFSET_MIN_MAX ||
            !is_middle(event->at_s, event->precision, offsets[i])) {
            continue;
        }
        (void)fl_civil_format_date(text, event->at_s, offsets[i]);
        (void)json_object_set_new(object, "occurred_at",
                                  json_stringn(text, lengths[event->precision]));
        (void)json_object_set_new(object, "tz_offset_min", json_integer(offsets[i]));
        return FL_OK;
    }
    return fl_fail(err, FL_EDOMAIN,
                   "occurred_at: %s at precision %d: a vague time must be a "
                   "local noon, of the 15th for a month, of 1 July for a year",
                   fl_civil_format_utc(text, event->at_s), (int)event->precision);
}

static fl_status put_occurred(const fl_event *event, json_t *object, fl_err *err)
{
    char text[FL_CIVIL_TEXT_MAX];
    if (event->at_s < FL_EVENT_UTC_S_MIN || event->at_s > FL_EVENT_UTC_S_MAX) {
        return fl_fail(err, FL_EDOMAIN, "occurred_at: give a time in the years 1 to 9999");
    }
    if (event->precision != FL_PRECISION_EXACT) {
        return put_vague(event, object, err);
    }
    (void)json_object_set_new(object, "occurred_at",
                              json_string(fl_civil_format_utc(text, event->at_s)));
    return FL_OK;
}

/* The event as a JSON object. */
static fl_status build(const fl_event *event, json_t *object, fl_err *err)
{
    json_t *body = json_object();
    (void)json_object_set_new(object, "kind", json_string(fl_kinds[event->kind].word));
    (void)json_object_set_new(object, "body", body);
    fl_status status = put_occurred(event, object, err);
    if (status == FL_OK) {
        status = fl_shape_write(fl_event_envelope_shape(), event, object, err);
    }
    return status == FL_OK
               ? fl_shape_write(fl_event_body_shape(event->kind), &event->body, body, err)
               : status;
}

/* Reads back what was written: the program is held to the same rules as everyone. */
static fl_status check_written(const fl_event *event, fl_sv bytes, fl_err *err)
{
    fl_arena arena;
    fl_event back = {0};
    fl_arena_init(&arena);
    fl_status status = fl_event_read(bytes, 0, &arena, &back, NULL, err);
    if (status == FL_OK) {
        assert(fl_event_compare(event, &back) == 0 && event->precision == back.precision);
    }
    fl_arena_done(&arena);
    return status;
}

fl_status fl_event_write(const fl_event *event, fl_str *out, fl_err *err)
{
    static const fl_json_style canonical = {.is_sorted = true};
    fl_str bytes;
    assert(event->kind < FL_KIND_COUNT);
    json_t *object = json_object();
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    fl_status status = build(event, object, err);
    if (status == FL_OK) {
        fl_json_append(object, &canonical, &bytes);
        status = bytes.is_full
                     ? fl_fail(err, FL_ETOOBIG, "event: more than %d bytes", FL_EVENT_BYTES_MAX)
                     : check_written(event, fl_str_sv(&bytes), err);
    }
    if (status == FL_OK) {
        status = append_whole(out, fl_str_sv(&bytes), err);
    }
    fl_str_done(&bytes);
    json_decref(object);
    return status;
}
