/* The table of kinds, the canonical order, and the mentions that an event makes of entities.
 * The mentions come from one table of offsets plus the few bodies that hold lists; nothing here
 * knows what an event means. */
#include "event/event.h"

#include <assert.h>

#define FL_KIND_ENTRY(name, word, rank, text) {word, rank, text},
const fl_kind_info fl_kinds[FL_KIND_COUNT] = {FL_KIND_LIST(FL_KIND_ENTRY)};

int fl_kind_find(fl_sv word)
{
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        if (fl_sv_eq_cstr(word, fl_kinds[i].word)) {
            return i;
        }
    }
    return -1;
}

int fl_event_compare(const fl_event *a, const fl_event *b)
{
    if (a->at_s != b->at_s) {
        return a->at_s < b->at_s ? -1 : 1;
    }
    int rank_a = fl_kinds[a->kind].rank;
    int rank_b = fl_kinds[b->kind].rank;
    if (rank_a != rank_b) {
        return rank_a < rank_b ? -1 : 1;
    }
    return fl_id_compare(a->id, b->id);
}

/* ---- mentions ---- */

/* A body member that is one id. */
typedef struct id_member {
    fl_kind kind;
    fl_entity entity;
    bool is_definition;
    size_t offset; /* in fl_event */
} id_member;

#define DEFINES(kind, entity, body_name, member)                                                   \
    {                                                                                              \
        kind, entity, true, offsetof(fl_event, body.body_name.member)                              \
    }
#define REFERS(kind, entity, body_name, member)                                                    \
    {                                                                                              \
        kind, entity, false, offsetof(fl_event, body.body_name.member)                             \
    }

/* The subject of a photo is not here: its entity cannot be told from the event. */
static const id_member id_members[] = {
    DEFINES(FL_KIND_SOURCE_SET, FL_ENTITY_SOURCE, source_set, source),
    DEFINES(FL_KIND_PLANT_SET, FL_ENTITY_PLANT, plant_set, plant),
    DEFINES(FL_KIND_PLACE_SET, FL_ENTITY_PLACE, place_set, place),
    DEFINES(FL_KIND_BOTTLE_OPENED, FL_ENTITY_BOTTLE, bottle_opened, bottle),
    REFERS(FL_KIND_BOTTLE_TESTED, FL_ENTITY_BOTTLE, bottle_tested, bottle),
    DEFINES(FL_KIND_LOT_ALREADY_HERE, FL_ENTITY_LOT, lot_already_here, lot),
    REFERS(FL_KIND_LOT_ALREADY_HERE, FL_ENTITY_PLANT, lot_already_here, plant),
    REFERS(FL_KIND_LOT_ALREADY_HERE, FL_ENTITY_PLACE, lot_already_here, place),
    REFERS(FL_KIND_LOT_ALREADY_HERE, FL_ENTITY_SOURCE, lot_already_here, source),
    DEFINES(FL_KIND_LOT_ARRIVED, FL_ENTITY_LOT, lot_arrived, lot),
    DEFINES(FL_KIND_LOT_ARRIVED, FL_ENTITY_ARRIVAL, lot_arrived, arrival),
    REFERS(FL_KIND_LOT_ARRIVED, FL_ENTITY_SOURCE, lot_arrived, source),
    REFERS(FL_KIND_LOT_ARRIVED, FL_ENTITY_PLANT, lot_arrived, plant),
    REFERS(FL_KIND_LOT_ARRIVED, FL_ENTITY_PLACE, lot_arrived, place),
    DEFINES(FL_KIND_LOT_CUT, FL_ENTITY_LOT, lot_cut, lot),
    REFERS(FL_KIND_LOT_CUT, FL_ENTITY_LOT, lot_cut, mother),
    REFERS(FL_KIND_LOT_CUT, FL_ENTITY_PLACE, lot_cut, place),
    DEFINES(FL_KIND_LOT_SPLIT, FL_ENTITY_LOT, lot_split, new_lot),
    REFERS(FL_KIND_LOT_SPLIT, FL_ENTITY_LOT, lot_split, lot),
    REFERS(FL_KIND_PLACE_CLEANED, FL_ENTITY_PLACE, place_cleaned, place),
    DEFINES(FL_KIND_STEP_STARTED, FL_ENTITY_RUN, step_started, run),
    REFERS(FL_KIND_STEP_DONE, FL_ENTITY_RUN, step_done, run),
    REFERS(FL_KIND_STEP_ABANDONED, FL_ENTITY_RUN, step_abandoned, run),
    REFERS(FL_KIND_LOT_MOVED, FL_ENTITY_PLACE, lot_moved, to),
    REFERS(FL_KIND_CARD_SET, FL_ENTITY_PLACE, card_set, place),
    REFERS(FL_KIND_LOOK_DONE, FL_ENTITY_PLACE, look_done, place),
    REFERS(FL_KIND_FINDING_IDENTIFIED, FL_ENTITY_FINDING, finding_identified, finding),
    REFERS(FL_KIND_FINDING_RETRACTED, FL_ENTITY_FINDING, finding_retracted, finding),
    REFERS(FL_KIND_TOLERATED_SET, FL_ENTITY_PLACE, tolerated_set, place),
    REFERS(FL_KIND_ANIMAL_NOTED, FL_ENTITY_PLACE, animal_noted, place),
    DEFINES(FL_KIND_HOLD_SET, FL_ENTITY_HOLD, hold_set, hold),
    REFERS(FL_KIND_HOLD_SET, FL_ENTITY_PLACE, hold_set, place),
    REFERS(FL_KIND_HOLD_LIFTED, FL_ENTITY_HOLD, hold_lifted, hold),
    REFERS(FL_KIND_LOT_RELEASED, FL_ENTITY_LOT, lot_released, lot),
    REFERS(FL_KIND_LOT_RELEASED, FL_ENTITY_PLACE, lot_released, to),
    REFERS(FL_KIND_LOT_LOST, FL_ENTITY_LOT, lot_lost, lot),
    REFERS(FL_KIND_READINGS_IMPORTED, FL_ENTITY_PLACE, readings_imported, place),
    REFERS(FL_KIND_HISTORY_TOLD, FL_ENTITY_LOT, history_told, lot),
    REFERS(FL_KIND_COMPLAINT_NOTED, FL_ENTITY_LOT, complaint_noted, lot),
    DEFINES(FL_KIND_BUILD_PLANNED, FL_ENTITY_BUILD, build_planned, build),
    REFERS(FL_KIND_BUILD_PLANNED, FL_ENTITY_PLACE, build_planned, enclosure),
    REFERS(FL_KIND_EVENT_VOIDED, FL_ENTITY_EVENT, event_voided, event),
};

