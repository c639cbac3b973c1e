/* The calendar: as a file for who is signed in, and at its secret address. */
#include "http/api.h"
#include "http/feed.h"
#include "print/calendar.h"

static fl_status write_calendar(fl_exchange *x, fl_app *app, fl_err *err)
{
    fl_str text;
    fl_calendar_settings settings;
    fl_calendar_entry *entries = NULL;
    size_t count = 0;
    fl_status status = fl_snapshot_take(x->snapshot, app, err);
    if (status == FL_OK) {
        status = fl_calendar_settings_get(app, &x->arena, &settings, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_make(app, &x->snapshot->room, x->snapshot->chances, &x->arena,
                                  &entries, &count, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_str_init(&text, FL_CALENDAR_BYTES_MAX);
    status = fl_calendar_write(entries, count, x->snapshot->room.name, settings.zone, &text, err);
    if (status == FL_OK) {
        fl_api_reply_file(x, "text/calendar; charset=utf-8", "fernlock.ics",
                          fl_arena_copy_sv(&x->arena, fl_str_sv(&text)));
    }
    fl_str_done(&text);
    return status;
}

fl_status fl_api_calendar_file(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    return write_calendar(x, app, err);
}

/* A wrong token is told like any page that is not there. */
fl_status fl_api_feed(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    if (!fl_feed_takes(app->dir, x->param[0])) {
        x->reply = fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, &x->arena);
        return FL_OK;
    }
    return write_calendar(x, app, err);
}

static void put_state(fl_exchange *x, const fl_app *app, const fl_calendar_settings *settings)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_bool(w, "is_open", fl_feed_is_open(app->dir));
    if (settings->zone.len > 0) {
        fl_json_put_text(w, "zone", settings->zone);
    } else {
        fl_json_put_null(w, "zone");
    }
    fl_json_put_text(
        w, "round_time",
        fl_arena_printf(&x->arena, "%02d:%02d", settings->minute / 60, settings->minute % 60));
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
}

fl_status fl_api_calendar(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_calendar_settings settings;
    fl_status status = fl_calendar_settings_get(app, &x->arena, &settings, err);
    if (status == FL_OK) {
        put_state(x, app, &settings);
    }
    return status;
}

fl_status fl_api_feed_open(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    char token[FL_SECRET_TEXT_MAX];
    fl_status status = fl_feed_open(app->dir, token, err);
    if (status == FL_OK) {
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "path",
                         fl_arena_printf(&x->arena, FL_FEED_PATH "%s" FL_FEED_NAME, token));
        fl_json_end(w);
        x->reply = fl_reply_json(201, w, &x->arena);
    }
    return status;
}

fl_status fl_api_feed_close(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_status status = fl_feed_close(app->dir, err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
    }
    return status;
}
