/* An existing collection comes into the record: no date is needed, and nothing is overdue. */
#include <stdio.h>

#include "app/gate.h"
#include "app/moving_in.h"
#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/lot_spec.h"
#include "view/moving_in.h"

enum { SOURCE = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [SOURCE] = {"source", FL_ARG_TEXT, .help = "where they once came from, when known"},
};

enum { PREVIEW = FL_OPTION_FIRST };
static const fl_arg list_options[] = {
    FL_OPTIONS_RECORDING,
    [PREVIEW] = {"preview", FL_ARG_FLAG, .help = "only show how it is understood"},
};

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
                                    .use = spec.has_use ? spec.use : fl_use_strictest(place->uses),
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

/* ---- a list ---- */

static void print_list(const fl_moving_in *moving, fl_sv text)
{
    const fl_moving_place *place = NULL;
    for (size_t i = 0; i < moving->n_lots; i++) {
        const fl_moving_lot *lot = &moving->lots[i];
        if (lot->place != place) {
            place = lot->place;
            (void)printf("%.*s (%s%s)\n", FL_SV_ARG(place->name),
                         fl_words_place_kind[place->kind].text, place->is_new ? ", new" : "");
        }
        (void)printf("  %lld %.*s%s\n", (long long)lot->count, FL_SV_ARG(lot->name),
                     lot->row != NULL ? "" : ", not in the plant table");
    }
    for (size_t i = 0; i < moving->n_troubles; i++) {
        (void)printf("line %zu: %.*s\n", moving->troubles[i].line,
                     FL_SV_ARG(moving->troubles[i].text));
    }
    (void)printf("%.*s\n", FL_SV_ARG(text));
}

static fl_status record_list(fl_call *call, const fl_moving_in *moving, fl_id key, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *events = NULL;
    size_t n = 0;
    const bool is_recorded = !call->value[PREVIEW].is_given && moving->n_troubles == 0;
    fl_status status = FL_OK;
    fl_moving_in_events(moving, key, s->at_s, &s->arena, &events, &n);
    if (is_recorded && n > 0) {
        status = fl_app_record_events(&s->app, events, n, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_moving_in(&view, NULL, moving, is_recorded, events, n);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else {
        print_list(moving, fl_say_moving_in(moving, &s->arena));
        (void)puts(is_recorded ? "Recorded." : "Nothing is recorded.");
    }
    call->code = is_recorded || moving->n_troubles == 0 ? FL_EXIT_YES : FL_EXIT_NO;
    return FL_OK;
}

static fl_status from_list(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_moving_in moving;
    fl_str text;
    const fl_id key = fl_compose_id(s);
    const fl_sv path = fl_arena_copy_sv(&s->arena, call->words[0]);
    fl_str_init(&text, FL_MOVING_IN_BYTES_MAX);
    fl_status status = fl_cli_read_file(path.ptr, FL_MOVING_IN_BYTES_MAX, &text, err);
    if (status == FL_OK) {
        status = fl_moving_in_read(&s->room, fl_str_sv(&text), key, &s->arena, &moving, err);
    }
    if (status == FL_OK) {
        status = record_list(call, &moving, key, err);
    }
    fl_str_done(&text);
    return status;
}

static const fl_verb verbs[] = {
    {.name = "list",
     .usage = "FILE [--preview]",
     .summary =
         "All of it from a text file: \"Brook (5 small frogs): 3 Ficus pumila, Pilea\", or a "
         "place and a colon, and its plants on lines of their own.",
     .args = FL_VERB_ARGS_WORDS(list_options, "FILE", 1),
     .words_min = 1,
     .fn = from_list},
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
    .usage = "PLACE LOT… | list FILE",
    .example = "fernlock already-here \"frog room\" \"2x Ficus pumila\" \"Monstera adansonii\"",
    .fn = run,
    .help = help,
};
