/* Taking in a logger's file: what it seems to be, what is in it, what of it is new; then one event
 * with one batch, undone by voiding that event. Start here for readings; the file's shape is
 * core/readings, the stored form readings_pack.h, what it does to temperatures temps.h. */
#ifndef FL_APP_READINGS_H
#define FL_APP_READINGS_H

#include "app/readings_pack.h"
#include "app/room.h"
#include "core/readings/logfile.h"

#define FL_READINGS_FILE_BYTES_MAX ((size_t)64 << 20)
#define FL_READINGS_SHOWN 8 /* first readings, gaps, bad lines that a preview shows */

typedef struct fl_readings_span {
    int64_t from_s;
    int64_t to_s;
} fl_readings_span;

typedef struct fl_readings_fault {
    int64_t line;
    const char *why; /* static */
} fl_readings_fault;

/* What a file is and holds. While shape.questions is not 0 nothing below it is known. */
typedef struct fl_readings_look {
    fl_probe_encoding encoding;
    fl_probe_shape shape;
    fl_readings readings; /* new ones: in order, without repeats and without what the room has */
    int64_t first_s;      /* of the new ones */
    int64_t n_rows;       /* with a moment and a value */
    int64_t n_empty;      /* the logger had no value */
    int64_t n_bad;        /* cannot be read, and are left out */
    fl_readings_fault bad[FL_READINGS_SHOWN];
    int64_t n_repeated;   /* in the file again with the same values: left out */
    int64_t n_clashing;   /* in the file again with other values: the first is kept */
    int64_t n_known;      /* in the room already with the same values: left out */
    int64_t n_other;      /* in the room already with other values: left out */
    int64_t from_s, to_s; /* of all rows */
    int64_t step_s;       /* the usual time from one to the next; 0 for a single one */
    int64_t n_gaps;       /* longer than two and a half steps */
    fl_readings_span gaps[FL_READINGS_SHOWN];  /* the longest, the longest first */
    double temp_min_c, temp_max_c;             /* NAN: none */
    double rh_min_pct, rh_max_pct;             /* NAN: none */
    fl_probe_reading shown[FL_READINGS_SHOWN]; /* the first rows, as read */
    size_t n_shown;
} fl_readings_look;

/* Looks at a file's bytes for a place of the room.
 *   app    for the readings the room has; room its snapshot
 *   told   what the keeper said; now_s and tz_offset_min are taken from the room
 *   out    texts and arrays in the arena (bytes must live as long)
 * Errors: FL_ETOOBIG, FL_EFORMAT, FL_EINVAL as fl_probe_sniff; nothing is recorded. */
fl_status fl_readings_look_at(fl_app *app, const fl_room *room, fl_id place, fl_sv bytes,
                              const fl_probe_told *told, fl_arena *arena, fl_readings_look *out,
                              fl_err *err) FL_MUST_USE;

/* What the keeper gets to read of how the file was taken: "day, month, year; degrees Celsius; …".
 * In the arena. */
fl_sv fl_readings_note(const fl_readings_look *look, fl_sv file_name, fl_arena *arena);

/* Keeps the batch and fills in the event's body; the caller records the event.
 * FL_EINVAL: a question is open, or there is nothing new in the file. */
fl_status fl_readings_keep(fl_app *app, const fl_readings_look *look, fl_id place, fl_arena *arena,
                           fl_ev_readings_imported *body, fl_err *err) FL_MUST_USE;

/* A span of a place's readings over all its batches, in order of time; for charts. */
typedef struct fl_reading_point {
    int64_t at_s;
    double temp_c; /* NAN */
    double rh_pct; /* NAN */
} fl_reading_point;

fl_status fl_readings_of_place(fl_app *app, const fl_room *room, fl_id place,
                               const fl_readings_span *span, fl_arena *arena,
                               fl_reading_point **out, size_t *count, fl_err *err) FL_MUST_USE;

#endif
