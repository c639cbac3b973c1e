/* The room as a whole: itself, what is due, whether something changed. */
#include "base/num.h"
#include "http/api.h"

fl_status fl_api_room(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_view_room(&view, NULL);
    return fl_api_end(x, &view, FL_OK);
}

fl_status fl_api_today(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_today today;
    fl_sv plain = FL_SV("");
    const bool is_plain =
        fl_request_query(x->request, "plain", &plain) && fl_sv_eq(plain, FL_SV("true"));
    fl_status status =
        is_plain ? fl_api_begin_plain(x, app, &view, err) : fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_today_list(view.chances, view.room, &x->arena, &today, err);
    if (status == FL_OK) {
        fl_view_today(&view, NULL, &today);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_changes(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    int64_t since = 0;
    int64_t position = 0;
    fl_sv text = FL_SV("");
    fl_status status = FL_OK;
    if (!fl_request_query(x->request, "since", &text)) {
        return fl_fail(err, FL_EINVAL, "since is missing: give a position, or 0");
    }
    status = fl_num_parse_int(text, "since", 0, INT64_MAX, &since, err);
    if (status == FL_OK) {
        status = fl_app_position(app, &position, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_view_changes(w, since, position, fl_app_now(app));
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}
