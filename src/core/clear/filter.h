/* The clearance filter: how likely is it that one way in (a root) is still there, after all the
 * warmth, treatments and quiet looks since. Start reading the clearance code here.
 *
 * One founder of a threat is a chain over Erlang substages. alive[i] is the chance that it is
 * alive, in substage i and missed so far; found that it would have been found; dead that it died
 * unfound. Every step is linear in them. The number of founders comes in only when the chance is
 * read out. Several detectability multipliers, shared by the batch, run side by side, because
 * misses by one eye are not independent.
 *
 * Nothing here knows of carriers, dates or names. Functions either do all of their work or return
 * an error and leave the filter as it was. Models are checked (fl_filter_check_model) by every
 * function that takes one. Equations and limits: docs/models/clearance.md. */
#ifndef FL_CORE_CLEAR_FILTER_H
#define FL_CORE_CLEAR_FILTER_H

#include <stdbool.h>

#include "base/err.h"
#include "core/clear/model.h"

#define FL_MIXTURE_MAX 5
#define FL_FILTER_HOURS_MAX 438300 /* 50 years in one call */
#define FL_FILTER_TEMP_MIN_C (-90.0)
#define FL_FILTER_TEMP_MAX_C 100.0
/* Of the many eggs of a colony at least so many count, each with its own chance to survive a
 * treatment: docs/decisions/0006. */
#define FL_COLONY_EGGS 5

/* One root's state on one carrier. Invariant: for every multiplier in use, the sum of alive over
 * the substages + found + dead = 1, to rounding. Entries beyond n and n_mix are 0. */
typedef struct fl_filter {
    double prior; /* P(this root is real), 0 to 1 */
    int n;        /* substages of all stages and generations, the last stage counts 1 */
    int n_mix;    /* detectability multipliers in use, 1 to FL_MIXTURE_MAX */
    double multiplier[FL_MIXTURE_MAX];
    /* P(one founder alive, in substage i, missed so far), by multiplier */
    double alive[FL_SUBSTAGES_MAX][FL_MIXTURE_MAX];
    double found[FL_MIXTURE_MAX], dead[FL_MIXTURE_MAX];
} fl_filter;

/* The masses of a filter, substages added up: all that a chance is read from. */
typedef struct fl_filter_sums {
    int n_mix;
    double alive[FL_MIXTURE_MAX], found[FL_MIXTURE_MAX], dead[FL_MIXTURE_MAX];
} fl_filter_sums;

/* How a filter starts. */
typedef struct fl_filter_seed {
    double prior;             /* 0 to 1 */
    const double *share;      /* share[n_stages] >= 0, sum 1 within 1e-6 (then scaled to 1), each
                                 spread evenly over the stage's substages in the first generation;
                                 NULL: use substage */
    int substage;             /* all mass here (0 is the youngest) when share is NULL */
    int n_mix;                /* 1 to FL_MIXTURE_MAX */
    const double *multiplier; /* multiplier[n_mix], each 0 to 100 */
} fl_filter_seed;

/* The number of founders, given at least one. */
typedef enum fl_founder_family {
    FL_FOUNDERS_ONE = 0,    /* exactly one */
    FL_FOUNDERS_ZT_POISSON, /* zero-truncated Poisson(lambda) */
    FL_FOUNDERS_ZT_NEGBIN   /* zero-truncated negative binomial (mean, size), untruncated values */
} fl_founder_family;

typedef struct fl_founders {
    fl_founder_family family;
    double lambda; /* zt-Poisson: 1e-6 to 1e6 */
    double mean;   /* zt-negbin: 1e-6 to 1e6 */
    double size;   /* zt-negbin: 1e-6 to 1e6 */
} fl_founders;

/* P(still there | every look negative), under two views of how many came in. */
typedef struct fl_chance {
    double one;    /* one founder */
    double many;   /* the family handed in */
    double chance; /* the larger of the two: neither is an upper bound alone */
} fl_chance;

/* The masses, averaged over the multipliers by weight. alive + found + dead = 1. */
typedef struct fl_filter_masses {
    double alive, found, dead;
} fl_filter_masses;

/* What was found. The look that found it is applied first (fl_filter_look), so that `found` holds
 * what it could have seen. */
