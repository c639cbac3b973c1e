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

/* True when a new value was told inside the span. */
static bool changes_within(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_PLACE_SET && fl_id_eq(event->body.place_set.place, place) &&
            event->at_s > from_h * FL_HOUR_S && event->at_s < to_h * FL_HOUR_S) {
            return true;
        }
    }
    return false;
}

void fl_temps_of_place(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h,
                       fl_arena *arena, const double **temps_c, double *constant_c)
{
    *temps_c = NULL;
    *constant_c = value_at(room, place, from_h);
    if (!changes_within(room, place, from_h, to_h)) {
        return;
    }
    double *hours = FL_ARENA_ARRAY(arena, double, (size_t)(to_h - from_h));
    for (int64_t h = from_h; h < to_h; h++) {
        hours[h - from_h] = value_at(room, place, h);
    }
    *temps_c = hours;
}
