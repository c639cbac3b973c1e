/* A threat that the keeper lives with in one place. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/found.h"

enum { OFF = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [OFF] = {"off", FL_ARG_FLAG, .help = "no longer tolerated there"},
};

static fl_status tolerate(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status = fl_found_check_code(call->words[1], err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_TOLERATED_SET, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_tolerated_set *body = &event->body.tolerated_set;
    body->place = place->place;
    body->threat = call->words[1];
    body->is_tolerated = !call->value[OFF].is_given;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv name = fl_room_place_name(&s->room, body->place);
        if (body->is_tolerated) {
            (void)printf("Recorded: %.*s is lived with in %.*s. No hold there for it; it still "
                         "travels with whatever leaves.\n",
                         FL_SV_ARG(body->threat), FL_SV_ARG(name));
        } else {
            (void)printf("Recorded: %.*s is not tolerated in %.*s any more.\n",
                         FL_SV_ARG(body->threat), FL_SV_ARG(name));
        }
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "PLACE THREAT [--off]",
     .summary = "You live with it there: no hold, but it travels with whatever leaves.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE and THREAT", 2),
     .words_min = 2,
     .fn = tolerate},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_tolerate;
const fl_command fl_command_tolerate = {
    .name = "tolerate",
    .rank = 43,
    .summary = "a threat you live with in one place",
    .usage = "PLACE THREAT [--off]",
    .example = "fernlock tolerate \"moss wall\" fungus_gnat",
    .fn = run,
    .help = help,
};
