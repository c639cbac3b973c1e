/* Copies of the room that are known to be readable, and the record checked against itself: for the
 * keeper's own computer, not for a phone. */
#include <string.h>

#include "app/backup.h"
#include "base/civil.h"
#include "http/api.h"
#include "view/words.h"

/* A file's name without the folders: where the room lies is no answer of ours. */
static const char *bare_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

fl_status fl_api_backup_state(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_backup_state state;
    char day[FL_CIVIL_TEXT_MAX];
    fl_view view;
    fl_status status = fl_app_backup_state(app, &x->arena, &state, err);
    if (status == FL_OK) {
        status = fl_api_begin_plain(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = view.w;
    fl_json_begin_object(w, NULL);
    if (state.newest != NULL) {
        fl_json_put_cstr(w, "newest_file", bare_name(state.newest));
        fl_json_put_cstr(w, "newest_on",
                         fl_civil_format_date(day, state.newest_day * (int64_t)FL_DAY_S, 0));
    } else {
        fl_json_put_null(w, "newest_file");
        fl_json_put_null(w, "newest_on");
    }
    const fl_sv trouble = fl_say_backup(view.room, &state, &x->arena);
    if (trouble.len > 0) {
        fl_json_put_text(w, "trouble_text", trouble);
    } else {
        fl_json_put_null(w, "trouble_text");
    }
    fl_json_end(w);
    return fl_api_end(x, &view, FL_OK);
}

fl_status fl_api_backup(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_backup_made made = {0};
    const fl_status status = fl_app_backup(app, NULL, &x->arena, &made, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "file", bare_name(made.file));
    fl_json_put_int(w, "size_bytes", made.bytes);
    fl_json_put_int(w, "kept", (int64_t)made.n_kept);
    fl_json_put_int(w, "removed", (int64_t)made.n_removed);
    fl_view_verified(w, "holds", &made.holds);
    fl_json_end(w);
    x->reply = fl_reply_json(201, w, &x->arena);
    return FL_OK;
}

fl_status fl_api_verify(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_verified verified;
    const fl_status status = fl_app_verify(app, &verified, err);
    if (status == FL_OK) {
        fl_json_writer *w = fl_json_writer_new();
        fl_view_verified(w, NULL, &verified);
        x->reply = fl_reply_json(200, w, &x->arena);
    }
    return status;
}
