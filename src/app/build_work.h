/* Inside of the study of builds, for its own files. */
#ifndef FL_APP_BUILD_WORK_H
#define FL_APP_BUILD_WORK_H

#include "app/build.h"

/* How the prospects are asked. */
typedef struct fl_build_asking {
    const fl_room *room;
    fl_app *app;
    fl_arena *arena;
    double temp_c;           /* of the bins that would take them */
    bool is_culture_instead; /* ask for tissue culture from the same sources */
} fl_build_asking;

/* All ways of one item to come, asked of the gate for the build's uses. */
typedef struct fl_build_asked {
    const fl_build *build;
    const fl_build_item *item;
    fl_build_prospect *prospects; /* [n], the shortest first */
    size_t n;
} fl_build_asked;

/* Fills the prospects of every entry (build and item are set): cut from each mother of that plant,
 * bought from where it came before, else from every source there is. One room for all. */
fl_status fl_build_ask(const fl_build_asking *how, fl_build_asked *entries, size_t n_entries,
                       fl_err *err) FL_MUST_USE;

/* True when the lot is plants of that kind and not gone. */
bool fl_build_is_kind(const fl_room *room, const fl_lot *lot, const fl_build_item *item);

/* True when the lot is kept as a mother: its plant is one, or it was made stock. */
bool fl_build_is_mother(const fl_room *room, const fl_lot *lot);

/* Local days from today until the day of a moment. */
int fl_build_days_until(const fl_room *room, int64_t at_s);

/* When a lot could go. */
typedef struct fl_build_opening {
    int64_t at_s;              /* all conditions that time can meet together; FL_GATE_NEVER */
    fl_condition_kind binding; /* the last of them, or what never opens; COUNT when open now */
    double sum;                /* weighted, under the strictest of the uses, by then */
} fl_build_opening;

/* Asks the gate of that room for these uses. Steps are taken as done, and the release look as made
 * on the day: neither is waited for. */
fl_status fl_build_opens(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                         fl_arena *arena, fl_build_opening *out, fl_err *err) FL_MUST_USE;

#endif
