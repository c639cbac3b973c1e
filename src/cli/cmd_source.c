/* Sources: where plants come from. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/find.h"

enum { KIND = FL_OPTION_FIRST, ANIMALS, TAKE_BACK, NO_ANIMALS, NAME };

#define TAKE_BACK_HELP "it takes plants back for so many days"
#define TAKE_BACK_DAYS_MAX 3650

#define SOURCE_KINDS                                                                               \
    "chain_store|nursery|market_stall|mail_order|tissue_culture_lab|trade|own_stock|"              \
    "own_enclosure|outdoors"

static const fl_arg add_options[] = {
    FL_OPTIONS_RECORDING,
    [KIND] = {"kind", FL_ARG_TEXT, .is_required = true, .choices = SOURCE_KINDS,
              .help = "its kind"},
    [ANIMALS] = {"animals-with-plants", FL_ARG_FLAG,
                 .help = "animals are kept with the plants there"},
    [TAKE_BACK] = {"take-back-days", FL_ARG_INT, .min = 1, .max = TAKE_BACK_DAYS_MAX,
                   .help = TAKE_BACK_HELP},
};
static const fl_arg set_options[] = {
    FL_OPTIONS_RECORDING,
    [KIND] = {"kind", FL_ARG_TEXT, .choices = SOURCE_KINDS, .help = "its kind"},
    [ANIMALS] = {"animals-with-plants", FL_ARG_FLAG,
                 .help = "animals are kept with the plants there"},
    [TAKE_BACK] = {"take-back-days", FL_ARG_INT, .min = 0, .max = TAKE_BACK_DAYS_MAX,
                   .help = TAKE_BACK_HELP "; 0: not any more"},
    [NO_ANIMALS] = {"no-animals", FL_ARG_FLAG, .help = "no animals are kept there"},
    [NAME] = {"name", FL_ARG_TEXT, .help = "its new name"},
};

static fl_status record_source(fl_session *s, const fl_ev_source_set *source, fl_err *err)
{
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_SOURCE_SET, &event, err);
    if (status == FL_OK) {
        event->body.source_set = *source;
        fl_compose_made(s, "source", source->source, source->name);
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv code = fl_code_of(s, source->source);
        (void)printf("Recorded: %.*s (%.*s), %s%s.\n", FL_SV_ARG(s->made[0].name), FL_SV_ARG(code),
                     fl_words_source_kind[source->kind].text,
                     source->has_animals_with_plants ? ", keeps animals with the plants" : "");
    }
    return status;
}

static fl_status add_source(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    for (size_t i = 0; i < s->room.defs.sources.count; i++) {
        const fl_ev_source_set *other = &s->room.defs.sources.events[i]->body.source_set;
        if (fl_sv_eq_nocase(other->name, call->words[0])) {
            return fl_fail(err, FL_ECONFLICT,
                           "there is a source \"%.*s\" already: fernlock source set changes it",
                           FL_SV_ARG(other->name));
        }
    }
    const fl_ev_source_set source = {.source = fl_compose_id(s),
                                     .name = call->words[0],
                                     .kind = (fl_source_kind)call->value[KIND].choice,
                                     .has_animals_with_plants = call->value[ANIMALS].is_given,
                                     .take_back_days = call->value[TAKE_BACK].integer};
    return record_source(s, &source, err);
}

static fl_status set_source(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    const fl_ev_source_set *old = NULL;
    fl_status status = fl_room_find_source(&call->s->room, call->words[0], &old, err);
    if (status != FL_OK) {
        return status;
    }
    fl_ev_source_set source = *old;
    source.name = fl_arena_copy_sv(&call->s->arena, old->name);
    if (value[KIND].is_given) {
        source.kind = (fl_source_kind)value[KIND].choice;
    }
    source.has_animals_with_plants =
        (source.has_animals_with_plants || value[ANIMALS].is_given) && !value[NO_ANIMALS].is_given;
    if (value[TAKE_BACK].is_given) {
        source.take_back_days = value[TAKE_BACK].integer;
    }
    if (value[NAME].is_given) {
        source.name = value[NAME].text;
    }
    return record_source(call->s, &source, err);
}

static void print_json(fl_session *s)
{
    char text[FL_ID_TEXT_MAX];
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "sources");
    for (size_t i = 0; i < s->room.defs.sources.count; i++) {
        const fl_ev_source_set *source = &s->room.defs.sources.events[i]->body.source_set;
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "id", fl_id_format(text, source->source));
        fl_json_put_text(w, "code", fl_code_of(s, source->source));
        fl_json_put_text(w, "name", source->name);
        fl_json_put_cstr(w, "kind", fl_words_source_kind[source->kind].word);
        fl_json_put_bool(w, "has_animals_with_plants", source->has_animals_with_plants);
        fl_json_put_int(w, "take_back_days", source->take_back_days);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status list_sources(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    (void)err;
    if (s->cli->is_json) {
        print_json(s);
        return FL_OK;
    }
    for (size_t i = 0; i < s->room.defs.sources.count; i++) {
        const fl_ev_source_set *source = &s->room.defs.sources.events[i]->body.source_set;
        fl_sv code = fl_code_of(s, source->source);
        (void)printf("%.*s (%.*s), %s%s\n", FL_SV_ARG(source->name), FL_SV_ARG(code),
                     fl_words_source_kind[source->kind].text,
                     source->has_animals_with_plants ? ", keeps animals with the plants" : "");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "NAME --kind KIND [--animals-with-plants]",
     .summary = "A new source.",
     .args = FL_VERB_ARGS_WORDS(add_options, "NAME", 1),
     .words_min = 1,
     .fn = add_source},
    {.name = "set",
     .usage = "NAME [--kind KIND] [--animals-with-plants | --no-animals] [--name NEW]",
     .summary = "Changes what is told; the rest stays.",
     .args = FL_VERB_ARGS_WORDS(set_options, "NAME", 1),
     .words_min = 1,
     .fn = set_source},
    {.name = "list", .usage = "", .summary = "All sources.", .fn = list_sources},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_source;
const fl_command fl_command_source = {
    .name = "source",
    .rank = 11,
    .summary = "add, change or list where plants come from",
    .usage = "add|set|list [NAME] [--OPTION VALUE]…",
    .example = "fernlock source add \"the nursery on the hill\" --kind nursery",
    .fn = run,
    .help = help,
};
