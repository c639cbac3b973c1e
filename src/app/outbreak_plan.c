/* The proposals, in the order in which a keeper would take them. */
#include <math.h>
#include <string.h>

#include "app/outbreak_caution.h"
#include "app/outbreak_work.h"
#include "core/develop/develop.h"
#include "core/dip/efficacy.h"
#include "core/gate/gate.h"

static bool is_disease(const fl_outbreak_work *w)
{
    return w->threat != NULL && w->threat->class == FL_CLASS_PATHOGEN;
}

/* A pest that can be treated at all; frogs and diseases are not treated here. */
static bool is_pest(const fl_outbreak_work *w)
{
    return w->threat != NULL && w->threat->class == FL_CLASS_PEST;
}

static fl_sv place_name(const fl_outbreak_work *w, fl_id place)
{
    return fl_room_place_name(w->room, place);
}

/* ---- what is it; whom to ask ---- */

static void plan_name(fl_outbreak_work *w)
{
    if (w->threat != NULL) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_NAME);
    if (p != NULL) {
        p->text = FL_SV("Find out what it is: answer what you could see, and look again for the "
                        "sign that is asked for next.");
        p->why = FL_SV("Half of what moves in a bin is harmless; nothing but the hold hangs on it "
                       "until it has a name.");
    }
}

static void plan_vet(fl_outbreak_work *w)
{
    bool is_frog = w->threat != NULL && w->threat->class == FL_CLASS_STOWAWAY;
    if (!w->out->is_about_animals && !is_disease(w) && !is_frog) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_VET);
    if (p == NULL) {
        return;
    }
    p->place = w->place_id;
    p->text = is_frog ? FL_SV("Put it into a closed, damp box by itself, touch it with wet gloves "
                              "only, and ask a vet or the wildlife authority. Never release it.")
                      : FL_SV("Call your vet. Treating animals is the vet's alone, and so is the "
                              "word that it is over.");
    p->why = is_frog ? FL_SV("It may bring a disease to your animals and to those outdoors.")
                     : FL_SV("A test tells what it is; until then every plant that left counts.");
}

/* ---- places ---- */

/* Who may have brought it there: the likeliest lot that stands there now, and left where it was
 * found, or another place it had reached, before anybody knew. */
static fl_sv why_held(const fl_outbreak_work *w, const fl_trace_place *t)
{
    const fl_trace_reached *best = NULL;
    for (size_t i = 0; i < w->out->trace.n_reached && !t->is_where_found; i++) {
        const fl_trace_reached *r = &w->out->trace.reached[i];
        bool is_there = !r->lot->is_gone && fl_id_eq(r->lot->place, t->place) && r->n_chain > 0;
        best = is_there && (best == NULL || r->prob > best->prob) ? r : best;
    }
    if (best == NULL) {
        return t->is_where_found ? FL_SV("It was found there.")
                                 : FL_SV("It may have come there over what is on record.");
    }
    const fl_trace_contact *last = &best->chain[best->n_chain - 1];
    fl_sv lot = fl_outbreak_lot_name(w, best->lot);
    if (last->link == FL_LINK_COUNT || fl_id_is_none(last->from_place)) {
        return fl_arena_printf(w->arena, "%.*s stands there and may have brought it.",
                               FL_SV_ARG(lot));
    }
    return fl_arena_printf(w->arena, "%.*s stands there; it may have come from %.*s: %s.",
                           FL_SV_ARG(lot), FL_SV_ARG(place_name(w, last->from_place)),
                           fl_words_link[last->link].text);
}

/* The reason of a hold that accepting a proposal sets; by it such a hold is known again. */
static fl_sv hold_reason(const fl_outbreak_work *w)
{
    const fl_threat *threat = w->threat;
    if (threat == NULL && w->finding != NULL) { /* taken back: nothing was traced */
        threat = fl_know_threat_find(w->finding->threat);
    }
    return threat == NULL ? FL_SV("what was seen may be there")
                          : fl_arena_printf(w->arena, "%s may be there", threat->name);
}

