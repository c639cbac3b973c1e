/* The room file: one SQLite data base. The only SQL of the program; no rules.
 *
 * journal   canonical bytes of each event, in the order of recording; never changed
 * fact      one row a mention of an entity by an event (event/event.h), append-only
 * voiding   which event voids which
 * stay, fill, place_hold, conflict, lot_now   what the ledger says (live tables; verify rebuilds
 * them) memo      hash of a programme link -> filter state; may be dropped at any time blob photos
 * and reading batches by sha256 setting   room-wide constants fixed at creation (zone offset,
 * schema), and secrets of the server One fl_store per thread. */
#ifndef FL_STORE_STORE_H
#define FL_STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/hash.h"
#include "base/progress.h"
#include "event/event.h"
#include "event/meaning.h"

typedef struct fl_store fl_store;

/* ---- life ---- */

/* Opens DIR/room.sqlite. When the file is missing and may_create, makes the folder (0700) and the
 * file (0600; it appears whole or not at all). Applies pending migrations, each in a transaction,
 * after a copy of the old file to "room.sqlite.before-NNN".
 * FL_ENOTFOUND (no room here: names the folder and `fernlock --room DIR …`), FL_EINVAL (written
 * by a newer fernlock), FL_EFORMAT (another program's data base), FL_EBUSY, FL_ECORRUPT (damaged:
 * names the way back), FL_EIO. */
fl_status fl_store_open(const char *dir, bool may_create, fl_store **out, fl_err *err) FL_MUST_USE;
/* The same, making the file when it is missing; a room that is made has this setting from the
 * moment it appears. */
fl_status fl_store_open_new(const char *dir, fl_sv name, fl_sv value, fl_store **out,
                            fl_err *err) FL_MUST_USE;
/* A read-only second connection for another thread; the room must have been opened for writing by
 * this version once. Writing through it gives FL_EFORBIDDEN. */
fl_status fl_store_open_reader(const char *dir, fl_store **out, fl_err *err) FL_MUST_USE;
void fl_store_close(fl_store *store); /* NULL is fine; rolls back what was not committed */
/* How long a write waits for another process before FL_EBUSY; 5000 ms after opening. */
void fl_store_set_busy_ms(fl_store *store, int busy_ms);
/* Whom long work of this store (fl_store_check, fl_store_backup) tells how far it is: FL_ECANCELLED
 * when it says stop. It must live until it is taken away again; NULL: nobody. */
void fl_store_watch(fl_store *store, const fl_progress *progress);
/* Path of the room file, as long as the store is open. */
const char *fl_store_file(const fl_store *store);

/* BEGIN IMMEDIATE. FL_EBUSY: another process writes. FL_EINVAL: a transaction is open already. */
fl_status fl_store_begin(fl_store *store, fl_err *err) FL_MUST_USE;
/* Once it gives FL_OK, all of it is on the disk. On an error everything is rolled back. FL_EINVAL:
 * there is no transaction, perhaps because the disk failed and SQLite rolled back by itself. */
fl_status fl_store_commit(fl_store *store, fl_err *err) FL_MUST_USE;
void fl_store_rollback(fl_store *store); /* harmless outside a transaction; NULL is fine */
/* A read snapshot: all reads until fl_store_commit see one state. */
fl_status fl_store_begin_read(fl_store *store, fl_err *err) FL_MUST_USE;

/* ---- settings ---- */
/* FL_ENOTFOUND when there is none. */
fl_status fl_store_setting_get(fl_store *store, fl_sv name, fl_arena *arena, fl_sv *value,
                               fl_err *err) FL_MUST_USE;
/* Sets or replaces; inside or outside a transaction. FL_EINVAL: the name has not 1 to 200 bytes. */
fl_status fl_store_setting_put(fl_store *store, fl_sv name, fl_sv value, fl_err *err) FL_MUST_USE;

/* ---- journal ---- */

typedef struct fl_journal_row {
    int64_t position; /* 1, 2, 3 … in the order of recording */
    fl_id id;
    fl_sv bytes; /* canonical JSON */
    int64_t recorded_s;
} fl_journal_row;

/* Every row that is read is checked against the hash stored with it: FL_ECORRUPT when it differs.
 * Lists are NULL when they are empty. */

/* What the journal holds under this id: FL_ENOTFOUND, or its bytes. */
fl_status fl_store_journal_get(fl_store *store, fl_id id, fl_arena *arena, fl_sv *bytes,
                               fl_err *err) FL_MUST_USE;

