/* The clearance filter's start and its instant operations: treatment, look, thinning, find. Time is
 * in filter_time.c, readouts in filter_chance.c. */
#include "core/clear/filter.h"

#include <math.h>
#include <string.h>

#define DEGREE_DAYS_MIN 0.1
#define DEGREE_DAYS_MAX 1e9
#define SPAN_MAX_C 200.0
#define MORTALITY_MAX_PER_DAY 1000.0
#define LIFE_MIN_DAYS 0.1
#define LIFE_MAX_DAYS 1e6
#define YOUNG_MAX 1000
#define MULTIPLIER_MAX 100.0
#define COUNT_MAX 1000000
#define PARAMETER_MIN 1e-6
#define PARAMETER_MAX 1e6
#define SHARE_SUM_SLACK 1e-6

/* False for NaN. */
static bool is_within(double value, double min, double max)
{
    return value >= min && value <= max;
}

static fl_status check_rate(const fl_stage_rate *rate, int stage, fl_err *err)
{
    if (!is_within(rate->threshold_c, FL_FILTER_TEMP_MIN_C, FL_FILTER_TEMP_MAX_C)) {
        return fl_fail(err, FL_EDOMAIN, "stage %d: threshold_c %g: give -90 to 100", stage,
                       rate->threshold_c);
    }
    if (!is_within(rate->degree_days, DEGREE_DAYS_MIN, DEGREE_DAYS_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "stage %d: degree_days %g: give 0.1 to 1e9", stage,
                       rate->degree_days);
    }
    if (!(rate->upper_c > rate->threshold_c) || rate->upper_c > rate->threshold_c + SPAN_MAX_C) {
        return fl_fail(err, FL_EDOMAIN, "stage %d: upper_c %g: give more than threshold_c %g",
                       stage, rate->upper_c, rate->threshold_c);
    }
    return FL_OK;
}

