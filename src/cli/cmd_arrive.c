/* Lots come home. */
#include <stdio.h>

#include "app/triage.h"
#include "base/shown.h"
#include "cli/answer.h"
#include "cli/arrive_sheet.h"
#include "cli/arrive_triage.h"
#include "cli/compose.h"
#include "cli/lot_spec.h"
#include "view/words.h"

enum { SOURCE = FL_OPTION_FIRST, PLACE };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [SOURCE] = {"source", FL_ARG_TEXT, .is_required = true, .help = "where they come from"},
    [PLACE] = {"place", FL_ARG_TEXT, .is_required = true,
               .help = "where they stand now, usually the bench"},
};

static fl_status compose_lot(fl_call *call, fl_sv text, const fl_ev_lot_arrived *shared,
                             fl_err *err)
{
    fl_session *s = call->s;
    fl_lot_spec spec;
    fl_event *event = NULL;
    fl_id plant;
    fl_status status = fl_lot_spec_read(text, &spec, err);
    if (status == FL_OK && (!spec.has_form || !spec.has_use)) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\": give its form and use, as in %s", FL_SHOWN(text),
                       "3x Pilea:potted:amphibian");
    }
    if (status == FL_OK) {
        status = fl_lot_spec_plant(s, &spec, &plant, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_LOT_ARRIVED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_lot_arrived *lot = &event->body.lot_arrived;
    *lot = *shared;
    lot->lot = fl_compose_id(s);
    lot->plant = plant;
    lot->name = fl_form_is_material(spec.form) ? spec.name : FL_SV("");
    lot->count = spec.count;
    lot->form = spec.form;
    lot->use = spec.use;
    lot->label_active = spec.label_active;
    lot->is_label_clean = spec.is_label_clean;
    lot->cost = spec.cost;
    lot->take_back_days = spec.take_back_days;
    fl_compose_made(s, "lot", lot->lot, spec.name);
    return FL_OK;
}

#define RISKS_SHOWN 3

/* What it could carry, those first that are likeliest. */
static fl_status print_risks(fl_session *s, const fl_lot *lot, fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *all = FL_ARENA_ARRAY(&s->arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(s->chances, lot, all, &n, err);
    if (status != FL_OK) {
        return status;
    }
    for (int shown = 0; shown < RISKS_SHOWN; shown++) {
        fl_lot_chance *best = NULL;
        for (size_t i = 0; i < n; i++) {
            bool counts = all[i].threat != NULL && all[i].chance >= 0.01;
            best = counts && (best == NULL || all[i].chance > best->chance) ? &all[i] : best;
        }
        if (best == NULL) {
            (void)fputs(shown == 0 ? ": hardly carries anything" : "", stdout);
            break;
        }
        fl_sv chance = fl_say_chance(best->chance, &s->arena);
        fl_sv names = fl_say_plural(best->threat, &s->arena);
        (void)printf("%s%.*s %.*s", shown == 0 ? ": could carry " : ", ", FL_SV_ARG(names),
                     FL_SV_ARG(chance));
        best->threat = NULL;
    }
    (void)fputc('\n', stdout);
    return FL_OK;
}

/* Keep, tip, send back, refuse: which way each leans. */
static fl_status print_leanings(fl_session *s, fl_err *err)
{
    const fl_lot **lots = FL_ARENA_ARRAY(&s->arena, const fl_lot *, s->n_made);
    size_t n = 0;
    for (size_t i = 0; i < s->n_made; i++) {
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, s->made[i].id);
        if (lot != NULL && fl_triage_is_on_trial(&s->room, lot)) {
            lots[n++] = lot;
        }
    }
    return n > 0 && n <= FL_TRIAGE_LOTS_MAX ? fl_print_triage(s, lots, n, err) : FL_OK;
}

static fl_status print_arrived(fl_session *s, fl_err *err)
{
    fl_status status = fl_session_chances(s, err);
    for (size_t i = 0; i < s->n_made && status == FL_OK; i++) {
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, s->made[i].id);
        if (lot != NULL) {
            fl_print_lot(s, lot);
            status = print_risks(s, lot, err);
        }
    }
    if (status == FL_OK) {
        status = print_leanings(s, err);
    }
    if (status == FL_OK) {
        (void)puts("Recorded. Next: fernlock prep, or weighed in full: fernlock arrive triage");
    }
    return status;
}

static fl_status arrive(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_source_set *source = NULL;
    const fl_ev_place_set *place = NULL;
    fl_status status = fl_room_find_source(&s->room, call->value[SOURCE].text, &source, err);
    if (status == FL_OK) {
        status = fl_room_find_place(&s->room, call->value[PLACE].text, &place, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_ev_lot_arrived shared = {
        .arrival = fl_compose_id(s), .source = source->source, .place = place->place};
    fl_compose_made(s, "arrival", shared.arrival, source->name);
    for (size_t i = 0; i < call->n_words && status == FL_OK; i++) {
        status = compose_lot(call, call->words[i], &shared, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    return status == FL_OK && !fl_compose_told(s) ? print_arrived(s, err) : status;
}

static const fl_verb verbs[] = {
    FL_ARRIVE_SHEET_VERBS,
    FL_ARRIVE_TRIAGE_VERB,
    {.usage = "--source S --place BENCH \"3x Pilea cadierei:potted:amphibian\"…",
     .summary = "Lots brought home together. Each: COUNTx PLANT:FORM:USE, then clean, "
                "label=ACTIVE, cost=N or back=DAYS (the seller takes it back so long).",
     .args =
         FL_VERB_ARGS_WORDS(options, "a lot, as in \"3x Pilea:potted:amphibian\"", FL_WORDS_MAX),
     .words_min = 1,
     .fn = arrive},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_arrive;
const fl_command fl_command_arrive = {
    .name = "arrive",
    .rank = 15,
    .summary = "lots come home together",
    .usage = "--source S --place BENCH LOT… | triage [LOT…] | sheet FILE.csv … | undo BATCH",
    .example = "fernlock arrive --source nursery --place bench \"3x Pilea:potted:amphibian\"",
    .fn = run,
    .help = help,
};
