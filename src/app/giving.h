/* What a mother can give: how many cuttings or divisions at a time, and when again. From the
 * keeper's own record of the plant where it tells enough, else from how it grows (its row). */
#ifndef FL_APP_GIVING_H
#define FL_APP_GIVING_H

#include "app/room.h"
#include "core/know/growth.h"

/* So many takings from plants of this kind before the keeper's own record is what counts. */
#define FL_GIVING_OWN_LEAST 4

typedef struct fl_giving {
    int spare;      /* of each mother plant, at a time; at least 1 */
    int again_days; /* from one taking to the next */
    bool is_own;    /* from the keeper's record */
    int n_takings;  /* of this plant, ever */
    const fl_growth *growth;
    int next_day; /* days from today until she can give again; 0: now */
} fl_giving;

/* What this mother can give. The record counts when the plant (not only this mother) was cut at
 * least FL_GIVING_OWN_LEAST times, and one mother at least twice: `spare` is then the median of how
 * many each of her plants gave at a time, `again_days` the median of the days between. */
void fl_giving_of(const fl_room *room, const fl_lot *mother, fl_arena *arena, fl_giving *out);

/* The median of n >= 1 values, which are sorted; of two middles the smaller: nobody is asked for
 * more than the record tells. */
int fl_giving_median(int *values, size_t n);

#endif
