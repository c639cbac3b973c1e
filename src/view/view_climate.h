/* Light, air and water of the places, and a place's readings for charts: JSON and sentences. */
#ifndef FL_VIEW_VIEW_CLIMATE_H
#define FL_VIEW_VIEW_CLIMATE_H

#include "app/climate.h"
#include "app/readings.h"
#include "app/recheck.h"
#include "core/readings/buckets.h"
#include "view/view.h"

/* places, n_off, text, shelves, start, short_days, rechecks. The list of rechecks may be NULL (n
 * 0). */
void fl_view_climate(const fl_view *v, const char *key, const fl_climate *climate,
                     const fl_recheck *rechecks, size_t n_rechecks);

/* One place of it, alone. */
void fl_view_climate_place(const fl_view *v, const char *key, const fl_climate_place *p);

/* A place's chart. */
typedef struct fl_view_chart {
    const fl_climate_place *place;
    fl_readings_span span;
    int64_t step_s; /* of the logger, 0: not known */
    const fl_reading_point *points;
    size_t n_points;
} fl_view_chart;
/* The span, temp and rh as buckets with least, greatest and mean (null where the logger has
 * nothing), bands of plants and pests, sentences. */
void fl_view_readings_chart(const fl_view *v, const char *key, const fl_view_chart *chart);

/* What is wrong with a place, in a line: "too warm on 31 of 168 hours; dark". */
fl_sv fl_say_climate(const fl_climate_place *p, fl_arena *arena);
/* What would help, a sentence each; *count of them. */
fl_sv *fl_say_climate_advice(const fl_view *v, const fl_climate_place *p, size_t *count);
/* A release that is above its ceiling today. */
fl_sv fl_say_recheck(const fl_view *v, const fl_recheck *r);

#endif
