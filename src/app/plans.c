/* The evening's plan and recipe, and the prices of places. A price is computed by asking the gate
 * in a room in which the move has been made: the same rules, no shortcut. */
#include "app/plans.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/residue/residue.h"

/* ---- plans ---- */

static fl_pathogen_history history_of(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_source_set *source = fl_defs_source(&room->defs, lot->source);
    return source != NULL && source->has_animals_with_plants ? FL_HISTORY_ANIMALS : FL_HISTORY_NONE;
}

void fl_plan_for_lot(const fl_room *room, const fl_lot *lot, fl_prep_plan *out)
{
    const fl_ev_source_set *source = fl_defs_source(&room->defs, lot->source);
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    fl_active active;
    bool is_named = lot->label_active.len > 0;
    bool is_listed = is_named && fl_active_find(lot->label_active, &active);
    fl_prep_input in = {.form = lot->form,
                        .use = lot->use,
                        .source_kind = source != NULL ? source->kind : FL_SOURCE_CHAIN_STORE,
                        .source_keeps_animals = source != NULL && source->has_animals_with_plants,
                        .history = history_of(room, lot),
                        .row = fl_room_plant_row(room, lot),
                        .is_delicate = plant != NULL && plant->is_delicate,
                        .is_label_systemic =
                            is_named && (!is_listed || fl_active_is_systemic(&active))};
    fl_prep_make(&in, out);
}

static bool lists(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* The last find on the lot's place while it stood there: cleaning starts over after it. */
static int64_t last_find(const fl_room *room, const fl_lot *lot)
{
    int64_t last = INT64_MIN;
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        const fl_finding_now *f = &room->meaning.findings[i];
        const fl_stay *stay = fl_meaning_stay_at(&room->meaning, lot->id, f->at_s);
        bool is_pest = f->threat.len > 0 && fl_know_threat_find(f->threat) != NULL;
        if (is_pest && !f->is_retracted && stay != NULL && fl_id_eq(stay->place, f->place)) {
            last = f->at_s;
        }
    }
    return last;
}

/* A split carries what was done to its lot before. */
static bool was_done_to(const fl_room *room, const fl_ev_step *step, const fl_lot *lot,
                        int64_t at_s)
{
    for (int depth = 0; lot != NULL && depth < 32; depth++) {
        if (lists(&step->lots, lot->id)) {
            return true;
        }
        /* In one second births come before steps. */
        if (lot->origin != FL_KIND_LOT_SPLIT || at_s >= lot->born_s) {
            return false;
        }
        lot = fl_meaning_lot(&room->meaning, lot->mother);
    }
    return false;
}

int64_t fl_steps_since(const fl_room *room, const fl_lot *lot)
{
    return last_find(room, lot);
}

unsigned fl_steps_done(const fl_room *room, const fl_lot *lot)
{
    int64_t since = last_find(room, lot);
    unsigned mask = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_STEP_DONE || event->at_s < since) {
            continue;
        }
        for (size_t k = 0; k < event->body.step_done.n_steps; k++) {
            const fl_ev_step *step = &event->body.step_done.steps[k];
            if (was_done_to(room, step, lot, event->at_s)) {
                mask |= 1U << step->step;
            }
        }
    }
    return mask;
}

fl_prills fl_steps_prills(const fl_room *room, const fl_lot *lot)
{
    fl_prills last = FL_PRILLS_NOT_TOLD;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        for (size_t k = 0; event->kind == FL_KIND_STEP_DONE && k < event->body.step_done.n_steps;
             k++) {
            const fl_ev_step *step = &event->body.step_done.steps[k];
            if (step->prills != FL_PRILLS_NOT_TOLD && was_done_to(room, step, lot, event->at_s)) {
                last = step->prills;
            }
        }
    }
    return last;
}

fl_sv fl_steps_container(const fl_room *room, const fl_lot *lot)
{
    fl_sv last = FL_SV("");
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const size_t n = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n; k++) {
            const fl_ev_step *step = &event->body.step_done.steps[k];
            if (step->container.len > 0 && was_done_to(room, step, lot, event->at_s)) {
                last = step->container;
            }
        }
    }
    return last;
}

/* What one step does to the chlorine on it. */
static fl_gate_chlorine chlorine_after(fl_gate_chlorine now, const fl_ev_step *step,
                                       bool *is_neutralised)
{
    bool is_plain =
        step->agent == FL_AGENT_NONE && (step->step == FL_STEP_SOAK || step->step == FL_STEP_RINSE);
    if (step->agent == FL_AGENT_BLEACH) {
        *is_neutralised = false;
        return FL_GATE_CHLORINE_LEFT;
    }
    *is_neutralised = *is_neutralised || step->step == FL_STEP_NEUTRALISE;
    bool is_off = now == FL_GATE_CHLORINE_LEFT && *is_neutralised && is_plain;
    return is_off ? FL_GATE_CHLORINE_RINSED : now;
}

