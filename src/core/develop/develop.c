/* Rates, days, progress and the spread of stage lengths. */
#include "core/develop/develop.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#include "core/clear/filter.h"

#define HOURS_PER_DAY 24.0
#define SUBSTAGES_OF_ONE_MAX 60

static fl_status check_temp(double temp_c, fl_err *err)
{
    if (!(temp_c >= FL_FILTER_TEMP_MIN_C && temp_c <= FL_FILTER_TEMP_MAX_C)) {
        return fl_fail(err, FL_EDOMAIN, "temperature %g C: give -90 to 100", temp_c);
    }
    return FL_OK;
}

double fl_develop_rate_per_day(const fl_stage_rate *rate, double temp_c)
{
    double felt_c = temp_c < rate->upper_c ? temp_c : rate->upper_c;
    return felt_c > rate->threshold_c ? (felt_c - rate->threshold_c) / rate->degree_days : 0.0;
}

fl_status fl_develop_days(const fl_stage_model *model, int first, int last, double temp_c,
                          fl_develop_time *out, fl_err *err)
{
    fl_status status = fl_filter_check_model(model, err);
    if (status == FL_OK) {
        status = check_temp(temp_c, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (first < 0 || first > last || last > model->n_stages - 2) {
        return fl_fail(err, FL_EDOMAIN, "stages %d to %d: give 0 to %d, in order", first, last,
                       model->n_stages - 2);
    }
    fl_develop_time sum = {.does_develop = true};
    for (int s = first; s <= last; s++) {
        const fl_stage_rate *rate = &model->stage[s];
        double rate_per_day = fl_develop_rate_per_day(rate, temp_c);
        sum.does_develop = sum.does_develop && rate_per_day > 0.0;
        sum.is_near = sum.is_near || temp_c - rate->threshold_c <= FL_DEVELOP_NEAR_C;
        sum.is_clamped = sum.is_clamped || temp_c > rate->upper_c;
        sum.days += rate_per_day > 0.0 ? 1.0 / rate_per_day : 0.0;
    }
    sum.days = sum.does_develop ? sum.days : 0.0;
    *out = sum;
    return FL_OK;
}

const char *fl_develop_note(const fl_develop_time *time)
{
    if (!time->does_develop) {
        return "does not develop: warm the plant";
    }
    if (time->is_near) {
        return "unreliable: warm the plant";
    }
    return time->is_clamped ? "no faster than at the upper limit, perhaps slower" : "";
}

fl_status fl_develop_progress(const fl_stage_rate *rate, const double *temps_c, int n_hours,
                              double *out, fl_err *err)
{
    if (n_hours < 0) {
        return fl_fail(err, FL_EDOMAIN, "%d hours: give 0 or more", n_hours);
    }
    if (n_hours > FL_FILTER_HOURS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d hours: at most %d", n_hours, FL_FILTER_HOURS_MAX);
    }
    double sum = 0.0;
    for (int h = 0; h < n_hours; h++) {
        fl_status status = check_temp(temps_c[h], err);
        if (status != FL_OK) {
            return status;
        }
        sum += fl_develop_rate_per_day(rate, temps_c[h]);
    }
    *out = sum / HOURS_PER_DAY;
    return FL_OK;
}

fl_status fl_develop_substages(double cv, int *out, fl_err *err)
{
    if (!(cv >= 0.01 && cv <= 10.0)) {
        return fl_fail(err, FL_EDOMAIN, "coefficient of variation %g: give 0.01 to 10", cv);
    }
    double n = round(1.0 / (cv * cv));
    *out = (int)fmin(SUBSTAGES_OF_ONE_MAX, fmax(1.0, n));
    return FL_OK;
}

fl_status fl_develop_share_through(int n_substages, double progress, double *out, fl_err *err)
{
    if (n_substages < 1 || n_substages > FL_SUBSTAGES_MAX) {
        return fl_fail(err, FL_EDOMAIN, "%d substages: give 1 to %d", n_substages,
                       FL_SUBSTAGES_MAX);
    }
    if (!(progress >= 0.0) || isinf(progress)) {
        return fl_fail(err, FL_EDOMAIN, "progress %g: give 0 or more", progress);
    }
    *out = gsl_cdf_gamma_P(progress * n_substages, n_substages, 1.0);
    return FL_OK;
}

/* The youngest stage of a mask; n_stages when there is none. */
static int youngest_seen(const fl_stage_model *model, unsigned stages_seen)
{
    int stage = 0;
    while (stage < model->n_stages && (stages_seen >> stage & 1U) == 0) {
        stage++;
    }
    return stage;
}

/* The chain up to the stage that is seen, which becomes the last one; nothing dies. */
static fl_stage_model cut_model(const fl_stage_model *model, int seen)
{
    fl_stage_model cut = *model;
    cut.n_stages = seen + 1;
    cut.life_days = 0.0;
    cut.stage[seen].n_substages = 1;
    for (int s = 0; s <= seen; s++) {
        cut.stage[s].mortality_per_day = 0.0;
    }
    return cut;
}

fl_status fl_develop_chance_reached(const fl_stage_model *model, const fl_develop_wait *wait,
                                    double *out, fl_err *err)
{
    static const double one[1] = {1.0};
    fl_filter state;
    fl_filter_seed seed = {.prior = 1.0, .share = wait->share, .n_mix = 1, .multiplier = one};
    fl_status status = fl_filter_start(model, &seed, &state, err); /* checks model and shares */
    if (status != FL_OK) {
        return status;
    }
    int seen = youngest_seen(model, wait->stages_seen);
    if (seen == 0 || seen == model->n_stages) {
        *out = seen == 0 ? 1.0 : 0.0;
        return FL_OK;
    }
    fl_stage_model cut = cut_model(model, seen);
    double share[FL_STAGES_MAX] = {0.0};
    for (int s = 0; s < model->n_stages; s++) {
        share[s < seen ? s : seen] += wait->share[s];
    }
    seed.share = share;
    status = fl_filter_start(&cut, &seed, &state, err);
    if (status == FL_OK) {
        status = wait->temps_c != NULL
                     ? fl_filter_advance(&cut, wait->temps_c, wait->n_hours, &state, err)
                     : fl_filter_advance_constant(&cut, wait->temp_c, wait->n_hours, &state, err);
    }
    if (status == FL_OK) {
        *out = fmin(1.0, state.alive[state.n - 1][0]);
    }
    return status;
}
