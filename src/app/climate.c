/* Gathers light, air and water by place. */
#include "app/climate.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/air/air.h"
#include "core/air/heat.h"
#include "core/air/water.h"
#include "core/mix/watering.h"

/* ---- light ---- */

static bool stands_in(const fl_lot *lot, fl_id place)
{
    return !lot->is_gone && fl_id_eq(lot->place, place);
}

static void gather_plants(const fl_room *room, fl_arena *arena, fl_climate_place *p)
{
    const fl_meaning *m = &room->meaning;
    p->plants = FL_ARENA_ARRAY(arena, fl_climate_plant, m->n_lots);
    p->want = (fl_light_band){(double)NAN, (double)NAN, false};
    p->air_want = fl_air_want_none();
    for (size_t i = 0; i < m->n_lots; i++) {
        const fl_lot *lot = &m->lots[i];
        if (!stands_in(lot, p->place->place) || fl_form_is_material(lot->form)) {
            continue;
        }
        const fl_ev_plant_set *set = fl_defs_plant(&room->defs, lot->plant);
        fl_climate_plant *plant = &p->plants[p->n_plants++];
        *plant = (fl_climate_plant){.lot = lot, .plant = fl_room_plant_row(room, lot)};
        plant->is_thriving = set != NULL && set->is_thriving;
        plant->band = fl_climate_band_of(plant->plant);
        plant->state = fl_climate_judge(plant->plant, plant->is_thriving, p->light.dli_mol_m2_d);
        p->light_states |= 1U << plant->state;
        fl_air_want_add(&p->air_want, plant->plant);
        if (!plant->is_thriving) {
            p->want.low = fmax(p->want.low, plant->band.low);
            p->want.high = fmin(p->want.high, plant->band.high);
        }
    }
}

static bool is_off(const fl_climate_place *p)
{
    return (p->light_states & (1U << FL_LIGHT_DARK | 1U << FL_LIGHT_BRIGHT)) != 0;
}

/* True when every plant of `a` would fit, or thrives, under the light of `b`. */
static bool would_fit(const fl_climate_place *a, const fl_climate_place *b)
{
    for (size_t i = 0; i < a->n_plants; i++) {
        fl_light_state state = fl_climate_judge(a->plants[i].plant, false, b->light.dli_mol_m2_d);
        if (state == FL_LIGHT_DARK || state == FL_LIGHT_BRIGHT) {
            return false;
        }
    }
    return true;
}

static bool can_swap(const fl_climate_place *a, const fl_climate_place *b)
{
    bool both_move = a->place->kind != FL_PLACE_ENCLOSURE && b->place->kind != FL_PLACE_ENCLOSURE;
    return a != b && both_move && a->light.basis != FL_BASIS_DEFAULT &&
           b->light.basis != FL_BASIS_DEFAULT && would_fit(a, b) && would_fit(b, a);
}

static void find_swaps(fl_climate *c)
{
    for (size_t i = 0; i < c->n_places; i++) {
        fl_climate_place *p = &c->places[i];
        for (size_t k = 0; k < c->n_places && is_off(p) && p->swap == NULL; k++) {
            if (can_swap(p, &c->places[k])) {
                p->swap = c->places[k].place;
            }
        }
    }
}

/* ---- air ---- */

/* The last days' hours of a series. */
static void judge_air(const fl_room *room, fl_climate_place *p)
{
    enum { N = FL_AIR_DAYS * 24 };
    double temp_c[N];
    double rh_pct[N];
    int64_t first_h = room->now_s / FL_HOUR_S - N + 1;
    for (int i = 0; i < N; i++) {
        int64_t h = first_h + i - (p->series != NULL ? p->series->from_h : 0);
        bool is_in = p->series != NULL && h >= 0 && h < (int64_t)p->series->n_hours;
        temp_c[i] = is_in ? p->series->temp_c[h] : (double)NAN;
        rh_pct[i] = is_in ? p->series->rh_pct[h] : (double)NAN;
    }
    fl_air_days_of(temp_c, rh_pct, N, &p->air_want, &p->days);
    p->air_states = fl_air_judge(&p->days);
}

