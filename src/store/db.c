/* Opening a connection with everything that makes it safe, and naming SQLite's errors. */
#include "store/db.h"

#include <string.h>

#include "base/alloc.h"
#include "store/file.h"

/* Every connection. Recursive limits and functions stay SQLite's; nothing in a file is trusted:
 * no view, trigger or CHECK of it may call more than harmless built-in functions. */
static const char pragmas_all[] = "PRAGMA foreign_keys = ON;"
                                  "PRAGMA cell_size_check = ON;"
                                  "PRAGMA temp_store = MEMORY;"
                                  "PRAGMA fullfsync = ON;" /* macOS; nothing elsewhere */
                                  "PRAGMA checkpoint_fullfsync = ON;"
                                  "PRAGMA synchronous = FULL;";
/* The room's own: a commit is in the WAL and on the disk before it is acknowledged. */
static const char pragmas_write[] = "PRAGMA journal_size_limit = 16777216;";
static const char pragmas_read[] = "PRAGMA query_only = ON;";
/* A file that nobody uses before it is whole needs no journal on the disk. */
static const char pragmas_plain[] = "PRAGMA journal_mode = MEMORY;";

/* What a person can do about it. */
static fl_status fail_with_way_out(const fl_store *store, fl_status code, int rc, fl_err *err)
{
    const char *file = store->file;
    const char *detail =
        sqlite3_errcode(store->db) == (rc & 0xff) || sqlite3_extended_errcode(store->db) == rc
            ? sqlite3_errmsg(store->db)
            : sqlite3_errstr(rc);
    switch ((int)code) {
    case FL_EBUSY:
        return fl_fail(err, code, "another program is writing to %s; try again in a moment", file);
    case FL_ECORRUPT:
        return fl_fail(err, code, "%s is damaged (%s); get it back with: fernlock restore BACKUP",
                       file, detail);
    default:
        return fl_fail(err, code, "%s: %s", file, detail);
    }
}

fl_status fl_db_fail(const fl_store *store, int rc, fl_err *err)
{
    switch (rc & 0xff) { /* the low byte is the primary code */
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
        return fail_with_way_out(store, FL_EBUSY, rc, err);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_ERROR: /* our own SQL does not fit: the schema is not the one we made */
        return fail_with_way_out(store, FL_ECORRUPT, rc, err);
    case SQLITE_TOOBIG:
        return fail_with_way_out(store, FL_ETOOBIG, rc, err);
    case SQLITE_FULL:
        return fl_fail(err, FL_EIO,
                       "no room left on the disk for %s; free some space and try again",
                       store->file);
    case SQLITE_INTERRUPT: /* only fl_store_check is ever interrupted */
        return fl_progress_fail(err);
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return fl_fail(err, FL_EIO, "%s cannot be written: look at its owner and permissions",
                       store->file);
    case SQLITE_CONSTRAINT:
        return fail_with_way_out(store, FL_EINVAL, rc, err);
    default:
        return fail_with_way_out(store, FL_EIO, rc, err);
    }
}

fl_status fl_db_damaged(const fl_store *store, const char *table, const char *what, fl_err *err)
{
    return fl_fail(err, FL_ECORRUPT,
                   "%s is damaged (table %s: %s); get it back with: fernlock restore BACKUP",
                   store->file, table, what);
}

bool fl_db_is_in_transaction(const fl_store *store)
{
    return sqlite3_get_autocommit(store->db) == 0;
}

fl_status fl_db_need_write(const fl_store *store, fl_err *err)
{
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    if (!fl_db_is_in_transaction(store)) {
        return fl_fail(err, FL_EINVAL, "%s: writing needs a transaction, and none is open",
                       store->file);
    }
    return FL_OK;
}

fl_status fl_db_run(fl_store *store, fl_sv sql, fl_err *err)
{
    const char *at = sql.ptr;
    const char *end = sql.ptr + sql.len;
    while (at < end) {
        sqlite3_stmt *stmt = NULL;
        const char *tail = NULL;
        int rc = sqlite3_prepare_v2(store->db, at, (int)(end - at), &stmt, &tail);
        if (rc == SQLITE_OK && stmt != NULL) {
            do {
                rc = sqlite3_step(stmt);
            } while (rc == SQLITE_ROW); /* some pragmas answer with their new value */
        }
        if (rc != SQLITE_OK && rc != SQLITE_DONE) {
            fl_status status = fl_db_fail(store, rc, err);
            sqlite3_finalize(stmt);
            return status;
        }
        sqlite3_finalize(stmt);
        at = tail;
    }
    return FL_OK;
}

