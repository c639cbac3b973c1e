/* The spreading is greedy over the record: at each base the day is chosen by what was planned then,
 * so that a later look at one place never moves the day of another. */
#include "app/routine.h"

#include <stdlib.h>

#define WEEK_S (7 * (int64_t)FL_DAY_S)
/* So many rounds catch up with everything that was missed. */
#define CATCH_UP_ROUNDS 5

/* ---- round days ---- */

/* The first round day on or after the local day of at_s. */
static int64_t round_from(const fl_routine_query *q, int64_t at_s)
{
    int64_t noon_s = fl_civil_noon(at_s, q->tz_offset_min);
    int wait = (q->round_weekday - fl_civil_weekday(noon_s, q->tz_offset_min) + 7) % 7;
    return noon_s + (int64_t)wait * FL_DAY_S;
}

/* ---- spreading ---- */

/* How a day stands to the days of the other places that are ahead at a moment. */
typedef struct crowd {
    size_t n_same;
    int64_t nearest_s;
} crowd;

static crowd crowd_on(const fl_routine_query *q, const int64_t *due_s, fl_routine_base base,
                      int64_t day_s)
{
    crowd c = {0, INT64_MAX};
    for (size_t i = 0; i < q->n_places; i++) {
        if (i == base.place || due_s[i] <= base.at_s) {
            continue;
        }
        int64_t away_s = due_s[i] > day_s ? due_s[i] - day_s : day_s - due_s[i];
        c.n_same += away_s == 0 ? 1 : 0;
        c.nearest_s = away_s < c.nearest_s ? away_s : c.nearest_s;
    }
    return c;
}

static int64_t choose(const fl_routine_query *q, const int64_t *due_s, fl_routine_base base)
{
    int64_t noon_s = fl_civil_noon(base.at_s, q->tz_offset_min);
    int64_t first_s = round_from(q, noon_s + (int64_t)FL_ROUTINE_LEAST_D * FL_DAY_S);
    int64_t last_s = noon_s + (int64_t)FL_ROUTINE_MOST_D * FL_DAY_S;
    int64_t n = (last_s - first_s) / WEEK_S + 1;
    int64_t start = q->places[base.place].b[15] % n;
    crowd best = {SIZE_MAX, 0};
    int64_t chosen_s = first_s;
    for (int64_t k = 0; k < n; k++) {
        int64_t day_s = first_s + (start + k) % n * WEEK_S;
        crowd c = crowd_on(q, due_s, base, day_s);
        if (c.n_same < best.n_same || (c.n_same == best.n_same && c.nearest_s > best.nearest_s)) {
            best = c;
            chosen_s = day_s;
        }
    }
    return chosen_s;
}

/* ---- what was missed ---- */

static int64_t last_base_of(const fl_routine_query *q, size_t place)
{
    for (size_t b = q->n_bases; b > 0; b--) {
        if (q->bases[b - 1].place == place) {
            return q->bases[b - 1].at_s;
        }
    }
    return INT64_MIN;
}

/* What a round has to do already: planned for it, or done in it. */
static size_t load_of(const fl_routine_query *q, const int64_t *due_s, int64_t round_s)
{
    int64_t from_s = round_s - FL_DAY_S / 2; /* its local midnight */
    size_t n = 0;
    for (size_t i = 0; i < q->n_places; i++) {
        int64_t last_s = last_base_of(q, i);
        bool is_done = last_s >= from_s && last_s < from_s + WEEK_S;
        n += due_s[i] == round_s || is_done ? 1 : 0;
    }
    return n;
}

/* The place that has been missed longest; SIZE_MAX. */
static size_t longest_missed(const fl_routine_query *q, const int64_t *due_s, int64_t round_s)
{
    size_t found = SIZE_MAX;
    for (size_t i = 0; i < q->n_places; i++) {
        bool is_longer =
            found == SIZE_MAX || due_s[i] < due_s[found] ||
            (due_s[i] == due_s[found] && fl_id_compare(q->places[i], q->places[found]) < 0);
        found = due_s[i] < round_s && is_longer ? i : found;
    }
    return found;
}

static void catch_up(const fl_routine_query *q, int64_t *due_s)
{
    size_t pace = (q->n_places + CATCH_UP_ROUNDS - 1) / CATCH_UP_ROUNDS;
    int64_t round_s = round_from(q, q->now_s - 6 * (int64_t)FL_DAY_S); /* the last one until now */
    int64_t this_s = round_s;
    size_t load = load_of(q, due_s, round_s);
    for (;;) {
        size_t i = longest_missed(q, due_s, this_s);
        if (i == SIZE_MAX) {
            return;
        }
        while (load >= pace) {
            round_s += WEEK_S;
            load = load_of(q, due_s, round_s);
        }
        due_s[i] = round_s;
        load++;
    }
}

void fl_routine_spread(const fl_routine_query *query, int64_t *due_s)
{
    for (size_t i = 0; i < query->n_places; i++) {
        due_s[i] = INT64_MIN;
    }
    for (size_t b = 0; b < query->n_bases; b++) {
        due_s[query->bases[b].place] = choose(query, due_s, query->bases[b]);
    }
    catch_up(query, due_s);
}

