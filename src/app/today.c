/* The list of what is due. Each kind is gathered into one line (or one line a place or arrival), in
 * the order of the list of kinds; the first FL_TODAY_LINES are shown. */
#include "app/today.h"

#include <stdlib.h>

#include "app/mothers.h"
#include "app/outbreak.h"
#include "app/plans.h"
#include "app/routine.h"
#include "app/triage.h"
#include "app/trims.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_due[FL_DUE_COUNT] = {FL_DUE_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_phase[FL_PHASE_COUNT] = {FL_PHASE_LIST(FL_WORD_ENTRY)};

/* ---- phases ---- */

fl_phase fl_phase_of(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    if (lot->is_gone) {
        return FL_PHASE_GONE;
    }
    if (fl_meaning_is_held(&room->meaning, lot->place, room->now_s)) {
        return FL_PHASE_HELD;
    }
    if (fl_routine_is_established(room, lot)) {
        return FL_PHASE_ESTABLISHED;
    }
    if (place == NULL || place->kind != FL_PLACE_BENCH) {
        return FL_PHASE_QUARANTINE;
    }
    fl_prep_plan plan;
    fl_plan_for_lot(room, lot, &plan);
    bool is_own = fl_room_unsplit(room, lot)->origin == FL_KIND_LOT_CUT;
    unsigned missing = fl_prep_called_for(&plan) & ~fl_steps_done(room, lot);
    return missing != 0 && !is_own ? FL_PHASE_ARRIVED : FL_PHASE_CLEANED;
}

/* ---- gathering ---- */

typedef struct list {
    fl_due *lines;
    size_t n;
    size_t cap;
    const fl_room *room;
    fl_chances *chances;
    fl_arena *arena;
    int64_t next_s;
    int64_t day_end_s;
} list;

static void push(list *l, const fl_due *due)
{
    if (l->n < l->cap) {
        l->lines[l->n++] = *due;
    }
}

static void note_next(list *l, int64_t at_s)
{
    if (at_s > l->day_end_s && at_s < l->next_s) {
        l->next_s = at_s;
    }
}

static void gather_holds(list *l)
{
    const fl_room *room = l->room;
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        const fl_hold *hold = &room->meaning.holds[i];
        bool is_first = true;
        if (hold->from_s > room->now_s || hold->to_s <= room->now_s) {
            continue;
        }
        for (size_t k = 0; k < l->n; k++) {
            is_first = is_first && !(l->lines[k].kind == FL_DUE_HOLD &&
                                     fl_id_eq(l->lines[k].place, hold->place));
        }
        if (!is_first) {
            continue;
        }
        fl_sv name = fl_room_place_name(room, hold->place);
        fl_due due = {
            .kind = FL_DUE_HOLD, .at_s = hold->from_s, .place = hold->place, .n_places = 1};
        due.text =
            fl_arena_printf(l->arena, "%.*s is on hold: nothing should leave it", FL_SV_ARG(name));
        push(l, &due);
    }
}

static void gather_steps(list *l)
{
    for (size_t i = 0; i < l->room->n_events; i++) {
        const fl_event *event = &l->room->events[i];
        const fl_ev_step_started *started = &event->body.step_started;
        if (event->kind != FL_KIND_STEP_STARTED ||
            fl_room_end_of_run(l->room, started->run) != NULL) {
            continue;
        }
        fl_due due = {.kind = FL_DUE_STEP,
                      .at_s = event->at_s + started->planned_s,
                      .n_lots = started->step.lots.count};
        due.text =
            fl_arena_printf(l->arena, "%s: take it out", fl_words_step[started->step.step].text);
        push(l, &due);
    }
}

