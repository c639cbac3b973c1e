/* Asks the gate for one lot. */
#include "cli/answer.h"
#include "cli/compose.h"

enum { FOR, INTO };

static const fl_arg options[] = {
    [FOR] = {"for", FL_ARG_TEXT,
             .help = "uses to ask for: stock, plants_only, amphibian, reptile, invertebrate; a,b"},
    [INTO] = {"into", FL_ARG_TEXT, .help = "the enclosure it would go into: asks for its uses"},
};

static fl_status read_uses(fl_call *call, unsigned *uses, fl_id *place, fl_err *err)
{
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *into = NULL;
    *uses = 0;
    *place = (fl_id){{0}};
    if (value[FOR].is_given && value[INTO].is_given) {
        return fl_fail(err, FL_EINVAL, "--for and --into are both given: give one of them");
    }
    if (value[FOR].is_given) {
        return fl_read_mask(value[FOR].text, "--for", fl_words_use, FL_USE_COUNT, uses, err);
    }
    if (!value[INTO].is_given) {
        return FL_OK;
    }
    fl_status status = fl_room_find_place(&call->s->room, value[INTO].text, &into, err);
    if (status == FL_OK) {
        *uses = fl_gate_uses_of_place(into);
        *place = into->place;
    }
    return status;
}

static fl_status print_answer(fl_session *s, const fl_gate_report *report, fl_id place, fl_err *err)
{
    if (!s->cli->is_json) {
        fl_print_gate(s, report);
        return fl_print_totals(s, place, err);
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_gate(&view, NULL, report);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static fl_status gate(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_gate_report report;
    unsigned uses = 0;
    fl_id place = {{0}};
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK) {
        status = read_uses(call, &uses, &place, err);
    }
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status == FL_OK) {
        status = fl_gate_ask(s->chances, &s->room, lot, uses, &s->arena, &report, err);
    }
    if (status == FL_OK) {
        call->code = report.answer.is_open ? FL_EXIT_YES : FL_EXIT_NO;
        status = print_answer(s, &report, place, err);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT [--for USE,… | --into ENCLOSURE]",
     .summary = "Is it quiet enough for where it is to go? Exit code 0: yes, 1: not now.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = gate},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_gate;
const fl_command fl_command_gate = {
    .name = "gate",
    .rank = 30,
    .summary = "may this lot go there today, and if not, what is missing and until when",
    .usage = "LOT [--for USE,… | --into ENCLOSURE]",
    .example = "fernlock --room room gate pilea --into \"frog room\"",
    .fn = run,
    .help = help,
};
