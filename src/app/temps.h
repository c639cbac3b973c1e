/* The temperature of a place, hour by hour, as the filter needs it (design 4.10): the place's set
 * value as it was told at the time; logger series are laid over it. */
#ifndef FL_APP_TEMPS_H
#define FL_APP_TEMPS_H

#include "app/room.h"

/* What a place is taken to have while nobody has told its temperature. */
#define FL_TEMP_UNTOLD_C 21.0

/* Hours from_h <= h < to_h (whole hours since 1970): *temps_c is an array in the arena, or NULL and
 * *constant_c holds for all of them. */
void fl_temps_of_place(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h,
                       fl_arena *arena, const double **temps_c, double *constant_c);

/* True when the place has the same temperature at all hours, as far as is known: then
 * fl_temps_of_place gives *constant_c for any of them. */
bool fl_temps_are_constant(const fl_room *room, fl_id place, double *constant_c);

#endif
