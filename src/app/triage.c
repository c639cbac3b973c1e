/* Weighing lots at the door: one what-if room for all of them. */
#include "app/triage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/plans.h"
#include "app/temps.h"
#include "app/today.h"

#define USUAL_BLEACH_MG_PER_L 3000.0 /* 5 parts in 100 of a 6 % product, about */

/* ---- the claim ---- */

static const fl_event *arrival_event(const fl_room *room, const fl_lot *lot)
{
    const fl_lot *whole = fl_room_unsplit(room, lot);
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOT_ARRIVED &&
            fl_id_eq(event->body.lot_arrived.lot, whole->id)) {
            return event;
        }
    }
    return NULL;
}

fl_claim fl_triage_claim(const fl_room *room, const fl_lot *lot)
{
    fl_claim claim = {.until_s = INT64_MIN, .price = (double)NAN};
    const fl_event *event = arrival_event(room, lot);
    if (event == NULL) {
        return claim;
    }
    const fl_ev_lot_arrived *came = &event->body.lot_arrived;
    const fl_ev_source_set *source = fl_defs_source(&room->defs, came->source);
    claim.price = came->cost * (double)lot->count / (double)came->count;
    claim.is_of_purchase = came->take_back_days > 0;
    claim.days = claim.is_of_purchase ? came->take_back_days
                 : source != NULL     ? source->take_back_days
                                      : 0;
    if (claim.days > 0) {
        claim.until_s = fl_civil_day_end(event->at_s + claim.days * FL_DAY_S, room->tz_offset_min);
        claim.is_open = room->now_s < claim.until_s;
    }
    return claim;
}

bool fl_triage_is_on_trial(const fl_room *room, const fl_lot *lot)
{
    const fl_phase phase = fl_phase_of(room, lot);
    return fl_room_unsplit(room, lot)->origin == FL_KIND_LOT_ARRIVED && phase != FL_PHASE_GONE &&
           phase != FL_PHASE_ESTABLISHED;
}

/* ---- the what-if ---- */

typedef struct study {
    const fl_room *room;
    fl_arena *arena;
    fl_triage_lot *lots; /* [n] */
    size_t n;
    fl_event *events;
    size_t n_events;
} study;

/* The middle of what the room's bins have. */
static double usual_bin_c(const study *st)
{
    const fl_def_set *places = &st->room->defs.places;
    const fl_ev_place_set **bins =
        FL_ARENA_ARRAY(st->arena, const fl_ev_place_set *, places->count + 1);
    size_t n = 0;
    for (size_t i = 0; i < places->count; i++) {
        const fl_ev_place_set *place = &places->events[i]->body.place_set;
        if (place->kind == FL_PLACE_BIN && !place->is_retired) {
            bins[n++] = place;
        }
    }
    return fl_temps_usual_of(bins, n, st->arena);
}

static bool is_same_purchase(const fl_lot *a, const fl_lot *b)
{
    return fl_id_eq(a->arrival, b->arrival) && fl_id_eq(a->source, b->source);
}

/* The id of a thing of a lot's or purchase's what-if. */
static fl_id what_if(const fl_id of, const char *what)
{
    return fl_id_derive(of, fl_sv_from_cstr(what));
}

/* The bin of a lot's purchase: for the plants, or for tips of them. */
static fl_id bin_of(const fl_lot *lot, bool is_tip)
{
    fl_id purchase =
        fl_id_derive(lot->arrival, (fl_sv){(const char *)lot->source.b, sizeof lot->source.b});
    return what_if(purchase, is_tip ? "triage: bin of tips" : "triage: bin");
}

static fl_event *push(study *st, fl_id id, fl_kind kind)
{
    fl_event *event = &st->events[st->n_events++];
    *event = (fl_event){.id = id, .kind = kind, .at_s = st->room->now_s};
    return event;
}

static void make_bin(study *st, const fl_lot *lot, bool is_tip)
{
    const fl_id bin = bin_of(lot, is_tip);
    push(st, what_if(bin, "told"), FL_KIND_PLACE_SET)->body.place_set =
        (fl_ev_place_set){.place = bin,
                          .name = FL_SV("a bin"),
                          .kind = FL_PLACE_BIN,
                          .has_gasket = true,
                          .set_temp_c = usual_bin_c(st),
                          .volume_l = (double)NAN,
                          .shelf = -1};
}

static fl_id *one_id(const study *st, fl_id id)
{
    fl_id *list = FL_ARENA_NEW(st->arena, fl_id);
    *list = id;
    return list;
}

