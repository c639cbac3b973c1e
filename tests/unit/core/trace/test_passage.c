/* Passage along contacts, worked by hand: the likeliest chain is a product of shares, `most` the
 * chance that not every contact failed (1 - the product of the failures, for independent contacts).
 * Then what is refused, with each figure that is named as the limit let through. The property test
 * (tests/property/test_source.c) compares random histories with an oracle of its own. */
#include <math.h>
#include <string.h>

#include "core/trace/passage.h"
#include "support/check.h"

#define NODES 5

typedef struct net {
    fl_passage_query query;
    fl_passage_node nodes[NODES];
    int32_t before[8];
} net;

static fl_passage_query query_of(const fl_passage_contact *contacts, size_t n_contacts,
                                 const fl_passage_seed *seeds, size_t n_seeds)
{
    return (fl_passage_query){.contacts = contacts,
                              .n_contacts = n_contacts,
                              .seeds = seeds,
                              .n_seeds = n_seeds,
                              .n_nodes = NODES,
                              .to = 100};
}

static void run(net *n)
{
    fl_err err = {0};
    check_ok(fl_passage(&n->query, n->nodes, n->before, &err), &err);
}

/* Two givers of one taker: half of 1/2 and two fifths of 1. The likelier chain has 0.4; that not
 * both fail, 1 - 0.75 x 0.6 = 0.55. A third contact, of a tenth of it, then 1 - 0.45 x 0.9. */
static void test_two_ways_to_one(void **state)
{
    (void)state;
    const fl_passage_contact contacts[] = {{10, 0, 2, 0.5}, {20, 1, 2, 0.4}, {30, 1, 2, 0.1}};
    const fl_passage_seed seeds[] = {{0, 0, 0.5}, {0, 1, 1.0}};
    net n = {.query = query_of(contacts, 3, seeds, 2)};
    run(&n);
    check_close(n.nodes[2].prob, 0.4, 1e-15, 0.0);
    check_int(n.nodes[2].contact, 1);
    check_int(n.nodes[2].time, 20);
    check_close(n.nodes[2].most, 1.0 - 0.45 * 0.9, 1e-15, 0.0);
    check_int(n.before[0], FL_PASSAGE_SEED);
    check_int(n.before[2], FL_PASSAGE_NONE); /* raised nothing */
    check_close(n.nodes[3].prob, 0.0, 0.0, 0.0);
    check_int(n.nodes[3].contact, FL_PASSAGE_NONE);
}

/* A chain inside one time is found whichever way it is listed: 0 -> 1 -> 2 -> 3, told backwards. */
static void test_a_chain_of_one_time(void **state)
{
    (void)state;
    const fl_passage_contact contacts[] = {{10, 2, 3, 0.5}, {10, 1, 2, 0.5}, {10, 0, 1, 0.5}};
    const fl_passage_seed seeds[] = {{10, 0, 1.0}}; /* a seed comes before contacts of its time */
    net n = {.query = query_of(contacts, 3, seeds, 1)};
    int32_t chain[4] = {-7, -7, -7, -7};
    run(&n);
    check_close(n.nodes[3].prob, 0.125, 1e-15, 0.0);
    check_true(n.nodes[3].most >= n.nodes[3].prob);
    check_int(fl_passage_chain(n.nodes, n.before, 3, chain, 4), 3);
    check_int(chain[0], 2);
    check_int(chain[1], 1);
    check_int(chain[2], 0);
    check_int(chain[3], -7);
    chain[2] = -7; /* room for two: the earliest two, and not a word beyond */
    check_int(fl_passage_chain(n.nodes, n.before, 3, chain, 2), 3);
    check_int(chain[1], 1);
    check_int(chain[2], -7);
    check_int(fl_passage_chain(n.nodes, n.before, 0, chain, 4), 0); /* seeded */
    check_int(fl_passage_chain(n.nodes, n.before, 4, chain, 4), 0); /* not reached */
}

/* What is as likely already is not explained anew, neither by a contact nor by a seed; what comes
 * at the end of the window still counts, what comes after it does not. */
static void test_what_changes_nothing(void **state)
{
    (void)state;
    const fl_passage_contact contacts[] = {
        {10, 0, 1, 0.5}, {20, 0, 1, 0.5}, {100, 0, 2, 0.5}, {101, 0, 3, 0.5}};
    const fl_passage_seed seeds[] = {{0, 0, 1.0}, {30, 1, 0.5}, {100, 4, 0.3}, {101, 4, 0.9}};
    net n = {.query = query_of(contacts, 4, seeds, 4)};
    run(&n);
    check_int(n.nodes[1].contact, 0);
    check_int(n.nodes[1].time, 10);
    check_close(n.nodes[1].most, 0.75, 1e-15, 0.0);
    check_close(n.nodes[2].prob, 0.5, 1e-15, 0.0);
    check_close(n.nodes[3].prob, 0.0, 0.0, 0.0);
    check_close(n.nodes[4].prob, 0.3, 1e-15, 0.0);
    check_close(n.nodes[4].most, 0.3, 1e-15, 0.0);
    check_int(n.nodes[4].contact, FL_PASSAGE_SEED);
}

