/* Lower bounds on how soon an evening can end, from a partial order on. For each rank the
 * largest of hands: all hands-on work left, a wash for each purchase, a disinfecting for each
 * tub too few; chain: the lot that takes longest by itself; tubs:  time in tubs left, shared
 * among the tubs, and the shortest end after a tub; dips:  while something stands that may not
 * overrun, no longer task can be begun, so these times and the long tasks add up. */
#include <limits.h>

#include "core/bench/inner.h"

static int later(int a, int b)
{
    return a > b ? a : b;
}

int fl_bench_tubs_out(const shop *s)
{
    for (int i = 0; i < s->plan->n_tubs; i++) {
        if (s->tub_purchase[i] >= 0) {
            return s->plan->n_tubs;
        }
    }
    for (int i = 0; i < s->n_tasks; i++) {
        if (s->tasks[i].takes_tub) {
            return s->plan->n_tubs;
        }
    }
    return 0;
}

int fl_bench_closing_s(const shop *s)
{
    const fl_bench_chores *c = &s->plan->chores;
    return c->bag_waste_s + c->pour_away_s + fl_bench_tubs_out(s) * c->tub_hands_s + c->tools_s +
           c->sink_s + later(c->contact_s, c->last_wash_s);
}

static int bits_of(unsigned mask)
{
    int n = 0;
    for (; mask != 0; mask &= mask - 1) {
        n++;
    }
    return n;
}

/* When hands can begin with a lot's next task, at the soonest. */
static int ready_s(const order *o, const shop *s, int lot)
{
    int last = o->last[lot];
    if (last < 0) {
        return 0;
    }
    const task *t = &s->tasks[o->what[last]];
    return o->start_s[last] + t->hands_s + t->lag_s;
}

/* What is left of one rank. */
typedef struct rest {
    int hands_s;        /* of all its lots */
    int chain_end_s;    /* of the lot that takes longest */
    int tail_end_s;     /* the same with unattended time after it */
    int tub_s;          /* in tubs, also of what is in one now */
    int after_tub_s;    /* the least from leaving a tub to the lot's end; INT_MAX: no tub */
    int stand_s;        /* of dips still to begin */
    int dip_s;          /* the same with putting in and taking out */
    int long_s;         /* tasks that fit beside no dip */
    int gap_s[2];       /* waits inside purchases, idle or in washes */
    unsigned purchases; /* that still have work */
    unsigned loads;     /* that still need a tub */
} rest;

static void add_tubs(rest *r, const order *o, const shop *s, int lot, int begin_s)
{
    int next = s->first[lot] + o->done[lot];
    const task *t = &s->tasks[next];
    bool is_in_tub = t->frees_tub && !t->takes_tub;
    int tub_s = s->tub_left_s[next];
    if (tub_s > 0) {
        r->loads |= 1u << t->purchase;
    }
    r->tub_s += tub_s + (is_in_tub ? begin_s + t->hands_s : 0);
    if (tub_s > 0 || is_in_tub) {
        int after_s = s->after_tub_s[lot];
        r->after_tub_s = after_s < r->after_tub_s ? after_s : r->after_tub_s;
    }
    r->dip_s += s->dip_left_s[next];
    r->long_s += s->long_left_s[next];
    for (int i = next; i < s->first[lot + 1]; i++) {
        r->stand_s += s->tasks[i].is_lag_exact && s->tasks[i].takes_tub ? s->tasks[i].lag_s : 0;
    }
}

/* Of a purchase of several lots, told at its first, as long as none of them was begun. */
static int gap_of(const order *o, const shop *s, int lot, int v)
{
    if (s->gap_s[v][lot] == 0) {
        return 0;
    }
    for (int k = 0; k < s->n_lots; k++) {
        if ((s->gap_lots[lot] & (1u << k)) != 0 && o->done[k] > 0) {
            return 0;
        }
    }
    return s->gap_s[v][lot];
}

static rest rest_of(const order *o, const shop *s, int rank, int from_s, bool has_gaps)
{
    rest r = {.after_tub_s = INT_MAX};
    for (int lot = 0; lot < s->n_lots; lot++) {
        int next = s->first[lot] + o->done[lot];
        if (s->rank_of[lot] != rank) {
            continue;
        }
        int end_s = ready_s(o, s, lot); /* a finished lot's tail has begun already */
        if (next < s->first[lot + 1]) {
            int begin_s = later(from_s, end_s);
            r.hands_s += s->hands_left_s[next];
            for (int v = 0; v < 2 && has_gaps; v++) {
                r.gap_s[v] += s->gap_left_s[v][next] + gap_of(o, s, lot, v);
            }
            r.chain_end_s = later(r.chain_end_s, begin_s + s->chain_left_s[next]);
            r.purchases |= 1u << s->tasks[next].purchase;
            end_s = begin_s + s->chain_left_s[next] + s->tail_s[lot];
            add_tubs(&r, o, s, lot, begin_s - from_s);
        }
        r.tail_end_s = later(r.tail_end_s, end_s);
    }
    return r;
}

