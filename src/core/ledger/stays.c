/* The run through the events: where each lot stands, how many plants it has, when it is gone, and
 * what does not fit. */
#include <assert.h>

#include "core/ledger/work.h"

#define NONE FL_LEDGER_NONE

static const fl_id no_id = {{0}};

/* ---- stays ---- */

static void write_stay(fl_ledger_work *work, size_t k, size_t to_event)
{
    const fl_lot *row = &work->out->lots[k];
    size_t from_event = work->lots[k].stay_event;
    const fl_event *from = &work->events[from_event];
    fl_stay stay = {
        .lot = row->id,
        .place = row->place,
        .from_s = from->at_s,
        .to_s = FL_TIME_OPEN,
        .from_event = from->id,
    };
    if (to_event != NONE) {
        stay.to_s = work->events[to_event].at_s;
        stay.to_event = work->events[to_event].id;
    }
    if (stay.from_s < stay.to_s) {
        fl_ledger_refs_add(&work->stays, row->place, from_event, work->out->n_stays);
        work->out->stays[work->out->n_stays++] = stay;
    }
}

static void end_stay(fl_ledger_work *work, size_t k, size_t i)
{
    if (!fl_id_is_none(work->out->lots[k].place)) {
        write_stay(work, k, i);
        work->out->lots[k].place = no_id;
    }
}

static void end_lot(fl_ledger_work *work, size_t k, size_t i)
{
    end_stay(work, k, i);
    work->lots[k].gone_event = i;
    work->out->lots[k].is_gone = true;
}

/* The lot stands in another place from event i on; or, outside, is gone. */
static void enter(fl_ledger_work *work, size_t k, fl_id place, size_t i)
{
    end_stay(work, k, i);
    if (fl_ledger_is_outside(work, place)) {
        end_lot(work, k, i);
        return;
    }
    work->out->lots[k].place = place;
    work->lots[k].stay_event = i;
}

/* ---- what may happen to a lot ---- */

/* The row of a lot that is there when event i happens; else NONE, and a conflict says why. */
static size_t find_alive(fl_ledger_work *work, fl_id lot, size_t i)
{
    size_t k = fl_ledger_lot_find(work, lot);
    if (k == NONE) {
        fl_ledger_conflict(work, FL_CONFLICT_BEFORE_BORN, i, NONE, lot, no_id);
        return NONE;
    }
    const fl_ledger_lot *state = &work->lots[k];
    if (!state->is_born) {
        fl_ledger_conflict(work, FL_CONFLICT_BEFORE_BORN, i, state->birth, lot, no_id);
        return NONE;
    }
    if (state->gone_event == NONE) {
        return k;
    }
    bool is_again = work->events[i].kind == FL_KIND_LOT_RELEASED &&
                    work->events[state->gone_event].kind == FL_KIND_LOT_RELEASED;
    fl_ledger_conflict(work, is_again ? FL_CONFLICT_RELEASED_TWICE : FL_CONFLICT_AFTER_GONE, i,
                       state->gone_event, lot, no_id);
    return NONE;
}

/* Up to `count` plants leave the lot. */
static void take_plants(fl_ledger_work *work, size_t k, int64_t count, size_t i)
{
    fl_lot *row = &work->out->lots[k];
    if (count > row->count) {
        fl_ledger_conflict(work, FL_CONFLICT_TOO_MANY, i, work->lots[k].count_event, row->id,
                           no_id);
        count = row->count;
    }
    if (count <= 0) {
        return;
    }
    row->count -= count;
    work->lots[k].count_event = i;
    if (row->count == 0) {
        end_lot(work, k, i);
    }
}

/* Plants of `lot` leave the place `from` for `to`. */
static void check_hold(fl_ledger_work *work, fl_id lot, fl_id from, fl_id to, size_t i)
{
    if (fl_id_is_none(from) || fl_id_eq(from, to)) {
        return;
    }
    size_t hold = fl_ledger_held_by(work, from, i);
    if (hold != NONE) {
        fl_ledger_conflict(work, FL_CONFLICT_LEFT_HELD, i, hold, lot, from);
    }
}

/* ---- births ---- */

static bool is_birth(const fl_event *event)
{
    return event->kind == FL_KIND_LOT_ARRIVED || event->kind == FL_KIND_LOT_ALREADY_HERE ||
           event->kind == FL_KIND_LOT_CUT || event->kind == FL_KIND_LOT_SPLIT;
}

static fl_id newborn_of(const fl_event *event)
{
    if (event->kind == FL_KIND_LOT_ARRIVED) {
        return event->body.lot_arrived.lot;
    }
    if (event->kind == FL_KIND_LOT_ALREADY_HERE) {
        return event->body.lot_already_here.lot;
    }
    return event->kind == FL_KIND_LOT_CUT ? event->body.lot_cut.lot : event->body.lot_split.new_lot;
}