fl_status fl_db_number(fl_store *store, const char *sql, int64_t *out, fl_err *err)
{
    sqlite3_stmt *stmt = NULL;
    int rc = sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(stmt);
    }
    fl_status status = FL_OK;
    if (rc == SQLITE_ROW) {
        *out = sqlite3_column_int64(stmt, 0);
    } else {
        status = fl_db_fail(store, rc == SQLITE_DONE ? SQLITE_CORRUPT : rc, err);
    }
    sqlite3_finalize(stmt);
    return status;
}

static fl_status run_literal(fl_store *store, const char *sql, fl_err *err)
{
    return fl_db_run(store, fl_sv_from_cstr(sql), err);
}

/* The switches that have no pragma, or must come before the first statement. */
static int configure(fl_store *store)
{
    sqlite3 *db = store->db;
    int rc = sqlite3_extended_result_codes(db, 1);
    if (rc == SQLITE_OK) {
        rc = sqlite3_busy_timeout(db, store->busy_ms);
    }
    if (rc == SQLITE_OK) {
        rc = sqlite3_db_config(db, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *)NULL);
    }
    if (rc == SQLITE_OK) {
        rc = sqlite3_db_config(db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, (int *)NULL);
    }
    if (rc == SQLITE_OK) {
        rc = sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, (int *)NULL);
    }
    return rc;
}

static fl_status check_application(fl_store *store, fl_err *err)
{
    int64_t application_id = 0;
    fl_status status = fl_db_number(store, "PRAGMA application_id", &application_id, err);
    if (status == FL_OK && application_id != FL_DB_APPLICATION_ID) {
        return fl_fail(err, FL_EFORMAT, "%s is not a room of fernlock: choose another folder",
                       store->file);
    }
    return status;
}

/* WAL is a property of the file: set once, then only confirmed. */
static fl_status use_wal(fl_store *store, fl_err *err)
{
    sqlite3_stmt *stmt = NULL;
    int rc = sqlite3_prepare_v2(store->db, "PRAGMA journal_mode = WAL", -1, &stmt, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(stmt);
    }
    fl_status status = FL_OK;
    if (rc != SQLITE_ROW) {
        status = fl_db_fail(store, rc == SQLITE_DONE ? SQLITE_IOERR : rc, err);
    } else if (strcmp((const char *)sqlite3_column_text(stmt, 0), "wal") != 0) {
        status =
            fl_fail(err, FL_EIO, "%s: this file system cannot keep a write-ahead log", store->file);
    }
    sqlite3_finalize(stmt);
    return status;
}

static fl_status prepare_mode(fl_store *store, fl_db_mode mode, fl_err *err)
{
    fl_status status = run_literal(store, pragmas_all, err);
    if (status == FL_OK && mode == FL_DB_PLAIN) {
        return run_literal(store, pragmas_plain, err);
    }
    if (status == FL_OK) {
        status = check_application(store, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (mode == FL_DB_READ) {
        return run_literal(store, pragmas_read, err);
    }
    if (sqlite3_db_readonly(store->db, "main") != 0) {
        return fl_db_fail(store, SQLITE_READONLY, err);
    }
    status = use_wal(store, err);
    return status == FL_OK ? run_literal(store, pragmas_write, err) : status;
}

fl_status fl_db_open(const char *file, fl_db_mode mode, fl_store **out, fl_err *err)
{
    if (mode != FL_DB_PLAIN && fl_file_is_empty(file)) {
        /* ours is never empty (store/file.h); SQLite would take it for new, and delete its log */
        return fl_fail(err, FL_ECORRUPT,
                       "%s is empty, all of it is lost; get it back with: fernlock restore BACKUP",
                       file);
    }
    fl_store *store = fl_alloc(1, sizeof *store);
    size_t len = strlen(file) + 1;
    store->file = fl_alloc(len, 1);
    memcpy(store->file, file, len);
    store->is_reader = mode == FL_DB_READ;
    store->busy_ms = FL_DB_BUSY_MS;
    int flags = (mode == FL_DB_READ ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE) |
                SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE;
    int rc = sqlite3_open_v2(file, &store->db, flags, NULL);
    if (rc == SQLITE_OK) {
        rc = configure(store);
    }
    fl_status status =
        rc == SQLITE_OK ? prepare_mode(store, mode, err) : fl_db_fail(store, rc, err);
    if (status != FL_OK) {
        fl_store_close(store);
        return status;
    }
    *out = store;
    return FL_OK;
}
