/* Inside src/http only: the room as the reader last computed it, and the answers it gave. Chances
 * take their time, one screen asks for several answers, and keepers go back and forth; all is kept
 * until something is recorded, by whomever, or the hour changes (the steps of the filter are
 * hours), or the moment comes that something is told of: a page gives each telling a second of its
 * own, and may be one ahead. For one thread. */
#ifndef FL_HTTP_SNAPSHOT_H
#define FL_HTTP_SNAPSHOT_H

#include "app/chance.h"
#include "app/recall.h"
#include "app/room.h"

#define FL_KEPT_MAX 64
#define FL_KEPT_BYTES_MAX ((size_t)8 << 20)
#define FL_KEPT_S 60 /* an answer names the moment it was made at: it is given again this long */

typedef struct fl_kept {
    fl_sv target;
    fl_sv body;
    int64_t at_s;
} fl_kept;

typedef struct fl_snapshot {
    bool is_loaded;
    int n_uses;
    fl_room room;
    int64_t next_s;      /* when the next event of the record takes place; FL_TIME_OPEN */
    fl_chances *chances; /* of the room; NULL until they are first asked for */
    fl_arena arena;      /* of what is kept */
    fl_kept kept[FL_KEPT_MAX];
    size_t n_kept;
    size_t kept_bytes;
    fl_room_past past;
    fl_recall recall; /* these outlive what is dropped: most of it holds after one event more */
} fl_snapshot;

/* Brings it up to date; room->now_s is the app's clock. After an error it is empty. */
fl_status fl_snapshot_take(fl_snapshot *snapshot, fl_app *app, fl_err *err) FL_MUST_USE;

/* The same without the chances, for what can be said at once; they stay if they are there. */
fl_status fl_snapshot_take_room(fl_snapshot *snapshot, fl_app *app, fl_err *err) FL_MUST_USE;

/* The answer that was kept for a target ("/api/v1/lots"), when nothing was recorded since and it is
 * fresh enough; lives until the next call of another function. */
bool fl_snapshot_recall(fl_snapshot *snapshot, fl_app *app, fl_sv target, fl_sv *body);

/* Keeps an answer made from the snapshot, as long as there is room. */
void fl_snapshot_keep(fl_snapshot *snapshot, fl_sv target, fl_sv body);

void fl_snapshot_drop(fl_snapshot *snapshot); /* empty is fine */

/* The same for good. */
void fl_snapshot_done(fl_snapshot *snapshot);

#endif
