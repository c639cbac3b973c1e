/* Walks up the lineage, each lot only until its child was born. */
#include "app/past.h"

#include <math.h>

#include "core/dip/efficacy.h"

/* One lot of the lineage, and until when its past counts. */
typedef struct ancestor {
    const fl_lot *lot; /* NULL: there is none */
    int64_t until_s;
} ancestor;

static ancestor mother_of(const fl_room *room, ancestor child)
{
    ancestor up = {NULL, child.until_s};
    if (!fl_id_is_none(child.lot->mother)) {
        up.lot = fl_meaning_lot(&room->meaning, child.lot->mother);
    }
    if (child.lot->born_s < up.until_s) {
        up.until_s = child.lot->born_s;
    }
    return up;
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

/* Calls `each` for every step on the lot or its mothers that counts. */
static void each_step(const fl_room *room, const fl_lot *lot,
                      void (*each)(void *context, const fl_ev_step *step, int64_t at_s),
                      void *context)
{
    for (ancestor a = {lot, room->now_s}; a.lot != NULL; a = mother_of(room, a)) {
        for (size_t i = 0; i < room->n_events && room->events[i].at_s <= a.until_s; i++) {
            const fl_event *event = &room->events[i];
            const fl_ev_step_done *done = &event->body.step_done;
            size_t n_steps = event->kind == FL_KIND_STEP_DONE ? done->n_steps : 0;
            for (size_t k = 0; k < n_steps; k++) {
                if (lists(&done->steps[k].lots, a.lot->id)) {
                    each(context, &done->steps[k], event->at_s);
                }
            }
        }
    }
}

/* ---- sprays ---- */

typedef struct spray_list {
    fl_residue_spray *sprays;
    size_t n;
    size_t capacity;
    int64_t now_s;
} spray_list;

static void note_spray(void *context, const fl_ev_step *step, int64_t at_s)
{
    spray_list *list = context;
    double days = (double)(list->now_s - at_s) / FL_DAY_S;
    size_t i = 0;
    if (step->agent != FL_AGENT_PESTICIDE) {
        return;
    }
    while (i < list->n && !fl_sv_eq_nocase(list->sprays[i].active, step->product)) {
        i++;
    }
    if (i < list->n) { /* again: the last time counts */
        list->sprays[i].days_since = fmin(list->sprays[i].days_since, days);
    } else if (list->n < list->capacity) {
        list->sprays[list->n++] = (fl_residue_spray){.active = step->product, .days_since = days};
    }
}

size_t fl_past_sprays(const fl_room *room, const fl_lot *lot, fl_residue_spray *sprays,
                      size_t capacity)
{
    spray_list list = {.sprays = sprays, .capacity = capacity, .now_s = room->now_s};
    each_step(room, lot, note_spray, &list);
    return list.n;
}

/* ---- animals ---- */

/* A bleach dip at a strength and time that was tested against each disease of amphibians. Where
 * only the share of product was told, 5 parts in 100 are taken for the tested 3 (household bleach
 * down to 3.6 % gives the strength). */
static bool is_tested_dip(const fl_ev_step *step)
{
    static const char *const diseases[] = {"bd", "ranavirus"};
    fl_dip_bath bath = {.agent = step->agent,
                        .strength = step->dose_mg_per_l,
                        .product_pct_by_volume = isnan(step->pct) ? 3.0 : step->pct,
                        .minutes = step->minutes};
    if (step->step != FL_STEP_DIP || step->agent != FL_AGENT_BLEACH) {
        return false;
    }
    if (isnan(step->dose_mg_per_l)) {
        return step->pct >= 5.0 && step->minutes >= 1.0;
    }
    for (size_t i = 0; i < sizeof diseases / sizeof diseases[0]; i++) {
        fl_efficacy found = fl_dip_efficacy(&bath, fl_sv_from_cstr(diseases[i]));
        if (found.outcome != FL_EFFICACY_KILLS) {
            return false;
        }
    }
    return true;
}

static void note_dip(void *context, const fl_ev_step *step, int64_t at_s)
{
    int64_t *last_s = context;
    if (is_tested_dip(step) && at_s > *last_s) {
        *last_s = at_s;
    }
}

/* What is gathered on the way up. */
typedef struct exposure {
    fl_pathogen_facts *facts;
    bool was_anywhere;
    int64_t last_s; /* when it was last with animals, or bought where there are */
} exposure;

static void expose(exposure *e, int64_t until_s)
{
    e->was_anywhere = true;
    e->last_s = until_s > e->last_s ? until_s : e->last_s;
}

/* True when an animal of this place died, or tested positive, at any time: it may have been ill for
 * long, or the place may have stayed so. */
static bool had_sick_animals(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_animal_noted *a = &event->body.animal_noted;
        if (event->kind == FL_KIND_ANIMAL_NOTED && fl_id_eq(a->place, place) &&
            (a->what == FL_ANIMAL_TESTED ? a->is_positive : a->what == FL_ANIMAL_DIED)) {
            return true;
        }
    }
    return false;
}