static fl_id mother_of(const fl_event *event)
{
    if (event->kind == FL_KIND_LOT_CUT) {
        return event->body.lot_cut.mother;
    }
    return event->kind == FL_KIND_LOT_SPLIT ? event->body.lot_split.lot : no_id;
}

/* What a cut or split does to its mother, whether or not the new lot is new; gives the mother's row
 * when she is there, and in *place where she stands before it. */
static size_t part_from_mother(fl_ledger_work *work, size_t i, fl_id *place)
{
    const fl_event *event = &work->events[i];
    *place = no_id;
    if (event->kind != FL_KIND_LOT_CUT && event->kind != FL_KIND_LOT_SPLIT) {
        return NONE;
    }
    size_t mother = find_alive(work, mother_of(event), i);
    if (mother == NONE) {
        return NONE;
    }
    *place = work->out->lots[mother].place;
    if (event->kind == FL_KIND_LOT_SPLIT) {
        take_plants(work, mother, event->body.lot_split.count, i);
    }
    return mother;
}

/* Lot k comes into being. A split is as released as its lot was. */
static void bear(fl_ledger_work *work, size_t k)
{
    fl_lot *row = &work->out->lots[k];
    size_t i = work->lots[k].birth;
    const fl_event *event = &work->events[i];
    fl_id place;
    size_t mother = part_from_mother(work, i, &place);
    if (event->kind == FL_KIND_LOT_ARRIVED) {
        place = event->body.lot_arrived.place;
    } else if (event->kind == FL_KIND_LOT_ALREADY_HERE) {
        place = event->body.lot_already_here.place;
    } else if (event->kind == FL_KIND_LOT_CUT) {
        check_hold(work, row->id, place, event->body.lot_cut.place, i);
        place = event->body.lot_cut.place;
    } else if (mother != NONE) {
        work->lots[k].release_event = work->lots[mother].release_event;
    }
    row->count = row->count_born;
    work->lots[k].is_born = true;
    work->lots[k].count_event = i;
    enter(work, k, place, i);
    if (row->count == 0 && !row->is_gone) {
        end_lot(work, k, i);
    }
}

/* A second birth of a lot bears nobody, but its mother parted with the plants all the same: so her
 * rows do not depend on whose child the lot is. */
static void on_birth(fl_ledger_work *work, size_t i)
{
    fl_id lot = newborn_of(&work->events[i]);
    size_t k = fl_ledger_lot_find(work, lot);
    assert(k != NONE); /* every birth has a row */
    if (work->lots[k].birth == i) {
        bear(work, k);
        return;
    }
    fl_id place;
    fl_ledger_conflict(work, FL_CONFLICT_BORN_TWICE, i, work->lots[k].birth, lot, no_id);
    (void)part_from_mother(work, i, &place);
}

/* How many mothers before this birth are born in the same second. All children of one mother have
 * the same number, so that their order does not depend on theirs. */
static size_t generation_of(const fl_ledger_work *work, size_t i)
{
    size_t k = fl_ledger_lot_find(work, newborn_of(&work->events[i]));
    if (work->lots[k].birth == i) {
        return work->lots[k].generation;
    }
    size_t mother = fl_ledger_lot_find(work, mother_of(&work->events[i]));
    bool is_now =
        mother != NONE && work->events[work->lots[mother].birth].at_s == work->events[i].at_s;
    return is_now ? work->lots[mother].generation + 1 : 0;
}

/* Births of one second come in the order of ids, which says nothing: mothers are born first. Gives
 * the index after the last of the births that begin at i. */
static size_t on_births(fl_ledger_work *work, size_t i)
{
    fl_ledger_refs *order = &work->newborn;
    int64_t at_s = work->events[i].at_s;
    for (order->count = 0;
         i < work->n_events && is_birth(&work->events[i]) && work->events[i].at_s == at_s; i++) {
        fl_ledger_refs_add(order, no_id, generation_of(work, i), i);
    }
    fl_ledger_refs_sort(order);
    for (size_t n = 0; n < order->count; n++) {
        on_birth(work, order->items[n].part);
    }
    return i;
}

/* ---- the other kinds ---- */

static void on_moved(fl_ledger_work *work, size_t i)
{
    const fl_ev_lot_moved *body = &work->events[i].body.lot_moved;
    for (size_t n = 0; n < body->lots.count; n++) {
        size_t k = find_alive(work, body->lots.ids[n], i);
        if (k == NONE) {
            continue;
        }
        fl_lot *row = &work->out->lots[k];
        size_t before = work->lots[k].move_event;
        if (before != NONE && work->events[before].at_s == work->events[i].at_s &&
            !fl_id_eq(work->events[before].body.lot_moved.to, body->to)) {
            fl_ledger_conflict(work, FL_CONFLICT_TWO_PLACES, i, before, row->id, body->to);
        }
        work->lots[k].move_event = i;
        if (!fl_id_eq(row->place, body->to)) {
            check_hold(work, row->id, row->place, body->to, i);
            enter(work, k, body->to, i);
        }
    }
}