/* ---- the room's places ---- */

bool fl_routine_is_established(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    return fl_room_unsplit(room, lot)->origin == FL_KIND_LOT_ALREADY_HERE ||
           !fl_id_is_none(lot->released_by) || (place != NULL && place->kind == FL_PLACE_ENCLOSURE);
}

fl_routine_count fl_routine_count_in(const fl_room *room, fl_id place)
{
    fl_routine_count count = {0, 0};
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (!lot->is_gone && fl_id_eq(lot->place, place)) {
            *(fl_routine_is_established(room, lot) ? &count.established : &count.quarantine) += 1;
        }
    }
    return count;
}

static int64_t told_since(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->n_events; i++) {
        if (room->events[i].kind == FL_KIND_PLACE_SET &&
            fl_id_eq(room->events[i].body.place_set.place, place)) {
            return room->events[i].at_s;
        }
    }
    return INT64_MIN;
}

int64_t fl_routine_stands_since(const fl_room *room, fl_id place)
{
    int64_t since_s = FL_TIME_OPEN;
    int64_t told_s = told_since(room, place);
    for (size_t i = 0; i < room->meaning.n_stays; i++) {
        const fl_stay *stay = &room->meaning.stays[i];
        if (fl_id_eq(stay->place, place) && stay->to_s > room->now_s && stay->from_s < since_s) {
            since_s = stay->from_s;
        }
    }
    return since_s < told_s ? told_s : since_s;
}

static size_t places_of(const fl_room *room, fl_id *places)
{
    size_t n = 0;
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *set = &room->defs.places.events[i]->body.place_set;
        if (set->kind == FL_PLACE_BENCH || set->kind == FL_PLACE_OUTSIDE) {
            continue;
        }
        fl_routine_count count = fl_routine_count_in(room, set->place);
        if (count.quarantine == 0 && count.established > 0) {
            places[n++] = set->place;
        }
    }
    return n;
}

typedef struct base_of_place {
    fl_routine_base base;
    fl_id place;
} base_of_place;

static int compare_bases(const void *a, const void *b)
{
    const base_of_place *x = a;
    const base_of_place *y = b;
    if (x->base.at_s != y->base.at_s) {
        return x->base.at_s < y->base.at_s ? -1 : 1;
    }
    return fl_id_compare(x->place, y->place);
}

/* Since when each is established, and its looks since; sorted. */
static size_t bases_of(const fl_room *room, const fl_id *places, size_t n_places,
                       base_of_place *list)
{
    size_t n = 0;
    for (size_t i = 0; i < n_places; i++) {
        int64_t since_s = fl_routine_stands_since(room, places[i]);
        list[n++] = (base_of_place){{i, since_s}, places[i]};
        for (size_t e = 0; e < room->n_events; e++) {
            const fl_event *event = &room->events[e];
            if (event->kind == FL_KIND_LOOK_DONE && event->at_s >= since_s &&
                event->at_s <= room->now_s && fl_id_eq(event->body.look_done.place, places[i])) {
                list[n++] = (base_of_place){{i, event->at_s}, places[i]};
            }
        }
    }
    if (n > 1) {
        qsort(list, n, sizeof list[0], compare_bases);
    }
    return n;
}

static int compare_looks(const void *a, const void *b)
{
    const fl_routine_look *x = a;
    const fl_routine_look *y = b;
    if (x->due_s != y->due_s) {
        return x->due_s < y->due_s ? -1 : 1;
    }
    return fl_id_compare(x->place, y->place);
}

size_t fl_routine_looks(const fl_room *room, fl_arena *arena, const fl_routine_look **out)
{
    fl_id *places = FL_ARENA_ARRAY(arena, fl_id, room->defs.places.count + 1);
    size_t n = places_of(room, places);
    base_of_place *list = FL_ARENA_ARRAY(arena, base_of_place, n + room->n_events + 1);
    size_t n_bases = bases_of(room, places, n, list);
    fl_routine_base *bases = FL_ARENA_ARRAY(arena, fl_routine_base, n_bases + 1);
    int64_t *due_s = FL_ARENA_ARRAY(arena, int64_t, n + 1);
    fl_routine_look *looks = FL_ARENA_ARRAY(arena, fl_routine_look, n + 1);
    for (size_t i = 0; i < n_bases; i++) {
        bases[i] = list[i].base;
        looks[bases[i].place].from_s = bases[i].at_s; /* the last one stays */
    }
    fl_routine_spread(&(fl_routine_query){.places = places,
                                          .n_places = n,
                                          .bases = bases,
                                          .n_bases = n_bases,
                                          .round_weekday = room->round_weekday,
                                          .tz_offset_min = room->tz_offset_min,
                                          .now_s = room->now_s},
                      due_s);
    for (size_t i = 0; i < n; i++) {
        looks[i].place = places[i];
        looks[i].due_s = due_s[i];
    }
    if (n > 1) {
        qsort(looks, n, sizeof looks[0], compare_looks);
    }
    *out = looks;
    return n;
}
