/* One choice of ways and cohorts laid onto the bins: list scheduling. */
#include <limits.h>

#include "core/builds/inner.h"

int fl_build_compare(const outcome *a, const outcome *b)
{
    const int difference[] = {a->late_days - b->late_days, a->late_sum - b->late_sum,
                              a->cost - b->cost,           a->n_cohorts - b->n_cohorts,
                              a->busy_days - b->busy_days, a->preference - b->preference};
    for (size_t k = 0; k < sizeof difference / sizeof difference[0]; k++) {
        if (difference[k] != 0) {
            return difference[k];
        }
    }
    return 0;
}

static void add_want(fill *f, const fl_build_want *want, const fl_build_way *way)
{
    const int latest = want->need_day - way->bin_days;
    f->group = way->group;
    f->n_wants++;
    f->from_day = f->from_day > way->first_day ? f->from_day : way->first_day;
    f->bin_days = f->bin_days > way->bin_days ? f->bin_days : way->bin_days;
    f->latest_day = f->latest_day < latest ? f->latest_day : latest;
    f->fits_jar = f->n_wants == 1 && way->fits_jar;
}

/* The fills of a choice; how many. */
static int gather(const fl_build_input *input, const choice *c, fill *fills)
{
    int at[WANTS_MAX];
    int n = 0;
    for (int k = 0; k < WANTS_MAX; k++) {
        at[k] = -1;
    }
    for (size_t w = 0; w < input->n_wants; w++) {
        const int label = c->label[w];
        if (at[label] < 0) {
            at[label] = n;
            fills[n++] = (fill){.label = label, .latest_day = INT_MAX, .bin = -1};
        }
        add_want(&fills[at[label]], &input->wants[w], &input->wants[w].ways[c->way[w]]);
    }
    for (int k = 0; k < n; k++) {
        fills[k].due_day = fills[k].latest_day + fills[k].bin_days + c->turn[fills[k].label];
    }
    return n;
}

static void sort_by_due(fill *fills, int n)
{
    for (int k = 1; k < n; k++) {
        const fill moved = fills[k];
        int j = k;
        while (j > 0 &&
               (fills[j - 1].due_day > moved.due_day ||
                (fills[j - 1].due_day == moved.due_day && fills[j - 1].label > moved.label))) {
            fills[j] = fills[j - 1];
            j--;
        }
        fills[j] = moved;
    }
}

/* The bin in which it begins first; of equals a jar, then the one that was free the shortest, so
 * that bins which were empty for long stay for what comes earlier. -1: none. */
static int best_bin(const fl_build_input *input, const int *free_day, const fill *f)
{
    int best = -1;
    int best_start = 0;
    for (size_t b = 0; b < input->n_bins; b++) {
        if (input->bins[b].is_jar && !f->fits_jar) {
            continue;
        }
        const int start = free_day[b] > f->from_day ? free_day[b] : f->from_day;
        bool is_better = best < 0 || start < best_start;
        if (!is_better && start == best_start) {
            const bool is_jar = input->bins[b].is_jar;
            const bool was_jar = input->bins[best].is_jar;
            is_better = is_jar != was_jar ? is_jar : free_day[b] > free_day[best];
        }
        if (is_better) {
            best = (int)b;
            best_start = start;
        }
    }
    return best;
}

/* Adds what the wants of the placed fills come to. */
static void count_late(const fl_build_input *input, const choice *c, const int *start_of_label,
                       outcome *out)
{
    for (size_t w = 0; w < input->n_wants; w++) {
        const fl_build_way *way = &input->wants[w].ways[c->way[w]];
        const int late = start_of_label[c->label[w]] + way->bin_days - input->wants[w].need_day;
        if (late > 0) {
            out->late_sum += late;
            out->late_days = late > out->late_days ? late : out->late_days;
        }
        out->preference += c->way[w];
        out->cost += way->cost;
    }
}

bool fl_build_place(const fl_build_input *input, const choice *c, fill *fills, outcome *out)
{
    int free_day[FL_BUILD_BINS_MAX];
    int start_of_label[WANTS_MAX] = {0};
    const int n = gather(input, c, fills);
    sort_by_due(fills, n);
    *out = (outcome){.n_cohorts = n};
    for (size_t b = 0; b < input->n_bins; b++) {
        free_day[b] = input->bins[b].free_day;
    }
    for (int k = 0; k < n; k++) {
        fill *f = &fills[k];
        f->bin = best_bin(input, free_day, f);
        if (f->bin < 0) {
            return false;
        }
        f->start_day = free_day[f->bin] > f->from_day ? free_day[f->bin] : f->from_day;
        free_day[f->bin] = f->start_day + f->bin_days;
        start_of_label[f->label] = f->start_day;
        out->busy_days += f->bin_days;
    }
    count_late(input, c, start_of_label, out);
    return true;
}
