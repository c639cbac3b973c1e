/* Plants of a lot were lost. */
#include <stdio.h>

#include "cli/compose.h"

enum { COUNT = FL_OPTION_FIRST, WHY };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [COUNT] = {"count", FL_ARG_INT, .min = 1, .max = 1000000,
               .help = "how many; else all that are left"},
    [WHY] = {"why", FL_ARG_TEXT, .help = "why"},
};

static fl_status lose(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_event *event = NULL;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK && !call->value[COUNT].is_given && lot->count < 1) {
        return fl_fail(err, FL_EINVAL,
                       "nothing is left of it: give --count to record it all the same");
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_LOST, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_lost *body = &event->body.lot_lost;
    body->lot = lot->id;
    body->count = call->value[COUNT].is_given ? call->value[COUNT].integer : lot->count;
    body->why = call->value[WHY].text;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        const fl_lot *left = fl_meaning_lot(&s->room.meaning, body->lot);
        fl_sv label = left != NULL ? fl_lot_label(s, left) : FL_SV("the lot");
        (void)printf("Recorded: %lld of %.*s lost, %lld left.\n", (long long)body->count,
                     FL_SV_ARG(label), left != NULL ? (long long)left->count : 0LL);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT [--count N] [--why TEXT]",
     .summary = "Plants of a lot died or were thrown away.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = lose},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_lose;
const fl_command fl_command_lose = {
    .name = "lose",
    .rank = 42,
    .summary = "plants of a lot were lost",
    .usage = "LOT [--count N] [--why TEXT]",
    .example = "fernlock lose pilea --count 1 --why \"rotted at the crown\"",
    .fn = run,
    .help = help,
};
