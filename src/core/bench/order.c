/* Partial orders of hands-on tasks: what may come next, and the earliest times, which follow from
 * difference constraints: one task after the other, lags, exact lags, disinfected tubs. */
#include <string.h>

#include "core/bench/inner.h"

void fl_bench_order_init(order *o)
{
    o->n = 0;
    o->n_cleans = 0;
    o->n_fixed = 0;
    o->n_exact = 0;
    o->purchase = -1;
    o->rank = 0;
    for (int i = 0; i < FL_BENCH_LOTS_MAX; i++) {
        o->done[i] = 0;
        o->last[i] = -1;
    }
    for (int i = 0; i < FL_BENCH_TUBS_MAX; i++) {
        o->tubs[i] = (tub_state){.purchase = -1, .ready = -1};
    }
}

static int count_of(const shop *s, int lot)
{
    return s->first[lot + 1] - s->first[lot];
}

int fl_bench_entry_hands_s(const shop *s, short what)
{
    return what >= 0 ? s->tasks[what].hands_s : s->plan->chores.tub_hands_s;
}

int fl_bench_order_end_s(const order *o, const shop *s)
{
    if (o->n <= o->n_fixed) {
        return 0;
    }
    return o->start_s[o->n - 1] + fl_bench_entry_hands_s(s, o->what[o->n - 1]);
}

/* The free tub a purchase would take: its own, else one never used, else a disinfected one; -1. */
static int find_tub(const order *o, const shop *s, int purchase)
{
    int blank = -1;
    for (int i = 0; i < s->plan->n_tubs; i++) {
        const tub_state *t = &o->tubs[i];
        if (t->is_busy) {
            continue;
        }
        if (t->is_used && t->purchase == purchase) {
            return i;
        }
        if (t->purchase == -1 && (blank < 0 || (!t->is_used && o->tubs[blank].is_used))) {
            blank = i;
        }
    }
    return blank;
}

static bool may_advance(const order *o, const shop *s, int lot)
{
    if (s->rank_of[lot] != o->rank || o->done[lot] == count_of(s, lot)) {
        return false;
    }
    /* of lots that are the same, the first is never behind: only the names would differ */
    int twin = s->twin[lot];
    if (twin >= 0 && o->done[twin] <= o->done[lot]) {
        return false;
    }
    const task *t = &s->tasks[s->first[lot] + o->done[lot]];
    return !t->takes_tub || find_tub(o, s, t->purchase) >= 0;
}

/* Tub tasks still to start, up to last_rank, of purchases other than this one. */
static int loads_of_others(const order *o, const shop *s, int last_rank, int purchase)
{
    int n = 0;
    for (int lot = 0; lot < s->n_lots; lot++) {
        if (s->rank_of[lot] > last_rank || s->rank_of[lot] < o->rank ||
            s->tasks[s->first[lot]].purchase == purchase) {
            continue;
        }
        for (int i = s->first[lot] + o->done[lot]; i < s->first[lot + 1]; i++) {
            n += s->tasks[i].takes_tub ? 1 : 0;
        }
    }
    return n;
}

/* Tubs worth disinfecting: free ones of another purchase, one of each, while blank ones are
 * fewer than the tub tasks of others. All tubs that were put out are disinfected at the end, so
 * an unused one costs nothing more. */
static int clean_choices(const order *o, const shop *s, int last_rank, short *what)
{
    int n = 0;
    int blanks = 0;
    for (int i = 0; i < s->plan->n_tubs; i++) {
        blanks += !o->tubs[i].is_busy && o->tubs[i].purchase == -1 ? 1 : 0;
    }
    for (int i = 0; i < s->plan->n_tubs && o->n_cleans < CLEANS_MAX; i++) {
        const tub_state *t = &o->tubs[i];
        if (t->is_busy || t->purchase == -1 ||
            loads_of_others(o, s, last_rank, t->purchase) <= blanks) {
            continue;
        }
        bool is_first = true;
        for (int k = 0; k < i; k++) {
            is_first = is_first && (o->tubs[k].is_busy || o->tubs[k].purchase != t->purchase);
        }
        if (is_first) {
            what[n++] = (short)(-1 - i);
        }
    }
    return n;
}

int fl_bench_order_choices(const order *o, const shop *s, int last_rank, short *what)
{
    int n = 0;
    if (o->rank > last_rank) {
        return 0;
    }
    for (int lot = 0; lot < s->n_lots; lot++) {
        if (may_advance(o, s, lot)) {
            what[n++] = (short)(s->first[lot] + o->done[lot]);
        }
    }
    return n + clean_choices(o, s, last_rank, what + n);
}

