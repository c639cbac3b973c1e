/* The stored form of a batch of readings: day blocks, each compressed by itself. Moments count from
 * the first reading, which the event names, so that a clock that was wrong is put right by another
 * event over the same bytes. The form is told in docs/models/readings.md. */
#ifndef FL_APP_READINGS_PACK_H
#define FL_APP_READINGS_PACK_H

#include "base/arena.h"
#include "base/err.h"
#include "base/sv.h"
#include "core/readings/logfile.h"

#define FL_READINGS_MAX 4000000 /* in one batch */

/* One reading: seconds after the batch's first, thousandths of the file's unit and of a percent;
 * FL_PROBE_MISSING for what it has not. */
typedef struct fl_logged {
    int64_t offset_s;
    int32_t temp_milli;
    int32_t rh_milli;
} fl_logged;

typedef struct fl_readings {
    fl_logged *list; /* in order of time, no two at the same second */
    size_t count;
    fl_probe_unit unit; /* as the file had it: nothing is converted before it is used */
} fl_readings;

/* The bytes of a batch, in the arena. FL_ETOOBIG: more than FL_READINGS_MAX, or than a blob holds.
 * FL_EINVAL: not in order, or the first is not at 0. */
fl_status fl_readings_pack(const fl_readings *readings, fl_arena *arena, fl_sv *bytes,
                           fl_err *err) FL_MUST_USE;

/* The batch of such bytes, in the arena. FL_EFORMAT: they are none. */
fl_status fl_readings_unpack(fl_sv bytes, fl_arena *arena, fl_readings *out,
                             fl_err *err) FL_MUST_USE;

#endif
