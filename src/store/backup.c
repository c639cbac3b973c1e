/* Copies of the room: out of it while it is in use, and back into its place. */
#include <stdio.h>
#include <string.h>

#include "store/db.h"
#include "store/file.h"
#include "store/migrate.h"

#define REPLACED_MAX 1000 /* old rooms kept beside the new one */
#define COPY_PAGES 256    /* 1 MiB between two words about it */

/* Some pages at a time; the caller holds a snapshot, so that all are of one moment. */
static fl_status step_pages(sqlite3_backup *backup, const fl_progress *progress, fl_err *err)
{
    int rc = SQLITE_OK;
    fl_status status = fl_progress_step(progress, FL_WORK_COPY, 0, 0, err);
    while (rc == SQLITE_OK && status == FL_OK) {
        rc = sqlite3_backup_step(backup, progress == NULL ? -1 : COPY_PAGES);
        const int total = sqlite3_backup_pagecount(backup);
        status = fl_progress_step(progress, FL_WORK_COPY, total - sqlite3_backup_remaining(backup),
                                  total, err);
    }
    return status; /* an error of SQLite comes out of finish */
}

/* All pages as they are at one moment. */
static fl_status copy_pages(fl_store *from, fl_store *to, fl_err *err)
{
    sqlite3_backup *backup = sqlite3_backup_init(to->db, "main", from->db, "main");
    if (backup == NULL) {
        return fl_db_fail(to, sqlite3_extended_errcode(to->db), err);
    }
    const fl_status stopped = step_pages(backup, from->progress, err);
    int rc = sqlite3_backup_finish(backup);
    if (stopped != FL_OK) {
        return stopped;
    }
    return rc == SQLITE_OK ? FL_OK : fl_db_fail(to, rc, err);
}

/* Between the steps of a copy another process may write: a read snapshot keeps the moment. */
static fl_status copy_moment(fl_store *from, fl_store *to, fl_err *err)
{
    if (from->progress == NULL || fl_db_is_in_transaction(from)) {
        return copy_pages(from, to, err);
    }
    fl_status status = fl_store_begin_read(from, err);
    if (status != FL_OK) {
        return status;
    }
    status = copy_pages(from, to, err);
    fl_store_rollback(from);
    return status;
}

