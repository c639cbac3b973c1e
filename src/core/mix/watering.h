/* The first watering of fresh mix, and a drainage layer under it. */
#ifndef FL_CORE_MIX_WATERING_H
#define FL_CORE_MIX_WATERING_H

#include "base/err.h"

/* In a box that stays closed nothing drains away: stop below what the mix could hold (from
 * memory). */
#define FL_WATER_CLOSED_LOW 0.6
#define FL_WATER_CLOSED_HIGH 0.7
/* What a mix of peat, bark and the like holds after draining, by volume: 48 % pine bark and 87 %
 * peat are measured (Boyer et al. 2012, Int. J. Agronomy 978528), the rest is not; 60 % is
 * assumed, good to a quarter. */
#define FL_WATER_CAPACITY_DEFAULT 0.60
/* Gaps between pebbles or clay balls, of the layer's volume (random packing, from memory). */
#define FL_LAYER_VOID_DEFAULT 0.40

typedef struct fl_first_water {
    double to_capacity_ml; /* all that it can hold, for a pot that drains */
    double closed_low_ml;  /* for a box that stays closed */
    double closed_high_ml;
} fl_first_water;

/* Water for mix that holds little yet: volume * (share * capacity - now), never below 0.
 *   mix_l     0 to 10000
 *   capacity  water by volume after draining, 0 to 1
 *   now       water by volume as it is, 0 to 1
 * FL_EDOMAIN names the value. Source: pour-and-drain arithmetic (light-climate-substrate 3.3). */
fl_status fl_first_water_of(double mix_l, double capacity, double now, fl_first_water *out,
                            fl_err *err) FL_MUST_USE;

typedef struct fl_layer {
    double volume_l; /* of pebbles to buy */
    double water_l;  /* that the gaps take before it meets the mix above */
} fl_layer;

/* A layer of pebbles in a box or a pot: length_mm and width_mm 1 to 10000 inside, depth_mm 1 to
 * 1000, frac_void 0 to 1. FL_EDOMAIN names the value. Elementary geometry. */
fl_status fl_layer_of(double length_mm, double width_mm, double depth_mm, double frac_void,
                      fl_layer *out, fl_err *err) FL_MUST_USE;

#endif