static void plan_holds(fl_outbreak_work *w)
{
    for (size_t i = 0; i < w->out->trace.n_places; i++) {
        const fl_trace_place *t = &w->out->trace.places[i];
        if (t->is_held || t->prob < FL_OUTBREAK_LEAST) {
            continue;
        }
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_HOLD);
        if (p == NULL) {
            return;
        }
        p->place = t->place;
        p->text = fl_arena_printf(w->arena, "Hold %.*s: nothing leaves it for now.",
                                  FL_SV_ARG(place_name(w, t->place)));
        p->why = why_held(w, t);
        fl_event *event = fl_outbreak_event(w, p, FL_KIND_HOLD_SET);
        event->body.hold_set = (fl_ev_hold_set){.hold = fl_id_derive(event->id, FL_SV("hold")),
                                                .place = t->place,
                                                .why = hold_reason(w)};
    }
}

/* A hold that lasts and that this find began, by itself or by a proposal that was accepted. */
static bool is_own_hold(const fl_outbreak_work *w, const fl_hold *hold)
{
    int64_t found_s = w->finding != NULL ? w->finding->at_s : w->animal->at_s;
    if (hold->from_s > w->room->now_s || hold->to_s <= w->room->now_s) {
        return false;
    }
    if (hold->cause == FL_HOLD_BY_KEEPER) {
        return hold->from_s >= found_s && fl_sv_eq(hold->why, hold_reason(w));
    }
    return w->finding != NULL ? fl_id_eq(hold->finding, w->finding->finding)
                              : fl_id_eq(hold->from_event, w->animal->id);
}

/* When it is quiet, or was nothing: each hold by itself. Of animals, the vet says when. */
static void plan_lifting(fl_outbreak_work *w)
{
    bool is_over = w->out->state == FL_OUTBREAK_RETRACTED || w->out->state == FL_OUTBREAK_OVER;
    bool is_quiet = w->out->is_traced && is_pest(w) && fl_outbreak_is_quiet(w);
    if (!is_over && !is_quiet && !w->out->is_about_animals) {
        return;
    }
    for (size_t i = 0; i < w->room->meaning.n_holds; i++) {
        const fl_hold *hold = &w->room->meaning.holds[i];
        fl_proposal *p = is_own_hold(w, hold) ? fl_outbreak_propose(w, FL_PROPOSE_LIFT) : NULL;
        if (p == NULL) {
            continue;
        }
        p->place = hold->place;
        p->text = fl_arena_printf(w->arena, "%s the hold on %.*s.",
                                  w->out->is_about_animals && !is_over
                                      ? "When your vet says that it is over, lift"
                                      : "Lift",
                                  FL_SV_ARG(place_name(w, hold->place)));
        p->why = w->out->state == FL_OUTBREAK_RETRACTED
                     ? FL_SV("It was nothing, and the hold was set for it.")
                 : w->out->is_about_animals
                     ? FL_SV("Until then nothing should leave it.")
                     : FL_SV("On no plant that it may have reached is the chance above 5 in 100, "
                             "with all that was done and seen since.");
        fl_event *event = fl_outbreak_event(w, p, FL_KIND_HOLD_LIFTED);
        event->body.hold_lifted = (fl_ev_hold_lifted){
            .hold = hold->id,
            .why = is_over ? FL_SV("it was nothing, or is over") : FL_SV("quiet")};
    }
}

fl_id fl_outbreak_empty_place(const fl_outbreak_work *w)
{
    for (size_t i = 0; i < w->room->defs.places.count; i++) {
        const fl_ev_place_set *set = &w->room->defs.places.events[i]->body.place_set;
        bool is_box = set->kind == FL_PLACE_BIN || set->kind == FL_PLACE_JAR;
        const fl_fill *fill = fl_meaning_fill_at(&w->room->meaning, set->place, w->room->now_s);
        if (is_box && !set->is_retired && fill == NULL &&
            !fl_meaning_is_held(&w->room->meaning, set->place, w->room->now_s)) {
            return set->place;
        }
    }
    return (fl_id){{0}};
}

