/* Gathers what is known of a place and of each plant, and has them judged. */
#include "app/suits.h"

#include <math.h>
#include <stdlib.h>

/* ---- the place ---- */

static double told_mm(double side_mm)
{
    return side_mm > 0.0 ? side_mm : (double)NAN;
}

static void take_light(const fl_climate_place *p, fl_suits_site *site)
{
    site->dli_mol_m2_d = p->light.basis == FL_BASIS_DEFAULT ? (double)NAN : p->light.dli_mol_m2_d;
    site->light_basis = p->light.basis == FL_BASIS_READING   ? FL_SUITS_MEASURED
                        : p->light.basis == FL_BASIS_DEFAULT ? FL_SUITS_UNTOLD
                                                             : FL_SUITS_TOLD;
}

static void take_air(const fl_climate_place *p, fl_suits_site *site)
{
    const bool has_rh = p->days.n_rh >= FL_AIR_HOURS_LEAST;
    const bool has_temp = p->days.n_temp >= FL_AIR_HOURS_LEAST;
    const bool is_temp_told = !isnan(p->place->set_temp_c);
    site->rh_pct = has_rh                  ? p->days.rh_mean_pct
                   : p->facts.rh_pct > 0.0 ? p->facts.rh_pct
                                           : (double)NAN;
    site->rh_basis = has_rh                  ? FL_SUITS_MEASURED
                     : p->facts.rh_pct > 0.0 ? FL_SUITS_TOLD
                                             : FL_SUITS_UNTOLD;
    site->temp_min_c = has_temp ? p->days.temp_min_c : p->place->set_temp_c;
    site->temp_mean_c = has_temp ? p->days.temp_mean_c : p->place->set_temp_c;
    site->temp_max_c = has_temp ? p->days.temp_max_c : p->place->set_temp_c;
    site->temp_basis = has_temp       ? FL_SUITS_MEASURED
                       : is_temp_told ? FL_SUITS_TOLD
                                      : FL_SUITS_UNTOLD;
}

/* What was told of its sides; a height that was not told follows from its litres. The depth of the
 * mix in it is taken off where that is known. */
static void take_size(const fl_climate_place *p, fl_suits_site *site)
{
    const fl_climate_facts *f = &p->facts;
    site->length_mm = told_mm(f->length_mm);
    site->width_mm = told_mm(f->width_mm);
    site->height_mm = told_mm(f->height_mm);
    const double floor_mm2 = site->length_mm * site->width_mm;
    if (isnan(site->height_mm) && p->place->volume_l > 0.0) {
        site->height_mm = p->place->volume_l * 1e6 / floor_mm2;
    }
    if (f->mix_l > 0.0 && !isnan(floor_mm2)) {
        site->height_mm = fmax(0.0, site->height_mm - f->mix_l * 1e6 / floor_mm2);
    }
}

static void take_animals(unsigned uses, bool has_animals, fl_suits_site *site)
{
    const unsigned alive =
        1U << FL_USE_REPTILE | 1U << FL_USE_INVERTEBRATE | 1U << FL_USE_AMPHIBIAN;
    site->has_animals = has_animals || (uses & alive) != 0;
    site->may_eat_leaves = (uses & 1U << FL_USE_REPTILE) != 0;
}

static fl_suits_site unknown_site(void)
{
    const double untold = (double)NAN;
    return (fl_suits_site){.dli_mol_m2_d = untold,
                           .rh_pct = untold,
                           .temp_min_c = untold,
                           .temp_mean_c = untold,
                           .temp_max_c = untold,
                           .length_mm = untold,
                           .width_mm = untold,
                           .height_mm = untold};
}

static fl_status look_at_place(const fl_room *room, const fl_ev_place_set *place, fl_arena *arena,
                               fl_suits_site *site, fl_err *err)
{
    fl_climate_place p;
    const fl_status status = fl_climate_of_place(room, place, arena, &p, err);
    if (status == FL_OK) {
        take_light(&p, site);
        take_air(&p, site);
        take_size(&p, site);
        take_animals(place->uses, place->has_animals, site);
        site->is_closed = p.is_closed || place->has_gasket;
    }
    return status;
}

/* ---- the plants ---- */

static void judge(const fl_suits_site *site, fl_suits_kind *kind)
{
    kind->more = fl_suits_plant_of(kind->row);
    for (int aspect = 0; aspect < FL_SUITS_ASPECTS; aspect++) {
        kind->state[aspect] =
            fl_suits_judge((fl_suits_aspect)aspect, kind->row, site, kind->is_thriving);
    }
    kind->whole = fl_suits_whole(kind->state);
}

static bool is_thriving(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    return plant != NULL && plant->is_thriving;
}

/* The lot of that plant that stands in the place; NULL. */
static const fl_lot *standing(const fl_room *room, fl_id place, fl_id plant,
                              const fl_know_plant *row)
{
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const bool is_it = (!fl_id_is_none(plant) && fl_id_eq(lot->plant, plant)) ||
                           (row != NULL && fl_room_plant_row(room, lot) == row);
        if (!lot->is_gone && fl_id_eq(lot->place, place) && is_it) {
            return lot;
        }
    }
    return NULL;
}

