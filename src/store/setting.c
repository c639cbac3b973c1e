/* Constants of the room and secrets of the server: names and values. */
#include "base/limits.h"
#include "store/query.h"

fl_status fl_store_setting_get(fl_store *store, fl_sv name, fl_arena *arena, fl_sv *value,
                               fl_err *err)
{
    static const char sql[] = "SELECT value FROM setting WHERE name = ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_text(&query, name);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status != FL_OK) {
        return status;
    }
    if (is_row) {
        *value = fl_query_bytes(&query, 0, arena);
    } else {
        status = fl_fail(err, FL_ENOTFOUND, "the room has no setting \"%.*s\"", FL_SV_ARG(name));
    }
    fl_query_end(&query);
    return status;
}

fl_status fl_store_setting_put(fl_store *store, fl_sv name, fl_sv value, fl_err *err)
{
    static const char sql[] = "INSERT INTO setting (name, value) VALUES (?, ?) "
                              "ON CONFLICT (name) DO UPDATE SET value = excluded.value";
    if (name.len == 0 || name.len > FL_NAME_BYTES_MAX) {
        return fl_fail(err, FL_EINVAL, "a setting's name has 1 to %d bytes, not %zu",
                       FL_NAME_BYTES_MAX, name.len);
    }
    if (store->is_reader) {
        return fl_fail(err, FL_EFORBIDDEN, "%s was opened for reading only", store->file);
    }
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_text(&query, name);
    fl_query_bind_text(&query, value);
    return fl_query_run(&query, err);
}