fl_status fl_filter_check_model(const fl_stage_model *model, fl_err *err)
{
    if (model->n_stages > FL_STAGES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d stages: at most %d", model->n_stages, FL_STAGES_MAX);
    }
    if (model->n_stages < 2) {
        return fl_fail(err, FL_EDOMAIN, "%d stages: give at least 2", model->n_stages);
    }
    if (!is_within(model->life_days, LIFE_MIN_DAYS, LIFE_MAX_DAYS) &&
        !is_within(model->life_days, 0.0, 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "life_days %g: give 0, or 0.1 to 1e6", model->life_days);
    }
    if (model->life_days > 0.0 && (model->n_young < 1 || model->n_young > YOUNG_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "n_young %d: give 1 to %d", model->n_young, YOUNG_MAX);
    }
    int most = FL_SUBSTAGES_MAX / fl_filter_generations(model);
    int total = 0;
    int last = model->n_stages - 1;
    for (int s = 0; s <= last; s++) {
        const fl_stage_rate *rate = &model->stage[s];
        if (rate->n_substages < 1 || (s == last && rate->n_substages != 1)) {
            return fl_fail(err, FL_EDOMAIN, "stage %d: %d substages: give %s", s, rate->n_substages,
                           s == last ? "1 for the last" : "at least 1");
        }
        if (rate->n_substages > most - total) {
            return fl_fail(err, FL_ETOOBIG, "more than %d substages in all", most);
        }
        total += rate->n_substages;
        if (!is_within(rate->mortality_per_day, 0.0, MORTALITY_MAX_PER_DAY)) {
            return fl_fail(err, FL_EDOMAIN, "stage %d: mortality_per_day %g: give 0 to 1000", s,
                           rate->mortality_per_day);
        }
        fl_status status = s < last ? check_rate(rate, s, err) : FL_OK;
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

int fl_filter_generations(const fl_stage_model *model)
{
    return model->life_days > 0.0 ? 2 : 1;
}

double fl_filter_seen_of(const fl_stage_model *model, int generation, double q)
{
    return generation == 0 ? q : 1.0 - pow(1.0 - q, model->n_young);
}

/* Substages of one generation. */
static int substages_of_one(const fl_stage_model *model)
{
    int total = 0;
    for (int s = 0; s < model->n_stages; s++) {
        total += model->stage[s].n_substages;
    }
    return total;
}

int fl_filter_substages(const fl_stage_model *model)
{
    return fl_filter_generations(model) * substages_of_one(model);
}

/* The substage a stage of the last generation begins with. */
static int nest_substage(const fl_stage_model *model, int stage)
{
    int first = (fl_filter_generations(model) - 1) * substages_of_one(model);
    for (int s = 0; s < stage; s++) {
        first += model->stage[s].n_substages;
    }
    return first;
}

fl_status fl_filter_check(const fl_stage_model *model, const fl_filter *state, fl_err *err)
{
    fl_status status = fl_filter_check_model(model, err);
    if (status != FL_OK) {
        return status;
    }
    int n = fl_filter_substages(model);
    if (state->n != n || state->n_mix < 1 || state->n_mix > FL_MIXTURE_MAX) {
        return fl_fail(err, FL_EINVAL,
                       "a filter of %d substages, %d multipliers: the model has %d substages",
                       state->n, state->n_mix, n);
    }
    return FL_OK;
}

/* Every value[n] is 0 to 1. */
static fl_status check_shares(const double *value, int n, const char *what, fl_err *err)
{
    for (int i = 0; i < n; i++) {
        if (!is_within(value[i], 0.0, 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "stage %d: %s %g: give 0 to 1", i, what, value[i]);
        }
    }
    return FL_OK;
}

/* ---- start ---- */

static fl_status check_seed(const fl_stage_model *model, const fl_filter_seed *seed, fl_err *err)
{
    if (!is_within(seed->prior, 0.0, 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "prior %g: give 0 to 1", seed->prior);
    }
    if (seed->n_mix > FL_MIXTURE_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d multipliers: at most %d", seed->n_mix, FL_MIXTURE_MAX);
    }
    if (seed->n_mix < 1) {
        return fl_fail(err, FL_EDOMAIN, "%d multipliers: give at least 1", seed->n_mix);
    }
    for (int w = 0; w < seed->n_mix; w++) {
        if (!is_within(seed->multiplier[w], 0.0, MULTIPLIER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "multiplier %g: give 0 to 100", seed->multiplier[w]);
        }
    }
    if (seed->share == NULL) {
        int n = fl_filter_substages(model);
        if (seed->substage < 0 || seed->substage >= n) {
            return fl_fail(err, FL_EDOMAIN, "substage %d: give 0 to %d", seed->substage, n - 1);
        }
        return FL_OK;
    }
    fl_status status = check_shares(seed->share, model->n_stages, "share", err);
    if (status != FL_OK) {
        return status;
    }
    double sum = 0.0;
    for (int s = 0; s < model->n_stages; s++) {
        sum += seed->share[s];
    }
    if (!is_within(sum, 1.0 - SHARE_SUM_SLACK, 1.0 + SHARE_SUM_SLACK)) {
        return fl_fail(err, FL_EDOMAIN, "the shares sum to %.9g: give shares that sum to 1", sum);
    }
    return FL_OK;
}

/* The shares sum to 1 only within the slack; dividing by the sum restores the invariant. */
static void spread_shares(const fl_stage_model *model, const double *share, double *alive)
{
    double sum = 0.0;
    for (int s = 0; s < model->n_stages; s++) {
        sum += share[s];
    }
    int i = 0;
    for (int s = 0; s < model->n_stages; s++) {
        int n_substages = model->stage[s].n_substages;
        for (int j = 0; j < n_substages; j++) {
            alive[i++] = share[s] / (sum * n_substages);
        }
    }
}

fl_status fl_filter_start(const fl_stage_model *model, const fl_filter_seed *seed, fl_filter *out,
                          fl_err *err)
{
    fl_status status = fl_filter_check_model(model, err);
    if (status == FL_OK) {
        status = check_seed(model, seed, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double alive[FL_SUBSTAGES_MAX] = {0.0};
    if (seed->share != NULL) {
        spread_shares(model, seed->share, alive);
    } else {
        alive[seed->substage] = 1.0;
    }
    /* The caller's multipliers may be the ones inside *out: read them before it is emptied. */
    double multiplier[FL_MIXTURE_MAX] = {0.0};
    memcpy(multiplier, seed->multiplier, (size_t)seed->n_mix * sizeof multiplier[0]);
    fl_filter fresh;
    memset(&fresh, 0, sizeof fresh);
    fresh.prior = seed->prior;
    fresh.n = fl_filter_substages(model);
    fresh.n_mix = seed->n_mix;
    memcpy(fresh.multiplier, multiplier, sizeof multiplier);
    for (int i = 0; i < fresh.n; i++) {
        for (int w = 0; w < fresh.n_mix; w++) {
            fresh.alive[i][w] = alive[i];
        }
    }
    *out = fresh;
    return FL_OK;
}

/* ---- treatment, look, thinning ---- */

/* Keeps keep[stage] of every stage's mass in one generation; the rest goes to dead. */
static void keep_shares(const fl_stage_model *model, int generation, const double *keep,
                        fl_filter *state)
{
    int i = generation * substages_of_one(model);
    for (int s = 0; s < model->n_stages; s++) {
        for (int j = 0; j < model->stage[s].n_substages; j++, i++) {
            for (int w = 0; w < state->n_mix; w++) {
                double before = state->alive[i][w];
                state->alive[i][w] = before * keep[s];
                state->dead[w] += before * (1.0 - keep[s]);
            }
        }
    }
}

/* The chance that one of a colony's eggs lives, when each lives with `survival`. */
static double one_of_many(double survival)
{
    return 1.0 - pow(1.0 - survival, FL_COLONY_EGGS);
}

/* What each generation's stages keep; a second generation is many. */
static void keep_all(const fl_stage_model *model, const double *survival, bool has_colony_rule,
                     fl_filter *state)
{
    double many[FL_STAGES_MAX] = {0.0};
    int last = model->n_stages - 1;
    for (int s = 0; s <= last; s++) {
        many[s] = has_colony_rule && s < last ? one_of_many(survival[s]) : survival[s];
    }
    for (int g = 0; g < fl_filter_generations(model); g++) {
        keep_shares(model, g, g == 0 ? survival : many, state);
    }
}

fl_status fl_filter_treat(const fl_stage_model *model, const double *survival, bool has_colony_rule,
                          fl_filter *state, fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = check_shares(survival, model->n_stages, "survival", err);
    }
    if (status != FL_OK) {
        return status;
    }
    int last = model->n_stages - 1;
    int toughest = 0;
    for (int s = 1; s < last; s++) {
        toughest = survival[s] > survival[toughest] ? s : toughest;
    }
    double hit[FL_MIXTURE_MAX] = {0.0}; /* colonies that did not survive as such */
    int n_one = substages_of_one(model);
    for (int end = n_one; end <= state->n; end += n_one) {
        for (int w = 0; w < state->n_mix; w++) {
            hit[w] += state->alive[end - 1][w] * (1.0 - survival[last]);
        }
    }
    keep_all(model, survival, has_colony_rule, state);
    if (has_colony_rule) {
        int nest = nest_substage(model, toughest);
        for (int w = 0; w < state->n_mix; w++) {
            double back = hit[w] * one_of_many(survival[toughest]);
            state->alive[nest][w] += back;
            state->dead[w] = fmax(0.0, state->dead[w] - back);
        }
    }
    return FL_OK;
}

fl_status fl_filter_look(const fl_stage_model *model, const double *detect, double cap,
                         fl_filter *state, fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = check_shares(detect, model->n_stages, "detect", err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (!is_within(cap, 0.0, 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "cap %g: give 0 to 1", cap);
    }
    int i = 0;
    for (int g = 0; g < fl_filter_generations(model); g++) {
        for (int s = 0; s < model->n_stages; s++) {
            double q[FL_MIXTURE_MAX] = {0.0};
            for (int w = 0; w < state->n_mix; w++) {
                q[w] = fl_filter_seen_of(model, g, fmin(cap, state->multiplier[w] * detect[s]));
            }
            for (int end = i + model->stage[s].n_substages; i < end; i++) {
                for (int w = 0; w < state->n_mix; w++) {
                    state->found[w] += q[w] * state->alive[i][w];
                    state->alive[i][w] *= 1.0 - q[w];
                }
            }
        }
    }
    return FL_OK;
}

fl_status fl_filter_thin(const fl_stage_model *model, const double *ride, fl_filter *state,
                         fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = check_shares(ride, model->n_stages, "ride", err);
    }
    if (status != FL_OK) {
        return status;
    }
    for (int g = 0; g < fl_filter_generations(model); g++) {
        keep_shares(model, g, ride, state);
    }
    return FL_OK;
}

/* ---- a find ---- */

static fl_status check_finding(const fl_stage_model *model, const fl_filter_finding *finding,
                               int n_mix, fl_err *err)
{
    if (finding->n_found < 0 || finding->n_found > COUNT_MAX) {
        return fl_fail(err, FL_EDOMAIN, "n_found %d: give 0 to %d", finding->n_found, COUNT_MAX);
    }
    if (!is_within(finding->mean, PARAMETER_MIN, PARAMETER_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "mean %g: give 1e-6 to 1e6", finding->mean);
    }
    if (!is_within(finding->size, PARAMETER_MIN, PARAMETER_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "size %g: give 1e-6 to 1e6", finding->size);
    }
    for (int w = 0; w < n_mix; w++) {
        if (!is_within(finding->weight[w], 0.0, PARAMETER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "weight %g: give 0 to 1e6", finding->weight[w]);
        }
    }
    if (finding->youngest_hidden_stage < -1 || finding->youngest_hidden_stage >= model->n_stages) {
        return fl_fail(err, FL_EDOMAIN, "youngest_hidden_stage %d: give -1 to %d",
                       finding->youngest_hidden_stage, model->n_stages - 1);
    }
    return FL_OK;
}

double fl_filter_alive(const fl_filter *state, int w)
{
    double sum = 0.0;
    for (int i = 0; i < state->n; i++) {
        sum += state->alive[i][w];
    }
    return sum;
}

/* ln of the weight of each multiplier given that x were seen, up to a constant: the count seen is
 * negative binomial, P(x) ~ D^x b^k / (b+D)^(k+x). minus infinity where it is impossible. */
static void log_weights(const fl_filter_finding *finding, const fl_filter *state, double *out)
{
    double b = finding->size / finding->mean;
    bool are_equal = true;
    for (int w = 0; w < state->n_mix; w++) {
        are_equal = are_equal && finding->weight[w] <= 0.0;
    }
    bool is_possible = false;
    for (int w = 0; w < state->n_mix; w++) {
        double seen = state->found[w];
        double x = finding->n_found;
        out[w] = (are_equal ? 0.0 : log(finding->weight[w])) + finding->size * log(b) -
                 (finding->size + x) * log(b + seen) + (x > 0.0 ? x * log(seen) : 0.0);
        is_possible = is_possible || isfinite(out[w]);
    }
    for (int w = 0; w < state->n_mix && !is_possible; w++) {
        /* nobody could have seen any (a find outside the looks): it says nothing of the eye */
        out[w] = are_equal ? 0.0 : log(finding->weight[w]);
    }
}

/* P(still infested | n_found found and removed), averaged over the multipliers. */
static double prior_after(const fl_filter_finding *finding, const fl_filter *state)
{
    double log_weight[FL_MIXTURE_MAX];
    log_weights(finding, state, log_weight);
    double top = -HUGE_VAL;
    for (int w = 0; w < state->n_mix; w++) {
        top = fmax(top, log_weight[w]);
    }
    double b = finding->size / finding->mean;
    double sum = 0.0;
    double mean = 0.0;
    for (int w = 0; w < state->n_mix; w++) {
        double weight = exp(log_weight[w] - top);
        double exponent = finding->size + finding->n_found;
        mean -=
            weight * expm1(-exponent * log1p(fl_filter_alive(state, w) / (b + state->found[w])));
        sum += weight;
    }
    return fmin(1.0, fmax(0.0, mean / sum));
}

/* Scales one multiplier's living mass to 1 and lifts the nest substage to at least half. */
static void renew(fl_filter *state, int w, int nest)
{
    double sum = fl_filter_alive(state, w);
    for (int i = 0; i < state->n; i++) {
        state->alive[i][w] = sum > 0.0 ? state->alive[i][w] / sum : 0.0;
    }
    if (!(sum > 0.0)) {
        state->alive[nest >= 0 ? nest : 0][w] = 1.0;
    }
    if (nest >= 0 && state->alive[nest][w] < 0.5) {
        double scale = 0.5 / (1.0 - state->alive[nest][w]);
        for (int i = 0; i < state->n; i++) {
            state->alive[i][w] *= scale;
        }
        state->alive[nest][w] = 0.5;
    }
    state->found[w] = 0.0;
    state->dead[w] = 0.0;
}

fl_status fl_filter_find(const fl_stage_model *model, const fl_filter_finding *finding,
                         fl_filter *state, fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = check_finding(model, finding, state->n_mix, err);
    }
    if (status != FL_OK) {
        return status;
    }
    state->prior = prior_after(finding, state);
    int nest = finding->youngest_hidden_stage < 0
                   ? -1
                   : nest_substage(model, finding->youngest_hidden_stage);
    for (int w = 0; w < state->n_mix; w++) {
        renew(state, w, nest);
    }
    return FL_OK;
}

fl_status fl_filter_reweight(double prior, fl_filter *state, fl_err *err)
{
    if (!is_within(prior, 0.0, 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "prior %g: give 0 to 1", prior);
    }
    state->prior = prior;
    return FL_OK;
}
