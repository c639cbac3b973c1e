/* The runner of a command's forms. */
#include "cli/verb.h"

#include <assert.h>
#include <string.h>

#include "base/str.h"

static const fl_verb *find_verb(const fl_verb *verbs, size_t count, int argc, char **argv)
{
    for (size_t i = 0; i < count; i++) {
        if (verbs[i].name == NULL || (argc > 1 && strcmp(argv[1], verbs[i].name) == 0)) {
            return &verbs[i];
        }
    }
    return NULL;
}

static int fail_verb(const fl_verb *verbs, size_t count, int argc, char **argv)
{
    fl_err err = {0};
    fl_str names;
    fl_str_init(&names, 180);
    for (size_t i = 0; i < count; i++) {
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", verbs[i].name);
    }
    if (argc > 1) {
        (void)fl_fail(&err, FL_EINVAL, "\"%.40s\": give one of %s", argv[1], names.ptr);
    } else {
        (void)fl_fail(&err, FL_EINVAL, "give one of %s", names.ptr);
    }
    fl_str_done(&names);
    return fl_cli_fail(argv[0], &err);
}

/* The option of that name when it was given; NULL. */
static const fl_arg_value *find_value(const fl_verb *verb, const fl_arg_value *value,
                                      const char *name)
{
    for (size_t i = 0; i < verb->args.count; i++) {
        if (strcmp(verb->args.option[i].name, name) == 0 && value[i].is_given) {
            return &value[i];
        }
    }
    return NULL;
}

/* --at and --note, which mean the same everywhere. */
static fl_status take_when(const fl_verb *verb, fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *at = find_value(verb, call->value, "at");
    const fl_arg_value *note = find_value(verb, call->value, "note");
    s->note = note != NULL ? note->text : FL_SV("");
    s->precision = FL_PRECISION_EXACT;
    s->at_s = fl_app_now(&s->app);
    if (at == NULL) {
        return FL_OK;
    }
    return fl_civil_parse(at->text, s->app.tz_offset_min, &s->at_s, &s->precision, err);
}

static fl_status prepare(const fl_verb *verb, fl_call *call, fl_err *err)
{
    if (call->n_words < verb->words_min) {
        return fl_fail(err, FL_EINVAL, "%s is missing: see --help", verb->args.rest_what);
    }
    if (verb->needs == FL_NEEDS_NOTHING) {
        return FL_OK;
    }
    fl_status status = fl_session_open(call->s, err);
    if (status == FL_OK && verb->needs == FL_NEEDS_ROOM) {
        status = fl_session_load(call->s, err);
    }
    return status == FL_OK ? take_when(verb, call, err) : status;
}

static fl_status run_verb(const fl_verb *verb, fl_session *s, int argc, char **argv, int *code,
                          fl_err *err)
{
    int rest = argc;
    fl_arg_value *value = FL_ARENA_ARRAY(&s->arena, fl_arg_value, FL_ARGS_MAX);
    fl_status status = fl_args_read(&verb->args, argc, argv, value, &rest, err);
    if (status != FL_OK) {
        return status;
    }
    fl_call call = {.s = s, .value = value, .n_words = (size_t)(argc - rest)};
    fl_sv *words = FL_ARENA_ARRAY(&s->arena, fl_sv, call.n_words);
    for (size_t i = 0; i < call.n_words; i++) {
        words[i] = fl_sv_from_cstr(argv[rest + (int)i]);
    }
    call.words = words;
    status = prepare(verb, &call, err);
    if (status == FL_OK) {
        status = verb->fn(&call, err);
    }
    *code = call.code;
    return status;
}

/* What was recorded may contradict what was there: it is kept, and said. */
static void print_new_conflicts(const fl_session *s)
{
    if (s->has_recorded && s->has_room && !s->cli->is_json &&
        s->room.meaning.n_conflicts > s->n_conflicts_before) {
        (void)puts("It does not agree with what is recorded: fernlock show conflicts");
    }
}

int fl_verbs_run(const fl_verb *verbs, size_t count, const fl_cli *cli, int argc, char **argv)
{
    const fl_verb *verb = find_verb(verbs, count, argc, argv);
    if (verb == NULL) {
        return fail_verb(verbs, count, argc, argv);
    }
    char what[60];
    fl_err err = {0};
    fl_session s;
    int code = FL_EXIT_YES;
    int skip = verb->name != NULL ? 1 : 0;
    (void)snprintf(what, sizeof what, "%s%s%s", argv[0], skip != 0 ? " " : "",
                   skip != 0 ? verb->name : "");
    fl_status status = fl_session_init(&s, cli, &err);
    if (status == FL_OK) {
        status = run_verb(verb, &s, argc - skip, argv + skip, &code, &err);
    }
    fl_watch_end(&s.watch); /* the line is wiped before anything else is said */
    if (status != FL_OK) {
        (void)fflush(stdout);
        code = fl_cli_fail(what, &err);
    } else {
        print_new_conflicts(&s);
    }
    fl_session_close(&s);
    return code;
}

void fl_verbs_help(const fl_verb *verbs, size_t count, int argc, char **argv, FILE *out)
{
    const fl_verb *asked = argc > 1 ? find_verb(verbs, count, argc, argv) : NULL;
    for (size_t i = 0; i < count; i++) {
        const fl_verb *verb = &verbs[i];
        if (asked != NULL && asked->name != NULL && asked != verb) {
            continue;
        }
        (void)fprintf(out, "%s%s%s %s\n    %s\n", argv[0], verb->name == NULL ? "" : " ",
                      verb->name == NULL ? "" : verb->name, verb->usage, verb->summary);
        fl_args_print(&verb->args, out);
    }
}
