/* Reach at its edges. A property: what stands before and behind the counted rows of a longer list
 * changes nothing (any window of a history can be asked for in place). Then by hand: windows of a
 * moment, the nodes and rows that a refusal names, chains cut to the room they are given, and the
 * order that the two comparisons make (by time, then from, then to; by time, then node). */
#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/trace/reach.h"
#include "support/check.h"

#define NODES 6
#define CONTACTS 9
#define CLEANINGS 4
#define TIME_MAX 7

typedef struct answer {
    fl_reach_node nodes[NODES];
    fl_reach_link links[CONTACTS];
    fl_reach_count count;
} answer;

/* The counted rows stand between one row more at either end. */
typedef struct embedded {
    fl_contact contacts[CONTACTS + 2];
    fl_cleaning cleanings[CLEANINGS + 2];
} embedded;

static void draw(fl_rng *rng, embedded *e)
{
    for (size_t i = 1; i <= CONTACTS; i++) {
        e->contacts[i] =
            (fl_contact){(int64_t)fl_rng_below(rng, TIME_MAX), (int32_t)fl_rng_below(rng, NODES),
                         (int32_t)fl_rng_below(rng, NODES)};
    }
    for (size_t i = 1; i <= CLEANINGS; i++) {
        e->cleanings[i] =
            (fl_cleaning){(int64_t)fl_rng_below(rng, TIME_MAX), (int32_t)fl_rng_below(rng, NODES)};
    }
    qsort(e->contacts + 1, CONTACTS, sizeof(fl_contact), fl_contact_compare);
    qsort(e->cleanings + 1, CLEANINGS, sizeof(fl_cleaning), fl_cleaning_compare);
}

static answer ask(const embedded *e, fl_reach_query query)
{
    fl_err err = {0};
    answer a;
    memset(&a, 0, sizeof a);
    query.contacts = e->contacts + 1;
    query.cleanings = e->cleanings + 1;
    query.n_nodes = NODES;
    check_ok(fl_reach(&query, a.nodes, a.links, &a.count, &err), &err);
    return a;
}

static void check_same(const answer *a, const answer *b)
{
    check_int(a->count.reached, b->count.reached);
    check_int(a->count.dirty, b->count.dirty);
    for (int i = 0; i < NODES; i++) {
        check_true(a->nodes[i].is_reached == b->nodes[i].is_reached);
        check_true(a->nodes[i].is_dirty == b->nodes[i].is_dirty);
        check_int(a->nodes[i].contact, b->nodes[i].contact);
        check_int(a->nodes[i].time, b->nodes[i].time);
    }
}

/* At times far before, inside and far after all others. */
static void surround(embedded *e, int64_t time)
{
    e->contacts[0] = e->contacts[CONTACTS + 1] = (fl_contact){time, 0, 1};
    e->cleanings[0] = e->cleanings[CLEANINGS + 1] = (fl_cleaning){time, 1};
}

static void test_rows_that_are_not_counted(void **state)
{
    (void)state;
    static const int64_t times[] = {-1000, 0, 3, TIME_MAX, 1000};
    fl_rng rng = {20261125};
    for (int net = 0; net < 200; net++) {
        embedded e;
        draw(&rng, &e);
        fl_reach_query query = {.root = (int32_t)fl_rng_below(&rng, NODES),
                                .n_contacts = fl_rng_below(&rng, CONTACTS + 1),
                                .n_cleanings = fl_rng_below(&rng, CLEANINGS + 1),
                                .from = (int64_t)fl_rng_below(&rng, 3),
                                .to = 3 + (int64_t)fl_rng_below(&rng, 6),
                                .is_backward = net % 2 == 1,
                                .is_strict = net % 4 > 1};
        embedded cut = e; /* rows of the list itself behind the counted ones, too */
        surround(&e, times[0]);
        const answer first = ask(&e, query);
        for (size_t i = 1; i < sizeof times / sizeof times[0]; i++) {
            surround(&e, times[i]);
            const answer next = ask(&e, query);
            check_same(&next, &first);
        }
        for (size_t i = query.n_contacts + 1; i <= CONTACTS + 1; i++) {
            cut.contacts[i] = (fl_contact){0, 0, 1};
        }
        for (size_t i = query.n_cleanings + 1; i <= CLEANINGS + 1; i++) {
            cut.cleanings[i] = (fl_cleaning){0, query.root};
        }
        cut.contacts[0] = (fl_contact){TIME_MAX, 0, 1};
        cut.cleanings[0] = (fl_cleaning){TIME_MAX, query.root};
        const answer last = ask(&cut, query);
        check_same(&last, &first);
    }
}

static fl_reach_query query_of(const fl_contact *contacts, size_t n_contacts)
{
    return (fl_reach_query){
        .contacts = contacts, .n_contacts = n_contacts, .n_nodes = NODES, .from = 0, .to = 100};
}

