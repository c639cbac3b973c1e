/* Tonight's lots and how far each has come, from the journal. */
#include "app/evening.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/evening_work.h"
#include "app/today.h"
#include "base/num.h"

fl_evening_options fl_evening_options_usual(void)
{
    return (fl_evening_options){
        .n_tubs = FL_EVENING_TUBS_USUAL, .start_s = INT64_MIN, .tub_ml = FL_EVENING_TUB_ML_USUAL};
}

/* ---- tubs ---- */

fl_sv fl_evening_tub_name(int number, fl_arena *arena)
{
    return fl_arena_printf(arena, "tub %d", number);
}

int fl_evening_tub_number(fl_sv name)
{
    int64_t number = 0;
    if (name.len < 5 || memcmp(name.ptr, "tub ", 4) != 0) {
        return 0;
    }
    fl_sv digits = {name.ptr + 4, name.len - 4};
    if (fl_num_parse_int(digits, "tub", 1, FL_BENCH_TUBS_MAX, &number, NULL) != FL_OK) {
        return 0;
    }
    return (int)number;
}

/* ---- which events are tonight's ---- */

static bool is_step_event(const fl_event *event)
{
    return event->kind == FL_KIND_STEP_STARTED || event->kind == FL_KIND_STEP_DONE ||
           event->kind == FL_KIND_STEP_ABANDONED;
}

/* The first step of tonight: backwards from now as long as steps follow each other. INT64_MIN. */
static int64_t find_begin(const fl_room *room)
{
    int64_t begun_s = INT64_MIN;
    int64_t after_s = room->now_s;
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *event = &room->events[i - 1];
        if (!is_step_event(event) || event->precision != FL_PRECISION_EXACT ||
            event->at_s > room->now_s + FL_EVENING_GAP_S) {
            continue;
        }
        if (after_s - event->at_s > FL_EVENING_GAP_S ||
            room->now_s - event->at_s > FL_EVENING_SPAN_S) {
            break;
        }
        begun_s = after_s = event->at_s;
    }
    return begun_s;
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

/* True when a step of tonight was at this lot. */
static bool was_touched(const fl_room *room, const fl_lot *lot, int64_t begun_s)
{
    for (size_t i = room->n_events; i > 0 && room->events[i - 1].at_s >= begun_s; i--) {
        const fl_event *event = &room->events[i - 1];
        if (event->kind == FL_KIND_STEP_STARTED &&
            lists(&event->body.step_started.step.lots, lot->id)) {
            return true;
        }
        size_t n = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n; k++) {
            if (lists(&event->body.step_done.steps[k].lots, lot->id)) {
                return true;
            }
        }
    }
    return false;
}

/* ---- lots ---- */

fl_sv fl_evening_purchase_of(const fl_lot *lot, fl_arena *arena)
{
    char text[FL_ID_TEXT_MAX];
    fl_id key = lot->id;
    if (!fl_id_is_none(lot->arrival)) {
        key =
            fl_id_derive(lot->arrival, (fl_sv){(const char *)lot->source.b, sizeof lot->source.b});
    }
    return fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_id_format(text, key)));
}

static bool is_sterile(const fl_lot *lot)
{
    return lot->form == FL_FORM_TISSUE_CULTURE || lot->form == FL_FORM_SEED;
}

/* What could have come with a lot, weighted as for stock, from the priors: they stay while the
 * evening goes on. Plants from where animals are kept come after all others. */
static fl_status risk_of(fl_chances *chances, const fl_room *room, const fl_lot *lot,
                         fl_arena *arena, double *out, fl_err *err)
{
    size_t n = 0;
    double none = 1.0;
    const fl_ev_source_set *source = fl_defs_source(&room->defs, lot->source);
    fl_lot_chance *all = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = chances == NULL ? FL_OK : fl_chances_of_lot(chances, lot, all, &n, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        none *= 1.0 - all[i].prior * all[i].threat->weight[FL_USE_STOCK];
    }
    bool is_near_animals = !is_sterile(lot) && source != NULL && source->has_animals_with_plants;
    *out = 1.0 - none + (is_near_animals ? 1.0 : 0.0);
    return status;
}

static fl_status add_lot(fl_evening_work *w, const fl_lot *lot, fl_err *err)
{
    fl_evening_lot *e = &w->out->lots[w->out->n_lots];
    fl_phase phase = fl_phase_of(w->room, lot);
    *e = (fl_evening_lot){.lot = lot, .purchase = fl_evening_purchase_of(lot, w->arena)};
    e->is_established = phase == FL_PHASE_ESTABLISHED;
    fl_plan_for_lot(w->room, lot, &e->plan);
    bool is_worth_it = e->plan.verdict == FL_PREP_GO || w->options->has_refused ||
                       w->options->n_lots > 0 ||
                       (w->out->begun_s != INT64_MIN && was_touched(w->room, lot, w->out->begun_s));
    if (!is_worth_it) {
        w->out->refused[w->out->n_refused++] = lot;
        return FL_OK;
    }
    fl_evening_read_steps(w, e);
    bool is_left = e->next < e->n_steps || e->n_steps == 0 || w->out->begun_s != INT64_MIN;
    if (!is_left && w->options->n_lots == 0) {
        return FL_OK; /* nothing that the evening could do is left */
    }
    if (w->out->n_lots == FL_BENCH_LOTS_MAX) {
        w->out->left_out[w->out->n_left_out++] = lot;
        return FL_OK;
    }
    w->out->n_lots++;
    return risk_of(w->chances, w->room, lot, w->arena, &e->risk, err);
}

