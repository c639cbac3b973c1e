/* Light at leaf height under a shop light: illuminance of a straight lamp, photons by the lamp's
 * kind, the day's sum. Start reading here; lamps and lids by name are in lamp.h. A meter reading
 * beats everything here: a lamp's label is its best day. */
#ifndef FL_CORE_LIGHT_LIGHT_H
#define FL_CORE_LIGHT_LIGHT_H

#include "base/err.h"

/* How the lamp sends its light out across its length. */
typedef enum fl_strip_kind {
    FL_STRIP_DOWNLIGHT = 0, /* flat diffuse strip facing down: all lumens below it */
    FL_STRIP_BARE_TUBE      /* diffuse tube without a reflector, lighting all round */
} fl_strip_kind;

/* A straight lamp lying level above a level plane, and the point of interest on that plane. */
typedef struct fl_strip {
    double lumens;    /* of the whole lamp, 0 to 1e6 */
    double length_mm; /* lit length, 0 (a point) to 1e5 */
    double height_mm; /* of the lamp above the plane, above 0 to 1e5 */
    double along_mm;  /* from below the lamp's middle, along the lamp, -1e6 to 1e6 */
    double across_mm; /* the same, across the lamp */
    fl_strip_kind kind;
} fl_strip;

/* Illuminance at the point, lx.
 *   strip  see above
 *   lux    0 or more, written on success
 * Errors: FL_EDOMAIN naming the value.
 * Method: the closed integral over a line of Lambert emitters,
 *   downlight  E = I0 h^2 / (2 L d^3) [f(X1) + f(X2)],  I0 = lumens / pi
 *   bare tube  E = I h / (2 L d^2) [f(X1) + f(X2)],     I = lumens / pi^2
 * with d the distance from the lamp's axis, X1, X2 the signed ends seen from the point and
 * f(X) = a + sin a cos a, a = atan(X / d); evaluated without cancellation (rel 1e-9 out to 10 m).
 * Add neighbouring lamps by summing. Walls, reflectors and dirt are not in it.
 * Source: aspect factor of a uniform diffuser, Offshore Electrical Engineering Manual (Elsevier),
 * ch. 14, eqs 2.14.2 to 2.14.4; pi^2: IES Lighting Handbook, p. 8-41. */
fl_status fl_light_strip_lux(const fl_strip *strip, double *lux, fl_err *err) FL_MUST_USE;

/* A strip, the lamp's factor, the lid and the hours. */
typedef struct fl_light_in {
    fl_strip strip;
    double lux_per_umol;      /* lx per umol m-2 s-1 of the lamp, 10 to 200 */
    double lid_transmittance; /* share that passes the lid, 0 to 1; 1: no lid */
    double hours;             /* lit per day at that level, 0 to 24 */
} fl_light_in;

typedef struct fl_light {
    double lux_no_lid;     /* where the leaf is, were there no lid */
    double lux;            /* where the leaf is */
    double ppfd_umol_m2_s; /* photons 400 to 700 nm */
    double dli_mol_m2_d;   /* the day's photons */
} fl_light;

/* Light under the lid at the point: lux = strip * lid, PPFD = lux / factor, DLI = PPFD * hours *
 * 3600 / 1e6.
 * Errors: FL_EDOMAIN naming the value; out complete on success. */
fl_status fl_light_of(const fl_light_in *in, fl_light *out, fl_err *err) FL_MUST_USE;

/* Share that passes a clear slab square on, 0 to 1: (1 - R) / (1 + R), R = ((n - 1) / (n + 1))^2,
 * all bounces inside counted, nothing absorbed: the most a dry clean lid can do.
 *   refractive_index  1 or more (asserted)
 * Source: Fresnel's equations at normal incidence, any optics text. */
double fl_light_clear_slab(double refractive_index);

#endif