/* One line an arrival for what is to be cleaned, one for all that waits for a bin. */
static void gather_bench(list *l)
{
    fl_due place = {.kind = FL_DUE_PLACE, .at_s = FL_TIME_OPEN};
    const fl_room *room = l->room;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_phase phase = fl_phase_of(room, lot);
        if (phase == FL_PHASE_CLEANED) {
            place.lot = place.n_lots == 0 ? lot->id : place.lot;
            place.n_lots++;
            place.at_s = lot->born_s < place.at_s ? lot->born_s : place.at_s;
        }
        if (phase != FL_PHASE_ARRIVED) {
            continue;
        }
        fl_due *own = NULL;
        for (size_t k = 0; k < l->n; k++) {
            bool fits =
                l->lines[k].kind == FL_DUE_PREP && fl_id_eq(l->lines[k].arrival, lot->arrival);
            own = fits ? &l->lines[k] : own;
        }
        if (own != NULL) {
            own->n_lots++;
        } else {
            fl_due due = {.kind = FL_DUE_PREP,
                          .at_s = lot->born_s,
                          .lot = lot->id,
                          .arrival = lot->arrival,
                          .n_lots = 1};
            push(l, &due);
        }
    }
    for (size_t k = 0; k < l->n; k++) {
        if (l->lines[k].kind == FL_DUE_PREP) {
            size_t n = l->lines[k].n_lots;
            l->lines[k].text = fl_arena_printf(l->arena, "%zu lot%s came home: clean %s", n,
                                               n == 1 ? "" : "s", n == 1 ? "it" : "them");
        }
    }
    if (place.n_lots > 0) {
        place.text = fl_arena_printf(l->arena, "%zu cleaned lot%s on the bench: choose a place",
                                     place.n_lots, place.n_lots == 1 ? "" : "s");
        push(l, &place);
    }
}

/* ---- looks ---- */

static int64_t last_look_at(const fl_room *room, fl_id place)
{
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *event = &room->events[i - 1];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place) &&
            event->at_s <= room->now_s) {
            return event->at_s;
        }
    }
    return INT64_MIN;
}

/* Local noon of the first round day after the local day of at_s. */
static int64_t round_after(const fl_room *room, int64_t at_s)
{
    int64_t noon = fl_civil_noon(at_s, room->tz_offset_min);
    int wait = (room->round_weekday - fl_civil_weekday(noon, room->tz_offset_min) + 7) % 7;
    return noon + (int64_t)(wait == 0 ? 7 : wait) * FL_DAY_S;
}

/* Adds a place to a line that names up to three of them. */
static void add_place(list *l, fl_due *due, fl_id place, int64_t at_s)
{
    fl_sv name = fl_room_place_name(l->room, place);
    if (due->n_places == 0) {
        due->place = place;
        due->text = name;
    } else if (due->n_places < 3) {
        due->text = fl_arena_printf(l->arena, "%.*s, %.*s", FL_SV_ARG(due->text), FL_SV_ARG(name));
    }
    due->n_places++;
    due->at_s = at_s < due->at_s ? at_s : due->at_s;
}

static void finish_places(list *l, fl_due *due, const char *what)
{
    if (due->n_places == 0) {
        return;
    }
    size_t more = due->n_places > 3 ? due->n_places - 3 : 0;
    due->text = more > 0 ? fl_arena_printf(l->arena, "%s %.*s and %zu more", what,
                                           FL_SV_ARG(due->text), more)
                         : fl_arena_printf(l->arena, "%s %.*s", what, FL_SV_ARG(due->text));
    push(l, due);
}

/* The first moment of the holds that last in a place; INT64_MIN: none does. */
static int64_t held_since(const fl_room *room, fl_id place)
{
    int64_t since = INT64_MIN;
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        const fl_hold *hold = &room->meaning.holds[i];
        bool lasts = hold->from_s <= room->now_s && hold->to_s > room->now_s;
        if (lasts && fl_id_eq(hold->place, place) && (since == INT64_MIN || hold->from_s < since)) {
            since = hold->from_s;
        }
    }
    return since;
}

/* After a find the next look does not wait for the round: a place on hold is due five days after
 * its last look, and at once when that look was longer ago as it came on hold. */
