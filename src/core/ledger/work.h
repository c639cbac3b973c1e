/* What the parts of the fold share: its working memory, sorted references, conflicts, holds in
 * order of events. Private to core/ledger; callers read ledger.h.
 *
 * Events are known by their index in the sorted array, so that "before" is one comparison also in
 * the same second. FL_LEDGER_NONE is "no event" or "no row". */
#ifndef FL_CORE_LEDGER_WORK_H
#define FL_CORE_LEDGER_WORK_H

#include "event/meaning.h"

#define FL_LEDGER_NONE SIZE_MAX

/* One event under the key it is looked up by. Sorted by (key, event, part). */
typedef struct fl_ledger_ref {
    fl_id key;
    size_t event; /* index */
    size_t part;  /* which finding of the look, which row: as the list says */
} fl_ledger_ref;

typedef struct fl_ledger_refs {
    fl_ledger_ref *items;
    size_t count;
} fl_ledger_refs;

/* Why a place may be held, and how long. Sorted by (key, from, to). */
typedef struct fl_ledger_span {
    fl_id key;      /* the hold's id; later the place */
    size_t from;    /* event index */
    size_t to;      /* event index; FL_LEDGER_NONE while it lasts */
    size_t finding; /* row of out->findings; FL_LEDGER_NONE; later the largest `to` up to here */
} fl_ledger_span;

/* What the fold knows of a lot beside its row; same index as out->lots. Events are indices, or
 * FL_LEDGER_NONE. */
typedef struct fl_ledger_lot {
    size_t birth;
    size_t mother;        /* row, not event */
    size_t link;          /* row: the next of a chain that is being walked */
    size_t generation;    /* how many of its line before it are born in its second */
    size_t stay_event;    /* what put it where it stands */
    size_t gone_event;    /* what ended it */
    size_t count_event;   /* what gave or last took plants */
    size_t move_event;    /* the last move */
    size_t release_event; /* the last release */
    int64_t mark;         /* of the walk up the mothers: 0 new, 1 on the way, 2 done */
    bool is_born;
} fl_ledger_lot;

/* How much of what an array of events holds. */
typedef struct fl_ledger_tally {
    size_t places, births, entries, findings, namings, lifts, tolerated, cleanings;
    size_t causes; /* findings, keeper's holds, animal events */
    size_t conflicts;
} fl_ledger_tally;

typedef struct fl_ledger_work {
    const fl_event *events;
    size_t n_events;
    fl_meaning *out;
    fl_ledger_tally tally;
    fl_ledger_refs places;    /* place_set by place */
    fl_ledger_refs births;    /* by lot */
    fl_ledger_refs findings;  /* looks by finding; part: which finding of the look */
    fl_ledger_refs namings;   /* identified and retracted, by finding */
    fl_ledger_refs lifts;     /* by hold */
    fl_ledger_refs tolerated; /* by place and threat; part: the next one that tolerates */
    fl_ledger_refs cleanings; /* by place */
    fl_ledger_refs stays;     /* by place; event: what began it; part: row of out->stays */
    fl_ledger_refs newborn;   /* births of one second, by generation; part: event index */
    fl_ledger_span *spans;
    size_t n_spans;
    fl_ledger_lot *lots;
} fl_ledger_work;

/* -1, 0, 1 for two rows. */
typedef int (*fl_ledger_compare)(const void *a, const void *b, const void *context);

/* Sorts rows[count] of `size` bytes (at most 512) by heap sort, in place; equal rows in no order.
 */
void fl_ledger_sort(void *rows, size_t count, size_t size, fl_ledger_compare compare,
                    const void *context);

/* -1, 0, 1. */
int fl_ledger_compare_size(size_t a, size_t b);
int fl_ledger_compare_time(int64_t a, int64_t b);

void fl_ledger_refs_add(fl_ledger_refs *refs, fl_id key, size_t event, size_t part);
void fl_ledger_refs_sort(fl_ledger_refs *refs);
/* Index of the first item with (key, event) >= the given pair; may be of another key, or count. */
size_t fl_ledger_refs_from(const fl_ledger_refs *refs, fl_id key, size_t event);
/* True when items[i] exists and has this key. */
bool fl_ledger_refs_is(const fl_ledger_refs *refs, size_t i, fl_id key);

/* The conflict of two events, in either order (`other` may be FL_LEDGER_NONE). lot and place may
 * be none. */
void fl_ledger_conflict(fl_ledger_work *work, fl_conflict_kind kind, size_t event, size_t other,
                        fl_id lot, fl_id place);

/* Fills `places`, `births`, `findings`, `namings`, `lifts`, `tolerated`, `cleanings`, sorted. */
void fl_ledger_index(fl_ledger_work *work);

/* True when the place's last definition says outside. */
bool fl_ledger_is_outside(const fl_ledger_work *work, fl_id place);

/* The row of a lot, or FL_LEDGER_NONE. */
size_t fl_ledger_lot_find(const fl_ledger_work *work, fl_id lot);

/* Writes out->findings (by finding id) and out->holds, and leaves `spans` by place. */
void fl_ledger_fold_holds(fl_ledger_work *work);

/* The event that began the hold under which `place` was held when `event` happened: of several,
 * the one that began first. FL_LEDGER_NONE when it was not held. */
size_t fl_ledger_held_by(const fl_ledger_work *work, fl_id place, size_t event);

/* Writes out->lots with what they have from birth: everything but count, place, is_gone and
 * released_by. Needs `births`. */
void fl_ledger_fold_births(fl_ledger_work *work);

/* Runs through the events and brings lots, stays and their conflicts up to date; leaves `stays`
 * (unsorted). Needs births and holds. */
void fl_ledger_fold_stays(fl_ledger_work *work);

/* Writes out->fills from `stays` (sorts it) and `cleanings`. */
void fl_ledger_fold_fills(fl_ledger_work *work);

#endif
