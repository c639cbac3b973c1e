/* The keeper goes away, or is back: nothing is asked meanwhile, and dates do not count on looks. */
#include <stdio.h>

#include "cli/compose.h"
#include "view/words.h"

enum { FROM = FL_OPTION_FIRST, UNTIL };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [FROM] = {"from", FL_ARG_TEXT, .help = "the first day away: 2027-07-01; else today"},
    [UNTIL] = {"until", FL_ARG_TEXT, .is_required = true, .help = "the day you are back"},
};
static const fl_arg back_options[] = {FL_OPTIONS_RECORDING};

/* The settings as they are: an event that sets them all keeps what is not changed. */
static fl_status compose_settings(fl_session *s, fl_sv from, fl_sv until, fl_err *err)
{
    fl_event *event = NULL;
    const fl_status status = fl_compose(s, FL_KIND_ROOM_SET, &event, err);
    if (status == FL_OK) {
        event->body.room_set.round_effort = s->room.round_effort;
        event->body.room_set.is_demo = s->room.is_demo;
        event->body.room_set.away_from = from;
        event->body.room_set.away_until = until;
    }
    return status;
}

static fl_status read_days(fl_call *call, fl_sv *from, fl_sv *until, fl_err *err)
{
    fl_session *s = call->s;
    int64_t from_s;
    int64_t until_s;
    fl_precision precision;
    *until = call->value[UNTIL].text;
    *from = call->value[FROM].is_given ? call->value[FROM].text
                                       : fl_say_civil(&s->room, s->room.now_s, &s->arena);
    fl_status status = fl_civil_parse(*from, s->room.tz_offset_min, &from_s, &precision, err);
    if (status == FL_OK) {
        status = fl_civil_parse(*until, s->room.tz_offset_min, &until_s, &precision, err);
    }
    if (status == FL_OK && until_s <= from_s) {
        status = fl_fail(err, FL_EDOMAIN, "--until %.*s: give a day after %.*s", FL_SV_ARG(*until),
                         FL_SV_ARG(*from));
    }
    return status;
}

static fl_status go_away(fl_call *call, fl_err *err)
{
    fl_sv from;
    fl_sv until;
    fl_status status = read_days(call, &from, &until, err);
    if (status == FL_OK) {
        status = compose_settings(call->s, from, until, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(call->s, err);
    }
    if (status == FL_OK && !fl_compose_told(call->s)) {
        (void)printf("Recorded: away from %.*s until %.*s. Nothing is asked meanwhile; dates count "
                     "on no look before you are back.\n",
                     FL_SV_ARG(from), FL_SV_ARG(until));
    }
    return status;
}

static fl_status come_back(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_sv today = fl_say_civil(&s->room, s->room.now_s, &s->arena);
    fl_sv from = today;
    if (s->room.away_from_s != INT64_MAX && s->room.away_from_s < s->room.now_s) {
        from = fl_say_civil(&s->room, s->room.away_from_s, &s->arena);
    }
    fl_status status = compose_settings(s, from, today, err);
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)puts("Recorded: you are back. One round now: fernlock today");
    }
    return status;
}

static const fl_verb verbs[] = {
    {.name = "back",
     .usage = "",
     .summary = "You are back, sooner than told.",
     .args = FL_VERB_ARGS(back_options),
     .fn = come_back},
    {.usage = "[--from DATE] --until DATE",
     .summary = "You are away: nothing is asked, and one round waits for the day you are back.",
     .args = FL_VERB_ARGS(options),
     .fn = go_away},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_away;
const fl_command fl_command_away = {
    .name = "away",
    .rank = 45,
    .summary = "nobody looks for a while: lists and dates take it into account",
    .usage = "[--from DATE] --until DATE | back",
    .example = "fernlock away --from 2027-07-01 --until 2027-07-15",
    .fn = run,
    .help = help,
};
