/* Makes the demo room: a committed history, shifted so that it ends today, recorded the ordinary
 * way into a new room that is marked as a demo. */
#include <stdio.h>

#include "base/limits.h"
#include "cli/compose.h"
#include "cli/demo.h"
#include "cli/demo_readings.h"
#include "cli/zone.h"
#include "generated/demo.h"
#include "json/event_codec.h"

#define DEMO_BYTES_MAX ((size_t)64 << 20)

enum { TZ, FROM };

static const fl_arg options[] = {
    [TZ] = {"tz", FL_ARG_TEXT, .help = "the room's offset from UTC: +01:00 (else this machine's)"},
    [FROM] = {"from", FL_ARG_TEXT,
              .help = "another history, in JSON Lines, whose day 2026-11-25 becomes today"},
};

/* The history while it is read and shifted. */
typedef struct history {
    fl_session *s;
    fl_event *events;
    size_t n_events;
} history;

static size_t count_lines(fl_sv text)
{
    size_t n = 1;
    for (size_t i = 0; i < text.len; i++) {
        n += text.ptr[i] == '\n' ? 1U : 0U;
    }
    return n;
}

static fl_status read_events(history *h, fl_sv text, fl_err *err)
{
    size_t number = 0;
    h->events = FL_ARENA_ARRAY(&h->s->arena, fl_event, count_lines(text));
    while (text.len > 0) {
        fl_err why = {0};
        fl_sv line = fl_sv_trim(fl_sv_split(&text, '\n'));
        number++;
        if (line.len == 0) {
            continue;
        }
        fl_status status =
            fl_event_read(line, FL_DEMO_TZ_MIN, &h->s->arena, &h->events[h->n_events], NULL, &why);
        if (status != FL_OK) {
            return fl_fail(err, status, "line %zu: %s", number, why.message);
        }
        h->n_events++;
    }
    return FL_OK;
}

/* From the demo's own today to the room's. A day less when its last events would be ahead of the
 * clock: it is early in the morning. */
static int64_t days_to_shift(const history *h)
{
    int tz = h->s->app.tz_offset_min;
    int64_t zone_s = (FL_DEMO_TZ_MIN - tz) * (int64_t)60;
    int64_t now_s = fl_app_now(&h->s->app);
    fl_civil now = fl_civil_from_utc(now_s, tz);
    int64_t days = fl_civil_days(now.year, now.month, now.day) -
                   fl_civil_days(FL_DEMO_TODAY_YEAR, FL_DEMO_TODAY_MONTH, FL_DEMO_TODAY_DAY);
    for (size_t i = 0; i < h->n_events; i++) {
        if (h->events[i].precision == FL_PRECISION_EXACT &&
            h->events[i].at_s + days * FL_DAY_S + zone_s > now_s + FL_FUTURE_S_MAX) {
            return days - 1;
        }
    }
    return days;
}

static fl_status shift_all(history *h, fl_err *err)
{
    bool is_marked = false;
    int64_t days = days_to_shift(h);
    fl_status status = FL_OK;
    for (size_t i = 0; i < h->n_events && status == FL_OK; i++) {
        is_marked = is_marked || h->events[i].kind == FL_KIND_ROOM_SET;
        status = fl_demo_shift(&h->events[i], days, h->s->app.tz_offset_min, &h->s->arena, err);
    }
    if (status == FL_OK && !is_marked) {
        return fl_fail(err, FL_EINVAL, "the history has no room_set: nothing would mark the room");
    }
    return status;
}

/* All in one transaction: the room is whole, or empty. */
static fl_status record_all(history *h, fl_err *err)
{
    fl_status status = fl_app_record_events(&h->s->app, h->events, h->n_events, err);
    return status == FL_OK ? fl_session_load(h->s, err) : status;
}

static fl_status open_new_room(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_clock clock = fl_session_clock(s);
    int tz_offset_min = fl_zone_of_machine(clock.now_utc_s(clock.context));
    fl_status status = FL_OK;
    if (call->value[TZ].is_given) {
        status = fl_zone_read(call->value[TZ].text, &tz_offset_min, err);
    }
    if (status == FL_OK) {
        status = fl_app_open(fl_cli_room(s->cli), true, tz_offset_min, clock, &s->app, err);
        s->is_open = status == FL_OK;
    }
    if (status == FL_OK) {
        status = fl_session_load(s, err);
    }
    if (status == FL_OK && s->room.position > 0) {
        return fl_fail(err, FL_ECONFLICT,
                       "there is a room in %.120s already: the demo goes into a new folder",
                       s->app.dir);
    }
    return status;
}

static fl_status read_history(fl_call *call, fl_str *text, fl_err *err)
{
    if (call->value[FROM].is_given) {
        return fl_cli_read_file(call->value[FROM].text.ptr, DEMO_BYTES_MAX, text, err);
    }
    if (fl_embedded_demo_count == 0) {
        return fl_fail(err, FL_ENOTFOUND, "this build has no demo history: give --from FILE.jsonl");
    }
    fl_str_append(text, (fl_sv){(const char *)fl_embedded_demo[0].bytes, fl_embedded_demo[0].len});
    return FL_OK;
}

static void print_demo(fl_session *s)
{
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_room(&view, NULL);
        fl_print_json(w);
        fl_json_writer_free(w);
        return;
    }
    (void)printf("Made the demo room \"%.*s\" in %s: %lld events, %zu lots. All of it is "
                 "invented.\nNext: fernlock --room %s today\n",
                 FL_SV_ARG(s->room.name), s->app.dir, (long long)s->room.position,
                 s->room.meaning.n_lots, s->app.dir);
}

static fl_status make_demo(fl_call *call, fl_err *err)
{
    history h = {.s = call->s};
    fl_str text;
    fl_str_init(&text, DEMO_BYTES_MAX);
    fl_status status = read_history(call, &text, err);
    if (status == FL_OK) {
        status = open_new_room(call, err);
    }
    if (status == FL_OK) {
        status = read_events(&h, fl_str_sv(&text), err);
    }
    if (status == FL_OK) {
        status = shift_all(&h, err);
    }
    if (status == FL_OK) {
        status = record_all(&h, err);
    }
    if (status == FL_OK && !call->value[FROM].is_given) {
        status = fl_demo_readings(call->s, err);
    }
    fl_str_done(&text);
    if (status == FL_OK) {
        print_demo(call->s);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "[--tz +01:00]",
     .summary = "Makes the folder of --room, and in it a room with a year of invented history that "
                "ends today.",
     .args = FL_VERB_ARGS(options),
     .needs = FL_NEEDS_NOTHING,
     .fn = make_demo},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_demo;
const fl_command fl_command_demo = {
    .name = "demo",
    .rank = 80,
    .summary = "make a room of invented data to try things in",
    .usage = "[--tz +01:00]",
    .example = "fernlock --room demo demo",
    .fn = run,
    .help = help,
};