typedef struct fl_filter_finding {
    int n_found;                   /* founders found and removed, 0 to 1 000 000 */
    double mean;                   /* founders expected at arrival (Gamma intensity), 1e-6 to 1e6 */
    double size;                   /* of the Gamma, 1e-6 to 1e6: small is clumped */
    double weight[FL_MIXTURE_MAX]; /* of the multipliers, >= 0; all 0 stands for equal weights */
    int youngest_hidden_stage;     /* holds at least half of the mass afterwards; -1: leave as is */
} fl_filter_finding;

/* Checks the invariants of a model and that it can be integrated: FL_ETOOBIG when stages or
 * substages are too many; FL_EDOMAIN for anything else (fewer than 2 stages, a last stage with
 * other than 1 substage, a threshold not finite, degree_days not in 0.1 to 1e9, upper_c not above
 * threshold_c and at most threshold_c + 200, mortality not in 0 to 1000 per day, life_days not 0
 * and not in 0.1 to 1e6, n_young not in 1 to 1000). The last stage's rate figures are not looked
 * at. */
fl_status fl_filter_check_model(const fl_stage_model *model, fl_err *err) FL_MUST_USE;

/* Number of substages of a checked model, over its generations. */
int fl_filter_substages(const fl_stage_model *model);

/* The chance that a look shows something of a founder in this stage, from the chance q that it
 * shows one individual; generation 0 or 1. */
double fl_filter_seen_of(const fl_stage_model *model, int generation, double q);

/* Generations of a checked model: 1, or 2 when founders that breed die and leave young. */
int fl_filter_generations(const fl_stage_model *model);

/* The model is sound (as above) and the filter was made for it, else FL_EINVAL. */
fl_status fl_filter_check(const fl_stage_model *model, const fl_filter *state,
                          fl_err *err) FL_MUST_USE;

/* Starts a filter: nothing found, nothing dead. FL_EDOMAIN for a value out of range, FL_ETOOBIG
 * for too many multipliers. */
fl_status fl_filter_start(const fl_stage_model *model, const fl_filter_seed *seed, fl_filter *out,
                          fl_err *err) FL_MUST_USE;

/* Lets n_hours (0 to FL_FILTER_HOURS_MAX) pass at temps_c[n_hours], one value an hour, constant
 * inside the hour, FL_FILTER_TEMP_MIN_C to FL_FILTER_TEMP_MAX_C. Equal neighbours are merged.
 *
 * Method: the chain is linear and constant inside a run of equal temperatures; each step applies
 * the exponential's power series, cut at an order of 4 (which is the classical Runge-Kutta step)
 * to 10, chosen by the fastest substage; steps are split where the order would not do. Absolute
 * error of a stage's mass below 1e-8 against the exact solution. Mass lost to mortality goes to
 * dead; without mortality dead is untouched.
 * Errors: FL_EDOMAIN (a temperature), FL_ETOOBIG (hours). */
fl_status fl_filter_advance(const fl_stage_model *model, const double *temps_c, int n_hours,
                            fl_filter *state, fl_err *err) FL_MUST_USE;

/* The same at one temperature throughout; steps may be longer than an hour. */
fl_status fl_filter_advance_constant(const fl_stage_model *model, double temp_c, int n_hours,
                                     fl_filter *state, fl_err *err) FL_MUST_USE;

/* A treatment: survival[n_stages], 0 to 1, of each stage; the rest is dead.
 *
 * has_colony_rule (design 4.7, docs/decisions/0006): a last stage that breeds contains its own
 * eggs, many of them, and one that lives is enough. What survives as that stage stays; of the rest,
 * 1 - (1 - m)^FL_COLONY_EGGS, with m what the toughest earlier stage would survive, goes back to
 * that stage's first substage (the youngest such stage when several are equal) of the last
 * generation; the remainder is dead. A second generation is many too: its earlier stages survive
 * with 1 - (1 - m)^FL_COLONY_EGGS. FL_EDOMAIN for a survival outside 0 to 1. */
fl_status fl_filter_treat(const fl_stage_model *model, const double *survival, bool has_colony_rule,
                          fl_filter *state, fl_err *err) FL_MUST_USE;

/* A look that found nothing: a founder in stage s is seen with q = min(cap, multiplier *
 * detect[s]); that share goes to found. In a second generation one of n_young is seen with
 * 1 - (1 - q)^n_young. detect[n_stages] 0 to 1, with the share of the carrier
 * that was examined already in it; cap 0 to 1. FL_EDOMAIN. */
