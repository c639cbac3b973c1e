/* Which plants suit an enclosure, or a build: those that stand there, those it is to get, or any
 * that are named. What the place is like is measured (a logger, a light meter), told, or not known;
 * core/climate/suits judges. Nothing is refused for it. */
#ifndef FL_APP_SUITS_H
#define FL_APP_SUITS_H

#include "app/build.h"
#include "app/climate.h"
#include "core/climate/suits.h"

typedef struct fl_suits_kind {
    fl_sv name;
    const fl_know_plant *row; /* NULL: not in data/plants.csv */
    fl_suits_plant more;
    const fl_lot *lot; /* that stands there; NULL: wanted, or asked about */
    bool is_thriving;  /* the keeper's own word, and it stands there */
    fl_suits_state state[FL_SUITS_ASPECTS];
    fl_suits_state whole;
} fl_suits_kind;

typedef struct fl_suits {
    const fl_ev_place_set *place; /* NULL: a build without an enclosure */
    unsigned uses;
    fl_suits_site site;
    fl_suits_kind *kinds; /* the order they were asked in; of a place by concern, then name */
    size_t n_kinds;
} fl_suits;

/* A place of any kind but outside.
 *   names[n_names]  plants, by the name of a plant of the room, a botanical or common name; with
 *                   none, all that stand there, one entry a plant
 * FL_EINVAL: outside. Everything in the arena. */
fl_status fl_suits_of_place(const fl_room *room, const fl_ev_place_set *place, const fl_sv *names,
                            size_t n_names, fl_arena *arena, fl_suits *out,
                            fl_err *err) FL_MUST_USE;

/* A build: its items, in their order, in its enclosure with the size of its plan. */
fl_status fl_suits_of_build(const fl_room *room, const fl_build *build, fl_arena *arena,
                            fl_suits *out, fl_err *err) FL_MUST_USE;

#endif
