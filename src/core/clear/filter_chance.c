/* The clearance filter's readouts: masses, and the chance that the root is still there, through
 * the generating function of the number of founders. */
#include <math.h>

#include "core/clear/filter.h"

#define PARAMETER_MIN 1e-6
#define PARAMETER_MAX 1e6

/* False for NaN. */
static bool is_within(double value, double min, double max)
{
    return value >= min && value <= max;
}

/* Copies weight[n_mix], scaled to sum 1. */
static fl_status scale_weights(int n_mix, const double *weight, double *out, fl_err *err)
{
    if (n_mix < 1 || n_mix > FL_MIXTURE_MAX) {
        return fl_fail(err, FL_EINVAL, "%d multipliers: 1 to %d", n_mix, FL_MIXTURE_MAX);
    }
    double sum = 0.0;
    for (int w = 0; w < n_mix; w++) {
        if (!is_within(weight[w], 0.0, PARAMETER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "weight %g: give 0 to 1e6", weight[w]);
        }
        sum += weight[w];
    }
    if (!(sum > 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "all weights are 0: give at least one above 0");
    }
    for (int w = 0; w < n_mix; w++) {
        out[w] = weight[w] / sum;
    }
    return FL_OK;
}

fl_status fl_filter_alive_by_stage(const fl_stage_model *model, const fl_filter *state,
                                   const double *weight, double *out, fl_err *err)
{
    double share[FL_MIXTURE_MAX];
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = scale_weights(state->n_mix, weight, share, err);
    }
    if (status != FL_OK) {
        return status;
    }
    for (int s = 0; s < model->n_stages; s++) {
        out[s] = 0.0;
    }
    int i = 0;
    while (i < state->n) { /* each generation */
        for (int s = 0; s < model->n_stages; s++) {
            for (int j = 0; j < model->stage[s].n_substages; j++, i++) {
                for (int w = 0; w < state->n_mix; w++) {
                    out[s] += share[w] * state->alive[i][w];
                }
            }
        }
    }
    return FL_OK;
}

void fl_filter_sum(const fl_filter *state, fl_filter_sums *out)
{
    *out = (fl_filter_sums){.n_mix = state->n_mix};
    if (state->n_mix > FL_MIXTURE_MAX) {
        return; /* its readers refuse it */
    }
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < state->n_mix; w++) {
            out->alive[w] += state->alive[i][w];
        }
    }
    for (int w = 0; w < state->n_mix; w++) {
        out->found[w] = state->found[w];
        out->dead[w] = state->dead[w];
    }
}

fl_status fl_sums_means(const fl_filter_sums *sums, const double *weight, fl_filter_masses *out,
                        fl_err *err)
{
    double share[FL_MIXTURE_MAX];
    fl_status status = scale_weights(sums->n_mix, weight, share, err);
    if (status != FL_OK) {
        return status;
    }
    fl_filter_masses mean = {0.0, 0.0, 0.0};
    for (int w = 0; w < sums->n_mix; w++) {
        mean.alive += share[w] * sums->alive[w];
        mean.found += share[w] * sums->found[w];
        mean.dead += share[w] * sums->dead[w];
    }
    *out = mean;
    return FL_OK;
}

fl_status fl_filter_means(const fl_filter *state, const double *weight, fl_filter_masses *out,
                          fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_sum(state, &sums);
    return fl_sums_means(&sums, weight, out, err);
}

static fl_status check_founders(const fl_founders *founders, fl_err *err)
{
    switch (founders->family) {
    case FL_FOUNDERS_ONE:
        return FL_OK;
    case FL_FOUNDERS_ZT_POISSON:
        if (!is_within(founders->lambda, PARAMETER_MIN, PARAMETER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "lambda %g: give 1e-6 to 1e6", founders->lambda);
        }
        return FL_OK;
    case FL_FOUNDERS_ZT_NEGBIN:
        if (!is_within(founders->mean, PARAMETER_MIN, PARAMETER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "mean %g: give 1e-6 to 1e6", founders->mean);
        }
        if (!is_within(founders->size, PARAMETER_MIN, PARAMETER_MAX)) {
            return fl_fail(err, FL_EDOMAIN, "size %g: give 1e-6 to 1e6", founders->size);
        }
        return FL_OK;
    }
    return fl_fail(err, FL_EINVAL, "founder family %d: 0 to 2", (int)founders->family);
}

/* G(1-D) and G(1-D) - G(1-D-A) for one multiplier. */
typedef struct readings {
    double quiet;    /* P(no find | infested) */
    double infested; /* P(no find and still there | infested) */
} readings;

/* Both differences are written as products with expm1, so that nothing cancels.
 * zt-Poisson: G(1-d) = e^(-l d) (1 - e^(-l(1-d))) / (1 - e^-l);
 * zt-negbin with L(d) = k ln(1 + m d/k): G(1-d) = e^-L(d) (1 - e^-(L(1)-L(d))) / (1 - e^-L(1)). */
