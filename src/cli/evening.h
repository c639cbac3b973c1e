/* Tonight's lots with their plans, and what is recorded when all was done as planned. */
#ifndef FL_CLI_EVENING_H
#define FL_CLI_EVENING_H

#include "app/plans.h"
#include "cli/verb.h"

typedef struct fl_tonight {
    fl_session *s;
    const fl_lot **lots;
    fl_prep_plan *plans; /* plans[i] belongs to lots[i] */
    size_t n_lots;
    bool is_named; /* the lots were named, not gathered */
} fl_tonight;

/* A step that was not done to a lot. */
typedef struct fl_exception {
    const fl_lot *lot;
    fl_step step;
} fl_exception;

/* How the evening went, where it was not simply as planned. */
typedef struct fl_tonight_done {
    fl_sv tub;                /* one for all; empty: each purchase had its own */
    const fl_bleach_mix *dip; /* what the dips were mixed to; NULL when none was done */
    const fl_exception *except;
    size_t n_except;
    fl_prills prills; /* among the roots, when they were stripped */
} fl_tonight_done;

/* Plans for the lots named by the call's words, or for all that came home and are not cleaned. */
fl_status fl_tonight_plan(fl_call *call, fl_tonight *out, fl_err *err) FL_MUST_USE;

/* True when a dip in bleach is among the steps. */
bool fl_tonight_has_dip(const fl_tonight *evening);

/* Puts all steps of all lots, purchase by purchase, in the order of the plans, into one step_done
 * event. Lots of one purchase share a step, and its water, when both are at it; minutes are the
 * least of the plan. FL_EINVAL when nothing is left to record. */
fl_status fl_tonight_compose(const fl_tonight *evening, const fl_tonight_done *done,
                             fl_err *err) FL_MUST_USE;

#endif
