/* Lots gathered by plant; for each what the gate would say for every use. */
#include "app/collection.h"

#include <math.h>
#include <stdlib.h>

#include "app/build.h"
#include "app/build_work.h"

/* ---- what a lot is quiet enough for ---- */

static fl_status ask_uses(const fl_room *room, fl_chances *chances, fl_arena *arena,
                          fl_collection_lot *l, fl_err *err)
{
    fl_status status = FL_OK;
    for (int use = 0; use < FL_USE_COUNT && status == FL_OK; use++) {
        fl_gate_now now;
        status = fl_gate_ask_now(chances, room, l->lot, 1U << use, arena, &now, err);
        if (status == FL_OK) {
            l->quiet_for |= now.waits_for_look_only ? 1U << use : 0;
        }
        if (status == FL_OK && use == FL_USE_STOCK && l->is_mother) {
            l->chance_stock = now.sum;
            l->must_look = now.sum > now.ceiling;
        }
    }
    return status;
}

static bool is_in_enclosure(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    return place != NULL && place->kind == FL_PLACE_ENCLOSURE;
}

static void describe(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                     fl_collection_lot *out)
{
    *out = (fl_collection_lot){
        .lot = lot, .is_mother = fl_build_is_mother(room, lot), .phase = fl_phase_of(room, lot)};
    if (out->is_mother) {
        fl_giving_of(room, lot, arena, &out->giving);
    }
}

fl_status fl_collection_ask(const fl_room *room, fl_chances *chances, fl_arena *arena,
                            fl_collection_plant *plant, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < plant->n_lots && status == FL_OK; i++) {
        if (!is_in_enclosure(room, plant->lots[i].lot)) {
            status = ask_uses(room, chances, arena, &plant->lots[i], err);
        }
    }
    plant->is_asked = status == FL_OK;
    return status;
}

/* ---- by plant ---- */

static bool belongs(const fl_room *room, const fl_collection_plant *p, const fl_lot *lot)
{
    if (!fl_id_is_none(p->plant) || !fl_id_is_none(lot->plant)) {
        return fl_id_eq(p->plant, lot->plant);
    }
    return fl_sv_eq_nocase(p->name, fl_room_lot_name(room, lot));
}

static fl_collection_plant *plant_of(const fl_room *room, fl_collection *c, const fl_lot *lot,
                                     fl_arena *arena)
{
    for (size_t i = 0; i < c->n_plants; i++) {
        if (belongs(room, &c->plants[i], lot)) {
            return &c->plants[i];
        }
    }
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    fl_collection_plant *p = &c->plants[c->n_plants++];
    *p = (fl_collection_plant){
        .plant = lot->plant,
        .name = plant != NULL ? plant->name : fl_room_lot_name(room, lot),
        .row = fl_room_plant_row(room, lot),
        .lots = FL_ARENA_ARRAY(arena, fl_collection_lot, room->meaning.n_lots + 1)};
    return p;
}

/* Cuttings ever taken of the plant, and what was lost of them (not what went elsewhere). */
static void count_cuttings(const fl_room *room, fl_collection_plant *p)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOT_CUT) {
            const fl_lot *lot = fl_meaning_lot(&room->meaning, event->body.lot_cut.lot);
            p->n_cut += lot != NULL && belongs(room, p, lot) ? event->body.lot_cut.count : 0;
        } else if (event->kind == FL_KIND_LOT_LOST) {
            const fl_lot *lot = fl_meaning_lot(&room->meaning, event->body.lot_lost.lot);
            const bool is_cut = lot != NULL && lot->origin == FL_KIND_LOT_CUT;
            p->n_lost += is_cut && belongs(room, p, lot) ? event->body.lot_lost.count : 0;
        }
    }
    p->n_lost = p->n_lost > p->n_cut ? p->n_cut : p->n_lost;
}

static void count_mothers(fl_collection_plant *p)
{
    for (size_t i = 0; i < p->n_lots; i++) {
        bool is_new_place = p->lots[i].is_mother;
        p->n_mothers += p->lots[i].is_mother;
        for (size_t k = 0; k < i; k++) {
            is_new_place =
                is_new_place &&
                !(p->lots[k].is_mother && fl_id_eq(p->lots[k].lot->place, p->lots[i].lot->place));
        }
        p->n_mother_places += is_new_place;
    }
    p->has_backup = p->n_mother_places > 1;
}

static int compare_lots(const void *a, const void *b)
{
    const fl_collection_lot *x = a;
    const fl_collection_lot *y = b;
    if (x->is_mother != y->is_mother) {
        return x->is_mother ? -1 : 1;
    }
    const int by_place = fl_id_compare(x->lot->place, y->lot->place);
    return by_place != 0 ? by_place : fl_id_compare(x->lot->id, y->lot->id);
}

static int compare_plants(const void *a, const void *b)
{
    const fl_collection_plant *x = a;
    const fl_collection_plant *y = b;
    const int by_name = fl_sv_compare(x->name, y->name);
    return by_name != 0 ? by_name : fl_id_compare(x->plant, y->plant);
}

void fl_collection_list(const fl_room *room, fl_arena *arena, fl_collection *out)
{
    fl_collection c = {.plants =
                           FL_ARENA_ARRAY(arena, fl_collection_plant, room->meaning.n_lots + 1)};
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (lot->is_gone || fl_form_is_material(lot->form)) {
            continue;
        }
        fl_collection_plant *p = plant_of(room, &c, lot, arena);
        p->count += lot->count;
        describe(room, lot, arena, &p->lots[p->n_lots++]);
    }
    for (size_t i = 0; i < c.n_plants; i++) {
        qsort(c.plants[i].lots, c.plants[i].n_lots, sizeof c.plants[i].lots[0], compare_lots);
        count_mothers(&c.plants[i]);
        count_cuttings(room, &c.plants[i]);
    }
    if (c.n_plants > 1) {
        qsort(c.plants, c.n_plants, sizeof c.plants[0], compare_plants);
    }
    *out = c;
}

fl_status fl_collection_make(const fl_room *room, fl_chances *chances, fl_arena *arena,
                             fl_collection *out, fl_err *err)
{
    fl_collection c;
    fl_status status = FL_OK;
    fl_collection_list(room, arena, &c);
    for (size_t i = 0; i < c.n_plants && status == FL_OK; i++) {
        status = fl_collection_ask(room, chances, arena, &c.plants[i], err);
    }
    if (status == FL_OK) {
        *out = c;
    }
    return status;
}

void fl_collection_success(int64_t n_cut, int64_t n_lost, double *share, double *low, double *high)
{
    static const double z = 1.959963984540054; /* 97.5 % of the normal distribution */
    const double n = (double)n_cut;
    const double p = (double)(n_cut - n_lost) / n;
    const double middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    const double half = z / (1.0 + z * z / n) * sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
    *share = p;
    *low = fmax(0.0, middle - half);
    *high = fmin(1.0, middle + half);
}
