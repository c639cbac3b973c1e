/* Routine looks at established places: each within two to three months (common practice, no
 * source), on a round day, and never bunched. The bounds are counting: of at least four round days
 * in the span the emptiest has at most (n - 1) / 4 others, rounded down. */
#include <math.h>
#include <string.h>

#include "app/routine.h"
#include "app/today.h"
#include "base/rng.h"
#include "support/keeper.h"

#define PLACES_MAX 40
#define BASES_MAX 4000
#define NO_ID ((fl_id){{0}})
#define MONDAY_S FL_KEEPER_START_S /* noon, UTC */

typedef struct plan {
    fl_id places[PLACES_MAX];
    size_t n;
    fl_routine_base bases[BASES_MAX];
    size_t n_bases;
    int64_t due_s[PLACES_MAX];
    int weekday;
    int tz_min;
} plan;

static void begin(plan *p, size_t n, fl_rng *rng)
{
    memset(p, 0, sizeof *p);
    p->n = n;
    for (size_t i = 0; i < n; i++) {
        for (size_t b = 0; b < sizeof p->places[i].b; b++) {
            p->places[i].b[b] = (uint8_t)fl_rng_below(rng, 256);
        }
    }
}

static void add(plan *p, size_t place, int64_t at_s)
{
    check_true(p->n_bases < BASES_MAX);
    p->bases[p->n_bases++] = (fl_routine_base){place, at_s};
}

static void ask(plan *p, int64_t now_s)
{
    fl_routine_spread(&(fl_routine_query){.places = p->places,
                                          .n_places = p->n,
                                          .bases = p->bases,
                                          .n_bases = p->n_bases,
                                          .round_weekday = p->weekday,
                                          .tz_offset_min = p->tz_min,
                                          .now_s = now_s},
                      p->due_s);
}

static size_t most_on_a_day(const plan *p)
{
    size_t most = 0;
    for (size_t i = 0; i < p->n; i++) {
        size_t same = 0;
        for (size_t k = 0; k < p->n; k++) {
            same += p->due_s[k] == p->due_s[i] ? 1 : 0;
        }
        most = same > most ? same : most;
    }
    return most;
}

static void check_span(const plan *p, size_t place, int64_t base_s)
{
    double days = (double)(p->due_s[place] - base_s) / FL_DAY_S;
    check_true(days > FL_ROUTINE_LEAST_D - 1.0 && days < FL_ROUTINE_MOST_D + 1.0);
    check_int(fl_civil_weekday(p->due_s[place], p->tz_min), p->weekday);
}

/* Fourteen enclosures told of on one evening: 3, 3, 3, 3 and 2 on the five Mondays from the 60th
 * to the 91st day (63, 70, 77, 84, 91). */
static void test_a_collection_entered_at_once(void **state)
{
    (void)state;
    static plan p;
    fl_rng rng = {.state = 1};
    begin(&p, 14, &rng);
    for (size_t i = 0; i < p.n; i++) {
        add(&p, i, MONDAY_S);
    }
    ask(&p, MONDAY_S);
    int on_day[5] = {0};
    for (size_t i = 0; i < p.n; i++) {
        check_span(&p, i, MONDAY_S);
        int64_t day = (p.due_s[i] - MONDAY_S) / FL_DAY_S;
        check_true(day >= 63 && day <= 91 && day % 7 == 0);
        on_day[(day - 63) / 7]++;
    }
    int threes = 0;
    for (int k = 0; k < 5; k++) {
        check_true(on_day[k] == 3 || on_day[k] == 2);
        threes += on_day[k] == 3 ? 1 : 0;
    }
    check_int(threes, 4);
}

/* Two years of a keeper who looks at whatever is due on each round: no day is ever fuller than the
 * bound, no place waits longer than three months, and nobody else's day moves when one is done. */
static void test_two_years_of_rounds(void **state)
{
    (void)state;
    static plan p;
    fl_rng rng = {.state = 20261125};
    for (int run = 0; run < 60; run++) {
        begin(&p, 1 + (size_t)fl_rng_below(&rng, PLACES_MAX), &rng);
        p.weekday = (int)fl_rng_below(&rng, 7);
        p.tz_min = 60 * ((int)fl_rng_below(&rng, 24) - 11);
        for (size_t i = 0; i < p.n; i++) {
            add(&p, i, MONDAY_S + (run % 2 == 0 ? 0 : (int64_t)i * FL_DAY_S / 2));
        }
        for (int week = 0; week < 104; week++) {
            int64_t now_s = MONDAY_S + (int64_t)week * 7 * FL_DAY_S + 20 * FL_DAY_S;
            int64_t before_s[PLACES_MAX];
            ask(&p, now_s);
            check_true(most_on_a_day(&p) <= (p.n - 1) / 4 + 1);
            memcpy(before_s, p.due_s, sizeof before_s);
            for (size_t i = 0; i < p.n; i++) {
                if (before_s[i] > now_s) {
                    continue;
                }
                add(&p, i, now_s);
                ask(&p, now_s);
                check_span(&p, i, now_s);
                for (size_t k = 0; k < p.n; k++) {
                    check_true(k == i || before_s[k] <= now_s || p.due_s[k] == before_s[k]);
                }
            }
        }
        for (size_t i = 0; i < p.n; i++) {
            check_true(p.due_s[i] > MONDAY_S + 104 * 7 * (int64_t)FL_DAY_S);
        }
    }
}

