/* Household bleach: from what the label says and how old the bottle is to what is in the tub.
 *
 * Start at fl_bleach_plan. Three units are kept apart throughout: percent NaOCl by weight (labels),
 * mg/L of available chlorine counted as Cl2 (strict: with density and molar masses; this doses a
 * neutraliser), and the simple convention of health tables (percent x 10 000), which is 2 to 6 %
 * lower. Model card: docs/models/bleach.md. Sources S1 ... : data/chem_sources.csv. */
#ifndef FL_CORE_DIP_BLEACH_H
#define FL_CORE_DIP_BLEACH_H

#include <stdbool.h>

#include "base/err.h"
#include "core/dip/parts.h"

/* Molar masses, g/mol (S1, S2). */
#define FL_MOLAR_NAOCL 74.44
#define FL_MOLAR_CL2 70.906
/* mg of available chlorine (as Cl2) that one mg of NaOCl stands for: 0.9525. */
#define FL_CL2_PER_NAOCL (FL_MOLAR_CL2 / FL_MOLAR_NAOCL)

#define FL_BLEACH_PCT_MIN 0.5
#define FL_BLEACH_PCT_MAX 15.0
#define FL_BLEACH_TOTAL_ML_MAX 200000.0

/* What the label calls it. Only plain bleach may be planned with. */
typedef enum fl_bleach_product {
    FL_BLEACH_PLAIN = 0,
    FL_BLEACH_SCENTED,
    FL_BLEACH_GEL,
    FL_BLEACH_SPLASHLESS, /* thickened with surfactant */
    FL_BLEACH_PRODUCT_COUNT
} fl_bleach_product;

/* A bottle. fl_bleach_bottle_of gives one with everything unknown. */
typedef struct fl_bleach_bottle {
    double label_pct;        /* NaOCl, % by weight, 0.5 to 15 */
    double specific_gravity; /* 0.95 to 1.30; NAN: fl_bleach_gravity_of(label_pct) */
    double age_days;         /* 0 to 3650; NAN: not told, and the label is believed */
    double store_c;          /* mean temperature it stood at, 0 to 55; needed with age_days */
    fl_bleach_product product;
} fl_bleach_bottle;

/* A reading of a test strip or kit in a dilution of the product; it overrides label and age. */
typedef struct fl_bleach_strip {
    double reading_mg_per_l; /* available chlorine as read; NAN: there is none */
    fl_parts parts;          /* how the product was diluted for the reading */
} fl_bleach_strip;

/* Today's strength, NaOCl % by weight; low <= now <= high. */
typedef struct fl_bleach_strength {
    double now_pct;
    double low_pct;       /* an opened bottle, used and seen by light */
    double high_pct;      /* dark, closed, clean: what the equation gives */
    bool is_measured;     /* from a strip */
    bool is_age_unknown;  /* the label was believed: the interval says nothing about age */
    bool is_extrapolated; /* outside the decay equation's range (0.7 to 3 mol/L, 15 to 55 C) */
    bool should_replace;  /* less than half the label, or high/low above 1.5 */
} fl_bleach_strength;

/* What to mix. Exactly one of parts and target is used. */
typedef struct fl_bleach_request {
    fl_bleach_bottle bottle;
    fl_bleach_strip strip;  /* reading_mg_per_l NAN: none */
    fl_parts parts;         /* used when target_mg_per_l is NAN */
    double target_mg_per_l; /* available chlorine, strict, > 0; NAN: parts are given */
    double total_ml;        /* of the finished dip, > 0 to 200 000 */
} fl_bleach_request;

/* The finished dip. product_ml + water_ml = total_ml. */
typedef struct fl_bleach_mix {
    double product_ml;
    double water_ml;
    double chlorine_mg_per_l;     /* strict, as Cl2, from today's middle strength */
    double chlorine_low_mg_per_l; /* the same from the low and the high strength */
    double chlorine_high_mg_per_l;
    double chlorine_simple_mg_per_l; /* health-table convention: % x 10 000 x share */
    double naocl_mg_per_l;           /* NaOCl itself: chlorine / 0.9525 */
    double product_pct_by_volume;    /* 1+19 is 5 */
    double specific_gravity;         /* of the product, as used */
    fl_bleach_strength strength;
} fl_bleach_mix;

/* A plain bottle of this label strength, nothing else known (gravity, age, storage NAN). */
fl_bleach_bottle fl_bleach_bottle_of(double label_pct);

/* Specific gravity of a product whose safety sheet is not at hand: 1 + 0.0142 * pct, a straight
 * line through about 1.16 at 12.5 trade % (S2); real brands differ by about 2 %. */
double fl_bleach_gravity_of(double label_pct);

/* Available chlorine, mg/L as Cl2, of a product of naocl_pct (% by weight) and specific gravity:
 * pct * 10 000 * gravity * 0.9525 (definitions: S1). */
double fl_bleach_chlorine_mg_per_l(double naocl_pct, double specific_gravity);
/* The inverse: % by weight. */
double fl_bleach_pct_of_chlorine(double chlorine_mg_per_l, double specific_gravity);
/* Trade percent (g available chlorine per 100 ml) to NaOCl % by weight (S1). */
double fl_bleach_pct_of_trade(double trade_pct, double specific_gravity);

/* Second-order loss constant of hypochlorite, 1/(M s), at temp_c and ionic strength mu (mol/L):
 * log10 k = 0.149 mu + log10(2.083e10 T exp(-1.018e5/(R T)) exp(-56.5/R)), T in K, R = 8.314.
 * Adam and Gordon 1999 (S9), stated for 15 to 55 C, mu 1 to 6, 0.7 to 3 mol/L, no metals. */
double fl_bleach_loss_constant(double temp_c, double mu_mol_per_l);

/* Today's strength of a bottle, from its strip reading if there is one, else from age and storage.
 * FL_EDOMAIN for values out of range, for an age without a temperature (and the reverse), and for
 * a product that is not plain bleach.
 * high: the equation alone, fresh ionic strength 2 C0 + 0.15. now: 1.3 times that rate, mu
 * 2 C0 + 0.20, as older tables and real bottles run faster. low: 1.5 times the rate, 2 C0 + 0.25,
 * and a first-order loss of 0.00207 a day besides, what opened spray bottles lost (S15: 7 % in
 * 5 weeks). With a strip: the reading, and 25 % either way (a strip's colour steps; assumed). */
fl_status fl_bleach_strength_now(const fl_bleach_bottle *bottle, const fl_bleach_strip *strip,
                                 fl_bleach_strength *out, fl_err *err) FL_MUST_USE;

/* Plans a dip: volumes and what will be in it. For a target, the volume is dosed with today's
 * middle strength, never the label's. FL_EDOMAIN as above, for a total or parts out of range, and
 * for a target that the bottle can no longer reach. */
fl_status fl_bleach_plan(const fl_bleach_request *request, fl_bleach_mix *out,
                         fl_err *err) FL_MUST_USE;

#endif
