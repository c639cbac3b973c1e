/* How long a trace takes after its contacts are loaded and sorted: 1e4 nodes and 1e5 contacts, with
 * one root over the whole window; growth over three sizes, with and without more nodes; and 1e6
 * contacts with hubs (a shared tool, a bench). Forward reach, backward reach, and the passage with shares. Prints best and median
 * in milliseconds, and counts that bench/trace.py checks. "trace OUT.txt" also writes the first
 * graph's contacts and "OUT.txt.hubs" a piece of the hub graph, as lines "u v t". */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/trace/passage.h"
#include "core/trace/reach.h"

#define RUNS 41

/* SplitMix64 (Steele, Lea and Flood 2014), as in the reference tables. */
static uint64_t next(uint64_t *x)
{
    *x += 0x9E3779B97F4A7C15u;
    uint64_t z = *x;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

typedef struct graph {
    int32_t n_nodes;
    size_t n;
    fl_contact *contacts;
    fl_passage_contact *shares;
    fl_reach_node *nodes;
    fl_reach_link *links;
    fl_passage_node *passed;
    int32_t *before;
} graph;

/* hubs 0: both ends uniform; else half of all ends are one of that many hubs. */
static int32_t end_of(uint64_t *x, int32_t n_nodes, int32_t hubs)
{
    uint64_t r = next(x);
    if (hubs > 0 && (r & 1) != 0) {
        return (int32_t)((r >> 1) % (uint64_t)hubs);
    }
    return (int32_t)((r >> 1) % (uint64_t)n_nodes);
}

/* Times lie in 0 to 10 n - 1: a tenth of the contacts share theirs. */
static graph make(int32_t n_nodes, size_t n, int32_t hubs)
{
    uint64_t x = 26;
    graph g = {.n_nodes = n_nodes, .n = n};
    g.contacts = malloc(n * sizeof g.contacts[0]);
    g.shares = malloc(n * sizeof g.shares[0]);
    g.nodes = malloc((size_t)n_nodes * sizeof g.nodes[0]);
    g.links = malloc(n * sizeof g.links[0]);
    g.passed = malloc((size_t)n_nodes * sizeof g.passed[0]);
    g.before = malloc(n * sizeof g.before[0]);
    if (!g.contacts || !g.shares || !g.nodes || !g.links || !g.passed || !g.before) {
        exit(1);
    }
    for (size_t i = 0; i < n; i++) {
        int32_t from = end_of(&x, n_nodes, hubs);
        int32_t to = end_of(&x, n_nodes, hubs);
        to = to == from ? (to + 1) % n_nodes : to;
        g.contacts[i] = (fl_contact){(int64_t)(next(&x) % (10 * n)), from, to};
    }
    double start_ms = now_ms();
    qsort(g.contacts, n, sizeof g.contacts[0], fl_contact_compare);
    printf("sort n=%zu ms=%.1f (once, at load)\n", n, now_ms() - start_ms);
    for (size_t i = 0; i < n; i++) {
        const fl_contact *c = &g.contacts[i];
        g.shares[i] = (fl_passage_contact){c->time, c->from, c->to, 0.2};
    }
    return g;
}

static void drop(graph *g)
{
    free(g->contacts);
    free(g->shares);
    free(g->nodes);
    free(g->links);
    free(g->passed);
    free(g->before);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* kind 0 forward, 1 backward, 2 passage. */
static int32_t trace(graph *g, int kind)
{
    int32_t reached = 0;
    if (kind == 2) {
        const fl_passage_seed seed = {0, 0, 1.0};
        const fl_passage_query query = {.contacts = g->shares,
                                        .n_contacts = g->n,
                                        .seeds = &seed,
                                        .n_seeds = 1,
                                        .n_nodes = g->n_nodes,
                                        .to = INT64_MAX};
        if (fl_passage(&query, g->passed, g->before, NULL) != FL_OK) {
            exit(1);
        }
        for (int32_t i = 1; i < g->n_nodes; i++) {
            reached += g->passed[i].prob > 0.0;
        }
        return reached;
    }
    fl_reach_count count;
    const fl_reach_query query = {.contacts = g->contacts,
                                  .n_contacts = g->n,
                                  .n_nodes = g->n_nodes,
                                  .root = 0,
                                  .from = 0,
                                  .to = INT64_MAX,
                                  .is_backward = kind == 1};
    if (fl_reach(&query, g->nodes, g->links, &count, NULL) != FL_OK) {
        exit(1);
    }
    return count.reached;
}

static void measure(graph *g, const char *name)
{
    static const char *const kinds[3] = {"forward", "backward", "passage"};
    for (int kind = 0; kind < 3; kind++) {
        double took_ms[RUNS];
        int32_t reached = 0;
        for (int i = 0; i < RUNS; i++) {
            double start_ms = now_ms();
            reached = trace(g, kind);
            took_ms[i] = now_ms() - start_ms;
        }
        qsort(took_ms, RUNS, sizeof took_ms[0], compare);
        printf("C %s %s nodes=%d contacts=%zu best_ms=%.3f median_ms=%.3f reached=%d\n", name,
               kinds[kind], g->n_nodes, g->n, took_ms[0], took_ms[RUNS / 2], reached);
    }
}

static void write_contacts(const graph *g, const char *path)
{
    FILE *out = fopen(path, "w");
    if (out == NULL) {
        exit(1);
    }
    for (size_t i = 0; i < g->n; i++) {
        fprintf(out, "%d %d %lld\n", g->contacts[i].from, g->contacts[i].to,
                (long long)g->contacts[i].time);
    }
    (void)fclose(out);
}

int main(int argc, char **argv)
{
    graph g = make(10000, 100000, 0);
    if (argc > 1) {
        write_contacts(&g, argv[1]);
    }
    measure(&g, "plain");
    drop(&g);
    for (size_t n = 100000; n <= 1600000; n *= 4) { /* more contacts of the same nodes */
        g = make(10000, n, 0);
        measure(&g, "contacts");
        drop(&g);
    }
    for (size_t n = 50000; n <= 800000; n *= 4) { /* ten contacts a node */
        g = make((int32_t)(n / 10), n, 0);
        measure(&g, "size");
        drop(&g);
    }
    g = make(100000, 1000000, 20);
    measure(&g, "hubs");
    drop(&g);
    return 0;
}
