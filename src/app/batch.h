/* Batches: what came or was cut as one lot, and what became of each of its plants. A tray of 72 is
 * one lot; potting some of it on, or giving some away, splits it, and all of that stays one batch.
 * Nothing is stored: it is counted from the journal, by the ledger's own rules (core/ledger), so
 * that what came in is what is here, has died, or has left. */
#ifndef FL_APP_BATCH_H
#define FL_APP_BATCH_H

#include "app/room.h"

/* Plants that left for a place outside: sold, given, thrown away; the place says to whom. */
typedef struct fl_batch_leaving {
    const fl_lot *lot;     /* as it left */
    const fl_lot *batch;   /* the lot that its batch began as */
    fl_id to;              /* a place whose kind is outside */
    int64_t count;         /* plants that went */
    int64_t at_s;          /* when */
    const fl_event *event; /* lot_released, lot_moved, or the lot's birth there */
} fl_batch_leaving;

/* Every leaving of the room, in canonical order; an array in the arena. Cost: events x log lots. */
size_t fl_batch_leavings(const fl_room *room, fl_arena *arena, const fl_batch_leaving **out);

/* Who has plants that come from the same plants as this lot: of its batch, and of every cutting
 * that was ever taken of it. In canonical order; an array in the arena. */
size_t fl_batch_who(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                    const fl_batch_leaving **out);

typedef struct fl_batch_loss {
    const fl_lot *lot;
    int64_t count; /* that were there to be lost */
    int64_t at_s;
    fl_sv why;
    const fl_event *event;
} fl_batch_loss;

typedef struct fl_batch_part {
    const fl_lot *lot;
    fl_sv container; /* what it was potted up in last; empty: not told */
} fl_batch_part;

typedef struct fl_batch {
    const fl_lot *lot;        /* that it began as: never a split */
    int64_t came;             /* plants at its beginning */
    int64_t here, died, left; /* what became of them */
    int64_t told_over;        /* split off beyond what there was: the record contradicts itself */
    int64_t told_twice;       /* split off into a lot that was there already */
    fl_batch_part *parts;     /* lots of it that are here, by birth */
    size_t n_parts;
    fl_batch_loss *losses; /* in canonical order */
    size_t n_losses;
    const fl_batch_leaving *leavings; /* of the batch itself */
    size_t n_leavings;
    const fl_lot **cuttings; /* lots cut from any part of it: batches of their own */
    size_t n_cuttings;
    const fl_batch_leaving *cutting_leavings; /* of these, and of theirs in turn */
    size_t n_cutting_leavings;
} fl_batch;

/* The batch that a lot belongs to. came + told_over = here + died + left + told_twice, always; both
 * told_ are 0 unless the ledger has a conflict. Arrays in the arena. */
void fl_batch_of(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_batch *out);

/* The lots that batches began as, those of plants with more than one plant, or of which some have
 * left or died; the last to come first. */
size_t fl_batch_list(const fl_room *room, fl_arena *arena, const fl_lot ***out);

#endif