void fl_bench_order_copy(order *to, const order *from)
{
    size_t n = (size_t)from->n;
    to->n = from->n;
    to->n_cleans = from->n_cleans;
    to->n_fixed = from->n_fixed;
    to->n_exact = from->n_exact;
    to->purchase = from->purchase;
    to->rank = from->rank;
    memcpy(to->done, from->done, sizeof to->done);
    memcpy(to->last, from->last, sizeof to->last);
    memcpy(to->tubs, from->tubs, sizeof to->tubs);
    memcpy(to->what, from->what, n * sizeof to->what[0]);
    memcpy(to->tub, from->tub, n * sizeof to->tub[0]);
    memcpy(to->before, from->before, n * sizeof to->before[0]);
    memcpy(to->after, from->after, n * sizeof to->after[0]);
    memcpy(to->ready, from->ready, n * sizeof to->ready[0]);
    memcpy(to->is_washed, from->is_washed, n * sizeof to->is_washed[0]);
    memcpy(to->start_s, from->start_s, n * sizeof to->start_s[0]);
    memcpy(to->exact, from->exact, (size_t)from->n_exact * sizeof to->exact[0]);
}

bool fl_bench_order_may(const order *o, const shop *s, short what)
{
    if (what < 0) {
        const tub_state *t = &o->tubs[-1 - what];
        return !t->is_busy && t->purchase != -1 && o->n_cleans < CLEANS_MAX;
    }
    const task *t = &s->tasks[what];
    return t->rank == o->rank && s->first[t->lot] + o->done[t->lot] == what &&
           (!t->takes_tub || find_tub(o, s, t->purchase) >= 0);
}

static int later(int a, int b)
{
    return a > b ? a : b;
}

static int end_s(const order *o, const shop *s, int entry)
{
    return o->start_s[entry] + fl_bench_entry_hands_s(s, o->what[entry]);
}

/* The earliest start of an entry after what stands before it in the order. */
static int earliest_s(const order *o, const shop *s, int k)
{
    int wash_s = o->is_washed[k] ? s->plan->chores.hand_wash_s : 0;
    int t = (k == o->n_fixed ? 0 : end_s(o, s, k - 1)) + wash_s;
    if (o->before[k] >= 0) {
        t = later(t, end_s(o, s, o->before[k]) + s->tasks[o->what[o->before[k]]].lag_s);
    }
    if (o->ready[k] >= 0) {
        t = later(t, end_s(o, s, o->ready[k]) + s->plan->chores.tub_contact_s);
    }
    return t;
}

/* Moves the start of dips so that their end meets free hands; the first entry moved, or n; -1: one
 * that was begun before now would have to move. */
static int pull_dips(order *o, const shop *s)
{
    int moved = o->n;
    int hands_free_s = fl_bench_order_end_s(o, s);
    for (int i = 0; i < o->n_exact; i++) {
        int k = o->exact[i];
        int out_s = o->after[k] >= 0 ? o->start_s[o->after[k]] : hands_free_s;
        int least_s = out_s - s->tasks[o->what[k]].lag_s - fl_bench_entry_hands_s(s, o->what[k]);
        if (o->start_s[k] < least_s) {
            if (k < o->n_fixed) {
                return -1;
            }
            o->start_s[k] = least_s;
            moved = k < moved ? k : moved;
        }
    }
    return moved;
}

/* Earliest times after an append, by relaxation; they only ever grow. With d exact lags a system
 * that has a solution settles within d + 1 rounds. */
static bool settle(order *o, const shop *s)
{
    int from = o->n - 1;
    o->start_s[from] = 0;
    for (int round = 0; round <= o->n_exact + 1; round++) {
        for (int k = from; k < o->n; k++) {
            o->start_s[k] = later(o->start_s[k], earliest_s(o, s, k));
        }
        from = pull_dips(o, s);
        if (from < 0 || from == o->n) {
            return from == o->n;
        }
    }
    return false;
}

static void append_clean(order *o, int tub)
{
    int k = o->n++;
    tub_state *t = &o->tubs[tub];
    o->tub[k] = (short)tub;
    o->before[k] = -1;
    o->ready[k] = -1;
    o->purchase = t->purchase;
    t->purchase = -1;
    t->ready = (short)k;
    o->n_cleans++;
}

