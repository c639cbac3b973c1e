/* How long each way of getting a plant would take: the purchase, or the cutting, is made in a room
 * of its own with a bin of its own, and the gate is asked. The same rules as for real lots. */
#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "app/build_work.h"
#include "app/giving.h"
#include "app/plans.h"

#define PROSPECTS_MAX FL_BUILD_WAYS_MAX /* of one item */
#define USUAL_BLEACH_MG_PER_L 3000.0    /* what 5 parts in 100 of a 6 % product give, about */

bool fl_build_is_kind(const fl_room *room, const fl_lot *lot, const fl_build_item *item)
{
    if (lot->is_gone || fl_form_is_material(lot->form)) {
        return false;
    }
    if (!fl_id_is_none(item->plant) && fl_id_eq(lot->plant, item->plant)) {
        return true;
    }
    return item->row != NULL && fl_room_plant_row(room, lot) == item->row;
}

int fl_build_days_until(const fl_room *room, int64_t at_s)
{
    const int64_t today_s = fl_civil_noon(room->now_s, room->tz_offset_min);
    return (int)((fl_civil_noon(at_s, room->tz_offset_min) - today_s) / FL_DAY_S);
}

bool fl_build_is_mother(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    const bool is_settled =
        !fl_id_is_none(lot->released_by) || lot->origin == FL_KIND_LOT_ALREADY_HERE;
    const bool is_mother = (plant != NULL && plant->is_mother) || lot->use == FL_USE_STOCK;
    return is_mother && is_settled && place != NULL && place->kind != FL_PLACE_ENCLOSURE;
}

double fl_build_rooting_days(double days_at_23, double temp_c)
{
    const double t = fmin(28.0, fmax(18.0, temp_c));
    return days_at_23 * pow(2.0, (23.0 - t) / 10.0);
}

/* The forecast's sum at the first look at or after `at_s`; the last there is when none is. */
static double sum_at(const fl_forecast *forecast, fl_use use, int64_t at_s)
{
    int k = 0;
    while (k < forecast->n && forecast->at_s[k] < at_s) {
        k++;
    }
    return forecast->sum[use][k];
}

fl_status fl_build_opens(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                         fl_arena *arena, fl_build_opening *out, fl_err *err)
{
    static const fl_condition_kind waited[] = {FL_CONDITION_CHANCE,     FL_CONDITION_GUARD,
                                               FL_CONDITION_LEAST_DAYS, FL_CONDITION_RESIDUE,
                                               FL_CONDITION_PATHOGEN,   FL_CONDITION_HOLD};
    fl_gate_report report;
    fl_build_opening opening = {.at_s = room->now_s, .binding = FL_CONDITION_COUNT};
    const fl_status status = fl_gate_ask(chances, room, lot, uses, arena, &report, err);
    if (status != FL_OK) {
        return status;
    }
    for (size_t k = 0; k < sizeof waited / sizeof waited[0]; k++) {
        const fl_condition *c = &report.answer.conditions[waited[k]];
        if (!c->is_met && c->earliest_s > opening.at_s) {
            opening.at_s = c->earliest_s;
            opening.binding = waited[k];
        }
    }
    opening.sum = sum_at(&report.forecast, fl_use_strictest(uses), opening.at_s);
    *out = opening;
    return FL_OK;
}

/* ---- which ways there are ---- */

static bool came_from(const fl_room *room, const fl_build_item *item, fl_id source, fl_form *form)
{
    bool came = false;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_lot as_here = *lot;
        as_here.is_gone = false; /* also what is gone tells where it came from */
        if (lot->origin == FL_KIND_LOT_ARRIVED && fl_id_eq(lot->source, source) &&
            fl_build_is_kind(room, &as_here, item)) {
            *form = lot->form;
            came = true;
        }
    }
    return came;
}

static bool sells(fl_source_kind kind)
{
    return kind != FL_SOURCE_OWN_STOCK && kind != FL_SOURCE_OWN_ENCLOSURE &&
           kind != FL_SOURCE_OUTDOORS;
}

/* The form it would come in: as it came before, else what such a source sells. */
static fl_form usual_form(fl_source_kind kind)
{
    switch (kind) {
    case FL_SOURCE_TISSUE_CULTURE_LAB:
        return FL_FORM_TISSUE_CULTURE;
    case FL_SOURCE_TRADE:
        return FL_FORM_UNROOTED_CUTTING;
    case FL_SOURCE_CHAIN_STORE:
    case FL_SOURCE_NURSERY:
    case FL_SOURCE_MARKET_STALL:
    case FL_SOURCE_MAIL_ORDER:
    case FL_SOURCE_OWN_STOCK:
    case FL_SOURCE_OWN_ENCLOSURE:
    case FL_SOURCE_OUTDOORS:
    case FL_SOURCE_COUNT:
        break;
    }
    return FL_FORM_POTTED;
}

static void add(fl_build_asked *asked, fl_build_prospect prospect)
{
    if (asked->n < PROSPECTS_MAX) {
        prospect.gate_days = -1;
        asked->prospects[asked->n++] = prospect;
    }
}

