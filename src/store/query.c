/* Statements: cached by the address of their text, bound and stepped with one sticky error. */
#include "store/query.h"

#include <assert.h>
#include <limits.h>
#include <string.h>

#include "event/meaning.h"

static sqlite3_stmt *cached_find(const fl_store *store, const char *sql)
{
    for (size_t i = 0; i < store->n_cached; i++) {
        if (store->cached[i].sql == sql) {
            return store->cached[i].stmt;
        }
    }
    return NULL;
}

fl_query fl_query_open(fl_store *store, const char *sql)
{
    fl_query query = {.store = store, .stmt = cached_find(store, sql), .rc = SQLITE_OK, .next = 1};
    if (query.stmt != NULL) {
        assert(!sqlite3_stmt_busy(query.stmt)); /* one query at a time */
        return query;
    }
    query.rc = sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &query.stmt, NULL);
    if (query.rc == SQLITE_OK) {
        assert(store->n_cached < FL_DB_STATEMENTS_MAX);
        store->cached[store->n_cached++] = (fl_db_cached){sql, query.stmt};
    }
    return query;
}

/* Keeps the first error; a wrong index is a mistake of ours. */
static void note(fl_query *query, int rc)
{
    assert(rc != SQLITE_RANGE && rc != SQLITE_MISUSE);
    if (query->rc == SQLITE_OK) {
        query->rc = rc;
    }
    query->next++;
}

void fl_query_bind_int(fl_query *query, int64_t value)
{
    if (query->rc == SQLITE_OK) {
        note(query, sqlite3_bind_int64(query->stmt, query->next, value));
    }
}

void fl_query_bind_bool(fl_query *query, bool value)
{
    fl_query_bind_int(query, value ? 1 : 0);
}

void fl_query_bind_text(fl_query *query, fl_sv value)
{
    if (query->rc == SQLITE_OK) {
        const char *text = value.ptr == NULL ? "" : value.ptr;
        note(query, sqlite3_bind_text64(query->stmt, query->next, text, value.len, SQLITE_STATIC,
                                        SQLITE_UTF8));
    }
}

void fl_query_bind_blob(fl_query *query, const void *bytes, size_t len)
{
    if (query->rc == SQLITE_OK) {
        const void *some = bytes == NULL ? "" : bytes; /* NULL would bind SQL's NULL */
        note(query, sqlite3_bind_blob64(query->stmt, query->next, some, len, SQLITE_STATIC));
    }
}

void fl_query_bind_id(fl_query *query, const fl_id *id)
{
    if (query->rc != SQLITE_OK) {
        return;
    }
    if (fl_id_is_none(*id)) {
        note(query, sqlite3_bind_null(query->stmt, query->next));
    } else {
        fl_query_bind_blob(query, id->b, sizeof id->b);
    }
}

void fl_query_bind_hash(fl_query *query, const fl_hash *hash)
{
    fl_query_bind_blob(query, hash->b, sizeof hash->b);
}

void fl_query_bind_until(fl_query *query, int64_t to_s)
{
    if (to_s != FL_TIME_OPEN) {
        fl_query_bind_int(query, to_s);
    } else if (query->rc == SQLITE_OK) {
        note(query, sqlite3_bind_null(query->stmt, query->next));
    }
}

fl_status fl_query_step(fl_query *query, bool *is_row, fl_err *err)
{
    int rc = query->rc;
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(query->stmt);
    }
    if (rc == SQLITE_ROW || rc == SQLITE_DONE) {
        *is_row = rc == SQLITE_ROW;
        return FL_OK;
    }
    fl_status status = fl_db_fail(query->store, rc, err);
    fl_query_end(query);
    return status;
}

void fl_query_end(fl_query *query)
{
    if (query->stmt != NULL) {
        sqlite3_reset(query->stmt); /* repeats the error of the step, already reported */
        sqlite3_clear_bindings(query->stmt);
        query->stmt = NULL;
    }
}

fl_status fl_query_run(fl_query *query, fl_err *err)
{
    bool is_row = true;
    while (is_row) {
        fl_status status = fl_query_step(query, &is_row, err);
        if (status != FL_OK) {
            return status;
        }
    }
    fl_query_end(query);
    return FL_OK;
}

int64_t fl_query_int(const fl_query *query, int column)
{
    return sqlite3_column_int64(query->stmt, column);
}

bool fl_query_bool(const fl_query *query, int column)
{
    return sqlite3_column_int64(query->stmt, column) != 0;
}

fl_sv fl_query_view(const fl_query *query, int column)
{
    const void *bytes = sqlite3_column_blob(query->stmt, column);
    int len = sqlite3_column_bytes(query->stmt, column);
    return (fl_sv){bytes, bytes == NULL || len < 0 ? 0 : (size_t)len};
}

fl_sv fl_query_bytes(const fl_query *query, int column, fl_arena *arena)
{
    return fl_arena_copy_sv(arena, fl_query_view(query, column));
}

int64_t fl_query_until(const fl_query *query, int column)
{
    return sqlite3_column_type(query->stmt, column) == SQLITE_NULL
               ? FL_TIME_OPEN
               : sqlite3_column_int64(query->stmt, column);
}

fl_id fl_query_id(const fl_query *query, int column)
{
    fl_id id = {{0}};
    fl_sv bytes = fl_query_view(query, column);
    if (bytes.len == sizeof id.b) {
        memcpy(id.b, bytes.ptr, sizeof id.b);
    }
    return id;
}

fl_hash fl_query_hash(const fl_query *query, int column)
{
    fl_hash hash = {{0}};
    fl_sv bytes = fl_query_view(query, column);
    if (bytes.len == sizeof hash.b) {
        memcpy(hash.b, bytes.ptr, sizeof hash.b);
    }
    return hash;
}

int fl_query_word(const fl_query *query, int column, const fl_word *list, int count)
{
    return fl_word_find(list, count, fl_query_view(query, column));
}

/* One more fits afterwards. */
static void *grow(fl_arena *arena, void *rows, size_t count, size_t *capacity, size_t size)
{
    if (count < *capacity) {
        return rows;
    }
    size_t grown = *capacity == 0 ? 16 : *capacity * 2;
    void *copy = fl_arena_alloc(arena, grown, size);
    if (count > 0) {
        memcpy(copy, rows, count * size);
    }
    *capacity = grown;
    return copy;
}

fl_status fl_query_all(fl_query *query, fl_arena *arena, size_t size, fl_row_take take,
                       fl_rows *out, fl_err *err)
{
    unsigned char *rows = NULL;
    size_t count = 0;
    size_t capacity = 0;
    bool is_row = false;
    fl_status status = fl_query_step(query, &is_row, err);
    while (status == FL_OK && is_row) {
        rows = grow(arena, rows, count, &capacity, size);
        status = take(query, arena, rows + count * size, err);
        count++;
        if (status == FL_OK) {
            status = fl_query_step(query, &is_row, err);
        }
    }
    fl_query_end(query);
    if (status == FL_OK) {
        *out = (fl_rows){rows, count};
    }
    return status;
}

fl_status fl_query_bind_ids(fl_query *query, const fl_id *ids, size_t count, fl_err *err)
{
    if (count > INT_MAX / sizeof *ids) {
        fl_query_end(query);
        return fl_fail(err, FL_ETOOBIG, "%zu things at once: ask for fewer", count);
    }
    fl_query_bind_blob(query, ids, count * sizeof *ids);
    return FL_OK;
}
