/* Trims as upkeep: what grows by runs or branches is cut back now and then, before it covers all
 * about it. How often follows from how the plant grows (its row), or from the keeper's own record.
 * What is not done is asked for two weeks, then when its turn comes again. Nothing is stored: the
 * days follow from the record; a trim, or a cutting taken, begins the wait anew. What is cut off is
 * bagged: what is on it travels with it. */
#ifndef FL_APP_TRIMS_H
#define FL_APP_TRIMS_H

#include "app/room.h"

/* For so long a trim is asked for; then it waits for its next turn: nobody is nagged. */
#define FL_TRIMS_ASK_DAYS 14

/* So many trims of a plant before the keeper's own pace counts. */
#define FL_TRIMS_OWN_LEAST 4

typedef struct fl_trim {
    const fl_lot *lot;
    fl_id place;
    int64_t last_s; /* the last trim or cutting; INT64_MIN: none is recorded */
    int64_t due_s;  /* local noon of a round day; may be past */
    int every_days;
    bool is_own; /* from the keeper's own trims of this plant */
} fl_trim;

/* The trims of all established lots that grow by runs or branches, by due_s, then place and lot; an
 * array in the arena. What was never trimmed is spread over its first wait by its id, so that a
 * collection that has just moved in never asks for all at once. */
size_t fl_trims_list(const fl_room *room, fl_arena *arena, const fl_trim **out);

/* The lots of a place that are due by the end of the day of now, from such a list; in the arena. */
size_t fl_trims_due_in(const fl_room *room, fl_id place, fl_arena *arena, fl_id **out);

#endif