/* Around the boxes: the mean of a bench's or open spot's last days, what was told of one, or 21. */
static double room_temp_c(const fl_room *room)
{
    double told_c = (double)NAN;
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        const fl_series *series = fl_room_series(room, place->place);
        bool is_open = place->kind == FL_PLACE_BENCH || place->kind == FL_PLACE_OPEN_SPOT;
        if (!is_open || place->is_retired) {
            continue;
        }
        if (series != NULL && series->n_hours > 0) {
            double last_c = series->temp_c[series->n_hours - 1];
            bool is_fresh = series->from_h + (int64_t)series->n_hours >
                            room->now_s / FL_HOUR_S - FL_AIR_DAYS * 24;
            if (is_fresh && !isnan(last_c)) {
                return last_c;
            }
        }
        if (isnan(told_c) || place->kind == FL_PLACE_BENCH) {
            told_c = isnan(place->set_temp_c) ? told_c : place->set_temp_c;
        }
    }
    return isnan(told_c) ? FL_CLIMATE_ROOM_C : told_c;
}

/* A box that is twice as long as high and as wide as high, when its sides were not told. */
static double wall_area_m2(const fl_climate_place *p)
{
    double volume_m3 = p->place->volume_l / 1000.0;
    double length_m = p->facts.length_mm / 1000.0;
    double width_m = p->facts.width_mm / 1000.0;
    if (length_m <= 0.0 || width_m <= 0.0) {
        double side_m = cbrt(volume_m3 / 2.0);
        return 10.0 * side_m * side_m;
    }
    double height_m = volume_m3 / (length_m * width_m);
    return 2.0 * (length_m * width_m + length_m * height_m + width_m * height_m);
}

static void judge_heat(fl_climate_place *p)
{
    fl_box_heat heat;
    p->warmer_k = (double)NAN;
    if (!p->is_closed || !(p->place->volume_l > 0.0)) {
        return;
    }
    double wall_m2 = wall_area_m2(p);
    double lit_m2 = p->facts.length_mm > 0.0 && p->facts.width_mm > 0.0
                        ? p->facts.length_mm * p->facts.width_mm / 1e6
                        : wall_m2 / 5.0;
    const fl_box_heat_in in = {.lit_m2 = lit_m2,
                               .ppfd_umol_m2_s = fmin(p->light.ppfd_umol_m2_s, 5000.0),
                               .mat_watts = p->facts.mat_watts,
                               .transmittance = 1.0,
                               .wall_m2 = wall_m2,
                               .u_w_m2_k = FL_BOX_U_DEFAULT};
    if (fl_box_heat_of(&in, &heat, NULL) == FL_OK) {
        p->warmer_k = heat.warmer_k;
    }
}

/* ---- water ---- */

static double days_of(const fl_bin_water *water)
{
    return water->loses_water ? water->days_to_water : HUGE_VAL;
}

static void judge_water(fl_climate_place *p)
{
    fl_climate_water *w = &p->water;
    fl_bin_water low;
    fl_bin_water high;
    fl_first_water first;
    double inside_c = isnan(p->days.temp_mean_c)
                          ? (isnan(p->place->set_temp_c) ? p->room_c : p->place->set_temp_c)
                          : p->days.temp_mean_c;
    double inside_pct = isnan(p->days.rh_mean_pct) ? FL_CLIMATE_BOX_RH_PCT : p->days.rh_mean_pct;
    if (!p->is_closed || !(p->place->volume_l > 0.0)) {
        return;
    }
    w->is_mix_told = p->facts.mix_l > 0.0;
    w->mix_l = w->is_mix_told ? p->facts.mix_l : p->place->volume_l * FL_CLIMATE_MIX_SHARE;
    fl_bin_water_in in = {.volume_l = fmax(p->place->volume_l - w->mix_l, 0.1),
                          .inside_c = inside_c,
                          .inside_rh_pct = fmax(fmin(inside_pct, 100.0), 1.0),
                          .room_c = p->room_c,
                          .room_rh_pct = FL_CLIMATE_ROOM_RH_PCT,
                          .exchange_per_h =
                              p->place->has_gasket ? FL_CLIMATE_TIGHT_LOW : FL_CLIMATE_LOOSE_LOW,
                          .mix_l = fmin(w->mix_l, 10000.0),
                          .water_fraction = FL_CLIMATE_WATER,
                          .use_share = FL_CLIMATE_USE_SHARE};
    bool is_fine = fl_bin_water_of(&in, &low, NULL) == FL_OK;
    in.exchange_per_h = p->place->has_gasket ? FL_CLIMATE_TIGHT_HIGH : FL_CLIMATE_LOOSE_HIGH;
    is_fine = is_fine && fl_bin_water_of(&in, &high, NULL) == FL_OK &&
              fl_first_water_of(in.mix_l, FL_WATER_CAPACITY_DEFAULT, 0.0, &first, NULL) == FL_OK;
    if (is_fine) {
        w->is_known = true;
        w->loss_low_g_per_day = low.loss_g_per_day;
        w->loss_high_g_per_day = high.loss_g_per_day;
        w->days_low = days_of(&high);
        w->days_high = days_of(&low);
        w->first_low_ml = first.closed_low_ml;
        w->first_high_ml = first.closed_high_ml;
    }
}