fl_gate_chlorine fl_steps_chlorine(const fl_room *room, const fl_lot *lot)
{
    const int64_t noon_s = fl_civil_noon(room->now_s, room->tz_offset_min);
    fl_gate_chlorine chlorine = FL_GATE_CHLORINE_NONE;
    bool is_neutralised = false;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_STEP_DONE || event->at_s > room->now_s ||
            fl_civil_noon(event->at_s, room->tz_offset_min) != noon_s) {
            continue;
        }
        for (size_t k = 0; k < event->body.step_done.n_steps; k++) {
            const fl_ev_step *step = &event->body.step_done.steps[k];
            if (was_done_to(room, step, lot, event->at_s)) {
                chlorine = chlorine_after(chlorine, step, &is_neutralised);
            }
        }
    }
    return chlorine;
}

/* ---- the recipe ---- */

/* 5 parts of product in 100 by volume: common practice, no source. */
#define PARTS_PRODUCT 5.0
#define PARTS_WATER 95.0

const fl_ev_bottle_opened *fl_plan_bottle(const fl_room *room)
{
    const fl_ev_bottle_opened *last = NULL;
    for (size_t i = 0; i < room->n_events; i++) {
        if (room->events[i].kind == FL_KIND_BOTTLE_OPENED &&
            room->events[i].body.bottle_opened.agent == FL_AGENT_BLEACH) {
            last = &room->events[i].body.bottle_opened;
        }
    }
    return last;
}

fl_status fl_plan_bleach(const fl_room *room, double label_pct, double total_ml, fl_bleach_mix *out,
                         fl_err *err)
{
    fl_bleach_request request = {.target_mg_per_l = (double)NAN, .total_ml = total_ml};
    const fl_event *opened = NULL;
    request.strip.reading_mg_per_l = (double)NAN;
    request.parts = (fl_parts){.product = PARTS_PRODUCT, .water = PARTS_WATER};
    for (size_t i = 0; i < room->n_events && !(label_pct > 0.0); i++) {
        if (room->events[i].kind == FL_KIND_BOTTLE_OPENED &&
            room->events[i].body.bottle_opened.agent == FL_AGENT_BLEACH) {
            opened = &room->events[i];
        }
    }
    if (opened == NULL && !(label_pct > 0.0)) {
        return fl_fail(err, FL_ENOTFOUND,
                       "no bottle of bleach is recorded: give the label's strength in percent");
    }
    request.bottle =
        fl_bleach_bottle_of(opened != NULL ? opened->body.bottle_opened.label_pct : label_pct);
    if (opened != NULL) {
        const fl_ev_bottle_opened *b = &opened->body.bottle_opened;
        request.bottle.specific_gravity = b->specific_gravity;
        request.bottle.age_days = fmax(0.0, (double)(room->now_s - opened->at_s) / FL_DAY_S);
        request.bottle.store_c = isnan(b->store_c) ? 20.0 : b->store_c;
        for (size_t i = 0; i < room->n_events; i++) {
            const fl_event *event = &room->events[i];
            if (event->kind == FL_KIND_BOTTLE_TESTED &&
                fl_id_eq(event->body.bottle_tested.bottle, b->bottle)) {
                /* The strip's word replaces the label's, and the bottle is as young as that. */
                request.bottle.label_pct = event->body.bottle_tested.strength_pct;
                request.bottle.age_days = fmax(0.0, (double)(room->now_s - event->at_s) / FL_DAY_S);
            }
        }
    }
    return fl_bleach_plan(&request, out, err);
}

/* ---- prices ---- */

static bool is_one_of(const fl_lot *const *lots, size_t n, fl_id id)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(lots[i]->id, id)) {
            return true;
        }
    }
    return false;
}

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* When a lot could go for its own use: by the pests and the least days only. What else is missing
 * (steps, residues) is the same wherever it stands. */