/* Out of an enclosure, where nothing can be treated, into a place of its own. */
static void plan_moves(fl_outbreak_work *w)
{
    bool is_planted = w->place != NULL && w->place->kind == FL_PLACE_ENCLOSURE;
    const fl_lot *lot = NULL;
    if (w->finding != NULL && !fl_id_is_none(w->finding->lot)) {
        lot = fl_meaning_lot(&w->room->meaning, w->finding->lot);
    }
    if (!is_planted || lot == NULL || lot->is_gone || !is_pest(w)) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_MOVE);
    if (p == NULL) {
        return;
    }
    fl_id to = fl_outbreak_empty_place(w);
    p->place = to;
    p->lot = lot->id;
    p->why = FL_SV("Outside it can be treated and looked at; what it left behind in the enclosure "
                   "stays there.");
    if (fl_id_is_none(to)) {
        p->text = fl_arena_printf(w->arena,
                                  "Take %.*s out into a clean bin of its own, once you have one.",
                                  FL_SV_ARG(fl_outbreak_lot_name(w, lot)));
        return;
    }
    p->text =
        fl_arena_printf(w->arena, "Take %.*s out into %.*s, by itself.",
                        FL_SV_ARG(fl_outbreak_lot_name(w, lot)), FL_SV_ARG(place_name(w, to)));
    fl_id *ids = FL_ARENA_ARRAY(w->arena, fl_id, 1);
    ids[0] = lot->id;
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_LOT_MOVED);
    event->body.lot_moved = (fl_ev_lot_moved){.lots = {ids, 1}, .to = to};
}

/* ---- cards and baits ---- */

static bool hangs_already(const fl_outbreak_work *w, fl_device device)
{
    bool hangs = false;
    for (size_t i = 0; i < w->room->n_events; i++) {
        const fl_event *e = &w->room->events[i];
        if (e->kind == FL_KIND_CARD_SET && fl_id_eq(e->body.card_set.place, w->place_id) &&
            e->body.card_set.device == device) {
            hangs = !e->body.card_set.is_taken_away;
        }
    }
    return hangs;
}

/* The stage that this device shows better than the eye alone; NULL. */
static const char *shown_by(const fl_threat *threat, fl_device device)
{
    for (int s = 0; s < threat->n_stages; s++) {
        double with = fl_know_detect(threat, s, FL_EFFORT_GLANCE, 1U << device, false);
        if (with > fl_know_detect(threat, s, FL_EFFORT_GLANCE, 0, false)) {
            return threat->stage[s].name;
        }
    }
    return NULL;
}

static void plan_cards(fl_outbreak_work *w)
{
    if (w->is_occupied || !is_pest(w)) {
        return;
    }
    for (int device = 0; device < FL_DEVICE_COUNT; device++) {
        const char *stage = shown_by(w->threat, (fl_device)device);
        if (stage == NULL || hangs_already(w, (fl_device)device)) {
            continue;
        }
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_CARD);
        if (p == NULL) {
            return;
        }
        p->place = w->place_id;
        p->text = fl_arena_printf(w->arena, "Put a %s into %.*s.", fl_words_device[device].text,
                                  FL_SV_ARG(place_name(w, w->place_id)));
        p->why = fl_arena_printf(w->arena,
                                 "It shows the %s stage, so that quiet weeks count; it clears "
                                 "nothing by itself.",
                                 stage);
        fl_event *event = fl_outbreak_event(w, p, FL_KIND_CARD_SET);
        event->body.card_set = (fl_ev_card_set){.place = w->place_id, .device = (fl_device)device};
    }
}

/* ---- cleaning ---- */

static bool is_cleanable(const fl_ev_place_set *set)
{
    return set != NULL && !set->has_animals &&
           (set->kind == FL_PLACE_BIN || set->kind == FL_PLACE_JAR ||
            set->kind == FL_PLACE_OPEN_SPOT || set->kind == FL_PLACE_BENCH);
}

