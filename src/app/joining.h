/* May lots share a place with what stands there? What shares a fill is one from then on: what is
 * on one may be on all. So lots of different origin are joined only when each is quiet enough for
 * the strictest use that any of them is for. */
#ifndef FL_APP_JOINING_H
#define FL_APP_JOINING_H

#include "app/gate.h"

/* The lot that is farthest from fit, and how far. */
typedef struct fl_unfit {
    const fl_lot *lot; /* NULL: each is fit */
    double sum;        /* weighted, under the stricter use */
    double ceiling;    /* that is enough; the sum may be under it and days or steps missing */
} fl_unfit;

typedef struct fl_joining {
    bool is_one;    /* lots of another origin are there: putting these in joins them */
    fl_use use;     /* of is_one: the stricter use, for which each must be fit */
    fl_unfit own;   /* of the lots that would come */
    fl_unfit there; /* of those that stand there */
} fl_joining;

/* Asks the gate as it is now for each lot on both sides. Material is neither asked nor joined. */
fl_status fl_joining_ask(fl_chances *chances, const fl_room *room, const fl_lot *const *lots,
                         size_t n_lots, const fl_ev_place_set *place, fl_joining *out,
                         fl_err *err) FL_MUST_USE;

/* True when something would be joined and one side is not fit for the stricter use. */
bool fl_joining_is_unfit(const fl_joining *joining);

/* True when the two are one already: of one purchase, or the one descends from what the other does
 * too. */
bool fl_joining_is_same_origin(const fl_room *room, const fl_lot *a, const fl_lot *b);

#endif