/* Appends the event and its facts (and the voiding, for event_voided), all or nothing: after an
 * error the transaction is as before the call. Inside a transaction.
 * FL_ECONFLICT: the id is recorded already (app looks first, and compares the bytes). FL_ETOOBIG:
 * more than FL_EVENT_BYTES_MAX. FL_EINVAL: no id, no bytes, a fact without id or twice, no
 * transaction. */
fl_status fl_store_journal_append(fl_store *store, const fl_event *event, fl_sv canonical,
                                  const fl_fact *facts, size_t n_facts, int64_t recorded_s,
                                  fl_err *err) FL_MUST_USE;

/* Rows with position > after, at most `limit`, in order, into the arena. */
fl_status fl_store_journal_read(fl_store *store, int64_t after, size_t limit, fl_arena *arena,
                                fl_journal_row **rows, size_t *count, fl_err *err) FL_MUST_USE;
fl_status fl_store_journal_last(fl_store *store, int64_t *position, fl_err *err) FL_MUST_USE;

/* How many events of a kind hold this text in their bytes, voided or not: a walk over all of the
 * kind, for what no fact tells. */
fl_status fl_store_journal_count(fl_store *store, fl_sv kind, fl_sv text, int64_t *count,
                                 fl_err *err) FL_MUST_USE;

/* The facts of one event as they stand in the file: definitions first, then by word and id. Empty
 * for an unknown event. */
fl_status fl_store_facts_of(fl_store *store, fl_id event, fl_arena *arena, fl_fact **facts,
                            size_t *count, fl_err *err) FL_MUST_USE;

/* True when an entity was defined by an event (voided or not); FL_ENTITY_EVENT: is in the journal.
 */
fl_status fl_store_entity_exists(fl_store *store, fl_entity entity, fl_id id, bool *exists,
                                 fl_err *err) FL_MUST_USE;
/* Ids of all entities of a kind that an event defined, in the order they were first recorded;
 * FL_ENTITY_EVENT: all events, by position. */
fl_status fl_store_entities(fl_store *store, fl_entity entity, fl_arena *arena, fl_id **ids,
                            size_t *count, fl_err *err) FL_MUST_USE;
/* All events that mention one of the ids (each once), voided or not, in the canonical order of
 * occurrence. Ids may repeat. Which of them are voided is read with fl_store_voidings. */
fl_status fl_store_events_of(fl_store *store, const fl_id *ids, size_t n_ids, fl_arena *arena,
                             fl_journal_row **rows, size_t *count, fl_err *err) FL_MUST_USE;

typedef struct fl_voiding {
    fl_id event;
    fl_id by;
} fl_voiding;
/* In the order of recording. */
fl_status fl_store_voidings(fl_store *store, fl_arena *arena, fl_voiding **rows, size_t *count,
                            fl_err *err) FL_MUST_USE;

/* ---- what the ledger says: the live tables ---- */

/* Replaces all rows of these lots (lot, stays, their conflicts), these places (fills, holds, their
 * findings and conflicts) by those rows of `meaning` that belong to them. A conflict belongs to its
 * lot, or to its place when it has no lot; the none id among `places` stands for rows without a
 * place. Rows of equal rank keep the order of `meaning`. Inside a transaction; after an error the
 * caller rolls back. */
fl_status fl_store_meaning_replace(fl_store *store, const fl_id *lots, size_t n_lots,
                                   const fl_id *places, size_t n_places, const fl_meaning *meaning,
                                   fl_err *err) FL_MUST_USE;
/* Replaces all of it: after a migration, or when verify found a difference. Inside a
 * transaction. */
fl_status fl_store_meaning_replace_all(fl_store *store, const fl_meaning *meaning,
                                       fl_err *err) FL_MUST_USE;
/* All live rows of one moment, sorted as fl_meaning demands (equal conflicts then by lot and
 * place), in the arena. FL_ECORRUPT: a word that no fernlock wrote. */
fl_status fl_store_meaning_read(fl_store *store, fl_arena *arena, fl_meaning *out,
                                fl_err *err) FL_MUST_USE;
/* The lots that ever stayed in one of these places, by the live tables, by id. */
fl_status fl_store_lots_of_places(fl_store *store, const fl_id *places, size_t n_places,
                                  fl_arena *arena, fl_id **lots, size_t *count,
                                  fl_err *err) FL_MUST_USE;