/* At the sink: came home and is not cleaned, or was begun tonight and still stands on a bench. */
static bool is_at_the_sink(const fl_evening_work *w, const fl_lot *lot)
{
    fl_phase phase = fl_phase_of(w->room, lot);
    if (phase == FL_PHASE_ARRIVED) {
        return true;
    }
    return phase == FL_PHASE_CLEANED && w->out->begun_s != INT64_MIN &&
           was_touched(w->room, lot, w->out->begun_s);
}

/* Lots of a purchase are as suspect as its worst; what was raised sterile is a class of its own. */
static void level_risks(fl_evening *out)
{
    for (size_t i = 0; i < out->n_lots; i++) {
        double worst = out->lots[i].risk;
        for (size_t k = 0; k < out->n_lots; k++) {
            const fl_evening_lot *other = &out->lots[k];
            if (fl_sv_eq(other->purchase, out->lots[i].purchase) &&
                is_sterile(other->lot) == is_sterile(out->lots[i].lot)) {
                worst = fmax(worst, other->risk);
            }
        }
        out->lots[i].risk = worst;
    }
}

static fl_status gather(fl_evening_work *w, fl_err *err)
{
    fl_status status = FL_OK;
    const fl_meaning *m = &w->room->meaning;
    size_t n = w->options->n_lots > 0 ? w->options->n_lots : m->n_lots;
    w->out->lots = FL_ARENA_ARRAY(w->arena, fl_evening_lot, FL_BENCH_LOTS_MAX + 1);
    w->out->refused = FL_ARENA_ARRAY(w->arena, const fl_lot *, n + 1);
    w->out->left_out = FL_ARENA_ARRAY(w->arena, const fl_lot *, n + 1);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        const fl_lot *lot = w->options->n_lots > 0 ? w->options->lots[i] : &m->lots[i];
        if (!lot->is_gone && (w->options->n_lots > 0 || is_at_the_sink(w, lot))) {
            status = add_lot(w, lot, err);
        }
    }
    level_risks(w->out);
    for (size_t i = 0; i < w->out->n_lots && fl_id_is_none(w->out->bench); i++) {
        w->out->bench = w->out->lots[i].lot->place;
    }
    return status;
}

/* ---- making ---- */

static fl_status check_options(const fl_evening_options *o, fl_err *err)
{
    if (o->n_tubs < 1 || o->n_tubs > FL_BENCH_TUBS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "tubs %d: give 1 to %d", o->n_tubs, FL_BENCH_TUBS_MAX);
    }
    if (!(o->tub_ml >= 10.0) || o->tub_ml > FL_BLEACH_TOTAL_ML_MAX) {
        return fl_fail(err, FL_EDOMAIN, "a tub of %g ml: give 10 to %g", o->tub_ml,
                       FL_BLEACH_TOTAL_ML_MAX);
    }
    unsigned all = (1U << o->n_tubs) - 1U;
    if ((o->tubs_lost & all) == all) {
        return fl_fail(err, FL_EDOMAIN, "all %d tubs are lost: put out one more", o->n_tubs);
    }
    return FL_OK;
}

/* The recipe for what is to be dipped: one tub of bleach, one of thiosulfate for what clings. */
static fl_status find_recipe(fl_evening_work *w, fl_err *err)
{
    fl_evening *out = w->out;
    fl_err why = {0};
    double plants = 0.0;
    for (size_t i = 0; i < out->n_lots; i++) {
        for (int k = out->lots[i].next; k < out->lots[i].n_steps; k++) {
            const fl_prep_step *step = out->lots[i].steps[k].plan;
            if (step->step == FL_STEP_DIP && step->agent == FL_AGENT_BLEACH) {
                out->has_dip = true;
                plants = fmax(plants, (double)out->lots[i].lot->count);
            }
        }
    }
    out->no_mix_why = FL_SV("");
    if (!out->has_dip) {
        return FL_OK;
    }
    out->bottle = w->options->label_pct > 0.0 ? NULL : fl_plan_bottle(w->room);
    fl_status status = fl_plan_bleach(w->room, w->options->label_pct, out->tub_ml, &out->mix, &why);
    if (status != FL_OK) {
        out->no_mix_why = fl_arena_copy_sv(w->arena, fl_sv_from_cstr(why.message));
        return FL_OK; /* the evening is planned all the same */
    }
    out->has_mix = true;
    return fl_thiosulfate_plan(out->mix.chlorine_high_mg_per_l,
                               plants * FL_CARRY_ML_PER_PLANT / 1000.0, &out->thiosulfate, err);
}

fl_status fl_evening_make(const fl_room *room, fl_chances *chances,
                          const fl_evening_options *options, fl_arena *arena, fl_evening *out,
                          fl_err *err)
{
    fl_evening evening = {.now_s = room->now_s,
                          .begun_s = find_begin(room),
                          .n_tubs = options->n_tubs,
                          .tubs_lost = options->tubs_lost,
                          .tub_ml = options->tub_ml};
    fl_evening_work w = {room, chances, options, arena, &evening};
    fl_status status = check_options(options, err);
    if (status == FL_OK) {
        status = gather(&w, err);
    }
    if (status == FL_OK) {
        status = find_recipe(&w, err);
    }
    if (status == FL_OK) {
        status = fl_evening_schedule(&w, err);
    }
    if (status == FL_OK) {
        *out = evening;
    }
    return status;
}
