/* What no plan can beat. Two bounds on how late the latest want is: each want by its own quickest
 * way in the first bin that is free; and, for every due day, the days of bin that the groups cannot
 * do without until then against the days that all bins have until then. */
#include <limits.h>

#include "core/builds/inner.h"

static int own_late(const fl_build_input *input, const fl_build_want *want)
{
    int least = INT_MAX;
    for (int k = 0; k < want->n_ways; k++) {
        const fl_build_way *way = &want->ways[k];
        for (size_t b = 0; b < input->n_bins; b++) {
            if (input->bins[b].is_jar && !way->fits_jar) {
                continue;
            }
            const int free_day = input->bins[b].free_day;
            const int start = free_day > way->first_day ? free_day : way->first_day;
            const int late = start + way->bin_days - want->need_day;
            least = late < least ? late : least;
        }
    }
    return least;
}

/* The group that every way of the want is of, and its shortest days; -1 when they differ. */
static int only_group(const fl_build_want *want, int *days)
{
    *days = want->ways[0].bin_days;
    for (int k = 1; k < want->n_ways; k++) {
        if (want->ways[k].group != want->ways[0].group) {
            return -1;
        }
        *days = want->ways[k].bin_days < *days ? want->ways[k].bin_days : *days;
    }
    return want->ways[0].group;
}

/* Days of bin that the wants needed by `day` take at least: of each group its longest. */
static int work_by(const fl_build_input *input, int day)
{
    int group[WANTS_MAX];
    int longest[WANTS_MAX];
    int n = 0;
    int work = 0;
    for (size_t w = 0; w < input->n_wants; w++) {
        int days = 0;
        const int g = only_group(&input->wants[w], &days);
        int k = 0;
        if (g < 0 || input->wants[w].need_day > day) {
            continue;
        }
        while (k < n && group[k] != g) {
            k++;
        }
        if (k == n) {
            group[n] = g;
            longest[n++] = 0;
        }
        if (days > longest[k]) {
            work += days - longest[k];
            longest[k] = days;
        }
    }
    return work;
}

static int work_late(const fl_build_input *input, int day)
{
    const int work = work_by(input, day);
    int last = 0; /* by then every bin is free and the work can be done in one: enough */
    for (size_t b = 0; b < input->n_bins; b++) {
        last = input->bins[b].free_day > last ? input->bins[b].free_day : last;
    }
    int low = -1;
    int high = last + work - day > 0 ? last + work - day : 0;
    while (high - low > 1) {
        const int middle = low + (high - low) / 2;
        long room = 0;
        for (size_t b = 0; b < input->n_bins; b++) {
            const int days = day + middle - input->bins[b].free_day;
            room += days > 0 ? days : 0;
        }
        if (room >= work) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return high;
}

int fl_build_bound(const fl_build_input *input)
{
    int bound = 0;
    for (size_t w = 0; w < input->n_wants; w++) {
        const int own = own_late(input, &input->wants[w]);
        const int work = work_late(input, input->wants[w].need_day);
        bound = own > bound ? own : bound;
        bound = work > bound ? work : bound;
    }
    return bound;
}
