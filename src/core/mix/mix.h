/* Potting mixes by volume: what to measure out for a wanted amount, given that volumes do not add
 * up, because fine parts fill the gaps between coarse ones. Start here; pots are in pot.h. */
#ifndef FL_CORE_MIX_MIX_H
#define FL_CORE_MIX_MIX_H

#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_MIX_PARTS_MAX 12
/* Finished volume over the sum of the loose parts, where nobody has measured: the middle of 0.85
 * to 0.90, unpublished. */
#define FL_MIX_YIELD_DEFAULT 0.875
#define FL_MIX_YIELD_MIN 0.5

/* A recipe of data/mix_recipes.csv. */
typedef struct fl_mix_recipe {
    const char *code; /* "epiphyte" */
    const char *name; /* what a person reads */
    size_t n_parts;
    const char *component[FL_MIX_PARTS_MAX];
    double parts[FL_MIX_PARTS_MAX]; /* by loose volume */
    const char *grade;              /* measured, practice, assumed */
    const char *source;
} fl_mix_recipe;

/* How many recipes there are, and the index-th (below the count, asserted). */
size_t fl_mix_recipe_count(void);
fl_mix_recipe fl_mix_recipe_at(size_t index);

/* Index by code, ignoring case; the count when unknown. */
size_t fl_mix_recipe_find(fl_sv code);

typedef struct fl_mix_plan {
    double volume_l[FL_MIX_PARTS_MAX]; /* loose, of each component in the recipe's order */
    double loose_l;                    /* their sum */
    double shrinkage;                  /* 1 - yield: the share of the loose volume that vanishes */
} fl_mix_plan;

/* What to measure out: volume = total * parts / sum of parts / yield.
 *   recipe   at least one part; parts above 0 (asserted)
 *   total_l  finished loose mix, above 0 to 100000
 *   yield    finished over loose, FL_MIX_YIELD_MIN to 1
 *   out      complete on success
 * Errors: FL_EDOMAIN naming the value. Firming and watering settle the mix further, by 15 to 20 %
 * (common practice, no source). */
fl_status fl_mix_plan_of(const fl_mix_recipe *recipe, double total_l, double yield,
                         fl_mix_plan *out, fl_err *err) FL_MUST_USE;

/* The least possible yield, where fine material sifts fully into coarse (finished volume over the
 * sum): max(coarse, coarse (1 - void) + fine) / (coarse + fine).
 *   coarse_l, fine_l  0 or more, not both 0 (asserted)
 *   frac_void         gaps in the coarse material, 0 to 1 (asserted)
 * Source: geometry; real mixes lie between it and 1. */
double fl_mix_least_yield(double coarse_l, double fine_l, double frac_void);

#endif