/* True when the release repeats or contradicts the one before: to another place in the same
 * second, or to where the lot stands by that one already. */
static bool is_released_twice(const fl_ledger_work *work, size_t k, size_t i)
{
    const fl_ledger_lot *state = &work->lots[k];
    if (state->release_event == NONE) {
        return false;
    }
    fl_id to = work->events[i].body.lot_released.to;
    const fl_event *before = &work->events[state->release_event];
    bool is_same_place = fl_id_eq(before->body.lot_released.to, to);
    if (!is_same_place) {
        return before->at_s == work->events[i].at_s;
    }
    return fl_id_eq(work->out->lots[k].place, to) && state->stay_event <= state->release_event;
}

static void on_released(fl_ledger_work *work, size_t i)
{
    const fl_ev_lot_released *body = &work->events[i].body.lot_released;
    size_t k = find_alive(work, body->lot, i);
    if (k == NONE) {
        return;
    }
    fl_lot *row = &work->out->lots[k];
    if (is_released_twice(work, k, i)) {
        fl_ledger_conflict(work, FL_CONFLICT_RELEASED_TWICE, i, work->lots[k].release_event,
                           row->id, body->to);
    }
    work->lots[k].release_event = i;
    if (!fl_id_eq(row->place, body->to)) {
        check_hold(work, row->id, row->place, body->to, i);
        enter(work, k, body->to, i);
    }
}

static void on_lost(fl_ledger_work *work, size_t i)
{
    const fl_ev_lot_lost *body = &work->events[i].body.lot_lost;
    size_t k = find_alive(work, body->lot, i);
    if (k != NONE) {
        take_plants(work, k, body->count, i);
    }
}

static void check_there(fl_ledger_work *work, fl_id lot, size_t i)
{
    fl_id place = work->events[i].body.look_done.place;
    size_t k = find_alive(work, lot, i);
    if (k == NONE || fl_id_is_none(work->out->lots[k].place)) {
        return;
    }
    if (!fl_id_eq(work->out->lots[k].place, place)) {
        fl_ledger_conflict(work, FL_CONFLICT_NOT_THERE, i, work->lots[k].stay_event, lot, place);
    }
}

static void on_look(fl_ledger_work *work, size_t i)
{
    const fl_ev_look_done *body = &work->events[i].body.look_done;
    for (size_t n = 0; n < body->lots.count; n++) {
        check_there(work, body->lots.ids[n], i);
    }
    for (size_t n = 0; n < body->n_findings; n++) {
        if (!fl_id_is_none(body->findings[n].lot)) {
            check_there(work, body->findings[n].lot, i);
        }
    }
}

static void check_step(fl_ledger_work *work, const fl_ev_step *step, size_t i)
{
    for (size_t n = 0; n < step->lots.count; n++) {
        (void)find_alive(work, step->lots.ids[n], i);
    }
}

static void on_step_started(fl_ledger_work *work, size_t i)
{
    check_step(work, &work->events[i].body.step_started.step, i);
}

static void on_step_done(fl_ledger_work *work, size_t i)
{
    const fl_ev_step_done *body = &work->events[i].body.step_done;
    for (size_t n = 0; n < body->n_steps; n++) {
        check_step(work, &body->steps[n], i);
    }
}

/* ---- the run ---- */

/* All is told: what lasts, lasts on. */
static void close_row(fl_ledger_work *work, size_t k)
{
    fl_lot *row = &work->out->lots[k];
    if (!fl_id_is_none(row->place)) {
        write_stay(work, k, NONE);
    }
    if (work->lots[k].release_event != NONE) {
        row->released_by = work->events[work->lots[k].release_event].id;
    }
}

typedef void (*event_fn)(fl_ledger_work *work, size_t i);

static const event_fn on_event[FL_KIND_COUNT] = {
    [FL_KIND_STEP_STARTED] = on_step_started, [FL_KIND_STEP_DONE] = on_step_done,
    [FL_KIND_LOT_MOVED] = on_moved,           [FL_KIND_LOOK_DONE] = on_look,
    [FL_KIND_LOT_RELEASED] = on_released,     [FL_KIND_LOT_LOST] = on_lost,
};

void fl_ledger_fold_stays(fl_ledger_work *work)
{
    for (size_t i = 0; i < work->n_events;) {
        if (is_birth(&work->events[i])) {
            i = on_births(work, i);
            continue;
        }
        event_fn act = on_event[work->events[i].kind];
        if (act != NULL) {
            act(work, i);
        }
        i++;
    }
    for (size_t k = 0; k < work->out->n_lots; k++) {
        close_row(work, k);
    }
}
