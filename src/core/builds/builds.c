/* The planner: a first choice, the climb, and the latest days. */
#include "core/builds/builds.h"

#include <limits.h>
#include <stdint.h>

#include "core/builds/inner.h"

#define ROUNDS_MAX 200 /* of the climb; each goes over all moves */
#define KICK 3         /* wants changed at random before climbing again */
#define KICKS_MAX 40   /* in a row that may fail */
#define KICK_SEED 1    /* the same wants give the same plan */

static fl_status check_want(const fl_build_input *input, size_t w, fl_err *err)
{
    const fl_build_want *want = &input->wants[w];
    if (want->n_ways < 1 || want->n_ways > FL_BUILD_WAYS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "want %zu has %d ways: give 1 to %d", w + 1, want->n_ways,
                       FL_BUILD_WAYS_MAX);
    }
    if (want->need_day < -FL_BUILD_DAY_MAX || want->need_day > FL_BUILD_DAY_MAX) {
        return fl_fail(err, FL_EDOMAIN, "want %zu is needed on day %d: give %d to %d", w + 1,
                       want->need_day, -FL_BUILD_DAY_MAX, FL_BUILD_DAY_MAX);
    }
    bool has_bin = false;
    for (int k = 0; k < want->n_ways; k++) {
        const fl_build_way *way = &want->ways[k];
        if (way->group < 0 || way->first_day < 0 || way->first_day > FL_BUILD_DAY_MAX ||
            way->bin_days < 1 || way->bin_days > FL_BUILD_DAY_MAX) {
            return fl_fail(err, FL_EDOMAIN,
                           "want %zu, way %d: group %d, first day %d, %d days in the bin: give a "
                           "group from 0, days to %d",
                           w + 1, k + 1, way->group, way->first_day, way->bin_days,
                           FL_BUILD_DAY_MAX);
        }
        for (size_t b = 0; b < input->n_bins; b++) {
            has_bin = has_bin || !input->bins[b].is_jar || way->fits_jar;
        }
    }
    return has_bin ? FL_OK
                   : fl_fail(err, FL_EDOMAIN, "want %zu fits no bin: there are %zu", w + 1,
                             input->n_bins);
}

