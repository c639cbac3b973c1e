/* The ledger: turns a sorted, live history into what it means. Start reading here.
 *
 * Pure and total: it never fails, whatever the history; what contradicts becomes a conflict and the
 * rest goes on. It may be given all events of the room, or those that mention some lots and places
 * (then rows of other lots and places are not whole and the caller drops them). */
#ifndef FL_CORE_LEDGER_LEDGER_H
#define FL_CORE_LEDGER_LEDGER_H

#include "event/meaning.h"

/* Marks which events count: is_live[i] is false when a live event voids events[i] (a voided voiding
 * voids nothing). Voiding refers only to events recorded before, so there is no cycle; one that
 * voids itself or is in a cycle counts as live. events in any order. */
void fl_ledger_mark_live(const fl_event *events, size_t n_events, bool *is_live);

/* How many rows of each kind `fold` may write for these events: sizes for the caller's arrays. */
typedef struct fl_ledger_bound {
    size_t lots, stays, fills, holds, findings, conflicts;
} fl_ledger_bound;
fl_ledger_bound fl_ledger_bound_of(const fl_event *events, size_t n_events);

/* Folds live events, sorted by fl_event_compare, into *out, whose arrays have the sizes of
 * fl_ledger_bound_of; counts are set. The same set of events gives the same rows. */
void fl_ledger_fold(const fl_event *events, size_t n_events, fl_meaning *out);

/* The last row of a sorted array that holds at a moment, or NULL: the lot by id (any time), the
 * stay of a lot at t, the fill of a place at t. */
const fl_lot *fl_meaning_lot(const fl_meaning *meaning, fl_id lot);
const fl_stay *fl_meaning_stay_at(const fl_meaning *meaning, fl_id lot, int64_t at_s);
const fl_fill *fl_meaning_fill_at(const fl_meaning *meaning, fl_id place, int64_t at_s);
/* True when any hold on the place covers the moment. */
bool fl_meaning_is_held(const fl_meaning *meaning, fl_id place, int64_t at_s);

#endif
