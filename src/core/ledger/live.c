/* Which events count: the ones that no counting event voids. */
#include "core/ledger/ledger.h"
#include "core/ledger/work.h"

#define NONE FL_LEDGER_NONE

typedef struct live_work {
    const fl_event *events;
    size_t n_events;
    bool *is_live;
    size_t *order;   /* indices by event id */
    size_t *waiting; /* how many voidings of an event are not decided yet; NONE: it is decided */
} live_work;

static int compare_indices(const void *a, const void *b, const void *context)
{
    const fl_event *events = context;
    size_t left = *(const size_t *)a;
    size_t right = *(const size_t *)b;
    int order = fl_id_compare(events[left].id, events[right].id);
    return order != 0 ? order : fl_ledger_compare_size(left, right);
}

static void sort_by_id(live_work *work)
{
    for (size_t i = 0; i < work->n_events; i++) {
        work->order[i] = i;
    }
    fl_ledger_sort(work->order, work->n_events, sizeof work->order[0], compare_indices,
                   work->events);
}

/* The event that events[i] voids, or NONE. */
static size_t target_of(const live_work *work, size_t i)
{
    if (work->events[i].kind != FL_KIND_EVENT_VOIDED) {
        return NONE;
    }
    fl_id id = work->events[i].body.event_voided.event;
    size_t low = 0;
    size_t high = work->n_events;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(work->events[work->order[middle]].id, id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool is_found = low < work->n_events && fl_id_eq(work->events[work->order[low]].id, id);
    return is_found ? work->order[low] : NONE;
}

/* events[i] is decided: passes that on to what it voids, and on, while that is then decided too. */
static void settle(live_work *work, size_t i)
{
    while (i != NONE && work->waiting[i] == 0) {
        size_t target = target_of(work, i);
        work->waiting[i] = NONE;
        if (target != NONE && work->waiting[target] != NONE) {
            work->is_live[target] = work->is_live[target] && !work->is_live[i];
            work->waiting[target]--;
        }
        i = target;
    }
}

void fl_ledger_mark_live(const fl_event *events, size_t n_events, bool *is_live, size_t *scratch)
{
    live_work work = {events, n_events, is_live, scratch, scratch + n_events};
    sort_by_id(&work);
    for (size_t i = 0; i < n_events; i++) {
        work.waiting[i] = 0;
        is_live[i] = true;
    }
    for (size_t i = 0; i < n_events; i++) {
        size_t target = target_of(&work, i);
        if (target != NONE) {
            work.waiting[target]++;
        }
    }
    for (size_t i = 0; i < n_events; i++) {
        settle(&work, i);
    }
    /* what still waits is in a circle of voidings: it counts, whoever voids it */
    for (size_t i = 0; i < n_events; i++) {
        if (work.waiting[i] != NONE) {
            is_live[i] = true;
        }
    }
}
