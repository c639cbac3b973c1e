/* Arithmetic of the dips other than bleach. */
#include "core/dip/recipe.h"

#include <math.h>

#define MG_PER_L_PER_PCT 10000.0

static fl_status check_range(double value, const char *what, double min, double max, fl_err *err)
{
    if (!(value >= min) || value > max) {
        return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", what, value, min, max);
    }
    return FL_OK;
}

static fl_status check_total(double total_ml, fl_err *err)
{
    return check_range(total_ml, "total ml", 1.0, FL_RECIPE_TOTAL_ML_MAX, err);
}

fl_status fl_permanganate_plan(double target_mg_per_l, double total_ml, double stock_g_per_l,
                               fl_permanganate_recipe *out, fl_err *err)
{
    fl_status status = check_range(target_mg_per_l, "permanganate mg/L", 0.01, 10.0, err);
    if (status == FL_OK) {
        status = check_total(total_ml, err);
    }
    if (status == FL_OK && !isnan(stock_g_per_l)) {
        status = check_range(stock_g_per_l, "stock g/L", 1.0, 64.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double crystals_mg = target_mg_per_l * total_ml / 1000.0;
    double stock_ml = crystals_mg / stock_g_per_l; /* mg / (g/L) = ml; NAN without a stock */
    *out = (fl_permanganate_recipe){.crystals_mg = crystals_mg,
                                    .stock_ml = stock_ml,
                                    .water_ml = isnan(stock_ml) ? total_ml : total_ml - stock_ml};
    return FL_OK;
}

fl_status fl_peroxide_plan(double label_pct, double target_mg_per_l, double total_ml,
                           fl_liquid_recipe *out, fl_err *err)
{
    fl_status status = check_range(label_pct, "peroxide label %", 1.0, 12.0, err);
    if (status == FL_OK) {
        status = check_range(target_mg_per_l, "peroxide mg/L", 1.0,
                             fmin(30000.0, label_pct * MG_PER_L_PER_PCT), err);
    }
    if (status == FL_OK) {
        status = check_total(total_ml, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double product_ml = total_ml * target_mg_per_l / (label_pct * MG_PER_L_PER_PCT);
    *out = (fl_liquid_recipe){product_ml, total_ml - product_ml};
    return FL_OK;
}

fl_status fl_soap_plan(double label_pct, double target_pct, double total_ml, fl_liquid_recipe *out,
                       fl_err *err)
{
    fl_status status = check_range(label_pct, "soap label %", 2.0, 60.0, err);
    if (status == FL_OK) {
        status = check_range(target_pct, "soap in the bath %", 0.5, 2.0, err);
    }
    if (status == FL_OK) {
        status = check_total(total_ml, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double product_ml = total_ml * target_pct / label_pct;
    *out = (fl_liquid_recipe){product_ml, total_ml - product_ml};
    return FL_OK;
}

fl_status fl_hot_water_plan(double target_c, double total_ml, double hot_c, double cold_c,
                            fl_hot_water_recipe *out, fl_err *err)
{
    fl_status status = check_range(target_c, "bath C", 39.0, 49.0, err);
    if (status == FL_OK) {
        status = check_total(total_ml, err);
    }
    if (status == FL_OK) {
        status = check_range(hot_c, "hot water C", target_c, 100.0, err);
    }
    if (status == FL_OK) {
        status = check_range(cold_c, "cold water C", 0.0, target_c - 1.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double hot_ml = total_ml * (target_c - cold_c) / (hot_c - cold_c);
    *out = (fl_hot_water_recipe){hot_ml, total_ml - hot_ml};
    return FL_OK;
}
