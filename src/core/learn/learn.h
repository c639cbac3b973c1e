/* Learning from the keeper's own record: how often what comes from a source is infested. A
 * purchase counts by what the looks could have seen, not by what they did see, so that a source
 * that is looked at harder does not look worse. To judge a purchase by the others, leave it out of
 * the list. Start at kind.h, where sources of a kind lean on each other; here is what a purchase
 * is, and purchases as counts. Equations and limits: docs/models/learning.md. */
#ifndef FL_CORE_LEARN_LEARN_H
#define FL_CORE_LEARN_LEARN_H

#include "base/err.h"

#define FL_LEARN_PURCHASES_MAX 2000
#define FL_LEARN_SOURCES_MAX 1000

/* One purchase and one threat. */
typedef struct fl_learn_purchase {
    double prob_cause;  /* that it came infested: 1 found and traced here, 0 quiet so far, between
                            when a find may have had another cause */
    double prob_missed; /* l: that an infested purchase would have stayed quiet, 0 to 1
                            (fl_filter_likelihood at prior 1) */
    double age_days;    /* since it came, >= 0; old ones count less */
} fl_learn_purchase;

/* What is known of a source before its record: Beta(a, b), each 1e-6 to 1e6. */
typedef struct fl_learn_beta {
    double a, b;
} fl_learn_beta;

/* What is known after it. */
typedef struct fl_learn_risk {
    double mean, sd;
    double low, high; /* 5 % and 95 % quantiles */
} fl_learn_risk;

/* What is left of a purchase by its age: 0.5^(age / half life); half_life_days > 0, or 0: nothing
 * fades. */
double fl_learn_left(const fl_learn_purchase *purchase, double half_life_days);

/* A source's record as counts, which need not be whole. */
typedef struct fl_learn_count {
    double infested; /* >= 0 */
    double judged;   /* purchases whose state the looks could have told, >= infested, <= 1e6 */
} fl_learn_count;

/* The record of n purchases (0 to FL_LEARN_PURCHASES_MAX) as counts, for telling it: infested = sum
 * of f c, judged = sum of f (c + (1 - c)(1 - l)), f what is left of each. FL_EDOMAIN, FL_ETOOBIG.
 */
fl_status fl_learn_count_of(const fl_learn_purchase *purchase, int n, double half_life_days,
                            fl_learn_count *out, fl_err *err) FL_MUST_USE;

#endif
