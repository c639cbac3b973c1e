/* Asks the gate for one lot. */
#include "cli/answer.h"
#include "cli/compose.h"
#include "view/words_course.h"

enum { FOR, INTO, LOOKS, EVERY_DAYS, EFFORT, CARDS, TEMP_C, SEALED, LOOKS_MOST };

static const fl_arg options[] = {
    [FOR] = {"for", FL_ARG_TEXT,
             .help = "uses to ask for: stock, plants_only, amphibian, reptile, invertebrate; a,b"},
    [INTO] = {"into", FL_ARG_TEXT, .help = "the enclosure it would go into: asks for its uses"},
    [LOOKS] = {"looks", FL_ARG_FLAG,
               .help =
                   "when to look, what a missed look moves, and what would bring the date forward"},
    [EVERY_DAYS] = {"every-days", FL_ARG_INT, .min = 5, .max = 28,
                    .help = "with --looks: from look to look (else 7)"},
    [EFFORT] = {"effort", FL_ARG_TEXT, .choices = "glance|careful|roots",
                .help = "with --looks: how each look is made (else as your rounds are)"},
    [CARDS] = {"cards", FL_ARG_TEXT,
               .help = "with --looks: read at each: yellow_card, blue_card, potato, bait; a,b"},
    [TEMP_C] = {"temp-c", FL_ARG_NUMBER, .min = 5, .max = 35,
                .help = "with --looks: the place brought to this now"},
    [SEALED] = {"sealed", FL_ARG_FLAG, .help = "with --looks: the box taken to close tight"},
    [LOOKS_MOST] = {"looks-most", FL_ARG_INT, .min = 1, .max = FL_LOOKS_DAYS_MAX,
                    .help = "with --looks: no more looks than this"},
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

/* ---- looks ---- */

static fl_status read_options(const fl_call *call, fl_looks_options *o, fl_err *err)
{
    const fl_arg_value *value = call->value;
    o->every_days = value[EVERY_DAYS].is_given ? (int)value[EVERY_DAYS].integer : o->every_days;
    o->effort = value[EFFORT].is_given ? (fl_effort)value[EFFORT].choice : o->effort;
    o->temp_c = value[TEMP_C].is_given ? value[TEMP_C].number : o->temp_c;
    o->n_looks = value[LOOKS_MOST].is_given ? (int)value[LOOKS_MOST].integer : o->n_looks;
    o->is_sealed = value[SEALED].is_given;
    return value[CARDS].is_given ? fl_read_mask(value[CARDS].text, "--cards", fl_words_device,
                                                FL_DEVICE_COUNT, &o->devices, err)
                                 : FL_OK;
}

static fl_status print_examine(fl_session *s, fl_looks *looks, const fl_looks_options *o,
                               fl_err *err)
{
    fl_examine examine;
    fl_status status = fl_examine_lot(fl_looks_report(looks), o->effort, o->devices, &examine, err);
    if (status == FL_OK) {
        fl_sv text = fl_say_examine(&examine, &s->arena);
        (void)printf("%.*s\n", FL_SV_ARG(text));
    }
    return status;
}

/* The plan in words, what a missed look moves, and every what-if that changes anything. */
static fl_status print_plan(fl_session *s, fl_looks *looks, const fl_looks_options *o, fl_err *err)
{
    fl_looks_plan plan;
    fl_status status = fl_looks_make_plan(looks, o, &plan, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sv text = fl_say_looks_plan(&s->room, &plan, &s->arena);
    (void)printf("Looks every %d days, %s.\n%.*s\n", o->every_days, fl_words_effort[o->effort].text,
                 FL_SV_ARG(text));
    for (int k = 0; k < plan.n_days; k++) {
        if (plan.days[k].is_look && plan.days[k].missed_s != plan.release_s) {
            fl_sv day = fl_say_release(&s->room, plan.days[k].at_s, &s->arena);
            fl_sv missed = fl_say_release(&s->room, plan.days[k].missed_s, &s->arena);
            (void)printf("  without the look of %.*s: %.*s\n", FL_SV_ARG(day), FL_SV_ARG(missed));
        }
    }
    status = print_examine(s, looks, o, err);
    (void)puts("What if:");
    for (int kind = 0; kind < FL_WHAT_IF_COUNT && status == FL_OK; kind++) {
        fl_what_if what;
        status = fl_looks_what_if(looks, o, (fl_what_if_kind)kind, &s->arena, &what, err);
        if (status == FL_OK && what.applies) {
            fl_sv say = fl_say_what_if(&s->room, &what, &s->arena);
            (void)printf("  %.*s\n", FL_SV_ARG(say));
        }
    }
    return status;
}

static fl_status answer_looks(fl_call *call, const fl_lot *lot, unsigned uses, fl_err *err)
{
    fl_session *s = call->s;
    fl_looks *looks = NULL;
    fl_status status = fl_looks_open(s->chances, &s->room, lot, uses, &s->arena, &looks, err);
    if (status != FL_OK) {
        return status;
    }
    fl_looks_options asked = fl_looks_usual(looks);
    status = read_options(call, &asked, err);
    if (status != FL_OK || !s->cli->is_json) {
        return status == FL_OK ? print_plan(s, looks, &asked, err) : status;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    status = fl_view_looks(&view, NULL, looks, &asked, err);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

static fl_status check_looks(const fl_call *call, fl_err *err)
{
    for (int i = EVERY_DAYS; i <= LOOKS_MOST; i++) {
        if (call->value[i].is_given && !call->value[LOOKS].is_given) {
            return fl_fail(err, FL_EINVAL, "--%s goes with --looks: give that too",
                           options[i].name);
        }
    }
    return FL_OK;
}

static fl_status gate(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_gate_report report;
    unsigned uses = 0;
    fl_id place = {{0}};
    fl_status status = check_looks(call, err);
    if (status == FL_OK) {
        status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    }
    if (status == FL_OK) {
        status = read_uses(call, &uses, &place, err);
    }
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status == FL_OK && call->value[LOOKS].is_given) {
        return answer_looks(call, lot, uses, err);
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
    {.usage = "LOT [--for USE,… | --into ENCLOSURE] [--looks [--OPTION VALUE]…]",
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
