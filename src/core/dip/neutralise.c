/* Thiosulfate doses, rinse series and the HOCl share. */
#include "core/dip/neutralise.h"

#include <math.h>

#include "core/dip/bleach.h"

/* mol of thiosulfate per mol Cl2 */
#define MOL_TO_TETRATHIONATE 2.0
#define MOL_TO_SULFATE 0.25

static fl_status check_range(double value, const char *what, double min, double max, fl_err *err)
{
    if (!(value >= min) || value > max) {
        return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", what, value, min, max);
    }
    return FL_OK;
}

fl_status fl_thiosulfate_plan(double chlorine_mg_per_l, double volume_l, fl_thiosulfate_dose *out,
                              fl_err *err)
{
    fl_status status =
        check_range(chlorine_mg_per_l, "chlorine mg/L", 0.0, FL_CHLORINE_MG_PER_L_MAX, err);
    if (status == FL_OK) {
        status = check_range(volume_l, "volume L", 0.0, 1000.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double mg_at_1_to_1 = chlorine_mg_per_l * volume_l * FL_MOLAR_THIOSULFATE_5H2O / FL_MOLAR_CL2;
    *out = (fl_thiosulfate_dose){.planned_mg = MOL_TO_TETRATHIONATE * mg_at_1_to_1,
                                 .low_mg = MOL_TO_SULFATE * mg_at_1_to_1,
                                 .high_mg = MOL_TO_TETRATHIONATE * mg_at_1_to_1};
    return FL_OK;
}

static fl_status check_rinse(const fl_rinse *rinse, fl_err *err)
{
    fl_status status =
        check_range(rinse->chlorine_mg_per_l, "chlorine mg/L", 0.0, FL_CHLORINE_MG_PER_L_MAX, err);
    if (status == FL_OK) {
        status = check_range(rinse->carry_ml, "carry-over ml", 1e-6, 1e5, err);
    }
    if (status == FL_OK) {
        status = check_range(rinse->bath_ml, "bath ml", 1e-6, 1e6, err);
    }
    if (status == FL_OK) {
        status = check_range(rinse->tap_mg_per_l, "chlorine of the tap mg/L", 0.0, 10.0, err);
    }
    return status;
}

static double next_bath(const fl_rinse *rinse, double before_mg_per_l)
{
    return (before_mg_per_l * rinse->carry_ml + rinse->tap_mg_per_l * rinse->bath_ml) /
           (rinse->carry_ml + rinse->bath_ml);
}

fl_status fl_rinse_series(const fl_rinse *rinse, double *after_mg_per_l, fl_err *err)
{
    fl_status status = check_rinse(rinse, err);
    if (status == FL_OK) {
        status = check_range((double)rinse->rinses, "rinses", 1.0, FL_RINSES_MAX, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double c = rinse->chlorine_mg_per_l;
    for (int i = 0; i < rinse->rinses; i++) {
        c = next_bath(rinse, c);
        after_mg_per_l[i] = c;
    }
    return FL_OK;
}

fl_status fl_rinse_count(const fl_rinse *rinse, double target_mg_per_l, int *out, fl_err *err)
{
    fl_status status = check_rinse(rinse, err);
    if (status == FL_OK) {
        status = check_range(target_mg_per_l, "target mg/L", 1e-6, FL_CHLORINE_MG_PER_L_MAX, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double c = rinse->chlorine_mg_per_l;
    for (int i = 0; i <= FL_RINSES_MAX; i++) {
        if (c <= target_mg_per_l) {
            *out = i;
            return FL_OK;
        }
        c = next_bath(rinse, c);
    }
    *out = -1;
    return FL_OK;
}

fl_status fl_hypochlorous_frac(double ph, double temp_c, double *out, fl_err *err)
{
    fl_status status = check_range(ph, "pH", 0.0, 14.0, err);
    if (status == FL_OK) {
        status = check_range(temp_c, "temperature C", 0.0, 50.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double t_k = temp_c + 273.15;
    double pka = 3000.0 / t_k - 10.0686 + 0.0253 * t_k;
    *out = 1.0 / (1.0 + pow(10.0, ph - pka));
    return FL_OK;
}
