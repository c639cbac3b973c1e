/* Inside of the store: one connection, its cached statements, and the way from SQLite's results to
 * ours. Only files of src/store include this. */
#ifndef FL_STORE_DB_H
#define FL_STORE_DB_H

#include <stdbool.h>
#include <stdint.h>

#include <sqlite3.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/hash.h"
#include "base/id.h"
#include "base/progress.h"
#include "store/store.h"

#define FL_DB_APPLICATION_ID 0x464c4b31 /* "FLK1": tells our files from other SQLite files */
#define FL_DB_STATEMENTS_MAX 96         /* more than there are statements in src/store */
#define FL_DB_BUSY_MS 5000              /* how long a write waits for another process */
#define FL_DB_MEMO_BUSY_MS 100          /* a memo is worth less than a wait */

/* A prepared statement, found again by the address of its text. */
typedef struct fl_db_cached {
    const char *sql;
    sqlite3_stmt *stmt;
} fl_db_cached;

struct fl_store {
    sqlite3 *db;
    char *file;     /* path of the data base, for messages */
    bool is_reader; /* opened by fl_store_open_reader */
    int busy_ms;
    const fl_progress *progress; /* of fl_store_watch; NULL */
    fl_db_cached cached[FL_DB_STATEMENTS_MAX];
    size_t n_cached;
};

/* How a file is opened. */
typedef enum fl_db_mode {
    FL_DB_WRITE, /* the room's writer: WAL, synchronous FULL */
    FL_DB_READ,  /* a reader of the room */
    FL_DB_PLAIN, /* a file under construction: no journal file beside it, every commit synced */
} fl_db_mode;

/* Opens an existing file with all our pragmas; application_id is checked except for FL_DB_PLAIN.
 * FL_EFORMAT: another program's data base; FL_ECORRUPT, FL_EBUSY, FL_EIO. */
fl_status fl_db_open(const char *file, fl_db_mode mode, fl_store **out, fl_err *err) FL_MUST_USE;

/* Runs statements that give no rows, separated by semicolons. */
fl_status fl_db_run(fl_store *store, fl_sv sql, fl_err *err) FL_MUST_USE;

/* Runs a statement whose first row's first column is a number ("PRAGMA user_version"). */
fl_status fl_db_number(fl_store *store, const char *sql, int64_t *out, fl_err *err) FL_MUST_USE;

/* The status of an SQLite result code other than OK, ROW and DONE, with a line for a person that
 * names the file and, for damage, the way back. */
fl_status fl_db_fail(const fl_store *store, int rc, fl_err *err);

/* True between fl_store_begin or _begin_read and its end. */
bool fl_db_is_in_transaction(const fl_store *store);

/* FL_EFORBIDDEN on a reader, FL_EINVAL outside a transaction (also when SQLite had to roll it back
 * by itself): nothing may be written. */
fl_status fl_db_need_write(const fl_store *store, fl_err *err) FL_MUST_USE;

/* FL_ECORRUPT for a value no fernlock wrote: names the table and what is wrong with it. */
fl_status fl_db_damaged(const fl_store *store, const char *table, const char *what, fl_err *err);

#endif
