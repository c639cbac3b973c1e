/* One statement being run: bind the values in order, step through the rows, end. The first error
 * sticks and comes out of the next step, so binding needs no checks in between. Values are always
 * bound; SQL texts are constants. Only files of src/store include this. */
#ifndef FL_STORE_QUERY_H
#define FL_STORE_QUERY_H

#include <stdbool.h>
#include <stdint.h>

#include "event/words.h"
#include "store/db.h"

typedef struct fl_query {
    fl_store *store;
    sqlite3_stmt *stmt; /* owned by the store's cache; NULL when preparing failed */
    int rc;             /* SQLITE_OK, or the first error */
    int next;           /* index of the next parameter */
} fl_query;

/* Takes the cached statement, or prepares it. `sql` must be a static constant: its address is the
 * key. A statement serves one query at a time. */
fl_query fl_query_open(fl_store *store, const char *sql);

/* The views must stay valid until fl_query_end. */
void fl_query_bind_int(fl_query *query, int64_t value);
void fl_query_bind_bool(fl_query *query, bool value);
void fl_query_bind_text(fl_query *query, fl_sv value);
void fl_query_bind_blob(fl_query *query, const void *bytes, size_t len);
void fl_query_bind_id(fl_query *query, const fl_id *id); /* none becomes NULL */
void fl_query_bind_hash(fl_query *query, const fl_hash *hash);
void fl_query_bind_until(fl_query *query, int64_t to_s); /* FL_TIME_OPEN becomes NULL */

/* The next row: *is_row false at the end. On an error the query is ended. */
fl_status fl_query_step(fl_query *query, bool *is_row, fl_err *err) FL_MUST_USE;
/* Frees the statement for its next use. Harmless twice. */
void fl_query_end(fl_query *query);
/* Runs to the end, dropping rows, and ends. */
fl_status fl_query_run(fl_query *query, fl_err *err) FL_MUST_USE;

/* Columns of the current row, from 0. Texts are copied into the arena. */
int64_t fl_query_int(const fl_query *query, int column);
bool fl_query_bool(const fl_query *query, int column);
fl_sv fl_query_view(const fl_query *query, int column); /* until the next step only */
fl_sv fl_query_bytes(const fl_query *query, int column, fl_arena *arena);
int64_t fl_query_until(const fl_query *query, int column);
/* NULL gives the none id; any other length than 16 too (CHECKs forbid it). */
fl_id fl_query_id(const fl_query *query, int column);
fl_hash fl_query_hash(const fl_query *query, int column);
/* Index of the column's text in a word list; -1 when it is not there. */
int fl_query_word(const fl_query *query, int column, const fl_word *list, int count);

/* All rows of a query, in the arena; `rows` is NULL when there are none. */
typedef struct fl_rows {
    void *rows;
    size_t count;
} fl_rows;

/* Fills one row of the result from the current row of the query. */
typedef fl_status (*fl_row_take)(const fl_query *query, fl_arena *arena, void *row, fl_err *err);

/* Runs a bound query to its end and ends it: rows of `size` bytes, one for each. The array doubles
 * as it grows; its earlier pieces stay in the arena. */
fl_status fl_query_all(fl_query *query, fl_arena *arena, size_t size, fl_row_take take,
                       fl_rows *out, fl_err *err) FL_MUST_USE;

/* Binds a list of ids as one blob; SQL takes it apart with the table `wanted` of FL_QUERY_WANTED.
 * FL_ETOOBIG when it is longer than SQLite counts. */
fl_status fl_query_bind_ids(fl_query *query, const fl_id *ids, size_t count,
                            fl_err *err) FL_MUST_USE;
#define FL_QUERY_WANTED                                                                            \
    "WITH RECURSIVE wanted (n, thing) AS ("                                                        \
    " SELECT 1, substr(?1, 1, 16)"                                                                 \
    " UNION ALL SELECT n + 1, substr(?1, n * 16 + 1, 16) FROM wanted WHERE n * 16 < length(?1)) "

#endif