static int64_t sooner_if_held(const fl_room *room, fl_id place, int64_t last, int64_t due_s)
{
    int64_t held_s = held_since(room, place);
    int64_t soon_s = held_s;
    if (held_s == INT64_MIN) {
        return due_s;
    }
    if (last != INT64_MIN && last + FL_OUTBREAK_LOOK_DAYS * (int64_t)FL_DAY_S > soon_s) {
        soon_s = last + FL_OUTBREAK_LOOK_DAYS * (int64_t)FL_DAY_S;
    }
    return soon_s < due_s ? soon_s : due_s;
}

static void gather_looks(list *l)
{
    fl_due look = {.kind = FL_DUE_LOOK, .at_s = FL_TIME_OPEN};
    const fl_room *room = l->room;
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        fl_routine_count count = fl_routine_count_in(room, place->place);
        bool is_held = fl_meaning_is_held(&room->meaning, place->place, room->now_s);
        bool counts = count.quarantine > 0 || (is_held && count.established > 0);
        if (place->kind == FL_PLACE_BENCH || place->kind == FL_PLACE_OUTSIDE || !counts) {
            continue;
        }
        int64_t last = last_look_at(room, place->place);
        int64_t since = fl_routine_stands_since(room, place->place);
        int64_t from = last > since || since == FL_TIME_OPEN ? last : since;
        int64_t due_s = sooner_if_held(room, place->place, last, round_after(room, from));
        note_next(l, due_s);
        if (due_s <= l->day_end_s) {
            add_place(l, &look, place->place, due_s);
        }
    }
    finish_places(l, &look, "Look at");
}

/* True when the place's mothers are due to be looked at again. */
static bool is_asked_for(const list *l, const fl_mothers_look *mothers, size_t n, fl_id place)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(mothers[i].place, place) && mothers[i].due_s <= l->day_end_s) {
            return true;
        }
    }
    return false;
}

/* Mothers whose chance has crept up (app/mothers.h): one line, with the reason of the worst. */
static void gather_mothers(list *l, const fl_mothers_look *mothers, size_t n)
{
    fl_due due = {.kind = FL_DUE_UPKEEP, .at_s = FL_TIME_OPEN};
    const fl_mothers_look *worst = NULL;
    for (size_t i = 0; i < n; i++) {
        note_next(l, mothers[i].due_s);
        if (mothers[i].due_s <= l->day_end_s) {
            add_place(l, &due, mothers[i].place, mothers[i].due_s);
            worst = worst == NULL || mothers[i].sum > worst->sum ? &mothers[i] : worst;
        }
    }
    if (worst != NULL) {
        fl_sv why = fl_mothers_why(worst, l->arena);
        due.lot = worst->lot->id;
        finish_places(l, &due, "Look again at the mothers in");
        fl_due *line = &l->lines[l->n - 1];
        line->text = fl_arena_printf(l->arena, "%.*s: %.*s", FL_SV_ARG(line->text), FL_SV_ARG(why));
    }
}

/* Mothers first; then established places, each on a round day of its own (app/routine.h). */
static fl_status gather_upkeep(list *l, fl_err *err)
{
    fl_due upkeep = {.kind = FL_DUE_UPKEEP, .at_s = FL_TIME_OPEN};
    const fl_routine_look *looks = NULL;
    fl_mothers_look *mothers = NULL;
    size_t n_mothers = 0;
    /* Without chances nobody can say which mothers have crept up: that line comes later. */
    fl_status status = FL_OK;
    if (l->chances != NULL) {
        status = fl_mothers_due(l->chances, l->room, l->arena, &mothers, &n_mothers, err);
    }
    if (status != FL_OK) {
        return status;
    }
    gather_mothers(l, mothers, n_mothers);
    size_t n = fl_routine_looks(l->room, l->arena, &looks);
    for (size_t i = 0; i < n; i++) {
        if (fl_meaning_is_held(&l->room->meaning, looks[i].place, l->room->now_s) ||
            is_asked_for(l, mothers, n_mothers, looks[i].place)) {
            continue; /* it has a sooner one */
        }
        note_next(l, looks[i].due_s);
        if (looks[i].due_s <= l->day_end_s) {
            add_place(l, &upkeep, looks[i].place, looks[i].due_s);
        }
    }
    finish_places(l, &upkeep, "Look over");
    return FL_OK;
}

