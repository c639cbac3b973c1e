/* Weighted sums of mothers against the ceiling of stock, by place. */
#include "app/mothers.h"

#include <math.h>
#include <stdlib.h>

#include "app/build.h"
#include "app/build_work.h"
#include "app/looks.h"
#include "app/routine.h"

/* How well the best visible stage shows at an effort. */
static double shows(const fl_threat *threat, fl_effort effort, unsigned devices)
{
    double best = 0.0;
    for (int i = 0; i < threat->n_stages; i++) {
        best = fmax(best, fl_know_detect(threat, i, effort, devices, false));
    }
    return best;
}

/* The chance of a threat but for what the room itself let in. */
static fl_status without_room(fl_chances *chances, const fl_lot *lot, const fl_lot_chance *own,
                              fl_arena *arena, double *out, fl_err *err)
{
    fl_reason *reasons = NULL;
    size_t n = 0;
    double none = 1.0 - own->chance;
    fl_status status = fl_chances_reasons(chances, lot, own->threat, arena, &reasons, &n, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        if (reasons[i].kind == FL_ROOT_ROOM && reasons[i].chance < 1.0) {
            none = fmin(1.0, none / (1.0 - reasons[i].chance));
        }
    }
    *out = 1.0 - none;
    return status;
}

/* *is_over: above the ceiling, and under it but for the room. */
static fl_status weigh(fl_chances *chances, const fl_lot *lot, fl_arena *arena,
                       fl_mothers_look *look, bool *is_over, fl_err *err)
{
    fl_lot_chance *list = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    size_t n = 0;
    double largest = 0.0;
    double brought = 0.0;
    fl_status status = fl_chances_of_lot(chances, lot, list, &n, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        double weight = list[i].threat->weight[FL_USE_STOCK];
        if (!list[i].is_out_of_reach) {
            look->sum += weight * list[i].chance;
            look->worst = weight * list[i].chance > largest ? list[i].threat : look->worst;
            largest = fmax(largest, weight * list[i].chance);
        }
    }
    for (size_t i = 0; i < n && status == FL_OK && look->sum > look->ceiling; i++) {
        double without = 0.0;
        if (!list[i].is_out_of_reach) {
            status = without_room(chances, lot, &list[i], arena, &without, err);
            brought += list[i].threat->weight[FL_USE_STOCK] * without;
        }
    }
    *is_over = look->sum > look->ceiling && brought <= look->ceiling;
    return status;
}

static bool needs_roots(const fl_room *room, const fl_mothers_look *look)
{
    unsigned devices = fl_devices_in(room, look->place);
    return shows(look->worst, room->round_effort, devices) < FL_GUARD_DETECT &&
           shows(look->worst, FL_EFFORT_ROOTS, devices) >= FL_GUARD_DETECT;
}

static int64_t due_at(const fl_room *room, fl_id place)
{
    int64_t from_s = fl_routine_stands_since(room, place);
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place) &&
            event->at_s <= room->now_s && event->at_s > from_s) {
            from_s = event->at_s;
        }
    }
    int64_t noon_s = fl_civil_noon(from_s, room->tz_offset_min) + FL_MOTHERS_DAYS * FL_DAY_S;
    int wait = (room->round_weekday - fl_civil_weekday(noon_s, room->tz_offset_min) + 7) % 7;
    return noon_s + (int64_t)wait * FL_DAY_S;
}

static int compare_looks(const void *left, const void *right)
{
    const fl_mothers_look *a = left;
    const fl_mothers_look *b = right;
    if (a->due_s != b->due_s) {
        return a->due_s < b->due_s ? -1 : 1;
    }
    return fl_id_compare(a->place, b->place);
}

/* The look of the lot's place so far; a fresh one. */
static fl_mothers_look *of_place(fl_mothers_look *list, size_t *n, fl_id place)
{
    for (size_t i = 0; i < *n; i++) {
        if (fl_id_eq(list[i].place, place)) {
            return &list[i];
        }
    }
    list[*n] = (fl_mothers_look){.place = place};
    return &list[(*n)++];
}

fl_status fl_mothers_due(fl_chances *chances, const fl_room *room, fl_arena *arena,
                         fl_mothers_look **out, size_t *count, fl_err *err)
{
    fl_mothers_look *list = FL_ARENA_ARRAY(arena, fl_mothers_look, room->meaning.n_lots + 1);
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < room->meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_mothers_look own = {
            .place = lot->place, .lot = lot, .ceiling = fl_know_use_of(FL_USE_STOCK).ceiling};
        bool is_over = false;
        if (lot->is_gone || !fl_build_is_mother(room, lot) ||
            fl_meaning_is_held(&room->meaning, lot->place, room->now_s) ||
            fl_routine_count_in(room, lot->place).quarantine > 0) {
            continue;
        }
        status = weigh(chances, lot, arena, &own, &is_over, err);
        if (status == FL_OK && is_over) {
            fl_mothers_look *look = of_place(list, &n, lot->place);
            *look = own.sum > look->sum ? own : *look;
        }
    }
    for (size_t i = 0; i < n; i++) {
        list[i].due_s = due_at(room, list[i].place);
        list[i].needs_roots = needs_roots(room, &list[i]);
    }
    if (n > 1) {
        qsort(list, n, sizeof list[0], compare_looks);
    }
    if (status == FL_OK) {
        *out = list;
        *count = n;
    }
    return status;
}

fl_sv fl_mothers_why(const fl_mothers_look *look, fl_arena *arena)
{
    fl_sv roots = look->needs_roots ? fl_arena_printf(arena, "; at the roots: %s is the most of it",
                                                      look->worst->name)
                                    : FL_SV("");
    return fl_arena_printf(
        arena,
        "what could be on them has crept up to %.1f %%, over the %.0f %% that is "
        "enough for stock%.*s",
        100.0 * look->sum, 100.0 * look->ceiling, FL_SV_ARG(roots));
}
