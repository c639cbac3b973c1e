/* Lamps and lids by name: what a lumen of each lamp is worth to a plant, and what each lid lets
 * pass. The tables are data/lamps.csv and data/lids.csv, compiled in. */
#ifndef FL_CORE_LIGHT_LAMP_H
#define FL_CORE_LIGHT_LAMP_H

#include <stddef.h>

#include "base/sv.h"

/* The factor of an ordinary white LED (blue pump and phosphor, CRI near 80), +-4 %: for lamps that
 * are not named. */
#define FL_LAMP_LUX_PER_UMOL_DEFAULT 70.0

typedef struct fl_lamp {
    const char *code;    /* "white_led_4000k" */
    const char *name;    /* what a person reads */
    double lux_per_umol; /* lx per umol m-2 s-1 */
    const char *grade;   /* measured, practice, assumed */
    const char *source;  /* where the figure is from, one line */
} fl_lamp;

typedef struct fl_lid {
    const char *code; /* "polypropylene" */
    const char *name;
    double transmittance_low; /* share of light passed, dry and clean, 0 to 1 */
    double transmittance_high;
    const char *transmittance_grade;
    double refractive_index;           /* NAN when not known */
    double wall_low_g_mm_per_m2_d_kpa; /* vapour permeability at 38 C; NAN when not known */
    double wall_high_g_mm_per_m2_d_kpa;
    const char *source;
} fl_lid;

/* All lamps, all lids, in the order of their tables; index below the count (asserted). */
size_t fl_lamp_count(void);
fl_lamp fl_lamp_at(size_t index);
size_t fl_lid_count(void);
fl_lid fl_lid_at(size_t index);

/* Index by code, ignoring case; the count when unknown. */
size_t fl_lamp_find(fl_sv code);
size_t fl_lid_find(fl_sv code);

#endif
