/* How fast a threat develops: rates and days at a temperature, progress over hours, the spread of a
 * stage's length, and the chance that what came in has become visible. Start reading here; daily
 * minimum and maximum are in degree_days.h.
 *
 * Rates are linear above a threshold and flat above an upper limit (the model of core/clear). Days
 * near a threshold are flagged, not trusted. Equations and limits: docs/models/development.md. */
#ifndef FL_CORE_DEVELOP_DEVELOP_H
#define FL_CORE_DEVELOP_DEVELOP_H

#include <stdbool.h>

#include "base/err.h"
#include "core/clear/model.h"

/* Within this of the threshold the linear law misleads. A convention of this program, no source;
 * docs/models/development.md shows a published miss even farther away. */
#define FL_DEVELOP_NEAR_C 3.0

/* Days to develop at one temperature. */
typedef struct fl_develop_time {
    bool does_develop; /* false at or below a threshold; then days is 0 */
    double days;       /* mean, > 0 */
    bool is_near;      /* at most FL_DEVELOP_NEAR_C above a threshold, or below it: unreliable */
    bool is_clamped;   /* above an upper limit: no faster than at that limit, perhaps slower */
} fl_develop_time;

/* Development rate of a stage, 1/day: (min(temp_c, upper_c) - threshold_c)+ / degree_days.
 * A checked stage (fl_filter_check_model), any finite temperature. */
double fl_develop_rate_per_day(const fl_stage_rate *rate, double temp_c);

/* Mean days through the stages `first` to `last`, both included, at a constant temperature
 * (-90 to 100 C): the sum of 1/rate. 0 <= first <= last < n_stages - 1: the last stage of a model
 * has no end. FL_EDOMAIN. */
fl_status fl_develop_days(const fl_stage_model *model, int first, int last, double temp_c,
                          fl_develop_time *out, fl_err *err) FL_MUST_USE;

/* What to say about it, in one line: "does not develop: warm the plant", "unreliable: warm the
 * plant", "no faster than at the upper limit, perhaps slower", or "". Static text. */
const char *fl_develop_note(const fl_develop_time *time);

/* The share of a stage's mean length that n_hours at temps_c[n_hours] (constant inside each hour,
 * -90 to 100 C) bring: the sum of rate/24, so 1 is "through, on average". Never the rate at the
 * mean temperature. n_hours 0 to FL_FILTER_HOURS_MAX: FL_ETOOBIG; FL_EDOMAIN. */
fl_status fl_develop_progress(const fl_stage_rate *rate, const double *temps_c, int n_hours,
                              double *out, fl_err *err) FL_MUST_USE;

/* The number of Erlang substages that gives a stage's length this coefficient of variation:
 * round(1/cv^2), held within 1 to 60. cv 0.01 to 10, else FL_EDOMAIN. */
fl_status fl_develop_substages(double cv, int *out, fl_err *err) FL_MUST_USE;

/* P(a founder has left a stage of n_substages) when its progress is as given (>= 0): the
 * distribution function of the gamma distribution, shape n_substages, mean 1. n_substages 1 to 160.
 * FL_EDOMAIN. */
fl_status fl_develop_share_through(int n_substages, double progress, double *out,
                                   fl_err *err) FL_MUST_USE;

/* What came in, and how warm it has been: for fl_develop_chance_reached. */
typedef struct fl_develop_wait {
    const double *share;   /* share[n_stages] at the start, sum 1 */
    unsigned stages_seen;  /* bit s: a look sees stage s */
    const double *temps_c; /* temps_c[n_hours], or NULL: temp_c throughout */
    double temp_c;
    int n_hours; /* 0 to FL_FILTER_HOURS_MAX */
} fl_develop_wait;

/* The guard: P(a founder that lives has reached, or passed, the youngest of stages_seen by the end
 * of the hours). What starts beyond that stage counts as having passed it; deaths do not count;
 * without any stage seen it is 0, and with the first stage seen 1 (the hours are then not read).
 * Method and errors are those of fl_filter_start and fl_filter_advance (absolute error below 1e-8).
 */
fl_status fl_develop_chance_reached(const fl_stage_model *model, const fl_develop_wait *wait,
                                    double *out, fl_err *err) FL_MUST_USE;

#endif
