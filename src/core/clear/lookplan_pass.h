/* The passes under lookplan.c: shared by lookplan*.c only. */
#ifndef FL_CORE_CLEAR_LOOKPLAN_PASS_H
#define FL_CORE_CLEAR_LOOKPLAN_PASS_H

#include "core/clear/lookplan.h"

/* The problem with its workspace laid out. */
typedef struct fl_lookplan_pass {
    const fl_lookplan_problem *p;
    int n_mix;
    const double *multiplier;
    size_t stride;     /* doubles of a packed state: the largest n * n_mix */
    double *before;    /* [copy][day][stride + n_mix]: alive and found before the day's look */
    double *after;     /* [copy][day][2 n_mix]: alive in all, and found, after the day */
    double *ahead;     /* [pest][day][2 stride]: quiet and gone, seen from after the day's look */
    double *trickle;   /* [pest][day][2 n_mix]: at the release, of what trickles in after the day */
    double *at_end;    /* [copy][2 n_mix]: of one priced day */
    fl_filter *reader; /* one substage: reads a chance off two masses */
} fl_lookplan_pass;

/* Checks the problem and lays out the workspace. */
fl_status fl_lookplan_open(const fl_lookplan_problem *problem, void *work, fl_lookplan_pass *out,
                           fl_err *err) FL_MUST_USE;

/* Runs every copy over the days from..to (both included) under a plan; from > 0 goes on from what
 * an earlier forward pass left before that day. */
fl_status fl_lookplan_forward(fl_lookplan_pass *pass, const bool *is_look, int from, int to,
                              fl_err *err) FL_MUST_USE;

/* Seen from the day `release` (after its look) back to day 0, under a plan. */
fl_status fl_lookplan_backward(fl_lookplan_pass *pass, const bool *is_look, int release,
                               fl_err *err) FL_MUST_USE;

/* The load after a day, as the forward pass ran it. */
fl_status fl_lookplan_load_after(fl_lookplan_pass *pass, int day, double *out,
                                 fl_err *err) FL_MUST_USE;

/* The load at the release, when on `day` there is a look or is none, and on the other days what
 * both passes were run with. */
fl_status fl_lookplan_price(fl_lookplan_pass *pass, int day, bool has_look, double *out,
                            fl_err *err) FL_MUST_USE;

#endif