static fl_status opens_at(fl_chances *chances, const fl_room *room, fl_id lot_id, fl_arena *arena,
                          int64_t *out, fl_err *err)
{
    const fl_lot *lot = fl_meaning_lot(&room->meaning, lot_id);
    fl_gate_report report;
    if (lot == NULL || lot->is_gone) {
        *out = room->now_s;
        return FL_OK;
    }
    fl_status status = fl_gate_ask(chances, room, lot, 0, arena, &report, err);
    if (status == FL_OK) {
        const fl_condition *c = report.answer.conditions;
        *out = later(later(c[FL_CONDITION_CHANCE].earliest_s, c[FL_CONDITION_GUARD].earliest_s),
                     c[FL_CONDITION_LEAST_DAYS].earliest_s);
    }
    return status;
}

/* The last of the lots that stand in a place and are none of `except`. */
static fl_status others_open_at(fl_chances *chances, const fl_room *room, fl_id place,
                                const fl_lot *const *except, size_t n_except, int64_t *out,
                                fl_err *err)
{
    fl_arena arena;
    fl_status status = FL_OK;
    *out = room->now_s;
    fl_arena_init(&arena);
    for (size_t i = 0; i < room->meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        int64_t at = room->now_s;
        if (!lot->is_gone && fl_id_eq(lot->place, place) && !is_one_of(except, n_except, lot->id)) {
            status = opens_at(chances, room, lot->id, &arena, &at, err);
            *out = later(*out, at);
        }
    }
    fl_arena_done(&arena);
    return status;
}

static void describe(const fl_room *room, const fl_lot *const *lots, size_t n_lots,
                     fl_place_price *price)
{
    const fl_ev_place_set *place = price->place;
    const fl_fill *fill = fl_meaning_fill_at(&room->meaning, place->place, room->now_s);
    price->is_held = fl_meaning_is_held(&room->meaning, place->place, room->now_s);
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (lot->is_gone || !fl_id_eq(lot->place, place->place) ||
            is_one_of(lots, n_lots, lot->id)) {
            continue;
        }
        price->n_there++;
        price->is_mixed = price->is_mixed || !fl_id_eq(lot->arrival, lots[0]->arrival) ||
                          !fl_id_eq(lot->source, lots[0]->source);
    }
    /* Its fill goes on although nothing stands there: it was not cleaned since. */
    price->is_unclean = price->n_there == 0 && fill != NULL;
    bool is_closed = place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR;
    for (size_t i = 0; i < n_lots; i++) {
        const fl_know_plant *row = fl_room_plant_row(room, lots[i]);
        const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lots[i]->plant);
        bool rots =
            (row != NULL && row->rots_when_closed) || (plant != NULL && plant->rots_when_closed);
        price->rots = price->rots || (is_closed && rots);
    }
}

/* One way of putting the lots there: the place as it is, or closing tight. */
typedef struct trial {
    const fl_lot *const *lots;
    size_t n_lots;
    const fl_ev_place_set *place;
    bool is_sealed;
} trial;

/* The room as it would be after the move. */
static fl_status room_after(const fl_room *room, const trial *t, fl_arena *arena, fl_room *out,
                            fl_err *err)
{
    fl_event events[2];
    size_t n = 0;
    fl_id *ids = FL_ARENA_ARRAY(arena, fl_id, t->n_lots);
    for (size_t i = 0; i < t->n_lots; i++) {
        ids[i] = t->lots[i]->id;
    }
    if (t->is_sealed) {
        events[n] = (fl_event){.id = fl_id_derive(t->place->place, FL_SV("what if it closed")),
                               .kind = FL_KIND_PLACE_SET,
                               .at_s = room->now_s};
        events[n].body.place_set = *t->place;
        events[n++].body.place_set.has_gasket = true;
    }
    events[n] = (fl_event){.id = fl_id_derive(t->place->place, FL_SV("what if")),
                           .kind = FL_KIND_LOT_MOVED,
                           .at_s = room->now_s};
    events[n].body.lot_moved.lots = (fl_id_list){ids, t->n_lots};
    events[n++].body.lot_moved.to = t->place->place;
    return fl_room_with(room, events, n, out, err);
}

/* When the lots could go from there, and when the others could; *theirs may be NULL. */
static fl_status try_place(const fl_room *room, fl_app *app, const trial *t, int64_t *own,
                           int64_t *theirs, fl_err *err)
{
    fl_room moved;
    fl_chances *chances = NULL;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_status status = room_after(room, t, &arena, &moved, err);
    if (status != FL_OK) {
        fl_arena_done(&arena);
        return status;
    }
    status = fl_chances_new(&moved, app, &chances, err);
    if (status == FL_OK && theirs != NULL) {
        status = others_open_at(chances, &moved, t->place->place, t->lots, t->n_lots, theirs, err);
    }
    *own = room->now_s;
    for (size_t i = 0; i < t->n_lots && status == FL_OK; i++) {
        int64_t at = room->now_s;
        status = opens_at(chances, &moved, t->lots[i]->id, &arena, &at, err);
        *own = later(*own, at);
    }
    fl_chances_free(chances);
    fl_room_done(&moved);
    fl_arena_done(&arena);
    return status;
}

