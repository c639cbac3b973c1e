/* Today's weighted sum of released lots against the ceilings of where they went. */
#include "app/recheck.h"

#include <math.h>
#include <stdlib.h>

#include "app/temps.h"
#include "json/json.h"

static double frozen_sum(fl_sv answer_json)
{
    fl_json_doc *doc = NULL;
    double sum = (double)NAN;
    if (answer_json.len == 0 || fl_json_parse(answer_json, &doc, NULL) != FL_OK) {
        return sum;
    }
    if (!fl_json_number(fl_json_get(fl_json_root(doc), "weighted_sum"), &sum)) {
        sum = (double)NAN;
    }
    fl_json_free(doc);
    return sum;
}

/* The release that put the lot where it stands; NULL. */
static const fl_event *release_of(const fl_room *room, const fl_lot *lot)
{
    const fl_event *found = NULL;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOT_RELEASED &&
            fl_id_eq(event->body.lot_released.lot, lot->id) &&
            fl_id_eq(event->body.lot_released.to, lot->place) &&
            event->at_s > room->now_s - FL_RECHECK_DAYS * (int64_t)FL_DAY_S) {
            found = event;
        }
    }
    return found;
}

/* ---- the temperature ---- */

/* How much colder than told the batch says it was, summed over the hours of a stay. */
static void compare_hours(const fl_room *room, const fl_series_batch *batch, const int64_t span[2],
                          double *sum_c, int64_t *n)
{
    const double *told_c = NULL;
    double constant_c = 0.0;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_temps_told(room, batch->place, span, &arena, &told_c, &constant_c);
    for (int64_t h = span[0]; h < span[1]; h++) {
        const fl_series_hour *hour = &batch->hours[h - batch->from_h];
        if (hour->n_temp > 0) {
            *sum_c += (told_c != NULL ? told_c[h - span[0]] : constant_c) -
                      hour->temp_sum_c / hour->n_temp;
            (*n)++;
        }
    }
    fl_arena_done(&arena);
}

static bool is_known_later(const fl_room *room, const fl_series_batch *batch, int64_t release_s)
{
    for (size_t i = 0; i < room->n_events; i++) {
        if (fl_id_eq(room->events[i].id, batch->event)) {
            return room->events[i].at_s > release_s;
        }
    }
    return false;
}

