/* Makes a room. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/zone.h"

enum { NAME, TZ, ROUND, EFFORT };

static const char *const weekdays[] = {"monday", "tuesday",  "wednesday", "thursday",
                                       "friday", "saturday", "sunday"};

static const fl_arg options[] = {
    [NAME] = {"name", FL_ARG_TEXT, .help = "what to call it"},
    [TZ] = {"tz", FL_ARG_TEXT,
            .help = "the room's offset from UTC, fixed for good: +01:00 (else this machine's)"},
    [ROUND] = {"round", FL_ARG_TEXT, .help = "the day on which you look at all bins",
               .choices = "monday|tuesday|wednesday|thursday|friday|saturday|sunday"},
    [EFFORT] = {"effort", FL_ARG_TEXT, .choices = "glance|careful|roots",
                .help = "how you look on that day"},
};

static void print_made(fl_session *s)
{
    int minutes = s->app.tz_offset_min;
    int shown = minutes < 0 ? -minutes : minutes;
    (void)printf("Made the room \"%.*s\" in %s.\n", FL_SV_ARG(s->room.name), s->app.dir);
    (void)printf("Its zone is UTC%c%02d:%02d, its round is on %s, a look there is %s.\n",
                 minutes < 0 ? '-' : '+', shown / 60, shown % 60, weekdays[s->room.round_weekday],
                 fl_words_effort[s->room.round_effort].word);
    (void)puts("Next: fernlock place add, fernlock source add; or fernlock already-here.");
}

static fl_status make_room(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    fl_clock clock = fl_session_clock(s);
    int tz_offset_min = fl_zone_of_machine(clock.now_utc_s(clock.context));
    fl_event *event = NULL;
    fl_status status = FL_OK;
    if (value[TZ].is_given) {
        status = fl_zone_read(value[TZ].text, &tz_offset_min, err);
    }
    if (status == FL_OK) {
        status = fl_app_open(fl_cli_room(s->cli), true, tz_offset_min, clock, &s->app, err);
        s->is_open = status == FL_OK;
    }
    if (status == FL_OK) {
        status = fl_session_load(s, err);
    }
    if (status == FL_OK && s->room.position > 0) {
        return fl_fail(err, FL_ECONFLICT, "there is a room in %.150s already: give another folder",
                       s->app.dir);
    }
    if (status == FL_OK) {
        s->at_s = fl_app_now(&s->app);
        status = fl_compose(s, FL_KIND_ROOM_SET, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_room_set *set = &event->body.room_set;
    set->name = value[NAME].text;
    set->round_weekday = value[ROUND].is_given ? value[ROUND].choice : 6;
    set->round_effort =
        value[EFFORT].is_given ? (fl_effort)value[EFFORT].choice : FL_EFFORT_CAREFUL;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        print_made(s);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "[--name TEXT] [--tz +01:00] [--round DAY] [--effort EFFORT]",
     .summary = "Makes the folder of --room and an empty room in it.",
     .args = FL_VERB_ARGS(options),
     .needs = FL_NEEDS_NOTHING,
     .fn = make_room},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_init;
const fl_command fl_command_init = {
    .name = "init",
    .rank = 1,
    .summary = "make a room",
    .usage = "[--OPTION VALUE]…",
    .example = "fernlock --room room init --name \"the shelf in the hall\" --round sunday",
    .fn = run,
    .help = help,
};
