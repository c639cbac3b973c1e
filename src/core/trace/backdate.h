/* When did it come in? From the stage that was seen and the temperatures since, backwards. Start
 * here; who could have brought it is source.h.
 *
 * A founder that came in at hour h is a chain over Erlang substages (core/clear): it grows, it is
 * treated, looks miss it. The likelihood of h is the chance that such a founder was missed by every
 * look before, and then seen in the stage that was seen. All hours are answered by one pass that
 * runs the chain backwards from the moment of the find (the adjoint of the clearance filter), under
 * every development set and every detectability multiplier.
 *
 * A founder in its last, breeding stage is a colony: of what is seen of a colony only a part is
 * breeding animals, so a young stage may be the child of a founder that came in long before. A
 * breeding stage gives only a bound: "at least N days ago". Model card: docs/models/trace.md. */
#ifndef FL_CORE_TRACE_BACKDATE_H
#define FL_CORE_TRACE_BACKDATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "core/clear/filter.h"
#include "core/know/know.h"

#define FL_BACKDATE_SETS_MAX 4
#define FL_BACKDATE_HOURS_MAX 17568 /* two years */
/* The window is from this quantile to 1 - it; a bound keeps hours above this share of the best. */
#define FL_BACKDATE_TAIL 0.01
/* It was seen: no stage counts as less visible than this at the look that saw it. */
#define FL_BACKDATE_SEEN_LEAST 0.02
/* Of a colony at least this share is breeding animals (assumed). */
#define FL_BACKDATE_COLONY_BREEDING 0.2

/* Something that happened to it before it was seen. */
typedef struct fl_backdate_op {
    int hour;                       /* 0 to n_hours: at the beginning of that hour */
    bool is_look;                   /* found nothing; else a treatment */
    double by_stage[FL_STAGES_MAX]; /* chance to be seen, or survival; 0 to 1 */
} fl_backdate_op;

typedef struct fl_backdate_query {
    const fl_stage_model *set[FL_BACKDATE_SETS_MAX]; /* development sets, equally likely */
    int n_sets;                /* 1 to FL_BACKDATE_SETS_MAX, alike in stages */
    const double *share;       /* [n_stages] of what comes in, sum 1 */
    const double *temps_c;     /* [n_hours], hour 0 the first that counts */
    int n_hours;               /* 0 to FL_BACKDATE_HOURS_MAX; it was seen at hour n_hours */
    const fl_backdate_op *ops; /* [n_ops] by hour */
    size_t n_ops;
    int stage_seen;           /* -1: not told */
    const double *detect;     /* [n_stages] chance that the look that found it sees the stage */
    double cap;               /* of a chance times its multiplier, 0 to 1 */
    int n_mix;                /* detectability multipliers, 1 to FL_MIXTURE_MAX */
    const double *multiplier; /* [n_mix] >= 0 */
    const double *weight;     /* [n_mix] >= 0, not all 0 */
    const double *colony;     /* [n_stages] of what is seen of a colony, sum 1; NULL: only itself */
} fl_backdate_query;

/* What is seen of a colony, by stage: its make-up (as it comes in, with at least
 * FL_BACKDATE_COLONY_BREEDING in the last stage) times how visible each stage is; sum 1.
 * detect[n_stages], out[n_stages]. */
void fl_backdate_colony(const fl_threat *threat, const double *detect, double *out);

/* likelihood[n_hours + 1]: P(missed by all before and seen as it was | it came in at hour h), up to
 * a factor. Written on success. Accuracy: absolute 1e-8 of each chance (power series of the
 * exponential, as the filter). FL_EINVAL, FL_EDOMAIN naming what is out of range. */
fl_status fl_backdate_likelihood(const fl_backdate_query *query, double *likelihood,
                                 fl_err *err) FL_MUST_USE;

typedef struct fl_backdate_window {
    bool is_possible; /* false: no hour explains it (warm or cold as it was) */
    bool is_bound; /* only a bound: it came in at to_h or before; from_h is 0 and means nothing */
    int from_h;    /* quantiles of the hour it came in */
    int to_h;
    int middle_h; /* median; of a bound: to_h */
} fl_backdate_window;

/* The window. prior[n_hours + 1] >= 0: how likely it came in at each hour, before the find; NULL:
 * every hour alike. is_bound: the stage breeds. likelihood as above. */
void fl_backdate_window_of(const double *likelihood, const double *prior, int n_hours,
                           bool is_bound, fl_backdate_window *out);

/* True when the stage gives only a bound: it is the last one, or breeds. stage -1: false. */
bool fl_backdate_is_bound(const fl_threat *threat, int stage);

/* The index of a stage's name in the threat; -1 when empty or unknown. */
int fl_backdate_stage(const fl_threat *threat, fl_sv name);

#endif