fl_id fl_event_hold_of(fl_id cause)
{
    return fl_id_is_none(cause) ? cause : fl_id_derive(cause, FL_SV("hold"));
}

/* Gets one mention after another; false ends the walk. */
typedef bool (*mention_fn)(void *context, fl_fact mention);

typedef struct walk {
    mention_fn visit;
    void *context;
    bool is_definition; /* which of the two passes */
} walk;

static bool mention(const walk *w, fl_entity entity, fl_id id, bool is_definition)
{
    if (is_definition != w->is_definition || fl_id_is_none(id)) {
        return true;
    }
    return w->visit(w->context, (fl_fact){entity, id, is_definition});
}

static bool mention_lots(const walk *w, fl_id_list lots)
{
    for (size_t i = 0; i < lots.count; i++) {
        if (!mention(w, FL_ENTITY_LOT, lots.ids[i], false)) {
            return false;
        }
    }
    return true;
}

static bool mention_steps(const walk *w, const fl_ev_step *steps, size_t n_steps)
{
    for (size_t i = 0; i < n_steps; i++) {
        if (!mention_lots(w, steps[i].lots) ||
            !mention(w, FL_ENTITY_BOTTLE, steps[i].bottle, false)) {
            return false;
        }
    }
    return true;
}

static bool mention_look(const walk *w, const fl_ev_look_done *look)
{
    for (size_t i = 0; i < look->n_findings; i++) {
        const fl_ev_finding *finding = &look->findings[i];
        if (!mention(w, FL_ENTITY_FINDING, finding->finding, true) ||
            !mention(w, FL_ENTITY_HOLD, fl_event_hold_of(finding->finding), true) ||
            !mention(w, FL_ENTITY_LOT, finding->lot, false)) {
            return false;
        }
    }
    return mention_lots(w, look->lots);
}

