/* The run sheet: bounds rank by rank, a good order rank by rank, then the whole evening at once. */
#include "core/bench/bench.h"

#include <limits.h>

#include "core/bench/inner.h"

#define EFFORT_USUAL 4000000
#define NEAR_PCT 9    /* farther from its bound than this, an evening is worked on again */
#define TIMES_USUAL 4 /* the effort, until that much was looked at in all */

size_t fl_bench_work_bytes(void)
{
    return sizeof(workshop);
}

static void aim(search *se, goal by, int last_rank, size_t effort)
{
    se->goal = by;
    se->last_rank = last_rank;
    se->effort = effort;
    se->best_s = INT_MAX;
}

/* Mask of the purchases of a rank. */
static unsigned purchases_of(const shop *s, int rank)
{
    unsigned mask = 0;
    for (int i = 0; i < s->n_tasks; i++) {
        mask |= s->tasks[i].rank == rank ? 1u << s->tasks[i].purchase : 0u;
    }
    return mask;
}

/* Ranks do not overlap on the hands, so the least hands-on times of the ranks, each alone with all
 * tubs blank, add up to a bound. */
static int bound_by_ranks_s(workshop *work, size_t effort)
{
    const shop *s = &work->shop;
    search *se = &work->search;
    order *start = &work->start;
    int sum_s = 0;
    for (int rank = 0; rank < s->n_ranks; rank++) {
        if (rank == 0) {
            fl_bench_order_begin(start, s);
        } else {
            fl_bench_order_init(start);
            start->rank = rank;
        }
        aim(se, GOAL_HANDS, rank, effort);
        int bound_s = fl_bench_bound_s(start, s, GOAL_HANDS, rank);
        fl_bench_search(se, start);
        sum_s += se->is_complete ? se->best_s : bound_s;
        bool is_joined = rank > 0 && (purchases_of(s, rank) & purchases_of(s, rank - 1)) != 0;
        sum_s += rank > 0 && !is_joined ? s->plan->chores.hand_wash_s : 0;
    }
    return sum_s + fl_bench_closing_s(s);
}

/* A good order: each rank in turn, from where the one before it ended. */
static int solve_by_ranks_s(workshop *work, size_t effort)
{
    const shop *s = &work->shop;
    search *se = &work->search;
    fl_bench_order_begin(&work->start, s);
    for (int rank = 0; rank < s->n_ranks; rank++) {
        aim(se, rank + 1 < s->n_ranks ? GOAL_HANDS : GOAL_EVENING, rank, effort);
        fl_bench_search(se, &work->start);
        work->start = se->best;
    }
    return se->best_s;
}

/* Raises the bound: that no evening is shorter than some time is sure when a sweep for one comes
 * back empty without having left anything out. First for what makes the best near enough, then by
 * halves as long as it goes quickly. */
static int raise_bound_s(workshop *work, int bound_s, size_t effort)
{
    search *se = &work->search;
    int too_much_s = se->best_s + 1;
    int least_s = (se->best_s * 10 + 10) / 11;
    se->looked_at = 0;
    se->effort = effort;
    least_s = least_s > bound_s ? least_s : bound_s + (se->best_s - bound_s + 1) / 2;
    while (least_s > bound_s && least_s < too_much_s && se->looked_at < effort) {
        if (fl_bench_is_refuted(se, &work->start, least_s)) {
            bound_s = least_s;
        } else {
            too_much_s = least_s < se->best_s ? least_s : se->best_s;
        }
        if (se->is_complete || bound_s == se->best_s) {
            se->is_complete = true;
            return se->best_s;
        }
        if (too_much_s - bound_s < se->best_s / 200) {
            break;
        }
        least_s = bound_s + (too_much_s - bound_s) / 2;
    }
    return bound_s;
}

static bool is_near(const search *se, int bound_s)
{
    return (int64_t)se->best_s * 100 <= (int64_t)bound_s * (100 + NEAR_PCT);
}

/* Bound and best towards each other, from a whole search on; returns the bound. */
static int close_gap_s(workshop *work, int bound_s, size_t effort)
{
    search *se = &work->search;
    while (!se->is_complete && se->best_s > bound_s) {
        bound_s = raise_bound_s(work, bound_s, effort / 8);
        if (se->is_complete || is_near(se, bound_s) || se->looked_total >= TIMES_USUAL * effort) {
            break;
        }
        se->looked_at = 0;
        se->effort = effort;
        fl_bench_improve(se, &work->start);
    }
    return bound_s;
}

fl_status fl_bench_schedule(const fl_bench_plan *plan, size_t effort, void *memory,
                            fl_bench_sheet *out, fl_err *err)
{
    workshop *work = memory;
    const shop *s = &work->shop;
    search *se = &work->search;
    fl_status status = fl_bench_tasks(plan, &work->shop, err);
    if (status != FL_OK) {
        return status;
    }
    effort = effort == 0 ? EFFORT_USUAL : effort;
    se->shop = s;
    se->series = 0;
    se->looked_total = 0;
    int bound_s = 0;
    int good_s = INT_MAX;
    if (s->n_ranks > 1) {
        size_t share = effort / (size_t)(2 * s->n_ranks);
        bound_s = bound_by_ranks_s(work, share);
        good_s = solve_by_ranks_s(work, share);
        work->good = work->start;
    }
    fl_bench_order_begin(&work->start, s);
    int root_s = fl_bench_bound_s(&work->start, s, GOAL_EVENING, s->n_ranks - 1);
    bound_s = root_s > bound_s ? root_s : bound_s;
    aim(se, GOAL_EVENING, s->n_ranks - 1, effort);
    se->best_s = good_s;
    if (good_s < INT_MAX) {
        se->best = work->good;
    }
    fl_bench_search(se, &work->start);
    bound_s = close_gap_s(work, bound_s, effort);
    fl_bench_write(&se->best, s, out);
    out->is_optimal = se->is_complete || out->finish_s == bound_s;
    out->looked_at = se->looked_total;
    out->bound_s = out->is_optimal ? out->finish_s : bound_s;
    return FL_OK;
}
