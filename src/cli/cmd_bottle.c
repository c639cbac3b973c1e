/* Bottles of what dips are mixed from. */
#include <math.h>
#include <stdio.h>

#include "cli/compose.h"
#include "cli/find.h"
#include "view/words.h"

enum { AGENT = FL_OPTION_FIRST, LABEL, GRAVITY, STORE };
enum { STRENGTH = FL_OPTION_FIRST };

static const fl_arg add_options[] = {
    FL_OPTIONS_RECORDING,
    [AGENT] = {"agent", FL_ARG_TEXT, .choices = "bleach|permanganate|peroxide|soap|thiosulfate",
               .help = "what is in it; else bleach"},
    [LABEL] = {"label-pct", FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 100,
               .help = "percent of active, as the label says"},
    [GRAVITY] = {"specific-gravity", FL_ARG_NUMBER, .min = 0.5, .max = 3, .help = "kg per litre"},
    [STORE] = {"store-c", FL_ARG_NUMBER, .min = -30, .max = 60, .help = "where it stands, °C"},
};
static const fl_arg test_options[] = {
    FL_OPTIONS_RECORDING,
    [STRENGTH] = {"strength-pct", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 100,
                  .help = "what the strip says, in the label's unit"},
};

static fl_status add_bottle(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    fl_event *event = NULL;
    int agent = FL_AGENT_BLEACH;
    fl_status status = FL_OK;
    if (value[AGENT].is_given) {
        status =
            fl_read_word(value[AGENT].text, "--agent", fl_words_agent, FL_AGENT_COUNT, &agent, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_BOTTLE_OPENED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_bottle_opened *bottle = &event->body.bottle_opened;
    *bottle = (fl_ev_bottle_opened){
        .bottle = fl_compose_id(s),
        .agent = (fl_agent)agent,
        .name = call->words[0],
        .label_pct = value[LABEL].number,
        .specific_gravity = value[GRAVITY].is_given ? value[GRAVITY].number : (double)NAN,
        .store_c = value[STORE].is_given ? value[STORE].number : (double)NAN};
    fl_compose_made(s, "bottle", bottle->bottle, bottle->name);
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv code = fl_code_of(s, bottle->bottle);
        (void)printf("Recorded: %.*s (%.*s), %s, opened. A bottle grows weaker from now on.\n",
                     FL_SV_ARG(s->made[0].name), FL_SV_ARG(code), fl_words_agent[agent].text);
    }
    return status;
}

static fl_status test_bottle(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_bottle_opened *bottle = NULL;
    fl_event *event = NULL;
    fl_status status = fl_find_bottle(s, call->words[0], &bottle, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_BOTTLE_TESTED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.bottle_tested.bottle = bottle->bottle;
    event->body.bottle_tested.strength_pct = call->value[STRENGTH].number;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)puts("Recorded: the reading counts from now on, in place of the label and the age.");
    }
    return status;
}

static void print_json(fl_session *s)
{
    char text[FL_ID_TEXT_MAX];
    char at[FL_CIVIL_TEXT_MAX];
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "bottles");
    for (size_t i = 0; i < s->room.defs.bottles.count; i++) {
        const fl_event *event = s->room.defs.bottles.events[i];
        const fl_ev_bottle_opened *bottle = &event->body.bottle_opened;
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "id", fl_id_format(text, bottle->bottle));
        fl_json_put_text(w, "code", fl_code_of(s, bottle->bottle));
        fl_json_put_text(w, "name", bottle->name);
        fl_json_put_cstr(w, "agent", fl_words_agent[bottle->agent].word);
        fl_json_put_number(w, "label_pct", bottle->label_pct);
        fl_json_put_cstr(w, "opened_at", fl_civil_format_utc(at, event->at_s));
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status list_bottles(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    (void)err;
    if (s->cli->is_json) {
        print_json(s);
        return FL_OK;
    }
    for (size_t i = 0; i < s->room.defs.bottles.count; i++) {
        const fl_event *event = s->room.defs.bottles.events[i];
        const fl_ev_bottle_opened *bottle = &event->body.bottle_opened;
        fl_sv code = fl_code_of(s, bottle->bottle);
        fl_sv date = fl_say_date(&s->room, event->at_s, event->precision, &s->arena);
        (void)printf("%.*s (%.*s), %s, %g %% on the label, opened %.*s\n", FL_SV_ARG(bottle->name),
                     FL_SV_ARG(code), fl_words_agent[bottle->agent].text, bottle->label_pct,
                     FL_SV_ARG(date));
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "NAME --label-pct P [--OPTION VALUE]…",
     .summary = "A bottle was opened.",
     .args = FL_VERB_ARGS_WORDS(add_options, "NAME", 1),
     .words_min = 1,
     .fn = add_bottle},
    {.name = "test",
     .usage = "NAME --strength-pct P",
     .summary = "A test strip was read.",
     .args = FL_VERB_ARGS_WORDS(test_options, "NAME", 1),
     .words_min = 1,
     .fn = test_bottle},
    {.name = "list", .usage = "", .summary = "All bottles.", .fn = list_bottles},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_bottle;
const fl_command fl_command_bottle = {
    .name = "bottle",
    .rank = 17,
    .summary = "a bottle was opened, or tested with a strip",
    .usage = "add|test|list [NAME] [--OPTION VALUE]…",
    .example = "fernlock bottle add \"plain bleach\" --label-pct 6 --store-c 18",
    .fn = run,
    .help = help,
};
