/* Humid air. Formulas only; ranges are checked where values come in. */
#include "core/air/air.h"

#include <assert.h>
#include <math.h>

/* Magnus constants of the dew point: Alduchov and Eskridge 1996, J. Appl. Meteorol. 35. */
#define DEW_A 17.625
#define DEW_B_C 243.04
#define KELVIN_OFFSET 273.15
/* Molar mass of water over the gas constant, in g K / (m3 kPa). */
#define VAPOUR_G_K_PER_M3_KPA 2166.8

double fl_air_saturation_kpa(double temp_c)
{
    assert(temp_c >= FL_AIR_TEMP_MIN_C && temp_c <= FL_AIR_TEMP_MAX_C);
    return 0.6108 * exp(17.27 * temp_c / (temp_c + 237.3));
}

double fl_air_absolute_humidity_g_m3(double temp_c, double vapour_kpa)
{
    assert(temp_c >= FL_AIR_TEMP_MIN_C && temp_c <= FL_AIR_TEMP_MAX_C && vapour_kpa >= 0.0);
    return VAPOUR_G_K_PER_M3_KPA * vapour_kpa / (temp_c + KELVIN_OFFSET);
}

static fl_status check_temp(double temp_c, fl_err *err)
{
    if (!(temp_c >= FL_AIR_TEMP_MIN_C && temp_c <= FL_AIR_TEMP_MAX_C)) {
        return fl_fail(err, FL_EDOMAIN, "temperature %g C: give %g to %g", temp_c,
                       FL_AIR_TEMP_MIN_C, FL_AIR_TEMP_MAX_C);
    }
    return FL_OK;
}

fl_status fl_air_of(double temp_c, double rh_pct, fl_air *out, fl_err *err)
{
    const fl_status status = check_temp(temp_c, err);
    double ln_ratio;

    if (status != FL_OK) {
        return status;
    }
    if (!(rh_pct > 0.0 && rh_pct <= 100.0)) {
        return fl_fail(err, FL_EDOMAIN, "relative humidity %g %%: give above 0 to 100", rh_pct);
    }
    ln_ratio = log(rh_pct / 100.0) + DEW_A * temp_c / (DEW_B_C + temp_c);
    out->saturation_kpa = fl_air_saturation_kpa(temp_c);
    out->vapour_kpa = out->saturation_kpa * rh_pct / 100.0;
    out->vpd_kpa = out->saturation_kpa - out->vapour_kpa;
    out->dew_point_c = DEW_B_C * ln_ratio / (DEW_A - ln_ratio);
    out->absolute_humidity_g_m3 = fl_air_absolute_humidity_g_m3(temp_c, out->vapour_kpa);
    return FL_OK;
}

fl_status fl_air_leaf_deficit_kpa(const fl_air *air, double leaf_temp_c, double *out, fl_err *err)
{
    const fl_status status = check_temp(leaf_temp_c, err);

    if (status == FL_OK) {
        *out = fl_air_saturation_kpa(leaf_temp_c) - air->vapour_kpa;
    }
    return status;
}
