/* Judges of core/learn/kind.h, by other methods: one source by itself on a fine grid, and counts
 * pooled as beta-binomials. tests/unit/core/learn/test_learn.c holds each to something outside. */
#ifndef FL_TESTS_SUPPORT_LEARN_JUDGE_H
#define FL_TESTS_SUPPORT_LEARN_JUDGE_H

#include "core/learn/learn.h"

/* P(a purchase from the source is infested), from a Beta prior and n purchases (0 to
 * FL_LEARN_PURCHASES_MAX). Each contributes (c t + (1 - c)(1 - t(1 - l))) to the power of what is
 * left of it. Trapezoid sum in the logit of t, with the tails beyond +-40 as geometric series; mean
 * and sd to a relative 1e-7, the quantiles' levels to 0.01. (On t itself the density of a rare
 * threat has a pole at 0 that no grid holds.) */
fl_learn_risk fl_judge_source(const fl_learn_beta *prior, const fl_learn_purchase *purchase, int n,
                              double half_life_days);

/* What is thought of sources in general: mean mu and size kappa of their Beta(mu k, (1-mu) k). */
typedef enum fl_judge_hyper {
    FL_JUDGE_MODEST = 0, /* mu ~ Beta(1, 4), kappa ~ Gamma(2, rate 0.1): proper without any data */
    FL_JUDGE_DIFFUSE     /* (alpha + beta)^(-5/2), improper: for many sources with much data */
} fl_judge_hyper;

typedef struct fl_judge_pool {
    double alpha_mean, beta_mean; /* posterior means of the common Beta's parameters */
    double new_mean;              /* P(infested) for a source without a record */
} fl_judge_pool;

/* Pools n sources (at least 1 for FL_JUDGE_DIFFUSE) that each have their own risk, drawn from one
 * common Beta. mean[n] receives each source's posterior mean. Beta-binomial likelihood summed on a
 * grid of the logit of mu and the logarithm of kappa, steps of 0.1; relative accuracy about 1e-4.
 * Source: Gelman et al., Bayesian Data Analysis, chapter 5 (from memory). */
fl_judge_pool fl_judge_pooled(const fl_learn_count *count, int n, fl_judge_hyper hyper,
                              double *mean);

#endif