static fl_status price_place(const fl_room *room, fl_app *app, const fl_lot *const *lots,
                             size_t n_lots, fl_place_price *price, fl_err *err)
{
    const fl_ev_place_set *place = price->place;
    trial t = {.lots = lots, .n_lots = n_lots, .place = place};
    bool is_box = place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR;
    fl_status status = try_place(room, app, &t, &price->own_s, &price->their_after_s, err);
    price->own_sealed_s = FL_GATE_NEVER;
    if (status == FL_OK && price->own_s == FL_GATE_NEVER && price->n_there == 0 && is_box &&
        !place->has_gasket) {
        t.is_sealed = true;
        status = try_place(room, app, &t, &price->own_sealed_s, NULL, err);
    }
    return status;
}

int64_t fl_plan_delay_days(const fl_place_price *p)
{
    if (p->n_there == 0) {
        return 0;
    }
    if (p->their_after_s == FL_GATE_NEVER) {
        return p->their_before_s == FL_GATE_NEVER ? 0 : FL_DELAY_NEVER;
    }
    int64_t days = (p->their_after_s - p->their_before_s + FL_DAY_S - 1) / FL_DAY_S;
    return days > 0 ? days : 0;
}

static int badness(const fl_place_price *p)
{
    return (p->is_held ? 8 : 0) + (p->rots ? 4 : 0) + (fl_joining_is_unfit(&p->joining) ? 2 : 0) +
           (p->is_unclean ? 1 : 0);
}

bool fl_plan_price_is_free(const fl_place_price *p)
{
    return badness(p) == 0 && fl_plan_delay_days(p) == 0;
}

static int compare_prices(const void *a, const void *b)
{
    const fl_place_price *x = a;
    const fl_place_price *y = b;
    if (badness(x) != badness(y)) {
        return badness(x) < badness(y) ? -1 : 1;
    }
    if (fl_plan_delay_days(x) != fl_plan_delay_days(y)) {
        return fl_plan_delay_days(x) < fl_plan_delay_days(y) ? -1 : 1;
    }
    if (x->own_s != y->own_s) {
        return x->own_s < y->own_s ? -1 : 1;
    }
    return fl_sv_compare(x->place->name, y->place->name);
}

/* The cheapest, unless these lots would wait there for ever and elsewhere would not. */
static void mark_best(fl_place_price *prices, size_t n)
{
    bool any_date = false;
    for (size_t i = 0; i < n; i++) {
        any_date = any_date || prices[i].own_s != FL_GATE_NEVER;
    }
    if (n > 0 && !fl_joining_is_unfit(&prices[0].joining)) {
        prices[0].is_best = !any_date || prices[0].own_s != FL_GATE_NEVER;
    }
}

fl_status fl_plan_prices(const fl_room *room, fl_app *app, const fl_lot *const *lots, size_t n_lots,
                         fl_arena *arena, fl_place_price **out, size_t *count, fl_err *err)
{
    size_t n = 0;
    fl_chances *now = NULL;
    fl_place_price *prices = FL_ARENA_ARRAY(arena, fl_place_price, room->defs.places.count);
    if (n_lots == 0) {
        return fl_fail(err, FL_EINVAL, "no lot was named: name what is to be placed");
    }
    fl_status status = fl_chances_new(room, app, &now, err);
    for (size_t i = 0; i < room->defs.places.count && status == FL_OK; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        bool can_take = place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR ||
                        place->kind == FL_PLACE_OPEN_SPOT;
        if (!can_take || place->is_retired) {
            continue;
        }
        fl_place_price *price = &prices[n++];
        *price = (fl_place_price){.place = place};
        describe(room, lots, n_lots, price);
        status = others_open_at(now, room, place->place, lots, n_lots, &price->their_before_s, err);
        if (status == FL_OK) {
            status = fl_joining_ask(now, room, lots, n_lots, place, &price->joining, err);
        }
        if (status == FL_OK) {
            status = price_place(room, app, lots, n_lots, price, err);
        }
    }
    fl_chances_free(now);
    if (status != FL_OK) {
        return status;
    }
    if (n > 1) {
        qsort(prices, n, sizeof prices[0], compare_prices);
    }
    mark_best(prices, n);
    *out = prices;
    *count = n;
    return FL_OK;
}