/* The steps of a plan, done as planned. */
static void do_steps(study *st, fl_id lot, const fl_prep_plan *plan)
{
    if (plan->n_steps == 0) {
        return;
    }
    fl_ev_step *steps = FL_ARENA_ARRAY(st->arena, fl_ev_step, (size_t)plan->n_steps);
    for (int i = 0; i < plan->n_steps; i++) {
        const bool is_bleach = plan->steps[i].agent == FL_AGENT_BLEACH;
        steps[i] = (fl_ev_step){.lots = {one_id(st, lot), 1},
                                .step = plan->steps[i].step,
                                .agent = plan->steps[i].agent,
                                .minutes = plan->steps[i].minutes_usual,
                                .dose_mg_per_l = is_bleach ? USUAL_BLEACH_MG_PER_L : (double)NAN,
                                .pct = (double)NAN,
                                .temp_c = (double)NAN};
    }
    push(st, what_if(lot, "triage: steps"), FL_KIND_STEP_DONE)->body.step_done =
        (fl_ev_step_done){.steps = steps, .n_steps = (size_t)plan->n_steps};
}

static bool mentions(const char *text, const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (strstr(text, words[i]) != NULL) {
            return true;
        }
    }
    return false;
}

/* It has something above the mix that roots; a plant that is not in the table is taken to. */
static bool can_be_cut(const fl_room *room, const fl_lot *lot)
{
    static const char *const ways[] = {"cutting", "stem", "fragment", "leaf", "keiki", "lay-on"};
    const fl_know_plant *row = fl_room_plant_row(room, lot);
    const bool has_form = lot->form == FL_FORM_POTTED || lot->form == FL_FORM_PLUG ||
                          lot->form == FL_FORM_BARE_ROOT || lot->form == FL_FORM_MOUNTED;
    return has_form &&
           (row == NULL || mentions(row->propagation, ways, sizeof ways / sizeof ways[0]));
}

static fl_id tip_of(const fl_lot *lot)
{
    return what_if(lot->id, "triage: tip");
}

static void take_tip(study *st, const fl_lot *lot)
{
    push(st, what_if(lot->id, "triage: cut"), FL_KIND_LOT_CUT)->body.lot_cut =
        (fl_ev_lot_cut){.mother = lot->id,
                        .lot = tip_of(lot),
                        .count = lot->count,
                        .form = FL_FORM_UNROOTED_CUTTING,
                        .use = lot->use,
                        .place = bin_of(lot, true)};
}

static bool is_first_of_purchase(const study *st, size_t index)
{
    for (size_t i = 0; i < index; i++) {
        if (is_same_purchase(st->lots[i].lot, st->lots[index].lot)) {
            return false;
        }
    }
    return true;
}

/* Bins, cuttings, steps and moves. What is past the sink already stays where it is. */
static void make_events(study *st)
{
    st->events = FL_ARENA_ARRAY(st->arena, fl_event, 7 * st->n);
    for (size_t i = 0; i < st->n; i++) {
        const fl_lot *lot = st->lots[i].lot;
        const fl_ev_place_set *place = fl_defs_place(&st->room->defs, lot->place);
        const bool is_on_bench = place == NULL || place->kind == FL_PLACE_BENCH;
        if (is_first_of_purchase(st, i)) {
            make_bin(st, lot, false);
            make_bin(st, lot, true);
        }
        if (st->lots[i].input.tip.is_there) {
            take_tip(st, lot);
        }
        if (fl_phase_of(st->room, lot) == FL_PHASE_ARRIVED) {
            do_steps(st, lot->id, &st->lots[i].plan);
        }
        if (is_on_bench) {
            push(st, what_if(lot->id, "triage: moved"), FL_KIND_LOT_MOVED)->body.lot_moved =
                (fl_ev_lot_moved){.lots = {one_id(st, lot->id), 1}, .to = bin_of(lot, false)};
        }
    }
}

/* The tips' own steps, as a plan for a cutting has them. */
static void make_tip_steps(study *st, const fl_room *with_tips)
{
    st->events = FL_ARENA_ARRAY(st->arena, fl_event, st->n);
    st->n_events = 0;
    for (size_t i = 0; i < st->n; i++) {
        const fl_id id = tip_of(st->lots[i].lot);
        const fl_lot *tip = fl_meaning_lot(&with_tips->meaning, id);
        if (tip != NULL) {
            fl_prep_plan plan;
            fl_plan_for_lot(with_tips, tip, &plan);
            do_steps(st, id, &plan);
        }
    }
}

/* ---- asking ---- */

