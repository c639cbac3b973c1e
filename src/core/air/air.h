/* Humid air at sea-level pressure: saturation, vapour, deficit, dew point, water per volume.
 * Start reading here; what a closed bin loses is in water.h. */
#ifndef FL_CORE_AIR_AIR_H
#define FL_CORE_AIR_AIR_H

#include "base/err.h"

#define FL_AIR_TEMP_MIN_C (-40.0)
#define FL_AIR_TEMP_MAX_C 60.0

typedef struct fl_air {
    double saturation_kpa; /* over water at the air's temperature */
    double vapour_kpa;     /* what the air holds */
    double vpd_kpa;        /* saturation - vapour: a leaf at air temperature */
    double dew_point_c;    /* a surface colder than this gets wet */
    double absolute_humidity_g_m3;
} fl_air;

/* Saturation vapour pressure over water, kPa.
 *   temp_c  FL_AIR_TEMP_MIN_C to FL_AIR_TEMP_MAX_C (asserted)
 * Accuracy: within 0.3 % of the other formulas in use over 5 to 35 C.
 * Source: Tetens' form, Allen et al. 1998, FAO Irrigation and Drainage Paper 56, equation 11. */
double fl_air_saturation_kpa(double temp_c);

/* Mass of vapour in a cubic metre, g/m3, of air at temp_c holding vapour_kpa (ideal gas; tables of
 * measured density lie 0.2 to 0.4 % higher). Ranges as above; vapour_kpa >= 0. */
double fl_air_absolute_humidity_g_m3(double temp_c, double vapour_kpa);

/* Everything about air of temp_c and relative humidity rh_pct.
 *   temp_c  FL_AIR_TEMP_MIN_C to FL_AIR_TEMP_MAX_C
 *   rh_pct  above 0 to 100 (dry air has no dew point)
 *   out     complete on success
 * Errors: FL_EDOMAIN naming the value.
 * Dew point: Magnus form with the constants of Alduchov and Eskridge (17.625, 243.04 C); it gives
 * temp_c itself at 100 %, and is within 0.05 C of what the saturation formula says for dew points
 * of -5 C and above. */
fl_status fl_air_of(double temp_c, double rh_pct, fl_air *out, fl_err *err) FL_MUST_USE;

/* Deficit between a leaf and the air around it, kPa; negative when the leaf is below the dew point
 * and gets wet.
 *   air          of fl_air_of
 *   leaf_temp_c  FL_AIR_TEMP_MIN_C to FL_AIR_TEMP_MAX_C
 * Errors: FL_EDOMAIN naming the value. */
fl_status fl_air_leaf_deficit_kpa(const fl_air *air, double leaf_temp_c, double *out,
                                  fl_err *err) FL_MUST_USE;

#endif
