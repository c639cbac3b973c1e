/* Batches counted from the journal: one walk over the events, with the ledger's rules for what a
 * split, a loss and an end take (core/ledger/stays.c). The property test holds the two together. */
#include "app/batch.h"

#include <stdlib.h>

#include "app/plans.h"

/* What is known of each lot of the room while the events are walked. */
typedef struct tally {
    const fl_room *room;
    int64_t *left_of; /* [n_lots]: plants it has now */
    bool *is_ended;   /* [n_lots] */
} tally;

static size_t index_of(const fl_room *room, const fl_lot *lot)
{
    return (size_t)(lot - room->meaning.lots);
}

static bool is_outside(const fl_room *room, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&room->defs, place);
    return set != NULL && set->kind == FL_PLACE_OUTSIDE;
}

static tally tally_new(const fl_room *room, fl_arena *arena)
{
    const size_t n = room->meaning.n_lots + 1;
    tally t = {.room = room,
               .left_of = FL_ARENA_ARRAY(arena, int64_t, n),
               .is_ended = FL_ARENA_ARRAY(arena, bool, n)};
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        t.left_of[i] = room->meaning.lots[i].count_born;
        t.is_ended[i] = room->meaning.lots[i].count_born == 0;
    }
    return t;
}

/* The lot, when it is there at that moment. Births of one second come in any order, so the moment
 * is asked and not the order. */
static const fl_lot *there(const tally *t, fl_id id, int64_t at_s)
{
    const fl_lot *lot = fl_meaning_lot(&t->room->meaning, id);
    bool is_there = lot != NULL && at_s >= lot->born_s && !t->is_ended[index_of(t->room, lot)];
    return is_there ? lot : NULL;
}

/* Up to `count` plants leave the lot; gives how many did. */
static int64_t take(tally *t, const fl_lot *lot, int64_t count)
{
    const size_t k = index_of(t->room, lot);
    int64_t taken = count < t->left_of[k] ? count : t->left_of[k];
    taken = taken > 0 ? taken : 0;
    t->left_of[k] -= taken;
    t->is_ended[k] = t->left_of[k] == 0;
    return taken;
}

/* ---- leaving ---- */

/* The lots that an event puts somewhere, and where; a split stands where its lot stands. */
static fl_id_list taken_by(const fl_event *event, fl_id *to)
{
    if (event->kind == FL_KIND_LOT_MOVED) {
        *to = event->body.lot_moved.to;
        return event->body.lot_moved.lots;
    }
    if (event->kind == FL_KIND_LOT_RELEASED) {
        *to = event->body.lot_released.to;
        return (fl_id_list){&event->body.lot_released.lot, 1};
    }
    if (event->kind == FL_KIND_LOT_ARRIVED) {
        *to = event->body.lot_arrived.place;
        return (fl_id_list){&event->body.lot_arrived.lot, 1};
    }
    if (event->kind == FL_KIND_LOT_ALREADY_HERE) {
        *to = event->body.lot_already_here.place;
        return (fl_id_list){&event->body.lot_already_here.lot, 1};
    }
    if (event->kind == FL_KIND_LOT_CUT) {
        *to = event->body.lot_cut.place;
        return (fl_id_list){&event->body.lot_cut.lot, 1};
    }
    *to = (fl_id){{0}};
    return (fl_id_list){NULL, 0};
}

static bool is_birth_of_another(const fl_event *event, const fl_lot *lot)
{
    bool is_birth = event->kind == FL_KIND_LOT_ARRIVED || event->kind == FL_KIND_LOT_ALREADY_HERE ||
                    event->kind == FL_KIND_LOT_CUT;
    return is_birth && !fl_id_eq(event->id, lot->born_by);
}

