/* Leaching and prills. */
#include "core/residue/fertiliser.h"

#include <math.h>

#define VOLUME_ML_MAX 1e6
#define EC_MAX_MS_CM 20.0
#define PRILL_Q10 1.68
#define PRILL_AT_C 21.1
#define DAYS_A_MONTH 30.4375

static fl_status check(double value, const char *what, double low, double high, fl_err *err)
{
    if (!(value >= low) || value > high) {
        return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", what, value, low, high);
    }
    return FL_OK;
}

fl_status fl_leach_left_ms_cm(const fl_leach *leach, double *out, fl_err *err)
{
    fl_status status = check(leach->start_ms_cm, "conductivity", 0.0, EC_MAX_MS_CM, err);
    if (status == FL_OK) {
        status = check(leach->rinse_ms_cm, "the water's conductivity", 0.0, EC_MAX_MS_CM, err);
    }
    if (status == FL_OK) {
        status = check(leach->pot_water_ml, "water that the pot holds", 1.0, VOLUME_ML_MAX, err);
    }
    if (status == FL_OK) {
        status = check(leach->water_ml, "rinse water", 0.0, VOLUME_ML_MAX, err);
    }
    if (status == FL_OK) {
        double share = exp(-leach->water_ml / leach->pot_water_ml);
        *out = leach->rinse_ms_cm + (leach->start_ms_cm - leach->rinse_ms_cm) * share;
    }
    return status;
}

fl_status fl_prills_left(double months, double temp_c, double days, double *out, fl_err *err)
{
    fl_status status = check(months, "months", 0.5, 24.0, err);
    if (status == FL_OK) {
        status = check(temp_c, "temperature", 0.0, 45.0, err);
    }
    if (status == FL_OK) {
        status = check(days, "days", 0.0, 3650.0, err);
    }
    if (status == FL_OK) {
        double life_d = months * DAYS_A_MONTH * pow(PRILL_Q10, (PRILL_AT_C - temp_c) / 10.0);
        *out = fmax(0.0, 1.0 - days / life_d);
    }
    return status;
}
