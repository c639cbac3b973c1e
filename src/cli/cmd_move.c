/* Lots were moved: records what happened. `place` prices a move first. */
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"

enum { TO = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [TO] = {"to", FL_ARG_TEXT, .is_required = true, .help = "where they went"},
};

static fl_status move(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot **lots = NULL;
    size_t n_lots = 0;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    fl_status status = fl_read_lots(call, 0, &lots, &n_lots, err);
    if (status == FL_OK) {
        status = fl_room_find_place(&s->room, call->value[TO].text, &place, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_MOVED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.lot_moved.lots = fl_lot_ids(s, lots, n_lots);
    event->body.lot_moved.to = place->place;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv name = fl_room_place_name(&s->room, event->body.lot_moved.to);
        (void)printf("Recorded: %zu lot%s %s %.*s.\n", n_lots, n_lots == 1 ? "" : "s",
                     fl_place_in(s, event->body.lot_moved.to), FL_SV_ARG(name));
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT… --to PLACE",
     .summary = "Records that lots were moved, wherever to; place --in prices it first.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", FL_WORDS_MAX),
     .words_min = 1,
     .fn = move},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_move;
const fl_command fl_command_move = {
    .name = "move",
    .rank = 21,
    .summary = "lots were moved",
    .usage = "LOT… --to PLACE",
    .example = "fernlock move pilea --to \"bin 2\" --at 2026-03-08",
    .fn = run,
    .help = help,
};
