/* A lower bound that keeps account of an order from its beginning: all hands-on work, a wash to
 * come to each purchase, time lost so far, and for each purchase the larger of what its waits
 * have cost up to here and what they must cost over its whole (gaps.c). A purchase's account
 * holds the washes to come back to it and the time that hands stood idle between two of its own
 * pieces of work; each lost second is in one account at most, so accounts add up. Times of
 * entries that can still move are left out. */
#include <string.h>

#include "core/bench/inner.h"

#define PURCHASES_MAX (FL_BENCH_LOTS_MAX + 1)

/* The same up to the cuts: the last task before a lot's longest wait is over at such a time, and
 * what follows it in its lot comes after. Then all that stands behind a cut counts as waiting. */

/* [0]: disinfecting a purchase's tub counts as its wait; [1]: it is counted apart. */
typedef struct account {
    const order *o;
    const shop *s;
    int sum_s; /* in no purchase's account */
    int lost_s[2][PURCHASES_MAX];
    unsigned touched; /* mask of purchases, in the present rank */
    int rank;
    int cut_rank; /* of this rank tasks up to each lot's cut; -1: all tasks */
    int n_cleans;
    int lost_before_s[2]; /* of ranks that are over */
} account;

static void close_rank(account *a)
{
    for (int v = 0; v < 2; v++) {
        for (int p = 0; p < a->s->n_purchases; p++) {
            a->lost_before_s[v] += a->lost_s[v][p];
        }
    }
    memset(a->lost_s, 0, sizeof a->lost_s);
    a->touched = 0;
}

static void lose(account *a, int purchase, int time_s)
{
    a->lost_s[0][purchase] += time_s;
    a->lost_s[1][purchase] += time_s;
}

static void add_wash(account *a, int purchase)
{
    int wash_s = a->s->plan->chores.hand_wash_s;
    if ((a->touched & 1u << purchase) != 0) {
        lose(a, purchase, wash_s);
    } else {
        a->sum_s += wash_s;
    }
}

static bool is_behind_cut(const account *a, const task *t)
{
    return t->rank == a->cut_rank && t > &a->s->tasks[a->s->cut[t->lot]];
}

/* Every entry that is in. */
static void add_done(account *a)
{
    const order *o = a->o;
    const shop *s = a->s;
    int window = fl_bench_window(o);
    int user[FL_BENCH_TUBS_MAX] = {0};
    int end_s = 0;
    for (int k = 0; k < o->n; k++) {
        const task *t = o->what[k] >= 0 ? &s->tasks[o->what[k]] : NULL;
        int hands_s = fl_bench_entry_hands_s(s, o->what[k]);
        int purchase = t != NULL ? t->purchase : user[o->tub[k]];
        if (t != NULL && t->rank > a->rank) {
            close_rank(a);
            a->rank = t->rank;
        }
        if (o->is_washed[k]) {
            add_wash(a, purchase);
        }
        if (k < window) {
            int idle_s = o->start_s[k] - end_s;
            idle_s -= o->is_washed[k] ? s->plan->chores.hand_wash_s : 0;
            if (k > 0 && !o->is_washed[k]) {
                lose(a, purchase, idle_s);
            } else {
                a->sum_s += idle_s;
            }
            end_s = o->start_s[k] + hands_s;
        }
        if (t == NULL) {
            a->lost_s[0][purchase] += hands_s;
            a->n_cleans++;
        } else if (is_behind_cut(a, t)) {
            lose(a, purchase, hands_s);
        } else {
            a->sum_s += hands_s;
        }
        if (o->tub[k] >= 0) {
            user[o->tub[k]] = purchase;
        }
        a->touched |= 1u << purchase;
    }
}

