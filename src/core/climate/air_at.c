/* Sorting hours by what the plants want. */
#include "core/climate/air_at.h"

#include <math.h>

#include "core/air/air.h"

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_air_state[FL_AIR_STATES] = {FL_AIR_STATE_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

fl_air_want fl_air_want_none(void)
{
    const double untold = (double)NAN;
    return (fl_air_want){untold, untold, untold, untold};
}

void fl_air_want_add(fl_air_want *want, const fl_know_plant *plant)
{
    if (plant == NULL) {
        return;
    }
    want->temp_min_c = fmax(want->temp_min_c, plant->temp_min_c);
    want->temp_opt_lo_c = fmax(want->temp_opt_lo_c, plant->temp_opt_lo_c);
    want->temp_opt_hi_c = fmin(want->temp_opt_hi_c, plant->temp_opt_hi_c);
    want->rh_min_pct = fmax(want->rh_min_pct, plant->rh_min_pct);
}

static void take_temp(double temp_c, const fl_air_want *want, fl_air_days *out)
{
    if (isnan(temp_c)) {
        return;
    }
    out->temp_mean_c += temp_c;
    out->temp_min_c = fmin(out->temp_min_c, temp_c);
    out->temp_max_c = fmax(out->temp_max_c, temp_c);
    out->n_temp++;
    bool is_harm = temp_c < want->temp_min_c;
    bool is_hot = temp_c > want->temp_opt_hi_c + FL_AIR_HOT_OVER_C;
    out->n_harm += is_harm;
    out->n_cool += !is_harm && temp_c < want->temp_opt_lo_c;
    out->n_hot += is_hot;
    out->n_warm += !is_hot && temp_c > want->temp_opt_hi_c;
}

static void take_rh(double rh_pct, const fl_air_want *want, fl_air_days *out)
{
    if (isnan(rh_pct)) {
        return;
    }
    out->rh_mean_pct += rh_pct;
    out->rh_min_pct = fmin(out->rh_min_pct, rh_pct);
    out->rh_max_pct = fmax(out->rh_max_pct, rh_pct);
    out->n_rh++;
    out->n_dry += rh_pct < want->rh_min_pct;
    out->n_damp += rh_pct > FL_AIR_DAMP_PCT;
}

void fl_air_days_of(const double *temp_c, const double *rh_pct, int n, const fl_air_want *want,
                    fl_air_days *out)
{
    const double none = (double)NAN;
    double vpd_sum_kpa = 0.0;
    int n_vpd = 0;
    *out = (fl_air_days){.temp_min_c = none,
                         .temp_max_c = none,
                         .rh_min_pct = none,
                         .rh_max_pct = none,
                         .dew_point_c = none,
                         .absolute_humidity_g_m3 = none};
    for (int i = 0; i < n; i++) {
        fl_air air;
        take_temp(temp_c[i], want, out);
        take_rh(rh_pct[i], want, out);
        if (fl_air_of(temp_c[i], fmin(rh_pct[i], 100.0), &air, NULL) == FL_OK) {
            vpd_sum_kpa += air.vpd_kpa;
            n_vpd++;
        }
    }
    out->temp_mean_c = out->n_temp > 0 ? out->temp_mean_c / out->n_temp : none;
    out->rh_mean_pct = out->n_rh > 0 ? out->rh_mean_pct / out->n_rh : none;
    out->vpd_mean_kpa = n_vpd > 0 ? vpd_sum_kpa / n_vpd : none;
    fl_air mean;
    if (fl_air_of(out->temp_mean_c, fmin(out->rh_mean_pct, 100.0), &mean, NULL) == FL_OK) {
        out->dew_point_c = mean.dew_point_c;
        out->absolute_humidity_g_m3 = mean.absolute_humidity_g_m3;
    }
}

unsigned fl_air_judge(const fl_air_days *days)
{
    unsigned states = 0;
    double share = FL_AIR_SHARE * days->n_temp;
    if (days->n_temp < FL_AIR_HOURS_LEAST) {
        return 1U << FL_AIR_NO_READINGS;
    }
    states |= days->n_harm > 0 ? 1U << FL_AIR_COLD : 0U;
    states |= days->n_hot > 0 ? 1U << FL_AIR_HOT : 0U;
    states |= days->n_cool > share ? 1U << FL_AIR_COOL : 0U;
    states |= days->n_warm > share ? 1U << FL_AIR_WARM : 0U;
    states |= days->n_dry > FL_AIR_SHARE * days->n_rh ? 1U << FL_AIR_DRY : 0U;
    states |= days->n_damp > 0.5 * days->n_rh && days->n_rh > 0 ? 1U << FL_AIR_DAMP : 0U;
    return states == 0 ? 1U << FL_AIR_FITS : states;
}
