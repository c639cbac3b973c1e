/* Passage along contacts: against every way through small random contact graphs, written down one
 * by one. The likeliest chain is the largest product over all time-respecting walks; the exact
 * chance (every contact passes or not by itself: all 2^n cases) lies between prob and most; who is
 * reached at all is who core/trace/reach reaches. */
#include <math.h>
#include <stdlib.h>

#include "base/rng.h"
#include "core/trace/passage.h"
#include "core/trace/reach.h"
#include "support/check.h"

#define NODES 5
#define CONTACTS 11
#define GRAPHS 300

typedef struct graph {
    fl_passage_contact contacts[CONTACTS];
    fl_passage_seed seed;
    int n;
} graph;

static int compare(const void *a, const void *b)
{
    const fl_passage_contact *x = a;
    const fl_passage_contact *y = b;
    return (x->time > y->time) - (x->time < y->time);
}

static graph draw(fl_rng *rng)
{
    graph g = {.n = 3 + (int)fl_rng_below(rng, CONTACTS - 2)};
    for (int i = 0; i < g.n; i++) {
        int from = (int)fl_rng_below(rng, NODES);
        int to = (int)fl_rng_below(rng, NODES - 1);
        g.contacts[i] = (fl_passage_contact){.time = (int64_t)fl_rng_below(rng, 6),
                                             .from = from,
                                             .to = to >= from ? to + 1 : to,
                                             .share = fl_rng_uniform(rng)};
    }
    qsort(g.contacts, (size_t)g.n, sizeof g.contacts[0], compare);
    g.seed = (fl_passage_seed){.time = (int64_t)fl_rng_below(rng, 4),
                               .node = (int32_t)fl_rng_below(rng, NODES),
                               .prob = fl_rng_uniform(rng)};
    return g;
}

/* Every walk from `node` at `time`, each contact at most once. */
static void walk(const graph *g, int node, int64_t time, double prob, unsigned used, double *best)
{
    best[node] = fmax(best[node], prob);
    for (int i = 0; i < g->n; i++) {
        const fl_passage_contact *c = &g->contacts[i];
        if (c->from == node && c->time >= time && (used & (1U << i)) == 0) {
            walk(g, c->to, c->time, prob * c->share, used | (1U << i), best);
        }
    }
}

/* Who is reached when exactly the contacts of the mask pass: repeated until nothing changes. */
static void reach_of_mask(const graph *g, unsigned mask, int64_t *since)
{
    for (int i = 0; i < NODES; i++) {
        since[i] = INT64_MAX;
    }
    since[g->seed.node] = g->seed.time;
    for (int round = 0; round < CONTACTS; round++) {
        for (int i = 0; i < g->n; i++) {
            const fl_passage_contact *c = &g->contacts[i];
            if ((mask & (1U << i)) != 0 && since[c->from] <= c->time && c->time < since[c->to]) {
                since[c->to] = c->time;
            }
        }
    }
}

static void exact(const graph *g, double *prob)
{
    for (int i = 0; i < NODES; i++) {
        prob[i] = 0.0;
    }
    for (unsigned mask = 0; mask < 1U << g->n; mask++) {
        int64_t since[NODES];
        double p = g->seed.prob;
        for (int i = 0; i < g->n; i++) {
            p *= (mask & (1U << i)) != 0 ? g->contacts[i].share : 1.0 - g->contacts[i].share;
        }
        reach_of_mask(g, mask, since);
        for (int i = 0; i < NODES; i++) {
            prob[i] += since[i] < INT64_MAX ? p : 0.0;
        }
    }
}

static fl_passage_query query_of(const graph *g)
{
    return (fl_passage_query){.contacts = g->contacts,
                              .n_contacts = (size_t)g->n,
                              .seeds = &g->seed,
                              .n_seeds = 1,
                              .n_nodes = NODES,
                              .to = 5};
}

static void test_against_every_way(void **state)
{
    (void)state;
    fl_rng rng = {.state = 7};
    fl_err err = {0};
    for (int k = 0; k < GRAPHS; k++) {
        const graph g = draw(&rng);
        const fl_passage_query query = query_of(&g);
        fl_passage_node nodes[NODES];
        int32_t before[CONTACTS];
        double best[NODES] = {0.0};
        double truth[NODES];
        check_ok(fl_passage(&query, nodes, before, &err), &err);
        walk(&g, g.seed.node, g.seed.time, g.seed.prob, 0, best);
        exact(&g, truth);
        for (int i = 0; i < NODES; i++) {
            check_close(nodes[i].prob, best[i], 1e-12, 1e-15);
            check_true(truth[i] >= nodes[i].prob - 1e-12);
        }
    }
}

