/* What is it? Asks nothing of a room. */
#include <stdio.h>

#include "app/identify.h"
#include "cli/verb.h"
#include "view/view_trace.h"
#include "view/words.h"

#define LINES_MAX 5

enum { SIGN };
static const fl_arg options[] = {
    [SIGN] = {"sign", FL_ARG_TEXT, .is_repeatable = true,
              .help = "QUESTION=ANSWER, as in where=mix_surface; cannot_tell is an answer"},
};

static fl_status read_answers(fl_call *call, fl_sign_answer *answers, size_t *n, fl_err *err)
{
    const fl_arg_value *value = &call->value[SIGN];
    fl_status status = FL_OK;
    *n = 0;
    for (size_t i = 0; i < value->n_repeats && status == FL_OK; i++) {
        status = fl_identify_parse(value->repeats[i], '=', &answers[*n], err);
        *n += status == FL_OK ? 1 : 0;
    }
    return status;
}

static void print_rank(fl_session *s, const fl_ident_rank *r)
{
    fl_sv chance = fl_say_chance(r->prob, &s->arena);
    (void)printf("  %-18.*s %s%s: %s\n", FL_SV_ARG(chance), r->best.name,
                 r->threat == NULL ? " (harmless)" : "", r->best.cue);
}

static void print_next(const fl_ident_rank *ranks, const fl_ident_next *next)
{
    if (!next->has_question) {
        (void)puts("There is nothing left to ask.");
        return;
    }
    (void)printf("Best asked next, to tell %s from %s:\n  %s", fl_say_kind_of_find(&ranks[0]),
                 fl_say_kind_of_find(&ranks[1]), fl_words_sign[next->sign].text);
    for (int i = 0; i < fl_ident_value_count(next->sign); i++) {
        (void)printf("%s%s", i == 0 ? "  --sign " : " | ",
                     i == 0 ? fl_words_sign[next->sign].word : "");
        (void)printf("%s%s", i == 0 ? "=" : "", fl_ident_value_word(next->sign, i));
    }
    (void)puts("");
}

static void print_ranking(fl_session *s, const fl_view_ident_args *args)
{
    const fl_ident_rank *first = &args->ranks[0];
    for (size_t i = 0; i < args->n_ranks && i < LINES_MAX; i++) {
        if (i < 2 || args->ranks[i].prob >= FL_VIEW_RANK_LEAST) {
            print_rank(s, &args->ranks[i]);
        }
    }
    if (first->n_against >= FL_VIEW_AGAINST) {
        (void)puts("Nothing here fits well: leave it without a name for now, and keep the photo.");
    }
    if (first->threat != NULL && first->prob >= FL_VIEW_SURE && first->n_against == 0) {
        (void)printf("Sure enough to name it: fernlock finding name FINDING %s%s%s\n", first->of,
                     first->best.stage[0] ? " --stage " : "", first->best.stage);
    }
    print_next(args->ranks, args->next);
}

static void print_json(fl_session *s, const fl_view_ident_args *args)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = {.arena = &s->arena, .w = w};
    fl_view_ident(&view, NULL, args);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status identify(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_sign_answer answers[FL_ARGS_REPEATS];
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    fl_ident_next next;
    fl_view_ident_args args = {.answers = answers, .ranks = ranks, .next = &next};
    fl_status status = read_answers(call, answers, &args.n_answers, err);
    if (status == FL_OK) {
        status = fl_ident_ranking(answers, args.n_answers, NULL, ranks, &args.n_ranks, err);
    }
    if (status == FL_OK) {
        status = fl_ident_next_question(answers, args.n_answers, NULL, &next, err);
    }
    if (status == FL_OK && s->cli->is_json) {
        print_json(s, &args);
    } else if (status == FL_OK) {
        print_ranking(s, &args);
    }
    return status;
}

static fl_status list_signs(fl_call *call, fl_err *err)
{
    (void)err;
    if (call->s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = {.arena = &call->s->arena, .w = w};
        fl_view_signs(&view, NULL);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    for (int sign = 0; sign < FL_SIGN_COUNT; sign++) {
        (void)printf("%s  %s\n", fl_words_sign[sign].word, fl_words_sign[sign].text);
        for (int i = 0; i < fl_ident_value_count((fl_sign)sign); i++) {
            (void)printf("    %-16s %s\n", fl_ident_value_word((fl_sign)sign, i),
                         fl_ident_value_text((fl_sign)sign, i));
        }
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "signs",
     .usage = "",
     .summary = "All questions with their answers.",
     .needs = FL_NEEDS_NOTHING,
     .fn = list_signs},
    {.usage = "--sign QUESTION=ANSWER …",
     .summary = "Ranks what it could be, and names the question to answer next.",
     .args = FL_VERB_ARGS(options),
     .needs = FL_NEEDS_NOTHING,
     .fn = identify},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_identify;
const fl_command fl_command_identify = {
    .name = "identify",
    .rank = 27,
    .summary = "what is it? from what you can see to a ranking and the next question",
    .usage = "[signs] [--sign QUESTION=ANSWER]…",
    .example = "fernlock identify --sign where=mix_surface --sign jumps=yes",
    .fn = run,
    .help = help,
};
