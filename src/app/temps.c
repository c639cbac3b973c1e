/* Set values over time from place_set events. */
#include "app/temps.h"

#include <math.h>

static double told(const fl_ev_place_set *set)
{
    return isnan(set->set_temp_c) ? FL_TEMP_UNTOLD_C : set->set_temp_c;
}

/* The set value that held at an hour: the last one told before it, or else the first ever told. */
static double value_at(const fl_room *room, fl_id place, int64_t hour)
{
    double value = FL_TEMP_UNTOLD_C;
    bool is_first = true;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_PLACE_SET || !fl_id_eq(event->body.place_set.place, place)) {
            continue;
        }
        if (!is_first && event->at_s > hour * FL_HOUR_S) {
            break;
        }
        value = told(&event->body.place_set);
        is_first = false;
    }
    return value;
}

/* The first whole hour that is not before the moment. */
static int64_t hour_from(int64_t at_s)
{
    return at_s > 0 ? (at_s + FL_HOUR_S - 1) / FL_HOUR_S : at_s / FL_HOUR_S;
}

/* The next event from `i` on that told this place's value anew; n_events at the end. The first ever
 * is passed over: it holds for the time before it too. */
static size_t next_change(const fl_room *room, fl_id place, size_t i, bool *is_first)
{
    for (; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_PLACE_SET || !fl_id_eq(event->body.place_set.place, place)) {
            continue;
        }
        if (!*is_first) {
            return i;
        }
        *is_first = false;
    }
    return i;
}

void fl_temps_of_place(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h,
                       fl_arena *arena, const double **temps_c, double *constant_c)
{
    double *hours = NULL;
    bool is_first = true;
    *constant_c = value_at(room, place, from_h);
    for (size_t i = next_change(room, place, 0, &is_first); i < room->n_events;
         i = next_change(room, place, i + 1, &is_first)) {
        const fl_event *event = &room->events[i];
        int64_t change_h = hour_from(event->at_s);
        if (change_h <= from_h || change_h >= to_h) {
            continue;
        }
        if (hours == NULL) {
            hours = FL_ARENA_ARRAY(arena, double, (size_t)(to_h - from_h));
            for (int64_t h = from_h; h < to_h; h++) {
                hours[h - from_h] = *constant_c;
            }
        }
        for (int64_t h = change_h; h < to_h; h++) {
            hours[h - from_h] = told(&event->body.place_set);
        }
    }
    *temps_c = hours;
}

bool fl_temps_are_constant(const fl_room *room, fl_id place, double *constant_c)
{
    bool is_first = true;
    size_t change = next_change(room, place, 0, &is_first);
    if (change < room->n_events) {
        return false; /* told more than once */
    }
    *constant_c = value_at(room, place, 0);
    return true;
}
