/* A keeper for tests: a room in a temporary folder, a clock that is moved by hand, and one line for
 * each thing a keeper does. Everything goes the ordinary way in, as events. */
#ifndef FL_TESTS_SUPPORT_KEEPER_H
#define FL_TESTS_SUPPORT_KEEPER_H

#include "app/chance.h"
#include "app/gate.h"
#include "support/check.h"

typedef struct fl_keeper {
    char dir[FL_TEMP_PATH_MAX];
    fl_app app;
    int64_t now_s;
    uint64_t next_id; /* the next id that is handed out */
    fl_room room;     /* loaded by fl_keeper_ask */
    fl_chances *chances;
    fl_err err;
} fl_keeper;

/* The first day of every test, 2026-03-02T12:00:00Z, a Monday. */
#define FL_KEEPER_START_S 1772452800

void fl_keeper_init(fl_keeper *k);
void fl_keeper_done(fl_keeper *k);

/* Moves the clock to noon of day `day` (0 is the first) plus `hour` hours. */
void fl_keeper_day(fl_keeper *k, int day, int hour);

/* Records one event at the clock's time, with a new id; fails the test when it is refused. */
void fl_keeper_record(fl_keeper *k, fl_event *event);

fl_id fl_keeper_id(fl_keeper *k);
fl_id fl_keeper_source(fl_keeper *k, const char *name, fl_source_kind kind, bool has_animals);
fl_id fl_keeper_place(fl_keeper *k, const char *name, fl_place_kind kind, unsigned uses,
                      double temp_c);
/* A potted lot for a use, of an arrival from a source. */
fl_id fl_keeper_arrive(fl_keeper *k, fl_id source, fl_id arrival, fl_id place, fl_form form,
                       fl_use use, int count);
fl_id fl_keeper_already_here(fl_keeper *k, fl_id place, int count);
fl_id fl_keeper_cut(fl_keeper *k, fl_id mother, fl_id place, int count);
void fl_keeper_move(fl_keeper *k, fl_id lot, fl_id to);
void fl_keeper_step(fl_keeper *k, const fl_id *lots, size_t n, fl_step step, fl_agent agent,
                    const char *tub);
/* The same with everything told: the step's lots are set here. */
void fl_keeper_step_as(fl_keeper *k, fl_id lot, fl_ev_step step);
fl_id fl_keeper_split(fl_keeper *k, fl_id lot, int count);
void fl_keeper_release(fl_keeper *k, fl_id lot, fl_id to);
/* Tells a place anew: who lives there. */
void fl_keeper_animals(fl_keeper *k, fl_id place, const char *name, unsigned uses,
                       bool has_animals);
void fl_keeper_clean(fl_keeper *k, fl_id place);
/* A look at the whole place; threat NULL: nothing found. Returns the finding's id. */
fl_id fl_keeper_look(fl_keeper *k, fl_id place, fl_effort effort, unsigned devices,
                     const char *threat, fl_id lot);

/* Loads the room and computes its chances as of the clock. */
void fl_keeper_ask(fl_keeper *k);
const fl_lot *fl_keeper_lot(fl_keeper *k, fl_id lot);
/* Of one threat on one lot, after fl_keeper_ask. */
fl_lot_chance fl_keeper_chance(fl_keeper *k, fl_id lot, const char *threat);
/* The gate for a mask of uses (0: the lot's own), after fl_keeper_ask; one of its conditions. */
fl_gate_report fl_keeper_gate(fl_keeper *k, fl_id lot, unsigned uses);
fl_condition fl_keeper_condition(fl_keeper *k, fl_id lot, unsigned uses, fl_condition_kind kind);
/* Fails the test unless the room verifies. */
void fl_keeper_verify(fl_keeper *k);

#endif
