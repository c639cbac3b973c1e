/* Copies of the room that are known to be readable, and the way back from one.
 *
 * A backup is one SQLite file: the whole room, photos too, of one moment, made while the room is in
 * use. It counts only after it was read back: put into a folder of its own the way `restore` would,
 * opened, checked as a file, and verified against its own journal. One that fails is renamed
 * "….unreadable", said at once, and told in the room (fl_app_backup_state) until one succeeds.
 *
 * Without a file name it goes to ROOM/backups/room-YYYY-MM-DD.sqlite, a second of the same day to
 * room-YYYY-MM-DD-2.sqlite, and old ones give way: see fl_backup_keep. A backup beside the room
 * does not help when the disk dies: docs/guide/backup.md. */
#ifndef FL_APP_BACKUP_H
#define FL_APP_BACKUP_H

#include "app/app.h"

#define FL_BACKUP_DAILY 7
#define FL_BACKUP_WEEKLY 4
#define FL_BACKUP_MONTHLY 12

/* Which backups stay: keep[i] belongs to days[i] (days since 1970-01-01), which are sorted, newest
 * first. Of each of the last FL_BACKUP_DAILY days, FL_BACKUP_WEEKLY weeks (Monday to Sunday) and
 * FL_BACKUP_MONTHLY months that have one, the newest stays. */
void fl_backup_keep(const int64_t *days, size_t n, bool *keep);

typedef struct fl_backup_made {
    const char *file;
    int64_t bytes;
    fl_verified holds; /* what was read back from the copy */
    size_t n_kept;     /* in ROOM/backups now; 0 for a backup elsewhere */
    size_t n_removed;  /* older ones that gave way */
} fl_backup_made;

/* Makes one and reads it back. file NULL: in ROOM/backups. Texts in the arena. FL_ECONFLICT: there
 * is a file of that name; FL_ECORRUPT: the copy does not read back (the message says why; it is
 * kept as "FILE.unreadable"); FL_EIO, FL_EBUSY, FL_EINVAL (inside a transaction). */
fl_status fl_app_backup(fl_app *app, const char *file, fl_arena *arena, fl_backup_made *out,
                        fl_err *err) FL_MUST_USE;

/* The daily one: makes a backup in ROOM/backups unless one of today's date (in the room's zone) is
 * there. *is_made tells which; *out only then. To be called by `serve` now and then, and by
 * whatever runs daily. A reader will not do: it notes how it went. */
fl_status fl_app_backup_due(fl_app *app, fl_arena *arena, bool *is_made, fl_backup_made *out,
                            fl_err *err) FL_MUST_USE;

/* How backups of this room stand. */
typedef struct fl_backup_state {
    const char *newest; /* the newest in ROOM/backups; NULL: none */
    int64_t newest_day; /* its date, days since 1970-01-01 */
    int64_t failed_s;   /* when one last failed, with none since that did not; 0 */
    fl_sv failed_why;
} fl_backup_state;
fl_status fl_app_backup_state(fl_app *app, fl_arena *arena, fl_backup_state *out,
                              fl_err *err) FL_MUST_USE;

typedef struct fl_restored {
    fl_sv kept;        /* the path of the room that was there before; empty: none */
    fl_verified holds; /* what the restored room has */
} fl_restored;

/* Puts a backup in the place of the room in `dir`: first tried in a folder of its own and verified
 * there, then put in place, then verified in its place. The old room is kept beside it. Errors as
 * fl_store_restore: the room in `dir` is as it was. */
fl_status fl_app_restore(const char *file, const char *dir, fl_clock clock, fl_arena *arena,
                         fl_restored *out, fl_err *err) FL_MUST_USE;
/* The same, watched. FL_ECANCELLED until the moment it takes its place. */
fl_status fl_app_restore_watched(const char *file, const fl_room_making *how, fl_arena *arena,
                                 fl_restored *out, fl_err *err) FL_MUST_USE;

#endif