/* Where no two contacts have one time, `most` is not below the truth. */
static void test_most_is_an_upper_bound(void **state)
{
    (void)state;
    fl_rng rng = {.state = 8};
    fl_err err = {0};
    for (int k = 0; k < GRAPHS; k++) {
        graph g = draw(&rng);
        fl_passage_node nodes[NODES];
        int32_t before[CONTACTS];
        double truth[NODES];
        for (int i = 0; i < g.n; i++) {
            g.contacts[i].time = i;
        }
        g.seed.time = 0;
        fl_passage_query query = query_of(&g);
        query.to = CONTACTS;
        check_ok(fl_passage(&query, nodes, before, &err), &err);
        exact(&g, truth);
        for (int i = 0; i < NODES; i++) {
            check_true(nodes[i].most >= truth[i] - 1e-12);
        }
    }
}

/* The printed chain multiplies up to prob, in order of time, from the seed to the node. */
static void test_chain_accounts_for_prob(void **state)
{
    (void)state;
    fl_rng rng = {.state = 9};
    fl_err err = {0};
    for (int k = 0; k < GRAPHS; k++) {
        const graph g = draw(&rng);
        const fl_passage_query query = query_of(&g);
        fl_passage_node nodes[NODES];
        int32_t before[CONTACTS];
        check_ok(fl_passage(&query, nodes, before, &err), &err);
        for (int32_t i = 0; i < NODES; i++) {
            int32_t chain[CONTACTS];
            size_t len = fl_passage_chain(nodes, before, i, chain, CONTACTS);
            double prob = g.seed.prob;
            int32_t at = g.seed.node;
            for (size_t s = 0; s < len; s++) {
                const fl_passage_contact *c = &g.contacts[chain[s]];
                check_int(c->from, at);
                check_true(s == 0 ? c->time >= g.seed.time
                                  : c->time >= g.contacts[chain[s - 1]].time);
                prob *= c->share;
                at = c->to;
            }
            if (nodes[i].prob > 0.0) {
                check_int(at, i);
                check_close(nodes[i].prob, prob, 1e-12, 0.0);
            } else {
                check_int(len, 0);
            }
        }
    }
}

static void test_reached_is_reach(void **state)
{
    (void)state;
    fl_rng rng = {.state = 10};
    fl_err err = {0};
    for (int k = 0; k < GRAPHS; k++) {
        const graph g = draw(&rng);
        const fl_passage_query query = query_of(&g);
        fl_passage_node nodes[NODES];
        int32_t before[CONTACTS];
        fl_contact contacts[CONTACTS];
        fl_reach_node reached[NODES];
        fl_reach_link links[CONTACTS];
        fl_reach_count count;
        for (int i = 0; i < g.n; i++) {
            contacts[i] = (fl_contact){g.contacts[i].time, g.contacts[i].from, g.contacts[i].to};
        }
        const fl_reach_query reach = {.contacts = contacts,
                                      .n_contacts = (size_t)g.n,
                                      .n_nodes = NODES,
                                      .root = g.seed.node,
                                      .from = g.seed.time,
                                      .to = 5};
        check_ok(fl_passage(&query, nodes, before, &err), &err);
        check_ok(fl_reach(&reach, reached, links, &count, &err), &err);
        for (int i = 0; i < NODES; i++) {
            check_true((nodes[i].prob > 0.0) == reached[i].is_reached);
        }
    }
}

static void test_refuses_nonsense(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_passage_node nodes[2] = {{.prob = 42.0}, {.prob = 0.0}};
    int32_t before[2];
    fl_passage_contact contacts[2] = {{5, 0, 1, 0.5}, {4, 1, 0, 0.5}};
    fl_passage_seed seed = {0, 0, 1.0};
    fl_passage_query query = {
        .contacts = contacts, .n_contacts = 2, .seeds = &seed, .n_seeds = 1, .n_nodes = 2, .to = 9};
    check_true(fl_passage(&query, nodes, before, &err) == FL_EINVAL); /* not sorted */
    check_status(&err, FL_EINVAL);
    contacts[1] = (fl_passage_contact){6, 1, 2, 0.5}; /* no such node */
    check_true(fl_passage(&query, nodes, before, &err) == FL_EINVAL);
    contacts[1] = (fl_passage_contact){6, 1, 0, 1.5};
    check_true(fl_passage(&query, nodes, before, &err) == FL_EINVAL);
    contacts[1] = (fl_passage_contact){6, 1, 0, (double)NAN};
    check_true(fl_passage(&query, nodes, before, &err) == FL_EINVAL);
    contacts[1].share = 0.5;
    seed.prob = -0.1;
    check_true(fl_passage(&query, nodes, before, &err) == FL_EINVAL);
    check_close(nodes[0].prob, 42.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_against_every_way),       cmocka_unit_test(test_most_is_an_upper_bound),
    cmocka_unit_test(test_chain_accounts_for_prob), cmocka_unit_test(test_reached_is_reach),
    cmocka_unit_test(test_refuses_nonsense),
};
FL_TEST_MAIN(tests)