/* Ten places, and the keeper is away for half a year: two a round, the longest missed first; done,
 * the round is over, and the next two wait for the next. */
static void test_what_was_missed_does_not_bunch(void **state)
{
    (void)state;
    static plan p;
    fl_rng rng = {.state = 7};
    begin(&p, 10, &rng);
    for (size_t i = 0; i < p.n; i++) {
        add(&p, i, MONDAY_S);
    }
    for (int week = 0; week < 5; week++) {
        int64_t now_s = MONDAY_S + (int64_t)(26 + week) * 7 * FL_DAY_S;
        ask(&p, now_s);
        size_t due = 0;
        for (size_t i = 0; i < p.n; i++) {
            due += p.due_s[i] <= now_s ? 1 : 0;
        }
        check_int(due, 2);
        check_int(most_on_a_day(&p), 2);
        int64_t before_s[PLACES_MAX];
        memcpy(before_s, p.due_s, sizeof before_s);
        for (size_t i = 0; i < p.n; i++) {
            if (before_s[i] <= now_s) {
                add(&p, i, now_s + FL_HOUR_S);
            }
        }
        ask(&p, now_s + 2 * FL_HOUR_S);
        for (size_t i = 0; i < p.n; i++) {
            check_true(p.due_s[i] > now_s + FL_DAY_S);
        }
    }
}

/* ---- in a room ---- */

#define BINS 12

/* A dozen bins of stock: spread by the room, three of them on one Monday at the most, whatever
 * the order in which they were told; today shows the one whose day it is. */
static void test_bins_of_stock(void **state)
{
    (void)state;
    fl_keeper k;
    fl_id bin[BINS];
    fl_keeper_init(&k);
    fl_event room = {.kind = FL_KIND_ROOM_SET};
    room.body.room_set = (fl_ev_room_set){.round_weekday = 0, .round_effort = FL_EFFORT_CAREFUL};
    fl_keeper_record(&k, &room);
    for (int i = 0; i < BINS; i++) {
        bin[i] = fl_keeper_place(&k, "a bin", FL_PLACE_BIN, 0, 22.0);
        fl_keeper_already_here(&k, bin[i], 2);
    }
    fl_id empty = fl_keeper_place(&k, "empty", FL_PLACE_BIN, 0, 22.0);
    fl_keeper_ask(&k);
    const fl_routine_look *looks = NULL;
    check_int(fl_routine_looks(&k.room, &k.room.arena, &looks), BINS);
    int64_t first_s = looks[0].due_s;
    size_t on_first = 0;
    for (int i = 0; i < BINS; i++) {
        size_t same = 0;
        for (int j = 0; j < BINS; j++) {
            same += looks[j].due_s == looks[i].due_s ? 1 : 0;
        }
        check_true(same <= 3);
        check_false(fl_id_eq(looks[i].place, empty));
        check_int(looks[i].from_s, MONDAY_S);
        on_first += looks[i].due_s == first_s ? 1 : 0;
    }
    fl_id first = looks[0].place;
    k.now_s = first_s + FL_HOUR_S;
    fl_keeper_ask(&k);
    fl_today today;
    check_ok(fl_today_list(k.chances, &k.room, &k.room.arena, &today, &k.err), &k.err);
    check_int(today.n, 1);
    check_int(today.lines[0].kind, FL_DUE_UPKEEP);
    check_int(today.lines[0].n_places, on_first);
    fl_keeper_look(&k, first, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    fl_keeper_ask(&k);
    (void)fl_routine_looks(&k.room, &k.room.arena, &looks);
    for (int i = 0; i < BINS; i++) {
        bool is_own = fl_id_eq(looks[i].place, first);
        check_true(!is_own || looks[i].due_s > k.now_s + 58 * (int64_t)FL_DAY_S);
        check_true(is_own || looks[i].due_s < k.now_s + 31 * (int64_t)FL_DAY_S);
    }
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_collection_entered_at_once),
    cmocka_unit_test(test_two_years_of_rounds),
    cmocka_unit_test(test_what_was_missed_does_not_bunch),
    cmocka_unit_test(test_bins_of_stock),
};
FL_TEST_MAIN(tests)
