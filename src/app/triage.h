/* Arrival triage: what came home is weighed at the door, while the seller still takes it back. Its
 * way through quarantine is asked of the gate in a room in which it was cleaned as planned and put
 * into a bin with its purchase; and, beside that, a cutting of it taken today. What is recorded is
 * what was done, in the ordinary kinds: moved to the seller, lost at the door, cut.
 * core/prep/triage.h weighs. Model card: docs/models/triage.md. */
#ifndef FL_APP_TRIAGE_H
#define FL_APP_TRIAGE_H

#include "app/gate.h"
#include "core/prep/triage.h"

/* Until when the seller takes a lot back, and what was paid. */
typedef struct fl_claim {
    int64_t days;        /* 0: nobody told */
    int64_t until_s;     /* the end of its last local day; INT64_MIN: not told */
    bool is_open;        /* now */
    bool is_of_purchase; /* told of this purchase; else of its source */
    double price;        /* this lot's part of what was paid; NAN: not told */
} fl_claim;

/* Of a lot that was bought, or was split from one; nothing is told of any other. */
fl_claim fl_triage_claim(const fl_room *room, const fl_lot *lot);

/* On trial: here, bought, not released and not established. */
bool fl_triage_is_on_trial(const fl_room *room, const fl_lot *lot);

typedef struct fl_triage_lot {
    const fl_lot *lot;
    fl_claim claim;
    fl_prep_plan plan;
    size_t n_sharing; /* lots of its purchase on trial that share the bin, itself counted */
    fl_triage_input input;
    fl_triage triage;
    fl_condition_kind binding; /* what opens last, or never; COUNT: open now */
    const fl_threat *worst;    /* the likeliest of what matters; NULL: none */
    double prob_worst;         /* after the evening's steps */
    fl_condition_kind tip_binding;
} fl_triage_lot;

#define FL_TRIAGE_LOTS_MAX 64

/* Weighs n_lots (1 to FL_TRIAGE_LOTS_MAX) lots on trial, all in one what-if. Array [n_lots] in the
 * arena. FL_EINVAL naming a lot that is not on trial; FL_ETOOBIG; what the chances return. */
fl_status fl_triage_ask(const fl_room *room, fl_app *app, const fl_lot *const *lots, size_t n_lots,
                        const fl_triage_worth *worth, fl_arena *arena, fl_triage_lot **out,
                        fl_err *err) FL_MUST_USE;

/* What going that way is recorded as, in order, at now: nothing (kept), cut and the rest lost
 * (`tip` is the cutting's id, n_tips how many), moved to the seller (an outside place, made when
 * the room has none of that name), lost (refused). Event ids are none. Array in the arena. */
#define FL_TRIAGE_EVENTS_MAX 2
#define FL_TRIAGE_SELLER "back to the seller"
void fl_triage_events(const fl_room *room, const fl_lot *lot, fl_triage_way way, fl_id tip,
                      int64_t n_tips, fl_arena *arena, fl_event **out, size_t *count);

#endif
