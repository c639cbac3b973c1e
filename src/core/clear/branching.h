/* The exact variant with reproduction: a line is one founder and everything that comes of it. Its
 * last stage need not be absorbing: an individual there lays births_per_day eggs, each the start of
 * a line of its own, and dies at the model's mortality_per_day.
 *
 * Everything runs backward in time, from the end to the arrival: that is how the chances of
 * branching lines close upon themselves. It answers for one end only; another release date is
 * another run. The filter (filter.h) is the program's own answer; this one is for checking that the
 * filter stays on the safe side, and, without births, for pricing looks (lookplan.h).
 *
 *     v_i = P(no look from here to the end sees any of the line | one individual in substage i)
 *     u_i = P(the same, and none of the line is alive at the end)
 *     backward in time, z = u or v:  dz_i/ds = leave_i (z_{i+1} - z_i) + mu_i (1 - z_i)
 *                                              + births z_i (z_0 - 1)  in the last stage
 *     over a look  z <- (1 - q) z,   over a treatment  z <- m z + (1 - m)
 *
 * Without births v = 1 - D and u = 1 - D - A of the filter. Source: the theory of multi-type
 * branching processes, backward equations; docs/models/branching.md. */
#ifndef FL_CORE_CLEAR_BRANCHING_H
#define FL_CORE_CLEAR_BRANCHING_H

#include "core/clear/filter.h"

#define FL_BIRTHS_MAX_PER_DAY 1000.0

/* Seen from one moment, by detectability multiplier. 0 <= gone <= quiet <= 1. */
typedef struct fl_branching {
    int n;     /* substages of all stages */
    int n_mix; /* multipliers in use, 1 to FL_MIXTURE_MAX */
    double multiplier[FL_MIXTURE_MAX];
    double quiet[FL_SUBSTAGES_MAX * FL_MIXTURE_MAX]; /* v, at [i * n_mix + w] */
    double gone[FL_SUBSTAGES_MAX * FL_MIXTURE_MAX];  /* u, the same way */
} fl_branching;

/* The end: nothing will be looked at any more. FL_EDOMAIN, FL_ETOOBIG as fl_filter_start. */
fl_status fl_branching_end(const fl_stage_model *model, int n_mix, const double *multiplier,
                           fl_branching *out, fl_err *err) FL_MUST_USE;

/* Goes back over n_hours (0 to FL_FILTER_HOURS_MAX) at temps_c[n_hours], oldest first, constant
 * inside each hour, FL_FILTER_TEMP_MIN_C to _MAX_C. births_per_day 0 to FL_BIRTHS_MAX_PER_DAY;
 * above 0 only for a model of one generation (life_days 0), else FL_EINVAL.
 *
 * Method: without births the exponential's power series of order 10, as the filter's; with births
 * the pair of Dormand and Prince with an error of at most 1e-9 a step. Absolute error below 1e-7
 * (1e-8 without births). Errors: FL_EDOMAIN, FL_ETOOBIG (hours). */
fl_status fl_branching_back(const fl_stage_model *model, double births_per_day,
                            const double *temps_c, int n_hours, fl_branching *state,
                            fl_err *err) FL_MUST_USE;

/* The same at one temperature throughout. */
fl_status fl_branching_back_constant(const fl_stage_model *model, double births_per_day,
                                     double temp_c, int n_hours, fl_branching *state,
                                     fl_err *err) FL_MUST_USE;

/* Goes back over a treatment: survival[n_stages], 0 to 1, of each individual. There is no colony
 * rule here: eggs are individuals. FL_EDOMAIN. */
fl_status fl_branching_treat(const fl_stage_model *model, const double *survival,
                             fl_branching *state, fl_err *err) FL_MUST_USE;

/* Goes back over a look that found nothing: each individual in stage s would have been seen with
 * q = min(cap, multiplier * detect[s]), detect[n_stages] and cap 0 to 1. FL_EDOMAIN. */
fl_status fl_branching_look(const fl_stage_model *model, const double *detect, double cap,
                            fl_branching *state, fl_err *err) FL_MUST_USE;

/* What a founder's line comes to. */
typedef struct fl_branching_line {
    double quiet[FL_MIXTURE_MAX]; /* v, averaged over where the founder starts */
    double gone[FL_MIXTURE_MAX];  /* u */
} fl_branching_line;

/* Averages over the founder's start: share[n_stages] >= 0, sum 1 within 1e-6 (then scaled to 1),
 * each spread evenly over the stage's substages; share NULL: in `substage`. FL_EDOMAIN. */
fl_status fl_branching_start(const fl_stage_model *model, const fl_branching *state,
                             const double *share, int substage, fl_branching_line *out,
                             fl_err *err) FL_MUST_USE;

/* P(infested at the end | every look quiet):
 *     sum_w w pi [G(v_w) - G(u_w)] / (1 - pi + pi sum_w w G(v_w)),
 * weight[n_mix] as fl_filter_chance, prior 0 to 1. FL_EDOMAIN. */
fl_status fl_branching_chance(const fl_branching *state, const fl_branching_line *line,
                              double prior, const double *weight, const fl_founders *founders,
                              fl_chance *out, fl_err *err) FL_MUST_USE;

#endif
