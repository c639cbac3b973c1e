/* The ledger: turns a sorted, live history into what it means. Start reading here.
 *
 * Pure and total: it never fails, whatever the history; what contradicts becomes a conflict and the
 * rest goes on. The rules, with their reasons, stand in docs/models/ledger.md; in short:
 *
 * - Events count in canonical order (fl_event_compare); a vague time counts as the moment given.
 *   Lots born in the same second may name each other in any order.
 * - An event before its lot's birth or after its end is a conflict and does nothing else; a step or
 *   look likewise, and a look that names a lot which stood elsewhere.
 * - Lots are born by arrival, already-here, cut and split; the first birth in order counts.
 *   A split takes `count` plants from its lot and stands where the lot stands. Cutting and division
 *   leave the mother's count as it is: a division gives one plant more, it takes none away.
 * - A move or release ends a stay and begins another; into the place where the lot stands, neither.
 *   Into a place whose last definition says "outside", the lot is gone; so is one without plants.
 * - A fill lasts from the first stay after clean to the next cleaning; lots that stay through a
 *   cleaning begin the next fill.
 * - A finding is what its last identification says, else what the look said. It holds its place
 *   from the look on, unless it is no threat or tolerated there. Its hold ends with the first of: a
 *   lift, its retraction, the naming as no threat (that was not revised since), its threat being
 *   tolerated there. An ended hold stays ended, except that a later naming as a threat undoes an
 *   earlier one as none. An animal ill, dead or tested positive holds its place until lifted.
 *
 * What rows depend on (any set of events that holds these gives the same rows):
 *   a lot and its stays: events that mention it or a lot it descends from; every place_set
 *   its conflicts: also what the holds of the places it stood in depend on
 *   holds, findings, their conflicts, of a place: events that mention the place, a finding of its
 *       looks, or one of its holds
 *   fills of a place: its cleanings, and what the stays of every lot depend on that an event ever
 *       put there (be it for no time), or that was split from such a lot. The other lots' rows in
 *       such a set are not whole, and the fills of other places neither. */
#ifndef FL_CORE_LEDGER_LEDGER_H
#define FL_CORE_LEDGER_LEDGER_H

#include "event/meaning.h"

/* Marks which events count: is_live[i] is false when a live event voids events[i] (a voided voiding
 * voids nothing). Voiding refers only to events recorded before, so there is no cycle; one that
 * voids itself or is in a cycle counts as live. Voiding an event that is not there does nothing.
 * events[n_events] in any order; is_live[n_events] is written; scratch[2 * n_events] is the
 * caller's and of no meaning afterwards. Cost: n log n. */
void fl_ledger_mark_live(const fl_event *events, size_t n_events, bool *is_live, size_t *scratch);

/* How many rows of each kind `fold` may write for these events: sizes for the caller's arrays; and
 * the bytes of its scratch. */
typedef struct fl_ledger_bound {
    size_t lots, stays, fills, holds, findings, conflicts;
    size_t scratch_bytes;
} fl_ledger_bound;
fl_ledger_bound fl_ledger_bound_of(const fl_event *events, size_t n_events);

/* Folds live events, sorted by fl_event_compare, into *out, whose arrays have the sizes of
 * fl_ledger_bound_of (NULL for size 0); counts are set, texts are views into the events. scratch
 * has scratch_bytes, aligned for any type, and is of no meaning afterwards. The same set of events
 * gives the same rows. Reads the threat codes of core/know: a finding named with any other word is
 * no threat. Cost: n log n in events and what they list. */
void fl_ledger_fold(const fl_event *events, size_t n_events, void *scratch, fl_meaning *out);

/* A row by its key, or NULL: the lot of this id, the stay of a lot at a moment, the fill of a place
 * at a moment. The arrays are sorted as fl_meaning says. */
const fl_lot *fl_meaning_lot(const fl_meaning *meaning, fl_id lot);
const fl_stay *fl_meaning_stay_at(const fl_meaning *meaning, fl_id lot, int64_t at_s);
const fl_fill *fl_meaning_fill_at(const fl_meaning *meaning, fl_id place, int64_t at_s);
/* True when any hold on the place covers the moment. */
bool fl_meaning_is_held(const fl_meaning *meaning, fl_id place, int64_t at_s);

#endif
