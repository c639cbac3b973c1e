/* Looks for the best order, all orders of one length beside each other: children that cannot
 * beat the best are cut by their bound, of children alike one is kept, and of the rest the most
 * promising `width`. When nothing had to be left out for width, nothing better exists. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "core/bench/inner.h"

#define WIDTH_NARROW 40
#define SMALL_TASKS 48 /* of more pieces of work no wide sweep finishes */

/* Hands-off time so far: of orders that promise the same, the busier is tried first. */
static int idle_s(const order *o, const shop *s)
{
    int busy_s = 0;
    for (int k = 0; k < o->n; k++) {
        busy_s += fl_bench_entry_hands_s(s, o->what[k]);
        busy_s += o->is_washed[k] ? s->plan->chores.hand_wash_s : 0;
    }
    return fl_bench_order_end_s(o, s) - busy_s;
}

/* Unattended time that is still to be started: what is started early costs nothing later. */
static int lags_left_s(const order *o, const shop *s)
{
    int left_s = 0;
    for (int lot = 0; lot < s->n_lots; lot++) {
        int next = s->first[lot] + o->done[lot];
        if (next < s->first[lot + 1]) {
            left_s += s->chain_left_s[next] - s->hands_left_s[next];
        }
    }
    return left_s;
}

static int compare_choices(const void *a, const void *b)
{
    const choice *x = a;
    const choice *y = b;
    if (x->key_s != y->key_s) {
        return x->key_s < y->key_s ? -1 : 1;
    }
    if (x->tie_s != y->tie_s) {
        return x->tie_s < y->tie_s ? -1 : 1;
    }
    if (x->parent != y->parent) {
        return x->parent < y->parent ? -1 : 1;
    }
    return x->what < y->what ? -1 : x->what > y->what ? 1 : 0;
}

/* Notes a finished order if it is the best so far; true when it was finished. */
static bool note_finished(search *se, const order *o)
{
    if (o->rank <= se->last_rank) {
        return false;
    }
    int value_s = fl_bench_bound_s(o, se->shop, se->goal, se->last_rank);
    if (value_s < se->best_s) {
        se->best_s = value_s;
        fl_bench_order_copy(&se->best, o);
    }
    return true;
}

/* True while the purchase in hand has work left that is not this entry's. */
static bool leaves_purchase(const search *se, const order *o, short what)
{
    const shop *s = se->shop;
    if (o->purchase < 0 || what < 0 || s->tasks[what].purchase == o->purchase) {
        return false;
    }
    for (int lot = 0; lot < s->n_lots; lot++) {
        int next = s->first[lot] + o->done[lot];
        if (s->rank_of[lot] == o->rank && next < s->first[lot + 1] &&
            s->tasks[next].purchase == o->purchase) {
            return true;
        }
    }
    return false;
}

/* The children of one order that can still beat the best, into list; returns how many. */
static int list_children(search *se, const order *o, short parent, choice *list)
{
    short what[CHOICES_MAX];
    order *child = &se->scratch;
    int n = 0;
    int n_what = fl_bench_order_choices(o, se->shop, se->last_rank, what);
    for (int i = 0; i < n_what; i++) {
        if (se->is_grouped && leaves_purchase(se, o, what[i])) {
            continue;
        }
        fl_bench_order_copy(child, o);
        se->looked_at++;
        se->looked_total++;
        if (!fl_bench_order_append(child, se->shop, what[i])) {
            continue;
        }
        int least_s = fl_bench_bound_s(child, se->shop, se->goal, se->last_rank);
        if (least_s < se->best_s) {
            int key_s = se->is_by_gaps
                            ? least_s
                            : fl_bench_plain_bound_s(child, se->shop, se->goal, se->last_rank);
            int tie_s = 8 * idle_s(child, se->shop) + se->weight * lags_left_s(child, se->shop);
            list[n++] = (choice){key_s, tie_s, parent, what[i]};
        }
    }
    return n;
}

/* Keeps the order at the level's end unless one already there is ahead of it. */
static void keep(search *se, level *at)
{
    order *o = &at->orders[at->n];
    outlook *view = &at->outlooks[at->n];
    fl_bench_outlook(o, se, view);
    short *bucket = &at->bucket[view->hash % BUCKETS];
    for (int i = *bucket; i >= 0; i = at->next[i]) {
        if (fl_bench_is_ahead(&at->orders[i], &at->outlooks[i], o, view)) {
            return;
        }
    }
    at->next[at->n] = *bucket;
    *bucket = (short)at->n++;
}

/* The next level from the sorted children; false when some had to be left out. */
static bool fill_level(search *se, const level *now, level *next, int n_children)
{
    next->n = 0;
    memset(next->bucket, -1, sizeof next->bucket);
    for (int i = 0; i < n_children; i++) {
        const choice *c = &se->child[i];
        if (se->is_by_gaps && c->key_s >= se->best_s) {
            return true; /* sorted: nor can the rest beat the best */
        }
        if (next->n == se->width) {
            return false;
        }
        order *o = &next->orders[next->n];
        fl_bench_order_copy(o, &now->orders[c->parent]);
        if (fl_bench_order_append(o, se->shop, c->what) && !note_finished(se, o)) {
            keep(se, next);
        }
    }
    return true;
}

