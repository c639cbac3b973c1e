/* Cuttings or divisions are taken. */
#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"

enum { COUNT = FL_OPTION_FIRST, FORM, USE, TO };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [COUNT] = {"count", FL_ARG_INT, .is_required = true, .min = 1, .max = 1000000,
               .help = "how many were taken"},
    [FORM] = {"form", FL_ARG_TEXT, .choices = "unrooted_cutting|bare_root|potted",
              .help = "else unrooted cuttings; a division is bare_root or potted"},
    [USE] = {"use", FL_ARG_TEXT, .choices = "plants_only|reptile|invertebrate|amphibian|stock",
             .help = "what they are for; else what their mother is for"},
    [TO] = {"to", FL_ARG_TEXT, .is_required = true, .help = "where they stand"},
};

static fl_status read_form(const fl_arg_value *value, fl_form *out, fl_err *err)
{
    int form = FL_FORM_UNROOTED_CUTTING;
    fl_status status = FL_OK;
    if (value->is_given) {
        status = fl_read_word(value->text, "--form", fl_words_form, FL_FORM_COUNT, &form, err);
    }
    *out = (fl_form)form;
    return status;
}

static fl_status cut(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_lot *mother = NULL;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    fl_form form;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &mother, err);
    if (status == FL_OK) {
        status = fl_room_find_place(&s->room, value[TO].text, &place, err);
    }
    if (status == FL_OK) {
        status = read_form(&value[FORM], &form, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_CUT, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_cut *body = &event->body.lot_cut;
    *body = (fl_ev_lot_cut){.mother = mother->id,
                            .lot = fl_compose_id(s),
                            .count = value[COUNT].integer,
                            .form = form,
                            .use = value[USE].is_given ? (fl_use)value[USE].choice : mother->use,
                            .place = place->place};
    fl_compose_made(s, "lot", body->lot, fl_room_lot_name(&s->room, mother));
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, body->lot);
        (void)fputs("Recorded: ", stdout);
        if (lot != NULL) {
            fl_print_lot(s, lot);
        }
        (void)fputs(".\n", stdout);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "LOT --count N --to PLACE [--form FORM] [--use USE]",
     .summary = "A new lot, cut from this one. What can ride a cutting comes along; a division "
                "takes all.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", 1),
     .words_min = 1,
     .fn = cut},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_cut;
const fl_command fl_command_cut = {
    .name = "cut",
    .rank = 40,
    .summary = "cuttings or divisions were taken",
    .usage = "LOT --count N --to PLACE [--OPTION VALUE]…",
    .example = "fernlock cut pilea --count 4 --to \"jar 1\" --use stock",
    .fn = run,
    .help = help,
};
