/* Reach through contacts against the tables in tests/reference (made with Python, each checked
 * against networkx there), and by hand where cleanings, ties and chains matter. */
#include <math.h>
#include <stdlib.h>

#include "base/rng.h"
#include "core/trace/reach.h"
#include "support/check.h"

/* A network of our own making with room for the pass. */
typedef struct net {
    fl_reach_query query;
    fl_contact *contacts;
    fl_cleaning *cleanings;
    fl_reach_node *nodes;
    fl_reach_link *links;
    fl_reach_count count;
} net;

static void *need(size_t count, size_t size)
{
    void *memory = calloc(count == 0 ? 1 : count, size);
    assert_non_null(memory);
    return memory;
}

static net new_net(int32_t n_nodes, size_t n_contacts, size_t n_cleanings)
{
    net n = {.contacts = need(n_contacts, sizeof(fl_contact)),
             .cleanings = need(n_cleanings, sizeof(fl_cleaning)),
             .nodes = need((size_t)n_nodes, sizeof(fl_reach_node)),
             .links = need(n_contacts, sizeof(fl_reach_link))};

    n.query = (fl_reach_query){.contacts = n.contacts,
                               .n_contacts = n_contacts,
                               .cleanings = n.cleanings,
                               .n_cleanings = n_cleanings,
                               .n_nodes = n_nodes};
    return n;
}

static void free_net(net *n)
{
    free(n->contacts);
    free(n->cleanings);
    free(n->nodes);
    free(n->links);
}

/* The generator of the tables: clearance-and-tracing 7.7. */
static net generated(int32_t n_nodes, size_t n_contacts, uint64_t time_max, uint64_t seed)
{
    net n = new_net(n_nodes, n_contacts, 0);
    fl_rng rng = {seed};
    const uint64_t nodes = (uint64_t)n_nodes;

    for (size_t i = 0; i < n_contacts; i++) {
        const uint64_t u = fl_rng_next(&rng) % nodes;
        const uint64_t v = fl_rng_next(&rng) % nodes;
        n.contacts[i].time = (int64_t)(fl_rng_next(&rng) % time_max);
        n.contacts[i].from = (int32_t)u;
        n.contacts[i].to = (int32_t)(u == v ? (v + 1) % nodes : v);
    }
    qsort(n.contacts, n_contacts, sizeof(fl_contact), fl_contact_compare);
    return n;
}

static void run(net *n)
{
    fl_err err = {0};
    check_ok(fl_reach(&n->query, n->nodes, n->links, &n->count, &err), &err);
}

/* Sum of (node + 1) (time + 1) over what is reached, the root included, mod 2^61 - 1. */
static uint64_t checksum(const net *n)
{
    const uint64_t prime = (UINT64_C(1) << 61) - 1;
    uint64_t sum = 0;

    for (int32_t i = 0; i < n->query.n_nodes; i++) {
        if (n->nodes[i].is_reached) {
            sum = (sum + (uint64_t)(i + 1) * (uint64_t)(n->nodes[i].time + 1) % prime) % prime;
        }
    }
    return sum;
}

static int64_t whole(const fl_table *table, size_t row, const char *column)
{
    return strtoll(fl_table_text(table, row, column), NULL, 10);
}

/* Every row of a *_reach table: direction, root, window, strict; reach and checksum. */
static void check_reach_table(net *n, const char *name, size_t n_rows)
{
    fl_table table = fl_table_read(name);

    assert_int_equal(table.n_rows, n_rows);
    for (size_t i = 0; i < table.n_rows; i++) {
        n->query.is_backward = fl_table_text(&table, i, "direction")[0] == 'b';
        n->query.root = (int32_t)whole(&table, i, "root");
        n->query.from = whole(&table, i, "t0");
        n->query.to = whole(&table, i, "t1");
        n->query.is_strict = whole(&table, i, "strict") == 1;
        run(n);
        check_int(n->count.reached, whole(&table, i, "reach"));
        check_int(checksum(n), whole(&table, i, "checksum"));
        /* without cleanings who was ever dirty stays so */
        check_int(n->count.dirty, n->count.reached + 1);
    }
    fl_table_free(&table);
}

/* Source: temporal_small.csv and temporal_small_reach.csv (networkx 2.8.8 agrees in every row). */
static void test_small(void **state)
{
    fl_table table = fl_table_read("temporal_small.csv");
    net n = generated(200, 1000, 5000, 77);
    (void)state;

    assert_int_equal(table.n_rows, 1000);
    for (size_t i = 0; i < table.n_rows; i++) {
        check_int(n.contacts[i].time, whole(&table, i, "t"));
        check_int(n.contacts[i].from, whole(&table, i, "u"));
        check_int(n.contacts[i].to, whole(&table, i, "v"));
    }
    fl_table_free(&table);
    check_reach_table(&n, "temporal_small_reach.csv", 84);
    free_net(&n);
}

