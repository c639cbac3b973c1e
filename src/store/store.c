/* The life of a room file: making it, opening, transactions, checking. */
#include "store/store.h"

#include <assert.h>
#include <stdio.h>

#include "base/alloc.h"
#include "store/db.h"
#include "store/file.h"
#include "store/migrate.h"
#include "store/query.h"

#define CHECK_OPERATIONS 20000 /* of SQLite between two words, some milliseconds */

/* Makes a whole room under another name, then puts it in its place. Another process that was
 * faster is fine: then its room is used. */
static fl_status create_room(const char *dir, const char *file, fl_err *err)
{
    fl_str part;
    fl_str_init(&part, FL_FILE_PATH_MAX);
    fl_store *store = NULL;
    fl_status status = fl_file_make_folder(dir, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_file_make_part(file, &part, err);
    if (status != FL_OK) {
        fl_str_done(&part);
        return status;
    }
    status = fl_db_open(part.ptr, FL_DB_PLAIN, &store, err);
    if (status == FL_OK) {
        status = fl_migrate(store, fl_migrations(), err);
    }
    fl_store_close(store);
    if (status == FL_OK) {
        status = fl_file_install(part.ptr, file, err);
    }
    if (status != FL_OK) {
        fl_file_remove(part.ptr);
    }
    if (status == FL_ECONFLICT) {
        fl_err_clear(err);
        status = FL_OK;
    }
    fl_str_done(&part);
    return status;
}

static fl_status no_room(const char *dir, fl_err *err)
{
    return fl_fail(err, FL_ENOTFOUND,
                   "there is no room in %s: say where it is with fernlock --room DIR …", dir);
}

/* A log without its data base holds the last events of a room that is lost. A new room under that
 * name would read it as its own. */
static fl_status refuse_orphan_log(const char *dir, fl_err *err)
{
    fl_str log;
    fl_status status = fl_file_join(dir, FL_FILE_ROOM "-wal", &log, err);
    if (status == FL_OK && fl_file_exists(log.ptr)) {
        status = fl_fail(err, FL_ECORRUPT,
                         "%s/" FL_FILE_ROOM " is missing but its log is there; get it back with: "
                         "fernlock restore BACKUP",
                         dir);
    }
    fl_str_done(&log);
    return status;
}

/* The path of an existing room; makes the room when it may. */
static fl_status find_room(const char *dir, bool may_create, fl_str *file, fl_err *err)
{
    fl_status status = fl_file_join(dir, FL_FILE_ROOM, file, err);
    if (status != FL_OK || fl_file_exists(file->ptr)) {
        return status;
    }
    status = refuse_orphan_log(dir, err);
    if (status != FL_OK) {
        return status;
    }
    return may_create ? create_room(dir, file->ptr, err) : no_room(dir, err);
}

fl_status fl_store_open(const char *dir, bool may_create, fl_store **out, fl_err *err)
{
    fl_str file;
    fl_store *store = NULL;
    fl_status status = find_room(dir, may_create, &file, err);
    if (status == FL_OK) {
        status = fl_db_open(file.ptr, FL_DB_WRITE, &store, err);
    }
    if (status == FL_OK) {
        status = fl_migrate(store, fl_migrations(), err);
    }
    fl_str_done(&file);
    if (status != FL_OK) {
        fl_store_close(store);
        return status;
    }
    *out = store;
    return FL_OK;
}

/* A reader cannot migrate: the file must have this program's layout already. */
static fl_status check_version(fl_store *store, fl_err *err)
{
    int64_t version = 0;
    size_t count = fl_migrations().count;
    fl_status status = fl_db_number(store, "PRAGMA user_version", &version, err);
    if (status == FL_OK && version != (int64_t)count) {
        return fl_fail(err, FL_EINVAL,
                       "%s has version %lld of its layout, this fernlock reads version %zu: %s",
                       store->file, (long long)version, count,
                       version > (int64_t)count ? "install the newer fernlock"
                                                : "open it for writing once");
    }
    return status;
}

fl_status fl_store_open_reader(const char *dir, fl_store **out, fl_err *err)
{
    fl_str file;
    fl_store *store = NULL;
    fl_status status = find_room(dir, false, &file, err);
    if (status == FL_OK) {
        status = fl_db_open(file.ptr, FL_DB_READ, &store, err);
    }
    if (status == FL_OK) {
        status = check_version(store, err);
    }
    fl_str_done(&file);
    if (status != FL_OK) {
        fl_store_close(store);
        return status;
    }
    *out = store;
    return FL_OK;
}

void fl_store_close(fl_store *store)
{
    if (store == NULL) {
        return;
    }
    for (size_t i = 0; i < store->n_cached; i++) {
        sqlite3_finalize(store->cached[i].stmt);
    }
    int rc = sqlite3_close(store->db); /* rolls back what was not committed; NULL is fine */
    assert(rc != SQLITE_BUSY);         /* no statement or backup is left */
    (void)rc;
    fl_alloc_free(store->file);
    fl_alloc_free(store);
}

void fl_store_set_busy_ms(fl_store *store, int busy_ms)
{
    store->busy_ms = busy_ms;
    sqlite3_busy_timeout(store->db, busy_ms);
}

const char *fl_store_file(const fl_store *store)
{
    return store->file;
}

/* ---- transactions ---- */

static fl_status run_one(fl_store *store, const char *sql, fl_err *err)
{
    fl_query query = fl_query_open(store, sql);
    return fl_query_run(&query, err);
}

static fl_status refuse_nested(const fl_store *store, fl_err *err)
{
    return fl_fail(err, FL_EINVAL, "%s: a transaction is open already", store->file);
}

fl_status fl_store_begin(fl_store *store, fl_err *err)
{
    static const char sql[] = "BEGIN IMMEDIATE";
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    if (fl_db_is_in_transaction(store)) {
        return refuse_nested(store, err);
    }
    return run_one(store, sql, err);
}

fl_status fl_store_commit(fl_store *store, fl_err *err)
{
    static const char sql[] = "COMMIT";
    if (!fl_db_is_in_transaction(store)) {
        return fl_fail(err, FL_EINVAL, "%s: there is no transaction to commit; nothing was saved",
                       store->file);
    }
    fl_status status = run_one(store, sql, err);
    if (status != FL_OK) {
        fl_store_rollback(store);
    }
    return status;
}

void fl_store_rollback(fl_store *store)
{
    static const char sql[] = "ROLLBACK";
    if (store != NULL && fl_db_is_in_transaction(store)) {
        /* it can only fail where SQLite has rolled back by itself */
        if (run_one(store, sql, NULL) != FL_OK) {
            assert(!fl_db_is_in_transaction(store));
        }
    }
}

fl_status fl_store_begin_read(fl_store *store, fl_err *err)
{
    static const char begin[] = "BEGIN DEFERRED";
    /* the snapshot is taken by the first read */
    static const char first[] = "SELECT count(*) FROM (SELECT 1 FROM setting LIMIT 1)";
    if (fl_db_is_in_transaction(store)) {
        return refuse_nested(store, err);
    }
    fl_status status = run_one(store, begin, err);
    if (status == FL_OK) {
        status = run_one(store, first, err);
    }
    if (status != FL_OK) {
        fl_store_rollback(store);
    }
    return status;
}

/* ---- checking ---- */

/* The first row of a report pragma that is not "ok" becomes the message. */
static fl_status check_report(fl_store *store, const char *sql, fl_err *err)
{
    sqlite3_stmt *stmt = NULL;
    fl_status status = FL_OK;
    int rc = sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(stmt);
    }
    if (rc == SQLITE_ROW) {
        const char *line = (const char *)sqlite3_column_text(stmt, 0);
        fl_sv text = fl_sv_from_cstr(line);
        if (!fl_sv_eq_cstr(text, "ok")) {
            status = fl_fail(err, FL_ECORRUPT,
                             "%s is damaged (%.80s); get it back with: fernlock restore BACKUP",
                             store->file, line == NULL ? "no report" : line);
        }
    } else if (rc != SQLITE_DONE) {
        status = fl_db_fail(store, rc, err);
    }
    sqlite3_finalize(stmt);
    return status;
}

