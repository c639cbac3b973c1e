/* Reach through time: one sweep over contacts and cleanings, a group of equal times at once. The
 * same code runs both ways: backward, the sweep goes from late to early, contacts are followed from
 * their receiving to their giving end, and a group's contacts come before its cleanings. "Dirty"
 * then reads "dirt here would leave the root dirty at the end". */
#include "core/trace/reach.h"

#include <inttypes.h>

/* What is left of contacts and cleanings: the half-open ranges not yet swept. */
typedef struct sweep {
    const fl_reach_query *query;
    fl_reach_node *nodes;
    fl_reach_link *links;
    size_t contact_low, contact_high;
    size_t cleaning_low, cleaning_high;
    int32_t n_reached;
} sweep;

/* Contacts and cleanings of one time. */
typedef struct sweep_group {
    int64_t time;
    size_t contact_low, contact_high;
    size_t cleaning_low, cleaning_high;
} sweep_group;

static int compare(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

int fl_contact_compare(const void *a, const void *b)
{
    const fl_contact *x = a;
    const fl_contact *y = b;
    const int by_time = compare(x->time, y->time);
    const int by_from = compare(x->from, y->from);

    if (by_time != 0) {
        return by_time;
    }
    return by_from != 0 ? by_from : compare(x->to, y->to);
}

int fl_cleaning_compare(const void *a, const void *b)
{
    const fl_cleaning *x = a;
    const fl_cleaning *y = b;
    const int by_time = compare(x->time, y->time);

    return by_time != 0 ? by_time : compare(x->node, y->node);
}

static bool is_node(const fl_reach_query *query, int32_t node)
{
    return node >= 0 && node < query->n_nodes;
}

/* True when every contact has nodes in range and comes no earlier than the one before it. One pass
 * without early exits: this is a good part of a trace's time. */
static bool are_contacts_sound(const fl_reach_query *query)
{
    const uint32_t n_nodes = (uint32_t)query->n_nodes;
    bool is_bad = false;
    int64_t before = INT64_MIN;
    for (size_t i = 0; i < query->n_contacts; i++) {
        const fl_contact *contact = &query->contacts[i];
        is_bad |= ((uint32_t)contact->from >= n_nodes) | ((uint32_t)contact->to >= n_nodes) |
                  (contact->time < before);
        before = contact->time;
    }
    return !is_bad;
}

/* Names the first contact that is not sound. */
static fl_status fail_contact(const fl_reach_query *query, fl_err *err)
{
    for (size_t i = 0; i < query->n_contacts; i++) {
        const fl_contact *contact = &query->contacts[i];
        if (!is_node(query, contact->from) || !is_node(query, contact->to)) {
            return fl_fail(err, FL_EINVAL, "contact %zu from %d to %d: give nodes of 0 to %d", i,
                           contact->from, contact->to, query->n_nodes - 1);
        }
        if (i > 0 && query->contacts[i - 1].time > contact->time) {
            return fl_fail(err, FL_EINVAL, "contact %zu is earlier than the one before it", i);
        }
    }
    return FL_OK;
}

static fl_status check_query(const fl_reach_query *query, fl_err *err)
{
    if (query->n_contacts > INT32_MAX) {
        return fl_fail(err, FL_EINVAL, "%zu contacts: at most %d", query->n_contacts, INT32_MAX);
    }
    if (!is_node(query, query->root)) {
        return fl_fail(err, FL_EINVAL, "root %d: give a node of 0 to %d", query->root,
                       query->n_nodes - 1);
    }
    if (query->from > query->to) {
        return fl_fail(err, FL_EINVAL,
                       "window from %" PRId64 " to %" PRId64 ": it ends before it "
                       "begins",
                       query->from, query->to);
    }
    if (!are_contacts_sound(query)) {
        return fail_contact(query, err);
    }
    for (size_t i = 0; i < query->n_cleanings; i++) {
        if (!is_node(query, query->cleanings[i].node)) {
            return fl_fail(err, FL_EINVAL, "cleaning %zu of node %d: give a node of 0 to %d", i,
                           query->cleanings[i].node, query->n_nodes - 1);
        }
        if (i > 0 && query->cleanings[i - 1].time > query->cleanings[i].time) {
            return fl_fail(err, FL_EINVAL, "cleaning %zu is earlier than the one before it", i);
        }
    }
    return FL_OK;
}

static int32_t giving(const fl_reach_query *query, size_t contact)
{
    return query->is_backward ? query->contacts[contact].to : query->contacts[contact].from;
}

static int32_t taking(const fl_reach_query *query, size_t contact)
{
    return query->is_backward ? query->contacts[contact].from : query->contacts[contact].to;
}

static void forget_link(sweep *s, size_t contact)
{
    s->links[contact] = (fl_reach_link){.before = FL_REACH_NONE, .next = -1};
}

/* Keeps what lies in the window; the links of the rest are done with. */
static void cut_to_window(sweep *s)
{
    const fl_reach_query *query = s->query;

    while (s->contact_low < s->contact_high && query->contacts[s->contact_low].time < query->from) {
        forget_link(s, s->contact_low++);
    }
    while (s->contact_low < s->contact_high &&
           query->contacts[s->contact_high - 1].time > query->to) {
        forget_link(s, --s->contact_high);
    }
    while (s->cleaning_low < s->cleaning_high &&
           query->cleanings[s->cleaning_low].time < query->from) {
        s->cleaning_low++;
    }
    while (s->cleaning_low < s->cleaning_high &&
           query->cleanings[s->cleaning_high - 1].time > query->to) {
        s->cleaning_high--;
    }
}

/* The next group from the early end. */
static void take_early(sweep *s, sweep_group *group)
{
    const fl_contact *contacts = s->query->contacts;
    const fl_cleaning *cleanings = s->query->cleanings;

    group->time = s->contact_low < s->contact_high ? contacts[s->contact_low].time : INT64_MAX;
    if (s->cleaning_low < s->cleaning_high && cleanings[s->cleaning_low].time < group->time) {
        group->time = cleanings[s->cleaning_low].time;
    }
    group->contact_low = s->contact_low;
    while (s->contact_low < s->contact_high && contacts[s->contact_low].time == group->time) {
        s->contact_low++;
    }
    group->contact_high = s->contact_low;
    group->cleaning_low = s->cleaning_low;
    while (s->cleaning_low < s->cleaning_high && cleanings[s->cleaning_low].time == group->time) {
        s->cleaning_low++;
    }
    group->cleaning_high = s->cleaning_low;
}

/* The next group from the late end. */
static void take_late(sweep *s, sweep_group *group)
{
    const fl_contact *contacts = s->query->contacts;
    const fl_cleaning *cleanings = s->query->cleanings;

    group->time = s->contact_low < s->contact_high ? contacts[s->contact_high - 1].time : INT64_MIN;
    if (s->cleaning_low < s->cleaning_high && cleanings[s->cleaning_high - 1].time > group->time) {
        group->time = cleanings[s->cleaning_high - 1].time;
    }
    group->contact_high = s->contact_high;
    while (s->contact_low < s->contact_high && contacts[s->contact_high - 1].time == group->time) {
        s->contact_high--;
    }
    group->contact_low = s->contact_high;
    group->cleaning_high = s->cleaning_high;
    while (s->cleaning_low < s->cleaning_high &&
           cleanings[s->cleaning_high - 1].time == group->time) {
        s->cleaning_high--;
    }
    group->cleaning_low = s->cleaning_high;
}

static void make_dirty(sweep *s, size_t contact, int64_t time)
{
    fl_reach_node *node = &s->nodes[taking(s->query, contact)];

    node->is_dirty = true;
    node->current = (int32_t)contact;
    if (!node->is_reached) {
        node->is_reached = true;
        node->time = time;
        node->contact = (int32_t)contact;
        s->n_reached++;
    }
}

static void clean_group(sweep *s, const sweep_group *group)
{
    for (size_t i = group->cleaning_low; i < group->cleaning_high; i++) {
        fl_reach_node *node = &s->nodes[s->query->cleanings[i].node];
        node->is_dirty = false;
        node->current = FL_REACH_NONE;
    }
}

/* Strict: who gives is settled before anyone takes. */
static void spread_strict(sweep *s, const sweep_group *group)
{
    for (size_t i = group->contact_low; i < group->contact_high; i++) {
        const fl_reach_node *giver = &s->nodes[giving(s->query, i)];
        s->links[i].before = giver->is_dirty ? giver->current : FL_REACH_NONE;
    }
    for (size_t i = group->contact_low; i < group->contact_high; i++) {
        if (s->links[i].before != FL_REACH_NONE) {
            if (s->nodes[taking(s->query, i)].is_dirty) {
                s->links[i].before = FL_REACH_NONE;
            } else {
                make_dirty(s, i, group->time);
            }
        }
    }
}

/* Lists each giver's contacts of the group, in order. */
static void list_group(sweep *s, const sweep_group *group)
{
    for (size_t i = group->contact_high; i-- > group->contact_low;) {
        fl_reach_node *giver = &s->nodes[giving(s->query, i)];
        s->links[i].next = giver->group == (int32_t)group->contact_low ? giver->list : -1;
        giver->group = (int32_t)group->contact_low;
        giver->list = (int32_t)i;
    }
}

/* Follows one contact of a dirty giver; true when its taker was clean and is dirty now. */
static bool follow(sweep *s, size_t contact, int64_t time)
{
    if (s->nodes[taking(s->query, contact)].is_dirty) {
        return false;
    }
    s->links[contact].before = s->nodes[giving(s->query, contact)].current;
    make_dirty(s, contact, time);
    return true;
}

/* Chained: everything that can be reached within the group. A node gets dirty once a group, so its
 * list is walked at most once from the stack. */
static void spread_chained(sweep *s, const sweep_group *group)
{
    list_group(s, group);
    for (size_t i = group->contact_low; i < group->contact_high; i++) {
        int32_t top = -1;

        if (!s->nodes[giving(s->query, i)].is_dirty || !follow(s, i, group->time)) {
            continue;
        }
        s->nodes[taking(s->query, i)].stack = top;
        top = taking(s->query, i);
        while (top >= 0) {
            const fl_reach_node *node = &s->nodes[top];
            int32_t next = node->group == (int32_t)group->contact_low ? node->list : -1;
            top = node->stack;
            for (; next >= 0; next = s->links[next].next) {
                if (follow(s, (size_t)next, group->time)) {
                    const int32_t taker = taking(s->query, (size_t)next);
                    s->nodes[taker].stack = top;
                    top = taker;
                }
            }
        }
    }
}

static void spread_group(sweep *s, const sweep_group *group)
{
    for (size_t i = group->contact_low; i < group->contact_high; i++) {
        forget_link(s, i);
    }
    if (s->query->is_strict) {
        spread_strict(s, group);
    } else {
        spread_chained(s, group);
    }
}

/* Whether a contact makes its taker dirty. Both flags are read before anything is decided: seldom
 * anything has to be done, and a processor guesses that right. */
static inline unsigned passes(const fl_reach_node *giver, const fl_reach_node *taker)
{
    return (unsigned)giver->is_dirty & ((unsigned)taker->is_dirty ^ 1U);
}

/* Contacts from the early end while each is alone at its time and before the next cleaning: in most
 * histories nearly all of them. What is left begins with a group. */
static void pass_singles_early(sweep *s)
{
    const fl_contact *contacts = s->query->contacts;
    const fl_reach_node *nodes = s->nodes;
    const size_t high = s->contact_high;
    const int64_t until =
        s->cleaning_low < s->cleaning_high ? s->query->cleanings[s->cleaning_low].time : INT64_MAX;
    size_t i = s->contact_low;
    int64_t time = i < high ? contacts[i].time : until;
    while (i < high && time < until) {
        const int64_t after = i + 1 < high ? contacts[i + 1].time : INT64_MAX;
        if (after == time) {
            break;
        }
        const unsigned must_pass = passes(&nodes[contacts[i].from], &nodes[contacts[i].to]);
        forget_link(s, i);
        if (must_pass != 0) {
            (void)follow(s, i, time);
        }
        time = after;
        i++;
    }
    s->contact_low = i;
}

/* The same from the late end, where a time's contacts come before its cleanings. */
static void pass_singles_late(sweep *s)
{
    const fl_contact *contacts = s->query->contacts;
    const fl_reach_node *nodes = s->nodes;
    const size_t low = s->contact_low;
    const int64_t until = s->cleaning_low < s->cleaning_high
                              ? s->query->cleanings[s->cleaning_high - 1].time
                              : INT64_MIN;
    size_t i = s->contact_high;
    while (i > low && contacts[i - 1].time >= until &&
           (i - 1 == low || contacts[i - 2].time != contacts[i - 1].time)) {
        i--;
        const unsigned must_pass = passes(&nodes[contacts[i].to], &nodes[contacts[i].from]);
        forget_link(s, i);
        if (must_pass != 0) {
            (void)follow(s, i, contacts[i].time);
        }
    }
    s->contact_high = i;
}

static bool is_done(const sweep *s)
{
    return s->contact_low == s->contact_high && s->cleaning_low == s->cleaning_high;
}

/* One step of the sweep: the singles, then a group. */
static void take_step(sweep *s)
{
    sweep_group group;
    if (s->query->is_backward) {
        pass_singles_late(s);
        if (!is_done(s)) {
            take_late(s, &group);
            spread_group(s, &group);
            clean_group(s, &group);
        }
        return;
    }
    pass_singles_early(s);
    if (!is_done(s)) {
        take_early(s, &group);
        clean_group(s, &group);
        spread_group(s, &group);
    }
}

static void start(sweep *s)
{
    const fl_reach_query *query = s->query;

    for (int32_t i = 0; i < query->n_nodes; i++) {
        s->nodes[i] = (fl_reach_node){.contact = FL_REACH_NONE,
                                      .current = FL_REACH_NONE,
                                      .group = -1,
                                      .list = -1,
                                      .stack = -1};
    }
    s->nodes[query->root].is_reached = true;
    s->nodes[query->root].is_dirty = true;
    s->nodes[query->root].time = query->is_backward ? query->to : query->from;
    s->nodes[query->root].contact = FL_REACH_ROOT;
    s->nodes[query->root].current = FL_REACH_ROOT;
}

fl_status fl_reach(const fl_reach_query *query, fl_reach_node *nodes, fl_reach_link *links,
                   fl_reach_count *count, fl_err *err)
{
    sweep s = {.query = query,
               .nodes = nodes,
               .links = links,
               .contact_high = query->n_contacts,
               .cleaning_high = query->n_cleanings};
    fl_reach_count total = {0, 0};
    const fl_status status = check_query(query, err);

    if (status != FL_OK) {
        return status;
    }
    start(&s);
    cut_to_window(&s);
    while (!is_done(&s)) {
        take_step(&s);
    }
    total.reached = s.n_reached;
    for (int32_t i = 0; i < query->n_nodes; i++) {
        total.dirty += nodes[i].is_dirty ? 1 : 0;
    }
    *count = total;
    return FL_OK;
}

size_t fl_reach_chain(const fl_reach_node *nodes, const fl_reach_link *links, int32_t node,
                      int32_t *chain, size_t max)
{
    size_t len = 0;

    for (int32_t contact = nodes[node].contact; contact >= 0; contact = links[contact].before) {
        if (len < max) {
            chain[len] = contact;
        }
        len++;
    }
    return len;
}