/* One sweep from `start` to the end; true when it left nothing out, so the best is the best of
 * all. */
static bool sweep(search *se, const order *start)
{
    level *now = &se->levels[0];
    level *next = &se->levels[1];
    bool is_whole = !se->is_grouped;
    now->n = 1;
    fl_bench_order_copy(&now->orders[0], start);
    while (now->n > 0) {
        int n = 0;
        if (se->looked_at >= se->effort) {
            return false;
        }
        for (int i = 0; i < now->n; i++) {
            n += list_children(se, &now->orders[i], (short)i, se->child + n);
        }
        qsort(se->child, (size_t)n, sizeof se->child[0], compare_choices);
        is_whole = fill_level(se, now, next, n) && is_whole;
        if (se->is_all_or_none && !is_whole) {
            return false;
        }
        level *swap = now;
        now = next;
        next = swap;
    }
    return is_whole;
}

#define BEGUN_FIRST 1000000000

/* True while a lot's last entry is one that was begun before now. */
static bool is_waiting(const order *o, int lot)
{
    return o->last[lot] >= 0 && o->last[lot] < o->n_fixed;
}

/* Dips first, by when they are due; then what may stand longer. */
static int due_s(const order *o, const shop *s, int lot)
{
    const task *t = &s->tasks[o->what[o->last[lot]]];
    int due = o->start_s[o->last[lot]] + t->hands_s + t->lag_s;
    return t->is_lag_exact ? due : due + 2 * FL_BENCH_STEP_S_MAX;
}

/* One lot after the other, purchase by purchase: always possible, so there is always an answer. */
static void search_serial(search *se, const order *start)
{
    order *o = &se->scratch;
    short lot = -1;
    fl_bench_order_copy(o, start);
    while (!note_finished(se, o)) {
        short what[CHOICES_MAX];
        int n = fl_bench_order_choices(o, se->shop, se->last_rank, what);
        int pick = 0;
        int pick_score = -1;
        for (int i = 0; i < n; i++) {
            const task *t = what[i] >= 0 ? &se->shop->tasks[what[i]] : NULL;
            int score = t == NULL ? 0 : t->lot == lot ? 3 : t->purchase == o->purchase ? 2 : 1;
            score = t != NULL && is_waiting(o, t->lot) ? BEGUN_FIRST - due_s(o, se->shop, t->lot)
                                                       : score;
            if (score > pick_score) {
                pick = i;
                pick_score = score;
            }
        }
        if (n == 0 || !fl_bench_order_append(o, se->shop, what[pick])) {
            return;
        }
        lot = what[pick] >= 0 ? se->shop->tasks[what[pick]].lot : lot;
    }
}

/* Several narrow sweeps, each with its own idea of what is promising. */
static bool sweep_narrow(search *se, const order *start)
{
    static const int weights[] = {0, 1, 4};
    bool is_whole = false;
    se->width = WIDTH_NARROW;
    for (size_t i = 0; i < 4 * sizeof weights / sizeof weights[0] && !is_whole; i++) {
        bool is_mixed = se->shop->n_purchases > 1;
        se->weight = weights[i / 4];
        se->is_grouped = i % 2 == 0;
        se->is_by_gaps = i / 2 % 2 == 1;
        if (is_mixed || i % 4 == 1) {
            is_whole = sweep(se, start);
        }
    }
    se->is_by_gaps = false;
    se->is_grouped = false;
    return is_whole;
}

void fl_bench_search(search *se, const order *start)
{
    size_t effort = se->effort;
    search_serial(se, start);
    se->looked_at = 0;
    se->is_complete = sweep_narrow(se, start);
    bool is_small = se->shop->n_tasks - start->n <= SMALL_TASKS;
    if (!se->is_complete) {
        se->looked_at = 0;
        se->effort = is_small ? effort / 3 : effort;
        fl_bench_improve(se, start);
    }
    if (!se->is_complete && is_small) { /* small enough to be finished */
        se->looked_at = 0;
        se->width = WIDTH_MAX;
        se->weight = 1;
        se->is_complete = sweep(se, start);
        se->looked_at = 0;
        if (!se->is_complete) {
            fl_bench_improve(se, start);
        }
    }
    se->effort = effort;
}

bool fl_bench_is_refuted(search *se, const order *start, int least_s)
{
    int best_s = se->best_s;
    se->width = WIDTH_MAX;
    se->weight = 1;
    se->best_s = least_s;
    se->is_all_or_none = true;
    bool is_whole = sweep(se, start);
    bool is_found = se->best_s < least_s;
    se->best_s = is_found ? se->best_s : best_s;
    se->is_complete = is_found && is_whole;
    se->is_all_or_none = false;
    return is_whole && !is_found;
}
