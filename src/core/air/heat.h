/* How much warmer than the room a closed box gets: the light that its plants and mix take up, a mat
 * below it, sun on it, against what its walls let out. */
#ifndef FL_CORE_AIR_HEAT_H
#define FL_CORE_AIR_HEAT_H

#include <stddef.h>

#include "base/err.h"

/* Heat through a single plastic wall with still air on both sides, W per m2 and K: film
 * coefficients as handbooks give them, from memory. */
#define FL_BOX_U_DEFAULT 5.0
/* Photons per joule of white LED light, 400 to 700 nm: middle of three CIE spectra. */
#define FL_BOX_UMOL_PER_J 4.7
/* Share of light that leaves and mix keep as heat (assumed). */
#define FL_BOX_ABSORBED 0.9

typedef struct fl_box_heat_in {
    double lit_m2;         /* lid area that the lamp lights, 0 to 100 */
    double ppfd_umol_m2_s; /* under the lid, 0 to 5000 */
    double mat_watts;      /* of a mat below it that go into the box, 0 to 10000 */
    double sun_w_m2;       /* sunlight on it, 0 to 1400 */
    double sun_m2;         /* of its side that the sun meets, 0 to 100 */
    double transmittance;  /* of that side, 0 to 1 */
    double wall_m2;        /* all walls and the lid, above 0 to 100 */
    double u_w_m2_k;       /* above 0 to 100 */
} fl_box_heat_in;

typedef struct fl_box_heat {
    double lamp_w; /* what each brings into the box */
    double mat_w;
    double sun_w;
    double warmer_k; /* of the box over the room, steady */
} fl_box_heat;

/* The steady rise: (lamp + mat + sun) / (U A).
 * Errors: FL_EDOMAIN naming the value; out complete on success.
 * A model, not a measurement: none of such a bin was found published. A logger beats it. */
fl_status fl_box_heat_of(const fl_box_heat_in *in, fl_box_heat *out, fl_err *err) FL_MUST_USE;

#endif