int fl_bench_cleans_left(const order *o, const shop *s, unsigned loads)
{
    int blanks = 0;
    for (int i = 0; i < s->plan->n_tubs; i++) {
        if (o->tubs[i].purchase == -1) {
            blanks++;
        } else {
            loads &= ~(1u << o->tubs[i].purchase);
        }
    }
    return later(bits_of(loads) - blanks, 0);
}

/* One pair of hands with what must follow: of any set of tasks the last has at least the shortest
 * rest of them after it (the bound of Jackson's schedule for one machine with tails). */
static int hands_and_rest_s(const order *o, const shop *s, int rank, int from_s)
{
    int sum_s = 0;
    int end_s = from_s;
    for (int k = 0; k < s->n_tasks; k++) {
        int i = s->by_rest[k];
        const task *t = &s->tasks[i];
        if (t->rank > rank) {
            break;
        }
        if (t->rank == rank && i >= s->first[t->lot] + o->done[t->lot]) {
            sum_s += t->hands_s;
            end_s = later(end_s, from_s + sum_s + s->chain_left_s[i] - t->hands_s);
        }
    }
    return end_s;
}

/* The soonest end of hands-on work of one rank begun at from_s. */
static int rank_end_s(const rest *r, const shop *s, int from_s, int washes)
{
    int n_tubs = s->plan->n_tubs;
    int end_s = later(r->chain_end_s,
                      from_s + r->hands_s + r->gap_s[0] + washes * s->plan->chores.hand_wash_s);
    if (r->after_tub_s < INT_MAX) {
        end_s = later(end_s, from_s + (r->tub_s + n_tubs - 1) / n_tubs + r->after_tub_s);
    }
    if (n_tubs == 1) {
        return later(end_s, from_s + r->dip_s + r->long_s);
    }
    return n_tubs == 0 ? end_s : later(end_s, from_s + r->stand_s / n_tubs + r->long_s);
}

/* Sums over all ranks: a tub may be disinfected while an earlier rank is in hand, so that work
 * counts here only. */
typedef struct total {
    int hands_s;
    int gap_s[2];
    int tub_s;
    int after_tub_s; /* of the last rank that needs tubs */
    unsigned loads;
    int rank_end_s;
    int tail_end_s;
} total;

static total total_of(const order *o, const shop *s, int last_rank, bool has_gaps)
{
    int now_s = fl_bench_order_end_s(o, s);
    total t = {.rank_end_s = now_s};
    unsigned before = o->purchase >= 0 ? 1u << o->purchase : ~0u;
    for (int rank = 0; rank <= last_rank; rank++) {
        rest r = rest_of(o, s, rank, t.rank_end_s, has_gaps);
        if (r.purchases != 0 && rank >= o->rank) {
            int washes = bits_of(r.purchases) - ((r.purchases & before) != 0 ? 1 : 0);
            int from_s = t.rank_end_s;
            t.rank_end_s =
                later(rank_end_s(&r, s, from_s, washes), hands_and_rest_s(o, s, rank, from_s));
            t.hands_s += r.hands_s + washes * s->plan->chores.hand_wash_s;
            t.gap_s[0] += r.gap_s[0];
            t.gap_s[1] += r.gap_s[1];
            t.loads |= r.loads;
            if (r.after_tub_s < INT_MAX) {
                t.tub_s += r.tub_s;
                t.after_tub_s = r.after_tub_s;
            }
            before = r.purchases;
        }
        t.tail_end_s = later(t.tail_end_s, r.tail_end_s);
    }
    return t;
}

static int bound_s(const order *o, const shop *s, goal by, int last_rank, bool has_gaps)
{
    const fl_bench_chores *c = &s->plan->chores;
    int now_s = fl_bench_order_end_s(o, s);
    total t = total_of(o, s, last_rank, has_gaps);
    int cleans = fl_bench_cleans_left(o, s, t.loads);
    /* A tub may be disinfected in a wait: either none fills one, or all of them fill each. Beyond
     * those that the evening calls for, one more costs at least what it fills. */
    int sure = cleans < s->n_cleans ? cleans : s->n_cleans;
    int more_s =
        later(later(cleans * c->tub_hands_s, t.gap_s[0]), sure * c->tub_hands_s + t.gap_s[1]);
    int end_s = later(t.rank_end_s, now_s + t.hands_s + more_s);
    if (has_gaps) {
        end_s = later(end_s, fl_bench_whole_s(o, s, last_rank));
    }
    if (t.tub_s > 0) {
        int tub_s = t.tub_s + cleans * (c->tub_hands_s + c->tub_contact_s);
        int n_tubs = s->plan->n_tubs;
        end_s = later(end_s, now_s + (tub_s + n_tubs - 1) / n_tubs + t.after_tub_s);
    }
    if (by == GOAL_HANDS) {
        return end_s;
    }
    return later(end_s + fl_bench_closing_s(s), t.tail_end_s);
}

int fl_bench_bound_s(const order *o, const shop *s, goal by, int last_rank)
{
    return bound_s(o, s, by, last_rank, true);
}

int fl_bench_plain_bound_s(const order *o, const shop *s, goal by, int last_rank)
{
    return bound_s(o, s, by, last_rank, false);
}
