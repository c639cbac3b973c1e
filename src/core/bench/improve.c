/* Betters a finished order by moves a person would try: one piece of work earlier or later, two
 * lots in each other's place; when none helps, a kick, and from there again. The kicks come
 * from a fixed series, so the same plan gives the same sheet. */
#include <stdint.h>
#include <string.h>

#include "core/bench/inner.h"

#define REACH 16 /* how far an entry is moved */
#define KICKS 3
#define MARGIN_S 80 /* of wandering, at its beginning: a wash or two */

typedef struct sequence {
    int n;
    short what[ENTRIES_MAX];
} sequence;

typedef struct value {
    int finish_s;
    int64_t sum_s; /* of all starts: of equal evenings the one that is ahead */
} value;

/* The climb's own state; se->prefix[k] is the order after k entries of `now`. */
typedef struct climb {
    search *se;
    const order *start;
    sequence now;
    value now_value;
    sequence trial;
    uint64_t series;
} climb;

static bool is_better(value a, value b)
{
    return a.finish_s != b.finish_s ? a.finish_s < b.finish_s : a.sum_s < b.sum_s;
}

/* SplitMix64 (Steele, Lea and Flood 2014) from a fixed start: a series, not chance. */
static int pick(climb *c, int n)
{
    c->series += 0x9E3779B97F4A7C15u;
    uint64_t z = c->series;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return (int)(z % (uint64_t)n);
}

/* Disinfects a tub for a task that finds none; false when none is free. */
static bool free_a_tub(order *o, const shop *s)
{
    for (int i = 0; i < s->plan->n_tubs; i++) {
        if (fl_bench_order_may(o, s, (short)(-1 - i))) {
            return fl_bench_order_append(o, s, (short)(-1 - i));
        }
    }
    return false;
}

/* Appends one entry of a sequence; a disinfecting that is no longer needed is dropped. */
static bool append(search *se, order *o, short what)
{
    const shop *s = se->shop;
    se->looked_at++;
    se->looked_total++;
    if (!fl_bench_order_may(o, s, what)) {
        if (what < 0) {
            return true;
        }
        if (!s->tasks[what].takes_tub || !free_a_tub(o, s) || !fl_bench_order_may(o, s, what)) {
            return false;
        }
    }
    return fl_bench_order_append(o, s, what);
}

static value value_of(const search *se, const order *o)
{
    value v = {fl_bench_bound_s(o, se->shop, se->goal, se->last_rank), 0};
    for (int k = 0; k < o->n; k++) {
        v.sum_s += o->start_s[k];
    }
    return v;
}

/* Hands-on work and washes of the trial from one entry to the end, as far as they are sure: a
 * disinfecting may be dropped. rest_s[k]: before entry k is begun. */
static void find_rest(const climb *c, int from, int *rest_s)
{
    const shop *s = c->se->shop;
    int sum_s = 0;
    int purchase = -1;
    for (int k = c->trial.n - 1; k >= from; k--) {
        short what = c->trial.what[k];
        if (what >= 0) {
            const task *t = &s->tasks[what];
            sum_s += t->hands_s;
            sum_s += purchase >= 0 && purchase != t->purchase ? s->plan->chores.hand_wash_s : 0;
            purchase = t->purchase;
        }
        rest_s[k] = sum_s;
    }
    rest_s[c->trial.n] = 0;
}

/* Plays c->trial from entry `from` on; true when it can be done and is not worse than `limit`. */
static bool play(climb *c, int from, const value *limit, value *out)
{
    search *se = c->se;
    order *o = &se->scratch;
    int closing_s = se->goal == GOAL_EVENING ? fl_bench_closing_s(se->shop) : 0;
    int rest_s[ENTRIES_MAX + 1];
    find_rest(c, from, rest_s);
    fl_bench_order_copy(o, &se->prefix[from]);
    for (int k = from; k < c->trial.n; k++) {
        if (!append(se, o, c->trial.what[k])) {
            return false;
        }
        int least_s = fl_bench_order_end_s(o, se->shop) + rest_s[k + 1] + closing_s;
        if (limit != NULL && least_s > limit->finish_s) {
            return false;
        }
    }
    *out = value_of(se, o);
    return limit == NULL || is_better(*out, *limit);
}

