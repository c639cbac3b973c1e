/* Up the lineage to the lot that was treated, down again to all that was taken after. */
#include "app/outbreak_residue.h"

#include <stdlib.h>
#include <string.h>

#include "app/outbreak_work.h"
#include "core/residue/residue.h"

/* One treatment of one lot. */
typedef struct treatment {
    const fl_lot *lot;
    fl_sv active;
    int64_t at_s;
    fl_id event;
    bool is_by_label;
} treatment;

static bool lists(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

static bool is_systemic(fl_sv active)
{
    fl_active known;
    return !fl_active_find(active, &known) || fl_active_is_systemic(&known);
}

/* A systemic before others, of two alike the later. */
static void prefer(treatment *best, treatment found)
{
    bool is_first = best->lot == NULL;
    bool was = !is_first && is_systemic(best->active);
    bool is = is_systemic(found.active);
    if (is_first || (is && !was) || (is == was && found.at_s >= best->at_s)) {
        *best = found;
    }
}

/* What was put on this very lot until a moment, by its label or by steps. */
static void note_own(const fl_room *room, const fl_lot *lot, int64_t until_s, treatment *best)
{
    bool is_bought = lot->origin == FL_KIND_LOT_ARRIVED || lot->origin == FL_KIND_LOT_ALREADY_HERE;
    if (is_bought && lot->label_active.len > 0) {
        prefer(best, (treatment){lot, lot->label_active, lot->born_s, lot->born_by, true});
    }
    for (size_t i = 0; i < room->n_events && room->events[i].at_s <= until_s; i++) {
        const fl_event *e = &room->events[i];
        size_t n_steps = e->kind == FL_KIND_STEP_DONE ? e->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n_steps; k++) {
            const fl_ev_step *step = &e->body.step_done.steps[k];
            if (step->agent == FL_AGENT_PESTICIDE && lists(&step->lots, lot->id)) {
                prefer(best, (treatment){lot, step->product, e->at_s, e->id, false});
            }
        }
    }
}

static treatment treatment_of(const fl_room *room, const fl_lot *lot)
{
    treatment best = {.lot = NULL};
    int64_t until_s = room->now_s;
    while (lot != NULL) { /* following mothers always ends: event/meaning.h */
        note_own(room, lot, until_s, &best);
        until_s = lot->born_s < until_s ? lot->born_s : until_s;
        lot = fl_id_is_none(lot->mother) ? NULL : fl_meaning_lot(&room->meaning, lot->mother);
    }
    return best;
}

bool fl_residue_trace_has(const fl_room *room, const fl_lot *lot)
{
    return treatment_of(room, lot).lot != NULL;
}

/* ---- down to all that came of it ---- */

static fl_residue_lot describe(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    bool is_planted = place != NULL && place->kind == FL_PLACE_ENCLOSURE && !lot->is_gone;
    fl_residue_lot made = {.lot = lot, .at_s = lot->born_s, .event = lot->born_by};
    made.uses = is_planted ? fl_gate_uses_of_place(place) : 1U << lot->use;
    made.verdict = fl_gate_residue(room, lot, made.uses);
    made.is_with_animals = is_planted && place->has_animals;
    made.is_outside = fl_trace_went_outside(room, lot);
    made.is_lost = lot->is_gone && !made.is_outside;
    return made;
}

static int compare_lots(const void *a, const void *b)
{
    const fl_residue_lot *x = a;
    const fl_residue_lot *y = b;
    if ((x->from == NULL) != (y->from == NULL)) {
        return x->from == NULL ? -1 : 1;
    }
    if (x->at_s != y->at_s) {
        return x->at_s < y->at_s ? -1 : 1;
    }
    return fl_id_compare(x->lot->id, y->lot->id);
}

/* Breadth first: the list is its own queue. A lot taken in the second of the treatment counts. */
static void follow(const fl_room *room, const treatment *t, fl_arena *arena, fl_residue_trace *out)
{
    const fl_meaning *m = &room->meaning;
    out->lots = FL_ARENA_ARRAY(arena, fl_residue_lot, m->n_lots + 1);
    out->lots[0] = describe(room, t->lot);
    out->lots[0].at_s = t->at_s;
    out->lots[0].event = t->event;
    out->n_lots = 1;
    for (size_t at = 0; at < out->n_lots; at++) {
        for (size_t i = 0; i < m->n_lots && out->n_lots <= m->n_lots; i++) {
            const fl_lot *child = &m->lots[i];
            if (fl_id_eq(child->mother, out->lots[at].lot->id) && child->born_s >= t->at_s) {
                fl_residue_lot *made = &out->lots[out->n_lots++];
                *made = describe(room, child);
                made->from = out->lots[at].lot;
            }
        }
    }
    qsort(out->lots, out->n_lots, sizeof out->lots[0], compare_lots);
    for (size_t i = 0; i < out->n_lots; i++) {
        out->n_outside += out->lots[i].is_outside ? 1 : 0;
    }
}

/* ---- what now ---- */

