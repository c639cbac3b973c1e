/* Releases that were judged on a wrong temperature: a logger's readings, taken in later, show that
 * the lot stood colder than was told, so that what was in it came out later than was reckoned.
 * What was judged stays as it was judged; the chance of today is reckoned anew, and where it is
 * above the ceiling of the place, looks are proposed that are fit for an occupied one: by eye,
 * nothing set up, nothing poured, nothing unpotted. */
#ifndef FL_APP_RECHECK_H
#define FL_APP_RECHECK_H

#include "app/looks.h"

#define FL_RECHECK_DAYS 365 /* releases of the last year */
/* A mean that is colder than was told by this much is another temperature. */
#define FL_RECHECK_COLDER_C 0.5

typedef struct fl_recheck {
    const fl_lot *lot;
    const fl_event *release;
    const fl_ev_place_set *place; /* where it was released to, and still is */
    fl_id bin;                    /* where it stood before, colder than told */
    double colder_c;              /* by so much, over the hours that were measured */
    fl_use use;                   /* of the place: the one that is exceeded most */
    double sum_then;              /* the weighted sum that the frozen answer carries; NAN */
    double sum_now;
    double ceiling;
    const fl_threat *worst; /* the most of the sum */
    double worst_chance;
    bool is_occupied;   /* animals are in it */
    bool is_night_look; /* the worst shows after dark */
    int n_looks;        /* careful looks, a round each, that bring it under again; 0: not in half
                              a year of them */
    int64_t under_s;    /* after the last of them; FL_GATE_NEVER */
} fl_recheck;

/* Such releases that are above their ceiling today, the worst of each place, the farthest above
 * first; in the arena. */
fl_status fl_recheck_list(fl_chances *chances, const fl_room *room, fl_arena *arena,
                          fl_recheck **out, size_t *count, fl_err *err) FL_MUST_USE;

#endif