/* Source: temporal_big_reach.csv, 1e5 contacts of 1e4 nodes. */
static void test_big(void **state)
{
    net n = generated(10000, 100000, 525600, 20240611);
    (void)state;

    check_reach_table(&n, "temporal_big_reach.csv", 60);
    free_net(&n);
}

/* Source: temporal_ties_reach.csv: many equal times, strict and chained differ. */
static void test_ties(void **state)
{
    net n = generated(60, 300, 25, 31);
    (void)state;

    check_reach_table(&n, "temporal_ties_reach.csv", 48);
    free_net(&n);
}

/* Source: temporal_cleaning_reach.csv: 300 cleanings, networkx agrees in every row. */
static void test_cleanings(void **state)
{
    fl_table table = fl_table_read("temporal_cleaning_reach.csv");
    net n = generated(120, 900, 3000, 32);
    fl_rng rng = {1032};
    (void)state;

    free(n.cleanings);
    n.cleanings = need(300, sizeof(fl_cleaning));
    for (size_t i = 0; i < 300; i++) {
        n.cleanings[i].time = (int64_t)(fl_rng_next(&rng) % 3000);
        n.cleanings[i].node = (int32_t)(fl_rng_next(&rng) % 120);
    }
    qsort(n.cleanings, 300, sizeof(fl_cleaning), fl_cleaning_compare);
    n.query.cleanings = n.cleanings;

    assert_int_equal(table.n_rows, 12);
    for (size_t i = 0; i < table.n_rows; i++) {
        n.query.root = (int32_t)whole(&table, i, "root");
        n.query.from = whole(&table, i, "t0");
        n.query.to = whole(&table, i, "t1");
        n.query.n_cleanings = 300;
        run(&n);
        check_int(n.count.reached, whole(&table, i, "ever_contaminated_excl_root"));
        check_int(n.count.dirty, whole(&table, i, "contaminated_at_t1_incl_root"));
        check_int(checksum(&n), whole(&table, i, "checksum_first"));
        n.query.n_cleanings = 0;
        run(&n);
        check_int(n.count.reached, whole(&table, i, "ever_without_cleaning"));
    }
    fl_table_free(&table);
    free_net(&n);
}

/* A tool (1) goes from a sick plant (0) to plant 2, is cleaned, goes to plant 3, then picks it up
 * again and goes to plant 4. Forward from 0: the tool, 2 and 4, not 3. */
static net tool_round(void)
{
    static const fl_contact contacts[] = {
        {10, 0, 1}, {20, 1, 2}, {40, 1, 3}, {50, 0, 1}, {60, 1, 4}};
    net n = new_net(5, 5, 1);

    for (size_t i = 0; i < 5; i++) {
        n.contacts[i] = contacts[i];
    }
    n.cleanings[0] = (fl_cleaning){30, 1};
    n.query.from = 0;
    n.query.to = 100;
    return n;
}

static void test_tool_forward(void **state)
{
    net n = tool_round();
    int32_t chain[4] = {-9, -9, -9, -9};
    (void)state;

    run(&n);
    check_int(n.count.reached, 3);
    check_false(n.nodes[3].is_reached);
    check_int(n.nodes[3].contact, FL_REACH_NONE);
    check_int(n.nodes[1].time, 10);
    check_int(n.nodes[2].time, 20);
    check_int(n.nodes[4].time, 60);
    /* plant 4 got it through the second visit: the chain must not run through the cleaning */
    check_int(fl_reach_chain(n.nodes, n.links, 4, chain, 4), 2);
    check_int(chain[0], 4);
    check_int(chain[1], 3);
    check_int(fl_reach_chain(n.nodes, n.links, 2, chain, 1), 2);
    check_int(chain[0], 1);
    check_int(chain[1], 3);
    check_int(fl_reach_chain(n.nodes, n.links, 0, chain, 4), 0);
    check_int(fl_reach_chain(n.nodes, n.links, 3, chain, 4), 0);
    check_int(n.count.dirty, 4);
    n.query.to = 35;
    run(&n);
    check_int(n.count.reached, 2);
    check_int(n.count.dirty, 2);
    check_true(n.nodes[1].is_reached && !n.nodes[1].is_dirty);
    free_net(&n);
}

static void test_tool_backward(void **state)
{
    net n = tool_round();
    int32_t chain[4] = {-9, -9, -9, -9};
    (void)state;

    n.query.is_backward = true;
    n.query.root = 3;
    run(&n);
    /* plant 3 could have it from the tool after its cleaning, from nobody before */
    check_int(n.count.reached, 1);
    check_int(n.nodes[1].time, 40);
    check_false(n.nodes[1].is_dirty);
    check_int(n.count.dirty, 1);

    n.query.root = 4;
    run(&n);
    check_int(n.count.reached, 2);
    check_int(n.nodes[1].time, 60);
    check_int(n.nodes[0].time, 50);
    check_true(n.nodes[0].is_dirty);
    check_false(n.nodes[1].is_dirty);
    check_int(fl_reach_chain(n.nodes, n.links, 0, chain, 4), 2);
    check_int(chain[0], 3);
    check_int(chain[1], 4);
    free_net(&n);
}

