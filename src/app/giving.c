/* Medians of the keeper's own takings; else what the growth form suggests. */
#include "app/giving.h"

#include <stdlib.h>

/* Days between takings under this are one taking in two sittings. */
#define SAME_TAKING_D 7

static bool is_same_plant(const fl_lot *a, const fl_lot *b)
{
    if (!fl_id_is_none(a->plant) || !fl_id_is_none(b->plant)) {
        return fl_id_eq(a->plant, b->plant);
    }
    return fl_id_eq(a->id, b->id);
}

static int compare_int(const void *a, const void *b)
{
    const int x = *(const int *)a;
    const int y = *(const int *)b;
    return (x > y) - (x < y);
}

int fl_giving_median(int *values, size_t n)
{
    qsort(values, n, sizeof values[0], compare_int);
    return values[(n - 1) / 2];
}

/* What was taken of the plant, in canonical order. */
typedef struct takings {
    int *each; /* plants taken for each plant of the mother, rounded up */
    size_t n;
    int *days; /* from the taking before of the same mother */
    size_t n_days;
    int64_t last_s; /* of this mother; INT64_MIN */
} takings;

/* The day of the last taking of the same mother before event i; INT64_MIN. */
static int64_t taken_before(const fl_room *room, size_t i, fl_id mother)
{
    while (i > 0) {
        const fl_event *event = &room->events[--i];
        if (event->kind == FL_KIND_LOT_CUT && fl_id_eq(event->body.lot_cut.mother, mother)) {
            return event->at_s;
        }
    }
    return INT64_MIN;
}

static void gather(const fl_room *room, const fl_lot *mother, takings *out)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_lot *from = event->kind == FL_KIND_LOT_CUT
                                 ? fl_meaning_lot(&room->meaning, event->body.lot_cut.mother)
                                 : NULL;
        if (from == NULL || !is_same_plant(from, mother) || event->at_s > room->now_s) {
            continue;
        }
        const int64_t before_s = taken_before(room, i, from->id);
        const int64_t plants = from->count_born > 0 ? from->count_born : 1;
        const int64_t days = before_s == INT64_MIN ? 0 : (event->at_s - before_s) / FL_DAY_S;
        out->each[out->n++] = (int)((event->body.lot_cut.count + plants - 1) / plants);
        if (days >= SAME_TAKING_D) {
            out->days[out->n_days++] = (int)days;
        }
        if (from == mother) {
            out->last_s = event->at_s;
        }
    }
}

static size_t count_cuts(const fl_room *room)
{
    size_t n = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        n += room->events[i].kind == FL_KIND_LOT_CUT ? 1U : 0U;
    }
    return n;
}

/* By local days, so that "in 9 days" does not depend on the hour. */
static int days_until(const fl_room *room, int64_t at_s)
{
    const int64_t today_s = fl_civil_noon(room->now_s, room->tz_offset_min);
    const int64_t days = (fl_civil_noon(at_s, room->tz_offset_min) - today_s) / FL_DAY_S;
    return days > 0 ? (int)days : 0;
}

void fl_giving_of(const fl_room *room, const fl_lot *mother, fl_arena *arena, fl_giving *out)
{
    const fl_growth *growth = fl_know_growth(fl_room_plant_row(room, mother));
    const size_t n = count_cuts(room) + 1;
    takings t = {.each = FL_ARENA_ARRAY(arena, int, n),
                 .days = FL_ARENA_ARRAY(arena, int, n),
                 .last_s = INT64_MIN};
    gather(room, mother, &t);
    fl_giving g = {.spare = growth->spare,
                   .again_days = growth->again_days,
                   .n_takings = (int)t.n,
                   .growth = growth,
                   .is_own = t.n >= FL_GIVING_OWN_LEAST && t.n_days > 0};
    if (g.is_own) {
        g.spare = fl_giving_median(t.each, t.n);
        g.again_days = fl_giving_median(t.days, t.n_days);
    }
    g.spare = g.spare > 0 ? g.spare : 1;
    g.next_day =
        t.last_s == INT64_MIN ? 0 : days_until(room, t.last_s + (int64_t)g.again_days * FL_DAY_S);
    *out = g;
}
