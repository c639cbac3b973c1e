/* What fertiliser leaves behind: salt that water washes out of a pot, and prills that go on
 * releasing. Neither says that it is fit for animals: leaching does not empty prills, so they are
 * picked out by hand when the old mix is stripped. Model card: docs/models/residue.md. */
#ifndef FL_CORE_RESIDUE_FERTILISER_H
#define FL_CORE_RESIDUE_FERTILISER_H

#include "base/err.h"

/* Conductivity of what drains, mS/cm, after water_ml (0 to 1 000 000) of rinse water of
 * rinse_ms_cm went through a pot that holds pot_water_ml (1 to 1 000 000) and began at
 * start_ms_cm (0 to 20): well mixed, rinse + (start - rinse) exp(-water/pot water). FL_EDOMAIN. */
typedef struct fl_leach {
    double start_ms_cm;
    double rinse_ms_cm; /* of the water itself, 0 to 20 */
    double pot_water_ml;
    double water_ml;
} fl_leach;
fl_status fl_leach_left_ms_cm(const fl_leach *leach, double *out, fl_err *err) FL_MUST_USE;

/* Share of a controlled-release prill that is left, 0 to 1, after days (0 to 3650) at temp_c (0 to
 * 45), of a product of so many months (0.5 to 24) at 21.1 C (70 F: S116). Release grows 1.68 times
 * for each 10 C (from S117: "4 months" lasts about 3 at 26.7 C), evenly over its life.
 * FL_EDOMAIN. */
fl_status fl_prills_left(double months, double temp_c, double days, double *out,
                         fl_err *err) FL_MUST_USE;

#endif
