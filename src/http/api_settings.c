/* What the room and this installation are set to, in one answer. What the journal holds (name,
 * round, away) is changed by an event, room_set; the rest here: the calendar's zone and time, the
 * address on labels. The alarm's command is given at the start and only shown: it is a program. */
#include "app/paper.h"
#include "base/num.h"
#include "http/alarm.h"
#include "http/api.h"
#include "http/feed.h"
#include "print/calendar.h"
#include "print/label.h"
#include "view/words.h"

static void put_or_null(fl_json_writer *w, const char *key, fl_sv text)
{
    if (text.len > 0) {
        fl_json_put_text(w, key, text);
    } else {
        fl_json_put_null(w, key);
    }
}

/* The civil day of a moment in the room's zone; null for INT64_MAX. */
static void put_day(fl_exchange *x, fl_json_writer *w, const char *key, int64_t at_s)
{
    if (at_s == INT64_MAX) {
        fl_json_put_null(w, key);
        return;
    }
    fl_json_put_text(w, key, fl_say_civil(&x->snapshot->room, at_s, &x->arena));
}

static void put_alarm(const fl_exchange *x, fl_json_writer *w)
{
    fl_alarm_view alarm = {.has_bell = false};
    fl_sv command = FL_SV("");
    if (x->alarm != NULL) {
        fl_alarm_look(x->alarm, &alarm);
        command = fl_alarm_command(x->alarm);
    }
    fl_json_put_bool(w, "has_bell", alarm.has_bell);
    put_or_null(w, "alarm_command", command);
}

fl_status fl_api_settings(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_calendar_settings calendar;
    fl_sv url = FL_SV("");
    fl_status status = fl_snapshot_take(x->snapshot, app, err);
    if (status == FL_OK) {
        status = fl_calendar_settings_get(app, &x->arena, &calendar, err);
    }
    if (status == FL_OK) {
        status = fl_paper_base_url(app, &x->arena, &url, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_room *room = &x->snapshot->room;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "name", room->name);
    fl_json_put_text(w, "today_on", fl_say_civil(room, room->now_s, &x->arena));
    fl_json_put_int(w, "tz_offset_min", room->tz_offset_min);
    fl_json_put_int(w, "round_weekday", room->round_weekday);
    fl_json_put_cstr(w, "round_effort", fl_words_effort[room->round_effort].word);
    put_day(x, w, "away_from_on", room->away_from_s);
    put_day(x, w, "away_until_on", room->away_until_s);
    fl_json_put_bool(w, "is_away", fl_room_is_away(room, room->now_s));
    put_or_null(w, "zone", calendar.zone);
    fl_json_put_text(
        w, "round_time",
        fl_arena_printf(&x->arena, "%02d:%02d", calendar.minute / 60, calendar.minute % 60));
    fl_json_put_bool(w, "is_feed_open", fl_feed_is_open(app->dir));
    fl_json_put_text(w, "labels_url", url);
    put_alarm(x, w);
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}

/* ---- changing them ---- */

static fl_status read_minute(fl_sv text, int *minute, fl_err *err)
{
    int64_t hour = 0;
    int64_t rest = 0;
    fl_sv minutes = text;
    const fl_sv hours = fl_sv_split(&minutes, ':');
    fl_status status = fl_num_parse_int(hours, "/round_time: the hour", 0, 23, &hour, err);
    if (status == FL_OK) {
        status = fl_num_parse_int(minutes, "/round_time: the minute", 0, 59, &rest, err);
    }
    if (status == FL_OK) {
        *minute = (int)(hour * 60 + rest);
    }
    return status;
}

fl_status fl_api_settings_calendar(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_calendar_settings settings = {.minute = 0};
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status == FL_OK) {
        const fl_json_value *root = fl_json_root(doc);
        settings.zone =
            fl_arena_copy_sv(&x->arena, fl_json_text(fl_json_get(root, "zone"))); /* null: none */
        status = read_minute(fl_json_text(fl_json_get(root, "round_time")), &settings.minute, err);
    }
    fl_json_free(doc);
    if (status == FL_OK) {
        status = fl_calendar_check_zone(settings.zone, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_settings_put(app, &settings, err);
    }
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
    }
    return status;
}

fl_status fl_api_settings_labels(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_sv url = FL_SV("");
    fl_sv example;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status == FL_OK) {
        url = fl_arena_copy_sv(&x->arena,
                               fl_sv_trim(fl_json_text(fl_json_get(fl_json_root(doc), "url"))));
        if (url.len > 0) {
            status = fl_label_url(url, FL_SV("ABCDEF"), &x->arena, &example, err);
        }
    }
    fl_json_free(doc);
    if (status == FL_OK) {
        status = fl_paper_set_base_url(app, url, err);
    }
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
    }
    return status;
}