size_t fl_batch_leavings(const fl_room *room, fl_arena *arena, const fl_batch_leaving **out)
{
    const size_t n_lots = room->meaning.n_lots;
    fl_batch_leaving *list = FL_ARENA_ARRAY(arena, fl_batch_leaving, n_lots + 1);
    bool *is_told = FL_ARENA_ARRAY(arena, bool, n_lots + 1);
    size_t n = 0;
    for (size_t i = 0; i < n_lots; i++) {
        is_told[i] = false;
    }
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        fl_id to;
        const fl_id_list lots = taken_by(event, &to);
        for (size_t k = 0; k < lots.count && is_outside(room, to); k++) {
            const fl_lot *lot = fl_meaning_lot(&room->meaning, lots.ids[k]);
            /* The first that takes it outside is its end; a lot that ended without plants is not
             * one that left. */
            if (lot == NULL || !lot->is_gone || lot->count == 0 || event->at_s < lot->born_s ||
                is_birth_of_another(event, lot) || is_told[index_of(room, lot)]) {
                continue;
            }
            is_told[index_of(room, lot)] = true;
            list[n++] = (fl_batch_leaving){.lot = lot,
                                           .batch = fl_room_unsplit(room, lot),
                                           .to = to,
                                           .count = lot->count,
                                           .at_s = event->at_s,
                                           .event = event};
        }
    }
    *out = list;
    return n;
}

/* True when the lot is `top` or descends from it, by splits and cuttings. */
static bool descends(const fl_room *room, const fl_lot *lot, const fl_lot *top)
{
    while (lot != NULL && lot != top) {
        lot = fl_id_is_none(lot->mother) ? NULL : fl_meaning_lot(&room->meaning, lot->mother);
    }
    return lot == top;
}

/* Which leavings are wanted of those that descend from a batch. */
typedef enum whose { OF_ALL, OF_BATCH, OF_CUTTINGS } whose;

/* Those of the room that descend from the batch that began as `top`. */
static size_t gather_leavings(const fl_room *room, const fl_lot *top, whose which, fl_arena *arena,
                              const fl_batch_leaving **out)
{
    const fl_batch_leaving *all = NULL;
    const size_t n_all = fl_batch_leavings(room, arena, &all);
    fl_batch_leaving *list = FL_ARENA_ARRAY(arena, fl_batch_leaving, n_all + 1);
    size_t n = 0;
    for (size_t i = 0; i < n_all; i++) {
        const whose is = all[i].batch == top ? OF_BATCH : OF_CUTTINGS;
        if ((which == OF_ALL || which == is) && descends(room, all[i].lot, top)) {
            list[n++] = all[i];
        }
    }
    *out = list;
    return n;
}

size_t fl_batch_who(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                    const fl_batch_leaving **out)
{
    return gather_leavings(room, fl_room_unsplit(room, lot), OF_ALL, arena, out);
}

/* ---- the account ---- */

/* A split: its lot parts with the plants, also when nobody is born of it. */
static void on_split(tally *t, const fl_event *event, fl_batch *b)
{
    const fl_ev_lot_split *split = &event->body.lot_split;
    const fl_lot *from = there(t, split->lot, event->at_s);
    const fl_lot *born = fl_meaning_lot(&t->room->meaning, split->new_lot);
    const bool is_its_birth = born != NULL && fl_id_eq(born->born_by, event->id);
    if (is_its_birth && fl_id_is_none(born->mother) && from != NULL &&
        from->born_s == event->at_s) {
        from = NULL; /* of lots that descend from each other, the ledger bore this one first */
    }
    const bool is_from_batch = from != NULL && fl_room_unsplit(t->room, from) == b->lot;
    const bool is_into_batch =
        is_its_birth && born != b->lot && fl_room_unsplit(t->room, born) == b->lot;
    const int64_t taken = from != NULL ? take(t, from, split->count) : 0;
    if (is_into_batch) {
        b->told_over += born->count_born - (is_from_batch ? taken : 0);
    } else if (is_from_batch) {
        b->told_twice += taken;
    }
}

static void on_lost(tally *t, const fl_event *event, fl_batch *b)
{
    const fl_lot *lot = there(t, event->body.lot_lost.lot, event->at_s);
    const int64_t taken = lot != NULL ? take(t, lot, event->body.lot_lost.count) : 0;
    if (taken > 0 && fl_room_unsplit(t->room, lot) == b->lot) {
        b->died += taken;
        b->losses[b->n_losses++] = (fl_batch_loss){.lot = lot,
                                                   .count = taken,
                                                   .at_s = event->at_s,
                                                   .why = event->body.lot_lost.why,
                                                   .event = event};
    }
}