/* A window of one moment holds what happens then, cleanings before contacts, and nothing else. */
static void test_a_moment(void **state)
{
    (void)state;
    const fl_contact contacts[] = {{4, 0, 1}, {5, 0, 2}, {5, 2, 3}, {6, 0, 4}};
    const fl_cleaning cleanings[] = {{4, 0}, {5, 3}, {6, 2}};
    fl_err err = {0};
    answer a;
    fl_reach_query query = query_of(contacts, 4);
    query.cleanings = cleanings;
    query.n_cleanings = 3;
    query.from = query.to = 5;
    check_ok(fl_reach(&query, a.nodes, a.links, &a.count, &err), &err);
    check_int(a.count.reached, 2);
    check_int(a.count.dirty, 3);
    check_true(a.nodes[2].is_dirty && a.nodes[3].is_dirty);
    check_int(a.nodes[3].time, 5);
    query.is_backward = true;
    query.root = 3;
    check_ok(fl_reach(&query, a.nodes, a.links, &a.count, &err), &err);
    check_int(a.count.reached, 2);    /* by 2, and by 0 through it */
    check_false(a.nodes[3].is_dirty); /* what it had when the moment began was cleaned away */
}

static void refuses(const fl_reach_query *query, const char *because)
{
    fl_err err = {0};
    answer a = {.count.reached = 99};
    check_int(fl_reach(query, a.nodes, a.links, &a.count, &err), FL_EINVAL);
    check_contains(err.message, because);
    check_int(a.count.reached, 99);
}

static void test_what_a_refusal_names(void **state)
{
    (void)state;
    static const fl_contact bad[] = {{1, NODES, 0}, {1, 0, NODES}, {1, -1, 0}, {1, 0, -1}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const fl_contact contacts[] = {{1, 0, 1}, bad[i]};
        fl_reach_query query = query_of(contacts, 2);
        refuses(&query, "contact 1 from");
        refuses(&query, "give nodes of 0 to 5");
    }
    /* two at one time are in order; the one after them is not; nothing stands before the first */
    const fl_contact unsorted[] = {{90, 0, 1}, {7, 0, 1}, {7, 1, 2}, {6, 1, 2}};
    fl_reach_query query = query_of(unsorted + 1, 3);
    refuses(&query, "contact 2 is earlier");
    const fl_cleaning cleanings[] = {{90, 0}, {7, 0}, {7, 1}, {6, 1}, {8, NODES}};
    query = query_of(unsorted + 1, 2);
    query.cleanings = cleanings + 1;
    query.n_cleanings = 3;
    refuses(&query, "cleaning 2 is earlier");
    query.cleanings = cleanings + 4;
    query.n_cleanings = 1;
    refuses(&query, "cleaning 0 of node 6: give a node of 0 to 5");
    query = query_of(unsorted + 1, 2);
    query.root = NODES;
    refuses(&query, "root 6: give a node of 0 to 5");
    query.root = 0;
    query.from = 101;
    refuses(&query, "window from 101 to 100");
}

/* 0 -> 1 -> 2 -> 3 -> 4: four contacts, latest first; with room for two, those two and no more. */
static void test_a_chain_in_little_room(void **state)
{
    (void)state;
    const fl_contact contacts[] = {{1, 0, 1}, {2, 1, 2}, {3, 2, 3}, {4, 3, 4}};
    int32_t chain[4] = {-7, -7, -7, -7};
    fl_err err = {0};
    answer a;
    fl_reach_query query = query_of(contacts, 4);
    check_ok(fl_reach(&query, a.nodes, a.links, &a.count, &err), &err);
    check_int(fl_reach_chain(a.nodes, a.links, 4, chain, 2), 4);
    check_int(chain[0], 3);
    check_int(chain[1], 2);
    check_int(chain[2], -7);
    check_int(fl_reach_chain(a.nodes, a.links, 4, chain, 4), 4);
    check_int(chain[3], 0);
    check_int(fl_reach_chain(a.nodes, a.links, 0, chain, 4), 0);
    check_int(fl_reach_chain(a.nodes, a.links, 5, chain, 4), 0);
}

static int sign(int value)
{
    return (value > 0) - (value < 0);
}

/* Lists in the order that is promised: each row is after those before it, and as itself. */
static void test_the_orders(void **state)
{
    (void)state;
    static const fl_contact contacts[] = {{INT64_MIN, 5, 5}, {1, 0, 3}, {1, 2, 0},
                                          {1, 2, 1},         {2, 0, 0}, {INT64_MAX, 0, 0}};
    static const fl_cleaning cleanings[] = {{INT64_MIN, 5}, {1, 0}, {1, 3}, {2, 0}, {INT64_MAX, 0}};
    for (int i = 0; i < 6; i++) {
        for (int k = 0; k < 6; k++) {
            check_int(sign(fl_contact_compare(&contacts[i], &contacts[k])), sign(i - k));
        }
    }
    for (int i = 0; i < 5; i++) {
        for (int k = 0; k < 5; k++) {
            check_int(sign(fl_cleaning_compare(&cleanings[i], &cleanings[k])), sign(i - k));
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rows_that_are_not_counted),
    cmocka_unit_test(test_a_moment),
    cmocka_unit_test(test_what_a_refusal_names),
    cmocka_unit_test(test_a_chain_in_little_room),
    cmocka_unit_test(test_the_orders),
};
FL_TEST_MAIN(tests)
