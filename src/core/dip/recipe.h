/* What to measure for the dips other than bleach: permanganate, peroxide, soap, hot water. Each has
 * the range in which a published use on plants or living things is known to us, and says no outside
 * it; none of them is a recommendation (advice.h) and the product's own label comes first. */
#ifndef FL_CORE_DIP_RECIPE_H
#define FL_CORE_DIP_RECIPE_H

#include "base/err.h"

#define FL_RECIPE_TOTAL_ML_MAX 200000.0

/* Crystals or a stock solution into water. */
typedef struct fl_permanganate_recipe {
    double crystals_mg; /* KMnO4 to weigh */
    double stock_ml;    /* or: of the stock solution; NAN when none was given */
    double water_ml;    /* with the stock: what is left of the total; without it the total */
} fl_permanganate_recipe;

/* target_mg_per_l: KMnO4, > 0 to 10, the highest bath for living things in our sources (S30, S31);
 * total_ml > 0; stock_g_per_l: 1 to 64 (its solubility in cold water), NAN for none. "Dark pink" is
 * no number and is not offered. FL_EDOMAIN. */
fl_status fl_permanganate_plan(double target_mg_per_l, double total_ml, double stock_g_per_l,
                               fl_permanganate_recipe *out, fl_err *err) FL_MUST_USE;

/* A liquid product into water; product_ml + water_ml = total_ml. */
typedef struct fl_liquid_recipe {
    double product_ml;
    double water_ml;
} fl_liquid_recipe;

/* Peroxide of label_pct (1 to 12 % by weight; stronger burns skin and is refused) to
 * target_mg_per_l H2O2, > 0 to 30 000 (3 % on orchid roots: minor damage; 6 and 12 %: permanent,
 * S35), counted as 10 000 mg/L a percent. FL_EDOMAIN. */
fl_status fl_peroxide_plan(double label_pct, double target_mg_per_l, double total_ml,
                           fl_liquid_recipe *out, fl_err *err) FL_MUST_USE;

/* Insecticidal soap concentrate of label_pct potassium salts of fatty acids (2 to 60 % by weight)
 * to target_pct of salts in the bath, 0.5 to 2 (1 to 2 %: S37). FL_EDOMAIN. */
fl_status fl_soap_plan(double label_pct, double target_pct, double total_ml, fl_liquid_recipe *out,
                       fl_err *err) FL_MUST_USE;

/* How hot and cold water are mixed; without the loss to the tub, so the thermometer decides. */
typedef struct fl_hot_water_recipe {
    double hot_ml;
    double cold_ml;
} fl_hot_water_recipe;

/* target_c 39 to 49, the range in which potted plants were tried (S47, S62); hot_c above and cold_c
 * below it, 0 to 100. FL_EDOMAIN. */
fl_status fl_hot_water_plan(double target_c, double total_ml, double hot_c, double cold_c,
                            fl_hot_water_recipe *out, fl_err *err) FL_MUST_USE;

#endif