/* Copies into "FILE.part-N"; the caller removes or installs it. *part is to be done in any case. */
static fl_status copy_to_part(fl_store *from, const char *file, fl_str *part, fl_err *err)
{
    fl_store *copy = NULL;
    fl_status status = fl_file_make_part(file, part, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_db_open(part->ptr, FL_DB_PLAIN, &copy, err);
    if (status == FL_OK) {
        status = copy_moment(from, copy, err);
    }
    if (status == FL_OK) {
        /* the copied header says WAL; without it the copy can be read from anywhere */
        status = fl_db_run(copy, FL_SV("PRAGMA journal_mode = DELETE"), err);
    }
    fl_store_close(copy);
    if (status != FL_OK) {
        fl_file_remove(part->ptr);
    }
    return status;
}

fl_status fl_store_backup(fl_store *store, const char *file, fl_err *err)
{
    if (fl_file_exists(file)) {
        return fl_fail(err, FL_ECONFLICT, "there is a file %s already: choose another name", file);
    }
    if (sqlite3_txn_state(store->db, "main") == SQLITE_TXN_WRITE) {
        return fl_fail(err, FL_EINVAL, "%s: a copy cannot be made inside a writing transaction",
                       store->file);
    }
    fl_str part;
    fl_status status = copy_to_part(store, file, &part, err);
    if (status == FL_OK) {
        status = fl_file_install(part.ptr, file, err);
        if (status != FL_OK) {
            fl_file_remove(part.ptr);
        }
    }
    fl_str_done(&part);
    return status;
}

/* ---- restoring ---- */

/* Opens a backup and makes sure that it is whole and ours. */
static fl_status open_backup(const char *backup, const fl_progress *progress, fl_store **out,
                             fl_err *err)
{
    fl_store *store = NULL;
    int64_t version = 0;
    if (!fl_file_exists(backup)) {
        return fl_fail(err, FL_ENOTFOUND, "there is no file %s: give a backup made by fernlock",
                       backup);
    }
    fl_status status = fl_db_open(backup, FL_DB_READ, &store, err);
    if (status == FL_OK) {
        status = fl_db_number(store, "PRAGMA user_version", &version, err);
    }
    if (status == FL_OK && version > (int64_t)fl_migrations().count) {
        status = fl_migrate(store, fl_migrations(), err); /* refuses: the file is newer */
    }
    if (status == FL_OK) {
        fl_store_watch(store, progress);
        status = fl_store_check(store, err);
    }
    if (status != FL_OK) {
        fl_store_close(store);
        return status;
    }
    *out = store;
    return FL_OK;
}

/* Takes the old room for ourselves, with its log written back into it, so that no other process
 * has it open. *old is NULL when there is none, or when it is too damaged to be opened. */
static fl_status seize_old(const char *file, fl_store **old, fl_err *err)
{
    *old = NULL;
    if (!fl_file_exists(file)) {
        return FL_OK;
    }
    fl_status status = fl_db_open(file, FL_DB_WRITE, old, err);
    if (status == FL_OK) {
        status = fl_db_run(*old, FL_SV("PRAGMA journal_mode = DELETE; BEGIN EXCLUSIVE"), err);
    }
    if (status == FL_OK) {
        return FL_OK;
    }
    fl_store_close(*old);
    *old = NULL;
    bool is_lost = status == FL_ECORRUPT || status == FL_EFORMAT;
    if (is_lost) {
        fl_err_clear(err);
    }
    return is_lost ? FL_OK : status;
}

/* Gives "FILE" + suffix the second name "FILE.replaced-N" + suffix; a missing one is fine. */
static fl_status keep_one(const char *file, int n, const char *suffix, fl_err *err)
{
    fl_str from;
    fl_str to;
    fl_str_init(&from, FL_FILE_PATH_MAX);
    fl_str_init(&to, FL_FILE_PATH_MAX);
    fl_str_appendf(&from, "%s%s", file, suffix);
    fl_str_appendf(&to, "%s.replaced-%d%s", file, n, suffix);
    fl_status status = FL_OK;
    if (from.is_full || to.is_full) {
        status = fl_fail(err, FL_ETOOBIG, "the path %s is too long", file);
    } else if (fl_file_exists(from.ptr)) {
        status = fl_file_link(from.ptr, to.ptr, err);
    }
    fl_str_done(&from);
    fl_str_done(&to);
    return status;
}

/* Keeps the old room, and the log of one that could not be opened, under the first free number. */
static fl_status keep_old(const char *file, int *number, fl_err *err)
{
    *number = 0;
    if (!fl_file_exists(file)) {
        return FL_OK;
    }
    fl_status status = FL_ECONFLICT;
    for (int n = 1; n <= REPLACED_MAX && status == FL_ECONFLICT; n++) {
        *number = n;
        status = keep_one(file, n, "", err);
    }
    return status == FL_OK ? keep_one(file, *number, "-wal", err) : status;
}

/* A log that stays behind would be read as the new room's. */
static void remove_beside(const char *file, const char *suffix)
{
    fl_str path;
    fl_str_init(&path, FL_FILE_PATH_MAX);
    fl_str_appendf(&path, "%s%s", file, suffix);
    if (!path.is_full) {
        fl_file_remove(path.ptr);
    }
    fl_str_done(&path);
}

/* The old room stays readable until the very moment the new one takes its name. */
static fl_status swap(const char *part, const char *file, fl_arena *arena, fl_sv *kept, fl_err *err)
{
    fl_store *old = NULL;
    int number = 0;
    fl_status status = seize_old(file, &old, err);
    if (status == FL_OK) {
        status = keep_old(file, &number, err);
    }
    if (status == FL_OK) {
        remove_beside(file, "-wal");
        remove_beside(file, "-shm");
        status = fl_file_replace(part, file, err);
    }
    fl_store_close(old);
    if (status == FL_OK) {
        fl_sv none = {0};
        *kept = number == 0 ? none : fl_arena_printf(arena, "%s.replaced-%d", file, number);
    }
    return status;
}

fl_status fl_store_restore_watched(const fl_restoring *what, fl_arena *arena, fl_sv *kept,
                                   fl_err *err)
{
    const char *dir = what->dir;
    fl_store *from = NULL;
    fl_str file;
    fl_str part;
    fl_str_init(&part, FL_FILE_PATH_MAX);
    fl_status status = fl_file_join(dir, FL_FILE_ROOM, &file, err);
    if (status == FL_OK) {
        status = open_backup(what->backup, what->progress, &from, err);
    }
    if (status == FL_OK) {
        status = fl_file_make_folder(dir, err);
    }
    if (status == FL_OK) {
        status = copy_to_part(from, file.ptr, &part, err);
    }
    fl_store_close(from);
    if (status == FL_OK) {
        status = swap(part.ptr, file.ptr, arena, kept, err);
        if (status != FL_OK) {
            fl_file_remove(part.ptr);
        }
    }
    fl_str_done(&file);
    fl_str_done(&part);
    return status;
}

fl_status fl_store_restore(const char *backup, const char *dir, fl_arena *arena, fl_sv *kept,
                           fl_err *err)
{
    const fl_restoring what = {.backup = backup, .dir = dir};
    return fl_store_restore_watched(&what, arena, kept, err);
}