static readings read_family(const fl_founders *founders, double alive, double found, double dead)
{
    double missed = alive + dead; /* 1 - found, without the cancellation */
    if (founders->family == FL_FOUNDERS_ZT_POISSON) {
        double lambda = founders->lambda;
        double scale = exp(-lambda * found) / -expm1(-lambda);
        return (readings){scale * -expm1(-lambda * missed), scale * -expm1(-lambda * alive)};
    }
    if (founders->family == FL_FOUNDERS_ZT_NEGBIN) {
        double k = founders->size;
        double odds = founders->mean / k;
        double base = 1.0 + odds * found;
        double scale = exp(-k * log1p(odds * found)) / -expm1(-k * log1p(odds));
        return (readings){scale * -expm1(-k * log1p(odds * missed / base)),
                          scale * -expm1(-k * log1p(odds * alive / base))};
    }
    return (readings){missed, alive};
}

/* The weighted readings of all multipliers. */
static readings read_mixture(const fl_filter_sums *sums, const double *share,
                             const fl_founders *founders)
{
    readings all = {0.0, 0.0};
    for (int w = 0; w < sums->n_mix; w++) {
        readings one = read_family(founders, sums->alive[w], sums->found[w], sums->dead[w]);
        all.quiet += share[w] * one.quiet;
        all.infested += share[w] * one.infested;
    }
    return all;
}

static double likelihood_of(double prior, readings sum)
{
    return fmin(1.0, fmax(0.0, (1.0 - prior) + prior * sum.quiet));
}

static double chance_of(double prior, readings sum)
{
    double all_quiet = likelihood_of(prior, sum);
    double infested = prior * sum.infested;
    if (!(infested > 0.0)) {
        return 0.0;
    }
    return fmin(1.0, infested / fmax(all_quiet, infested));
}

static readings mixed(const readings *each, const double *share, int n_mix)
{
    readings all = {0.0, 0.0};
    for (int w = 0; w < n_mix; w++) {
        all.quiet += share[w] * each[w].quiet;
        all.infested += share[w] * each[w].infested;
    }
    return all;
}

fl_status fl_sums_chances(const fl_filter_sums *sums, double prior, const double *const *weights,
                          int n, const fl_founders *founders, fl_chance *out, fl_err *err)
{
    const fl_founders one = {.family = FL_FOUNDERS_ONE};
    readings of_one[FL_MIXTURE_MAX] = {{0.0, 0.0}};
    readings of_many[FL_MIXTURE_MAX] = {{0.0, 0.0}};
    double share[FL_MIXTURE_MAX];
    fl_status status = check_founders(founders, err);
    for (int i = 0; i < n && status == FL_OK; i++) { /* refused before anything is written */
        status = scale_weights(sums->n_mix, weights[i], share, err);
    }
    for (int w = 0; w < sums->n_mix && status == FL_OK; w++) {
        of_one[w] = read_family(&one, sums->alive[w], sums->found[w], sums->dead[w]);
        of_many[w] = read_family(founders, sums->alive[w], sums->found[w], sums->dead[w]);
    }
    for (int i = 0; i < n && status == FL_OK; i++) {
        status = scale_weights(sums->n_mix, weights[i], share, err);
        out[i].one = chance_of(prior, mixed(of_one, share, sums->n_mix));
        out[i].many = chance_of(prior, mixed(of_many, share, sums->n_mix));
        out[i].chance = fmax(out[i].one, out[i].many);
    }
    return status;
}

fl_status fl_sums_chance(const fl_filter_sums *sums, double prior, const double *weight,
                         const fl_founders *founders, fl_chance *out, fl_err *err)
{
    return fl_sums_chances(sums, prior, &weight, 1, founders, out, err);
}

fl_status fl_filter_chance(const fl_filter *state, const double *weight,
                           const fl_founders *founders, fl_chance *out, fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_sum(state, &sums);
    return fl_sums_chance(&sums, state->prior, weight, founders, out, err);
}

fl_status fl_sums_likelihood(const fl_filter_sums *sums, double prior, const double *weight,
                             const fl_founders *founders, double *out, fl_err *err)
{
    double share[FL_MIXTURE_MAX];
    fl_status status = check_founders(founders, err);
    if (status == FL_OK) {
        status = scale_weights(sums->n_mix, weight, share, err);
    }
    if (status != FL_OK) {
        return status;
    }
    *out = likelihood_of(prior, read_mixture(sums, share, founders));
    return FL_OK;
}

fl_status fl_filter_likelihood(const fl_filter *state, const double *weight,
                               const fl_founders *founders, double *out, fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_sum(state, &sums);
    return fl_sums_likelihood(&sums, state->prior, weight, founders, out, err);
}
