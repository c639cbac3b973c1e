/* A room in a temporary folder, and small events to put into it, for tests of the store and of what
 * stands on it. */
#ifndef FL_TESTS_SUPPORT_ROOM_H
#define FL_TESTS_SUPPORT_ROOM_H

#include "base/arena.h"
#include "event/event.h"
#include "store/store.h"
#include "support/check.h"

typedef struct fl_test_room {
    char dir[FL_TEMP_PATH_MAX]; /* the folder is there; the room is made by opening it */
    char file[FL_TEMP_PATH_MAX + 16];
    fl_store *store; /* open for writing */
    fl_arena arena;
    fl_err err;
} fl_test_room;

/* Makes the folder and the room, and opens it. */
void fl_test_room_init(fl_test_room *room);
/* Closes and opens again; fails the test when that fails. */
void fl_test_room_reopen(fl_test_room *room);
/* Closes, and deletes the folder. */
void fl_test_room_done(fl_test_room *room);

/* The id whose last eight bytes are `number` (from 1). */
fl_id fl_test_id(uint64_t number);

/* One event with its canonical bytes (made up: the store does not read them) and its facts. */
typedef struct fl_test_event {
    fl_event event;
    fl_sv bytes;
    fl_fact facts[8];
    size_t n_facts;
} fl_test_event;

/* A lot of an arrival from a source: `lot` is defined, the place, source and arrival mentioned. */
fl_test_event fl_test_arrived(fl_arena *arena, uint64_t event, uint64_t lot, int64_t at_s);
/* The lot is moved to a place. */
fl_test_event fl_test_moved(fl_arena *arena, uint64_t event, const fl_id *lot, uint64_t place,
                            int64_t at_s);
/* An event is voided. */
fl_test_event fl_test_voided(fl_arena *arena, uint64_t event, uint64_t voided, int64_t at_s);

/* Appends inside the open transaction. */
fl_status fl_test_append(fl_store *store, const fl_test_event *event, fl_err *err) FL_MUST_USE;
/* Begins, appends and commits; fails the test when that fails. */
void fl_test_record(fl_test_room *room, const fl_test_event *event);

#endif
