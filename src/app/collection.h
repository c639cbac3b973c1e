/* The collection by plant: what there is of it, what it is quiet enough for, which are mothers, how
 * their cuttings have done, and whether a mother stands in one place only. */
#ifndef FL_APP_COLLECTION_H
#define FL_APP_COLLECTION_H

#include "app/gate.h"
#include "app/giving.h"
#include "app/room.h"
#include "app/today.h"

typedef struct fl_collection_lot {
    const fl_lot *lot;
    bool is_mother;
    fl_phase phase;
    unsigned quiet_for;  /* mask of uses that its gate would open for, after a look that finds
                           nothing; 0 for what grows in an enclosure with nothing to ask */
    fl_giving giving;    /* of a mother: what she can give, and when again */
    double chance_stock; /* of a mother: weighted sum under the strictest use */
    bool must_look;      /* of a mother: her chance has crept above the ceiling of stock */
} fl_collection_lot;

typedef struct fl_collection_plant {
    fl_id plant; /* none for lots without one: they stand under their own name */
    fl_sv name;
    const fl_know_plant *row; /* NULL: not in data/plants.csv */
    fl_collection_lot *lots;  /* mothers first, then by place */
    size_t n_lots;
    int64_t count; /* plants of it that are here */
    size_t n_mothers;
    size_t n_mother_places; /* 1 with a mother: no back-up */
    bool has_backup;        /* of n_mothers > 0: they stand in two places at least */
    int64_t n_cut, n_lost;  /* cuttings ever taken of it, and those of them that were lost */
    bool is_asked;          /* the gate was: quiet_for, chance_stock and must_look hold */
} fl_collection_plant;

typedef struct fl_collection {
    fl_collection_plant *plants; /* by name */
    size_t n_plants;
} fl_collection;

/* Everything that is here, plants only (no material), without asking the gate. Arrays in the
 * arena. */
void fl_collection_list(const fl_room *room, fl_arena *arena, fl_collection *out);

/* Asks the gate for each lot of a plant that is not in an enclosure. */
fl_status fl_collection_ask(const fl_room *room, fl_chances *chances, fl_arena *arena,
                            fl_collection_plant *plant, fl_err *err) FL_MUST_USE;

/* Both, for every plant. */
fl_status fl_collection_make(const fl_room *room, fl_chances *chances, fl_arena *arena,
                             fl_collection *out, fl_err *err) FL_MUST_USE;

/* The share of cuttings that lived, with its range (Wilson's interval at 95 %: Wilson 1927, J Am
 * Stat Assoc 22:209). n_cut > 0, 0 <= n_lost <= n_cut. */
void fl_collection_success(int64_t n_cut, int64_t n_lost, double *share, double *low, double *high);

#endif
