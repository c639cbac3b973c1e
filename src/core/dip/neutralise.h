/* After the dip: what takes the chlorine away (thiosulfate), what thins it (rinses), and in which
 * form it was (HOCl or OCl-). Nothing here says that a rinsed plant is free of chlorine: axils,
 * roots and moss hold liquid that these formulas do not see. Model card: docs/models/bleach.md. */
#ifndef FL_CORE_DIP_NEUTRALISE_H
#define FL_CORE_DIP_NEUTRALISE_H

#include <stddef.h>

#include "base/err.h"

/* Molar masses, g/mol: sodium thiosulfate without and with its five waters. */
#define FL_MOLAR_THIOSULFATE 158.11
#define FL_MOLAR_THIOSULFATE_5H2O 248.18

/* US EPA criteria for aquatic life in fresh water, total residual chlorine (S10): not to be passed
 * in the short and in the long run. A test kit that reads 0.1 mg/L cannot show either. */
#define FL_CHLORINE_ACUTE_MG_PER_L 0.019
#define FL_CHLORINE_CHRONIC_MG_PER_L 0.011

#define FL_RINSES_MAX 100
#define FL_CHLORINE_MG_PER_L_MAX 200000.0

/* Sodium thiosulfate pentahydrate, mg. */
typedef struct fl_thiosulfate_dose {
    double
        planned_mg; /* to tetrathionate, 2 mol per mol Cl2, about 7.00 mg per mg: what to weigh */
    double low_mg;  /* all the way to sulfate, 1 mol per 4 mol Cl2: 0.875 mg per mg */
    double high_mg; /* the most the reaction can take: equal to planned_mg */
} fl_thiosulfate_dose;

/* The dose for volume_l (0 to 1000 L) of water that holds chlorine_mg_per_l (0 to 200 000, as Cl2,
 * strict): of what is carried over into a bath, or of a spent dip before it is poured away.
 * Which reaction runs depends on acidity and excess, so the plan is the worst case: too little
 * leaves chlorine, an excess is mild. FL_EDOMAIN. Stoichiometry from molar masses (S19). */
fl_status fl_thiosulfate_plan(double chlorine_mg_per_l, double volume_l, fl_thiosulfate_dose *out,
                              fl_err *err) FL_MUST_USE;

/* A series of well-mixed rinse baths. */
typedef struct fl_rinse {
    double chlorine_mg_per_l; /* of what clings at first, 0 to 200 000 */
    double carry_ml;          /* liquid that clings to the drained plants, > 0 to 100 000 */
    double bath_ml;           /* fresh water in each bath, > 0 to 1 000 000 */
    double tap_mg_per_l;      /* chlorine in that water, 0 to 10; tap water may hold some */
    int rinses;               /* 1 to FL_RINSES_MAX */
} fl_rinse;

/* Chlorine in each bath after mixing, after_mg_per_l[rinses], first bath first:
 * C_k = (C_(k-1) carry + tap bath) / (carry + bath). FL_EDOMAIN; the array is then untouched. */
fl_status fl_rinse_series(const fl_rinse *rinse, double *after_mg_per_l, fl_err *err) FL_MUST_USE;

/* The least number of baths after which the chlorine is at most target_mg_per_l (> 0): 0 when it
 * is already, -1 when it takes more than FL_RINSES_MAX (or the tap water itself is above it).
 * `rinse->rinses` is not read. FL_EDOMAIN. */
fl_status fl_rinse_count(const fl_rinse *rinse, double target_mg_per_l, int *out,
                         fl_err *err) FL_MUST_USE;

/* Share of free chlorine that is HOCl (the form about 100 times as potent, S18) at ph (0 to 14)
 * and temp_c (0 to 50): 1/(1 + 10^(pH - pKa)), pKa = 3000/T - 10.0686 + 0.0253 T (Morris 1966,
 * S17). 0 to 1. For explanation only: nobody should acidify a dip, acid frees chlorine gas.
 * FL_EDOMAIN. */
fl_status fl_hypochlorous_frac(double ph, double temp_c, double *out, fl_err *err) FL_MUST_USE;

#endif
