/* Learning from the keeper's own record: how often what comes from a source is infested. A
 * purchase counts by what the looks could have seen, not by what they did see, so that a source
 * that is looked at harder does not look worse. To judge a purchase by the others, leave it out of
 * the list. The program's answers use kind.h, where sources of a kind lean on each other; here is
 * one source by itself, and counts pooled. Equations and limits: docs/models/learning.md. */
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

/* P(a purchase from the source is infested), from the prior and n purchases (0 to
 * FL_LEARN_PURCHASES_MAX). Each contributes (c t + (1 - c)(1 - t(1 - l))) to the power
 * 0.5^(age/half_life); half_life_days > 0, or 0 for no fading.
 *
 * Trapezoid sum in the logit of t, with the tails beyond +-40 as geometric series; mean and sd to a
 * relative 1e-7, the quantiles' levels to 0.01. (On t itself the density of a rare threat has a
 * pole at 0 that no grid holds.) Cost about 10 microseconds a purchase, more above 100.
 * FL_EDOMAIN, FL_ETOOBIG. Derivation: docs/models/learning.md. */
fl_status fl_learn_source(const fl_learn_beta *prior, const fl_learn_purchase *purchase, int n,
                          double half_life_days, fl_learn_risk *out, fl_err *err) FL_MUST_USE;

/* A source's record as counts, which need not be whole. */
typedef struct fl_learn_count {
    double infested; /* >= 0 */
    double judged;   /* purchases whose state the looks could have told, >= infested, <= 1e6 */
} fl_learn_count;

/* The same record as counts, for pooling: infested = sum of f c, judged = sum of
 * f (c + (1 - c)(1 - l)), f the fading. Errors as fl_learn_source. */
fl_status fl_learn_count_of(const fl_learn_purchase *purchase, int n, double half_life_days,
                            fl_learn_count *out, fl_err *err) FL_MUST_USE;

/* What is thought of sources in general: mean mu and size kappa of their Beta(mu k, (1-mu) k). */
typedef enum fl_learn_hyper {
    FL_LEARN_MODEST = 0, /* mu ~ Beta(1, 4), kappa ~ Gamma(2, rate 0.1): proper without any data */
    FL_LEARN_DIFFUSE     /* (alpha + beta)^(-5/2), improper: for many sources with much data */
} fl_learn_hyper;

/* Sources pooled. */
typedef struct fl_learn_pool {
    double alpha_mean, beta_mean; /* posterior means of the common Beta's parameters */
    double new_mean;              /* P(infested) for a source without a record */
} fl_learn_pool;

/* Pools n sources (0 to FL_LEARN_SOURCES_MAX; at least 1 for FL_LEARN_DIFFUSE) that each have their
 * own risk, drawn from one common Beta: sources with little record lean on the others.
 * mean[n] receives each source's posterior mean. Beta-binomial likelihood summed on a grid of the
 * logit of mu and the logarithm of kappa, steps of 0.1; relative accuracy about 1e-4. Cost about
 * 4 ms a source. FL_EDOMAIN, FL_ETOOBIG.
 * Source: Gelman et al., Bayesian Data Analysis, chapter 5 (from memory). */
fl_status fl_learn_pool_sources(const fl_learn_count *count, int n, fl_learn_hyper hyper,
                                fl_learn_pool *out, double *mean, fl_err *err) FL_MUST_USE;

#endif
