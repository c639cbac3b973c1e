/* What the loggers say of the room's places, hour by hour: part of the snapshot (app/room.h), made
 * from the batches of readings that count. */
#ifndef FL_APP_SERIES_H
#define FL_APP_SERIES_H

#include "app/app.h"

/* The hours of one batch: sums and counts, so that batches can share an hour. */
typedef struct fl_series_hour {
    double temp_sum_c;
    double rh_sum_pct;
    uint32_t n_temp;
    uint32_t n_rh;
} fl_series_hour;

typedef struct fl_series_batch {
    fl_id event; /* the readings_imported event */
    fl_id place;
    int64_t from_h; /* whole hours since 1970 */
    size_t n_hours; /* 0: its blob is missing or no batch */
    const fl_series_hour *hours;
} fl_series_batch;

/* The hours of one place over all its batches; NAN where no reading fell into the hour. */
typedef struct fl_series {
    fl_id place;
    int64_t from_h;
    size_t n_hours;
    const double *temp_c;
    const double *rh_pct;
} fl_series;

/* Batches that were read before: a batch never changes. */
typedef struct fl_series_past {
    fl_arena *arena; /* owns the hours */
    fl_series_batch *batches;
    size_t count, cap; /* from fl_alloc */
} fl_series_past;

/* Reads the batches that these live events name. The list in the arena; the hours too, or in that
 * of `past` (NULL: none), which gives what it has and gets the rest. A blob that is missing or is
 * no batch gives a batch without hours. */
fl_status fl_series_read(fl_app *app, const fl_event *events, size_t n_events, fl_series_past *past,
                         fl_arena *arena, fl_series_batch **out, size_t *count,
                         fl_err *err) FL_MUST_USE;

/* The series of each place that has one, over those batches whose event is among the live ones. */
void fl_series_merge(const fl_series_batch *batches, size_t n_batches, const fl_event *events,
                     size_t n_events, fl_arena *arena, fl_series **out, size_t *count);

/* The raw readings of one event's batch, in the arena. FL_ENOTFOUND, FL_EFORMAT. */
struct fl_readings;
fl_status fl_series_raw(fl_app *app, const fl_ev_readings_imported *batch, fl_arena *arena,
                        struct fl_readings *out, fl_err *err) FL_MUST_USE;

#endif
