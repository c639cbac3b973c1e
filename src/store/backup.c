/* A copy of the room while it is in use: one file, complete, nothing beside it. */
#include "store/db.h"
#include "store/file.h"

/* All pages as they are at one moment. */
static fl_status copy_pages(fl_store *from, fl_store *to, fl_err *err)
{
    sqlite3_backup *backup = sqlite3_backup_init(to->db, "main", from->db, "main");
    if (backup == NULL) {
        return fl_db_fail(to, sqlite3_extended_errcode(to->db), err);
    }
    (void)sqlite3_backup_step(backup, -1); /* its error comes out of finish */
    int rc = sqlite3_backup_finish(backup);
    return rc == SQLITE_OK ? FL_OK : fl_db_fail(to, rc, err);
}

fl_status fl_store_backup(fl_store *store, const char *file, fl_err *err)
{
    if (fl_file_exists(file)) {
        return fl_fail(err, FL_ECONFLICT, "there is a file %s already: choose another name", file);
    }
    fl_str part;
    fl_store *copy = NULL;
    fl_status status = fl_file_make_part(file, &part, err);
    if (status != FL_OK) {
        fl_str_done(&part);
        return status;
    }
    status = fl_db_open(part.ptr, FL_DB_PLAIN, &copy, err);
    if (status == FL_OK) {
        status = copy_pages(store, copy, err);
    }
    if (status == FL_OK) {
        /* the copied header says WAL; without it the backup can be read from anywhere */
        status = fl_db_run(copy, FL_SV("PRAGMA journal_mode = DELETE"), err);
    }
    fl_store_close(copy);
    if (status == FL_OK) {
        status = fl_file_install(part.ptr, file, err);
    }
    if (status != FL_OK) {
        fl_file_remove(part.ptr);
    }
    fl_str_done(&part);
    return status;
}
