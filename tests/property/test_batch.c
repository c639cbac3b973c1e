/* Plants are never lost by the account of a batch: over random histories, nonsense and all, what
 * came in is what is here, has died or has left, for every lot there is; and what the record tells
 * beyond that is told only where the ledger itself sees a conflict. The account walks the events by
 * a way of its own; the counts of what is here and what left are the ledger's rows. */
#include <stdio.h>

#include "app/batch.h"
#include "unit/core/ledger/oracle.h"

#define HISTORIES 6000
#define FIRST_SEED 20261101u

/* A snapshot with what batches read of one. */
static fl_room room_of(const random_history *r, size_t live, const fl_meaning *m,
                       const fl_event **defined)
{
    fl_room room = {.n_events = live, .meaning = *m};
    room.events = (fl_event *)(uintptr_t)r->events;
    const size_t n = fl_defs_bound(r->events, live);
    room.defs = (fl_defs){.sources = {defined, 0},
                          .plants = {defined + n, 0},
                          .places = {defined + 2 * n, 0},
                          .bottles = {defined + 3 * n, 0}};
    fl_defs_fold(r->events, live, &room.defs);
    return room;
}

static bool has_miscount(const fl_meaning *m)
{
    for (size_t i = 0; i < m->n_conflicts; i++) {
        const fl_conflict_kind kind = m->conflicts[i].kind;
        if (kind == FL_CONFLICT_TOO_MANY || kind == FL_CONFLICT_BORN_TWICE ||
            kind == FL_CONFLICT_BEFORE_BORN || kind == FL_CONFLICT_AFTER_GONE) {
            return true;
        }
    }
    return false;
}

/* How often something happened in the histories, so that they prove something. */
typedef struct tallied {
    size_t split, died, left, over, plain;
} tallied;

static void require_batch(const fl_room *room, const fl_lot *lot, tallied *seen)
{
    fl_arena arena;
    fl_batch b;
    fl_arena_init(&arena);
    fl_batch_of(room, lot, &arena, &b);
    int64_t died = 0;
    int64_t left = 0;
    int64_t here = 0;
    for (size_t i = 0; i < b.n_losses; i++) {
        died += b.losses[i].count;
    }
    for (size_t i = 0; i < b.n_leavings; i++) {
        left += b.leavings[i].count;
        REQUIRE(b.leavings[i].lot->is_gone && b.leavings[i].batch == b.lot);
    }
    for (size_t i = 0; i < b.n_parts; i++) {
        here += b.parts[i].lot->count;
        REQUIRE(!b.parts[i].lot->is_gone);
    }
    REQUIRE(b.lot->origin != FL_KIND_LOT_SPLIT || fl_id_is_none(b.lot->mother) ||
            fl_meaning_lot(&room->meaning, b.lot->mother) == NULL);
    REQUIRE(died == b.died && left == b.left && here == b.here);
    REQUIRE(b.died >= 0 && b.left >= 0 && b.here >= 0 && b.told_over >= 0 && b.told_twice >= 0);
    REQUIRE(b.came + b.told_over == b.here + b.died + b.left + b.told_twice);
    REQUIRE((b.told_over == 0 && b.told_twice == 0) || has_miscount(&room->meaning));
    seen->split += b.n_parts > 1;
    seen->died += b.died > 0;
    seen->left += b.left > 0;
    seen->over += b.told_over > 0 || b.told_twice > 0;
    seen->plain += b.told_over == 0 && b.told_twice == 0 && b.died + b.left > 0;
    fl_arena_done(&arena);
}

/* Each plant that left is told once; and who has plants of a lot are among those who got some. */
static void require_leavings(const fl_room *room)
{
    fl_arena arena;
    const fl_batch_leaving *all = NULL;
    fl_arena_init(&arena);
    const size_t n = fl_batch_leavings(room, &arena, &all);
    int64_t told = 0;
    int64_t gone = 0;
    for (size_t i = 0; i < n; i++) {
        told += all[i].count;
        const fl_batch_leaving *who = NULL;
        REQUIRE(fl_batch_who(room, all[i].lot, &arena, &who) > 0);
    }
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        gone += lot->is_gone ? lot->count : 0; /* the ledger: what went out */
    }
    REQUIRE(told == gone);
    fl_arena_done(&arena);
}

static void test_plants_are_never_lost(void **state)
{
    (void)state;
    static const fl_event *defined[4 * RANDOM_MAX + 4];
    random_history *r = fl_alloc(1, sizeof *r);
    tallied seen = {0};
    for (uint64_t i = 0; i < HISTORIES; i++) {
        random_fill(r, FIRST_SEED + i);
        const size_t live = events_settle(r->events, r->count);
        fl_meaning m = meaning_fold(r->events, live);
        const fl_room room = room_of(r, live, &m, defined);
        for (size_t k = 0; k < m.n_lots; k++) {
            require_batch(&room, &m.lots[k], &seen);
        }
        require_leavings(&room);
        meaning_free(&m);
    }
    printf("split %zu, died %zu, left %zu, over %zu, plain %zu\n", seen.split, seen.died, seen.left,
           seen.over, seen.plain);
    check_true(seen.split > 500 && seen.died > 500 && seen.left > 500);
    check_true(seen.over > 500 && seen.plain > 500);
    fl_alloc_free(r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_plants_are_never_lost),
};
FL_TEST_MAIN(tests)