/* The counted rows of longer lists are a history of their own: what stands behind them is neither
 * read nor written. The last seed comes with the end of the window, after all contacts. */
static void test_rows_that_are_not_counted(void **state)
{
    (void)state;
    const fl_passage_contact contacts[] = {{10, 0, 1, 0.5}, {20, 1, 2, 0.5}, {20, 2, 3, 1.0}};
    const fl_passage_seed seeds[] = {{0, 0, 1.0}, {100, 4, 0.3}, {5, 3, 0.9}};
    fl_err err = {0};
    fl_passage_node nodes[NODES + 1] = {[NODES] = {.time = 77}};
    int32_t before[3] = {-7, -7, -7};
    fl_passage_query query = query_of(contacts, 2, seeds, 2);
    check_ok(fl_passage(&query, nodes, before, &err), &err);
    check_close(nodes[2].prob, 0.25, 1e-15, 0.0);
    check_close(nodes[3].prob, 0.0, 0.0, 0.0);
    check_close(nodes[4].prob, 0.3, 1e-15, 0.0);
    check_int(nodes[NODES].time, 77);
    check_int(before[2], -7);
    query = query_of(contacts, 1, seeds, 1); /* the same with no row left in either list */
    check_ok(fl_passage(&query, nodes, before, &err), &err);
    check_close(nodes[4].prob, 0.0, 0.0, 0.0);
    query = query_of(contacts, 2, seeds + 2, 0);
    check_ok(fl_passage(&query, nodes, before, &err), &err);
    check_close(nodes[3].prob, 0.0, 0.0, 0.0);
}

static void refuses(const fl_passage_query *query, const char *because)
{
    fl_err err = {0};
    net n = {.nodes[0].prob = 42.0};
    check_true(fl_passage(query, n.nodes, n.before, &err) == FL_EINVAL);
    check_status(&err, FL_EINVAL);
    check_contains(err.message, because);
    check_close(n.nodes[0].prob, 42.0, 0.0, 0.0); /* untouched */
}

/* Shares of 0 and 1 and the first and last node are let through, what lies beyond is named. */
static void test_limits(void **state)
{
    (void)state;
    const fl_passage_contact sound[] = {{10, 0, 4, 1.0}, {10, 4, 0, 0.0}};
    const fl_passage_seed seed[] = {{0, 0, 1.0}, {0, 4, 0.0}};
    net n = {.query = query_of(sound, 2, seed, 2)};
    run(&n);
    check_close(n.nodes[4].prob, 1.0, 0.0, 0.0);
    static const fl_passage_contact bad[] = {{10, -1, 0, 0.5},  {10, 0, -1, 0.5},
                                             {10, NODES, 0, 1}, {10, 0, NODES, 1},
                                             {10, 0, 1, -1e-9}, {10, 0, 1, 1.0 + 1e-9}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fl_passage_query query = query_of(&bad[i], 1, seed, 2);
        refuses(&query, "give nodes of 0 to 4 and 0 to 1");
    }
    const fl_passage_contact nan = {10, 0, 1, (double)NAN};
    fl_passage_query query = query_of(&nan, 1, seed, 2);
    refuses(&query, "contact 0 from 0 to 1");
    static const fl_passage_seed bad_seed[] = {
        {0, -1, 0.5}, {0, NODES, 0.5}, {0, 0, -1e-9}, {0, 0, 1.0 + 1e-9}};
    for (size_t i = 0; i < sizeof bad_seed / sizeof bad_seed[0]; i++) {
        query = query_of(sound, 2, &bad_seed[i], 1);
        refuses(&query, "give 0 to 4 and 0 to 1");
    }
}

/* By time; the first has none before it, whatever lies in memory there. */
static void test_order(void **state)
{
    (void)state;
    const fl_passage_contact contacts[] = {
        {90, 0, 1, 1.0}, {20, 0, 1, 1.0}, {20, 1, 2, 1.0}, {10, 2, 3, 1.0}, {15, 2, 9, 1.0}};
    const fl_passage_seed seeds[] = {{90, 0, 1.0}, {20, 0, 1.0}, {20, 1, 1.0}, {10, 2, 1.0}};
    net n = {.query = query_of(contacts + 1, 2, seeds + 1, 2)};
    run(&n);
    check_close(n.nodes[2].prob, 1.0, 0.0, 0.0);
    fl_passage_query query = query_of(contacts + 1, 3, seeds + 1, 2);
    refuses(&query, "contact 2 is earlier");
    query = query_of(contacts + 1, 2, seeds + 1, 3);
    refuses(&query, "seed 2 is earlier");
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_two_ways_to_one),
                                          cmocka_unit_test(test_a_chain_of_one_time),
                                          cmocka_unit_test(test_what_changes_nothing),
                                          cmocka_unit_test(test_rows_that_are_not_counted),
                                          cmocka_unit_test(test_limits),
                                          cmocka_unit_test(test_order)};
FL_TEST_MAIN(tests)
