/* One sweep; contacts of one time are gone through again until none raises anything, which ends
 * because shares are at most 1: a chain of one time visits a node once. */
#include "core/trace/passage.h"

#include <inttypes.h>
#include <stdbool.h>

static bool is_node(const fl_passage_query *query, int32_t node)
{
    return node >= 0 && node < query->n_nodes;
}

static bool is_share(double value)
{
    return value >= 0.0 && value <= 1.0; /* NaN is not */
}

static fl_status check_query(const fl_passage_query *query, fl_err *err)
{
    if (query->n_contacts > INT32_MAX) {
        return fl_fail(err, FL_EINVAL, "%zu contacts: at most %d", query->n_contacts, INT32_MAX);
    }
    for (size_t i = 0; i < query->n_contacts; i++) {
        const fl_passage_contact *c = &query->contacts[i];
        if (!is_node(query, c->from) || !is_node(query, c->to) || !is_share(c->share)) {
            return fl_fail(err, FL_EINVAL,
                           "contact %zu from %d to %d with share %g: give nodes of 0 to %d and 0 "
                           "to 1",
                           i, c->from, c->to, c->share, query->n_nodes - 1);
        }
        if (i > 0 && query->contacts[i - 1].time > c->time) {
            return fl_fail(err, FL_EINVAL, "contact %zu is earlier than the one before it", i);
        }
    }
    for (size_t i = 0; i < query->n_seeds; i++) {
        const fl_passage_seed *s = &query->seeds[i];
        if (!is_node(query, s->node) || !is_share(s->prob)) {
            return fl_fail(err, FL_EINVAL, "seed %zu at %d of %g: give 0 to %d and 0 to 1", i,
                           s->node, s->prob, query->n_nodes - 1);
        }
        if (i > 0 && query->seeds[i - 1].time > s->time) {
            return fl_fail(err, FL_EINVAL, "seed %zu is earlier than the one before it", i);
        }
    }
    return FL_OK;
}

/* True when the contact made its taker likelier by its likeliest chain. */
static bool follow(const fl_passage_query *query, fl_passage_node *nodes, int32_t *before, size_t i)
{
    const fl_passage_contact *c = &query->contacts[i];
    const fl_passage_node *giver = &nodes[c->from];
    fl_passage_node *taker = &nodes[c->to];
    double prob = c->share * giver->prob;
    if (prob <= taker->prob) {
        return false;
    }
    before[i] = giver->contact;
    taker->prob = prob;
    taker->contact = (int32_t)i;
    taker->time = c->time;
    return true;
}

static void add_most(const fl_passage_query *query, fl_passage_node *nodes, size_t i)
{
    const fl_passage_contact *c = &query->contacts[i];
    double given = c->share * nodes[c->from].most;
    nodes[c->to].most = 1.0 - (1.0 - nodes[c->to].most) * (1.0 - given);
}

/* Contacts low <= i < high, all of one time. */
static void spread_group(const fl_passage_query *query, fl_passage_node *nodes, int32_t *before,
                         size_t low, size_t high)
{
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (size_t i = low; i < high; i++) {
            has_changed = follow(query, nodes, before, i) || has_changed;
        }
    }
    for (size_t i = low; i < high; i++) {
        add_most(query, nodes, i);
    }
}

static void sow(fl_passage_node *nodes, const fl_passage_seed *seed)
{
    fl_passage_node *node = &nodes[seed->node];
    if (seed->prob > node->prob) {
        node->prob = seed->prob;
        node->contact = FL_PASSAGE_SEED;
        node->time = seed->time;
    }
    node->most = seed->prob > node->most ? seed->prob : node->most;
}

fl_status fl_passage(const fl_passage_query *query, fl_passage_node *nodes, int32_t *before,
                     fl_err *err)
{
    size_t seed = 0;
    size_t low = 0;
    const fl_status status = check_query(query, err);
    if (status != FL_OK) {
        return status;
    }
    for (int32_t i = 0; i < query->n_nodes; i++) {
        nodes[i] = (fl_passage_node){.contact = FL_PASSAGE_NONE};
    }
    for (size_t i = 0; i < query->n_contacts; i++) {
        before[i] = FL_PASSAGE_NONE;
    }
    while (low < query->n_contacts && query->contacts[low].time <= query->to) {
        size_t high = low + 1;
        while (high < query->n_contacts &&
               query->contacts[high].time == query->contacts[low].time) {
            high++;
        }
        while (seed < query->n_seeds && query->seeds[seed].time <= query->contacts[low].time) {
            sow(nodes, &query->seeds[seed++]);
        }
        spread_group(query, nodes, before, low, high);
        low = high;
    }
    while (seed < query->n_seeds && query->seeds[seed].time <= query->to) {
        sow(nodes, &query->seeds[seed++]);
    }
    /* The likeliest chain is one of the ways that `most` counts; but inside one time `most` goes
     * through the contacts once, in order, and may miss a chain that runs against it. */
    for (int32_t i = 0; i < query->n_nodes; i++) {
        nodes[i].most = nodes[i].most > nodes[i].prob ? nodes[i].most : nodes[i].prob;
    }
    return FL_OK;
}

size_t fl_passage_chain(const fl_passage_node *nodes, const int32_t *before, int32_t node,
                        int32_t *chain, size_t max)
{
    size_t len = 0;
    for (int32_t i = nodes[node].contact; i >= 0; i = before[i]) {
        len++;
    }
    size_t at = len;
    for (int32_t i = nodes[node].contact; i >= 0; i = before[i]) {
        at--;
        if (at < max) {
            chain[at] = i;
        }
    }
    return len;
}
