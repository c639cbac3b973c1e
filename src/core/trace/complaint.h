/* A customer says that a pest came with a plant. Did it, or did it begin at the customer's? The
 * same filter as the gate's, by the theorem of Bayes; no mathematics of its own.
 *
 * Each way in that may have been on the plant when it left goes on at the customer's: time, and
 * looks that found nothing, up to the look that noticed it. Beside them stands a steady hazard of
 * the customer's own (core/clear/steady), which begins with nothing when the plant comes. The eye
 * is one: the detectability multipliers of the looks here go on there.
 *
 * With, for one multiplier, A0 the chance that nothing that came along was noticed before, A1 that
 * the look in question would not notice it either, and E0, E1 the same of what began there:
 *     P(what was noticed came along) = E0 (A0 - A1)
 *     P(what was noticed began there) = (E0 - E1) A1
 * Both at once counts as having come along. The two add up to all of A0 E0 - A1 E1. The means over
 * the multipliers are compared. Model card: docs/models/complaint.md. */
#ifndef FL_CORE_TRACE_COMPLAINT_H
#define FL_CORE_TRACE_COMPLAINT_H

#include "core/trace/source.h"

/* At the customer's, where nothing is told (our judgement: grade assumed). Founders that come from
 * other plants and open windows, expected in 30 days, with the range that is shown; how often
 * somebody glances at the plants, with its range; the temperature of a living room. */
#define FL_COMPLAINT_HAZARD_30_DAYS 0.02
#define FL_COMPLAINT_HAZARD_30_DAYS_LEAST 0.005
#define FL_COMPLAINT_HAZARD_30_DAYS_MOST 0.08
#define FL_COMPLAINT_LOOK_DAYS 7
#define FL_COMPLAINT_LOOK_DAYS_LEAST 2
#define FL_COMPLAINT_LOOK_DAYS_MOST 14
#define FL_COMPLAINT_TEMP_C 21.0
#define FL_COMPLAINT_HOURS_MAX 17568 /* two years: later complaints are not weighed */

/* One way in that may have been on the plant when it left. */
typedef struct fl_complaint_way {
    const fl_filter *left; /* its state then, with all that was done and looked at here */
    double prior;          /* that it is real, 0 to 1; of a steady one not looked at */
    bool is_steady;        /* of a steady hazard here */
} fl_complaint_way;

typedef struct fl_complaint_query {
    const fl_stage_model *model;
    const fl_complaint_way *ways; /* [n_ways], all with the same multipliers; may be none */
    size_t n_ways;
    int n_mix; /* multipliers, 1 to FL_MIXTURE_MAX */
    const double *multiplier;
    const double *share;  /* [n_stages] of what comes in at the customer's, sum 1 */
    const double *glance; /* [n_stages] chance that a look there sees the stage */
    fl_source_seen seen;  /* the look that noticed it; its weight is not looked at here */
    double temp_c;        /* there */
    int n_hours;          /* from leaving to noticing, 0 to FL_COMPLAINT_HOURS_MAX */
    int look_every_h;     /* looks before, counted back from the noticing; 24 or more */
} fl_complaint_query;

/* By multiplier: all that the answer is read from. */
typedef struct fl_complaint_masses {
    int n_mix;
    double left_quiet[FL_MIXTURE_MAX];  /* P(every look here quiet) */
    double left_clean[FL_MIXTURE_MAX];  /* P(that, and nothing on it when it left) */
    double quiet[FL_MIXTURE_MAX];       /* A0 */
    double still_quiet[FL_MIXTURE_MAX]; /* A1 */
    double as_seen[FL_MIXTURE_MAX];     /* of what would be noticed, the share that looks so */
    double
        there_found[FL_MIXTURE_MAX];  /* founders of a hazard of 1 a day, expected: found before */
    double there_any[FL_MIXTURE_MAX]; /* ... noticed by the look */
    double there_as[FL_MIXTURE_MAX];  /* ... and looking so */
} fl_complaint_masses;

/* Runs time and looks at the customer's. FL_EDOMAIN, FL_EINVAL, FL_ETOOBIG naming what is out of
 * range. Accuracy: the hazard's inflow is put in at the middle of stretches of at most a day. */
fl_status fl_complaint_run(const fl_complaint_query *query, fl_complaint_masses *out,
                           fl_err *err) FL_MUST_USE;

typedef struct fl_complaint_answer {
    double chance_left;   /* P(it was on the plant when it left | the looks here) */
    double noticed_here;  /* P(noticed then and as it was, of what came along | the looks here) */
    double noticed_there; /* the same of what began there */
    double chance_here;   /* that it came along, given that it was noticed; NAN: neither can be */
} fl_complaint_answer;

/* Reads the answer. hazard_per_day >= 0 at the customer's; weight[n_mix] >= 0, not all 0.
 * FL_EDOMAIN. */
fl_status fl_complaint_read(const fl_complaint_masses *masses, double hazard_per_day,
                            const double *weight, fl_complaint_answer *out,
                            fl_err *err) FL_MUST_USE;

#endif
