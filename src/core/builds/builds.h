/* Builds, planned backwards: which plants of the shelf go in, which are cut, which must be bought
 * by what day, when many builds share a few bins. Start at fl_build_make.
 *
 * A want is plants of one kind for one build. Each has ways: cut from a mother, bought from a
 * source; what stands ready is taken before that (app/build.h). Wants that come by the same way
 * from the same group (one source on one trip, one mother's bin) may share a cohort: they fill one
 * bin from its first day until the slowest of them may leave, and nothing else comes in. A jar is
 * a bin for one want. Days are whole days from today; no calendar here. */
#ifndef FL_CORE_BUILDS_BUILDS_H
#define FL_CORE_BUILDS_BUILDS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"

#define FL_BUILD_WANTS_MAX 96
#define FL_BUILD_WAYS_MAX 6
#define FL_BUILD_BINS_MAX 256
#define FL_BUILD_DAY_MAX 3650

/* One way to have the plants of a want ready. */
typedef struct fl_build_way {
    int group;     /* what may share a cohort: the same source or mother's place; >= 0 */
    int first_day; /* it cannot begin before this day, 0 to FL_BUILD_DAY_MAX */
    int bin_days;  /* from its first day in the bin until it may leave, 1 to FL_BUILD_DAY_MAX */
    bool fits_jar; /* a jar is room enough */
    int cost;      /* beside days: 0 what is there already, more for what must be bought */
} fl_build_way;

typedef struct fl_build_want {
    int need_day; /* it must have left its bin by this day; may be past */
    int n_ways;   /* 1 to FL_BUILD_WAYS_MAX; the first is preferred where days do not differ */
    fl_build_way ways[FL_BUILD_WAYS_MAX];
} fl_build_want;

typedef struct fl_build_bin {
    int free_day; /* it is empty and clean from this day on, >= 0 */
    bool is_jar;
} fl_build_bin;

typedef struct fl_build_input {
    const fl_build_want *wants;
    size_t n_wants; /* 0 to FL_BUILD_WANTS_MAX */
    const fl_build_bin *bins;
    size_t n_bins; /* 1 to FL_BUILD_BINS_MAX, when anything is wanted */
} fl_build_input;

/* One fill of one bin. */
typedef struct fl_build_cohort {
    int group;
    int bin;
    int first_day; /* the earliest day it can begin */
    int last_day;  /* the latest at which nothing gets later than it is; >= first_day */
    int bin_days;  /* of the slowest in it */
    int n_wants;
} fl_build_cohort;

typedef struct fl_build_plan {
    size_t n_cohorts;
    fl_build_cohort cohorts[FL_BUILD_WANTS_MAX]; /* by first_day */
    int way[FL_BUILD_WANTS_MAX];                 /* of each want */
    int cohort[FL_BUILD_WANTS_MAX];              /* index above */
    int ready_day[FL_BUILD_WANTS_MAX];           /* begun on first_day */
    int late_days; /* of the latest want; 0: all are ready when they are needed */
    int late_sum;  /* over all wants */
    int bound;     /* no plan is less late than this, for the latest want */
    int busy_days; /* days that bins are filled, over all cohorts */
} fl_build_plan;

/* The plan: the latest want as little late as can be found, then all together as little late, then
 * the least cost, the fewest cohorts, the fewest bin days, preferred ways.
 * Errors: FL_EDOMAIN or FL_ETOOBIG naming the want or bin that is out of range; no bin for a want.
 * Method: list scheduling by due day, a climb over other ways, joined and parted cohorts and
 * exchanged turns, again from choices changed at random (the same wants give the same plan); the
 * bound is the larger of the quickest way of each want and the work that each
 * group cannot do without against all bins. Exact when late_days equals bound; else at most that
 * much from it (tests: against full enumeration). Cost: some thousand schedules. */
fl_status fl_build_make(const fl_build_input *input, fl_build_plan *out, fl_err *err) FL_MUST_USE;

#endif
