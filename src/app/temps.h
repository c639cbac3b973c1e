/* The temperature of a place, hour by hour, as the filter needs it (design 4.10): what a logger
 * measured; where it has none, the place's set value as it was told at the time. */
#ifndef FL_APP_TEMPS_H
#define FL_APP_TEMPS_H

#include "app/room.h"

/* What a place is taken to have while nobody has told its temperature. */
#define FL_TEMP_UNTOLD_C 21.0
/* A gap of the logger up to this many hours is bridged by a straight line. */
#define FL_TEMP_GAP_H 6
/* Beyond, where no set value was told: so far from the untold value, or the last weeks' extreme
 * when that is farther. */
#define FL_TEMP_MARGIN_C 3.0
#define FL_TEMP_LOOKBACK_H (28 * 24)

/* Which way to err where nothing was measured or told. */
typedef enum fl_temps_side {
    FL_TEMPS_COLD = 0, /* for the slow set: what comes out comes out late */
    FL_TEMPS_WARM      /* for the fast set */
} fl_temps_side;

/* Hours span[0] <= h < span[1] (whole hours since 1970): *temps_c is an array in the arena, or NULL
 * and *constant_c holds for all of them. Each hour has, the first that there is:
 *   the mean of the logger's readings in that hour;
 *   in a gap of at most FL_TEMP_GAP_H hours between two such hours, the line between them;
 *   the set value of the time, or before the first telling the first;
 *   ahead of now, in a place without a set value, the mean of the same hour of day over the last
 *   seven days of readings;
 *   in a place with readings and without a set value, the colder of FL_TEMP_UNTOLD_C -
 *   FL_TEMP_MARGIN_C and the least of the FL_TEMP_LOOKBACK_H hours before (mirrored for WARM);
 *   FL_TEMP_UNTOLD_C. */
void fl_temps_of_place_side(const fl_room *room, fl_id place, const int64_t span[2],
                            fl_temps_side side, fl_arena *arena, const double **temps_c,
                            double *constant_c);

/* The same, erring to the cold. */
void fl_temps_of_place(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h,
                       fl_arena *arena, const double **temps_c, double *constant_c);

/* The same by what was told alone, as if nothing had been measured. */
void fl_temps_told(const fl_room *room, fl_id place, const int64_t span[2], fl_arena *arena,
                   const double **temps_c, double *constant_c);

/* How many hours of a span have their temperature from where. */
typedef struct fl_temps_count {
    int64_t measured;     /* a logger's mean */
    int64_t interpolated; /* bridged between two of them */
    int64_t told;         /* a set value */
    int64_t assumed;      /* nobody told one */
} fl_temps_count;
void fl_temps_count_of(const fl_room *room, fl_id place, const int64_t span[2],
                       fl_temps_count *out);

/* True when the place has the same temperature at all hours, as far as is known: then
 * fl_temps_of_place gives *constant_c for any of them. */
bool fl_temps_are_constant(const fl_room *room, fl_id place, double *constant_c);

/* The middle of the set values of these boxes, [n]: what a box is taken to have while it is not
 * known which; FL_TEMP_UNTOLD_C where none is told. */
double fl_temps_usual_of(const fl_ev_place_set *const *boxes, size_t n, fl_arena *arena);

#endif