/* Where it is told to be bought; else where it came from before; else every source that sells. */
static void add_sources(const fl_build_asking *how, fl_build_asked *asked)
{
    const fl_def_set *sources = &how->room->defs.sources;
    bool is_known = false;
    for (int pass = 0; pass < 2 && !is_known; pass++) {
        for (size_t i = 0; i < sources->count; i++) {
            const fl_ev_source_set *source = &sources->events[i]->body.source_set;
            fl_form form = usual_form(source->kind);
            const bool came = came_from(how->room, asked->item, source->source, &form);
            const bool is_told = fl_id_eq(asked->item->source, source->source);
            const bool has_told = !fl_id_is_none(asked->item->source);
            if (has_told ? !is_told : !(pass == 0 ? came : sells(source->kind))) {
                continue;
            }
            is_known = true;
            form = how->is_culture_instead ? FL_FORM_TISSUE_CULTURE : form;
            add(asked,
                (fl_build_prospect){
                    .means = FL_BUILD_BY_BUYING, .source = source, .form = form, .spare = INT_MAX});
        }
    }
}

static void add_mothers(const fl_build_asking *how, fl_build_asked *asked)
{
    const fl_room *room = how->room;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (!fl_build_is_kind(room, lot, asked->item) || !fl_build_is_mother(room, lot)) {
            continue;
        }
        const fl_know_plant *row = fl_room_plant_row(room, lot);
        const double days = row != NULL ? row->rooting_days_max : (double)NAN;
        const double rooting = fl_build_rooting_days(days, how->temp_c);
        fl_giving giving;
        fl_giving_of(room, lot, how->arena, &giving);
        add(asked, (fl_build_prospect){.means = FL_BUILD_BY_CUTTING,
                                       .mother = lot,
                                       .form = FL_FORM_UNROOTED_CUTTING,
                                       .spare = (int)lot->count * giving.spare,
                                       .first_day = giving.next_day,
                                       .rooting_days = isnan(rooting) ? 0 : (int)ceil(rooting)});
    }
}

/* ---- making them happen ---- */

/* The ids of a prospect's things: the same for the same build, item and way. */
static fl_id id_of(const fl_build_asking *how, const fl_build_asked *asked, size_t k,
                   const char *what)
{
    const size_t item = (size_t)(asked->item - asked->build->items);
    return fl_id_derive(asked->build->body->build,
                        fl_arena_printf(how->arena, "%zu/%zu/%s", item, k, what));
}

static fl_event at_now(const fl_build_asking *how, fl_id id, fl_kind kind)
{
    return (fl_event){.id = id, .kind = kind, .at_s = how->room->now_s};
}

static fl_event bin_of(const fl_build_asking *how, const fl_build_asked *asked, size_t k)
{
    fl_event event = at_now(how, id_of(how, asked, k, "bin told"), FL_KIND_PLACE_SET);
    event.body.place_set = (fl_ev_place_set){.place = id_of(how, asked, k, "bin"),
                                             .name = FL_SV("a bin"),
                                             .kind = FL_PLACE_BIN,
                                             .has_gasket = true,
                                             .set_temp_c = how->temp_c,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    return event;
}

static fl_event lot_of(const fl_build_asking *how, const fl_build_asked *asked, size_t k)
{
    const fl_build_prospect *p = &asked->prospects[k];
    const fl_id lot = id_of(how, asked, k, "lot");
    const fl_id bin = id_of(how, asked, k, "bin");
    const fl_use use = fl_use_strictest(asked->build->uses);
    fl_event event = at_now(how, id_of(how, asked, k, "lot told"), FL_KIND_LOT_ARRIVED);
    if (p->means == FL_BUILD_BY_CUTTING) {
        event.kind = FL_KIND_LOT_CUT;
        event.body.lot_cut = (fl_ev_lot_cut){.mother = p->mother->id,
                                             .lot = lot,
                                             .count = asked->item->count,
                                             .form = p->form,
                                             .use = use,
                                             .place = bin};
        return event;
    }
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = lot,
                                                 .arrival = id_of(how, asked, k, "arrival"),
                                                 .source = p->source->source,
                                                 .plant = asked->item->plant,
                                                 .name = asked->item->name,
                                                 .count = asked->item->count,
                                                 .form = p->form,
                                                 .use = use,
                                                 .place = bin,
                                                 .cost = (double)NAN};
    return event;
}

