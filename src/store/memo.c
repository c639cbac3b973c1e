/* What was computed for a programme: kept by the hash of its chain, sealed, and worth losing. */
#include <string.h>

#include "store/query.h"

fl_status fl_store_memo_get(fl_store *store, fl_hash link, fl_arena *arena, fl_sv *state,
                            fl_err *err)
{
    static const char sql[] = "SELECT state, seal FROM memo WHERE link = ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_hash(&query, &link);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sv got = {0};
    bool is_whole = false;
    if (is_row) {
        got = fl_query_bytes(&query, 0, arena);
        fl_hash want = fl_query_hash(&query, 1);
        fl_hash have = fl_hash_link(link, got.ptr, got.len);
        is_whole = memcmp(want.b, have.b, sizeof want.b) == 0;
    }
    fl_query_end(&query);
    if (!is_whole) { /* a damaged state is as good as none: it is computed again */
        return fl_fail(err, FL_ENOTFOUND, "no state is kept for this programme");
    }
    *state = got;
    return FL_OK;
}

/* A damaged row under the same link gives way; a whole one is the same state anyway. */
static fl_status insert(fl_store *store, fl_hash link, fl_sv state, fl_err *err)
{
    static const char sql[] = "INSERT INTO memo (link, seal, state) VALUES (?, ?, ?) "
                              "ON CONFLICT (link) DO UPDATE SET seal = excluded.seal, "
                              "state = excluded.state WHERE seal IS NOT excluded.seal "
                              "OR state IS NOT excluded.state";
    fl_hash seal = fl_hash_link(link, state.ptr, state.len);
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_hash(&query, &link);
    fl_query_bind_hash(&query, &seal);
    fl_query_bind_blob(&query, state.ptr, state.len);
    return fl_query_run(&query, err);
}

/* Between the two, commits do not wait for the disk. A memo lost in a power cut is computed again;
 * the next event's commit syncs the whole log before it is acknowledged. */
static fl_status relax(fl_store *store, fl_err *err)
{
    sqlite3_busy_timeout(store->db,
                         store->busy_ms < FL_DB_MEMO_BUSY_MS ? store->busy_ms : FL_DB_MEMO_BUSY_MS);
    return fl_db_run(store, FL_SV("PRAGMA synchronous = NORMAL"), err);
}

static fl_status restore(fl_store *store, fl_err *err)
{
    sqlite3_busy_timeout(store->db, store->busy_ms);
    return fl_db_run(store, FL_SV("PRAGMA synchronous = FULL"), err);
}

static fl_status insert_all(fl_store *store, const fl_memo *memos, size_t count, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        status = insert(store, memos[i].link, memos[i].state, err);
    }
    return status;
}

static fl_status insert_in_transaction(fl_store *store, const fl_memo *memos, size_t count,
                                       fl_err *err)
{
    fl_status status = fl_store_begin(store, err);
    if (status == FL_OK) {
        status = insert_all(store, memos, count, err);
    }
    if (status == FL_OK) {
        return fl_store_commit(store, err);
    }
    fl_store_rollback(store);
    return status;
}

fl_status fl_store_memo_put_all(fl_store *store, const fl_memo *memos, size_t count, fl_err *err)
{
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    if (fl_db_is_in_transaction(store)) {
        return insert_all(store, memos, count, err);
    }
    fl_status status = relax(store, err);
    if (status == FL_OK) {
        status = insert_in_transaction(store, memos, count, err);
    }
    fl_status restored = restore(store, status == FL_OK ? err : NULL);
    return status == FL_OK ? restored : status;
}

fl_status fl_store_memo_put(fl_store *store, fl_hash link, fl_sv state, fl_err *err)
{
    return fl_store_memo_put_all(store, &(fl_memo){link, state}, 1, err);
}

fl_status fl_store_memo_clear(fl_store *store, fl_err *err)
{
    static const char sql[] = "DELETE FROM memo";
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    fl_query query = fl_query_open(store, sql);
    return fl_query_run(&query, err);
}

fl_status fl_store_memo_size(fl_store *store, int64_t *links, int64_t *bytes, fl_err *err)
{
    static const char sql[] = "SELECT count(*), coalesce(sum(length(state)), 0) FROM memo";
    fl_query query = fl_query_open(store, sql);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status == FL_OK && is_row) {
        *links = fl_query_int(&query, 0);
        *bytes = fl_query_int(&query, 1);
    }
    fl_query_end(&query);
    return status;
}
