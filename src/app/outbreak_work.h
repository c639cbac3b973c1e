/* Inside of fl_outbreak_ask, shared by outbreak.c, outbreak_plan.c, outbreak_treat.c and
 * outbreak_story.c only. */
#ifndef FL_APP_OUTBREAK_WORK_H
#define FL_APP_OUTBREAK_WORK_H

#include "app/outbreak.h"

#define FL_PROPOSALS_MAX 80

typedef struct fl_outbreak_work {
    const fl_room *room;
    fl_id cause; /* the finding, the event about an animal, or the lot that was treated */
    fl_chances *chances;
    fl_arena *arena;
    const fl_finding_now *finding; /* or NULL */
    const fl_event *animal;        /* or NULL */
    const fl_threat *threat;       /* NULL: no name yet */
    const fl_ev_place_set *place;  /* where it was found; NULL when never defined */
    fl_id place_id;
    bool is_occupied; /* animals are in that place */
    fl_outbreak *out;
    fl_proposal proposals[FL_PROPOSALS_MAX];
    size_t n;
} fl_outbreak_work;

/* Adds a proposal; NULL when there are enough. Its text and the rest are the caller's to set. */
fl_proposal *fl_outbreak_propose(fl_outbreak_work *w, fl_proposal_kind kind);

/* Gives the proposal one event of a kind, dated now, its id made from the cause, the
 * proposal and the moment, so that accepting twice records once. The body is the
 * caller's to fill in. */
fl_event *fl_outbreak_event(const fl_outbreak_work *w, fl_proposal *proposal, fl_kind kind);

/* The lots that stand where it was found, now: the finding's own lot first. Array in the arena. */
size_t fl_outbreak_lots_there(const fl_outbreak_work *w, const fl_lot ***out);

fl_sv fl_outbreak_lot_name(const fl_outbreak_work *w, const fl_lot *lot);
/* "fungus gnat"; "what was seen" when it has no name. */
fl_sv fl_outbreak_threat_name(const fl_outbreak_work *w);

/* On no lot that it reached and that is still here is the chance above FL_OUTBREAK_CLEAR. */
bool fl_outbreak_is_quiet(const fl_outbreak_work *w);

/* An empty bin or jar that was cleaned since its last lots left, and is not on hold; none. */
fl_id fl_outbreak_empty_place(const fl_outbreak_work *w);

void fl_outbreak_plan(fl_outbreak_work *w);
void fl_outbreak_treatments(fl_outbreak_work *w);
fl_status fl_outbreak_tell_story(fl_outbreak_work *w, fl_err *err) FL_MUST_USE;

#endif
