/* What a mother can give: how many cuttings or divisions at a time, and when again. From the
 * keeper's own record of the plant where it tells enough, else from how it grows (its row). */
#ifndef FL_APP_GIVING_H
#define FL_APP_GIVING_H

#include "app/room.h"

/* How a plant's growth gives, by the words of its row's growth form: common practice, no source. */
typedef struct fl_giving_kind {
    const char *word; /* "runs": many shoots; "branches": a few; "divides": crowns, slowly */
    const char *text;
    int spare;      /* of each plant, at a time */
    int again_days; /* until she has grown as much again */
} fl_giving_kind;

/* So many takings from plants of this kind before the keeper's own record is what counts. */
#define FL_GIVING_OWN_LEAST 4

typedef struct fl_giving {
    int spare;      /* of each mother plant, at a time; at least 1 */
    int again_days; /* from one taking to the next */
    bool is_own;    /* from the keeper's record */
    int n_takings;  /* of this plant, ever */
    const fl_giving_kind *kind;
    int next_day; /* days from today until she can give again; 0: now */
} fl_giving;

/* The kind of a growth form; "branches" when it is not known. */
const fl_giving_kind *fl_giving_kind_of(const fl_know_plant *row);

/* What this mother can give. The record counts when the plant (not only this mother) was cut at
 * least FL_GIVING_OWN_LEAST times, and one mother at least twice: `spare` is then the median of how
 * many each of her plants gave at a time, `again_days` the median of the days between. */
void fl_giving_of(const fl_room *room, const fl_lot *mother, fl_arena *arena, fl_giving *out);

#endif
