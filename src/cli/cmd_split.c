/* A lot becomes two. */
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"

enum { COUNT = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [COUNT] = {"count", FL_ARG_INT, .is_required = true, .min = 1, .max = 1000000,
               .help = "plants that go to the new lot"},
};

static fl_status split(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_event *event = NULL;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_SPLIT, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_split *body = &event->body.lot_split;
    *body = (fl_ev_lot_split){
        .lot = lot->id, .new_lot = fl_compose_id(s), .count = call->value[COUNT].integer};
    fl_compose_made(s, "lot", body->new_lot, fl_room_lot_name(&s->room, lot));
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        const fl_lot *new_lot = fl_meaning_lot(&s->room.meaning, body->new_lot);
        (void)fputs("Recorded: ", stdout);
        if (new_lot != NULL) {
            fl_print_lot(s, new_lot);
        }
        (void)fputs(", on its own now.\n", stdout);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT --count N",
     .summary = "Some plants of a lot become a lot of their own, where they stand.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = split},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_split;
const fl_command fl_command_split = {
    .name = "split",
    .rank = 41,
    .summary = "a lot becomes two",
    .usage = "LOT --count N",
    .example = "fernlock split pilea --count 2",
    .fn = run,
    .help = help,
};