/* Makes what was just played the present order, with all its beginnings. */
static void settle_on(climb *c, int from)
{
    search *se = c->se;
    const order *o = &se->scratch;
    int first = c->start->n;
    c->now.n = o->n - first;
    memcpy(c->now.what, o->what + first, (size_t)c->now.n * sizeof c->now.what[0]);
    c->now_value = value_of(se, o);
    if (c->now_value.finish_s < se->best_s) {
        se->best_s = c->now_value.finish_s;
        fl_bench_order_copy(&se->best, o);
    }
    for (int k = from; k < c->now.n; k++) {
        fl_bench_order_copy(&se->prefix[k + 1], &se->prefix[k]);
        (void)append(se, &se->prefix[k + 1], c->now.what[k]); /* it was played before */
    }
}

/* Starts the climb from a sequence that can be done. */
static void begin_at(climb *c, const order *from)
{
    int first = c->start->n;
    fl_bench_order_copy(&c->se->prefix[0], c->start);
    fl_bench_order_copy(&c->se->scratch, from);
    c->now.n = from->n - first;
    settle_on(c, 0);
}

static int lot_of(const search *se, short what)
{
    return what >= 0 ? se->shop->tasks[what].lot : -1;
}

/* c->trial: the present sequence with entry i moved to place j; false when it would pass another of
 * its own lot. */
static bool move_entry(climb *c, int i, int j)
{
    const short *now = c->now.what;
    int step = j > i ? 1 : -1;
    int lot = lot_of(c->se, now[i]);
    c->trial = c->now;
    for (int k = i; k != j; k += step) {
        if (lot >= 0 && lot_of(c->se, now[k + step]) == lot) {
            return false;
        }
        c->trial.what[k] = now[k + step];
    }
    c->trial.what[j] = now[i];
    return true;
}

/* c->trial: two lots in each other's place; false when they have not as many tasks or are not
 * of one rank. */
static bool swap_lots(climb *c, int a, int b)
{
    const shop *s = c->se->shop;
    int n = s->first[a + 1] - s->first[a];
    if (s->rank_of[a] != s->rank_of[b] || s->first[b + 1] - s->first[b] != n) {
        return false;
    }
    c->trial = c->now;
    for (int k = 0; k < c->now.n; k++) {
        int lot = lot_of(c->se, c->now.what[k]);
        if (lot == a) {
            c->trial.what[k] = (short)(c->now.what[k] - s->first[a] + s->first[b]);
        } else if (lot == b) {
            c->trial.what[k] = (short)(c->now.what[k] - s->first[b] + s->first[a]);
        }
    }
    return true;
}

/* Whose plants an entry of the present sequence touches; -1: a tub is disinfected. */
static int purchase_of(const climb *c, int k)
{
    short what = c->now.what[k];
    return what >= 0 ? c->se->shop->tasks[what].purchase : -1;
}

/* c->trial: entries [i, i + n) moved to stand before entry j, which is none of them; false when
 * they would pass one of their own lots. */
