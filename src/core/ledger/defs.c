/* The latest definition of each source, plant, place and bottle: four arrays of events that are
 * kept sorted by the defined id; a later definition takes the place of the earlier one. */
#include "core/ledger/defs.h"

#include <string.h>

static fl_id defined_id(const fl_event *event)
{
    switch ((int)event->kind) { /* only defining kinds come here */
    case FL_KIND_SOURCE_SET:
        return event->body.source_set.source;
    case FL_KIND_PLANT_SET:
        return event->body.plant_set.plant;
    case FL_KIND_PLACE_SET:
        return event->body.place_set.place;
    default:
        return event->body.bottle_opened.bottle;
    }
}

/* First index whose id is not below `id`. */
static size_t lower_bound(const fl_def_set *set, fl_id id)
{
    size_t low = 0;
    size_t high = set->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(defined_id(set->events[middle]), id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static void put(fl_def_set *set, const fl_event *event)
{
    size_t at = lower_bound(set, defined_id(event));
    if (at < set->count && fl_id_eq(defined_id(set->events[at]), defined_id(event))) {
        set->events[at] = event;
        return;
    }
    memmove(&set->events[at + 1], &set->events[at], (set->count - at) * sizeof set->events[0]);
    set->events[at] = event;
    set->count += 1;
}

static const fl_event *find(const fl_def_set *set, fl_id id)
{
    size_t at = lower_bound(set, id);
    return at < set->count && fl_id_eq(defined_id(set->events[at]), id) ? set->events[at] : NULL;
}

static fl_def_set *set_of(fl_defs *defs, fl_kind kind)
{
    switch ((int)kind) {
    case FL_KIND_SOURCE_SET:
        return &defs->sources;
    case FL_KIND_PLANT_SET:
        return &defs->plants;
    case FL_KIND_PLACE_SET:
        return &defs->places;
    case FL_KIND_BOTTLE_OPENED:
        return &defs->bottles;
    default:
        return NULL;
    }
}

size_t fl_defs_bound(const fl_event *events, size_t n_events)
{
    fl_defs none = {0};
    size_t count = 0;
    for (size_t i = 0; i < n_events; i++) {
        count += set_of(&none, events[i].kind) != NULL;
    }
    return count;
}

void fl_defs_fold(const fl_event *events, size_t n_events, fl_defs *out)
{
    out->sources.count = out->plants.count = out->places.count = out->bottles.count = 0;
    for (size_t i = 0; i < n_events; i++) {
        fl_def_set *set = set_of(out, events[i].kind);
        if (set != NULL) {
            put(set, &events[i]);
        }
    }
}

const fl_ev_source_set *fl_defs_source(const fl_defs *defs, fl_id id)
{
    const fl_event *event = find(&defs->sources, id);
    return event != NULL ? &event->body.source_set : NULL;
}

const fl_ev_plant_set *fl_defs_plant(const fl_defs *defs, fl_id id)
{
    const fl_event *event = find(&defs->plants, id);
    return event != NULL ? &event->body.plant_set : NULL;
}

const fl_ev_place_set *fl_defs_place(const fl_defs *defs, fl_id id)
{
    const fl_event *event = find(&defs->places, id);
    return event != NULL ? &event->body.place_set : NULL;
}

const fl_ev_bottle_opened *fl_defs_bottle(const fl_defs *defs, fl_id id)
{
    const fl_event *event = find(&defs->bottles, id);
    return event != NULL ? &event->body.bottle_opened : NULL;
}