/* Positions run 1, 2, 3 … without a gap: a missing one was taken out from outside. */
static fl_status check_positions(fl_store *store, fl_err *err)
{
    int64_t gap = 0;
    fl_status status =
        fl_db_number(store, "SELECT coalesce(max(position), 0) - count(*) FROM journal", &gap, err);
    if (status == FL_OK && gap != 0) {
        return fl_db_damaged(store, "journal", "rows are missing", err);
    }
    return status;
}

/* Inside a long statement SQLite asks now and then whether to go on. */
static int on_operations(void *context)
{
    const fl_store *store = context;
    return fl_progress_step(store->progress, FL_WORK_CHECK, 0, 0, NULL) == FL_OK ? 0 : 1;
}

static fl_status check_rows(fl_store *store, fl_err *err)
{
    fl_status status = check_report(store, "PRAGMA integrity_check(1)", err);
    if (status == FL_OK) {
        status = check_report(
            store,
            "SELECT 'a row of ' || \"table\" || ' names a missing row of ' || \"parent\" "
            "FROM pragma_foreign_key_check",
            err);
    }
    if (status == FL_OK) {
        status = check_positions(store, err);
    }
    return status;
}

fl_status fl_store_check(fl_store *store, fl_err *err)
{
    fl_status status = fl_progress_step(store->progress, FL_WORK_CHECK, 0, 0, err);
    if (status != FL_OK || store->progress == NULL) {
        return status == FL_OK ? check_rows(store, err) : status;
    }
    sqlite3_progress_handler(store->db, CHECK_OPERATIONS, on_operations, store);
    status = check_rows(store, err);
    sqlite3_progress_handler(store->db, 0, NULL, NULL);
    return status;
}

void fl_store_watch(fl_store *store, const fl_progress *progress)
{
    store->progress = progress;
}