static bool move_block(climb *c, int i, int n, int j)
{
    const short *now = c->now.what;
    unsigned lots = 0;
    for (int k = i; k < i + n; k++) {
        lots |= now[k] >= 0 ? 1u << lot_of(c->se, now[k]) : 0u;
    }
    for (int k = j < i ? j : i + n; k < (j < i ? i : j); k++) {
        if (now[k] >= 0 && (lots & (1u << lot_of(c->se, now[k]))) != 0) {
            return false;
        }
    }
    c->trial.n = c->now.n;
    if (j < i) {
        memcpy(c->trial.what, now, (size_t)j * sizeof now[0]);
        memcpy(c->trial.what + j, now + i, (size_t)n * sizeof now[0]);
        memcpy(c->trial.what + j + n, now + j, (size_t)(i - j) * sizeof now[0]);
        memcpy(c->trial.what + i + n, now + i + n, (size_t)(c->now.n - i - n) * sizeof now[0]);
    } else {
        memcpy(c->trial.what, now, (size_t)i * sizeof now[0]);
        memcpy(c->trial.what + i, now + i + n, (size_t)(j - i - n) * sizeof now[0]);
        memcpy(c->trial.what + j - n, now + i, (size_t)n * sizeof now[0]);
        memcpy(c->trial.what + j, now + j, (size_t)(c->now.n - j) * sizeof now[0]);
    }
    return true;
}

static bool is_spent(const climb *c)
{
    return c->se->looked_at >= c->se->effort;
}

/* Takes the trial if it is better. */
static bool try_trial(climb *c, int from)
{
    value v;
    value limit = c->now_value;
    if (!play(c, from, &limit, &v)) {
        return false;
    }
    settle_on(c, from);
    return true;
}

static bool improve_by_moves(climb *c)
{
    bool has_improved = false;
    for (int i = 0; i < c->now.n && !is_spent(c); i++) {
        for (int d = 1; d <= REACH; d++) {
            for (int sign = -1; sign <= 1; sign += 2) {
                int j = i + sign * d;
                if (j >= 0 && j < c->now.n && move_entry(c, i, j) && try_trial(c, j < i ? j : i)) {
                    has_improved = true;
                    d = REACH + 1;
                    break;
                }
            }
        }
    }
    return has_improved;
}

/* Leaves a disinfecting out: another tub may do, and if not, one is disinfected when it is
 * needed. */
static bool improve_by_dropping(climb *c)
{
    bool has_improved = false;
    for (int i = 0; i < c->now.n && !is_spent(c); i++) {
        if (c->now.what[i] < 0) {
            c->trial = c->now;
            c->trial.n--;
            memmove(c->trial.what + i, c->now.what + i + 1,
                    (size_t)(c->now.n - 1 - i) * sizeof c->trial.what[0]);
            has_improved = try_trial(c, i) || has_improved;
        }
    }
    return has_improved;
}

/* The end of the run of one purchase that begins at entry i. */
static int run_end(const climb *c, int i)
{
    int k = i + 1;
    while (k < c->now.n && purchase_of(c, k) == purchase_of(c, i)) {
        k++;
    }
    return k;
}

/* True where a piece of entry i's run would stand beside another run of its purchase. */
static bool is_beside(const climb *c, int i, int j)
{
    int purchase = purchase_of(c, i);
    bool is_before = j < c->now.n && purchase_of(c, j) == purchase;
    bool is_after = j > 0 && purchase_of(c, j - 1) == purchase;
    return is_before || is_after;
}

/* Entries [i, i + n) to every edge of another run of their purchase, until one is better. */
static bool join_block(climb *c, int i, int n)
{
    for (int j = 0; j <= c->now.n && !is_spent(c); j++) {
        bool is_edge = j == 0 || j == c->now.n || purchase_of(c, j - 1) != purchase_of(c, j);
        bool is_elsewhere = j < i || j > i + n;
        if (is_edge && is_elsewhere && is_beside(c, i, j) && move_block(c, i, n, j) &&
            try_trial(c, j < i ? j : i)) {
            return true;
        }
    }
    return false;
}

/* Joins two runs of one purchase: all or part of a run moves to stand beside the other, and hands
 * go back once less. */
static bool improve_by_joining(climb *c)
{
    bool has_improved = false;
    for (int i = 0; i < c->now.n && !is_spent(c); i++) {
        bool has_moved = false;
        for (int n = run_end(c, i) - i; n > 0 && !has_moved && purchase_of(c, i) >= 0; n--) {
            has_moved = join_block(c, i, n);
        }
        has_improved = has_improved || has_moved;
    }
    return has_improved;
}

