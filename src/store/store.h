/* The room file: one SQLite data base. The only SQL of the program; no rules.
 *
 * journal   canonical bytes of each event, in the order of recording; never changed
 * fact      one row a mention of an entity by an event (event/event.h), append-only
 * voiding   which event voids which
 * stay, fill, place_hold, conflict, lot_now   what the ledger says (live tables; verify rebuilds
 *           them)
 * memo      hash of a programme link -> filter state; may be dropped at any time
 * blob      photos and reading batches by sha256
 * setting   room-wide constants fixed at creation (zone offset, schema), and secrets of the server
 * One fl_store per thread. */
#ifndef FL_STORE_STORE_H
#define FL_STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/hash.h"
#include "event/event.h"
#include "event/meaning.h"

typedef struct fl_store fl_store;

/* ---- life ---- */

/* Opens DIR/room.sqlite. When the file is missing and may_create, makes the folder (0700) and the
 * file. Applies pending migrations, each in a transaction, after a backup file of the old one.
 * FL_ENOTFOUND (no room here: names the folder and `fernlock --room DIR …`), FL_EBUSY,
 * FL_ECORRUPT, FL_EIO. */
fl_status fl_store_open(const char *dir, bool may_create, fl_store **out, fl_err *err) FL_MUST_USE;
/* A read-only second connection for another thread. */
fl_status fl_store_open_reader(const char *dir, fl_store **out, fl_err *err) FL_MUST_USE;
void fl_store_close(fl_store *store); /* NULL is fine */

fl_status fl_store_begin(fl_store *store, fl_err *err) FL_MUST_USE; /* BEGIN IMMEDIATE */
fl_status fl_store_commit(fl_store *store, fl_err *err) FL_MUST_USE;
void fl_store_rollback(fl_store *store); /* harmless outside a transaction */
/* A read snapshot: all reads until fl_store_commit see one state. */
fl_status fl_store_begin_read(fl_store *store, fl_err *err) FL_MUST_USE;

/* ---- settings ---- */
/* FL_ENOTFOUND when there is none. */
fl_status fl_store_setting_get(fl_store *store, fl_sv name, fl_arena *arena, fl_sv *value,
                               fl_err *err) FL_MUST_USE;
fl_status fl_store_setting_put(fl_store *store, fl_sv name, fl_sv value, fl_err *err) FL_MUST_USE;

/* ---- journal ---- */

typedef struct fl_journal_row {
    int64_t position; /* 1, 2, 3 … in the order of recording */
    fl_id id;
    fl_sv bytes; /* canonical JSON */
    int64_t recorded_s;
} fl_journal_row;

/* What the journal holds under this id: FL_ENOTFOUND, or its bytes. */
fl_status fl_store_journal_get(fl_store *store, fl_id id, fl_arena *arena, fl_sv *bytes,
                               fl_err *err) FL_MUST_USE;

/* Appends the event and its facts (and the voiding, for event_voided). Inside a transaction.
 * Asserts that the id is new. */
fl_status fl_store_journal_append(fl_store *store, const fl_event *event, fl_sv canonical,
                                  const fl_fact *facts, size_t n_facts, int64_t recorded_s,
                                  fl_err *err) FL_MUST_USE;

/* Rows with position > after, at most `limit`, in order, into the arena. */
fl_status fl_store_journal_read(fl_store *store, int64_t after, size_t limit, fl_arena *arena,
                                fl_journal_row **rows, size_t *count, fl_err *err) FL_MUST_USE;
fl_status fl_store_journal_last(fl_store *store, int64_t *position, fl_err *err) FL_MUST_USE;

/* True when an entity was defined by an event (voided or not). */
fl_status fl_store_entity_exists(fl_store *store, fl_entity entity, fl_id id, bool *exists,
                                 fl_err *err) FL_MUST_USE;
/* Ids of all entities of a kind, in the order they were first recorded. */
fl_status fl_store_entities(fl_store *store, fl_entity entity, fl_arena *arena, fl_id **ids,
                            size_t *count, fl_err *err) FL_MUST_USE;
/* The canonical bytes of all events that mention one of the ids (each once), in the order of
 * occurrence, and all (event, voider) pairs are read with fl_store_voidings. */
fl_status fl_store_events_of(fl_store *store, const fl_id *ids, size_t n_ids, fl_arena *arena,
                             fl_journal_row **rows, size_t *count, fl_err *err) FL_MUST_USE;

typedef struct fl_voiding {
    fl_id event;
    fl_id by;
} fl_voiding;
fl_status fl_store_voidings(fl_store *store, fl_arena *arena, fl_voiding **rows, size_t *count,
                            fl_err *err) FL_MUST_USE;

/* ---- what the ledger says: the live tables ---- */

/* Replaces all rows of these lots (lot, stays, their conflicts), these places (fills, holds, their
 * findings and conflicts) by those rows of `meaning` that belong to them. A conflict belongs to its
 * lot, or to its place when it has no lot. Inside a transaction. */
fl_status fl_store_meaning_replace(fl_store *store, const fl_id *lots, size_t n_lots,
                                   const fl_id *places, size_t n_places, const fl_meaning *meaning,
                                   fl_err *err) FL_MUST_USE;
/* All live rows, sorted as fl_meaning demands, in the arena. */
fl_status fl_store_meaning_read(fl_store *store, fl_arena *arena, fl_meaning *out,
                                fl_err *err) FL_MUST_USE;
/* The lots that ever stayed in one of these places, by the live tables. */
fl_status fl_store_lots_of_places(fl_store *store, const fl_id *places, size_t n_places,
                                  fl_arena *arena, fl_id **lots, size_t *count,
                                  fl_err *err) FL_MUST_USE;

/* ---- memo ---- */
/* FL_ENOTFOUND when the link is not known. */
fl_status fl_store_memo_get(fl_store *store, fl_hash link, fl_arena *arena, fl_sv *state,
                            fl_err *err) FL_MUST_USE;
/* Outside or inside a transaction; replaces nothing. */
fl_status fl_store_memo_put(fl_store *store, fl_hash link, fl_sv state, fl_err *err) FL_MUST_USE;
fl_status fl_store_memo_clear(fl_store *store, fl_err *err) FL_MUST_USE;

/* ---- blobs ---- */
fl_status fl_store_blob_put(fl_store *store, fl_hash hash, fl_sv bytes, fl_err *err) FL_MUST_USE;
fl_status fl_store_blob_get(fl_store *store, fl_hash hash, fl_arena *arena, fl_sv *bytes,
                            fl_err *err) FL_MUST_USE;

/* PRAGMA integrity_check and foreign_key_check; FL_ECORRUPT with the first line of the report. */
fl_status fl_store_check(fl_store *store, fl_err *err) FL_MUST_USE;
/* An online copy into a new file (must not exist). */
fl_status fl_store_backup(fl_store *store, const char *file, fl_err *err) FL_MUST_USE;

#endif
