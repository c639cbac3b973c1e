/* When to look: the days with the earliest release, and what each day's look is worth.
 *
 * A problem is a set of filters as they stand now (one a copy of a root, several roots a pest),
 * what a look would see of each pest, the weights and ceilings of the uses asked for, and the days
 * on which the keeper could look. Every look to come is taken to find nothing. The *load* of a plan
 * on a day is the weighted sum over its ceiling, the largest of the uses: at 1 or below, the lot
 * may go after that day's look.
 *
 * One forward pass holds every filter just before each day; one backward pass holds, for each day,
 * what each substage comes to at the release (core/clear/branching without births). Together they
 * price leaving out or adding a look on any day, exactly, without running it. Design section 4,
 * "Looks"; reference section 5. Nothing is allocated: the caller gives a workspace. */
#ifndef FL_CORE_CLEAR_LOOKPLAN_H
#define FL_CORE_CLEAR_LOOKPLAN_H

#include <stddef.h>

#include "core/clear/filter.h"

#define FL_LOOKPLAN_DAYS_MAX 64
#define FL_LOOKPLAN_USES_MAX 8
#define FL_LOOKPLAN_COPIES_MAX 100000
/* Looks that count are at least this far apart: misses on neighbouring days are not independent. */
#define FL_LOOKPLAN_GAP_H 120
#define FL_LOOKPLAN_NEVER (-1)

/* One pest, as a look sees it. */
typedef struct fl_lookplan_pest {
    const fl_stage_model *model;
    double weight[FL_LOOKPLAN_USES_MAX]; /* in the sum of each use, 0 to 1 */
    double detect[FL_STAGES_MAX];        /* chance that one look shows one founder, 0 to 1 */
    double inflow_share[FL_STAGES_MAX];  /* where what trickles in starts; sum 1 */
    double inflow_per_day;               /* founders, 0 to 1000 */
    double inflow_per_look;              /* by opening the box, 0 to 1000 */
} fl_lookplan_pest;

/* A copy of a root. Copies of one pest stand next to each other, and so do those of one root. */
typedef struct fl_lookplan_copy {
    size_t pest;            /* index in the problem's pests */
    size_t root;            /* of one root the largest chance counts; roots are combined */
    const fl_filter *state; /* now, prior included */
    bool is_steady;         /* a trickle (core/clear/steady): the prior means nothing */
    bool takes_inflow;      /* steady, and the trickle goes on here */
} fl_lookplan_copy;

typedef struct fl_lookplan_problem {
    const fl_lookplan_pest *pests;
    size_t n_pests;
    const fl_lookplan_copy *copies;
    size_t n_copies;                      /* to FL_LOOKPLAN_COPIES_MAX; 0: nothing is feared */
    double mix_weight[FL_MIXTURE_MAX];    /* of the detectability multipliers */
    double cap;                           /* no look sees more, 0 to 1 */
    fl_founders founders;                 /* the family beside "one founder" */
    double ceiling[FL_LOOKPLAN_USES_MAX]; /* > 0 */
    int n_uses;                           /* 1 to FL_LOOKPLAN_USES_MAX */
    const int *hours;      /* hours[n_days] from now, rising, >= 0: a look could be */
    int n_days;            /* 1 to FL_LOOKPLAN_DAYS_MAX */
    const double *temps_c; /* [hours[n_days - 1]] ahead; NULL: temp_c throughout */
    double temp_c;
    int since_last_look_h; /* hours since the last look that counts; negative: there was none */
    int first_release;     /* index of the first day the other conditions allow; n_days: none */
    int most_looks;        /* 1 to FL_LOOKPLAN_DAYS_MAX */
} fl_lookplan_problem;

/* One day of a plan. */
typedef struct fl_lookplan_day {
    bool is_look;
    double load;         /* after the day, as planned */
    double load_changed; /* at the release, if a look here were left out (is_look) or were added;
                            of the release day itself: without its look. NAN after the release,
                            and where an added look would be too near another */
} fl_lookplan_day;

typedef struct fl_lookplan {
    int release; /* index of the day after whose look the lot may go; FL_LOOKPLAN_NEVER */
    int n_looks;
    fl_lookplan_day day[FL_LOOKPLAN_DAYS_MAX];
} fl_lookplan;

/* Bytes of workspace that the functions below need for this problem (aligned as double). 0 when
 * the problem is out of range: they say why. */
size_t fl_lookplan_work_bytes(const fl_lookplan_problem *problem);

/* Runs one given plan: load[n_days] after each day. FL_EINVAL, FL_EDOMAIN, FL_ETOOBIG for a problem
 * that is out of range; those of the filter. */
fl_status fl_lookplan_run(const fl_lookplan_problem *problem, const bool *is_look, void *work,
                          double *load, fl_err *err) FL_MUST_USE;

/* A look on every day on which the gap allows one, until the load is at most 1 and the day is not
 * before first_release. Where the days are at least a gap apart this is the earliest release there
 * is. most_looks is not looked at. Without a release every such day is a look. Loads after the
 * release are NAN, and so is load_changed throughout. Errors as above. */
fl_status fl_lookplan_every(const fl_lookplan_problem *problem, void *work, fl_lookplan *out,
                            fl_err *err) FL_MUST_USE;

/* The plan: at most most_looks looks, at least FL_LOOKPLAN_GAP_H apart (from the last one before
 * now too), the last of them on the day of release. First the earliest release, then the fewest
 * looks, then the least load. Days are chosen exactly for up to three looks; for more, by leaving
 * out the look that matters least, one after the other, and by moving single looks to better days
 * until none is. Without a release, every day that the gap allows is a look, whatever most_looks
 * says. Errors as above. */
fl_status fl_lookplan_find(const fl_lookplan_problem *problem, void *work, fl_lookplan *out,
                           fl_err *err) FL_MUST_USE;

/* The release when the look of day `missed` is not done: the other looks of the plan as they are,
 * and a look on each later day that the gap allows until the load is at most 1. An index,
 * FL_LOOKPLAN_NEVER when there is none. FL_EINVAL when `missed` is no look of the plan. */
fl_status fl_lookplan_missed(const fl_lookplan_problem *problem, const fl_lookplan *plan,
                             int missed, void *work, int *out, fl_err *err) FL_MUST_USE;

/* What holding, looking, finding and letting go are worth, in one currency. */
typedef struct fl_lookplan_costs {
    double per_day;  /* held */
    double per_look; /* done */
    double find;     /* treat and begin again */
    double escape;   /* released infested */
} fl_lookplan_costs;

typedef struct fl_lookplan_cost {
    double expected;      /* of the plan, from now until a find or the release */
    double prob_quiet;    /* that no look finds anything */
    double prob_released; /* that it is released infested */
} fl_lookplan_cost;

/* The expected cost of a plan for a problem with one copy that is not steady, one founder:
 *     per_look sum P(quiet before the look) + per_day sum over days held P(quiet so far)
 *     + find P(a find) + escape P(released infested),
 * from now to the day `release` (an index), looks after it not counted; parts of a day count as
 * parts. Costs 0 to 1e12. FL_EDOMAIN, FL_EINVAL. */
fl_status fl_lookplan_expect(const fl_lookplan_problem *problem, const bool *is_look, int release,
                             const fl_lookplan_costs *costs, void *work, fl_lookplan_cost *out,
                             fl_err *err) FL_MUST_USE;

#endif