static fl_status check(const fl_build_input *input, fl_err *err)
{
    if (input->n_wants > FL_BUILD_WANTS_MAX || input->n_bins > FL_BUILD_BINS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu wants and %zu bins: at most %d and %d", input->n_wants,
                       input->n_bins, FL_BUILD_WANTS_MAX, FL_BUILD_BINS_MAX);
    }
    for (size_t b = 0; b < input->n_bins; b++) {
        if (input->bins[b].free_day < 0 || input->bins[b].free_day > FL_BUILD_DAY_MAX) {
            return fl_fail(err, FL_EDOMAIN, "bin %zu is free from day %d: give 0 to %d", b + 1,
                           input->bins[b].free_day, FL_BUILD_DAY_MAX);
        }
    }
    for (size_t w = 0; w < input->n_wants; w++) {
        const fl_status status = check_want(input, w, err);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

/* The first way of a want that has a bin when it comes alone. */
static int first_fitting(const fl_build_input *input, const fl_build_want *want)
{
    bool is_jar_only = true;
    for (size_t b = 0; b < input->n_bins; b++) {
        is_jar_only = is_jar_only && input->bins[b].is_jar;
    }
    for (int k = 0; k < want->n_ways; k++) {
        if (!is_jar_only || want->ways[k].fits_jar) {
            return k;
        }
    }
    return 0;
}

/* The first way of each want; one cohort a group, or each want by itself. */
static void begin(const fl_build_input *input, bool is_joined, choice *c)
{
    *c = (choice){0};
    for (size_t w = 0; w < input->n_wants; w++) {
        const fl_build_want *want = &input->wants[w];
        c->way[w] = first_fitting(input, want);
        c->label[w] = (int)w;
        for (size_t v = 0; is_joined && v < w; v++) {
            if (input->wants[v].ways[c->way[v]].group == want->ways[c->way[w]].group) {
                c->label[w] = c->label[v];
                break;
            }
        }
    }
}

/* Keeps `tried` when it is better. */
static bool keep_better(const fl_build_input *input, const choice *tried, choice *best,
                        outcome *best_outcome)
{
    fill fills[WANTS_MAX];
    outcome o;
    if (!fl_build_place(input, tried, fills, &o) || fl_build_compare(&o, best_outcome) >= 0) {
        return false;
    }
    *best = *tried;
    *best_outcome = o;
    return true;
}

/* A label that no want but `w` has. */
static int free_label(const fl_build_input *input, const choice *c, size_t w)
{
    bool is_used[WANTS_MAX] = {false};
    for (size_t v = 0; v < input->n_wants; v++) {
        is_used[c->label[v]] = is_used[c->label[v]] || v != w;
    }
    for (int k = 0; k < WANTS_MAX; k++) {
        if (!is_used[k]) {
            return k;
        }
    }
    return c->label[w]; /* never: there are as many labels as wants */
}

/* Want w by way k: alone, or in each cohort of that group. */
static bool try_want(const fl_build_input *input, size_t w, int k, choice *best, outcome *o)
{
    const choice from = *best;
    choice tried = from;
    bool is_better = false;
    tried.way[w] = k;
    tried.label[w] = free_label(input, &from, w);
    tried.turn[tried.label[w]] = 0;
    is_better = keep_better(input, &tried, best, o);
    for (size_t v = 0; v < input->n_wants; v++) {
        if (v != w && input->wants[v].ways[from.way[v]].group == input->wants[w].ways[k].group) {
            tried = from;
            tried.way[w] = k;
            tried.label[w] = from.label[v];
            is_better = keep_better(input, &tried, best, o) || is_better;
        }
    }
    return is_better;
}

/* Cohort a into cohort b, when they are of one group. */
static bool try_join(const fl_build_input *input, size_t a, size_t b, choice *best, outcome *o)
{
    choice tried = *best;
    const int from = tried.label[a];
    const int to = tried.label[b];
    if (from == to ||
        input->wants[a].ways[tried.way[a]].group != input->wants[b].ways[tried.way[b]].group) {
        return false;
    }
    for (size_t w = 0; w < input->n_wants; w++) {
        tried.label[w] = tried.label[w] == from ? to : tried.label[w];
    }
    return keep_better(input, &tried, best, o);
}

/* The two cohorts placed at turns j and k exchange their turns. */
static bool try_exchange(const fl_build_input *input, int j, int k, choice *best, outcome *o)
{
    fill fills[WANTS_MAX];
    outcome now;
    choice tried = *best;
    if (!fl_build_place(input, best, fills, &now) || k >= now.n_cohorts) {
        return false;
    }
    tried.turn[fills[j].label] += fills[k].due_day - fills[j].due_day;
    tried.turn[fills[k].label] += fills[j].due_day - fills[k].due_day;
    if (fills[j].due_day == fills[k].due_day) {
        tried.turn[fills[j].label] += 1;
    }
    return keep_better(input, &tried, best, o);
}

static void climb(const fl_build_input *input, choice *best, outcome *o)
{
    bool is_better = true;
    const int n = (int)input->n_wants;
    for (int round = 0; is_better && round < ROUNDS_MAX; round++) {
        is_better = false;
        for (int w = 0; w < n; w++) {
            for (int k = 0; k < input->wants[w].n_ways; k++) {
                is_better = try_want(input, (size_t)w, k, best, o) || is_better;
            }
        }
        for (int a = 0; a < n; a++) {
            for (int b = 0; b < n; b++) {
                is_better = try_join(input, (size_t)a, (size_t)b, best, o) || is_better;
            }
        }
        for (int a = 0; a < n; a++) {
            for (int b = a + 1; b < n; b++) {
                is_better = try_exchange(input, a, b, best, o) || is_better;
            }
        }
    }
}

/* The next of a fixed sequence of numbers, below bound: the same wants give the same plan. A linear
 * congruential generator (Knuth's MMIX constants), its upper bits. */
static size_t next(uint64_t *state, size_t bound)
{
    *state = *state * 6364136223846793005U + 1442695040888963407U;
    return (size_t)(*state >> 33) % bound;
}

/* Changes three wants at random: another way, another cohort of its group or one of its own. */
static void kick(const fl_build_input *input, uint64_t *state, choice *c)
{
    for (int k = 0; k < KICK; k++) {
        const size_t w = next(state, input->n_wants);
        const size_t v = next(state, input->n_wants);
        c->way[w] = (int)next(state, (size_t)input->wants[w].n_ways);
        const bool is_joined = v != w && input->wants[v].ways[c->way[v]].group ==
                                             input->wants[w].ways[c->way[w]].group;
        c->label[w] = is_joined ? c->label[v] : free_label(input, c, w);
    }
}

/* Climbs again from changed choices until none of KICKS_MAX in a row helped. */
static void climb_again(const fl_build_input *input, choice *best, outcome *o)
{
    uint64_t state = KICK_SEED;
    for (int n_failed = 0; n_failed < KICKS_MAX && input->n_wants > 1; n_failed++) {
        choice tried = *best;
        choice kept;
        outcome found = {.late_days = INT_MAX};
        kick(input, &state, &tried);
        if (keep_better(input, &tried, &kept, &found)) {
            climb(input, &kept, &found);
            if (fl_build_compare(&found, o) < 0) {
                *best = kept;
                *o = found;
                n_failed = -1;
            }
        }
    }
}

/* The latest day each may begin: from the last fill of each bin backwards. What is late already
 * begins at once. */
static void set_last_days(const fl_build_input *input, const fill *fills, int n, int *last_day)
{
    int next[FL_BUILD_BINS_MAX];
    for (size_t b = 0; b < input->n_bins; b++) {
        next[b] = INT_MAX;
    }
    for (int k = n - 1; k >= 0; k--) {
        const fill *f = &fills[k];
        const int by_next = next[f->bin] == INT_MAX ? INT_MAX : next[f->bin] - f->bin_days;
        int last = f->latest_day < by_next ? f->latest_day : by_next;
        last = last > f->start_day ? last : f->start_day;
        last_day[k] = last;
        next[f->bin] = last;
    }
}

/* The order of the fills by their first day. */
static void order_by_start(const fill *fills, int n, int *order)
{
    for (int k = 0; k < n; k++) {
        int j = k;
        while (j > 0 && fills[order[j - 1]].start_day > fills[k].start_day) {
            order[j] = order[j - 1];
            j--;
        }
        order[j] = k;
    }
}

static void write_plan(const fl_build_input *input, const choice *c, fl_build_plan *out)
{
    fill fills[WANTS_MAX];
    outcome o;
    int last_day[WANTS_MAX];
    int order[WANTS_MAX];
    int at[WANTS_MAX] = {0};
    (void)fl_build_place(input, c, fills, &o); /* it was placed before */
    set_last_days(input, fills, o.n_cohorts, last_day);
    order_by_start(fills, o.n_cohorts, order);
    *out = (fl_build_plan){.n_cohorts = (size_t)o.n_cohorts,
                           .late_days = o.late_days,
                           .late_sum = o.late_sum,
                           .bound = fl_build_bound(input),
                           .busy_days = o.busy_days};
    for (int k = 0; k < o.n_cohorts; k++) {
        const fill *f = &fills[order[k]];
        out->cohorts[k] = (fl_build_cohort){.group = f->group,
                                            .bin = f->bin,
                                            .first_day = f->start_day,
                                            .last_day = last_day[order[k]],
                                            .bin_days = f->bin_days,
                                            .n_wants = f->n_wants};
        at[f->label] = k;
    }
    for (size_t w = 0; w < input->n_wants; w++) {
        out->way[w] = c->way[w];
        out->cohort[w] = at[c->label[w]];
        out->ready_day[w] =
            out->cohorts[out->cohort[w]].first_day + input->wants[w].ways[c->way[w]].bin_days;
    }
}

fl_status fl_build_make(const fl_build_input *input, fl_build_plan *out, fl_err *err)
{
    choice best = {0};
    outcome best_outcome = {.late_days = INT_MAX};
    const fl_status status = check(input, err);
    if (status != FL_OK) {
        return status;
    }
    for (int start = 0; start < 2; start++) {
        choice c;
        outcome o = {.late_days = INT_MAX};
        choice kept = {0};
        begin(input, start == 0, &c);
        if (!keep_better(input, &c, &kept, &o)) {
            kept = c; /* a first way fits no bin: the climb finds another */
        }
        climb(input, &kept, &o);
        if (fl_build_compare(&o, &best_outcome) < 0) {
            best = kept;
            best_outcome = o;
        }
    }
    if (best_outcome.late_days != INT_MAX) {
        climb_again(input, &best, &best_outcome);
    } else {
        return fl_fail(err, FL_EDOMAIN, "%zu wants: no way of theirs fits the %zu bins together",
                       input->n_wants, input->n_bins);
    }
    write_plan(input, &best, out);
    return FL_OK;
}
