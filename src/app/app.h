/* The use cases, and the way in for every event. Start reading the application here.
 *
 * app owns transactions and the clock; it loads, lets core compute and decide, and saves. No SQL,
 * no JSON text of answers (src/view), no HTML. */
#ifndef FL_APP_APP_H
#define FL_APP_APP_H

#include "base/arena.h"
#include "base/clock.h"
#include "base/err.h"
#include "event/event.h"
#include "store/store.h"

typedef struct fl_app {
    fl_store *store;
    fl_clock clock;
    int tz_offset_min;           /* the room's, fixed when it was made */
    char *dir;                   /* owned: the room's folder */
    const fl_progress *progress; /* of fl_app_watch; NULL */
    int64_t blob_bytes_max;      /* FL_ROOM_BLOB_BYTES_MAX, unless a test says less */
} fl_app;

/* Opens the room in `dir`; makes it when may_create (then with tz_offset_min). */
fl_status fl_app_open(const char *dir, bool may_create, int tz_offset_min, fl_clock clock,
                      fl_app *out, fl_err *err) FL_MUST_USE;
/* A second, read-only app on the same room, for another thread. */
fl_status fl_app_open_reader(const char *dir, fl_clock clock, fl_app *out, fl_err *err) FL_MUST_USE;
void fl_app_close(fl_app *app);

/* For work that makes a room, and so has no app yet (restore, import). */
typedef struct fl_room_making {
    const char *dir;
    fl_clock clock;
    const fl_progress *progress; /* NULL: nobody waits */
} fl_room_making;

/* Whom long work of this app tells how far it is, from now on (base/progress.h): backup, verify,
 * export, readings, lots from a sheet, chances, labels. What is stopped ends with FL_ECANCELLED and
 * the room is as it was. `progress` must live until it is taken away again; NULL: nobody. */
void fl_app_watch(fl_app *app, const fl_progress *progress);

int64_t fl_app_now(const fl_app *app);

/* The position of the last event recorded, by whomever; 0 in an empty room. */
fl_status fl_app_position(fl_app *app, int64_t *position, fl_err *err) FL_MUST_USE;

/* What became of an event that was handed in. */
typedef enum fl_recorded {
    FL_RECORDED_NEW = 0,
    FL_RECORDED_ALREADY /* same id, same bytes: nothing was done */
} fl_recorded;

#define FL_PHOTOS_OF_ONE_MAX 200 /* of a lot, place, plant or finding */

/* Records one event given as JSON text, in a transaction of its own, and refolds the live tables
 * it touches. Refused (nothing is written): malformed, an unknown kind or threat, a reference to
 * nothing, more than FL_FUTURE_S_MAX ahead of the clock, another event under the same id
 * (FL_ECONFLICT), one photo more than FL_PHOTOS_OF_ONE_MAX of one thing (FL_ETOOBIG). Everything
 * else is kept, whatever it contradicts. */
fl_status fl_app_record(fl_app *app, fl_sv json, fl_recorded *what, fl_err *err) FL_MUST_USE;

/* The same for several texts in one transaction: all or none. results[n] may be NULL; on failure
 * *failed_at is the index of the text that was refused. */
fl_status fl_app_record_all(fl_app *app, const fl_sv *jsons, size_t n, fl_recorded *results,
                            size_t *failed_at, fl_err *err) FL_MUST_USE;

/* Records events made by the program (a command): all in one transaction. */
fl_status fl_app_record_events(fl_app *app, const fl_event *events, size_t n,
                               fl_err *err) FL_MUST_USE;

#define FL_ROOM_BLOB_BYTES_MAX ((int64_t)8 << 30) /* photos and readings of a room together */

/* Keeps the bytes of a photo or of readings, before the event that names them. FL_ETOOBIG: the room
 * would hold more than it may; errors of fl_store_blob_put. */
fl_status fl_app_keep_blob(fl_app *app, fl_hash hash, fl_sv bytes, fl_err *err) FL_MUST_USE;

/* Whether the room holds the bytes of that SHA-256 (hex): false also for what is no hash. */
fl_status fl_app_has_blob(fl_app *app, fl_sv sha256, bool *out, fl_err *err) FL_MUST_USE;

/* What `verify` found. */
typedef struct fl_verified {
    int64_t n_events, n_facts, n_lots, n_stays, n_fills, n_holds, n_conflicts;
    int64_t n_orphans; /* photos and readings whose event never came: they do no harm */
} fl_verified;

/* Checks the file, decodes every event, rebuilds facts and live tables from the journal beside the
 * stored ones and compares exactly; checks the hash of each blob, and that each is there that an
 * event names. FL_ECORRUPT naming the first difference. */
fl_status fl_app_verify(fl_app *app, fl_verified *out, fl_err *err) FL_MUST_USE;

#endif
