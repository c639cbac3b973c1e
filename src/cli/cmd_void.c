/* An event that was wrong no longer counts. It stays in the journal. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/event_line.h"
#include "cli/find.h"

enum { WHY = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [WHY] = {"why", FL_ARG_TEXT, .help = "why it does not count"},
};

static fl_status void_event(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_event *wrong = NULL;
    fl_event *event = NULL;
    fl_status status = fl_find_recorded(s, call->words[0], &wrong, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_EVENT_VOIDED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_sv line = fl_event_line(s, wrong);
    event->body.event_voided.event = wrong->id;
    event->body.event_voided.why = call->value[WHY].text;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: this does not count any more:\n  %.*s\n", FL_SV_ARG(line));
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "EVENT [--why TEXT]",
     .summary =
         "The event of this id or code does not count; void the voiding and it counts again.",
     .args = FL_VERB_ARGS_WORDS(options, "EVENT", 1),
     .words_min = 1,
     .fn = void_event},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_void;
const fl_command fl_command_void = {
    .name = "void",
    .rank = 61,
    .summary = "an event was wrong and does not count",
    .usage = "EVENT [--why TEXT]",
    .example = "fernlock void 5c303ddc-f2fe-4ad3-9bb9-1d41846e3f04 --why \"the wrong bin\"",
    .fn = run,
    .help = help,
};
