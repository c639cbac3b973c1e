/* The posterior on a grid of theta. Two passes: the largest log weight first, then the sums. */
#include "core/learn/source_risk.h"

#include <math.h>

#define CELLS 4000

static fl_status check(double mean, double size, const fl_learn_purchase *purchases, size_t n,
                       fl_err *err)
{
    if (!(mean > 0.0 && mean < 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "prior mean %g: give more than 0 and less than 1", mean);
    }
    if (!(size > 0.0 && size <= 1e6)) {
        return fl_fail(err, FL_EDOMAIN, "prior size %g: give more than 0, at most 1e6", size);
    }
    for (size_t i = 0; i < n; i++) {
        if (!(purchases[i].prob_cause >= 0.0 && purchases[i].prob_cause <= 1.0 &&
              purchases[i].prob_quiet >= 0.0 && purchases[i].prob_quiet <= 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "purchase %zu: its probabilities must be 0 to 1", i);
        }
    }
    return FL_OK;
}

static double log_weight(double theta, double a, double b, const fl_learn_purchase *purchases,
                         size_t n)
{
    double sum = (a - 1.0) * log(theta) + (b - 1.0) * log1p(-theta);
    for (size_t i = 0; i < n; i++) {
        double w = purchases[i].prob_cause;
        double quiet = 1.0 - theta * (1.0 - purchases[i].prob_quiet);
        sum += log(w * theta + (1.0 - w) * quiet);
    }
    return sum;
}

fl_status fl_learn_source_risk(double prior_mean, double prior_size,
                               const fl_learn_purchase *purchases, size_t n, fl_learned *out,
                               fl_err *err)
{
    double a = prior_mean * prior_size;
    double b = (1.0 - prior_mean) * prior_size;
    double largest = -HUGE_VAL;
    double sums[3] = {0};
    fl_status status = check(prior_mean, prior_size, purchases, n, err);
    if (status != FL_OK) {
        return status;
    }
    if (n == 0) { /* no purchase: the judgement itself, without the grid's rounding */
        out->mean = prior_mean;
        out->sd = sqrt(prior_mean * (1.0 - prior_mean) / (prior_size + 1.0));
        return FL_OK;
    }
    for (int i = 0; i < CELLS; i++) {
        largest = fmax(largest, log_weight((i + 0.5) / CELLS, a, b, purchases, n));
    }
    for (int i = 0; i < CELLS; i++) {
        double theta = (i + 0.5) / CELLS;
        double weight = exp(log_weight(theta, a, b, purchases, n) - largest);
        sums[0] += weight;
        sums[1] += weight * theta;
        sums[2] += weight * theta * theta;
    }
    double mean = sums[1] / sums[0];
    out->mean = mean;
    out->sd = sqrt(fmax(0.0, sums[2] / sums[0] - mean * mean));
    return FL_OK;
}
