/* Photos and batches of readings, under the SHA-256 of their bytes: put once, never changed. */
#include <string.h>

#include "store/query.h"

static fl_status check_blob(const fl_store *store, fl_hash hash, fl_sv bytes, fl_err *err)
{
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    if (bytes.len > FL_STORE_BLOB_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "a file of %zu bytes: at most %d can be kept", bytes.len,
                       FL_STORE_BLOB_BYTES_MAX);
    }
    fl_hash have = fl_hash_of(bytes.ptr, bytes.len);
    if (memcmp(have.b, hash.b, sizeof hash.b) != 0) {
        char want_text[FL_HASH_TEXT_MAX];
        char have_text[FL_HASH_TEXT_MAX];
        return fl_fail(err, FL_EINVAL, "the bytes are not those of sha256 %s: theirs is %s",
                       fl_hash_format(want_text, hash), fl_hash_format(have_text, have));
    }
    return FL_OK;
}

fl_status fl_store_blob_put(fl_store *store, fl_hash hash, fl_sv bytes, fl_err *err)
{
    static const char sql[] = "INSERT INTO blob (sha256, content) VALUES (?, ?) "
                              "ON CONFLICT (sha256) DO NOTHING";
    fl_status status = check_blob(store, hash, bytes, err);
    if (status != FL_OK) {
        return status;
    }
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_hash(&query, &hash);
    fl_query_bind_blob(&query, bytes.ptr, bytes.len);
    return fl_query_run(&query, err);
}

static fl_status not_there(fl_hash hash, fl_err *err)
{
    char text[FL_HASH_TEXT_MAX];
    return fl_fail(err, FL_ENOTFOUND, "there is no photo or batch with sha256 %s",
                   fl_hash_format(text, hash));
}

fl_status fl_store_blob_get(fl_store *store, fl_hash hash, fl_arena *arena, fl_sv *bytes,
                            fl_err *err)
{
    static const char sql[] = "SELECT content FROM blob WHERE sha256 = ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_hash(&query, &hash);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sv got = is_row ? fl_query_bytes(&query, 0, arena) : (fl_sv){0};
    fl_query_end(&query);
    if (!is_row) {
        return not_there(hash, err);
    }
    fl_hash have = fl_hash_of(got.ptr, got.len);
    if (memcmp(have.b, hash.b, sizeof hash.b) != 0) {
        return fl_db_damaged(store, "blob", "a photo or batch differs from its hash", err);
    }
    *bytes = got;
    return FL_OK;
}

fl_status fl_store_blob_exists(fl_store *store, fl_hash hash, bool *exists, fl_err *err)
{
    static const char sql[] = "SELECT 1 FROM blob WHERE sha256 = ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_hash(&query, &hash);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    fl_query_end(&query);
    if (status == FL_OK) {
        *exists = is_row;
    }
    return status;
}

static fl_status take_hash(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    (void)err;
    *(fl_hash *)row = fl_query_hash(query, 0);
    return FL_OK;
}

fl_status fl_store_blobs(fl_store *store, fl_arena *arena, fl_hash **hashes, size_t *count,
                         fl_err *err)
{
    static const char sql[] = "SELECT sha256 FROM blob ORDER BY number";
    fl_query query = fl_query_open(store, sql);
    fl_rows all = {0};
    fl_status status = fl_query_all(&query, arena, sizeof **hashes, take_hash, &all, err);
    if (status == FL_OK) {
        *hashes = all.rows;
        *count = all.count;
    }
    return status;
}

fl_status fl_store_blob_size(fl_store *store, int64_t *count, int64_t *bytes, fl_err *err)
{
    /* length() reads the head of a row, not its content */
    static const char sql[] = "SELECT count(*), coalesce(sum(length(content)), 0) FROM blob";
    fl_query query = fl_query_open(store, sql);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status == FL_OK && is_row) {
        *count = fl_query_int(&query, 0);
        *bytes = fl_query_int(&query, 1);
    }
    fl_query_end(&query);
    return status;
}