static void plan_cleaning(fl_outbreak_work *w)
{
    for (size_t i = 0; i < w->out->trace.n_places; i++) {
        const fl_trace_place *t = &w->out->trace.places[i];
        const fl_ev_place_set *set = fl_defs_place(&w->room->defs, t->place);
        bool counts = t->is_where_found || (t->n_lots == 0 && t->prob >= FL_OUTBREAK_LEAST);
        if (!counts || !is_cleanable(set)) {
            continue;
        }
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_CLEAN);
        if (p == NULL) {
            return;
        }
        p->place = t->place;
        p->text = fl_arena_printf(w->arena,
                                  "%s %.*s with hot soapy water, lid and rim too; rinse, "
                                  "wipe, let it dry.",
                                  t->n_lots > 0 ? "While its plants stand aside, wash" : "Wash",
                                  FL_SV_ARG(place_name(w, t->place)));
        double left = fl_know_link_factor(w->threat, FL_LINK_LEFTOVER);
        p->why = fl_arena_printf(w->arena,
                                 "What falls off waits for the next plants; cleaning leaves about "
                                 "%g in 100. It cleans the place, not the plants.",
                                 100.0 * left);
        fl_event *event = fl_outbreak_event(w, p, FL_KIND_PLACE_CLEANED);
        event->body.place_cleaned = (fl_ev_place_cleaned){
            .place = t->place, .agent = FL_AGENT_NONE, .efficacy = (double)NAN};
    }
}

/* The tried use of bleach on tools for a disease. */
static fl_sv tested_bleach(const fl_outbreak_work *w)
{
    const char *code =
        strcmp(w->threat->code, "ranavirus") == 0 ? "bleach_ranavirus" : "bleach_bd_long";
    for (size_t i = 0; i < fl_agent_use_count(); i++) {
        fl_agent_use use = fl_agent_use_at(i);
        if (strcmp(use.code, code) == 0) {
            return fl_arena_printf(w->arena,
                                   "Tried against %s: %g %s %s for at least %g minutes, on clean "
                                   "surfaces.",
                                   w->threat->name, use.conc_low,
                                   strcmp(use.unit, "mg_per_l") == 0 ? "mg/L" : "% by volume",
                                   use.basis, use.minutes_low);
        }
    }
    return FL_SV("");
}

static void plan_tools(fl_outbreak_work *w)
{
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TOOLS);
    if (p == NULL) {
        return;
    }
    if (!is_disease(w)) {
        p->text = FL_SV("Wash tubs, tools, sink and hands in hot soapy water, and dry them, before "
                        "the next place is opened.");
        p->why = FL_SV("Tools, hands and one tub for two are links too.");
        return;
    }
    p->text = FL_SV("Disinfect empty tubs and tools, away from every animal; rinse, neutralise, "
                    "dry. Use others for this enclosure alone.");
    p->why = tested_bleach(w);
    const char **cautions = FL_ARENA_ARRAY(w->arena, const char *, FL_OUTBREAK_CAUTIONS_MAX);
    p->n_cautions = fl_outbreak_cautions(FL_AGENT_BLEACH, cautions);
    p->cautions = cautions;
}

/* ---- looks ---- */

static int64_t last_look(const fl_outbreak_work *w, fl_id place)
{
    for (size_t i = w->room->n_events; i > 0; i--) {
        const fl_event *e = &w->room->events[i - 1];
        if (e->kind == FL_KIND_LOOK_DONE && fl_id_eq(e->body.look_done.place, place)) {
            return e->at_s;
        }
    }
    return INT64_MIN;
}

/* Where it was found: five days on, and again when what were eggs can be seen. Elsewhere: now, or
 * five days after the last look since it may have come there. */
static void plan_look(fl_outbreak_work *w, const fl_trace_place *t)
{
    int64_t last_s = last_look(w, t->place);
    int64_t next_s = last_s + (int64_t)FL_OUTBREAK_LOOK_DAYS * FL_DAY_S;
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_LOOK);
    if (p == NULL) {
        return;
    }
    p->place = t->place;
    p->at_s = last_s == INT64_MIN || next_s < w->room->now_s ? w->room->now_s : next_s;
    p->text = fl_arena_printf(w->arena, "Look at %.*s carefully: %s.",
                              FL_SV_ARG(place_name(w, t->place)), w->threat->look_where);
    p->why = t->is_held ? FL_SV("What the last look and the treatment missed shows within days; "
                                "while it is on hold, today's list asks for it without waiting "
                                "for the round.")
                        : FL_SV("It may have come there. Once it is on hold, today's list asks for "
                                "this look by itself.");
}