/* Clean first at one time stamp; a chain may run through one time, strict not; the root cleaned as
 * the window opens is clean. */
static void test_equal_times(void **state)
{
    net n = new_net(4, 3, 1);
    (void)state;

    n.contacts[0] = (fl_contact){5, 0, 1};
    n.contacts[1] = (fl_contact){5, 1, 2};
    n.contacts[2] = (fl_contact){5, 2, 3};
    n.cleanings[0] = (fl_cleaning){5, 1};
    n.query.from = 5;
    n.query.to = 5;
    run(&n);
    check_int(n.count.reached, 3);
    check_int(n.count.dirty, 4);
    n.query.is_strict = true;
    run(&n);
    check_int(n.count.reached, 1);
    n.query.is_strict = false;
    n.query.is_backward = true;
    n.query.root = 3;
    run(&n);
    check_int(n.count.reached, 3);
    /* dirt on 1 before its cleaning would have been cleaned away; on 0 and 2 not */
    check_int(n.count.dirty, 3);
    n.query.is_strict = true;
    run(&n);
    check_int(n.count.reached, 1);
    check_int(n.nodes[2].time, 5);

    n.query.is_strict = false;
    n.query.is_backward = false;
    n.query.root = 0;
    n.cleanings[0] = (fl_cleaning){5, 0};
    run(&n);
    check_int(n.count.reached, 0);
    check_int(n.count.dirty, 0);
    check_int(n.nodes[0].time, 5);
    free_net(&n);
}

/* Nobody meets anybody; a contact with oneself; a contact outside the window; a root that is
 * dirtied again counts as the root. */
static void test_edges(void **state)
{
    net n = new_net(2, 0, 0);
    (void)state;

    run(&n);
    check_int(n.count.reached, 0);
    check_int(n.count.dirty, 1);
    free_net(&n);

    n = new_net(3, 4, 1);
    n.contacts[0] = (fl_contact){INT64_MIN, 0, 2};
    n.contacts[1] = (fl_contact){1, 0, 0};
    n.contacts[2] = (fl_contact){2, 0, 1};
    n.contacts[3] = (fl_contact){INT64_MAX, 1, 0};
    n.cleanings[0] = (fl_cleaning){INT64_MAX, 0};
    n.query.from = 0;
    n.query.to = INT64_MAX;
    run(&n);
    check_int(n.count.reached, 1);
    check_int(n.count.dirty, 2);
    check_int(n.nodes[0].time, 0);
    check_int(n.nodes[0].contact, FL_REACH_ROOT);
    n.query.is_backward = true;
    run(&n);
    check_int(n.count.reached, 1);
    check_int(n.nodes[1].time, INT64_MAX);
    check_int(n.nodes[0].time, INT64_MAX);
    free_net(&n);
}

static void check_refused(net *n, const char *message)
{
    fl_err err = {0};

    n->count.reached = 99;
    n->nodes[0].time = 1234;
    check_int(fl_reach(&n->query, n->nodes, n->links, &n->count, &err), FL_EINVAL);
    check_contains(err.message, message);
    check_int(n->count.reached, 99);
    check_int(n->nodes[0].time, 1234);
}

static void test_bad_queries(void **state)
{
    net n = tool_round();
    (void)state;

    n.query.root = 5;
    check_refused(&n, "root 5: give a node of 0 to 4");
    n.query.root = -1;
    check_refused(&n, "root -1");
    n.query.root = 0;
    n.query.to = -1;
    check_refused(&n, "it ends before it begins");
    n.query.to = 100;
    n.contacts[2].to = 5;
    check_refused(&n, "contact 2 from 1 to 5");
    n.contacts[2].to = 3;
    n.contacts[2].from = -1;
    check_refused(&n, "contact 2 from -1");
    n.contacts[2].from = 1;
    n.contacts[2].time = 15;
    check_refused(&n, "contact 2 is earlier");
    n.contacts[2].time = 40;
    n.cleanings[0].node = 7;
    check_refused(&n, "cleaning 0 of node 7");
    free_net(&n);

    n = new_net(2, 0, 2);
    n.cleanings[0] = (fl_cleaning){9, 1};
    n.cleanings[1] = (fl_cleaning){8, 1};
    check_refused(&n, "cleaning 1 is earlier");
    n.query.n_contacts = (size_t)INT32_MAX + 1;
    check_refused(&n, "contacts: at most");
    free_net(&n);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_small),        cmocka_unit_test(test_big),
    cmocka_unit_test(test_ties),         cmocka_unit_test(test_cleanings),
    cmocka_unit_test(test_tool_forward), cmocka_unit_test(test_tool_backward),
    cmocka_unit_test(test_equal_times),  cmocka_unit_test(test_edges),
    cmocka_unit_test(test_bad_queries),
};
FL_TEST_MAIN(tests)
