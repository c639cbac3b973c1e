/* Moving in: a collection that has been there for years, pasted as a list, becomes places, plants
 * and lots that were already here, all in one batch. No dates are asked and nothing is overdue.
 *
 * A line that ends in a colon is a place, and so is what stands before a colon; what follows are
 * its plants, on the same line with commas between or on lines of their own. A line with tabs is a
 * spreadsheet's: place, plant, count. "3 Pilea", "3x Pilea", "Pilea x3" and "Pilea (3)" are three
 * plants. Who lives in a place stands in brackets: "Brook (5 small frogs):". */
#ifndef FL_APP_MOVING_IN_H
#define FL_APP_MOVING_IN_H

#include "app/room.h"

#define FL_MOVING_IN_BYTES_MAX 65536
#define FL_MOVING_IN_LOTS_MAX 400
#define FL_MOVING_IN_PLACES_MAX 100

typedef struct fl_moving_place {
    fl_sv name;
    fl_id place;
    bool is_new; /* not in the room yet */
    fl_place_kind kind;
    unsigned uses;
    fl_sv animals; /* as written in brackets */
} fl_moving_place;

typedef struct fl_moving_lot {
    size_t line; /* from 1 */
    const fl_moving_place *place;
    fl_sv name;
    fl_id plant;
    bool is_new;              /* the plant is not in the room yet */
    const fl_know_plant *row; /* NULL: not in data/plants.csv */
    int64_t count;
} fl_moving_lot;

/* A line that could not be understood, with what would do. */
typedef struct fl_moving_trouble {
    size_t line;
    fl_sv text;
} fl_moving_trouble;

typedef struct fl_moving_in {
    fl_moving_place *places;
    size_t n_places;
    fl_moving_lot *lots;
    size_t n_lots;
    fl_moving_trouble *troubles;
    size_t n_troubles;
} fl_moving_in;

/* Reads the list against the room. New ids follow from `key` and the names, so that the same list
 * under the same key makes the same events. Never guesses: a line it cannot read is a trouble, and
 * the rest is read. FL_ETOOBIG when the text or the list is beyond the limits. */
fl_status fl_moving_in_read(const fl_room *room, fl_sv text, fl_id key, fl_arena *arena,
                            fl_moving_in *out, fl_err *err) FL_MUST_USE;

/* The events of it, places first: *events[*count] in the arena, at `at_s`. */
void fl_moving_in_events(const fl_moving_in *moving, fl_id key, int64_t at_s, fl_arena *arena,
                         fl_event **events, size_t *count);

#endif
