/* Places: added, changed, cleaned, listed; and putting lots into them. */
#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "cli/compose.h"
#include "cli/place_price.h"
#include "cli/show.h"

enum {
    KIND = FL_OPTION_FIRST,
    USES,
    ANIMALS,
    GASKET,
    TEMP,
    VOLUME,
    SHELF,
    SIZE,
    HUMIDITY,
    NAME,
    NO_ANIMALS,
    NO_GASKET,
    RETIRE
};
enum { AGENT = FL_OPTION_FIRST, EFFICACY };

#define PLACE_KINDS "bench|bin|jar|open_spot|enclosure|outside"
#define AGENTS "bleach|permanganate|peroxide|soap|hot_water"
/* What add and set share, after --kind. */
#define PLACE_OPTIONS                                                                              \
    [USES] = {"uses", FL_ARG_TEXT,                                                                 \
              .help = "what lives or will live there: amphibian, stock …; "                      \
                      "a,b"},                                                                      \
    [ANIMALS] = {"animals", FL_ARG_TEXT, .help = "the animals in it now, in words"},               \
    [GASKET] = {"gasket", FL_ARG_FLAG, .help = "it closes tight"},                                 \
    [TEMP] = {"temp-c", FL_ARG_NUMBER, .min = -30, .max = 60, .help = "usual temperature"},        \
    [VOLUME] = {"volume-l", FL_ARG_NUMBER, .min = 0.01, .max = 100000, .help = "its litres"},      \
    [SHELF] = {"shelf", FL_ARG_INT, .min = 1, .max = 1000, .help = "which shelf"},                 \
    [SIZE] = {"size-mm", FL_ARG_TEXT, .help = "inside: length x width x height, 600x450x450"},     \
    [HUMIDITY] = {"humidity-pct", FL_ARG_NUMBER, .min = 1, .max = 100,                             \
                  .help = "the usual humidity of its air, where no logger tells"}

static const fl_arg add_options[] = {
    FL_OPTIONS_RECORDING,
    [KIND] = {"kind", FL_ARG_TEXT, .is_required = true, .choices = PLACE_KINDS, .help = "its kind"},
    PLACE_OPTIONS,
};
static const fl_arg set_options[] = {
    FL_OPTIONS_RECORDING,
    [KIND] = {"kind", FL_ARG_TEXT, .choices = PLACE_KINDS, .help = "its kind"},
    PLACE_OPTIONS,
    [NAME] = {"name", FL_ARG_TEXT, .help = "its new name"},
    [NO_ANIMALS] = {"no-animals", FL_ARG_FLAG, .help = "no animals are in it"},
    [NO_GASKET] = {"no-gasket", FL_ARG_FLAG, .help = "it does not close tight"},
    [RETIRE] = {"retire", FL_ARG_FLAG, .help = "it is no longer used"},
};
static const fl_arg clean_options[] = {
    FL_OPTIONS_RECORDING,
    [AGENT] = {"agent", FL_ARG_TEXT, .choices = AGENTS, .help = "else soap and water"},
    [EFFICACY] = {"efficacy", FL_ARG_NUMBER, .min = 0, .max = 1,
                  .help = "share of leftovers that it takes away, if you know"},
};
static const fl_arg put_options[] = {
    FL_OPTIONS_RECORDING,
    [FL_PLACE_IN] = {"in", FL_ARG_TEXT, .help = "the place; without it, the choices are priced"},
    [FL_PLACE_ANYWAY] = {"anyway", FL_ARG_FLAG, .help = "go ahead whatever it costs"},
};

/* "600x450x450". */
static fl_status read_size(fl_sv text, fl_ev_place_set *place, fl_err *err)
{
    double *const side[] = {&place->length_mm, &place->width_mm, &place->height_mm};
    fl_sv rest = text;
    for (size_t k = 0; k < 3; k++) {
        double side_mm = 0.0;
        fl_err inner;
        const fl_sv part = fl_sv_split(&rest, 'x');
        if (fl_num_parse_double(part, "side", &side_mm, &inner) != FL_OK || !(side_mm > 0.0) ||
            side_mm > 100000.0) {
            return fl_fail(err, FL_EFORMAT,
                           "--size-mm \"%.*s\": give length, width and height: 600x450x450",
                           FL_SV_ARG(text));
        }
        *side[k] = side_mm;
    }
    return FL_OK;
}

/* Lays what was told over *place. `value` has the options of add_options at least. */
static fl_status take_told(const fl_arg_value *value, fl_ev_place_set *place, fl_err *err)
{
    fl_status status = FL_OK;
    if (value[KIND].is_given) {
        place->kind = (fl_place_kind)value[KIND].choice;
    }
    if (value[USES].is_given) {
        status =
            fl_read_mask(value[USES].text, "--uses", fl_words_use, FL_USE_COUNT, &place->uses, err);
    }
    if (value[ANIMALS].is_given) {
        place->animals = value[ANIMALS].text;
        place->has_animals = value[ANIMALS].text.len > 0;
    }
    place->has_gasket = place->has_gasket || value[GASKET].is_given;
    place->set_temp_c = value[TEMP].is_given ? value[TEMP].number : place->set_temp_c;
    place->volume_l = value[VOLUME].is_given ? value[VOLUME].number : place->volume_l;
    place->shelf = value[SHELF].is_given ? value[SHELF].integer : place->shelf;
    place->rh_pct = value[HUMIDITY].is_given ? value[HUMIDITY].number : place->rh_pct;
    if (status == FL_OK && value[SIZE].is_given) {
        status = read_size(value[SIZE].text, place, err);
    }
    return status;
}

