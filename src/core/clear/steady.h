/* The steady hazard: founders that trickle in over time, as from the room itself (reference:
 * clearance with several introductions, a Poisson number with mean vector M, dM/dt = Q M + h b).
 *
 * It uses the same filter struct: alive[i] is then the expected number of founders in substage i
 * that were missed so far, found and dead likewise; prior has no meaning. Time, treatments, looks
 * and thinning are the same linear operations. */
#ifndef FL_CORE_CLEAR_STEADY_H
#define FL_CORE_CLEAR_STEADY_H

#include "core/clear/filter.h"

/* A filter with nothing in it, for the model and the multipliers. FL_EDOMAIN, FL_ETOOBIG. */
fl_status fl_filter_start_empty(const fl_stage_model *model, int n_mix, const double *multiplier,
                                fl_filter *out, fl_err *err) FL_MUST_USE;

/* Adds `mean` (0 to 1000) founders, share[n_stages] of them in each stage, spread over its
 * substages; the shares sum to 1 within 1e-6. FL_EDOMAIN. */
fl_status fl_filter_inflow(const fl_stage_model *model, double mean, const double *share,
                           fl_filter *state, fl_err *err) FL_MUST_USE;

/* The chance that at least one is alive and missed, every look having been quiet:
 *     sum_w w' (1 - exp(-A_w)),  w' ~ w exp(-D_w).
 * weight[n_mix] >= 0, not all 0. Never outside 0 to 1. FL_EDOMAIN. */
fl_status fl_filter_steady_chance(const fl_filter *state, const double *weight, double *out,
                                  fl_err *err) FL_MUST_USE;
/* The same from the sums. */
fl_status fl_sums_steady_chance(const fl_filter_sums *sums, const double *weight, double *out,
                                fl_err *err) FL_MUST_USE;

#endif
