/* The shelf: everything goes the ordinary way in, as events. */
#include "support/shelf.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void fl_shelf_init(fl_shelf *s)
{
    memset(s, 0, sizeof *s);
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->bench = fl_keeper_place(&s->k, "the bench", FL_PLACE_BENCH, 0, 22.0);
    for (int i = 1; i <= FL_SHELF_BINS; i++) {
        char name[16];
        (void)snprintf(name, sizeof name, "bin %d", i);
        s->bin[i] = fl_keeper_place(&s->k, name, FL_PLACE_BIN, 0, 22.0);
    }
    s->outside = fl_keeper_place(&s->k, "outside", FL_PLACE_OUTSIDE, 0, (double)NAN);
    s->shop = fl_keeper_source(&s->k, "Corner Nursery", FL_SOURCE_NURSERY, false);
    s->other_shop = fl_keeper_source(&s->k, "Garden Hall", FL_SOURCE_CHAIN_STORE, false);
}

void fl_shelf_done(fl_shelf *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_done(&s->k);
}

fl_id fl_shelf_buy(fl_shelf *s, fl_id source, fl_id arrival)
{
    return fl_keeper_arrive(&s->k, source, arrival, s->bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
}

fl_id fl_shelf_named(fl_shelf *s, fl_id place, const char *name, const char *taxon)
{
    fl_event plant = {.kind = FL_KIND_PLANT_SET};
    plant.body.plant_set = (fl_ev_plant_set){.plant = fl_keeper_id(&s->k),
                                             .name = fl_sv_from_cstr(name),
                                             .taxon = fl_sv_from_cstr(taxon)};
    fl_keeper_record(&s->k, &plant);
    fl_event lot = {.kind = FL_KIND_LOT_ALREADY_HERE};
    lot.body.lot_already_here = (fl_ev_lot_already_here){.lot = fl_keeper_id(&s->k),
                                                         .plant = plant.body.plant_set.plant,
                                                         .count = 1,
                                                         .form = FL_FORM_POTTED,
                                                         .use = FL_USE_PLANTS_ONLY,
                                                         .place = place};
    fl_keeper_record(&s->k, &lot);
    return lot.body.lot_already_here.lot;
}

fl_id fl_shelf_tank(fl_shelf *s, const char *name, unsigned uses)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = (fl_ev_place_set){.place = fl_keeper_id(&s->k),
                                             .name = fl_sv_from_cstr(name),
                                             .kind = FL_PLACE_ENCLOSURE,
                                             .uses = uses,
                                             .animals = FL_SV("small frogs"),
                                             .has_animals = true,
                                             .has_gasket = true,
                                             .set_temp_c = 23.0,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    fl_keeper_record(&s->k, &event);
    return event.body.place_set.place;
}

fl_id fl_shelf_find(fl_shelf *s, fl_id place, const char *threat, const char *stage, fl_id lot)
{
    fl_ev_finding finding = {.finding = fl_keeper_id(&s->k),
                             .lot = lot,
                             .threat = fl_sv_from_cstr(threat),
                             .stage = fl_sv_from_cstr(stage),
                             .count = 1,
                             .is_removed = true,
                             .what = FL_SV("seen")};
    fl_event event = {.kind = FL_KIND_LOOK_DONE};
    event.body.look_done = (fl_ev_look_done){.place = place,
                                             .effort = FL_EFFORT_CAREFUL,
                                             .frac_examined = 1.0,
                                             .hands = FL_HANDS_CLEANED,
                                             .findings = &finding,
                                             .n_findings = 1};
    fl_keeper_record(&s->k, &event);
    return finding.finding;
}

fl_id fl_shelf_animal(fl_shelf *s, fl_id place, fl_animal_event what, const char *threat,
                      bool is_positive, int64_t sampled_s)
{
    fl_event event = {.kind = FL_KIND_ANIMAL_NOTED};
    event.body.animal_noted = (fl_ev_animal_noted){.place = place,
                                                   .what = what,
                                                   .animal = FL_SV("a small frog"),
                                                   .threat = fl_sv_from_cstr(threat),
                                                   .is_positive = is_positive,
                                                   .sampled_s = sampled_s};
    fl_keeper_record(&s->k, &event);
    return event.id;
}

/* ---- asking ---- */

const fl_finding_now *fl_shelf_finding(const fl_shelf *s, fl_id finding)
{
    for (size_t i = 0; i < s->k.room.meaning.n_findings; i++) {
        if (fl_id_eq(s->k.room.meaning.findings[i].finding, finding)) {
            return &s->k.room.meaning.findings[i];
        }
    }
    fail_msg("no such finding");
    return NULL;
}

const fl_event *fl_shelf_event(const fl_shelf *s, fl_id event)
{
    for (size_t i = 0; i < s->k.room.n_events; i++) {
        if (fl_id_eq(s->k.room.events[i].id, event)) {
            return &s->k.room.events[i];
        }
    }
    fail_msg("no such event");
    return NULL;
}

static fl_trace_question of_finding(fl_shelf *s, fl_id finding)
{
    fl_keeper_ask(&s->k);
    return (fl_trace_question){
        .finding = fl_shelf_finding(s, finding), .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
}

static fl_trace_question of_animal(fl_shelf *s, fl_id event)
{
    fl_keeper_ask(&s->k);
    return (fl_trace_question){
        .animal = fl_shelf_event(s, event), .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
}

static void trace(fl_shelf *s, const fl_trace_question *q)
{
    check_ok(fl_trace_ask(&s->k.room, s->k.chances, q, &s->arena, &s->t, &s->k.err), &s->k.err);
}

static void outbreak(fl_shelf *s, const fl_trace_question *q)
{
    check_ok(fl_outbreak_ask(&s->k.room, s->k.chances, q, &s->arena, &s->o, &s->k.err), &s->k.err);
    s->t = s->o.trace;
}

void fl_shelf_trace(fl_shelf *s, fl_id finding)
{
    const fl_trace_question q = of_finding(s, finding);
    trace(s, &q);
}

void fl_shelf_trace_animal(fl_shelf *s, fl_id event)
{
    const fl_trace_question q = of_animal(s, event);
    trace(s, &q);
}

void fl_shelf_outbreak(fl_shelf *s, fl_id finding)
{
    const fl_trace_question q = of_finding(s, finding);
    outbreak(s, &q);
}

void fl_shelf_outbreak_animal(fl_shelf *s, fl_id event)
{
    const fl_trace_question q = of_animal(s, event);
    outbreak(s, &q);
}

/* ---- the answers ---- */

bool fl_shelf_is_reached(const fl_shelf *s, fl_id lot)
{
    for (size_t i = 0; i < s->t.n_reached; i++) {
        if (fl_id_eq(s->t.reached[i].lot->id, lot)) {
            return true;
        }
    }
    return false;
}

fl_trace_reached fl_shelf_reached(const fl_shelf *s, fl_id lot)
{
    for (size_t i = 0; i < s->t.n_reached; i++) {
        if (fl_id_eq(s->t.reached[i].lot->id, lot)) {
            return s->t.reached[i];
        }
    }
    fail_msg("a lot was not reached");
    return (fl_trace_reached){0};
}

bool fl_shelf_is_place_reached(const fl_shelf *s, fl_id place)
{
    for (size_t i = 0; i < s->t.n_places; i++) {
        if (fl_id_eq(s->t.places[i].place, place)) {
            return true;
        }
    }
    return false;
}

fl_trace_place fl_shelf_place(const fl_shelf *s, fl_id place)
{
    for (size_t i = 0; i < s->t.n_places; i++) {
        if (fl_id_eq(s->t.places[i].place, place)) {
            return s->t.places[i];
        }
    }
    fail_msg("a place was not reached");
    return (fl_trace_place){0};
}

const fl_proposal *fl_shelf_proposal(const fl_shelf *s, fl_proposal_kind kind, fl_id place)
{
    for (size_t i = 0; i < s->o.n_proposals; i++) {
        const fl_proposal *p = &s->o.proposals[i];
        if (p->kind == kind && (fl_id_is_none(place) || fl_id_eq(p->place, place))) {
            return p;
        }
    }
    return NULL;
}

size_t fl_shelf_count(const fl_shelf *s, fl_proposal_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < s->o.n_proposals; i++) {
        n += s->o.proposals[i].kind == kind ? 1 : 0;
    }
    return n;
}

void fl_shelf_accept(fl_shelf *s, const fl_proposal *proposal)
{
    check_true(proposal != NULL && proposal->n_events > 0);
    check_ok(fl_app_record_events(&s->k.app, proposal->events, proposal->n_events, &s->k.err),
             &s->k.err);
}

fl_story_line fl_shelf_line(const fl_shelf *s, fl_story_kind kind)
{
    for (size_t i = 0; i < s->o.n_story; i++) {
        if (s->o.story[i].kind == kind) {
            return s->o.story[i];
        }
    }
    fail_msg("the story has no line of this kind: %s", fl_words_story[kind].word);
    return (fl_story_line){0};
}

double fl_shelf_share(const char *threat, fl_link link)
{
    return fl_know_link_factor(fl_know_threat_find(fl_sv_from_cstr(threat)), link);
}