static void propose_taking_out(fl_outbreak_work *w, const fl_residue_lot *r)
{
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_MOVE);
    if (p == NULL) {
        return;
    }
    fl_id to = fl_outbreak_empty_place(w);
    fl_sv from = fl_room_place_name(w->room, r->lot->place);
    fl_sv name = fl_outbreak_lot_name(w, r->lot);
    p->place = to;
    p->lot = r->lot->id;
    p->why = FL_SV("What lives there eats it, or touches it. Take out the leaves it dropped, too; "
                   "what went into the mix cannot be taken back.");
    if (fl_id_is_none(to)) {
        p->text =
            fl_arena_printf(w->arena, "Take %.*s out of %.*s, into a clean bin, once you have one.",
                            FL_SV_ARG(name), FL_SV_ARG(from));
        return;
    }
    p->text = fl_arena_printf(w->arena, "Take %.*s out of %.*s into %.*s.", FL_SV_ARG(name),
                              FL_SV_ARG(from), FL_SV_ARG(fl_room_place_name(w->room, to)));
    fl_id *ids = FL_ARENA_ARRAY(w->arena, fl_id, 1);
    ids[0] = r->lot->id;
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_LOT_MOVED);
    event->body.lot_moved = (fl_ev_lot_moved){.lots = {ids, 1}, .to = to};
}

static void propose_telling(fl_outbreak_work *w, const fl_residue_lot *r, fl_sv active)
{
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TELL);
    if (p != NULL) {
        p->lot = r->lot->id;
        p->text = fl_arena_printf(w->arena, "Tell whoever got %.*s that it may hold %.*s.",
                                  FL_SV_ARG(fl_outbreak_lot_name(w, r->lot)), FL_SV_ARG(active));
        p->why = FL_SV("They can keep it away from their own animals.");
    }
}

static void propose_keeping(fl_outbreak_work *w, const fl_residue_lot *r)
{
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_KEEP);
    if (p != NULL) {
        p->lot = r->lot->id;
        p->place = r->lot->place;
        p->text = fl_arena_printf(w->arena, "Keep %.*s for planted enclosures without animals.",
                                  FL_SV_ARG(fl_outbreak_lot_name(w, r->lot)));
        p->why = FL_SV("Every cutting of it carries some. The gate says so from now on, whatever "
                       "it is asked for.");
    }
    p = fl_outbreak_propose(w, FL_PROPOSE_DISCARD);
    if (p == NULL) {
        return;
    }
    p->lot = r->lot->id;
    p->place = r->lot->place;
    p->text = fl_arena_printf(w->arena, "Throw %.*s out: bagged, sealed, into the household waste.",
                              FL_SV_ARG(fl_outbreak_lot_name(w, r->lot)));
    p->why = FL_SV("An honest answer for a mother that was to feed enclosures with animals.");
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_LOT_LOST);
    event->body.lot_lost = (fl_ev_lot_lost){.lot = r->lot->id,
                                            .count = r->lot->count,
                                            .why = FL_SV("discarded: a pesticide is inside it")};
}

static void plan(fl_outbreak_work *w, const fl_residue_trace *t)
{
    bool is_any_with_animals = false;
    for (size_t i = 0; i < t->n_lots; i++) {
        const fl_residue_lot *r = &t->lots[i];
        if (!r->lot->is_gone && r->is_with_animals && !r->verdict.is_ok_for_use) {
            is_any_with_animals = true;
            propose_taking_out(w, r);
        }
    }
    for (size_t i = 0; i < t->n_lots; i++) {
        if (t->lots[i].is_outside) {
            propose_telling(w, &t->lots[i], t->active);
        }
    }
    for (size_t i = 0; i < t->n_lots; i++) {
        const fl_residue_lot *r = &t->lots[i];
        if (!r->lot->is_gone && !r->is_with_animals && t->is_systemic) {
            propose_keeping(w, r);
        }
    }
    fl_proposal *vet = is_any_with_animals ? fl_outbreak_propose(w, FL_PROPOSE_VET) : NULL;
    if (vet != NULL) {
        vet->text = FL_SV("If an animal there seems unwell, call your vet and name the pesticide. "
                          "Treating animals is the vet's alone.");
    }
}

fl_status fl_residue_trace_ask(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                               fl_residue_trace *out, fl_err *err)
{
    const treatment t = treatment_of(room, lot);
    fl_active known;
    if (t.lot == NULL) {
        return fl_fail(err, FL_EINVAL,
                       "no pesticide is on record for %.*s: record the step with its date, or the "
                       "label at its arrival",
                       FL_SV_ARG(fl_room_lot_name(room, lot)));
    }
    fl_residue_trace made = {.treated = t.lot,
                             .active = t.active,
                             .is_systemic = is_systemic(t.active),
                             .is_listed = fl_active_find(t.active, &known),
                             .is_by_label = t.is_by_label,
                             .at_s = t.at_s};
    follow(room, &t, arena, &made);
    fl_outbreak_work *w = FL_ARENA_NEW(arena, fl_outbreak_work);
    *w = (fl_outbreak_work){.room = room, .cause = t.lot->id, .arena = arena};
    plan(w, &made);
    made.proposals = FL_ARENA_ARRAY(arena, fl_proposal, w->n + 1);
    memcpy(made.proposals, w->proposals, w->n * sizeof made.proposals[0]);
    made.n_proposals = w->n;
    *out = made;
    return FL_OK;
}
