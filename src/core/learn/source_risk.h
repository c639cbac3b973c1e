/* How often purchases from one source carry a threat, learned from purchases whose true state is
 * only partly seen (reference 4.1). Counts are purchases, not plants. */
#ifndef FL_CORE_LEARN_SOURCE_RISK_H
#define FL_CORE_LEARN_SOURCE_RISK_H

#include <stddef.h>

#include "base/err.h"

/* A judgement is worth at most this many purchases (reference 4.3). */
#define FL_LEARN_JUDGEMENT_SIZE 10.0

/* One purchase. */
typedef struct fl_learn_purchase {
    double prob_cause; /* 0: nothing was found; else P(a find came in with this purchase), to 1 */
    double prob_quiet; /* P(no find so far | it carries the threat), 0 to 1: what looks missed */
} fl_learn_purchase;

typedef struct fl_learned {
    double mean; /* of theta = P(a purchase carries it) */
    double sd;
} fl_learned;

/* The posterior of theta from a Beta prior of mean prior_mean (0 < mean < 1) and size prior_size
 * (> 0, a + b), by the exact likelihood: a purchase with prob_cause w and prob_quiet l has the
 * factor w theta + (1 - w)(1 - theta (1 - l)). purchases[n]; n 0 gives the prior back.
 * Method: midpoints of 4 000 cells of theta, weights in logarithms; relative accuracy about 1e-6.
 * FL_EDOMAIN for a value out of range. */
fl_status fl_learn_source_risk(double prior_mean, double prior_size,
                               const fl_learn_purchase *purchases, size_t n, fl_learned *out,
                               fl_err *err) FL_MUST_USE;

#endif