/* Purchases of a rank that have work left; their hands-on work is added. */
static unsigned add_left(account *a, int rank, unsigned *loads)
{
    const shop *s = a->s;
    unsigned left = 0;
    for (int lot = 0; lot < s->n_lots; lot++) {
        int next = s->first[lot] + a->o->done[lot];
        int last = rank == a->cut_rank ? s->cut[lot] : s->first[lot + 1] - 1;
        if (s->rank_of[lot] == rank && next <= last) {
            a->sum_s += rank == a->cut_rank ? s->cut_left_s[next] : s->hands_left_s[next];
            left |= 1u << s->tasks[next].purchase;
            *loads |=
                s->tub_left_s[next] > s->tub_left_s[last] ? 1u << s->tasks[next].purchase : 0u;
        }
    }
    return left;
}

/* Washes to come to what is left of the present rank. */
static void add_washes(account *a, unsigned left)
{
    bool is_first = a->o->purchase < 0;
    for (int p = 0; p < a->s->n_purchases; p++) {
        if ((left & 1u << p) != 0 && p != a->o->purchase) {
            if (!is_first) {
                add_wash(a, p);
            }
            is_first = false;
        }
    }
}

/* The accounts of one rank: the larger of lost and must be lost. */
static void add_gaps(const account *a, int rank, int *more_s)
{
    for (int lot = 0; lot < a->s->n_lots; lot++) {
        if (a->s->rank_of[lot] != rank) {
            continue;
        }
        int p = a->s->tasks[a->s->first[lot]].purchase;
        for (int v = 0; v < 2; v++) {
            int lost_s = rank == a->rank ? a->lost_s[v][p] : 0;
            int must_s = a->s->whole_gap_s[rank == a->cut_rank ? 1 : 0][v][lot];
            more_s[v] += must_s > lost_s ? must_s - lost_s : 0;
        }
    }
}

static int sum_s(account *a, int last_rank)
{
    const order *o = a->o;
    const shop *s = a->s;
    unsigned loads = 0;
    add_done(a);
    if (o->rank > a->rank) {
        close_rank(a);
        a->rank = o->rank;
    }
    unsigned before = add_left(a, o->rank, &loads);
    add_washes(a, before);
    int more_s[2] = {0, 0};
    add_gaps(a, a->rank, more_s);
    for (int rank = o->rank + 1; rank <= last_rank; rank++) {
        unsigned left = add_left(a, rank, &loads);
        bool is_joined = before == 0 || (left & before) != 0;
        for (unsigned m = is_joined ? left & (left - 1) : left; m != 0; m &= m - 1) {
            a->sum_s += s->plan->chores.hand_wash_s;
        }
        add_gaps(a, rank, more_s);
        before = left;
    }
    close_rank(a);
    int cleans = a->n_cleans + fl_bench_cleans_left(o, s, loads);
    cleans = cleans < s->n_cleans ? cleans : s->n_cleans;
    int apart_s = a->lost_before_s[1] + more_s[1] + cleans * s->plan->chores.tub_hands_s;
    int within_s = a->lost_before_s[0] + more_s[0];
    return a->sum_s + (apart_s > within_s ? apart_s : within_s);
}

/* The least that follows the last cut; -1: all cuts are behind. */
static int after_cut_s(const order *o, const shop *s, int rank)
{
    int least_s = -1;
    for (int lot = 0; lot < s->n_lots; lot++) {
        int cut = s->cut[lot];
        if (s->rank_of[lot] == rank && s->first[lot] + o->done[lot] <= cut) {
            int after_s = s->chain_left_s[cut] - s->tasks[cut].hands_s;
            least_s = least_s < 0 || after_s < least_s ? after_s : least_s;
        }
    }
    return least_s;
}

int fl_bench_whole_s(const order *o, const shop *s, int last_rank)
{
    if (s->plan->begun != NULL || o->rank > last_rank) {
        return 0; /* of a finished order the end itself is known */
    }
    account a = {.o = o, .s = s, .rank = o->n > 0 ? 0 : o->rank, .cut_rank = -1};
    account cut = a;
    int end_s = sum_s(&a, last_rank);
    int after_s = after_cut_s(o, s, last_rank);
    if (after_s < 0) {
        return end_s;
    }
    cut.cut_rank = last_rank;
    int cut_s = sum_s(&cut, last_rank) + after_s;
    return cut_s > end_s ? cut_s : end_s;
}