/* ---- a place ---- */

static fl_climate_rank rank_of(const fl_climate_place *p)
{
    const unsigned harm = 1U << FL_AIR_COLD | 1U << FL_AIR_HOT;
    const unsigned off = 1U << FL_AIR_COOL | 1U << FL_AIR_WARM | 1U << FL_AIR_DRY;
    if ((p->air_states & harm) != 0) {
        return FL_CLIMATE_ACT;
    }
    if ((p->air_states & off) != 0 || (is_off(p) && p->light.basis != FL_BASIS_DEFAULT)) {
        return FL_CLIMATE_WATCH;
    }
    bool is_told = p->series != NULL || p->light.basis != FL_BASIS_DEFAULT;
    return is_told ? FL_CLIMATE_FINE : FL_CLIMATE_UNTOLD;
}

static bool is_wanted(const fl_room *room, const fl_ev_place_set *place)
{
    fl_climate_facts facts;
    if (place->is_retired) {
        return false;
    }
    switch (place->kind) {
    case FL_PLACE_BIN:
    case FL_PLACE_JAR:
    case FL_PLACE_OPEN_SPOT:
        return true;
    case FL_PLACE_BENCH:
    case FL_PLACE_ENCLOSURE:
        fl_climate_facts_of(room->events, room->n_events, place->place, &facts);
        return fl_room_series(room, place->place) != NULL || facts.is_lamp_told;
    case FL_PLACE_OUTSIDE:
    case FL_PLACE_COUNT:
    default:
        return false;
    }
}

static fl_status look_at(const fl_room *room, const fl_ev_place_set *place, double room_c,
                         fl_arena *arena, fl_climate_place *p, fl_err *err)
{
    fl_air around;
    *p = (fl_climate_place){.place = place,
                            .is_closed = place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR,
                            .series = fl_room_series(room, place->place),
                            .room_c = room_c};
    fl_climate_facts_of(room->events, room->n_events, place->place, &p->facts);
    fl_status status = fl_climate_light(&p->facts, p->is_closed, &p->light, err);
    if (status != FL_OK) {
        return status;
    }
    gather_plants(room, arena, p);
    fl_climate_change(&p->facts, &p->light, &p->want, &p->change);
    judge_air(room, p);
    judge_heat(p);
    judge_water(p);
    p->is_lid_wet = p->is_closed && !isnan(p->days.dew_point_c) && p->days.dew_point_c > room_c &&
                    fl_air_of(room_c, FL_CLIMATE_ROOM_RH_PCT, &around, NULL) == FL_OK;
    p->rank = rank_of(p);
    return FL_OK;
}

fl_status fl_climate_of_place(const fl_room *room, const fl_ev_place_set *place, fl_arena *arena,
                              fl_climate_place *out, fl_err *err)
{
    return look_at(room, place, room_temp_c(room), arena, out, err);
}

static int compare_places(const void *left, const void *right)
{
    const fl_climate_place *a = left;
    const fl_climate_place *b = right;
    if (a->rank != b->rank) {
        return a->rank > b->rank ? -1 : 1;
    }
    if (a->place->shelf != b->place->shelf) {
        return a->place->shelf < b->place->shelf ? -1 : 1;
    }
    int by_name = fl_sv_compare(a->place->name, b->place->name);
    return by_name != 0 ? by_name : memcmp(a->place->place.b, b->place->place.b, sizeof(fl_id));
}

/* ---- shelves ---- */

static bool is_on(const fl_climate_shelf *shelf, const fl_climate_place *p)
{
    return p->place->shelf == shelf->shelf && fl_climate_same_lamp(&p->facts.lamp, &shelf->lamp);
}

