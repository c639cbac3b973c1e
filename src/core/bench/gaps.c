/* What a purchase costs beyond its hands-on work, whatever is done in between. Hands that wait in
 * the middle of a purchase either stand idle, or go to another purchase and come back: that is one
 * wash more. So a purchase's waits cost at least the least sum, over all orders of its tasks, of
 * min(wait, wash); what others do in between only fills waits that a wash was paid for.
 *
 * For one order: a lot's next task needs idle time of its lag less the work in between. Of waits
 * that overlap one may serve all, so disjoint ones are added up (the best such set). All orders are
 * looked at, with those cut that cannot be cheaper; when there are too many, nothing is claimed. */
#include <limits.h>
#include <string.h>

#include "core/bench/inner.h"

#define NODES_OF_GAPS 60000

typedef struct gaps {
    const shop *shop;
    int lots[FL_BENCH_LOTS_MAX];
    int n_lots;
    int done[FL_BENCH_LOTS_MAX];
    int last_end_s[FL_BENCH_LOTS_MAX]; /* in work done, without waits */
    int last_at[FL_BENCH_LOTS_MAX];    /* position of the lot's last task */
    int n_busy;                        /* tubs */
    int cost_s[TASKS_MAX + 1];         /* [k]: of the first k tasks of the order */
    int best_s;
    int nodes;
} gaps;

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* Tries the lot's next task at position k, with work_s done so far; false: it may not come now. */
static bool may_come(const gaps *g, int which, int work_s)
{
    const shop *s = g->shop;
    int i = s->first[g->lots[which]] + g->done[which];
    const task *t = &s->tasks[i];
    if (i == s->first[g->lots[which] + 1] || (t->takes_tub && g->n_busy >= s->plan->n_tubs)) {
        return false;
    }
    const task *before = g->done[which] > 0 ? &s->tasks[i - 1] : NULL;
    return before == NULL || !before->is_lag_exact ||
           work_s - g->last_end_s[which] <= before->lag_s;
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
    for (int which = 0; which < g->n_lots; which++) {
        if (!may_come(g, which, work_s)) {
            continue;
        }
        int i = s->first[g->lots[which]] + g->done[which];
        const task *t = &s->tasks[i];
        int end_s = g->last_end_s[which];
        int at = g->last_at[which];
        int wait_s = g->done[which] == 0 ? 0 : s->tasks[i - 1].lag_s - (work_s - end_s);
        int change = (t->takes_tub ? 1 : 0) - (t->frees_tub ? 1 : 0);
        g->cost_s[k + 1] = g->cost_s[k];
        if (wait_s > 0) { /* between the lot's task before and this one */
            int with_s = g->cost_s[at + 1] + least(wait_s, s->plan->chores.hand_wash_s);
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

int fl_bench_gaps_s(const shop *s, const int *lots, int n_lots)
{
    gaps g = {.shop = s, .n_lots = n_lots, .best_s = INT_MAX};
    int n_tasks = 0;
    for (int i = 0; i < n_lots; i++) {
        g.lots[i] = lots[i];
        n_tasks += s->first[lots[i] + 1] - s->first[lots[i]];
    }
    branch(&g, 0, n_tasks, 0);
    return g.nodes > NODES_OF_GAPS || g.best_s == INT_MAX ? 0 : g.best_s;
}
