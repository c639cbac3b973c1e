/* Plants of a tray go into pots of their own: a split where they are not all, the potting up, the
 * move; one command, all or nothing. */
#include <math.h>
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/nursery.h"

enum { COUNT = FL_OPTION_FIRST, CONTAINER, TO };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [COUNT] = {"count", FL_ARG_INT, .min = 1, .max = 1000000, .help = "how many; else all of them"},
    [CONTAINER] = {"into", FL_ARG_TEXT, .help = "what they stand in now: \"9 cm pots\""},
    [TO] = {"to", FL_ARG_TEXT, .help = "where they stand now; else where they were"},
};

static fl_status compose_step(fl_call *call, fl_id part, fl_err *err)
{
    fl_event *event = NULL;
    fl_arena *arena = &call->s->arena;
    const fl_status status = fl_compose(call->s, FL_KIND_STEP_DONE, &event, err);
    if (status != FL_OK) {
        return status;
    }
    fl_id *lots = FL_ARENA_NEW(arena, fl_id);
    fl_ev_step *step = FL_ARENA_NEW(arena, fl_ev_step);
    *lots = part;
    *step = (fl_ev_step){.lots = {lots, 1},
                         .step = FL_STEP_POT_UP,
                         .agent = FL_AGENT_NONE,
                         .dose_mg_per_l = (double)NAN,
                         .pct = (double)NAN,
                         .temp_c = (double)NAN,
                         .minutes = (double)NAN,
                         .container = call->value[CONTAINER].text};
    event->body.step_done.steps = step;
    event->body.step_done.n_steps = 1;
    return FL_OK;
}

static fl_status compose_move(fl_session *s, fl_id part, const fl_ev_place_set *place, fl_err *err)
{
    fl_event *event = NULL;
    const fl_status status = fl_compose(s, FL_KIND_LOT_MOVED, &event, err);
    if (status == FL_OK) {
        fl_id *lots = FL_ARENA_NEW(&s->arena, fl_id);
        *lots = part;
        event->body.lot_moved = (fl_ev_lot_moved){.lots = {lots, 1}, .to = place->place};
    }
    return status;
}

static fl_status pot_on(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_lot *lot = NULL;
    const fl_ev_place_set *place = NULL;
    fl_id part;
    int64_t n = 0;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK && value[TO].is_given) {
        status = fl_room_find_place(&s->room, value[TO].text, &place, err);
    }
    if (status == FL_OK) {
        status = fl_nursery_part(s, lot, &value[COUNT], &part, &n, err);
    }
    if (status == FL_OK) {
        status = compose_step(call, part, err);
    }
    if (status == FL_OK && place != NULL && !fl_id_eq(place->place, lot->place)) {
        status = compose_move(s, part, place, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        const fl_lot *potted = fl_meaning_lot(&s->room.meaning, part);
        (void)printf("Recorded: %lld potted on", (long long)n);
        if (potted != NULL) {
            (void)fputs(": ", stdout);
            fl_print_lot(s, potted);
        }
        (void)puts(".");
        fl_nursery_print(s, part);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT [--count N] [--into CONTAINER] [--to PLACE]",
     .summary = "Some plants of a lot, or all, are potted on. They keep their lineage, dates, "
                "chances and residues; of a tray, what is left stays one lot.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = pot_on},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_pot_on;
const fl_command fl_command_pot_on = {
    .name = "pot-on",
    .rank = 41,
    .summary = "plants of a tray go into pots of their own",
    .usage = "LOT [--count N] [--into CONTAINER] [--to PLACE]",
    .example = "fernlock pot-on pilea --count 12 --into \"9 cm pots\" --to \"bin 3\"",
    .fn = run,
    .help = help,
};
