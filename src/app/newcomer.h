/* Lots that come home, told by a file instead of one by one: a row of a spreadsheet, a history
 * card. Here they become events; what they mean is the ledger's, as ever. */
#ifndef FL_APP_NEWCOMER_H
#define FL_APP_NEWCOMER_H

#include "app/room.h"

typedef struct fl_newcomer {
    fl_sv plant; /* the name */
    fl_sv taxon; /* botanical; may be empty */
    int64_t count;
    fl_form form;
    fl_use use;
    fl_id source, place;
    int64_t at_s;
    fl_precision precision;
    fl_sv label_active; /* may be empty */
    bool is_label_clean;
    double cost; /* NAN: not told */
    fl_sv note;
} fl_newcomer;

/* Events of one batch. */
typedef struct fl_newcomer_batch {
    const fl_room *room;
    fl_arena *arena;
    fl_id key;        /* all ids of the batch derive from it */
    fl_sv device;     /* of every event: by it the batch is found again */
    fl_event *events; /* grows in the arena */
    size_t n, capacity;
    size_t n_lots;
} fl_newcomer_batch;

/* A new event at the end; the caller fills in the body. Its id follows from the batch's key and
 * `name`, which no other event of the batch has: the same batch made again is the same events,
 * also when the room has its plants by then. */
fl_event *fl_newcomer_event(fl_newcomer_batch *batch, fl_kind kind, int64_t at_s, fl_sv name);

/* The lot's events: its plant, when the room and the batch have none of that name yet, and its
 * arrival, which lots of one source, day and batch share. *lot is the new lot's id. */
void fl_newcomer_add(fl_newcomer_batch *batch, const fl_newcomer *newcomer, fl_id *lot);

/* "batch-XXXXXXXX" of a key, in the arena: the device of its events. */
fl_sv fl_newcomer_device(fl_id key, fl_arena *arena);

/* Voids every event of a batch that still counts, in one transaction; a plant stays when a lot of
 * another batch is of it. *n_voided may be 0 never: then FL_ENOTFOUND. */
fl_status fl_newcomer_undo(fl_app *app, const fl_room *room, fl_sv device, fl_sv why,
                           size_t *n_voided, fl_err *err) FL_MUST_USE;

#endif
