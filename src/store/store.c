/* The life of a room file: making it, opening, transactions, checking. */
#include "store/store.h"

#include <assert.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "store/db.h"
#include "store/file.h"
#include "store/migrate.h"
#include "store/query.h"

#define CHECK_OPERATIONS 20000 /* of SQLite between two words, some milliseconds */

/* What a new room has from the moment it appears. */
typedef struct beginning {
    bool may_create;
    fl_sv name, value; /* a setting; no name: none */
} beginning;

static fl_status fill_new(fl_store *store, const beginning *first, fl_err *err)
{
    fl_status status = fl_migrate(store, fl_migrations(), err);
    if (status == FL_OK && first->name.len > 0) {
        status = fl_store_setting_put(store, first->name, first->value, err);
    }
    return status;
}

/* Makes a whole room under another name, then puts it in its place. Another process that was
 * faster is fine: then its room is used. */
static fl_status create_room(const char *dir, const char *file, const beginning *first, fl_err *err)
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
        status = fill_new(store, first, err);
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
static fl_status find_room(const char *dir, const beginning *first, fl_str *file, fl_err *err)
{
    fl_status status = fl_file_join(dir, FL_FILE_ROOM, file, err);
    if (status != FL_OK || fl_file_exists(file->ptr)) {
        return status;
    }
    status = refuse_orphan_log(dir, err);
    if (status != FL_OK) {
        return status;
    }
    return first->may_create ? create_room(dir, file->ptr, first, err) : no_room(dir, err);
}

static fl_status open_room(const char *dir, const beginning *first, fl_store **out, fl_err *err)
{
    fl_str file;
    fl_store *store = NULL;
    fl_status status = find_room(dir, first, &file, err);
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

fl_status fl_store_open(const char *dir, bool may_create, fl_store **out, fl_err *err)
{
    return open_room(dir, &(beginning){.may_create = may_create}, out, err);
}

fl_status fl_store_open_new(const char *dir, fl_sv name, fl_sv value, fl_store **out, fl_err *err)
{
    return open_room(dir, &(beginning){true, name, value}, out, err);
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
    fl_status status = find_room(dir, &(beginning){.may_create = false}, &file, err);
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

/* Taken ready before a transaction begins: it may be needed because memory is gone. */
static const char sql_rollback[] = "ROLLBACK";

static fl_status ready_rollback(fl_store *store, fl_err *err)
{
    fl_query query = fl_query_open(store, sql_rollback);
    int rc = query.rc;
    fl_query_end(&query);
    return rc == SQLITE_OK ? FL_OK : fl_db_fail(store, rc, err);
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
    fl_status status = ready_rollback(store, err);
    return status == FL_OK ? run_one(store, sql, err) : status;
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
    if (store != NULL && fl_db_is_in_transaction(store)) {
        /* it fails where SQLite has rolled back by itself, or without memory: then the process
         * ends, and SQLite rolls back when the file is opened next */
        if (run_one(store, sql_rollback, NULL) != FL_OK && fl_db_is_in_transaction(store)) {
            (void)fl_alloc(2, SIZE_MAX);
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
    fl_status status = ready_rollback(store, err);
    if (status == FL_OK) {
        status = run_one(store, begin, err);
    }
    if (status == FL_OK) {
        status = run_one(store, first, err);
    }
    if (status != FL_OK) {
        fl_store_rollback(store);
    }
    return status;
}

/* ---- checking ---- */

#define REPORT_MAX 81

/* integrity_check tells of a page that could not be read ("error code=266") like damage; that the
 * disk or the memory failed is no damage. Returns that code of SQLite, or SQLITE_OK. */
static int failure_in_report(const char *line)
{
    static const char mark[] = "error code=";
    const char *at = strstr(line, mark);
    int code = 0;
    for (at = at == NULL ? "" : at + sizeof mark - 1; *at >= '0' && *at <= '9'; at++) {
        code = code > 100000 ? code : code * 10 + (*at - '0');
    }
    switch (code & 0xff) {
    case SQLITE_IOERR:
    case SQLITE_NOMEM:
    case SQLITE_CANTOPEN:
    case SQLITE_BUSY:
        return code;
    default:
        return SQLITE_OK;
    }
}

/* The last line of a report pragma's first row; empty when there is nothing to report. */
static fl_status read_report(fl_store *store, const char *sql, char line[REPORT_MAX], fl_err *err)
{
    sqlite3_stmt *stmt = NULL;
    line[0] = '\0';
    int rc = sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(stmt);
    }
    if (rc == SQLITE_ROW) {
        const char *text = (const char *)sqlite3_column_text(stmt, 0);
        const char *last = text == NULL ? NULL : strrchr(text, '\n');
        rc = text == NULL ? SQLITE_NOMEM : failure_in_report(text);
        if (rc == SQLITE_OK && strcmp(text, "ok") != 0) {
            (void)snprintf(line, REPORT_MAX, "%s", last == NULL ? text : last + 1);
        }
    }
    fl_status status = rc == SQLITE_OK || rc == SQLITE_DONE ? FL_OK : fl_db_fail(store, rc, err);
    sqlite3_finalize(stmt);
    return status;
}

/* Damage is there at the second reading too; a disk that failed once, and said only "failed to get
 * page", is not called damage. */
static fl_status check_report(fl_store *store, const char *sql, fl_err *err)
{
    char line[REPORT_MAX];
    fl_status status = read_report(store, sql, line, err);
    if (status != FL_OK || line[0] == '\0') {
        return status;
    }
    status = read_report(store, sql, line, err);
    if (status == FL_OK && line[0] == '\0') {
        return fl_fail(err, FL_EIO, "%s: the disk failed while it was read; try again",
                       store->file);
    }
    return status == FL_OK
               ? fl_fail(err, FL_ECORRUPT,
                         "%s is damaged (%s); get it back with: fernlock restore BACKUP",
                         store->file, line)
               : status;
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