/* The steps of the lot's plan, done as planned. NULL when its plan has none. */
static fl_event *steps_of(const fl_build_asking *how, const fl_room *room,
                          const fl_build_asked *asked, size_t k)
{
    fl_prep_plan plan;
    fl_id *id = FL_ARENA_NEW(how->arena, fl_id);
    const fl_lot *lot = fl_meaning_lot(&room->meaning, id_of(how, asked, k, "lot"));
    *id = id_of(how, asked, k, "lot");
    if (lot == NULL) {
        return NULL;
    }
    fl_plan_for_lot(room, lot, &plan);
    if (plan.n_steps == 0) {
        return NULL;
    }
    fl_ev_step *steps = FL_ARENA_ARRAY(how->arena, fl_ev_step, (size_t)plan.n_steps);
    for (int i = 0; i < plan.n_steps; i++) {
        const bool is_bleach = plan.steps[i].agent == FL_AGENT_BLEACH;
        steps[i] = (fl_ev_step){.lots = {id, 1},
                                .step = plan.steps[i].step,
                                .agent = plan.steps[i].agent,
                                .minutes = plan.steps[i].minutes_usual,
                                .dose_mg_per_l = is_bleach ? USUAL_BLEACH_MG_PER_L : (double)NAN,
                                .pct = (double)NAN,
                                .temp_c = (double)NAN};
    }
    fl_event *event = FL_ARENA_NEW(how->arena, fl_event);
    *event = at_now(how, id_of(how, asked, k, "steps"), FL_KIND_STEP_DONE);
    event->body.step_done.steps = steps;
    event->body.step_done.n_steps = (size_t)plan.n_steps;
    return event;
}

static size_t count_prospects(const fl_build_asked *entries, size_t n)
{
    size_t total = 0;
    for (size_t e = 0; e < n; e++) {
        total += entries[e].n;
    }
    return total;
}

/* The room in which every prospect came about, and then the one in which its steps are done. */
static fl_status happen(const fl_build_asking *how, const fl_build_asked *entries, size_t n,
                        fl_room *arrived, fl_room *done, fl_err *err)
{
    const size_t bound = 2 * count_prospects(entries, n);
    fl_event *events = FL_ARENA_ARRAY(how->arena, fl_event, bound);
    size_t n_events = 0;
    for (size_t e = 0; e < n; e++) {
        for (size_t k = 0; k < entries[e].n; k++) {
            events[n_events++] = bin_of(how, &entries[e], k);
            events[n_events++] = lot_of(how, &entries[e], k);
        }
    }
    fl_status status = fl_room_with(how->room, events, n_events, arrived, err);
    if (status != FL_OK) {
        return status;
    }
    n_events = 0;
    for (size_t e = 0; e < n; e++) {
        for (size_t k = 0; k < entries[e].n; k++) {
            const fl_event *steps = steps_of(how, arrived, &entries[e], k);
            if (steps != NULL) {
                events[n_events++] = *steps;
            }
        }
    }
    status = fl_room_with(arrived, events, n_events, done, err);
    if (status != FL_OK) {
        fl_room_done(arrived);
    }
    return status;
}

/* ---- asking ---- */

static fl_status ask_one(const fl_build_asking *how, const fl_room *done, fl_chances *chances,
                         fl_build_asked *asked, size_t k, fl_err *err)
{
    fl_build_prospect *p = &asked->prospects[k];
    const fl_lot *lot = fl_meaning_lot(&done->meaning, id_of(how, asked, k, "lot"));
    fl_build_opening opening;
    const fl_status status =
        fl_build_opens(chances, done, lot, asked->build->uses, how->arena, &opening, err);
    if (status != FL_OK) {
        return status;
    }
    p->binding = opening.binding;
    p->sum = opening.sum;
    if (opening.at_s != FL_GATE_NEVER) {
        p->gate_days = fl_build_days_until(done, opening.at_s);
        p->gate_days = p->gate_days > p->rooting_days ? p->gate_days : p->rooting_days;
        p->gate_days = p->gate_days > 1 ? p->gate_days : 1;
    }
    return status;
}

/* The shortest first; what never opens last. */
static int compare_prospects(const void *a, const void *b)
{
    const fl_build_prospect *x = a;
    const fl_build_prospect *y = b;
    if ((x->gate_days < 0) != (y->gate_days < 0)) {
        return x->gate_days < 0 ? 1 : -1;
    }
    if (x->means != y->means) {
        return x->means < y->means ? -1 : 1; /* cut before buy */
    }
    return (x->gate_days > y->gate_days) - (x->gate_days < y->gate_days);
}

fl_status fl_build_ask(const fl_build_asking *how, fl_build_asked *entries, size_t n_entries,
                       fl_err *err)
{
    fl_room arrived;
    fl_room done;
    fl_chances *chances = NULL;
    for (size_t e = 0; e < n_entries; e++) {
        entries[e].prospects = FL_ARENA_ARRAY(how->arena, fl_build_prospect, PROSPECTS_MAX);
        entries[e].n = 0;
        add_mothers(how, &entries[e]);
        add_sources(how, &entries[e]);
    }
    fl_status status = happen(how, entries, n_entries, &arrived, &done, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_chances_new(&done, how->app, &chances, err);
    for (size_t e = 0; e < n_entries && status == FL_OK; e++) {
        for (size_t k = 0; k < entries[e].n && status == FL_OK; k++) {
            status = ask_one(how, &done, chances, &entries[e], k, err);
        }
        if (entries[e].n > 1) {
            qsort(entries[e].prospects, entries[e].n, sizeof entries[e].prospects[0],
                  compare_prospects);
        }
    }
    fl_chances_free(chances);
    fl_room_done(&done);
    fl_room_done(&arrived);
    return status;
}
