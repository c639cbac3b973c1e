/* Plants are given or sold: to whom is a place outside, made when it is new. The gate is asked for
 * what the lot is for, and its answer is kept with it: what was known on that day. */
#include <math.h>
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/gate_kept.h"
#include "cli/nursery.h"
#include "view/words.h"

enum { COUNT = FL_OPTION_FIRST, TO, ANYWAY };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [COUNT] = {"count", FL_ARG_INT, .min = 1, .max = 1000000, .help = "how many; else all of them"},
    [TO] = {"to", FL_ARG_TEXT, .is_required = true, .help = "who gets them, by any name"},
    [ANYWAY] = {"anyway", FL_ARG_FLAG, .help = "go ahead although the gate says no"},
};

/* The place outside of this name; composed when there is none. A name of another place is refused:
 * plants that stay here are moved. */
static fl_status find_taker(fl_session *s, fl_sv name, fl_id *out, fl_err *err)
{
    fl_event *event = NULL;
    for (size_t i = 0; i < s->room.defs.places.count; i++) {
        const fl_ev_place_set *place = &s->room.defs.places.events[i]->body.place_set;
        if (fl_sv_eq_nocase(place->name, name) && place->kind == FL_PLACE_OUTSIDE) {
            *out = place->place;
            return FL_OK;
        }
        if (fl_sv_eq_nocase(place->name, name)) {
            return fl_fail(err, FL_EINVAL, "--to \"%.*s\" is a place here: fernlock move",
                           FL_SV_ARG(name));
        }
    }
    const fl_status status = fl_compose(s, FL_KIND_PLACE_SET, &event, err);
    if (status == FL_OK) {
        *out = fl_compose_id(s);
        event->body.place_set = (fl_ev_place_set){.place = *out,
                                                  .name = name,
                                                  .kind = FL_PLACE_OUTSIDE,
                                                  .set_temp_c = (double)NAN,
                                                  .volume_l = (double)NAN,
                                                  .shelf = -1};
        fl_compose_made(s, "place", *out, name);
    }
    return status;
}

static fl_status refuse(fl_call *call, const fl_gate_report *report)
{
    fl_session *s = call->s;
    call->code = FL_EXIT_NO;
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_gate(&view, NULL, report);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    fl_print_gate(s, report);
    (void)puts("Nothing is recorded. To give it all the same: --anyway");
    return FL_OK;
}

static fl_status record(fl_call *call, const fl_lot *lot, const fl_gate_report *report, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *event = NULL;
    fl_id part;
    fl_id to;
    int64_t n = 0;
    const fl_sv name = fl_lot_label(s, lot);
    fl_status status = find_taker(s, call->value[TO].text, &to, err);
    if (status == FL_OK) {
        status = fl_nursery_part(s, lot, &call->value[COUNT], &part, &n, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_RELEASED, &event, err);
    }
    if (status == FL_OK && report != NULL) {
        status = fl_gate_keep(s, report, &event->body.lot_released, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const bool is_against = event->body.lot_released.is_against_gate;
    event->body.lot_released.lot = part;
    event->body.lot_released.to = to;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: %lld of %.*s to %.*s%s.\n", (long long)n, FL_SV_ARG(name),
                     FL_SV_ARG(call->value[TO].text), is_against ? ", against the gate" : "");
        fl_nursery_print(s, part);
    }
    return status;
}

static fl_status give(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_gate_report report;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status != FL_OK) {
        return status;
    }
    if (s->at_s < s->room.now_s - FL_DAY_S) {
        return record(call, lot, NULL, err); /* what the gate would have said then is not known */
    }
    status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_gate_ask(s->chances, &s->room, lot, 0, &s->arena, &report, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (!report.answer.is_open && !call->value[ANYWAY].is_given) {
        return refuse(call, &report);
    }
    return record(call, lot, &report, err);
}

static const fl_verb verbs[] = {
    {.usage = "LOT --to NAME [--count N] [--anyway]",
     .summary = "Plants are given or sold. Asks the gate for what the lot is for; its answer is "
                "kept. Exit code 1: it says no, and nothing is recorded.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = give},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_give;
const fl_command fl_command_give = {
    .name = "give",
    .rank = 42,
    .summary = "plants are given or sold, and to whom",
    .usage = "LOT --to NAME [--count N] [--anyway]",
    .example = "fernlock give pilea --count 6 --to \"plant club, May\"",
    .fn = run,
    .help = help,
};