fl_status fl_filter_look(const fl_stage_model *model, const double *detect, double cap,
                         fl_filter *state, fl_err *err) FL_MUST_USE;

/* A copy that only partly comes along (a link): ride[n_stages], 0 to 1; the rest is dead, as far
 * as this copy goes. FL_EDOMAIN. */
fl_status fl_filter_thin(const fl_stage_model *model, const double *ride, fl_filter *state,
                         fl_err *err) FL_MUST_USE;

/* Starts again after a find, at the same hour and with the same multipliers: the prior becomes
 *     1 - sum_w w'((b+D)/(b+D+A))^(size+n_found), b = size/mean,
 * with w' the weights given that n_found were seen (w' ~ w D^x b^k / (b+D)^(k+x); w itself when no
 * multiplier could have seen any); alive is scaled to sum 1 for each multiplier and found and dead
 * become 0. With youngest_hidden_stage >= 0 at least half of the mass is then in that stage's first
 * substage (of the last generation: young that were left). A multiplier without any living mass
 * starts there too, or in substage 0.
 * FL_EDOMAIN for a value out of range. */
fl_status fl_filter_find(const fl_stage_model *model, const fl_filter_finding *finding,
                         fl_filter *state, fl_err *err) FL_MUST_USE;

/* Sets the prior (an old root re-weighted by likelihood). FL_EDOMAIN outside 0 to 1. */
fl_status fl_filter_reweight(double prior, fl_filter *state, fl_err *err) FL_MUST_USE;

/* The mass alive under multiplier w (0 to n_mix - 1): A of the equations. */
double fl_filter_alive(const fl_filter *state, int w);

/* All masses. */
void fl_filter_sum(const fl_filter *state, fl_filter_sums *out);

/* As fl_filter_means, fl_filter_chance and fl_filter_likelihood below, from the sums and a prior
 * (0 to 1). The same to the last bit. */
fl_status fl_sums_means(const fl_filter_sums *sums, const double *weight, fl_filter_masses *out,
                        fl_err *err) FL_MUST_USE;
fl_status fl_sums_chance(const fl_filter_sums *sums, double prior, const double *weight,
                         const fl_founders *founders, fl_chance *out, fl_err *err) FL_MUST_USE;
/* Several weightings at once: weights[n], out[n]. */
fl_status fl_sums_chances(const fl_filter_sums *sums, double prior, const double *const *weights,
                          int n, const fl_founders *founders, fl_chance *out,
                          fl_err *err) FL_MUST_USE;
fl_status fl_sums_likelihood(const fl_filter_sums *sums, double prior, const double *weight,
                             const fl_founders *founders, double *out, fl_err *err) FL_MUST_USE;

/* The mass alive by stage, averaged over the multipliers: out[n_stages]. weight[n_mix] >= 0, not
 * all 0, scaled to sum 1. FL_EDOMAIN. */
fl_status fl_filter_alive_by_stage(const fl_stage_model *model, const fl_filter *state,
                                   const double *weight, double *out, fl_err *err) FL_MUST_USE;

/* The masses averaged by weight[n_mix] (as above). FL_EDOMAIN. */
fl_status fl_filter_means(const fl_filter *state, const double *weight, fl_filter_masses *out,
                          fl_err *err) FL_MUST_USE;

/* The chance that the root is still there, every look so far having been quiet:
 *     sum_w w pi [G(1-D_w) - G(1-D_w-A_w)]  /  (1 - pi + pi sum_w w G(1-D_w)),
 * G the generating function of the number of founders. weight[n_mix] as above; never outside 0 to
 * 1; relative accuracy about 1e-13 also for very small A, D or 1-D. When the record is impossible
 * (prior 1 and everything found) it is 0. FL_EDOMAIN for weights or founders out of range. */
fl_status fl_filter_chance(const fl_filter *state, const double *weight,
                           const fl_founders *founders, fl_chance *out, fl_err *err) FL_MUST_USE;

/* P(every look so far negative) = 1 - pi + pi sum_w w G(1-D_w), 0 to 1. FL_EDOMAIN. */
fl_status fl_filter_likelihood(const fl_filter *state, const double *weight,
                               const fl_founders *founders, double *out, fl_err *err) FL_MUST_USE;

#endif
