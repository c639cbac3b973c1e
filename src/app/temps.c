/* Set values over time from place_set events, with the loggers' hours laid over them. */
#include "app/temps.h"

#include <math.h>
#include <stdlib.h>

static double told(const fl_ev_place_set *set)
{
    return isnan(set->set_temp_c) ? FL_TEMP_UNTOLD_C : set->set_temp_c;
}

/* The set value that held at an hour: the last one told before it, or else the first ever told. */
static double value_at(const fl_room *room, fl_id place, int64_t hour)
{
    double value = FL_TEMP_UNTOLD_C;
    bool is_first = true;
    for (size_t i = 0; i < room->n_place_sets; i++) {
        const fl_event *event = room->place_sets[i];
        if (!fl_id_eq(event->body.place_set.place, place)) {
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

/* The next of the room's place_sets from `i` on that told this place's value anew; n_place_sets at
 * the end. The first ever is passed over: it holds for the time before it too. */
static size_t next_change(const fl_room *room, fl_id place, size_t i, bool *is_first)
{
    for (; i < room->n_place_sets; i++) {
        if (!fl_id_eq(room->place_sets[i]->body.place_set.place, place)) {
            continue;
        }
        if (!*is_first) {
            return i;
        }
        *is_first = false;
    }
    return i;
}

/* What was told, without readings: an array, or a constant where nothing changes. */
void fl_temps_told(const fl_room *room, fl_id place, const int64_t span[2], fl_arena *arena,
                   const double **temps_c, double *constant_c)
{
    const int64_t from_h = span[0];
    const int64_t to_h = span[1];
    double *hours = NULL;
    bool is_first = true;
    *constant_c = value_at(room, place, from_h);
    for (size_t i = next_change(room, place, 0, &is_first); i < room->n_place_sets;
         i = next_change(room, place, i + 1, &is_first)) {
        const fl_event *event = room->place_sets[i];
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
    if (change < room->n_place_sets || fl_room_series(room, place) != NULL) {
        return false; /* told more than once, or measured */
    }
    *constant_c = value_at(room, place, 0);
    return true;
}

/* ---- readings ---- */

/* One place's hours while they are put together. */
typedef struct laying {
    const fl_series *series;
    int64_t now_h;
    bool has_set; /* a set value was told at some time */
    fl_temps_side side;
} laying;

static bool was_told(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->n_place_sets; i++) {
        const fl_ev_place_set *set = &room->place_sets[i]->body.place_set;
        if (fl_id_eq(set->place, place) && !isnan(set->set_temp_c)) {
            return true;
        }
    }
    return false;
}

/* The logger's mean of an hour; NAN. */
static double logged(const fl_series *s, int64_t hour)
{
    bool is_in = hour >= s->from_h && hour < s->from_h + (int64_t)s->n_hours;
    return is_in ? s->temp_c[hour - s->from_h] : (double)NAN;
}

/* The line over a gap of few hours; NAN where the gap is longer or has one end only. */
static double bridged(const fl_series *s, int64_t hour)
{
    int64_t before = hour;
    int64_t after = hour;
    while (hour - before <= FL_TEMP_GAP_H && isnan(logged(s, before))) {
        before--;
    }
    while (after - hour <= FL_TEMP_GAP_H && isnan(logged(s, after))) {
        after++;
    }
    double low = logged(s, before);
    double high = logged(s, after);
    if (isnan(low) || isnan(high) || after - before - 1 > FL_TEMP_GAP_H) {
        return (double)NAN;
    }
    return low + (high - low) * (double)(hour - before) / (double)(after - before);
}

/* The mean of this hour of day over the last seven days of readings; NAN. */
static double last_week(const fl_series *s, int64_t hour)
{
    int64_t end_h = s->from_h + (int64_t)s->n_hours;
    double sum = 0.0;
    int n = 0;
    for (int64_t h = end_h - 7 * 24; h < end_h; h++) {
        double temp_c = (hour - h) % 24 == 0 ? logged(s, h) : (double)NAN;
        sum += isnan(temp_c) ? 0.0 : temp_c;
        n += !isnan(temp_c);
    }
    return n > 0 ? sum / n : (double)NAN;
}

/* The extreme of the hours before, and the margin around the untold value. */
static double beyond(const laying *l, int64_t hour)
{
    double sign = l->side == FL_TEMPS_COLD ? 1.0 : -1.0;
    double worst = FL_TEMP_UNTOLD_C - sign * FL_TEMP_MARGIN_C;
    int64_t first = hour - FL_TEMP_LOOKBACK_H;
    for (int64_t h = first > l->series->from_h ? first : l->series->from_h; h < hour; h++) {
        double temp_c = logged(l->series, h);
        if (!isnan(temp_c) && sign * temp_c < sign * worst) {
            worst = temp_c;
        }
    }
    return worst;
}

/* Where the gap that an hour lies in begins: the same for each of its hours, whatever the span. */
static int64_t gap_start(const fl_series *s, int64_t hour)
{
    int64_t end_h = s->from_h + (int64_t)s->n_hours;
    int64_t h = hour < end_h ? hour : end_h;
    while (h > s->from_h && isnan(logged(s, h - 1))) {
        h--;
    }
    return h;
}

/* One hour with no reading of its own; told_c is what was told for it. */
static double without_reading(const laying *l, int64_t hour, double told_c)
{
    double temp_c = bridged(l->series, hour);
    if (isnan(temp_c) && l->has_set) {
        return told_c;
    }
    if (isnan(temp_c) && hour >= l->now_h) {
        temp_c = last_week(l->series, hour);
    }
    return temp_c;
}

/* Hours before the first reading are not the logger's business; a gap has one value throughout. */
static void lay(const laying *l, int64_t from_h, int64_t to_h, double *hours)
{
    double held = (double)NAN;
    for (int64_t h = from_h; h < to_h; h++) {
        double told_c = hours[h - from_h];
        double temp_c = logged(l->series, h);
        if (!isnan(temp_c)) {
            held = (double)NAN;
        } else if (h < l->series->from_h) {
            temp_c = told_c;
        } else {
            temp_c = without_reading(l, h, told_c);
            if (isnan(temp_c)) {
                held = isnan(held) ? beyond(l, gap_start(l->series, h)) : held;
                temp_c = held;
            }
        }
        hours[h - from_h] = temp_c;
    }
}

void fl_temps_of_place_side(const fl_room *room, fl_id place, const int64_t span[2],
                            fl_temps_side side, fl_arena *arena, const double **temps_c,
                            double *constant_c)
{
    const fl_series *series = fl_room_series(room, place);
    fl_temps_told(room, place, span, arena, temps_c, constant_c);
    if (series == NULL || span[1] <= series->from_h || span[1] <= span[0]) {
        return;
    }
    laying l = {.series = series,
                .now_h = room->now_s / FL_HOUR_S,
                .has_set = was_told(room, place),
                .side = side};
    int64_t end_h = series->from_h + (int64_t)series->n_hours;
    if (l.has_set && span[0] >= end_h + FL_TEMP_GAP_H) {
        return;
    }
    double *hours = FL_ARENA_ARRAY(arena, double, (size_t)(span[1] - span[0]));
    for (int64_t h = span[0]; h < span[1]; h++) {
        hours[h - span[0]] = *temps_c != NULL ? (*temps_c)[h - span[0]] : *constant_c;
    }
    lay(&l, span[0], span[1], hours);
    *temps_c = hours;
}

void fl_temps_of_place(const fl_room *room, fl_id place, int64_t from_h, int64_t to_h,
                       fl_arena *arena, const double **temps_c, double *constant_c)
{
    const int64_t span[2] = {from_h, to_h};
    fl_temps_of_place_side(room, place, span, FL_TEMPS_COLD, arena, temps_c, constant_c);
}

void fl_temps_count_of(const fl_room *room, fl_id place, const int64_t span[2], fl_temps_count *out)
{
    const fl_series *series = fl_room_series(room, place);
    bool has_set = was_told(room, place);
    *out = (fl_temps_count){0};
    for (int64_t h = span[0]; h < span[1]; h++) {
        bool is_logged = series != NULL && h >= series->from_h;
        if (is_logged && !isnan(logged(series, h))) {
            out->measured++;
        } else if (is_logged && !isnan(bridged(series, h))) {
            out->interpolated++;
        } else if (has_set) {
            out->told++;
        } else {
            out->assumed++;
        }
    }
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

double fl_temps_usual_of(const fl_ev_place_set *const *boxes, size_t n, fl_arena *arena)
{
    double *told_c = FL_ARENA_ARRAY(arena, double, n + 1);
    size_t n_told = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isnan(boxes[i]->set_temp_c)) {
            told_c[n_told++] = boxes[i]->set_temp_c;
        }
    }
    if (n_told == 0) {
        return FL_TEMP_UNTOLD_C;
    }
    qsort(told_c, n_told, sizeof told_c[0], compare_doubles);
    return told_c[n_told / 2];
}
