/* Plants: the kinds that the keeper grows. Most come into being with an arrival. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/find.h"

enum {
    TAXON = FL_OPTION_FIRST,
    DELICATE,
    ROTS,
    MOTHER,
    THRIVING,
    NOT_DELICATE,
    NOT_ROTS,
    NOT_MOTHER,
    NOT_THRIVING,
    NAME
};

#define PLANT_OPTIONS                                                                              \
    FL_OPTIONS_RECORDING, [TAXON] = {"taxon", FL_ARG_TEXT, .help = "its botanical name"},          \
                          [DELICATE] = {"delicate", FL_ARG_FLAG,                                   \
                                        .help = "a rinse or dip would ruin it"},                   \
                          [ROTS] = {"rots-closed", FL_ARG_FLAG,                                    \
                                    .help = "it rots in a closed box"},                            \
                          [MOTHER] = {"mother", FL_ARG_FLAG, .help = "kept for cuttings"},         \
                          [THRIVING] = {"thriving", FL_ARG_FLAG,                                   \
                                        .help = "it does well where it stands"}

static const fl_arg add_options[] = {PLANT_OPTIONS};
static const fl_arg set_options[] = {
    PLANT_OPTIONS,
    [NOT_DELICATE] = {"not-delicate", FL_ARG_FLAG, .help = "it is not delicate"},
    [NOT_ROTS] = {"not-rots-closed", FL_ARG_FLAG, .help = "it does not rot in a closed box"},
    [NOT_MOTHER] = {"not-mother", FL_ARG_FLAG, .help = "not kept for cuttings"},
    [NOT_THRIVING] = {"not-thriving", FL_ARG_FLAG, .help = "it does not, now"},
    [NAME] = {"name", FL_ARG_TEXT, .help = "its new name"},
};

static void print_plant(fl_session *s, const fl_ev_plant_set *plant)
{
    fl_sv code = fl_code_of(s, plant->plant);
    (void)printf("%.*s (%.*s)%s%s%s%s\n", FL_SV_ARG(plant->name), FL_SV_ARG(code),
                 plant->is_mother ? ", kept for cuttings" : "",
                 plant->is_thriving ? ", thrives" : "", plant->is_delicate ? ", delicate" : "",
                 plant->rots_when_closed ? ", rots when closed" : "");
}

static fl_status record_plant(fl_session *s, const fl_ev_plant_set *plant, fl_err *err)
{
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_PLANT_SET, &event, err);
    if (status == FL_OK) {
        event->body.plant_set = *plant;
        fl_compose_made(s, "plant", plant->plant, plant->name);
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)fputs("Recorded: ", stdout);
        print_plant(s, plant);
        fl_sv known = plant->taxon.len > 0 ? plant->taxon : plant->name;
        if (fl_know_plant_find(known) == NULL) {
            (void)puts("It is not in the plant table: usual care is assumed.");
        }
    }
    return status;
}

static fl_status add_plant(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_sv name = call->words[0];
    if (fl_find_plant_exactly(call->s, name) != NULL) {
        return fl_fail(err, FL_ECONFLICT,
                       "there is a plant \"%.*s\" already: fernlock plant set changes it",
                       FL_SV_ARG(name));
    }
    const fl_know_plant *row = fl_know_plant_find(name);
    fl_sv taxon = fl_sv_from_cstr(row != NULL ? row->botanical_name : "");
    const fl_ev_plant_set plant = {.plant = fl_compose_id(call->s),
                                   .name = name,
                                   .taxon = value[TAXON].is_given ? value[TAXON].text : taxon,
                                   .is_delicate = value[DELICATE].is_given,
                                   .rots_when_closed = value[ROTS].is_given,
                                   .is_mother = value[MOTHER].is_given,
                                   .is_thriving = value[THRIVING].is_given};
    return record_plant(call->s, &plant, err);
}

static fl_status set_plant(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_arena *arena = &call->s->arena;
    const fl_ev_plant_set *old = NULL;
    fl_status status = fl_room_find_plant(&call->s->room, call->words[0], &old, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_ev_plant_set plant = {
        .plant = old->plant,
        .name = value[NAME].is_given ? value[NAME].text : fl_arena_copy_sv(arena, old->name),
        .taxon = value[TAXON].is_given ? value[TAXON].text : fl_arena_copy_sv(arena, old->taxon),
        .is_delicate =
            (old->is_delicate || value[DELICATE].is_given) && !value[NOT_DELICATE].is_given,
        .rots_when_closed =
            (old->rots_when_closed || value[ROTS].is_given) && !value[NOT_ROTS].is_given,
        .is_mother = (old->is_mother || value[MOTHER].is_given) && !value[NOT_MOTHER].is_given,
        .is_thriving =
            (old->is_thriving || value[THRIVING].is_given) && !value[NOT_THRIVING].is_given};
    return record_plant(call->s, &plant, err);
}

static void print_json(fl_session *s)
{
    char text[FL_ID_TEXT_MAX];
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "plants");
    for (size_t i = 0; i < s->room.defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &s->room.defs.plants.events[i]->body.plant_set;
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "id", fl_id_format(text, plant->plant));
        fl_json_put_text(w, "code", fl_code_of(s, plant->plant));
        fl_json_put_text(w, "name", plant->name);
        fl_json_put_text(w, "taxon", plant->taxon);
        fl_json_put_bool(w, "is_delicate", plant->is_delicate);
        fl_json_put_bool(w, "rots_when_closed", plant->rots_when_closed);
        fl_json_put_bool(w, "is_mother", plant->is_mother);
        fl_json_put_bool(w, "is_thriving", plant->is_thriving);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status list_plants(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    (void)err;
    if (s->cli->is_json) {
        print_json(s);
        return FL_OK;
    }
    for (size_t i = 0; i < s->room.defs.plants.count; i++) {
        print_plant(s, &s->room.defs.plants.events[i]->body.plant_set);
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "NAME [--taxon NAME] [--delicate] [--rots-closed] [--mother]",
     .summary = "A new plant; one named in an arrival is added by itself.",
     .args = FL_VERB_ARGS_WORDS(add_options, "NAME", 1),
     .words_min = 1,
     .fn = add_plant},
    {.name = "set",
     .usage = "NAME [--OPTION VALUE]…",
     .summary = "Changes what is told; the rest stays.",
     .args = FL_VERB_ARGS_WORDS(set_options, "NAME", 1),
     .words_min = 1,
     .fn = set_plant},
    {.name = "list", .usage = "", .summary = "All plants.", .fn = list_plants},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_plant;
const fl_command fl_command_plant = {
    .name = "plant",
    .rank = 12,
    .summary = "add, change or list the plants you grow",
    .usage = "add|set|list [NAME] [--OPTION VALUE]…",
    .example = "fernlock plant add \"unnamed fern\" --delicate",
    .fn = run,
    .help = help,
};
