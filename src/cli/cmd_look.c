/* A look was done. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/found.h"
#include "view/words.h"

enum {
    EFFORT = FL_OPTION_FIRST,
    CARDS,
    DARK,
    SHARE,
    HANDS,
    LOT,
    FOUND,
    FOUND_UNKNOWN,
    REMOVED,
    NEW_GROWTH
};

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [EFFORT] = {"effort", FL_ARG_TEXT, .choices = "glance|careful|roots",
                .help = "else a glance; careful: leaf undersides, axils, mix surface"},
    [CARDS] = {"cards", FL_ARG_TEXT,
               .help = "cards and baits read: yellow_card, blue_card, potato, bait; a,b"},
    [DARK] = {"dark", FL_ARG_FLAG, .help = "it was after dark"},
    [SHARE] = {"share", FL_ARG_NUMBER, .min = 0.001, .max = 1,
               .help = "share of the plants that were looked at"},
    [HANDS] = {"hands", FL_ARG_TEXT, .choices = "cleaned|not_cleaned|unsure",
               .help = "tools and hands since the last place of this round; else unsure"},
    [LOT] = {"lot", FL_ARG_TEXT, .is_repeatable = true, .help = "only this lot was looked at"},
    [FOUND] = {"found", FL_ARG_TEXT, .is_repeatable = true,
               .help = "THREAT[:stage[:count]]@LOT; fernlock show threats lists the codes"},
    [FOUND_UNKNOWN] = {"found-unknown", FL_ARG_TEXT, .is_repeatable = true,
                       .help = "what it looked like, @LOT"},
    [REMOVED] = {"removed", FL_ARG_FLAG, .help = "what was seen was taken away"},
    [NEW_GROWTH] = {"new-growth", FL_ARG_FLAG, .help = "there are new leaves since the last look"},
};

static fl_status read_findings(fl_call *call, fl_ev_look_done *look, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *known = &call->value[FOUND];
    const fl_arg_value *unknown = &call->value[FOUND_UNKNOWN];
    fl_ev_finding *findings =
        FL_ARENA_ARRAY(&s->arena, fl_ev_finding, known->n_repeats + unknown->n_repeats);
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < known->n_repeats && status == FL_OK; i++) {
        status = fl_found_read(s, known->repeats[i], &findings[n++], err);
    }
    for (size_t i = 0; i < unknown->n_repeats && status == FL_OK; i++) {
        status = fl_found_read_unknown(s, unknown->repeats[i], &findings[n++], err);
    }
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        findings[i].is_removed = call->value[REMOVED].is_given;
        fl_compose_made(s, "finding", findings[i].finding,
                        findings[i].threat.len > 0 ? findings[i].threat : findings[i].what);
    }
    look->findings = findings;
    look->n_findings = n;
    return status;
}

static fl_status read_lots_looked_at(fl_call *call, fl_ev_look_done *look, fl_err *err)
{
    const fl_arg_value *value = &call->value[LOT];
    fl_id *ids = FL_ARENA_ARRAY(&call->s->arena, fl_id, value->n_repeats);
    fl_status status = FL_OK;
    for (size_t i = 0; i < value->n_repeats && status == FL_OK; i++) {
        const fl_lot *lot = NULL;
        status = fl_room_find_lot(&call->s->room, value->repeats[i], &lot, err);
        if (status == FL_OK) {
            ids[i] = lot->id;
        }
    }
    look->lots = (fl_id_list){ids, value->n_repeats};
    return status;
}

static fl_status compose_look(fl_call *call, fl_id place, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_event *event = NULL;
    fl_status status = fl_compose(call->s, FL_KIND_LOOK_DONE, &event, err);
    if (status != FL_OK) {
        return status;
    }
    fl_ev_look_done *look = &event->body.look_done;
    look->place = place;
    look->effort = value[EFFORT].is_given ? (fl_effort)value[EFFORT].choice : FL_EFFORT_GLANCE;
    look->is_after_dark = value[DARK].is_given;
    look->frac_examined = value[SHARE].is_given ? value[SHARE].number : 1.0;
    look->hands = value[HANDS].is_given ? (fl_hands)value[HANDS].choice : FL_HANDS_UNSURE;
    look->has_new_growth = value[NEW_GROWTH].is_given;
    if (value[CARDS].is_given) {
        status = fl_read_mask(value[CARDS].text, "--cards", fl_words_device, FL_DEVICE_COUNT,
                              &look->devices, err);
    }
    if (status == FL_OK) {
        status = read_lots_looked_at(call, look, err);
    }
    return status == FL_OK ? read_findings(call, look, err) : status;
}

#define ANSWERS_SHOWN 5

static fl_status print_look(fl_session *s, fl_id place, const fl_lot_date *before, size_t n_before,
                            fl_err *err)
{
    fl_sv name = fl_room_place_name(&s->room, place);
    const fl_ev_look_done *look = &s->events[0].body.look_done;
    (void)printf("Recorded: a look at %.*s (%s), ", FL_SV_ARG(name),
                 fl_words_effort[look->effort].word);
    if (look->n_findings == 0) {
        (void)puts("nothing found.");
        fl_sv less = fl_say_less_than_round(&s->room, look->effort, &s->arena);
        (void)printf("%.*s%s", FL_SV_ARG(less), less.len > 0 ? "\n" : "");
        return fl_print_answers(s, place, ANSWERS_SHOWN, err);
    }
    for (size_t i = 0; i < s->n_made; i++) {
        fl_sv code = fl_code_of(s, s->made[i].id);
        (void)printf("%s%.*s (%.*s)", i == 0 ? "found " : ", ", FL_SV_ARG(s->made[i].name),
                     FL_SV_ARG(code));
    }
    (void)puts(".");
    return fl_print_after_find(s, place, before, n_before, err);
}

static fl_status look_at(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    fl_lot_date *before = NULL;
    size_t n_before = 0;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status != FL_OK) {
        return status;
    }
    fl_id id = place->place;
    status = compose_look(call, id, err);
    if (status == FL_OK && s->events[0].body.look_done.n_findings > 0 && !s->cli->is_json) {
        status = fl_dates_of_place(s, id, &before, &n_before, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    return print_look(s, id, before, n_before, err);
}

static const fl_verb verbs[] = {
    {.usage = "PLACE [--effort EFFORT] [--found THREAT@LOT]… [--OPTION VALUE]…",
     .summary = "A look at a bin or an enclosure; without --found, nothing was found.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE", 1),
     .words_min = 1,
     .fn = look_at},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_look;
const fl_command fl_command_look = {
    .name = "look",
    .rank = 25,
    .summary = "a look was done: nothing found, or something",
    .usage = "PLACE [--OPTION VALUE]…",
    .example = "fernlock look \"bin 3\" --effort careful --cards yellow_card --hands cleaned",
    .fn = run,
    .help = help,
};