static void plan_egg_look(fl_outbreak_work *w)
{
    fl_develop_time time = {0};
    int first_seen = 0;
    const fl_threat *threat = w->threat;
    double temp_c = w->place != NULL && !isnan(w->place->set_temp_c) ? w->place->set_temp_c : 21.0;
    while (first_seen < threat->n_stages - 1 &&
           fl_know_detect(threat, first_seen, FL_EFFORT_CAREFUL, 0, false) < FL_GUARD_DETECT) {
        first_seen++;
    }
    if (first_seen == 0 ||
        fl_develop_days(&threat->slow, 0, first_seen - 1, temp_c, &time, NULL) != FL_OK ||
        !time.does_develop) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_LOOK);
    if (p == NULL) {
        return;
    }
    p->place = w->place_id;
    p->at_s = w->out->trace.found_s + (int64_t)ceil(time.days) * FL_DAY_S;
    p->text = fl_arena_printf(w->arena, "Look at %.*s again about %d days after the find.",
                              FL_SV_ARG(place_name(w, w->place_id)), (int)ceil(time.days));
    p->why = fl_arena_printf(w->arena,
                             "By then what was a hidden %s at the find is a %s, at %g C and by the "
                             "slow figures.",
                             threat->stage[0].name, threat->stage[first_seen].name, temp_c);
}

static void plan_looks(fl_outbreak_work *w)
{
    if (!is_pest(w)) {
        return;
    }
    for (size_t i = 0; i < w->out->trace.n_places; i++) {
        if (w->out->trace.places[i].prob >= FL_OUTBREAK_LEAST &&
            w->out->trace.places[i].n_lots > 0) {
            plan_look(w, &w->out->trace.places[i]);
        }
    }
    plan_egg_look(w);
}

/* ---- people, the bin, and living with it ---- */

static void plan_telling(fl_outbreak_work *w)
{
    for (size_t i = 0; i < w->out->trace.n_reached; i++) {
        const fl_trace_reached *r = &w->out->trace.reached[i];
        if (!r->is_outside || r->prob < FL_OUTBREAK_LEAST) {
            continue;
        }
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TELL);
        if (p == NULL) {
            return;
        }
        p->lot = r->lot->id;
        p->text = fl_arena_printf(w->arena, "Tell whoever got %.*s%s what was found, and when.",
                                  FL_SV_ARG(fl_outbreak_lot_name(w, r->lot)),
                                  fl_id_is_none(r->lot->mother) ? "" : ", a cutting or division,");
        p->why = FL_SV("They can hold it, look, and spare their own plants and animals.");
    }
}

static void discard(fl_outbreak_work *w, const fl_lot *lot, fl_sv why)
{
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_DISCARD);
    if (p == NULL) {
        return;
    }
    p->place = lot->place;
    p->lot = lot->id;
    p->text = fl_arena_printf(w->arena, "Throw %.*s out: bagged, sealed, into the household waste.",
                              FL_SV_ARG(fl_outbreak_lot_name(w, lot)));
    p->why = why;
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_LOT_LOST);
    event->body.lot_lost = (fl_ev_lot_lost){
        .lot = lot->id,
        .count = lot->count,
        .why = fl_arena_printf(w->arena, "discarded: %.*s", FL_SV_ARG(fl_outbreak_threat_name(w)))};
}

/* No step takes more than a part of any stage, or the threat is one that plants are refused for. */
static bool is_hard_to_treat(const fl_threat *threat)
{
    bool is_refused = strcmp(threat->trait, "ant") == 0 || strcmp(threat->trait, "worm") == 0 ||
                      strcmp(threat->trait, "nematode") == 0;
    return threat->is_out_of_reach || is_refused;
}

static void plan_discarding(fl_outbreak_work *w)
{
    const fl_lot **there = NULL;
    size_t n = fl_outbreak_lots_there(w, &there);
    if (is_disease(w)) { /* what left it and is still here */
        for (size_t i = 0; i < w->out->trace.n_reached; i++) {
            const fl_trace_reached *r = &w->out->trace.reached[i];
            if (!r->is_where_found && !r->lot->is_gone && r->prob >= FL_OUTBREAK_LEAST) {
                discard(w, r->lot,
                        FL_SV("It left a place where an animal was ill. Or keep it for good where "
                              "no animals are: the gate says not from here."));
            }
        }
        return;
    }
    if (!is_pest(w)) {
        return;
    }
    bool has_own = w->finding != NULL && !fl_id_is_none(w->finding->lot);
    size_t most = has_own ? 1 : FL_OUTBREAK_LOTS_MAX;
    for (size_t i = 0; i < n && i < most; i++) {
        discard(w, there[i],
                is_hard_to_treat(w->threat)
                    ? FL_SV("No treatment here reaches it; this is the usual answer.")
                    : FL_SV("An honest answer where the plant is worth less than the weeks, or its "
                            "neighbours are worth more."));
    }
}

