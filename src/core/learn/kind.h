/* Sources of one kind (nurseries, chain stores) and one threat: what a purchase from one says about
 * the others. Start at learn.h for one source alone.
 *
 * Each source has its own risk t, drawn from the kind's Beta(mu k, (1 - mu) k); the kind's mean mu
 * has the Beta that the tables give, k ~ Gamma(2, rate 0.1) (reference 4.2, its hyperprior with the
 * tables' mean for mu). Purchases enter by their exact likelihood (learn.h), not as counts.
 * Equations and limits: docs/models/learning.md. */
#ifndef FL_CORE_LEARN_KIND_H
#define FL_CORE_LEARN_KIND_H

#include <stddef.h>

#include "core/learn/learn.h"

/* One purchase as it teaches about the risk of its source. */
typedef struct fl_learn_lesson {
    fl_learn_purchase purchase;
    double share; /* its own chance is share x t, at most 1: what its form carries beside the form
                     that t is of; above 0, at most 100 */
} fl_learn_lesson;

/* The purchases of one kind. */
typedef struct fl_learn_kind {
    fl_learn_beta mean;            /* of mu, by the tables: a 1e-6 to 1e6, b 1 to 1e6 */
    const fl_learn_lesson *lesson; /* source by source */
    const int *first_of;           /* [n_sources + 1]: where each source begins */
    int n_sources;                 /* 0 to FL_LEARN_SOURCES_MAX; at most FL_LEARN_PURCHASES_MAX
                                      purchases in all */
    double half_life_days;         /* as in learn.h */
} fl_learn_kind;

/* A grid of risks, of kinds' means and of sizes, with the densities on it; it depends on no data
 * and serves any number of kinds. */
typedef struct fl_learn_grid {
    int n_risks, n_below; /* points of the logit of t; those below 0 */
    double risk_step;
    int n_means;
    double mean_step;
    double *density; /* [n_means x FL_LEARN_SIZES x n_risks]: sums to 1 for each mean and size, the
                        ends standing for all beyond them */
    double *tail;    /* [n_means x FL_LEARN_SIZES]: a x step, of the pole at risk 0 */
    double *risk;    /* [n_risks]: t itself */
    double *clean;   /* [n_risks]: 1 - t, with all its digits */
} fl_learn_grid;

#define FL_LEARN_SIZES 12

/* The doubles that a grid needs which is fine enough for so many sources of a kind and purchases of
 * a source, and those that one answer needs beside it. */
size_t fl_learn_grid_doubles(int n_sources, int n_purchases);
size_t fl_learn_kind_doubles(const fl_learn_grid *grid, const fl_learn_kind *kind);

/* Lays a grid out in storage[fl_learn_grid_doubles(...)]. Cost: about a millisecond. */
void fl_learn_grid_init(fl_learn_grid *grid, int n_sources, int n_purchases, double *storage);

/* For each purchase the mean risk of its source, learned from all others: the other purchases of
 * its source and all sources of the kind. mean[n purchases]; work[fl_learn_kind_doubles].
 * Relative accuracy 1e-3. Cost about 0.1 ms a source and 2 microseconds a purchase.
 * FL_EDOMAIN, FL_ETOOBIG. */
fl_status fl_learn_kind_without_each(const fl_learn_grid *grid, const fl_learn_kind *kind,
                                     double *work, double *mean, fl_err *err) FL_MUST_USE;

/* The same in two parts, for one who asks again after little has changed. First the sums over all
 * purchases into work[fl_learn_kind_doubles]; `before`: the lessons for which these sums were made
 * in this work last, of as many sources with as many lessons each and the same mean and half life
 * (what did not change is kept; the sums are the same to the last bit), NULL: none. On an error
 * work is of no meaning. Then, of one source, mean[k] for each of its purchases k. */
fl_status fl_learn_kind_hear(const fl_learn_grid *grid, const fl_learn_kind *kind,
                             const fl_learn_lesson *before, double *work, fl_err *err) FL_MUST_USE;
void fl_learn_kind_without(const fl_learn_grid *grid, const fl_learn_kind *kind, int source,
                           double *work, double *mean);

/* The risk of one source with every purchase counted; source n_sources: of one without a record
 * (its mean is that of the kind). Quantiles to 0.01 of their level. Errors as above. */
fl_status fl_learn_kind_risk(const fl_learn_grid *grid, const fl_learn_kind *kind, int source,
                             double *work, fl_learn_risk *out, fl_err *err) FL_MUST_USE;

#endif
