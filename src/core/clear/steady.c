/* The steady hazard's three operations of its own; everything else is core/clear/filter. */
#include "core/clear/steady.h"

#include <math.h>

#define INFLOW_MEAN_MAX 1000.0

fl_status fl_filter_start_empty(const fl_stage_model *model, int n_mix, const double *multiplier,
                                fl_filter *out, fl_err *err)
{
    fl_filter state;
    fl_filter_seed seed = {.substage = 0, .n_mix = n_mix, .multiplier = multiplier};
    fl_status status = fl_filter_start(model, &seed, &state, err);
    if (status != FL_OK) {
        return status;
    }
    for (int w = 0; w < n_mix; w++) {
        state.alive[0][w] = 0.0;
    }
    *out = state;
    return FL_OK;
}

static fl_status check_share(const fl_stage_model *model, const double *share, fl_err *err)
{
    double sum = 0.0;
    for (int i = 0; i < model->n_stages; i++) {
        if (!(share[i] >= 0.0 && share[i] <= 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "share of stage %d is %g: give 0 to 1", i, share[i]);
        }
        sum += share[i];
    }
    if (fabs(sum - 1.0) > 1e-6) {
        return fl_fail(err, FL_EDOMAIN, "the stage shares sum to %g: they must sum to 1", sum);
    }
    return FL_OK;
}

fl_status fl_filter_inflow(const fl_stage_model *model, double mean, const double *share,
                           fl_filter *state, fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK && !(mean >= 0.0 && mean <= INFLOW_MEAN_MAX)) {
        status =
            fl_fail(err, FL_EDOMAIN, "inflow of %g founders: give 0 to %g", mean, INFLOW_MEAN_MAX);
    }
    if (status == FL_OK) {
        status = check_share(model, share, err);
    }
    int first = 0;
    for (int i = 0; i < model->n_stages && status == FL_OK; i++) {
        int n = model->stage[i].n_substages;
        for (int k = first; k < first + n; k++) {
            for (int w = 0; w < state->n_mix; w++) {
                state->alive[k][w] += mean * share[i] / n;
            }
        }
        first += n;
    }
    return status;
}

fl_status fl_sums_steady_chance(const fl_filter_sums *sums, const double *weight, double *out,
                                fl_err *err)
{
    double sum = 0.0;
    double chance = 0.0;
    for (int w = 0; w < sums->n_mix; w++) {
        if (!(weight[w] >= 0.0 && isfinite(weight[w]))) {
            return fl_fail(err, FL_EDOMAIN, "weight %d is %g: give 0 or more", w, weight[w]);
        }
        double likely = weight[w] * exp(-sums->found[w]);
        sum += likely;
        chance += likely * -expm1(-sums->alive[w]);
    }
    if (sum <= 0.0) {
        return fl_fail(err, FL_EDOMAIN, "all weights are 0: give at least one above 0");
    }
    *out = fmin(1.0, fmax(0.0, chance / sum));
    return FL_OK;
}

fl_status fl_filter_steady_chance(const fl_filter *state, const double *weight, double *out,
                                  fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_sum(state, &sums);
    return fl_sums_steady_chance(&sums, weight, out, err);
}
