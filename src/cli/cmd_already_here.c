/* An existing collection comes into the record: no date is needed, and nothing is overdue. */
#include <stdio.h>

#include "app/gate.h"
#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/lot_spec.h"

enum { SOURCE = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [SOURCE] = {"source", FL_ARG_TEXT, .help = "where they once came from, when known"},
};

/* The strictest of the uses of a place: the lists of uses are in that order. */
static fl_use strictest_of(unsigned uses)
{
    fl_use strictest = FL_USE_PLANTS_ONLY;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        strictest = (uses & (1U << use)) != 0 ? (fl_use)use : strictest;
    }
    return strictest;
}

static fl_status compose_lot(fl_session *s, fl_sv text, const fl_ev_place_set *place, fl_id source,
                             fl_err *err)
{
    fl_lot_spec spec;
    fl_event *event = NULL;
    fl_id plant;
    fl_status status = fl_lot_spec_read(text, &spec, err);
    if (status == FL_OK) {
        spec.form = spec.has_form ? spec.form : FL_FORM_POTTED;
        status = fl_lot_spec_plant(s, &spec, &plant, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_ALREADY_HERE, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_already_here *lot = &event->body.lot_already_here;
    *lot = (fl_ev_lot_already_here){.lot = fl_compose_id(s),
                                    .plant = plant,
                                    .name = fl_form_is_material(spec.form) ? spec.name : FL_SV(""),
                                    .count = spec.count,
                                    .form = spec.form,
                                    .use = spec.has_use ? spec.use : strictest_of(place->uses),
                                    .place = place->place,
                                    .source = source};
    fl_compose_made(s, "lot", lot->lot, spec.name);
    return FL_OK;
}

static void print_here(fl_session *s)
{
    size_t n_lots = 0;
    for (size_t i = 0; i < s->n_made; i++) {
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, s->made[i].id);
        if (lot != NULL) {
            fl_print_lot(s, lot);
            (void)fputc('\n', stdout);
            n_lots++;
        }
    }
    (void)printf("Recorded: %zu lot%s that %s here already.\n", n_lots, n_lots == 1 ? "" : "s",
                 n_lots == 1 ? "was" : "were");
}

static fl_status already_here(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    const fl_ev_source_set *source = NULL;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK && call->value[SOURCE].is_given) {
        status = fl_room_find_source(&s->room, call->value[SOURCE].text, &source, err);
    }
    const fl_id from = source != NULL ? source->source : (fl_id){{0}};
    for (size_t i = 1; i < call->n_words && status == FL_OK; i++) {
        status = compose_lot(s, call->words[i], place, from, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        print_here(s);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "PLACE \"3x Ficus pumila\"… [--source S]",
     .summary = "What grows here already. Each: COUNTx PLANT, then a form and a use if you like; "
                "else potted, and what the place is for.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE and a lot", FL_WORDS_MAX),
     .words_min = 2,
     .fn = already_here},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_already_here;
const fl_command fl_command_already_here = {
    .name = "already-here",
    .rank = 14,
    .summary = "what grew here before you kept this record",
    .usage = "PLACE LOT…",
    .example = "fernlock already-here \"frog room\" \"2x Ficus pumila\" \"Monstera adansonii\"",
    .fn = run,
    .help = help,
};
