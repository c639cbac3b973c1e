/* How long the water in a closed bin lasts: what leaves with the air that leaks through the lid's
 * gasket and with the vapour that passes the walls, against what the mix holds. */
#ifndef FL_CORE_AIR_WATER_H
#define FL_CORE_AIR_WATER_H

#include <stdbool.h>

#include "base/err.h"

typedef struct fl_bin_water_in {
    double volume_l;       /* air in the bin, above 0 to 10000 */
    double inside_c;       /* FL_AIR_TEMP_MIN_C to FL_AIR_TEMP_MAX_C */
    double inside_rh_pct;  /* above 0 to 100 */
    double room_c;         /* as inside_c */
    double room_rh_pct;    /* as inside_rh_pct */
    double exchange_per_h; /* air changes, 0 to 100 */
    double wall_area_m2;   /* walls and lid that vapour can pass, 0 to 100; 0: walls left out */
    double wall_mm;        /* their thickness, above 0 when wall_area_m2 is */
    double wall_g_mm_per_m2_d_kpa; /* permeability, 0 or more; polypropylene 0.040 to 0.046 */
    double mix_l;                  /* volume of the mix, 0 to 10000 */
    double water_fraction;         /* water by volume of the mix, 0 to 1 */
    double use_share; /* share of that water that may go before the plants want more, 0 to 1 */
} fl_bin_water_in;

typedef struct fl_bin_water {
    double leak_g_per_day; /* with the air; negative when the room is the moister one */
    double wall_g_per_day; /* through the walls; same sign rule */
    double loss_g_per_day; /* the sum */
    double usable_g;       /* mix_l * water_fraction * use_share, at 1 kg per litre */
    bool loses_water;      /* false: the bin gains from the room, and days_to_water is 0 */
    double days_to_water;  /* usable_g / loss_g_per_day */
} fl_bin_water;

/* The daily loss of a closed bin and the days its water lasts.
 *   in   see above
 *   out  complete on success
 * Errors: FL_EDOMAIN naming the value.
 * Method: leak n V (AH inside - AH room), walls P A (vapour inside - vapour room) / thickness; both
 * steady, with the lid closed. The permeability is for 38 C and falls at lower temperature, so the
 * wall share is an upper bound. Opening the lid, and plants taken out, are not in it.
 * Source: Chen and Chen 2002, Plant Cell Tiss. Org. Cult. 71:103-109 (air exchange of vessels). */
fl_status fl_bin_water_of(const fl_bin_water_in *in, fl_bin_water *out, fl_err *err) FL_MUST_USE;

#endif