static double largest_weight(const fl_threat *threat, unsigned uses)
{
    double largest = 0.0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        largest = (uses & (1U << use)) != 0 ? fmax(largest, threat->weight[use]) : largest;
    }
    return largest;
}

/* Offered where it does little harm and nothing is meant to leave. */
#define TOLERABLE_WEIGHT 0.6

static void plan_tolerating(fl_outbreak_work *w)
{
    if (!is_pest(w) || w->place == NULL || w->place->kind != FL_PLACE_ENCLOSURE ||
        w->out->state == FL_OUTBREAK_TOLERATED ||
        largest_weight(w->threat, fl_gate_uses_of_place(w->place)) > TOLERABLE_WEIGHT) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TOLERATE);
    if (p == NULL) {
        return;
    }
    p->place = w->place_id;
    p->text =
        fl_arena_printf(w->arena, "Live with %.*s in %.*s.", FL_SV_ARG(fl_outbreak_threat_name(w)),
                        FL_SV_ARG(place_name(w, w->place_id)));
    p->why = fl_arena_printf(
        w->arena,
        "What it does: %s. No hold there any more; but it travels with every plant and "
        "cutting that leaves.",
        w->threat->harm);
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_TOLERATED_SET);
    event->body.tolerated_set = (fl_ev_tolerated_set){
        .place = w->place_id, .threat = fl_sv_from_cstr(w->threat->code), .is_tolerated = true};
}

/* ---- by hand: in an occupied enclosure, or where nothing else suits the plants ---- */

static void plan_by_hand(fl_outbreak_work *w)
{
    if (!w->is_occupied) {
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TREAT);
        if (p != NULL) {
            p->place = w->place_id;
            p->text = FL_SV("Take off what you see by hand, and cut away the worst leaves.");
            p->why = FL_SV("No wash, dip or bath that reaches it suits what stands there.");
            p->not_reached = FL_SV("Lives through it: whatever is not seen.");
        }
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TREAT);
    if (p != NULL) {
        p->place = w->place_id;
        p->text = FL_SV("Take off what you see by hand or with tweezers, and cut away the worst "
                        "leaves. Nothing is sprayed, laid, hung or heated while animals are in.");
        p->why = FL_SV("Soap, oil, alcohol, bleach, heat, gas and sticky cards harm animals before "
                       "they harm the pest.");
        p->not_reached = FL_SV("Lives through it: whatever is not seen.");
    }
}

void fl_outbreak_plan(fl_outbreak_work *w)
{
    if (w->out->state == FL_OUTBREAK_RETRACTED || w->out->state == FL_OUTBREAK_OVER) {
        plan_lifting(w);
        return;
    }
    if (w->finding != NULL && w->threat == NULL && w->finding->threat.len > 0) {
        return; /* harmless */
    }
    plan_vet(w);
    plan_name(w);
    if (!w->out->is_traced) {
        return;
    }
    if (!w->out->is_about_animals) {
        plan_lifting(w);
    }
    plan_holds(w);
    if (is_pest(w) && w->out->state != FL_OUTBREAK_TOLERATED) {
        plan_moves(w);
        if (w->is_occupied) {
            plan_by_hand(w);
        } else {
            size_t n_before = w->n;
            fl_outbreak_treatments(w);
            if (w->n == n_before && !w->threat->is_out_of_reach && !w->threat->is_root_zone) {
                plan_by_hand(w);
            }
        }
        plan_cards(w);
        plan_cleaning(w);
    }
    plan_tools(w);
    plan_looks(w);
    plan_telling(w);
    if (w->out->state != FL_OUTBREAK_TOLERATED) {
        plan_discarding(w);
        plan_tolerating(w);
    }
    if (w->out->is_about_animals) {
        plan_lifting(w);
    }
}
