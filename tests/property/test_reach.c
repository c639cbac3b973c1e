/* Reach on many small random networks with ties and cleanings: against a literal reading of the
 * definition (run forward from every node at every time, repeat until nothing changes), the sum
 * rule, the mirror rule, and chains that hold up contact by contact. The seed is printed on
 * failure. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/trace/reach.h"
#include "support/check.h"

#define N_NODES 8
#define N_CONTACTS 22
#define N_CLEANINGS 7
#define TIME_MAX 9
#define N_NETS 400

typedef struct small_net {
    uint64_t seed;
    fl_contact contacts[N_CONTACTS];
    fl_cleaning cleanings[N_CLEANINGS];
    fl_reach_query query;
    fl_reach_node nodes[N_NODES];
    fl_reach_link links[N_CONTACTS];
    fl_reach_count count;
} small_net;

static void make_net(small_net *n, uint64_t seed)
{
    fl_rng rng = {seed};

    memset(n, 0, sizeof *n);
    n->seed = seed;
    for (size_t i = 0; i < N_CONTACTS; i++) {
        n->contacts[i].time = (int64_t)fl_rng_below(&rng, TIME_MAX);
        n->contacts[i].from = (int32_t)fl_rng_below(&rng, N_NODES);
        n->contacts[i].to = (int32_t)fl_rng_below(&rng, N_NODES);
    }
    for (size_t i = 0; i < N_CLEANINGS; i++) {
        n->cleanings[i].time = (int64_t)fl_rng_below(&rng, TIME_MAX);
        n->cleanings[i].node = (int32_t)fl_rng_below(&rng, N_NODES);
    }
    qsort(n->contacts, N_CONTACTS, sizeof(fl_contact), fl_contact_compare);
    qsort(n->cleanings, N_CLEANINGS, sizeof(fl_cleaning), fl_cleaning_compare);
    n->query = (fl_reach_query){.contacts = n->contacts,
                                .n_contacts = N_CONTACTS,
                                .cleanings = n->cleanings,
                                .n_cleanings = seed % 4 == 0 ? 0 : N_CLEANINGS,
                                .n_nodes = N_NODES,
                                .from = (int64_t)fl_rng_below(&rng, 3),
                                .to = 5 + (int64_t)fl_rng_below(&rng, 5),
                                .is_strict = seed % 2 == 1};
}

static void run(small_net *n, int32_t root, bool is_backward)
{
    fl_err err = {0};

    n->query.root = root;
    n->query.is_backward = is_backward;
    check_ok(fl_reach(&n->query, n->nodes, n->links, &n->count, &err), &err);
}

/* Ends the test with the seed when a claim fails. */
static void hold(bool claim, const small_net *n, const char *what, int32_t node)
{
    if (!claim) {
        print_error("seed %llu, root %d, node %d: %s\n", (unsigned long long)n->seed, n->query.root,
                    node, what);
    }
    check_true(claim);
}

/* The definition, word for word: a set of dirty nodes as bits; `ever` collects them. Starts with
 * `dirty` at time `at`: before the cleanings of that time, or after them. */
static unsigned literal(const small_net *n, unsigned dirty, int64_t at, bool is_after_cleaning,
                        unsigned *ever)
{
    const unsigned at_start = dirty;

    *ever = dirty;
    for (int64_t t = at; t <= n->query.to; t++) {
        unsigned settled;
        bool has_changed = true;
        for (size_t i = 0; i < n->query.n_cleanings; i++) {
            if (n->cleanings[i].time == t && !(t == at && is_after_cleaning)) {
                dirty &= ~(1U << n->cleanings[i].node);
            }
        }
        if (t == at && is_after_cleaning) {
            dirty = at_start;
        }
        settled = dirty;
        while (has_changed) {
            const unsigned before = dirty;
            for (size_t i = 0; i < N_CONTACTS; i++) {
                const unsigned givers = n->query.is_strict ? settled : dirty;
                if (n->contacts[i].time == t && (givers >> n->contacts[i].from & 1U) != 0) {
                    dirty |= 1U << n->contacts[i].to;
                }
            }
            has_changed = dirty != before;
        }
        *ever |= dirty;
    }
    return dirty;
}

static unsigned bits(const small_net *n, bool is_ever)
{
    unsigned set = 0;

    for (int32_t i = 0; i < N_NODES; i++) {
        if (is_ever ? n->nodes[i].is_reached : n->nodes[i].is_dirty) {
            set |= 1U << i;
        }
    }
    return set;
}

static void test_forward_is_literal(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        make_net(&n, seed);
        for (int32_t root = 0; root < N_NODES; root++) {
            unsigned ever = 0;
            run(&n, root, false);
            hold(literal(&n, 1U << root, n.query.from, false, &ever) == bits(&n, false), &n,
                 "dirty at the end", -1);
            hold(ever == bits(&n, true), &n, "ever reached", -1);
        }
    }
}

/* First arrival: not reached in a window that closes just before, reached in one that closes then.
 */
static void test_forward_times(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        make_net(&n, seed);
        for (int32_t root = 0; root < N_NODES; root++) {
            int64_t first[N_NODES];
            const int64_t to = n.query.to;
            run(&n, root, false);
            for (int32_t i = 0; i < N_NODES; i++) {
                first[i] = n.nodes[i].is_reached ? n.nodes[i].time : INT64_MAX;
            }
            for (int32_t i = 0; i < N_NODES; i++) {
                if (i != root && first[i] <= to) {
                    unsigned ever = 0;
                    n.query.to = first[i];
                    (void)literal(&n, 1U << root, n.query.from, false, &ever);
                    hold((ever >> i & 1U) == 1U, &n, "reached by its time", i);
                    n.query.to = first[i] - 1;
                    (void)literal(&n, 1U << root, n.query.from, false, &ever);
                    hold((ever >> i & 1U) == 0U, &n, "not before its time", i);
                    n.query.to = to;
                }
            }
        }
    }
}

