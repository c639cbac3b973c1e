/* Releases a lot: asks the gate, and freezes its answer in the event. */
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/gate_kept.h"
#include "view/words.h"

enum { INTO = FL_OPTION_FIRST, ANYWAY };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [INTO] = {"into", FL_ARG_TEXT, .is_required = true,
              .help = "an enclosure, a stock bin, or outside"},
    [ANYWAY] = {"anyway", FL_ARG_FLAG, .help = "go ahead although the gate says no"},
};

/* What is released, and what the gate says of it. */
typedef struct release {
    fl_call *call;
    fl_session *s;
    const fl_lot *lot;
    const fl_ev_place_set *place;
    fl_gate_report report;
} release;

static fl_status record_release(release *r, bool is_asked, fl_err *err)
{
    fl_session *s = r->s;
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_LOT_RELEASED, &event, err);
    if (status == FL_OK && is_asked) {
        status = fl_gate_keep(s, &r->report, &event->body.lot_released, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_released *body = &event->body.lot_released;
    body->lot = r->lot->id;
    body->to = r->place->place;
    fl_sv label = fl_lot_label(s, r->lot);
    status = fl_compose_record(s, err);
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    fl_sv name = fl_room_place_name(&s->room, body->to);
    (void)printf("Recorded: %.*s is released into %.*s%s.\n", FL_SV_ARG(label), FL_SV_ARG(name),
                 body->is_against_gate ? ", against the gate" : "");
    status = fl_session_chances(s, err);
    return status == FL_OK ? fl_print_totals(s, body->to, err) : status;
}

/* The gate says no: what is missing, and nothing is recorded. */
static fl_status refuse(release *r, fl_err *err)
{
    fl_session *s = r->s;
    r->call->code = FL_EXIT_NO;
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_gate(&view, NULL, &r->report);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    fl_print_gate(s, &r->report);
    fl_status status = fl_print_totals(s, r->place->place, err);
    (void)puts("Nothing is recorded. To release it all the same: --anyway");
    return status;
}

/* A release that was not told on its day: what the gate would have said then is not known. */
static bool is_told_late(const fl_session *s)
{
    return s->at_s < s->room.now_s - FL_DAY_S;
}

static fl_status release_lot(fl_call *call, fl_err *err)
{
    release r = {.call = call, .s = call->s};
    fl_session *s = call->s;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &r.lot, err);
    if (status == FL_OK) {
        status = fl_room_find_place(&s->room, call->value[INTO].text, &r.place, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (is_told_late(s)) {
        return record_release(&r, false, err);
    }
    status = fl_session_chances(s, err);
    if (status == FL_OK) {
        unsigned uses = fl_gate_uses_of_place(r.place);
        status = fl_gate_ask(s->chances, &s->room, r.lot, uses, &s->arena, &r.report, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (!r.report.answer.is_open && !call->value[ANYWAY].is_given) {
        return refuse(&r, err);
    }
    return record_release(&r, true, err);
}

static const fl_verb verbs[] = {
    {.usage = "LOT --into PLACE [--anyway]",
     .summary = "Asks the gate for what the place is for; its answer is kept with the release. "
                "Exit code 1: it says no, and nothing is recorded.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = release_lot},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_release;
const fl_command fl_command_release = {
    .name = "release",
    .rank = 31,
    .summary = "a lot goes into its enclosure, if the gate says so",
    .usage = "LOT --into PLACE [--anyway]",
    .example = "fernlock release pilea --into \"frog room\"",
    .fn = run,
    .help = help,
};