/* Outside, a lot ends. */
static void on_taken(tally *t, const fl_event *event)
{
    fl_id to;
    const fl_id_list lots = taken_by(event, &to);
    for (size_t k = 0; k < lots.count && is_outside(t->room, to); k++) {
        const fl_lot *lot = there(t, lots.ids[k], event->at_s);
        if (lot != NULL && !is_birth_of_another(event, lot)) {
            t->is_ended[index_of(t->room, lot)] = true;
        }
    }
}

static void count(const fl_room *room, fl_arena *arena, fl_batch *b)
{
    tally t = tally_new(room, arena);
    for (size_t i = 0; i < room->n_events; i++) {
        if (fl_kinds[room->events[i].kind].rank == fl_kinds[FL_KIND_LOT_ARRIVED].rank) {
            on_taken(&t, &room->events[i]); /* what was born outside parts with nothing, ever */
        }
    }
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOT_SPLIT) {
            on_split(&t, event, b);
        } else if (event->kind == FL_KIND_LOT_LOST) {
            on_lost(&t, event, b);
        } else {
            on_taken(&t, event);
        }
    }
}

static int compare_born(const void *a, const void *b)
{
    const fl_lot *x = ((const fl_batch_part *)a)->lot;
    const fl_lot *y = ((const fl_batch_part *)b)->lot;
    if (x->born_s != y->born_s) {
        return x->born_s < y->born_s ? -1 : 1;
    }
    return fl_id_compare(x->id, y->id);
}

static void gather_lots(const fl_room *room, fl_batch *b)
{
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const bool is_own = fl_room_unsplit(room, lot) == b->lot;
        if (is_own && !lot->is_gone) {
            b->here += lot->count;
            b->parts[b->n_parts++] =
                (fl_batch_part){.lot = lot, .container = fl_steps_container(room, lot)};
        }
        const fl_lot *mother =
            lot->origin == FL_KIND_LOT_CUT ? fl_meaning_lot(&room->meaning, lot->mother) : NULL;
        if (mother != NULL && fl_room_unsplit(room, mother) == b->lot) {
            b->cuttings[b->n_cuttings++] = lot;
        }
    }
    if (b->n_parts > 1) {
        qsort(b->parts, b->n_parts, sizeof b->parts[0], compare_born);
    }
}

static size_t count_losses(const fl_room *room)
{
    size_t n = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        n += room->events[i].kind == FL_KIND_LOT_LOST ? 1U : 0U;
    }
    return n;
}

void fl_batch_of(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_batch *out)
{
    const size_t n_lots = room->meaning.n_lots + 1;
    fl_batch b = {.lot = fl_room_unsplit(room, lot),
                  .parts = FL_ARENA_ARRAY(arena, fl_batch_part, n_lots),
                  .cuttings = FL_ARENA_ARRAY(arena, const fl_lot *, n_lots),
                  .losses = FL_ARENA_ARRAY(arena, fl_batch_loss, count_losses(room) + 1)};
    b.came = b.lot->count_born;
    b.n_leavings = gather_leavings(room, b.lot, OF_BATCH, arena, &b.leavings);
    b.n_cutting_leavings = gather_leavings(room, b.lot, OF_CUTTINGS, arena, &b.cutting_leavings);
    for (size_t i = 0; i < b.n_leavings; i++) {
        b.left += b.leavings[i].count;
    }
    gather_lots(room, &b);
    count(room, arena, &b);
    *out = b;
}

/* ---- the list ---- */

static int compare_last(const void *a, const void *b)
{
    const fl_lot *x = *(const fl_lot *const *)a;
    const fl_lot *y = *(const fl_lot *const *)b;
    if (x->born_s != y->born_s) {
        return x->born_s > y->born_s ? -1 : 1;
    }
    return fl_id_compare(x->id, y->id);
}

size_t fl_batch_list(const fl_room *room, fl_arena *arena, const fl_lot ***out)
{
    const fl_lot **list = FL_ARENA_ARRAY(arena, const fl_lot *, room->meaning.n_lots + 1);
    size_t n = 0;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const bool is_top = fl_room_unsplit(room, lot) == lot;
        if (is_top && !fl_form_is_material(lot->form) && (lot->count_born > 1 || lot->is_gone)) {
            list[n++] = lot;
        }
    }
    if (n > 1) {
        qsort((void *)list, n, sizeof list[0], compare_last);
    }
    *out = list;
    return n;
}