static int64_t larger(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static int64_t smaller(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* True when readings that were taken in after the release say that a stay before it was colder. */
static bool was_colder(const fl_room *room, fl_recheck *r)
{
    const fl_meaning *m = &room->meaning;
    int64_t release_s = r->release->at_s;
    for (size_t i = 0; i < m->n_stays; i++) {
        const fl_stay *stay = &m->stays[i];
        double sum_c = 0.0;
        int64_t n = 0;
        if (!fl_id_eq(stay->lot, r->lot->id) || stay->from_s >= release_s) {
            continue;
        }
        for (size_t k = 0; k < room->n_batches; k++) {
            const fl_series_batch *batch = &room->batches[k];
            int64_t end_h = batch->from_h + (int64_t)batch->n_hours;
            const int64_t span[2] = {larger(batch->from_h, stay->from_s / FL_HOUR_S),
                                     smaller(end_h, smaller(stay->to_s, release_s) / FL_HOUR_S)};
            if (fl_id_eq(batch->place, stay->place) && span[0] < span[1] &&
                is_known_later(room, batch, release_s)) {
                compare_hours(room, batch, span, &sum_c, &n);
            }
        }
        if (n > 0 && sum_c / (double)n >= FL_RECHECK_COLDER_C) {
            r->bin = stay->place;
            r->colder_c = sum_c / (double)n;
            return true;
        }
    }
    return false;
}

/* ---- the chance ---- */

/* Fills in the use that is exceeded most, with its sum and its worst pest. */
static void weigh(const fl_lot_chance *chances, size_t n, unsigned uses, fl_recheck *r)
{
    double most = 0.0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        double sum = 0.0;
        double largest = 0.0;
        const fl_lot_chance *worst = NULL;
        double ceiling = fl_know_use_of((fl_use)use).ceiling;
        for (size_t i = 0; i < n && (uses & 1U << use) != 0; i++) {
            double part = chances[i].threat->weight[use] * chances[i].chance;
            if (!chances[i].is_out_of_reach) {
                sum += part;
                worst = part > largest ? &chances[i] : worst;
                largest = fmax(largest, part);
            }
        }
        if (worst != NULL && sum / ceiling > most) {
            most = sum / ceiling;
            r->use = (fl_use)use;
            r->sum_now = sum;
            r->ceiling = ceiling;
            r->worst = worst->threat;
            r->worst_chance = worst->chance;
        }
    }
}

static bool shows_after_dark(const fl_threat *threat)
{
    for (int i = 0; i < threat->n_stages; i++) {
        if (threat->stage[i].is_night_active) {
            return true;
        }
    }
    return false;
}

/* How many careful looks by eye alone bring it under again. */
static fl_status plan_looks(fl_chances *chances, const fl_room *room, fl_arena *arena,
                            fl_recheck *r, fl_err *err)
{
    fl_looks *looks = NULL;
    fl_looks_plan plan;
    r->under_s = FL_GATE_NEVER;
    fl_status status = fl_looks_open(chances, room, r->lot, 1U << r->use, arena, &looks, err);
    if (status != FL_OK) {
        return status;
    }
    fl_looks_options options = fl_looks_usual(looks);
    options.effort = FL_EFFORT_CAREFUL;
    options.devices = 0;
    status = fl_looks_make_plan(looks, &options, &plan, err);
    if (status == FL_OK && plan.release_s != FL_GATE_NEVER) {
        r->n_looks = plan.n_looks;
        r->under_s = plan.release_s;
    }
    return status;
}

static int compare_rechecks(const void *left, const void *right)
{
    const fl_recheck *a = left;
    const fl_recheck *b = right;
    double over_a = a->sum_now / a->ceiling;
    double over_b = b->sum_now / b->ceiling;
    if (over_a != over_b) {
        return over_a > over_b ? -1 : 1;
    }
    return fl_id_compare(a->lot->id, b->lot->id);
}

static fl_status recheck(fl_chances *chances, const fl_room *room, const fl_lot *lot,
                         fl_arena *arena, fl_recheck *r, fl_err *err)
{
    fl_lot_chance *list = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    size_t n = 0;
    const fl_event *release = lot->is_gone ? NULL : release_of(room, lot);
    const fl_ev_place_set *place = release != NULL ? fl_defs_place(&room->defs, lot->place) : NULL;
    *r = (fl_recheck){.lot = lot, .release = release, .place = place};
    if (place == NULL || place->kind != FL_PLACE_ENCLOSURE || !was_colder(room, r)) {
        return FL_OK;
    }
    fl_status status = fl_chances_of_lot(chances, lot, list, &n, err);
    if (status != FL_OK) {
        return status;
    }
    weigh(list, n, fl_gate_uses_of_place(place), r);
    if (r->sum_now <= r->ceiling) {
        return FL_OK;
    }
    r->sum_then = frozen_sum(release->body.lot_released.answer_json);
    r->is_occupied = place->has_animals;
    r->is_night_look = shows_after_dark(r->worst);
    return FL_OK;
}

/* Keeps the worst of each place: its lots share what can be there. */
static size_t keep_worst(fl_recheck *list, size_t n)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        bool is_new = true;
        for (size_t k = 0; k < kept && is_new; k++) {
            is_new = !fl_id_eq(list[k].place->place, list[i].place->place);
        }
        if (is_new) {
            list[kept++] = list[i];
        }
    }
    return kept;
}

fl_status fl_recheck_list(fl_chances *chances, const fl_room *room, fl_arena *arena,
                          fl_recheck **out, size_t *count, fl_err *err)
{
    const fl_meaning *m = &room->meaning;
    fl_recheck *list = FL_ARENA_ARRAY(arena, fl_recheck, m->n_lots);
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < m->n_lots && status == FL_OK; i++) {
        status = recheck(chances, room, &m->lots[i], arena, &list[n], err);
        n += status == FL_OK && list[n].worst != NULL && list[n].sum_now > list[n].ceiling;
    }
    qsort(list, n, sizeof list[0], compare_rechecks);
    n = keep_worst(list, n);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = plan_looks(chances, room, arena, &list[i], err);
    }
    if (status == FL_OK) {
        *out = list;
        *count = n;
    }
    return status;
}