/* Around the lamp and all that stands below it, with a hand's breadth to spare. */
static void frame(fl_climate_shelf *shelf)
{
    fl_light_grid *g = &shelf->grid;
    double half = shelf->lamp.length_mm / 2.0;
    *g = (fl_light_grid){.from_along_mm = -half,
                         .to_along_mm = half,
                         .from_across_mm = -200.0,
                         .to_across_mm = 200.0,
                         .n_along = FL_CLIMATE_GRID_ALONG,
                         .n_across = FL_CLIMATE_GRID_ACROSS};
    for (size_t i = 0; i < shelf->n_places; i++) {
        const fl_climate_facts *f = &shelf->places[i]->facts;
        double along = (f->length_mm > 0.0 ? f->length_mm : 400.0) / 2.0;
        double across = (f->width_mm > 0.0 ? f->width_mm : 300.0) / 2.0;
        g->from_along_mm = fmin(g->from_along_mm, f->lamp.along_mm - along);
        g->to_along_mm = fmax(g->to_along_mm, f->lamp.along_mm + along);
        g->from_across_mm = fmin(g->from_across_mm, f->lamp.across_mm - across);
        g->to_across_mm = fmax(g->to_across_mm, f->lamp.across_mm + across);
    }
}

static int compare_along(const void *left, const void *right)
{
    const fl_climate_place *a = *(const fl_climate_place *const *)left;
    const fl_climate_place *b = *(const fl_climate_place *const *)right;
    double x = a->facts.lamp.along_mm;
    double y = b->facts.lamp.along_mm;
    return x != y ? (x < y ? -1 : 1) : fl_sv_compare(a->place->name, b->place->name);
}

static int compare_shelves(const void *left, const void *right)
{
    const fl_climate_shelf *a = left;
    const fl_climate_shelf *b = right;
    return (a->shelf > b->shelf) - (a->shelf < b->shelf);
}

static fl_climate_shelf *shelf_for(fl_climate *c, const fl_climate_place *p, fl_arena *arena)
{
    for (size_t i = 0; i < c->n_shelves; i++) {
        if (is_on(&c->shelves[i], p)) {
            return &c->shelves[i];
        }
    }
    fl_climate_shelf *shelf = &c->shelves[c->n_shelves++];
    *shelf =
        (fl_climate_shelf){.shelf = p->place->shelf,
                           .lamp = p->facts.lamp,
                           .is_default = !p->facts.is_lamp_told,
                           .places = FL_ARENA_ARRAY(arena, const fl_climate_place *, c->n_places)};
    return shelf;
}

static fl_status map_shelves(fl_climate *c, fl_arena *arena, fl_err *err)
{
    fl_status status = FL_OK;
    c->shelves = FL_ARENA_ARRAY(arena, fl_climate_shelf, c->n_places);
    for (size_t i = 0; i < c->n_places; i++) {
        const fl_climate_place *p = &c->places[i];
        if (p->facts.is_lamp_told) {
            fl_climate_shelf *shelf = shelf_for(c, p, arena);
            shelf->places[shelf->n_places++] = p;
        }
    }
    qsort(c->shelves, c->n_shelves, sizeof c->shelves[0], compare_shelves);
    for (size_t i = 0; i < c->n_shelves && status == FL_OK; i++) {
        fl_climate_shelf *shelf = &c->shelves[i];
        qsort(shelf->places, shelf->n_places, sizeof(const fl_climate_place *), compare_along);
        frame(shelf);
        shelf->lux = FL_ARENA_ARRAY(arena, double, FL_CLIMATE_GRID_ALONG *FL_CLIMATE_GRID_ACROSS);
        status = fl_climate_grid(&shelf->lamp, &shelf->grid, shelf->lux, err);
    }
    return status;
}

/* ---- the room ---- */

fl_status fl_climate_of_room(const fl_room *room, fl_arena *arena, fl_climate *out, fl_err *err)
{
    fl_climate c = {.places = FL_ARENA_ARRAY(arena, fl_climate_place, room->defs.places.count)};
    double room_c = room_temp_c(room);
    fl_status status = FL_OK;
    for (size_t i = 0; i < room->defs.places.count && status == FL_OK; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        if (is_wanted(room, place)) {
            status = look_at(room, place, room_c, arena, &c.places[c.n_places++], err);
        }
    }
    if (status == FL_OK) {
        find_swaps(&c);
        qsort(c.places, c.n_places, sizeof c.places[0], compare_places);
        status = map_shelves(&c, arena, err);
    }
    if (status == FL_OK) {
        *out = c;
    }
    return status;
}

const fl_climate_place *fl_climate_find(const fl_climate *climate, fl_id place)
{
    for (size_t i = 0; i < climate->n_places; i++) {
        if (fl_id_eq(climate->places[i].place->place, place)) {
            return &climate->places[i];
        }
    }
    return NULL;
}
