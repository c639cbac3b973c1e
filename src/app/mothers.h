/* Mothers whose chance has crept up: what the room lets in adds up between looks, and everything
 * later comes from them, so they are looked at again sooner than the routine (reference section 8:
 * retest when the chance is above the ceiling). What they came with is not crept up: a collection
 * that was just entered waits for its routine. Nothing is stored: it follows from the record. */
#ifndef FL_APP_MOTHERS_H
#define FL_APP_MOTHERS_H

#include "app/gate.h"

/* Above the ceiling of stock a place is looked at every so many days, not every two to three
 * months (assumed: a look a month is what a chance that creeps up can be held down by). */
#define FL_MOTHERS_DAYS 28

typedef struct fl_mothers_look {
    fl_id place;
    int64_t due_s;          /* local noon of a round day; may be past */
    const fl_lot *lot;      /* the mother with the largest sum there */
    double sum, ceiling;    /* weighted sum for stock, and what is enough */
    const fl_threat *worst; /* the most of the sum */
    bool needs_roots;       /* the room's looks never see it, a look at the roots does */
} fl_mothers_look;

/* The places of mothers that are above the ceiling of stock today and would not be but for what the
 * room let in, by due_s, then id; in the arena. Not those on hold or with a lot in quarantine: they
 * have a sooner look. */
fl_status fl_mothers_due(fl_chances *chances, const fl_room *room, fl_arena *arena,
                         fl_mothers_look **out, size_t *count, fl_err *err) FL_MUST_USE;

/* Why: "what could be on them has crept up to 6.1 %, over the 5 % that is enough for stock; at the
 * roots: root mealybug is the most of it". */
fl_sv fl_mothers_why(const fl_mothers_look *look, fl_arena *arena);

#endif