/* The tub of a task: taken now, or held since the task before; -1. */
static void use_tub(order *o, const shop *s, int k)
{
    const task *t = &s->tasks[o->what[k]];
    int tub = -1;
    if (t->takes_tub) {
        tub = find_tub(o, s, t->purchase);
        tub_state *state = &o->tubs[tub];
        o->ready[k] = state->ready;
        *state =
            (tub_state){.purchase = t->purchase, .ready = -1, .is_busy = true, .is_used = true};
    } else if (t->frees_tub) {
        tub = o->tub[o->before[k]];
    }
    if (t->frees_tub) {
        o->tubs[tub].is_busy = false;
    }
    o->tub[k] = (short)tub;
}

static void append_task(order *o, const shop *s, short what)
{
    int k = o->n++;
    const task *t = &s->tasks[what];
    o->before[k] = o->last[t->lot];
    o->ready[k] = -1;
    if (o->before[k] >= 0) {
        o->after[o->before[k]] = (short)k;
    }
    use_tub(o, s, k);
    if (t->is_lag_exact) {
        o->exact[o->n_exact++] = (short)k;
    }
    o->last[t->lot] = (short)k;
    o->done[t->lot]++;
    o->purchase = t->purchase;
}

/* The first rank that has a lot with work left. */
static int rank_now(const order *o, const shop *s)
{
    int rank = s->n_ranks;
    for (int lot = 0; lot < s->n_lots; lot++) {
        if (s->rank_of[lot] >= o->rank && s->rank_of[lot] < rank &&
            o->done[lot] < count_of(s, lot)) {
            rank = s->rank_of[lot];
        }
    }
    return rank;
}

bool fl_bench_order_append(order *o, const shop *s, short what)
{
    int k = o->n;
    int purchase = what >= 0 ? s->tasks[what].purchase : o->tubs[-1 - what].purchase;
    o->what[k] = what;
    o->after[k] = -1;
    o->is_washed[k] = o->purchase >= 0 && o->purchase != purchase;
    if (what >= 0) {
        append_task(o, s, what);
    } else {
        append_clean(o, -1 - what);
    }
    if (what >= 0 && o->done[s->tasks[what].lot] == count_of(s, s->tasks[what].lot)) {
        o->rank = rank_now(o, s);
    }
    return settle(o, s);
}

/* What a lot is at since before now. */
static void fix_running(order *o, const shop *s, int lot)
{
    const fl_bench_lot *l = &s->plan->lots[lot];
    int k = o->n++;
    const task *t = &s->tasks[s->first[lot]];
    o->what[k] = s->first[lot];
    o->tub[k] = (short)l->tub;
    o->before[k] = o->after[k] = o->ready[k] = -1;
    o->is_washed[k] = false;
    o->start_s[k] = -l->ran_s - t->hands_s;
    if (t->is_lag_exact) {
        o->exact[o->n_exact++] = (short)k;
    }
    if (l->tub >= 0) {
        o->tubs[l->tub] = (tub_state){
            .purchase = t->purchase, .ready = -1, .is_busy = !t->frees_tub, .is_used = true};
    }
    o->last[lot] = (short)k;
    o->done[lot] = 1;
}

/* A tub whose disinfectant still stands. */
static void fix_clean(order *o, const shop *s, int tub, int ready_s)
{
    int k = o->n++;
    o->what[k] = (short)(-1 - tub);
    o->tub[k] = (short)tub;
    o->before[k] = o->after[k] = o->ready[k] = -1;
    o->is_washed[k] = false;
    o->start_s[k] = ready_s - s->plan->chores.tub_contact_s - s->plan->chores.tub_hands_s;
    o->tubs[tub].ready = (short)k;
    o->n_cleans++;
}

void fl_bench_order_begin(order *o, const shop *s)
{
    const fl_bench_begun *begun = s->plan->begun;
    fl_bench_order_init(o);
    if (begun == NULL) {
        return;
    }
    for (int i = 0; i < s->plan->n_tubs; i++) {
        o->tubs[i].purchase = s->tub_purchase[i];
        o->tubs[i].is_used = s->tub_purchase[i] >= 0;
        if (s->tub_purchase[i] < 0 && begun->tub_ready_s[i] > 0) {
            fix_clean(o, s, i, begun->tub_ready_s[i]);
        }
    }
    for (int lot = 0; lot < s->n_lots; lot++) {
        if (s->plan->lots[lot].is_running) {
            fix_running(o, s, lot);
        }
    }
    o->n_fixed = o->n;
    o->purchase = s->hands_purchase;
    o->rank = rank_now(o, s);
}