/* Steps are done and the look of the day is made on the day: neither is waited for. */
static int64_t opens_at(const fl_gate_report *report, int64_t now_s, fl_condition_kind *binding)
{
    int64_t at_s = now_s;
    *binding = FL_CONDITION_COUNT;
    for (int k = 0; k < FL_CONDITION_COUNT; k++) {
        const fl_condition *c = &report->answer.conditions[k];
        bool is_waited_for = k != FL_CONDITION_STEPS && k != FL_CONDITION_RELEASE_LOOK;
        if (is_waited_for && !c->is_met && c->earliest_s > at_s) {
            at_s = c->earliest_s;
            *binding = (fl_condition_kind)k;
        }
    }
    return at_s;
}

static bool matters(const fl_gate_threat *t, fl_use use)
{
    return !t->threat->is_out_of_reach && t->threat->weight[use] > 0.0;
}

/* Any of what matters is there. */
static double prob_any(const fl_gate_report *report, fl_use use)
{
    double none = 1.0;
    for (size_t i = 0; i < report->n_threats; i++) {
        none *= matters(&report->threats[i], use) ? 1.0 - report->threats[i].chance : 1.0;
    }
    return 1.0 - none;
}

/* The room in which all of it was done. */
typedef struct asking {
    const study *st;
    const fl_room *done;
    fl_chances *chances;
} asking;

static fl_status ask_road(const asking *q, fl_id id, fl_triage_road *road,
                          fl_condition_kind *binding, fl_gate_report *report, fl_err *err)
{
    const fl_lot *lot = fl_meaning_lot(&q->done->meaning, id);
    fl_status status = fl_gate_ask(q->chances, q->done, lot, 0, q->st->arena, report, err);
    if (status == FL_OK) {
        int64_t at_s = opens_at(report, q->done->now_s, binding);
        double days = (double)(at_s - q->done->now_s) / FL_DAY_S;
        road->days = at_s == FL_GATE_NEVER ? (double)NAN : fmax(1.0, ceil(days));
        road->prob_find = prob_any(report, lot->use);
    }
    return status;
}

static void name_worst(fl_triage_lot *t, const fl_gate_report *report)
{
    for (size_t i = 0; i < report->n_threats; i++) {
        const fl_gate_threat *one = &report->threats[i];
        if (matters(one, t->lot->use) && one->chance > t->prob_worst) {
            t->worst = one->threat;
            t->prob_worst = one->chance;
        }
    }
}

static fl_status ask_lot(const asking *q, size_t index, fl_err *err)
{
    fl_triage_lot *t = &q->st->lots[index];
    fl_gate_report report;
    fl_status status = ask_road(q, t->lot->id, &t->input.whole, &t->binding, &report, err);
    if (status == FL_OK) {
        name_worst(t, &report);
    }
    if (status == FL_OK && t->input.tip.is_there) {
        status = ask_road(q, tip_of(t->lot), &t->input.tip, &t->tip_binding, &report, err);
        const fl_know_plant *row = fl_room_plant_row(q->st->room, t->lot);
        if (status == FL_OK && row != NULL && !isnan(row->rooting_days_max)) {
            t->input.tip.days = t->input.tip.days < row->rooting_days_max ? row->rooting_days_max
                                                                          : t->input.tip.days;
        }
    }
    if (status == FL_OK) {
        fl_triage_weigh(&t->input, &t->triage);
    }
    return status;
}

/* Lots of its purchase that would share its bin. */
static size_t count_sharing(const fl_room *room, const fl_lot *lot)
{
    size_t n = 0;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *other = &room->meaning.lots[i];
        n += is_same_purchase(lot, other) && fl_triage_is_on_trial(room, other) ? 1U : 0U;
    }
    return n;
}

static fl_status begin(study *st, const fl_lot *const *lots, const fl_triage_worth *worth,
                       fl_err *err)
{
    for (size_t i = 0; i < st->n; i++) {
        fl_triage_lot *t = &st->lots[i];
        if (!fl_triage_is_on_trial(st->room, lots[i])) {
            return fl_fail(err, FL_EINVAL,
                           "\"%.*s\" is not on trial: weigh what was bought, is here and was not "
                           "released",
                           FL_SV_ARG(fl_room_lot_name(st->room, lots[i])));
        }
        *t = (fl_triage_lot){.lot = lots[i],
                             .claim = fl_triage_claim(st->room, lots[i]),
                             .n_sharing = count_sharing(st->room, lots[i]),
                             .binding = FL_CONDITION_COUNT,
                             .tip_binding = FL_CONDITION_COUNT};
        fl_plan_for_lot(st->room, lots[i], &t->plan);
        t->input = (fl_triage_input){
            .whole = {.is_there = true},
            .tip = {.is_there = can_be_cut(st->room, lots[i]), .days = (double)NAN},
            .bin_share = 1.0 / (double)t->n_sharing,
            .price = t->claim.price,
            .is_claim_open = t->claim.is_open,
            .verdict = t->plan.verdict,
            .worth = *worth};
    }
    return FL_OK;
}

