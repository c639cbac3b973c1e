/* Which plants suit an enclosure: those that stand there, or those that are named. */
#include <stdio.h>

#include "cli/compose.h"
#include "view/suits.h"

static const fl_arg options[] = {
    {"plant", FL_ARG_TEXT, .is_repeatable = true,
     .help = "only this one, in the room or in our table; several times"},
    {"full", FL_ARG_FLAG, .help = "each aspect in a line, also what fits"},
};
enum { PLANT, FULL };

static void print_kind(fl_session *s, const fl_suits *suits, const fl_suits_kind *k, bool is_full)
{
    static const char *const marks[FL_SUITS_STATES] = {"   ", "   ", "   ", " ? ", " ! ", "!! "};
    const fl_sv text = fl_say_suits(suits, k, &s->arena);
    (void)printf("%s%.*s: %.*s\n", marks[k->whole], FL_SV_ARG(k->name), FL_SV_ARG(text));
    for (int a = 0; is_full && a < FL_SUITS_ASPECTS; a++) {
        const fl_sv said = fl_say_suits_aspect(suits, k, (fl_suits_aspect)a, &s->arena);
        (void)printf("     %s, %s: %.*s\n", fl_words_suits_aspect[a].text,
                     fl_words_suits_state[k->state[a]].text, FL_SV_ARG(said));
    }
}

static void print_suits(fl_session *s, const fl_suits *suits, bool is_full)
{
    const fl_sv site = fl_say_suits_site(suits, &s->arena);
    (void)printf("%.*s. %.*s\n", FL_SV_ARG(suits->place->name), FL_SV_ARG(site));
    for (size_t i = 0; i < suits->n_kinds; i++) {
        print_kind(s, suits, &suits->kinds[i], is_full);
    }
    if (suits->n_kinds == 0) {
        (void)puts("No plants stand here. Name some with --plant.");
    }
    if (suits->site.has_animals) {
        (void)printf("%s\n", fl_suits_note);
    }
}

static fl_status show_suits(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *place = NULL;
    fl_suits suits;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status = fl_suits_of_place(&s->room, place, value[PLANT].repeats, value[PLANT].n_repeats,
                                   &s->arena, &suits, err);
    }
    if (status != FL_OK) {
        return status;
    }
    for (size_t i = 0; i < suits.n_kinds; i++) {
        call->code = suits.kinds[i].whole == FL_SUITS_AGAINST ? FL_EXIT_NO : call->code;
    }
    if (!s->cli->is_json) {
        print_suits(s, &suits, value[FULL].is_given);
        return FL_OK;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_suits(&view, NULL, &suits);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "PLACE [--plant NAME]… [--full]",
     .summary = "Light, humidity, warmth, size and animals, plant by plant. Exit code 1: something "
                "speaks against one.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE", 1),
     .words_min = 1,
     .fn = show_suits},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_suits;
const fl_command fl_command_suits = {
    .name = "suits",
    .rank = 34,
    .summary = "which plants suit an enclosure: light, air, size, animals",
    .usage = "PLACE [--plant NAME]… [--full]",
    .example = "fernlock suits \"hall tank\" --plant \"Ficus pumila\"",
    .fn = run,
    .help = help,
};