static fl_status record_place(fl_session *s, const fl_ev_place_set *place, fl_err *err)
{
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_PLACE_SET, &event, err);
    if (status == FL_OK) {
        event->body.place_set = *place;
        fl_compose_made(s, "place", place->place, place->name);
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv code = fl_code_of(s, place->place);
        (void)printf("Recorded: %.*s (%.*s), %s%s.\n", FL_SV_ARG(s->made[0].name), FL_SV_ARG(code),
                     fl_words_place_kind[place->kind].text, place->is_retired ? ", retired" : "");
    }
    return status;
}

static fl_status add_place(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_ev_place_set place = {.place = fl_compose_id(s),
                             .name = call->words[0],
                             .set_temp_c = (double)NAN,
                             .volume_l = (double)NAN,
                             .shelf = -1};
    for (size_t i = 0; i < s->room.defs.places.count; i++) {
        const fl_ev_place_set *other = &s->room.defs.places.events[i]->body.place_set;
        if (fl_sv_eq_nocase(other->name, place.name)) {
            return fl_fail(err, FL_ECONFLICT,
                           "there is a place \"%.*s\" already: fernlock place set changes it",
                           FL_SV_ARG(other->name));
        }
    }
    fl_status status = take_told(call->value, &place, err);
    return status == FL_OK ? record_place(s, &place, err) : status;
}

static fl_status set_place(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_arena *arena = &call->s->arena;
    const fl_ev_place_set *old = NULL;
    fl_status status = fl_room_find_place(&call->s->room, call->words[0], &old, err);
    if (status != FL_OK) {
        return status;
    }
    fl_ev_place_set place = *old;
    place.name = value[NAME].is_given ? value[NAME].text : fl_arena_copy_sv(arena, old->name);
    place.animals = fl_arena_copy_sv(arena, old->animals);
    status = take_told(value, &place, err);
    if (value[NO_ANIMALS].is_given) {
        place.animals = FL_SV("");
        place.has_animals = false;
    }
    place.has_gasket = place.has_gasket && !value[NO_GASKET].is_given;
    place.is_retired = place.is_retired || value[RETIRE].is_given;
    return status == FL_OK ? record_place(call->s, &place, err) : status;
}

static size_t count_lots(const fl_session *s, fl_id place)
{
    size_t n = 0;
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        n += !lot->is_gone && fl_id_eq(lot->place, place) ? 1U : 0U;
    }
    return n;
}

static fl_status clean_place(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    int agent = FL_AGENT_NONE;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK && value[AGENT].is_given) {
        status =
            fl_read_word(value[AGENT].text, "--agent", fl_words_agent, FL_AGENT_COUNT, &agent, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_PLACE_CLEANED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_place_cleaned *cleaned = &event->body.place_cleaned;
    cleaned->place = place->place;
    cleaned->agent = (fl_agent)agent;
    cleaned->efficacy = value[EFFICACY].is_given ? value[EFFICACY].number : (double)NAN;
    status = fl_compose_record(s, err);
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    fl_sv name = fl_room_place_name(&s->room, cleaned->place);
    size_t n = count_lots(s, cleaned->place);
    (void)printf("Recorded: %.*s is cleaned.\n", FL_SV_ARG(name));
    if (n > 0) {
        (void)printf("%zu lot%s in it still: cleaning a place does not clean plants.\n", n,
                     n == 1 ? " stands" : "s stand");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "NAME --kind KIND [--OPTION VALUE]…",
     .summary = "A new place.",
     .args = FL_VERB_ARGS_WORDS(add_options, "NAME", 1),
     .words_min = 1,
     .fn = add_place},
    {.name = "set",
     .usage = "NAME [--OPTION VALUE]…",
     .summary = "Changes what is told; the rest stays.",
     .args = FL_VERB_ARGS_WORDS(set_options, "NAME", 1),
     .words_min = 1,
     .fn = set_place},
    {.name = "clean",
     .usage = "NAME [--agent AGENT] [--efficacy E]",
     .summary = "It was emptied and cleaned; what comes next is another fill.",
     .args = FL_VERB_ARGS_WORDS(clean_options, "NAME", 1),
     .words_min = 1,
     .fn = clean_place},
    {.name = "join",
     .usage = "PLACE [--in PLACE [--anyway]]",
     .summary =
         "All that stands in one place goes to another: whether each is fit for the stricter "
         "use, and what it costs. Exit code 1: nothing is recorded.",
     .args = FL_VERB_ARGS_WORDS(put_options, "PLACE", 1),
     .words_min = 1,
     .fn = fl_place_join},
    {.name = "list", .usage = "", .summary = "All places.", .fn = fl_show_places},
    {.usage = "LOT… [--in PLACE [--anyway]]",
     .summary = "Prices each place for the lots, or puts them in one. Exit code 1: it would cost "
                "days or break a rule, and nothing is recorded.",
     .args = FL_VERB_ARGS_WORDS(put_options, "LOT", FL_WORDS_MAX),
     .words_min = 1,
     .fn = fl_place_lots},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_place;
const fl_command fl_command_place = {
    .name = "place",
    .rank = 20,
    .summary = "add, change, clean or list places; put lots into one, priced in days",
    .usage = "add|set|clean|join|list [NAME] … | LOT… [--in PLACE]",
    .example = "fernlock place pilea ficus --in \"bin 3\"",
    .fn = run,
    .help = help,
};