/* The mentions inside lists. */
static bool walk_lists(const walk *w, const fl_event *event)
{
    if (event->kind == FL_KIND_STEP_STARTED) {
        return mention_steps(w, &event->body.step_started.step, 1);
    }
    if (event->kind == FL_KIND_STEP_DONE) {
        return mention_steps(w, event->body.step_done.steps, event->body.step_done.n_steps);
    }
    if (event->kind == FL_KIND_LOT_MOVED) {
        return mention_lots(w, event->body.lot_moved.lots);
    }
    if (event->kind == FL_KIND_LOOK_DONE) {
        return mention_look(w, &event->body.look_done);
    }
    if (event->kind == FL_KIND_ANIMAL_NOTED) {
        return mention(w, FL_ENTITY_HOLD, fl_event_hold_of(event->id), true);
    }
    return true;
}

static bool walk_pass(const walk *w, const fl_event *event)
{
    if (!mention(w, FL_ENTITY_EVENT, event->id, true)) {
        return false;
    }
    for (size_t i = 0; i < sizeof(id_members) / sizeof(id_members[0]); i++) {
        const id_member *member = &id_members[i];
        const fl_id *id = (const fl_id *)((const char *)event + member->offset);
        if (member->kind == event->kind &&
            !mention(w, member->entity, *id, member->is_definition)) {
            return false;
        }
    }
    return walk_lists(w, event);
}

/* Every mention, with repetitions, definitions first. */
static void walk_mentions(const fl_event *event, mention_fn visit, void *context)
{
    walk w = {visit, context, true};
    if (walk_pass(&w, event)) {
        w.is_definition = false;
        (void)walk_pass(&w, event);
    }
}

/* Looks for the wanted mention among the first `left`. */
typedef struct search {
    fl_fact wanted;
    size_t left;
    bool is_found;
} search;

static bool visit_search(void *context, fl_fact found)
{
    search *s = context;
    if (s->left == 0) {
        return false;
    }
    s->left--;
    s->is_found = found.entity == s->wanted.entity && fl_id_eq(found.id, s->wanted.id);
    return !s->is_found;
}

typedef struct collection {
    const fl_event *event;
    fl_fact *facts;
    size_t capacity;
    size_t n_mentions; /* with repetitions */
    size_t count;      /* without */
} collection;

/* True when the mention was made before. Once there are more than facts[] can hold, they are walked
 * again: an event has at most some 1,700 ids, because its size is limited. */
static bool is_repeated(const collection *c, fl_fact found)
{
    search s = {found, c->n_mentions, false};
    if (c->count > c->capacity) {
        walk_mentions(c->event, visit_search, &s);
        return s.is_found;
    }
    for (size_t i = 0; i < c->count; i++) {
        if (c->facts[i].entity == found.entity && fl_id_eq(c->facts[i].id, found.id)) {
            return true;
        }
    }
    return false;
}

static bool visit_collect(void *context, fl_fact found)
{
    collection *c = context;
    bool is_new = !is_repeated(c, found);
    c->n_mentions++;
    if (is_new) {
        if (c->count < c->capacity) {
            c->facts[c->count] = found;
        }
        c->count++;
    }
    return true;
}

fl_status fl_event_facts(const fl_event *event, fl_fact *facts, size_t capacity, size_t *count,
                         fl_err *err)
{
    assert(event->kind < FL_KIND_COUNT);
    collection c = {.event = event, .facts = facts, .capacity = capacity};
    walk_mentions(event, visit_collect, &c);
    *count = c.count;
    if (c.count > capacity) {
        return fl_fail(err, FL_ETOOBIG, "the event mentions %zu things: room for %zu", c.count,
                       capacity);
    }
    return FL_OK;
}

bool fl_animal_is_unwell(const fl_ev_animal_noted *noted)
{
    return noted->what == FL_ANIMAL_ILL || noted->what == FL_ANIMAL_DIED ||
           (noted->what == FL_ANIMAL_TESTED && noted->is_positive);
}

fl_sv fl_event_blob(const fl_event *event)
{
    if (event->kind == FL_KIND_PHOTO_ATTACHED) {
        return event->body.photo_attached.blob;
    }
    return event->kind == FL_KIND_READINGS_IMPORTED ? event->body.readings_imported.blob
                                                    : FL_SV("");
}