/* ---- trims ---- */

/* One line for all that is to be cut back; a place on hold is not touched. A trim can wait: on a
 * day that is full without it, it is not asked for. */
static void gather_trims(list *l)
{
    fl_due due = {.kind = FL_DUE_TRIM, .at_s = FL_TIME_OPEN};
    const fl_trim *trims = NULL;
    const size_t n = fl_trims_list(l->room, l->arena, &trims);
    for (size_t i = 0; i < n; i++) {
        if (fl_meaning_is_held(&l->room->meaning, trims[i].place, l->room->now_s)) {
            continue;
        }
        note_next(l, trims[i].due_s);
        if (trims[i].due_s > l->day_end_s) {
            continue;
        }
        due.n_lots++;
        due.lot = due.n_lots == 1 ? trims[i].lot->id : due.lot;
        bool is_named = false;
        for (size_t k = 0; k < i; k++) {
            is_named = is_named || fl_id_eq(trims[k].place, trims[i].place);
        }
        if (!is_named) {
            add_place(l, &due, trims[i].place, trims[i].due_s);
        }
    }
    if (l->n < FL_TODAY_LINES) {
        finish_places(l, &due, "Trim what has grown in");
    }
}

/* ---- claims ---- */

/* One line for all that is on trial while its seller still takes it back: the first to run out. */
static void gather_claims(list *l)
{
    fl_due due = {.kind = FL_DUE_CLAIM, .at_s = FL_TIME_OPEN};
    const fl_room *room = l->room;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const fl_claim claim = fl_triage_claim(room, lot);
        if (!claim.is_open || !fl_triage_is_on_trial(room, lot)) {
            continue;
        }
        due.n_lots++;
        if (claim.until_s < due.at_s) {
            due.at_s = claim.until_s;
            due.lot = lot->id;
            due.arrival = lot->arrival;
        }
    }
    if (due.n_lots == 0) {
        return;
    }
    fl_sv name = fl_room_lot_name(room, fl_meaning_lot(&room->meaning, due.lot));
    due.text = due.n_lots == 1
                   ? fl_arena_printf(l->arena, "%.*s could still go back", FL_SV_ARG(name))
                   : fl_arena_printf(l->arena, "%zu lots could still go back, the first (%.*s)",
                                     due.n_lots, FL_SV_ARG(name));
    due.at_s -= 1; /* still on its last day */
    push(l, &due);
}

/* ---- away ---- */

/* While the keeper is away nothing is asked: one line, and one round on the day of return. */
static void gather_away(list *l)
{
    const fl_room *room = l->room;
    const fl_due due = {
        .kind = FL_DUE_AWAY,
        .at_s = room->away_from_s,
        .text = FL_SV("You are away: nothing is due but what is above, and one round when you are "
                      "back")};
    note_next(l, room->away_until_s);
    push(l, &due);
}

/* ---- releases, conflicts ---- */

/* Notes when a lot could go that cannot today. The whole question, with all its dates, only where
 * the answer could come before what is known to come. */
static fl_status note_release(list *l, const fl_lot *lot, const fl_gate_now *now, fl_err *err)
{
    int64_t least_s = now->not_before_s;
    int64_t round_s = round_after(l->room, l->room->now_s);
    fl_gate_report report;
    if (l->room->away_until_s > l->room->now_s && l->room->away_until_s < round_s) {
        round_s = l->room->away_until_s; /* a round is made on the day of return */
    }
    if (now->waits_for_round && round_s > least_s) {
        least_s = round_s;
    }
    if (least_s >= l->next_s) {
        return FL_OK;
    }
    const fl_status status = fl_gate_ask(l->chances, l->room, lot, 0, l->arena, &report, err);
    if (status == FL_OK) {
        note_next(l, report.answer.earliest_s);
    }
    return status;
}

