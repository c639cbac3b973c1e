/* Keeping what was computed. */
#include "http/snapshot.h"

/* Answers may leave something in the memory of the chances: it is let go now and then. */
#define USES_MAX 500

void fl_snapshot_drop(fl_snapshot *snapshot)
{
    fl_chances_free(snapshot->chances);
    if (snapshot->is_loaded) {
        fl_room_done(&snapshot->room);
    }
    *snapshot = (fl_snapshot){.is_loaded = false};
}

fl_status fl_snapshot_take(fl_snapshot *snapshot, fl_app *app, fl_err *err)
{
    int64_t position = 0;
    const int64_t now_s = fl_app_now(app);
    fl_status status = fl_app_position(app, &position, err);
    if (status == FL_OK && snapshot->is_loaded && snapshot->room.position == position &&
        snapshot->room.now_s / FL_HOUR_S == now_s / FL_HOUR_S && snapshot->n_uses < USES_MAX) {
        snapshot->room.now_s = now_s;
        snapshot->n_uses++;
        return FL_OK;
    }
    fl_snapshot_drop(snapshot);
    if (status == FL_OK) {
        status = fl_room_load(app, &snapshot->room, err);
        snapshot->is_loaded = status == FL_OK;
    }
    if (status == FL_OK) {
        status = fl_chances_new(&snapshot->room, app, &snapshot->chances, err);
    }
    if (status != FL_OK) {
        fl_snapshot_drop(snapshot);
    }
    return status;
}
