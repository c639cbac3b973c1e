/* The calendar: as a file, and the secret address that calendars read it from. */
#include "app/calendar.h"
#include "app/files.h"
#include "app/paper.h"
#include "base/num.h"
#include "cli/compose.h"
#include "http/feed.h"
#include "print/calendar.h"

/* ---- the file ---- */

enum { OUT };

static const fl_arg file_options[] = {
    [OUT] = {"out", FL_ARG_TEXT, .is_required = true,
             .help = "the file; - is standard output. A file that is there is replaced"},
};

static fl_status write_file(fl_call *call, const fl_calendar_entry *entries, size_t count,
                            fl_err *err)
{
    fl_str text;
    fl_calendar_settings settings;
    fl_session *s = call->s;
    const char *path = fl_arena_copy_sv(&s->arena, call->value[OUT].text).ptr;
    fl_str_init(&text, FL_CALENDAR_BYTES_MAX);
    fl_status status = fl_calendar_settings_get(&s->app, &s->arena, &settings, err);
    if (status == FL_OK) {
        status = fl_calendar_write(entries, count, s->room.name, settings.zone, &text, err);
    }
    if (status == FL_OK) {
        status = fl_files_write(path, fl_str_sv(&text), true, err);
    }
    fl_str_done(&text);
    return status;
}

static fl_status file(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_calendar_entry *entries = NULL;
    size_t count = 0;
    size_t n_cancelled = 0;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_calendar_make(&s->app, &s->room, s->chances, &s->arena, &entries, &count, err);
    }
    if (status == FL_OK) {
        status = write_file(call, entries, count, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_publish(&s->app, entries, count, err);
    }
    if (status != FL_OK || fl_sv_eq_cstr(call->value[OUT].text, "-")) {
        return status;
    }
    for (size_t i = 0; i < count; i++) {
        n_cancelled += entries[i].is_cancelled ? 1U : 0U;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "file", call->value[OUT].text);
        fl_json_put_int(w, "entries", (int64_t)(count - n_cancelled));
        fl_json_put_int(w, "cancelled", (int64_t)n_cancelled);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else {
        (void)printf("%.*s: %zu entries, %zu cancelled.\n", FL_SV_ARG(call->value[OUT].text),
                     count - n_cancelled, n_cancelled);
    }
    return FL_OK;
}

/* ---- the address ---- */

static fl_status address(fl_call *call, fl_err *err)
{
    char token[FL_SECRET_TEXT_MAX];
    fl_sv base;
    fl_session *s = call->s;
    fl_status status = fl_paper_base_url(&s->app, &s->arena, &base, err);
    if (status == FL_OK) {
        status = fl_feed_open(s->app.dir, token, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "path",
                         fl_arena_printf(&s->arena, FL_FEED_PATH "%s" FL_FEED_NAME, token));
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    (void)printf("%.*s" FL_FEED_PATH "%s" FL_FEED_NAME "\n", FL_SV_ARG(base), token);
    (void)puts("It reads the calendar and nothing else, while `serve` runs. It is shown once; an "
               "address\nmade before is closed. Put the name or number in front that your phone "
               "reaches this\nmachine by.");
    return FL_OK;
}

static fl_status revoke(fl_call *call, fl_err *err)
{
    fl_status status = fl_feed_close(call->s->app.dir, err);
    if (status == FL_OK && !call->s->cli->is_json) {
        (void)puts("The calendar's address is closed.");
    }
    return status;
}

/* ---- settings ---- */

enum { ZONE, TIME };

static const fl_arg set_options[] = {
    [ZONE] = {"zone", FL_ARG_TEXT,
              .help = "where rounds happen, as Europe/Vienna; none: wherever the reader is"},
    [TIME] = {"time", FL_ARG_TEXT, .help = "of a round, as 18:00"},
};

static fl_status read_minute(fl_sv text, int *minute, fl_err *err)
{
    int64_t hour = 0;
    int64_t rest = 0;
    fl_sv minutes = text;
    fl_sv hours = fl_sv_split(&minutes, ':');
    fl_status status = fl_num_parse_int(hours, "time", 0, 23, &hour, err);
    if (status == FL_OK) {
        status = fl_num_parse_int(minutes, "time", 0, 59, &rest, err);
    }
    if (status == FL_OK) {
        *minute = (int)(hour * 60 + rest);
    }
    return status;
}

static fl_status set(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_calendar_settings settings;
    fl_status status = fl_calendar_settings_get(&s->app, &s->arena, &settings, err);
    if (status == FL_OK && call->value[ZONE].is_given) {
        fl_sv zone = call->value[ZONE].text;
        settings.zone = fl_sv_eq_cstr(zone, "none") ? FL_SV("") : zone;
        status = fl_calendar_check_zone(settings.zone, err);
    }
    if (status == FL_OK && call->value[TIME].is_given) {
        status = read_minute(call->value[TIME].text, &settings.minute, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_settings_put(&s->app, &settings, err);
    }
    if (status == FL_OK && !s->cli->is_json) {
        (void)printf(
            "Rounds are at %02d:%02d, %.*s.\n", settings.minute / 60, settings.minute % 60,
            FL_SV_ARG(settings.zone.len > 0 ? settings.zone : FL_SV("wherever the reader is")));
    }
    return status;
}

static const fl_verb verbs[] = {
    {.name = "file",
     .usage = "--out FILE.ics",
     .summary =
         "Rounds of looks, releases, long soaks, upkeep and builds as iCalendar. What was in "
         "an earlier file and is no more is in it as cancelled.",
     .args = FL_VERB_ARGS(file_options),
     .fn = file},
    {.name = "address",
     .usage = "",
     .summary = "A new secret address that calendars read it from while `serve` runs; the one "
                "before it is closed.",
     .needs = FL_NEEDS_APP,
     .fn = address},
    {.name = "revoke",
     .usage = "",
     .summary = "Closes the secret address.",
     .needs = FL_NEEDS_APP,
     .fn = revoke},
    {.name = "set",
     .usage = "[--zone Europe/Vienna] [--time 18:00]",
     .summary = "Where and at what time a round is.",
     .args = FL_VERB_ARGS(set_options),
     .needs = FL_NEEDS_APP,
     .fn = set},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_calendar;
const fl_command fl_command_calendar = {
    .name = "calendar",
    .rank = 61,
    .summary = "what is ahead, for your calendar: a file, or a secret address",
    .usage = "file|address|revoke|set …",
    .example = "fernlock --room room calendar file --out room.ics",
    .fn = run,
    .help = help,
};