static void test_backward_is_literal(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        make_net(&n, seed);
        for (int32_t root = 0; root < N_NODES; root++) {
            run(&n, root, true);
            for (int32_t u = 0; u < N_NODES; u++) {
                unsigned ever = 0;
                int64_t last = INT64_MIN;
                const unsigned at_end = literal(&n, 1U << u, n.query.from, false, &ever);
                hold((at_end >> root & 1U) == (n.nodes[u].is_dirty ? 1U : 0U), &n,
                     "dirt at the start would do", u);
                for (int64_t t = n.query.from; t <= n.query.to; t++) {
                    if ((literal(&n, 1U << u, t, true, &ever) >> root & 1U) != 0) {
                        last = t;
                    }
                }
                if (u != root) {
                    hold(n.nodes[u].is_reached == (last != INT64_MIN), &n, "dirt ever would do", u);
                    hold(!n.nodes[u].is_reached || n.nodes[u].time == last, &n, "last time", u);
                }
            }
        }
    }
}

/* Over all roots: as many reached forward as backward without cleanings; with cleanings as many
 * dirty at the end of a forward pass as would do at the start of a backward one; and pair by pair.
 */
static void test_sum_and_mirror_rules(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        unsigned forward[N_NODES];
        int32_t sums[4] = {0, 0, 0, 0};
        make_net(&n, seed);
        for (int32_t root = 0; root < N_NODES; root++) {
            run(&n, root, false);
            forward[root] = bits(&n, false);
            sums[0] += n.count.reached;
            sums[1] += n.count.dirty;
        }
        for (int32_t root = 0; root < N_NODES; root++) {
            run(&n, root, true);
            sums[2] += n.count.reached;
            sums[3] += n.count.dirty;
            for (int32_t u = 0; u < N_NODES; u++) {
                hold((forward[u] >> root & 1U) == (n.nodes[u].is_dirty ? 1U : 0U), &n, "mirror", u);
            }
        }
        hold(sums[1] == sums[3], &n, "sum of dirty", -1);
        hold(n.query.n_cleanings != 0 || sums[0] == sums[2], &n, "sum of reached", -1);
    }
}

static bool is_cleaned_between(const small_net *n, int32_t node, int64_t after, int64_t until)
{
    for (size_t i = 0; i < n->query.n_cleanings; i++) {
        if (n->cleanings[i].node == node && n->cleanings[i].time > after &&
            n->cleanings[i].time <= until) {
            return true;
        }
    }
    return false;
}

/* Each chain leads from the node to the root, in time, and no giving end was cleaned since it got
 * the dirt it gives. */
static void check_chain(const small_net *n, int32_t node)
{
    int32_t chain[N_CONTACTS];
    size_t len = fl_reach_chain(n->nodes, n->links, node, chain, N_CONTACTS);
    const fl_contact *c = n->contacts;

    hold(len >= 1 && len <= N_CONTACTS, n, "chain length", node);
    if (!n->query.is_backward) { /* from the root on, as the backward one is from the node on */
        for (size_t i = 0; i < len / 2; i++) {
            const int32_t swap = chain[i];
            chain[i] = chain[len - 1 - i];
            chain[len - 1 - i] = swap;
        }
    }
    hold(c[chain[0]].from == (n->query.is_backward ? node : n->query.root), n, "begins", node);
    hold(c[chain[len - 1]].to == (n->query.is_backward ? n->query.root : node), n, "ends", node);
    for (size_t i = 0; i + 1 < len; i++) {
        const fl_contact *here = &c[chain[i]];
        const fl_contact *next = &c[chain[i + 1]];
        hold(here->to == next->from, n, "joins", node);
        hold(n->query.is_strict ? here->time < next->time : here->time <= next->time, n, "in time",
             node);
        hold(!is_cleaned_between(n, next->from, here->time, next->time), n, "not cleaned", node);
    }
    if (n->query.is_backward) {
        hold(!is_cleaned_between(n, n->query.root, c[chain[len - 1]].time, n->query.to), n,
             "root not cleaned since", node);
    } else {
        hold(!is_cleaned_between(n, n->query.root, n->query.from - 1, c[chain[0]].time), n,
             "root not cleaned before", node);
    }
}

static void test_chains(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        make_net(&n, seed);
        for (int32_t i = 0; i < 2 * N_NODES; i++) {
            run(&n, i % N_NODES, i >= N_NODES);
            for (int32_t node = 0; node < N_NODES; node++) {
                if (node != n.query.root && n.nodes[node].is_reached) {
                    check_chain(&n, node);
                }
            }
        }
    }
}

/* Cleanings never let more be reached. */
static void test_monotone(void **state)
{
    small_net n;
    (void)state;

    for (uint64_t seed = 1; seed <= N_NETS; seed++) {
        make_net(&n, seed);
        for (int32_t i = 0; i < 2 * N_NODES; i++) {
            unsigned all;
            n.query.n_cleanings = 0;
            run(&n, i % N_NODES, i >= N_NODES);
            all = bits(&n, true);
            n.query.n_cleanings = N_CLEANINGS;
            run(&n, i % N_NODES, i >= N_NODES);
            hold((bits(&n, true) & ~all) == 0, &n, "cleaning reaches no more", -1);
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_forward_is_literal),
    cmocka_unit_test(test_forward_times),
    cmocka_unit_test(test_backward_is_literal),
    cmocka_unit_test(test_sum_and_mirror_rules),
    cmocka_unit_test(test_chains),
    cmocka_unit_test(test_monotone),
};
FL_TEST_MAIN(tests)
