/* Which events count. The cases come from the contract in ledger.h: a correction voids an event, a
 * voided voiding voids nothing. */
#include "unit/core/ledger/history.h"

static void mark(history *h, bool is_live[HISTORY_MAX])
{
    size_t scratch[2 * HISTORY_MAX];
    fl_ledger_mark_live(h->events, h->count, is_live, scratch);
}

static void finish(history *h)
{
    history_fold(h);
    history_end(h);
}

static void test_nothing(void **state)
{
    (void)state;
    size_t scratch[1];
    bool is_live[1] = {false};
    fl_ledger_mark_live(NULL, 0, is_live, scratch);
    check_false(is_live[0]);
}

static void test_voided(void **state)
{
    (void)state;
    bool is_live[HISTORY_MAX];
    history *h = history_begin();
    unsigned first = arrive(h, 10, 1, 5, BENCH);
    unsigned voiding = void_event(h, 20, first);
    unsigned second = arrive(h, 10, 1, 6, BENCH);
    mark(h, is_live);
    check_false(is_live[first - 1]);
    check_true(is_live[voiding - 1]);
    check_true(is_live[second - 1]);
    finish(h);
}

/* A chain of five: each voids the one before; the last counts, so every second one does. */
static void test_voided_voiding(void **state)
{
    (void)state;
    bool is_live[HISTORY_MAX];
    history *h = history_begin();
    arrive(h, 10, 1, 5, BENCH);
    for (unsigned i = 1; i <= 4; i++) {
        void_event(h, 20, i);
    }
    mark(h, is_live);
    check_true(is_live[0]);
    check_false(is_live[1]);
    check_true(is_live[2]);
    check_false(is_live[3]);
    check_true(is_live[4]);
    finish(h);
}

/* Two voidings of one event: it counts only when both are voided. */
static void test_voided_twice(void **state)
{
    (void)state;
    bool is_live[HISTORY_MAX];
    history *h = history_begin();
    unsigned event = arrive(h, 10, 1, 5, BENCH);
    unsigned one = void_event(h, 20, event);
    unsigned two = void_event(h, 20, event);
    void_event(h, 30, one);
    mark(h, is_live);
    check_false(is_live[event - 1]);
    void_event(h, 30, two);
    mark(h, is_live);
    check_true(is_live[event - 1]);
    finish(h);
}

/* The order of the array says nothing: the voiding may stand before what it voids. */
static void test_any_order(void **state)
{
    (void)state;
    bool is_live[HISTORY_MAX];
    history *h = history_begin();
    void_event(h, 20, 3); /* 1 voids 3 */
    void_event(h, 30, 1); /* 2 voids 1 */
    arrive(h, 10, 1, 5, BENCH);
    mark(h, is_live);
    check_false(is_live[0]);
    check_true(is_live[1]);
    check_true(is_live[2]);
    finish(h);
}

static void test_circles(void **state)
{
    (void)state;
    bool is_live[HISTORY_MAX];
    history *h = history_begin();
    void_event(h, 10, 1); /* 1 voids itself */
    void_event(h, 10, 3); /* 2 and 3 void each other */
    void_event(h, 10, 2);
    void_event(h, 10, 2); /* 4, from outside, voids one of a circle: that one still counts */
    void_event(h, 10, 4); /* 5 voids 4 */
    void_event(h, 10, 99);
    mark(h, is_live);
    check_true(is_live[0]);
    check_true(is_live[1]);
    check_true(is_live[2]);
    check_false(is_live[3]);
    check_true(is_live[4]);
    check_true(is_live[5]);
    finish(h);
}

/* A long chain, its events in an order that would need deep recursion or many passes. */
static void test_long_chain(void **state)
{
    (void)state;
    enum { LENGTH = 20001 };
    fl_event *events = fl_alloc(LENGTH, sizeof *events);
    size_t *scratch = fl_alloc(2 * (size_t)LENGTH, sizeof *scratch);
    bool *is_live = fl_alloc(LENGTH, sizeof *is_live);
    for (unsigned i = 0; i < LENGTH; i++) {
        events[i].kind = FL_KIND_EVENT_VOIDED;
        events[i].id = event_id(i + 1);
        events[i].body.event_voided.event = event_id(i + 2); /* the next; the last voids nothing */
    }
    fl_ledger_mark_live(events, LENGTH, is_live, scratch);
    for (unsigned i = 0; i < LENGTH; i++) {
        check_int(is_live[i], i % 2 == 0);
    }
    fl_alloc_free(is_live);
    fl_alloc_free(scratch);
    fl_alloc_free(events);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_nothing),        cmocka_unit_test(test_voided),
    cmocka_unit_test(test_voided_voiding), cmocka_unit_test(test_voided_twice),
    cmocka_unit_test(test_any_order),      cmocka_unit_test(test_circles),
    cmocka_unit_test(test_long_chain),
};
FL_TEST_MAIN(tests)
