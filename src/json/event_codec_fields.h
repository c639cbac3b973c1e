/* Inside src/json only: the members of every kind's body as tables, used in both directions.
 * A row says what a member is called, what it is, where it lies in the struct, and what stands in
 * the struct when the member is absent. */
#ifndef FL_JSON_EVENT_CODEC_FIELDS_H
#define FL_JSON_EVENT_CODEC_FIELDS_H

#include "base/arena.h"
#include "event/event.h"
#include "json/json.h"
#include "json/pointer.h"

/* Moments that have a date of four digits: 0001-01-01 to 9999-12-31. */
#define FL_EVENT_UTC_S_MIN INT64_C(-62135596800)
#define FL_EVENT_UTC_S_MAX INT64_C(253402300799)

typedef enum fl_field_type {
    FL_FIELD_ID = 0,  /* fl_id; absent: none */
    FL_FIELD_IDS,     /* fl_id_list; absent: empty */
    FL_FIELD_LINE,    /* fl_sv of at most FL_NAME_BYTES_MAX; absent: empty */
    FL_FIELD_TEXT,    /* fl_sv of at most FL_NOTE_BYTES_MAX; absent: empty */
    FL_FIELD_DATE,    /* fl_sv, a civil date */
    FL_FIELD_JSON,    /* fl_sv, the canonical JSON of an object; absent: empty */
    FL_FIELD_INT,     /* int64_t; absent: the fallback */
    FL_FIELD_NUMBER,  /* double; absent: the fallback, mostly NAN */
    FL_FIELD_BOOL,    /* bool; absent: false */
    FL_FIELD_WORD,    /* an enum; absent: the fallback */
    FL_FIELD_WORDS,   /* a mask of 1u << enum; absent: 0 */
    FL_FIELD_TIME,    /* int64_t, UTC seconds; absent: INT64_MIN */
    FL_FIELD_OBJECT,  /* a struct of its own shape */
    FL_FIELD_OBJECTS, /* a pointer and a count of such structs; absent: none */
    FL_FIELD_TYPE_COUNT
} fl_field_type;

typedef struct fl_word_list {
    const fl_word *words;
    int count;
} fl_word_list;

struct fl_shape;

typedef struct fl_field {
    const char *key;
    fl_field_type type;
    bool is_needed;
    size_t offset; /* in the struct */
    double fallback;
    const fl_word_list *words;    /* of FL_FIELD_WORD and FL_FIELD_WORDS */
    const struct fl_shape *shape; /* of FL_FIELD_OBJECT and FL_FIELD_OBJECTS */
    size_t count_offset;          /* of FL_FIELD_OBJECTS */
} fl_field;

typedef struct fl_shape {
    const fl_field *fields;
    size_t n_fields;
    size_t size; /* of the struct */
} fl_shape;

/* The body of a kind; offsets count from the body. */
const fl_shape *fl_event_body_shape(fl_kind kind);

/* id, device, seq and note; offsets count from the event. */
const fl_shape *fl_event_envelope_shape(void);

/* How a value is read. */
typedef struct fl_field_reading {
    fl_arena *arena;         /* texts and lists go here */
    int tz_offset_min;       /* for vague times */
    const fl_json_where *at; /* the object that is read */
    fl_err *err;
} fl_field_reading;

/* Reads the members of `object` into the struct at `out` (zeroed by the caller). FL_EINVAL,
 * FL_EFORMAT or FL_EDOMAIN with the JSON pointer of the member; out is then half-written. */
fl_status fl_shape_read(const fl_field_reading *reading, const fl_shape *shape,
                        const fl_json_value *object, void *out) FL_MUST_USE;

/* FL_EDOMAIN or FL_EFORMAT with the pointer of `at` before the message of `inner`. */
fl_status fl_field_fail(const fl_json_where *at, fl_status status, const fl_err *inner,
                        fl_err *err);

/* Appends to `out` the kinds nearest to a word that is none: "lot_moved, lot_cut". */
void fl_event_near_kinds(fl_sv word, fl_str *out);

#endif
