/* When one partial order can stand for another: both did the same work, entries that can still be
 * pushed about are the same, and the times left behind by the rest are no later. */
#include <string.h>

#include "core/bench/inner.h"

static int later(int a, int b)
{
    return a > b ? a : b;
}

/* The first entry that can still move: a dip that is in, or one that was pulled along with it. */
int fl_bench_window(const order *o)
{
    int window = o->n;
    for (int i = 0; i < o->n_exact; i++) {
        int k = o->exact[i];
        window = k < window && o->after[k] < 0 ? k : window;
    }
    bool has_grown = window < o->n;
    while (has_grown) {
        has_grown = false;
        for (int i = 0; i < o->n_exact; i++) {
            int k = o->exact[i];
            if (k < window && o->after[k] >= window) {
                window = k;
                has_grown = true;
            }
        }
        for (int k = window; k < o->n; k++) {
            if (o->ready[k] >= 0 && o->ready[k] < window) {
                window = o->ready[k];
                has_grown = true;
            }
        }
    }
    return window;
}

static uint64_t mixed(uint64_t hash, int value)
{
    hash ^= (uint64_t)(unsigned)value + 0x9E3779B97F4A7C15u + (hash << 6) + (hash >> 2);
    return hash * 0xD6E8FEB86659FD93u;
}

static int end_s(const order *o, const shop *s, int k)
{
    return o->start_s[k] + fl_bench_entry_hands_s(s, o->what[k]);
}

/* Free tubs, as counts by whose they last were; disinfected ones by when they may be used. */
static void add_tubs(const order *o, const shop *s, outlook *out)
{
    int count[FL_BENCH_LOTS_MAX + 2] = {0};
    int first = out->n_times;
    for (int i = 0; i < s->plan->n_tubs; i++) {
        const tub_state *t = &o->tubs[i];
        if (t->is_busy) {
            continue;
        }
        count[t->purchase + 1]++;
        if (t->ready >= 0) {
            int ready_s = end_s(o, s, t->ready) + s->plan->chores.tub_contact_s;
            int at = out->n_times++;
            for (; at > first && out->times_s[at - 1] > ready_s; at--) {
                out->times_s[at] = out->times_s[at - 1];
            }
            out->times_s[at] = ready_s;
        }
    }
    for (int i = 0; i <= s->n_purchases; i++) {
        out->hash = mixed(out->hash, count[i]);
    }
}

void fl_bench_outlook(const order *o, const search *se, outlook *out)
{
    const shop *s = se->shop;
    int ready_s[FL_BENCH_LOTS_MAX] = {0};
    int hands_s = 0;
    int tail_s = 0;
    out->window = fl_bench_window(o);
    out->hash = mixed((uint64_t)(unsigned)o->n, o->purchase);
    for (int k = 0; k < out->window; k++) {
        hands_s = end_s(o, s, k);
        if (o->what[k] >= 0) {
            const task *t = &s->tasks[o->what[k]];
            ready_s[t->lot] = hands_s + t->lag_s;
        }
    }
    for (int k = out->window; k < o->n; k++) {
        out->hash = mixed(out->hash, o->what[k] < 0 ? -1 : o->what[k]);
    }
    out->n_times = 0;
    out->times_s[out->n_times++] = hands_s;
    for (int lot = 0; lot < s->n_lots; lot++) {
        out->hash = mixed(out->hash, o->done[lot]);
        bool is_over = s->first[lot] + o->done[lot] == s->first[lot + 1] &&
                       (o->last[lot] < 0 || o->last[lot] < out->window);
        if (is_over) {
            tail_s = later(tail_s, ready_s[lot]);
        } else {
            out->times_s[out->n_times++] = ready_s[lot];
        }
    }
    out->times_s[out->n_times++] = se->goal == GOAL_EVENING ? tail_s : 0;
    add_tubs(o, s, out);
}

bool fl_bench_is_ahead(const order *a, const outlook *ahead, const order *b, const outlook *behind)
{
    int n_window = a->n - ahead->window;
    if (ahead->hash != behind->hash || a->n != b->n || ahead->n_times != behind->n_times ||
        n_window != b->n - behind->window || a->purchase != b->purchase ||
        memcmp(a->done, b->done, sizeof a->done) != 0) {
        return false;
    }
    for (int i = 0; i < n_window; i++) {
        short x = a->what[ahead->window + i];
        short y = b->what[behind->window + i];
        if (x != y && (x >= 0 || y >= 0)) { /* which tub was disinfected is all one */
            return false;
        }
    }
    for (int i = 0; i < ahead->n_times; i++) {
        if (ahead->times_s[i] > behind->times_s[i]) {
            return false;
        }
    }
    return true;
}