fl_status fl_triage_ask(const fl_room *room, fl_app *app, const fl_lot *const *lots, size_t n_lots,
                        const fl_triage_worth *worth, fl_arena *arena, fl_triage_lot **out,
                        fl_err *err)
{
    fl_room cut;
    fl_room done;
    fl_chances *chances = NULL;
    study st = {.room = room, .arena = arena, .n = n_lots};
    if (n_lots < 1 || n_lots > FL_TRIAGE_LOTS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu lots: name 1 to %d", n_lots, FL_TRIAGE_LOTS_MAX);
    }
    st.lots = FL_ARENA_ARRAY(arena, fl_triage_lot, n_lots);
    fl_status status = begin(&st, lots, worth, err);
    if (status != FL_OK) {
        return status;
    }
    make_events(&st);
    status = fl_room_with(room, st.events, st.n_events, &cut, err);
    if (status != FL_OK) {
        return status;
    }
    make_tip_steps(&st, &cut);
    status = fl_room_with(&cut, st.events, st.n_events, &done, err);
    if (status != FL_OK) {
        fl_room_done(&cut);
        return status;
    }
    status = fl_chances_new(&done, app, &chances, err);
    const asking q = {.st = &st, .done = &done, .chances = chances};
    for (size_t i = 0; i < n_lots && status == FL_OK; i++) {
        status = ask_lot(&q, i, err);
    }
    fl_chances_free(chances);
    fl_room_done(&done);
    fl_room_done(&cut);
    if (status == FL_OK) {
        *out = st.lots;
    }
    return status;
}

/* ---- what is recorded ---- */

/* The outside place of that name, or the id of one that is to be made. */
static fl_id seller_place(const fl_room *room, bool *is_there)
{
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        if (place->kind == FL_PLACE_OUTSIDE && fl_sv_eq_cstr(place->name, FL_TRIAGE_SELLER)) {
            *is_there = true;
            return place->place;
        }
    }
    *is_there = false;
    return fl_id_derive((fl_id){{0}}, FL_SV(FL_TRIAGE_SELLER));
}

static void put_back(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_event *events,
                     size_t *n)
{
    bool is_there = false;
    const fl_id seller = seller_place(room, &is_there);
    fl_id *id = FL_ARENA_NEW(arena, fl_id);
    *id = lot->id;
    if (!is_there) {
        events[*n] = (fl_event){.kind = FL_KIND_PLACE_SET, .at_s = room->now_s};
        events[(*n)++].body.place_set = (fl_ev_place_set){.place = seller,
                                                          .name = FL_SV(FL_TRIAGE_SELLER),
                                                          .kind = FL_PLACE_OUTSIDE,
                                                          .set_temp_c = (double)NAN,
                                                          .volume_l = (double)NAN,
                                                          .shelf = -1};
    }
    events[*n] = (fl_event){.kind = FL_KIND_LOT_MOVED, .at_s = room->now_s};
    events[(*n)++].body.lot_moved = (fl_ev_lot_moved){.lots = {id, 1}, .to = seller};
}

void fl_triage_events(const fl_room *room, const fl_lot *lot, fl_triage_way way, fl_id tip,
                      int64_t n_tips, fl_arena *arena, fl_event **out, size_t *count)
{
    fl_event *events = FL_ARENA_ARRAY(arena, fl_event, FL_TRIAGE_EVENTS_MAX);
    size_t n = 0;
    if (way == FL_TRIAGE_TIP) {
        events[n] = (fl_event){.kind = FL_KIND_LOT_CUT, .at_s = room->now_s};
        events[n++].body.lot_cut = (fl_ev_lot_cut){.mother = lot->id,
                                                   .lot = tip,
                                                   .count = n_tips,
                                                   .form = FL_FORM_UNROOTED_CUTTING,
                                                   .use = lot->use,
                                                   .place = lot->place};
    }
    if (way == FL_TRIAGE_RETURN) {
        put_back(room, lot, arena, events, &n);
    }
    if (way == FL_TRIAGE_TIP || way == FL_TRIAGE_REFUSE) {
        events[n] = (fl_event){.kind = FL_KIND_LOT_LOST, .at_s = room->now_s};
        events[n++].body.lot_lost =
            (fl_ev_lot_lost){.lot = lot->id,
                             .count = lot->count,
                             .why = way == FL_TRIAGE_TIP ? FL_SV("only a clean tip of it was kept")
                                                         : FL_SV("refused at the door")};
    }
    *out = events;
    *count = n;
}