static bool improve_by_swaps(climb *c)
{
    bool has_improved = false;
    for (int a = 0; a < c->se->shop->n_lots; a++) {
        for (int b = a + 1; b < c->se->shop->n_lots && !is_spent(c); b++) {
            if (swap_lots(c, a, b) && try_trial(c, 0)) {
                has_improved = true;
            }
        }
    }
    return has_improved;
}

/* A few moves taken whether they help or not, if they can be done at all. */
static void kick(climb *c)
{
    for (int done = 0, tries = 0; done < KICKS && tries < 40; tries++) {
        value v;
        int i = pick(c, c->now.n);
        int j = i + pick(c, 2 * REACH + 1) - REACH;
        bool can = j >= 0 && j < c->now.n && j != i && move_entry(c, i, j);
        if (pick(c, 4) == 0) {
            can = swap_lots(c, pick(c, c->se->shop->n_lots), pick(c, c->se->shop->n_lots));
        }
        if (can && play(c, 0, NULL, &v)) {
            settle_on(c, 0);
            done++;
        }
    }
}

/* Any move, at random; false when it cannot be done. *from: the first entry that changes. */
static bool any_move(climb *c, int *from)
{
    int i = pick(c, c->now.n);
    int kind = pick(c, 8);
    *from = 0;
    if (kind == 0) {
        return swap_lots(c, pick(c, c->se->shop->n_lots), pick(c, c->se->shop->n_lots));
    }
    if (kind <= 3) { /* a piece of a run beside another of its purchase */
        int end = run_end(c, i);
        int n = pick(c, 2) == 0 ? end - i : 1 + pick(c, end - i);
        int j = pick(c, c->now.n + 1);
        for (int tries = 0; tries < c->now.n; tries++, j = (j + 1) % (c->now.n + 1)) {
            if (is_beside(c, i, j) && (j < i || j > i + n)) {
                *from = j < i ? j : i;
                return move_block(c, i, n, j);
            }
        }
        return false;
    }
    int j = i + pick(c, 2 * REACH + 1) - REACH;
    *from = j < i ? j : i;
    return j >= 0 && j < c->now.n && j != i && move_entry(c, i, j);
}

/* Moves taken at random as long as the evening gets no longer than a margin that shrinks to
 * nothing (threshold accepting: Dueck and Scheuer 1990). */
static void wander(climb *c, size_t until)
{
    const size_t begin = c->se->looked_at;
    while (c->se->looked_at < until) {
        int from = 0;
        value v;
        size_t left = until - c->se->looked_at;
        int most_s = (int)((double)MARGIN_S * (double)left / (double)(until - begin));
        value limit = {c->now_value.finish_s + pick(c, most_s + 1), INT64_MAX};
        c->se->looked_at++;
        if (any_move(c, &from) && play(c, from, &limit, &v)) {
            settle_on(c, from);
        }
    }
}

void fl_bench_improve(search *se, const order *start)
{
    climb c = {.se = se, .start = start, .series = se->series};
    begin_at(&c, &se->best);
    if (c.now.n == 0) {
        return;
    }
    wander(&c,
           se->looked_at + (se->effort > se->looked_at ? (se->effort - se->looked_at) / 4 * 3 : 0));
    begin_at(&c, &se->best);
    while (!is_spent(&c)) {
        bool has_improved = improve_by_moves(&c);
        has_improved = improve_by_joining(&c) || has_improved;
        has_improved = improve_by_swaps(&c) || has_improved;
        has_improved = improve_by_dropping(&c) || has_improved;
        if (!has_improved && !is_spent(&c)) {
            begin_at(&c, &se->best);
            kick(&c);
        }
    }
    se->series = c.series;
}