static fl_status gather_releases(list *l, fl_err *err)
{
    fl_due due = {.kind = FL_DUE_RELEASE, .at_s = l->room->now_s};
    fl_status status = FL_OK;
    const size_t n = l->chances == NULL ? 0 : l->room->meaning.n_lots;
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        const fl_lot *lot = &l->room->meaning.lots[i];
        fl_gate_now now;
        int64_t least = (int64_t)fl_know_use_of(lot->use).least_days * FL_DAY_S;
        /* The cheap question first: most lots have not been here long enough. */
        if (fl_phase_of(l->room, lot) != FL_PHASE_QUARANTINE ||
            fl_chances_last_way_in(l->chances, lot) + least > l->room->now_s) {
            continue;
        }
        status = fl_gate_ask_now(l->chances, l->room, lot, 0, l->arena, &now, err);
        if (status == FL_OK && now.waits_for_look_only) {
            due.lot = due.n_lots == 0 ? lot->id : due.lot;
            due.n_lots++;
        } else if (status == FL_OK) {
            status = note_release(l, lot, &now, err);
        }
    }
    if (status == FL_OK && due.n_lots > 0) {
        due.text = fl_arena_printf(l->arena, "%zu lot%s quiet enough to go, after a look today",
                                   due.n_lots, due.n_lots == 1 ? " is" : "s are");
        push(l, &due);
    }
    return status;
}

static void gather_conflicts(list *l)
{
    size_t n = l->room->meaning.n_conflicts;
    if (n == 0) {
        return;
    }
    const fl_conflict *last = &l->room->meaning.conflicts[n - 1];
    fl_due due = {.kind = FL_DUE_CONFLICT,
                  .at_s = last->at_s,
                  .lot = last->lot,
                  .place = last->place,
                  .n_lots = n};
    due.text = fl_arena_printf(l->arena, "%zu record%s not agree: see which is right", n,
                               n == 1 ? " does" : "s do");
    push(l, &due);
}

static fl_status gather_all(list *l, fl_err *err)
{
    gather_bench(l);
    gather_looks(l);
    gather_claims(l);
    fl_status status = gather_upkeep(l, err);
    if (status == FL_OK) {
        status = gather_releases(l, err);
    }
    if (status == FL_OK) {
        gather_conflicts(l);
        gather_trims(l);
    }
    return status;
}

static int compare_due(const void *a, const void *b)
{
    const fl_due *x = a;
    const fl_due *y = b;
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    return x->at_s < y->at_s ? -1 : (x->at_s > y->at_s ? 1 : 0);
}

fl_status fl_today_list(fl_chances *chances, const fl_room *room, fl_arena *arena, fl_today *out,
                        fl_err *err)
{
    list l = {.room = room, .chances = chances, .arena = arena, .next_s = FL_TIME_OPEN};
    l.day_end_s = fl_civil_day_end(room->now_s, room->tz_offset_min);
    l.cap = room->meaning.n_holds + room->n_events + room->meaning.n_lots + 8;
    l.lines = FL_ARENA_ARRAY(arena, fl_due, l.cap);
    gather_holds(&l);
    gather_steps(&l);
    if (fl_room_is_away(room, room->now_s)) {
        gather_away(&l);
    } else {
        const fl_status status = gather_all(&l, err);
        if (status != FL_OK) {
            return status;
        }
    }
    if (l.n > 1) {
        qsort(l.lines, l.n, sizeof l.lines[0], compare_due);
    }
    *out = (fl_today){.next_s = l.next_s};
    out->n = (int)(l.n < FL_TODAY_LINES ? l.n : FL_TODAY_LINES);
    out->n_more = (int)l.n - out->n;
    for (int i = 0; i < out->n; i++) {
        out->lines[i] = l.lines[i];
    }
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        fl_phase phase = fl_phase_of(room, &room->meaning.lots[i]);
        out->n_in_quarantine += phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD;
    }
    return FL_OK;
}
