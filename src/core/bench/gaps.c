/* What a purchase costs beyond its hands-on work, whatever is done in between. Hands that wait in
 * the middle of a purchase either stand idle, or go to another purchase and come back: that is one
 * wash more. So a purchase's waits cost at least the least sum, over all orders of its tasks, of
 * min(wait, wash); what others do in between only fills waits that a wash was paid for. A wait that
 * must end on the second and is too short for two washes and some work is idle throughout.
 * Disinfecting a tub of one's own fills its own time of a wait, and no more.
 *
 * For one order: a lot's next task needs idle time of its lag less the work in between. Of waits
 * that overlap one may serve all, so disjoint ones are added up (the best such set). Orders are
 * looked at from their end (the long waits stand there, so most are cut early), under a cap that
 * grows by a wash at a time: where it is too much to look at, the last cap that no order came
 * under is what is claimed. */
#include <limits.h>
#include <string.h>

#include "core/bench/inner.h"

#define NODES_OF_GAPS 200000
#define CAPS 8 /* washes a purchase: more is not looked for */

typedef struct gaps {
    const shop *shop;
    int lots[FL_BENCH_LOTS_MAX];
    int ends[FL_BENCH_LOTS_MAX]; /* the task after the last that counts */
    int n_lots;
    int done[FL_BENCH_LOTS_MAX];
    int last_end_s[FL_BENCH_LOTS_MAX]; /* in work done, without waits */
    int last_at[FL_BENCH_LOTS_MAX];    /* position of the lot's last task */
    int n_busy;                        /* tubs */
    int cost_s[TASKS_MAX + 1];         /* [k]: of the first k tasks of the order */
    int best_s;
    int nodes;
    int n_cleans;
} gaps;

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* A tub's own disinfecting may fill part of a wait; leaving needs two washes and some work. */
int fl_bench_wait_cost_s(const shop *s, const task *t, int wait_s, int n_cleans)
{
    const fl_bench_chores *c = &s->plan->chores;
    int left_s = wait_s - n_cleans * c->tub_hands_s;
    bool can_leave = !t->is_lag_exact || wait_s >= 2 * c->hand_wash_s + s->least_other_s[t->lot];
    left_s = left_s > 0 ? left_s : 0;
    return can_leave ? least(left_s, c->hand_wash_s) : left_s;
}

/* False when the lot's task before the last one taken may not come now, with work_s done so far
 * from the end. */
static bool may_come(const gaps *g, int which, int work_s)
{
    const shop *s = g->shop;
    int i = g->ends[which] - 1 - g->done[which];
    if (i < s->first[g->lots[which]]) {
        return false;
    }
    const task *t = &s->tasks[i];
    if (t->frees_tub && g->n_busy >= s->plan->n_tubs) {
        return false;
    }
    return g->done[which] == 0 || !t->is_lag_exact || work_s - g->last_end_s[which] <= t->lag_s;
}

/* Of the lots not tried yet the one that was touched longest ago: good orders come early. */
static int oldest(const gaps *g, unsigned tried)
{
    int found = -1;
    int found_at = 0;
    for (int i = 0; i < g->n_lots; i++) {
        int at = g->done[i] == 0 ? -1 : g->last_at[i];
        if ((tried & (1u << i)) == 0 && (found < 0 || at <= found_at)) {
            found = i;
            found_at = at;
        }
    }
    return found;
}

static void branch(gaps *g, int k, int n_tasks, int work_s)
{
    const shop *s = g->shop;
    if (g->best_s == 0 || g->nodes++ > NODES_OF_GAPS || g->cost_s[k] >= g->best_s) {
        return;
    }
    if (k == n_tasks) {
        g->best_s = g->cost_s[k];
        return;
    }
    unsigned tried = 0;
    for (int turn = 0; turn < g->n_lots; turn++) {
        int which = oldest(g, tried);
        tried |= 1u << which;
        if (!may_come(g, which, work_s)) {
            continue;
        }
        int i = g->ends[which] - 1 - g->done[which];
        const task *t = &s->tasks[i];
        int end_s = g->last_end_s[which];
        int at = g->last_at[which];
        int wait_s = g->done[which] == 0 ? 0 : t->lag_s - (work_s - end_s);
        int change = (t->frees_tub ? 1 : 0) - (t->takes_tub ? 1 : 0);
        g->cost_s[k + 1] = g->cost_s[k];
        if (wait_s > 0) { /* between the lot's task before and this one */
            int with_s = g->cost_s[at + 1] + fl_bench_wait_cost_s(s, t, wait_s, g->n_cleans);
            g->cost_s[k + 1] = with_s > g->cost_s[k] ? with_s : g->cost_s[k];
        }
        g->done[which]++;
        g->n_busy += change;
        g->last_end_s[which] = work_s + t->hands_s;
        g->last_at[which] = k;
        branch(g, k + 1, n_tasks, work_s + t->hands_s);
        g->done[which]--;
        g->n_busy -= change;
        g->last_end_s[which] = end_s;
        g->last_at[which] = at;
    }
}

int fl_bench_gaps_s(const shop *s, const int *lots, int n_lots, const gap_kind *kind)
{
    int step_s = s->plan->chores.hand_wash_s > 0 ? s->plan->chores.hand_wash_s : 1;
    int sure_s = 0;
    int nodes = 0;
    for (int cap_s = step_s; cap_s <= CAPS * step_s; cap_s += step_s) {
        gaps g = {.shop = s,
                  .n_lots = n_lots,
                  .best_s = cap_s,
                  .n_cleans = kind->n_cleans,
                  .nodes = nodes};
        int n_tasks = 0;
        for (int i = 0; i < n_lots; i++) {
            g.lots[i] = lots[i];
            g.ends[i] = kind->is_cut ? s->cut[lots[i]] + 1 : s->first[lots[i] + 1];
            n_tasks += g.ends[i] - s->first[lots[i]];
        }
        branch(&g, 0, n_tasks, 0);
        nodes = g.nodes;
        if (g.nodes > NODES_OF_GAPS) {
            break;
        }
        sure_s = g.best_s;
        if (g.best_s < cap_s) {
            break;
        }
    }
    return sure_s;
}
