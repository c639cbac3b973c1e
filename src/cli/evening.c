/* Tonight's lots, and their steps as one event. */
#include "cli/evening.h"

#include <math.h>
#include <string.h>

#include "app/today.h"
#include "base/limits.h"
#include "cli/compose.h"

/* ---- plans ---- */

/* All that came home and are not cleaned, in the order of their ids. */
static void gather_arrived(fl_session *s, fl_tonight *evening)
{
    evening->lots = FL_ARENA_ARRAY(&s->arena, const fl_lot *, s->room.meaning.n_lots);
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        if (fl_phase_of(&s->room, lot) == FL_PHASE_ARRIVED) {
            evening->lots[evening->n_lots++] = lot;
        }
    }
}

fl_status fl_tonight_plan(fl_call *call, fl_tonight *out, fl_err *err)
{
    fl_tonight evening = {.s = call->s, .is_named = call->n_words > 0};
    fl_status status = FL_OK;
    if (evening.is_named) {
        status = fl_read_lots(call, 0, &evening.lots, &evening.n_lots, err);
    } else {
        gather_arrived(call->s, &evening);
    }
    if (status != FL_OK) {
        return status;
    }
    evening.plans = FL_ARENA_ARRAY(&call->s->arena, fl_prep_plan, evening.n_lots);
    for (size_t i = 0; i < evening.n_lots; i++) {
        fl_plan_for_lot(&call->s->room, evening.lots[i], &evening.plans[i]);
    }
    *out = evening;
    return FL_OK;
}

bool fl_tonight_has_dip(const fl_tonight *evening)
{
    for (size_t i = 0; i < evening->n_lots; i++) {
        for (int k = 0; k < evening->plans[i].n_steps; k++) {
            const fl_prep_step *step = &evening->plans[i].steps[k];
            if (step->step == FL_STEP_DIP && step->agent == FL_AGENT_BLEACH) {
                return true;
            }
        }
    }
    return false;
}

/* ---- done ---- */

/* The steps while they are laid out. */
typedef struct layout {
    const fl_tonight *evening;
    const fl_tonight_done *done;
    fl_ev_step *steps; /* room for FL_LIST_MAX */
    size_t n_steps;
    int *next; /* of each lot: its next step */
    bool is_full;
} layout;

static bool is_excepted(const layout *l, const fl_lot *lot, fl_step step)
{
    for (size_t i = 0; i < l->done->n_except; i++) {
        if (l->done->except[i].lot == lot && l->done->except[i].step == step) {
            return true;
        }
    }
    return false;
}

/* The lot's next step that was done; NULL when there is none. */
static const fl_prep_step *next_step(layout *l, size_t lot)
{
    const fl_prep_plan *plan = &l->evening->plans[lot];
    while (l->next[lot] < plan->n_steps &&
           is_excepted(l, l->evening->lots[lot], plan->steps[l->next[lot]].step)) {
        l->next[lot]++;
    }
    return l->next[lot] < plan->n_steps ? &plan->steps[l->next[lot]] : NULL;
}

static bool is_same_step(const fl_prep_step *a, const fl_prep_step *b)
{
    return a->step == b->step && a->agent == b->agent && a->times == b->times;
}

static bool is_same_purchase(const fl_lot *a, const fl_lot *b)
{
    return a == b || (!fl_id_is_none(a->arrival) && fl_id_eq(a->arrival, b->arrival) &&
                      fl_id_eq(a->source, b->source));
}

/* The name of a purchase's own tub: no other purchase has it, on this evening or another. */
static fl_sv tub_of(const layout *l, const fl_lot *lot)
{
    fl_session *s = l->evening->s;
    if (l->done->tub.len > 0) {
        return l->done->tub;
    }
    fl_id parent = fl_id_is_none(lot->arrival) ? lot->id : lot->arrival;
    fl_id own = fl_id_derive(parent, (fl_sv){(const char *)lot->source.b, sizeof lot->source.b});
    fl_sv code = fl_code_of(s, own);
    return fl_arena_printf(&s->arena, "tub %.*s", FL_SV_ARG(code));
}

