/* What the keeper has named: sources, plants, places, bottles, as last defined. */
#ifndef FL_CORE_LEDGER_DEFS_H
#define FL_CORE_LEDGER_DEFS_H

#include "event/event.h"

/* One sorted set of the latest defining events. */
typedef struct fl_def_set {
    const fl_event **events; /* sorted by the defined id */
    size_t count;
} fl_def_set;

/* The latest live definition of each, as views into the events. Arrays are the caller's. */
typedef struct fl_defs {
    fl_def_set sources;
    fl_def_set plants;
    fl_def_set places;
    fl_def_set bottles;
} fl_defs;

/* Fills *out from live, sorted events. Each of the four arrays must have room for
 * fl_defs_bound pointers. */
size_t fl_defs_bound(const fl_event *events, size_t n_events);
void fl_defs_fold(const fl_event *events, size_t n_events, fl_defs *out);

/* By id; NULL when never defined. */
const fl_ev_source_set *fl_defs_source(const fl_defs *defs, fl_id id);
const fl_ev_plant_set *fl_defs_plant(const fl_defs *defs, fl_id id);
const fl_ev_place_set *fl_defs_place(const fl_defs *defs, fl_id id);
const fl_ev_bottle_opened *fl_defs_bottle(const fl_defs *defs, fl_id id);

#endif
