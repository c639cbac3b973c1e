/* Inside src/http only: the room as the reader last computed it. Chances take their time, and one
 * screen asks for several answers; they are kept until something is recorded, by whomever, or the
 * hour changes (the steps of the filter are hours). For one thread. */
#ifndef FL_HTTP_SNAPSHOT_H
#define FL_HTTP_SNAPSHOT_H

#include "app/chance.h"
#include "app/room.h"

typedef struct fl_snapshot {
    bool is_loaded;
    int n_uses;
    fl_room room;
    fl_chances *chances; /* of the room */
} fl_snapshot;

/* Brings it up to date; room->now_s is the app's clock. After an error it is empty. */
fl_status fl_snapshot_take(fl_snapshot *snapshot, fl_app *app, fl_err *err) FL_MUST_USE;

void fl_snapshot_drop(fl_snapshot *snapshot); /* empty is fine */

#endif