static bool needs_tub(fl_step step)
{
    return step == FL_STEP_SOAK || step == FL_STEP_DIP || step == FL_STEP_NEUTRALISE;
}

static void push_step(layout *l, const fl_prep_step *step, fl_id_list lots, fl_sv tub)
{
    const double untold = (double)NAN;
    fl_ev_step made = {.lots = lots,
                       .step = step->step,
                       .agent = step->agent,
                       .minutes = step->minutes_usual,
                       .dose_mg_per_l = untold,
                       .pct = untold,
                       .temp_c = untold,
                       .tub = needs_tub(step->step) ? tub : FL_SV("")};
    if (step->step == FL_STEP_STRIP) {
        made.prills = l->done->prills;
    }
    if (step->agent == FL_AGENT_BLEACH && l->done->dip != NULL) {
        made.dose_mg_per_l = l->done->dip->chlorine_mg_per_l;
        made.pct = l->done->dip->product_pct_by_volume;
    }
    for (int time = 0; time < step->times; time++) {
        l->is_full = l->is_full || l->n_steps == FL_LIST_MAX;
        if (!l->is_full) {
            l->steps[l->n_steps++] = made;
        }
    }
}

/* One purchase: as long as a lot has a step left, it is done with all lots that are at the same. */
static void lay_out_purchase(layout *l, size_t first)
{
    const fl_tonight *e = l->evening;
    fl_sv tub = tub_of(l, e->lots[first]);
    for (size_t lead = first; lead < e->n_lots; lead++) {
        if (!is_same_purchase(e->lots[first], e->lots[lead])) {
            continue;
        }
        const fl_prep_step *step = next_step(l, lead);
        while (step != NULL) {
            fl_id *ids = FL_ARENA_ARRAY(&e->s->arena, fl_id, e->n_lots);
            size_t n = 0;
            for (size_t i = lead; i < e->n_lots; i++) {
                const fl_prep_step *other =
                    is_same_purchase(e->lots[first], e->lots[i]) ? next_step(l, i) : NULL;
                if (other != NULL && is_same_step(step, other)) {
                    ids[n++] = e->lots[i]->id;
                    l->next[i]++;
                }
            }
            push_step(l, step, (fl_id_list){ids, n}, tub);
            step = next_step(l, lead);
        }
    }
}

static bool is_first_of_purchase(const fl_tonight *e, size_t index)
{
    for (size_t i = 0; i < index; i++) {
        if (is_same_purchase(e->lots[i], e->lots[index])) {
            return false;
        }
    }
    return true;
}

fl_status fl_tonight_compose(const fl_tonight *evening, const fl_tonight_done *done, fl_err *err)
{
    fl_session *s = evening->s;
    fl_event *event = NULL;
    layout l = {.evening = evening, .done = done};
    l.steps = FL_ARENA_ARRAY(&s->arena, fl_ev_step, FL_LIST_MAX);
    l.next = FL_ARENA_ARRAY(&s->arena, int, evening->n_lots);
    for (size_t i = 0; i < evening->n_lots; i++) {
        if (is_first_of_purchase(evening, i)) {
            lay_out_purchase(&l, i);
        }
    }
    if (l.is_full) {
        return fl_fail(err, FL_ETOOBIG, "more than %d steps: name fewer lots at a time",
                       FL_LIST_MAX);
    }
    if (l.n_steps == 0) {
        return fl_fail(err, FL_EINVAL, "no step is left to record: name lots that have one");
    }
    fl_status status = fl_compose(s, FL_KIND_STEP_DONE, &event, err);
    if (status == FL_OK) {
        event->body.step_done.steps = l.steps;
        event->body.step_done.n_steps = l.n_steps;
    }
    return status;
}