static fl_suits_kind kind_named(const fl_room *room, fl_id place, fl_sv name, fl_arena *arena)
{
    const fl_ev_plant_set *plant = NULL;
    fl_err none;
    fl_suits_kind kind = {.name = fl_arena_copy_sv(arena, name)};
    kind.row = fl_know_plant_find(name);
    if (fl_room_find_plant(room, name, &plant, &none) == FL_OK) {
        const fl_know_plant *by_taxon = fl_know_plant_find(plant->taxon);
        const fl_know_plant *by_name = fl_know_plant_find(plant->name);
        kind.row = by_taxon != NULL ? by_taxon : by_name != NULL ? by_name : kind.row;
        kind.name = plant->name;
    }
    kind.lot = standing(room, place, plant != NULL ? plant->plant : (fl_id){{0}}, kind.row);
    kind.is_thriving = kind.lot != NULL && is_thriving(room, kind.lot);
    return kind;
}

static bool is_same_kind(const fl_suits_kind *kind, const fl_lot *lot, fl_sv name)
{
    return fl_id_is_none(lot->plant) ? fl_sv_eq_nocase(kind->name, name)
                                     : fl_id_eq(kind->lot->plant, lot->plant);
}

static void gather_standing(const fl_room *room, fl_id place, fl_suits *s)
{
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        bool is_new =
            !lot->is_gone && fl_id_eq(lot->place, place) && !fl_form_is_material(lot->form);
        const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
        const fl_sv name = plant != NULL ? plant->name : fl_room_lot_name(room, lot);
        for (size_t k = 0; k < s->n_kinds && is_new; k++) {
            is_new = !is_same_kind(&s->kinds[k], lot, name);
        }
        if (is_new) {
            s->kinds[s->n_kinds++] = (fl_suits_kind){.name = name,
                                                     .row = fl_room_plant_row(room, lot),
                                                     .lot = lot,
                                                     .is_thriving = is_thriving(room, lot)};
        }
    }
}

static int compare_kinds(const void *left, const void *right)
{
    const fl_suits_kind *a = left;
    const fl_suits_kind *b = right;
    if (a->whole != b->whole) {
        return a->whole > b->whole ? -1 : 1;
    }
    return fl_sv_compare(a->name, b->name);
}

fl_status fl_suits_of_place(const fl_room *room, const fl_ev_place_set *place, const fl_sv *names,
                            size_t n_names, fl_arena *arena, fl_suits *out, fl_err *err)
{
    fl_suits s = {.place = place, .uses = place->uses, .site = unknown_site()};
    if (place->kind == FL_PLACE_OUTSIDE) {
        return fl_fail(err, FL_EINVAL, "%.*s is outside: what it is like there is not told",
                       FL_SV_ARG(place->name));
    }
    const fl_status status = look_at_place(room, place, arena, &s.site, err);
    if (status != FL_OK) {
        return status;
    }
    s.kinds = FL_ARENA_ARRAY(arena, fl_suits_kind, room->meaning.n_lots + n_names + 1);
    for (size_t i = 0; i < n_names; i++) {
        s.kinds[s.n_kinds++] = kind_named(room, place->place, names[i], arena);
    }
    if (n_names == 0) {
        gather_standing(room, place->place, &s);
    }
    for (size_t i = 0; i < s.n_kinds; i++) {
        judge(&s.site, &s.kinds[i]);
    }
    if (n_names == 0) {
        qsort(s.kinds, s.n_kinds, sizeof s.kinds[0], compare_kinds);
    }
    *out = s;
    return FL_OK;
}

/* The plan's own measures win over the enclosure's: it may be built anew. */
static void take_plan(const fl_build *build, fl_suits_site *site)
{
    if (!isnan(build->length_mm)) {
        const double layers_mm = (isnan(build->substrate_mm) ? 0.0 : build->substrate_mm) +
                                 (isnan(build->drainage_mm) ? 0.0 : build->drainage_mm);
        site->length_mm = build->length_mm;
        site->width_mm = build->width_mm;
        site->height_mm = fmax(0.0, build->height_mm - layers_mm);
    }
    take_animals(build->uses, site->has_animals, site);
}

fl_status fl_suits_of_build(const fl_room *room, const fl_build *build, fl_arena *arena,
                            fl_suits *out, fl_err *err)
{
    fl_suits s = {.place = fl_defs_place(&room->defs, build->body->enclosure),
                  .uses = build->uses,
                  .site = unknown_site()};
    fl_status status = FL_OK;
    if (s.place != NULL && s.place->kind != FL_PLACE_OUTSIDE) {
        status = look_at_place(room, s.place, arena, &s.site, err);
    }
    if (status != FL_OK) {
        return status;
    }
    take_plan(build, &s.site);
    s.kinds = FL_ARENA_ARRAY(arena, fl_suits_kind, build->n_items + 1);
    for (size_t i = 0; i < build->n_items; i++) {
        const fl_build_item *item = &build->items[i];
        fl_suits_kind *kind = &s.kinds[s.n_kinds++];
        *kind = (fl_suits_kind){.name = item->name, .row = item->row};
        if (s.place != NULL) {
            kind->lot = standing(room, s.place->place, item->plant, item->row);
            kind->is_thriving = kind->lot != NULL && is_thriving(room, kind->lot);
        }
        judge(&s.site, kind);
    }
    *out = s;
    return FL_OK;
}
