/* Routine looks at what is established: bins of stock and planted enclosures are looked over every
 * two to three months (common practice, no source). Each place gets a round day of its own in that
 * span, so that they never bunch; nothing is stored: the days follow from the record. */
#ifndef FL_APP_ROUTINE_H
#define FL_APP_ROUTINE_H

#include "app/room.h"

/* No sooner and no later than this after the last look, or after it was first told of. */
#define FL_ROUTINE_LEAST_D 60
#define FL_ROUTINE_MOST_D 91

/* Something after which a place waits anew: it was established, or looked at. */
typedef struct fl_routine_base {
    size_t place; /* an index */
    int64_t at_s;
} fl_routine_base;

typedef struct fl_routine_query {
    const fl_id *places;
    size_t n_places;
    const fl_routine_base *bases; /* by at_s; each place has one at least */
    size_t n_bases;
    int round_weekday; /* 0 Monday to 6 Sunday */
    int tz_offset_min;
    int64_t now_s;
} fl_routine_query;

/* The day of each place.
 *   due_s  [n_places], local noon of a round day
 * Each base chooses, among the round days 60 to 91 days after it, one on which the fewest of the
 * other places are due; of those, the one farthest from any day that is taken; of those, by the
 * place's id. A day once chosen stands until the place itself is looked at. What was missed is
 * caught up with at the same pace: of the missed, each round takes so many as five rounds need for
 * all places, the longest missed first; the others wait for the next. Cost: bases x places. */
void fl_routine_spread(const fl_routine_query *query, int64_t *due_s);

/* One established place (a bin, jar, open spot or enclosure without a lot in quarantine). */
typedef struct fl_routine_look {
    fl_id place;
    int64_t from_s; /* the last look, or since when it is established and told of */
    int64_t due_s;
} fl_routine_look;

/* All of the room's, by due_s, then id; an array in the arena. */
size_t fl_routine_looks(const fl_room *room, fl_arena *arena, const fl_routine_look **out);

/* Established: released, already here, or in an enclosure. */
bool fl_routine_is_established(const fl_room *room, const fl_lot *lot);

/* How many lots stand in a place, of either sort. */
typedef struct fl_routine_count {
    size_t quarantine, established;
} fl_routine_count;
fl_routine_count fl_routine_count_in(const fl_room *room, fl_id place);

/* When the oldest lot that stands in the place came there, or when the place was first told of if
 * that is later: nothing is overdue from before that. FL_TIME_OPEN when none stands there. */
int64_t fl_routine_stands_since(const fl_room *room, fl_id place);

#endif
