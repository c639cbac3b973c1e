/* Inside of the planner of builds, for the files of this folder only. */
#ifndef FL_CORE_BUILDS_INNER_H
#define FL_CORE_BUILDS_INNER_H

#include "core/builds/builds.h"

#define WANTS_MAX FL_BUILD_WANTS_MAX

/* A choice: each want's way and cohort (a label below WANTS_MAX), and each cohort's turn. */
typedef struct choice {
    int way[WANTS_MAX];
    int label[WANTS_MAX];
    int turn[WANTS_MAX]; /* of a label: smaller is placed earlier than its due day says */
} choice;

/* What a choice comes to. */
typedef struct outcome {
    int late_days;
    int late_sum;
    int cost;
    int n_cohorts;
    int busy_days;
    int preference; /* sum of the ways' indices */
} outcome;

/* One fill while it is placed. */
typedef struct fill {
    int label;
    int group;
    int n_wants;
    int from_day;   /* the latest first_day of its wants */
    int bin_days;   /* the longest */
    int latest_day; /* to begin, so that none of its wants is late */
    int due_day;    /* latest_day + bin_days + turn: the order */
    bool fits_jar;
    int bin;
    int start_day;
} fill;

/* Negative when a is better than b. */
int fl_build_compare(const outcome *a, const outcome *b);

/* Places the fills of a choice, each in the bin where it can begin first. fills[WANTS_MAX] in the
 * order they were placed; false when one of them fits no bin. */
bool fl_build_place(const fl_build_input *input, const choice *c, fill *fills, outcome *out);

/* The least that the latest want of any plan is late. */
int fl_build_bound(const fl_build_input *input);

#endif
