/* Who is to be trimmed when. */
#include "app/trims.h"

#include <stdlib.h>

#include "app/giving.h"
#include "app/routine.h"
#include "core/know/growth.h"

#define WEEK_D 7

/* ---- what was trimmed when ---- */

/* A trim of one lot, or a cutting taken from it. */
typedef struct turn {
    size_t lot; /* an index */
    int64_t at_s;
} turn;

typedef struct turns {
    turn *list; /* by lot, then time */
    size_t n;
} turns;

static void add(const fl_room *room, fl_id id, int64_t at_s, turns *out)
{
    const fl_lot *lot = fl_meaning_lot(&room->meaning, id);
    if (lot != NULL) {
        out->list[out->n++] = (turn){.lot = (size_t)(lot - room->meaning.lots), .at_s = at_s};
    }
}

/* How many lots an event trims at most. */
static size_t count_in(const fl_event *event)
{
    size_t n = event->kind == FL_KIND_LOT_CUT ? 1 : 0;
    const size_t n_steps = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
    for (size_t k = 0; k < n_steps; k++) {
        const fl_ev_step *step = &event->body.step_done.steps[k];
        n += step->step == FL_STEP_TRIM ? step->lots.count : 0;
    }
    return n;
}

static void add_event(const fl_room *room, const fl_event *event, turns *out)
{
    const size_t n_steps = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
    for (size_t k = 0; k < n_steps; k++) {
        const fl_ev_step *step = &event->body.step_done.steps[k];
        for (size_t i = 0; step->step == FL_STEP_TRIM && i < step->lots.count; i++) {
            add(room, step->lots.ids[i], event->at_s, out);
        }
    }
    if (event->kind == FL_KIND_LOT_CUT) {
        add(room, event->body.lot_cut.mother, event->at_s, out);
    }
}

static int compare_turns(const void *a, const void *b)
{
    const turn *x = a;
    const turn *y = b;
    if (x->lot != y->lot) {
        return x->lot < y->lot ? -1 : 1;
    }
    return (x->at_s > y->at_s) - (x->at_s < y->at_s);
}

/* All turns up to now, in one pass of the record. */
static turns gather(const fl_room *room, fl_arena *arena)
{
    size_t most = 1;
    for (size_t i = 0; i < room->n_events; i++) {
        most += count_in(&room->events[i]);
    }
    turns out = {.list = FL_ARENA_ARRAY(arena, turn, most)};
    for (size_t i = 0; i < room->n_events; i++) {
        if (room->events[i].at_s <= room->now_s) {
            add_event(room, &room->events[i], &out);
        }
    }
    if (out.n > 1) {
        qsort(out.list, out.n, sizeof out.list[0], compare_turns);
    }
    return out;
}

/* The turns of one lot: *from on while they are of it. The days between those a week or more apart
 * to days; how many these are. *last_s of the last turn; INT64_MIN. */
static size_t days_between(const turns *all, size_t lot, size_t *from, int *days, int64_t *last_s)
{
    size_t n = 0;
    *last_s = INT64_MIN;
    while (*from < all->n && all->list[*from].lot < lot) {
        (*from)++;
    }
    for (; *from < all->n && all->list[*from].lot == lot; (*from)++) {
        const int64_t at_s = all->list[*from].at_s;
        if (*last_s != INT64_MIN && at_s - *last_s >= WEEK_D * (int64_t)FL_DAY_S) {
            days[n++] = (int)((at_s - *last_s) / FL_DAY_S);
        }
        *last_s = at_s;
    }
    return n;
}

/* ---- when next ---- */

/* Local noon of the first round day at or after the local day of at_s. */
static int64_t round_at(const fl_room *room, int64_t at_s)
{
    const int64_t noon = fl_civil_noon(at_s, room->tz_offset_min);
    const int weekday = fl_civil_weekday(noon, room->tz_offset_min);
    return noon + (int64_t)((room->round_weekday - weekday + WEEK_D) % WEEK_D) * FL_DAY_S;
}

/* Never trimmed here: from when it stands there, and by its id some weeks on. */
static int64_t first_base(const fl_room *room, const fl_lot *lot, int every_days)
{
    const int weeks = every_days / WEEK_D;
    const fl_stay *stay = fl_meaning_stay_at(&room->meaning, lot->id, room->now_s);
    const int64_t told_s = fl_routine_stands_since(room, lot->place);
    int64_t from_s = stay != NULL ? stay->from_s : lot->born_s;
    if (told_s != FL_TIME_OPEN && told_s > from_s) {
        from_s = told_s; /* nothing is due from before the place was told of */
    }
    return from_s + (int64_t)(lot->id.b[15] % (weeks > 0 ? weeks : 1)) * WEEK_D * FL_DAY_S;
}

/* The turn that is asked for now, or the next to come. */
static int64_t next_turn(const fl_room *room, int64_t base_s, int every_days)
{
    const int64_t every_s = (int64_t)every_days * FL_DAY_S;
    const int64_t oldest_s = room->now_s - FL_TRIMS_ASK_DAYS * (int64_t)FL_DAY_S;
    int64_t at_s = base_s + every_s;
    if (at_s < oldest_s) {
        at_s += (oldest_s - at_s + every_s - 1) / every_s * every_s;
    }
    return round_at(room, at_s);
}

static int compare_trims(const void *a, const void *b)
{
    const fl_trim *x = a;
    const fl_trim *y = b;
    if (x->due_s != y->due_s) {
        return x->due_s < y->due_s ? -1 : 1;
    }
    const int by_place = fl_id_compare(x->place, y->place);
    return by_place != 0 ? by_place : fl_id_compare(x->lot->id, y->lot->id);
}

size_t fl_trims_list(const fl_room *room, fl_arena *arena, const fl_trim **out)
{
    fl_trim *list = FL_ARENA_ARRAY(arena, fl_trim, room->meaning.n_lots + 1);
    const turns all = gather(room, arena);
    int *days = FL_ARENA_ARRAY(arena, int, all.n + 1);
    size_t from = 0;
    size_t n = 0;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const int every = fl_know_trim_days(fl_room_plant_row(room, lot));
        if (lot->is_gone || every == 0 || fl_id_is_none(lot->place) ||
            !fl_routine_is_established(room, lot)) {
            continue;
        }
        fl_trim trim = {.lot = lot, .place = lot->place, .every_days = every};
        const size_t n_days = days_between(&all, i, &from, days, &trim.last_s);
        if (n_days + 1 >= FL_TRIMS_OWN_LEAST) {
            trim.is_own = true;
            trim.every_days = fl_giving_median(days, n_days);
        }
        const int64_t base_s =
            trim.last_s != INT64_MIN ? trim.last_s : first_base(room, lot, trim.every_days);
        trim.due_s = next_turn(room, base_s, trim.every_days);
        list[n++] = trim;
    }
    if (n > 1) {
        qsort(list, n, sizeof list[0], compare_trims);
    }
    *out = list;
    return n;
}

size_t fl_trims_due_in(const fl_room *room, fl_id place, fl_arena *arena, fl_id **out)
{
    const fl_trim *all = NULL;
    const size_t n_all = fl_trims_list(room, arena, &all);
    const int64_t end_s = fl_civil_day_end(room->now_s, room->tz_offset_min);
    fl_id *ids = FL_ARENA_ARRAY(arena, fl_id, n_all + 1);
    size_t n = 0;
    for (size_t i = 0; i < n_all; i++) {
        if (fl_id_eq(all[i].place, place) && all[i].due_s <= end_s) {
            ids[n++] = all[i].lot->id;
        }
    }
    *out = ids;
    return n;
}
