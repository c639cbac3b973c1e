/* Keeping what was computed. */
#include "http/snapshot.h"

/* Each answer that asks the gate leaves something in the memory of the chances, 1.5 MB for a list
 * of eleven lots: it is let go now and then. */
#define USES_MAX 60

void fl_snapshot_drop(fl_snapshot *snapshot)
{
    fl_chances_free(snapshot->chances);
    if (snapshot->is_loaded) {
        fl_room_done(&snapshot->room);
        fl_arena_done(&snapshot->arena);
    }
    *snapshot =
        (fl_snapshot){.is_loaded = false, .past = snapshot->past, .recall = snapshot->recall};
}

void fl_snapshot_done(fl_snapshot *snapshot)
{
    fl_snapshot_drop(snapshot);
    fl_recall_done(&snapshot->recall);
    fl_room_past_done(&snapshot->past);
}

static bool is_current(const fl_snapshot *snapshot, int64_t position, int64_t now_s)
{
    return snapshot->is_loaded && snapshot->room.position == position &&
           snapshot->room.now_s / FL_HOUR_S == now_s / FL_HOUR_S && now_s < snapshot->next_s;
}

/* When the first event that has not taken place yet will; FL_TIME_OPEN. */
static int64_t next_event(const fl_room *room)
{
    int64_t next_s = FL_TIME_OPEN;
    for (size_t i = 0; i < room->n_events; i++) {
        const int64_t at_s = room->events[i].at_s;
        next_s = at_s > room->now_s && at_s < next_s ? at_s : next_s;
    }
    return next_s;
}

static fl_status load(fl_snapshot *snapshot, fl_app *app, fl_err *err)
{
    fl_status status = fl_room_load_on(app, &snapshot->past, &snapshot->room, err);
    if (status != FL_OK) {
        return status;
    }
    snapshot->is_loaded = true;
    snapshot->next_s = next_event(&snapshot->room);
    fl_arena_init(&snapshot->arena);
    return FL_OK;
}

fl_status fl_snapshot_take_room(fl_snapshot *snapshot, fl_app *app, fl_err *err)
{
    int64_t position = 0;
    const int64_t now_s = fl_app_now(app);
    fl_status status = fl_app_position(app, &position, err);
    if (status == FL_OK && is_current(snapshot, position, now_s) && snapshot->n_uses < USES_MAX) {
        snapshot->room.now_s = now_s;
        return FL_OK;
    }
    fl_snapshot_drop(snapshot);
    return status == FL_OK ? load(snapshot, app, err) : status;
}

fl_status fl_snapshot_take(fl_snapshot *snapshot, fl_app *app, fl_err *err)
{
    fl_status status = fl_snapshot_take_room(snapshot, app, err);
    if (status == FL_OK && snapshot->chances == NULL) {
        status = fl_chances_again(&snapshot->room, app, &snapshot->recall, &snapshot->chances, err);
    }
    if (status != FL_OK) {
        fl_snapshot_drop(snapshot);
        return status;
    }
    snapshot->n_uses++;
    return FL_OK;
}

static fl_kept *find(fl_snapshot *snapshot, fl_sv target)
{
    for (size_t i = 0; i < snapshot->n_kept; i++) {
        if (fl_sv_eq(snapshot->kept[i].target, target)) {
            return &snapshot->kept[i];
        }
    }
    return NULL;
}

bool fl_snapshot_recall(fl_snapshot *snapshot, fl_app *app, fl_sv target, fl_sv *body)
{
    int64_t position = 0;
    const int64_t now_s = fl_app_now(app);
    const fl_kept *kept = find(snapshot, target);
    if (kept == NULL || kept->at_s > now_s || now_s - kept->at_s >= FL_KEPT_S ||
        fl_app_position(app, &position, NULL) != FL_OK || !is_current(snapshot, position, now_s)) {
        return false;
    }
    *body = kept->body;
    return true;
}

void fl_snapshot_keep(fl_snapshot *snapshot, fl_sv target, fl_sv body)
{
    fl_kept *kept = find(snapshot, target);
    const size_t bytes = target.len + body.len;
    if (!snapshot->is_loaded || snapshot->kept_bytes + bytes > FL_KEPT_BYTES_MAX ||
        (kept == NULL && snapshot->n_kept == FL_KEPT_MAX)) {
        return;
    }
    if (kept == NULL) {
        kept = &snapshot->kept[snapshot->n_kept];
        snapshot->n_kept++;
        kept->target = fl_arena_copy_sv(&snapshot->arena, target);
    }
    kept->body = fl_arena_copy_sv(&snapshot->arena, body);
    kept->at_s = snapshot->room.now_s;
    snapshot->kept_bytes += bytes;
}