/* ---- memo ---- */

/* FL_ENOTFOUND when the link is not known, or its state is damaged. */
fl_status fl_store_memo_get(fl_store *store, fl_hash link, fl_arena *arena, fl_sv *state,
                            fl_err *err) FL_MUST_USE;
/* Keeps a state; one that is there stays. Outside a transaction it makes a short one of its own
 * that waits neither for the disk nor, beyond a moment, for another writer: FL_EBUSY (and
 * FL_EFORBIDDEN, from a reader) may be ignored. */
fl_status fl_store_memo_put(fl_store *store, fl_hash link, fl_sv state, fl_err *err) FL_MUST_USE;

typedef struct fl_memo {
    fl_hash link;
    fl_sv state;
} fl_memo;
/* The same for many at once, in one such transaction: all of them or none. */
fl_status fl_store_memo_put_all(fl_store *store, const fl_memo *memos, size_t count,
                                fl_err *err) FL_MUST_USE;
fl_status fl_store_memo_clear(fl_store *store, fl_err *err) FL_MUST_USE;
/* How many states are kept, and their bytes: app clears when it is too much. */
fl_status fl_store_memo_size(fl_store *store, int64_t *links, int64_t *bytes,
                             fl_err *err) FL_MUST_USE;

/* ---- blobs ---- */

#define FL_STORE_BLOB_BYTES_MAX 33554432 /* 32 MiB: a photo, or a year of logger readings */

/* Keeps the bytes, inside or outside a transaction; bytes that are there already are fine.
 * FL_EINVAL: `hash` is not their SHA-256. FL_ETOOBIG. */
fl_status fl_store_blob_put(fl_store *store, fl_hash hash, fl_sv bytes, fl_err *err) FL_MUST_USE;
/* FL_ENOTFOUND names the hash; FL_ECORRUPT: the bytes no longer have that hash. */
fl_status fl_store_blob_get(fl_store *store, fl_hash hash, fl_arena *arena, fl_sv *bytes,
                            fl_err *err) FL_MUST_USE;
fl_status fl_store_blob_exists(fl_store *store, fl_hash hash, bool *exists,
                               fl_err *err) FL_MUST_USE;
/* The hashes of all blobs, in the order they were put. */
fl_status fl_store_blobs(fl_store *store, fl_arena *arena, fl_hash **hashes, size_t *count,
                         fl_err *err) FL_MUST_USE;

/* How many there are, and the bytes of all of them. */
fl_status fl_store_blob_size(fl_store *store, int64_t *count, int64_t *bytes,
                             fl_err *err) FL_MUST_USE;

/* ---- checking and copies ---- */

/* The file as such: PRAGMA integrity_check and foreign_key_check, and no gap in the journal's
 * positions; FL_ECORRUPT with the first line of the report. Whether the bytes still have their
 * hashes shows when they are read. */
fl_status fl_store_check(fl_store *store, fl_err *err) FL_MUST_USE;
/* A copy of one moment into a new file (0600) while the room is in use: one file that appears whole
 * or not at all, with nothing beside it. FL_ECONFLICT: there is a file of that name;
 * FL_EINVAL: inside a writing transaction. */
fl_status fl_store_backup(fl_store *store, const char *file, fl_err *err) FL_MUST_USE;
/* Puts a backup (checked first) in the place of the room in `dir`, which nobody may have open. The
 * old room, if any, is kept as "room.sqlite.replaced-N": *kept is its path, empty when there was
 * none.
 * FL_ENOTFOUND: no such backup; FL_EFORMAT, FL_ECORRUPT, FL_EINVAL (written by a newer fernlock):
 * of the backup, and the room is as it was; FL_EBUSY: the room is in use; FL_EIO. */
fl_status fl_store_restore(const char *backup, const char *dir, fl_arena *arena, fl_sv *kept,
                           fl_err *err) FL_MUST_USE;

typedef struct fl_restoring {
    const char *backup;
    const char *dir;
    const fl_progress *progress; /* NULL: nobody waits */
} fl_restoring;
/* The same, watched: FL_ECANCELLED, and the room is as it was. */
fl_status fl_store_restore_watched(const fl_restoring *what, fl_arena *arena, fl_sv *kept,
                                   fl_err *err) FL_MUST_USE;

#endif
