/* The chores, each on its own: one that fails does not keep the other from being done. */
#include "app/chores.h"

#include "app/backup.h"
#include "app/calendar.h"

static fl_status publish(fl_app *app, fl_arena *arena, fl_err *err)
{
    fl_room room;
    fl_chances *chances = NULL;
    fl_calendar_entry *entries = NULL;
    size_t count = 0;
    fl_status status = fl_room_load(app, &room, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_chances_new(&room, app, &chances, err);
    if (status == FL_OK) {
        status = fl_calendar_make(app, &room, chances, arena, &entries, &count, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_publish(app, entries, count, err);
    }
    fl_chances_free(chances);
    fl_room_done(&room);
    return status;
}

void fl_app_chores(fl_app *app, bool has_feed, fl_arena *arena, fl_sv *what)
{
    fl_err err = {0};
    fl_backup_made made;
    bool is_made = false;
    *what = FL_SV("");
    if (fl_app_backup_due(app, arena, &is_made, &made, &err) != FL_OK) {
        *what = fl_arena_printf(arena, "the daily backup failed: %s", err.message);
    } else if (is_made) {
        *what = fl_arena_printf(arena, "backup made and read back: %s", made.file);
    }
    if (has_feed) {
        (void)!publish(app, arena, NULL); /* the next chore tries again; the feed goes on */
    }
}