/* What lived in a place at any moment of a span: the definition that held when it began (or the
 * first ever) and all that came within. */
static void who_lived_there(const fl_room *room, fl_id place, int64_t from_s, int64_t to_s,
                            bool *any, bool *frogs)
{
    const fl_ev_place_set *held = NULL;
    *any = *frogs = false;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_place_set *set = &event->body.place_set;
        if (event->kind != FL_KIND_PLACE_SET || !fl_id_eq(set->place, place)) {
            continue;
        }
        if (event->at_s > to_s && held != NULL) {
            break;
        }
        if (event->at_s <= from_s || held == NULL) {
            *any = *frogs = false; /* what held before is over when the span begins */
        }
        held = set;
        *any = *any || set->has_animals;
        *frogs = *frogs || (set->has_animals && (set->uses & (1U << FL_USE_AMPHIBIAN)) != 0);
    }
}

static void note_stays(const fl_room *room, ancestor a, exposure *e)
{
    for (size_t i = 0; i < room->meaning.n_stays; i++) {
        const fl_stay *stay = &room->meaning.stays[i];
        bool any = false;
        bool frogs = false;
        if (!fl_id_eq(stay->lot, a.lot->id) || stay->from_s > a.until_s) {
            continue;
        }
        int64_t to_s = stay->to_s < a.until_s ? stay->to_s : a.until_s;
        who_lived_there(room, stay->place, stay->from_s, to_s, &any, &frogs);
        if (any) {
            expose(e, to_s);
            e->facts->was_in_occupied = true;
            e->facts->was_with_amphibians |= frogs;
            e->facts->has_positive |= had_sick_animals(room, stay->place);
        }
    }
}

void fl_past_animals(const fl_room *room, const fl_lot *lot, fl_pathogen_facts *out)
{
    exposure e = {.facts = out, .last_s = INT64_MIN};
    int64_t dipped_s = INT64_MIN;
    const fl_lot *origin = fl_room_origin_of(room, lot);
    *out = (fl_pathogen_facts){.is_sterile = origin->form == FL_FORM_TISSUE_CULTURE ||
                                             origin->form == FL_FORM_SEED};
    for (ancestor a = {lot, room->now_s}; a.lot != NULL; a = mother_of(room, a)) {
        const fl_ev_source_set *source = fl_defs_source(&room->defs, a.lot->source);
        bool is_bought = a.lot->origin == FL_KIND_LOT_ARRIVED && source != NULL;
        if (is_bought && source->has_animals_with_plants) {
            out->source_keeps_animals = true;
            expose(&e, a.lot->born_s);
        }
        if (is_bought && source->kind == FL_SOURCE_OUTDOORS) {
            out->is_from_outdoors = true;
            expose(&e, a.lot->born_s);
        }
        note_stays(room, a, &e);
    }
    each_step(room, lot, note_dip, &dipped_s);
    out->was_disinfected = e.was_anywhere && dipped_s >= e.last_s;
}
