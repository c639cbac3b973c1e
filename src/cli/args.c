/* getopt_long behind a table with kinds and ranges. getopt_long accepts abbreviated names; we do
 * not, because a later option could change what they mean. */
#define _GNU_SOURCE
#include "cli/args.h"

#include <assert.h>
#include <float.h>
#include <getopt.h>
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "base/shown.h"
#include "base/str.h"

#define OPTION_BASE 256 /* getopt's value of option 0, beyond every character */
#define NAME_MAX_LEN 60

static bool has_range(const fl_arg *option)
{
    return option->min < 0.0 || option->min > 0.0 || option->max < 0.0 || option->max > 0.0;
}

static void fill_getopt(const fl_args *args, struct option *table)
{
    for (size_t i = 0; i < args->count; i++) {
        table[i] = (struct option){.name = args->option[i].name,
                                   .has_arg = args->option[i].kind == FL_ARG_FLAG ? no_argument
                                              : args->option[i].may_be_bare ? optional_argument
                                                                            : required_argument,
                                   .val = OPTION_BASE + (int)i};
    }
    table[args->count] = (struct option){0};
}

/* "--a, --b or --c" for messages. */
static void list_names(const fl_args *args, fl_str *out)
{
    for (size_t i = 0; i < args->count; i++) {
        fl_str_appendf(out, "%s--%s", i == 0 ? "" : ", ", args->option[i].name);
    }
    if (args->count == 0) {
        fl_str_append_cstr(out, "no options");
    }
}

static fl_status unknown_option(const fl_args *args, const char *given, fl_err *err)
{
    fl_str names;
    fl_str_init(&names, 200);
    list_names(args, &names);
    fl_status status = fl_fail(err, FL_EINVAL, "unknown option %.40s: give %s", given, names.ptr);
    fl_str_done(&names);
    return status;
}

/* The index of `text` among "a|b|c"; -1 when it is not there. */
static int find_choice(const char *choices, fl_sv text)
{
    fl_sv rest = fl_sv_from_cstr(choices);
    for (int i = 0; rest.len > 0; i++) {
        if (fl_sv_eq(fl_sv_split(&rest, '|'), text)) {
            return i;
        }
    }
    return -1;
}

static fl_status read_text(const fl_arg *option, const char *what, fl_arg_value *value, fl_err *err)
{
    if (option->choices == NULL) {
        return FL_OK;
    }
    value->choice = find_choice(option->choices, value->text);
    if (value->choice < 0) {
        return fl_fail(err, FL_EINVAL, "%s \"%.*s\": give %s", what, FL_SHOWN(value->text),
                       option->choices);
    }
    return FL_OK;
}

static fl_status read_value(const fl_arg *option, fl_arg_value *value, fl_err *err)
{
    char what[NAME_MAX_LEN + 3];
    double min = has_range(option) ? option->min : -DBL_MAX;
    double max = has_range(option) ? option->max : DBL_MAX;
    (void)snprintf(what, sizeof what, "--%s", option->name);
    switch (option->kind) {
    case FL_ARG_NUMBER:
        return fl_num_parse_double_in(value->text, what, min, max, &value->number, err);
    case FL_ARG_INT:
        min = has_range(option) ? min : -0x1p53;
        max = has_range(option) ? max : 0x1p53;
        return fl_num_parse_int(value->text, what, (int64_t)min, (int64_t)max, &value->integer,
                                err);
    case FL_ARG_TEXT:
        return read_text(option, what, value, err);
    case FL_ARG_FLAG:
    default:
        return FL_OK;
    }
}

static fl_status take_repeat(const fl_arg *option, fl_arg_value *value, fl_err *err)
{
    assert(option->kind == FL_ARG_TEXT && option->choices == NULL);
    if (value->n_repeats == FL_ARGS_REPEATS) {
        return fl_fail(err, FL_ETOOBIG, "--%s is given too often: at most %d times", option->name,
                       FL_ARGS_REPEATS);
    }
    value->repeats[value->n_repeats++] = value->text;
    return FL_OK;
}

static fl_status take_option(const fl_arg *option, const char *given, const char *argument,
                             fl_arg_value *value, fl_err *err)
{
    size_t len = strlen(option->name);
    if (strncmp(given + 2, option->name, len) != 0 ||
        (given[2 + len] != '\0' && given[2 + len] != '=')) {
        return fl_fail(err, FL_EINVAL, "%.40s: write --%s", given, option->name);
    }
    if (value->is_given && !option->is_repeatable) {
        return fl_fail(err, FL_EINVAL, "--%s is given twice: give it once", option->name);
    }
    value->is_given = true;
    value->text = fl_sv_from_cstr(argument);
    if (option->is_repeatable) {
        return take_repeat(option, value, err);
    }
    return read_value(option, value, err);
}

/* A fallback that is no whole number (NAN: "not given") has none: 0. To cast such a value would be
 * undefined. */
static int64_t whole_fallback(double fallback)
{
    return fabs(fallback) <= 0x1p53 ? (int64_t)fallback : 0;
}

static void set_fallbacks(const fl_args *args, fl_arg_value *value)
{
    for (size_t i = 0; i < args->count; i++) {
        const fl_arg *option = &args->option[i];
        assert(strlen(option->name) <= NAME_MAX_LEN);
        value[i] = (fl_arg_value){.number = option->fallback,
                                  .integer = whole_fallback(option->fallback),
                                  .text = FL_SV(""),
                                  .choice = -1};
    }
}

static fl_status check_required(const fl_args *args, const fl_arg_value *value, fl_err *err)
{
    for (size_t i = 0; i < args->count; i++) {
        if (args->option[i].is_required && !value[i].is_given) {
            return fl_fail(err, FL_EINVAL, "--%s is missing: give %s", args->option[i].name,
                           args->option[i].help);
        }
    }
    return FL_OK;
}

static fl_status check_rest(const fl_args *args, int argc, char **argv, int *rest, fl_err *err)
{
    size_t words = (size_t)(argc - optind);
    size_t allowed = args->rest_what == NULL ? 0 : args->rest_max;
    if (words > allowed) {
        return fl_fail(err, FL_EINVAL, "\"%.60s\": one word too many%s%s",
                       argv[optind + (int)allowed], args->rest_what == NULL ? "" : "; give ",
                       args->rest_what == NULL ? "" : args->rest_what);
    }
    if (rest != NULL) {
        *rest = optind;
    }
    return FL_OK;
}

/* getopt gives an optional value only when it stands behind "="; a word that follows is one too. */
static bool takes_next_word(const fl_args *args, int got, int argc, char **argv)
{
    return args->option[got - OPTION_BASE].may_be_bare && optarg == NULL && optind < argc &&
           argv[optind][0] != '-';
}

fl_status fl_args_read(const fl_args *args, int argc, char **argv, fl_arg_value *value, int *rest,
                       fl_err *err)
{
    struct option table[FL_ARGS_MAX + 1];
    assert(args->count <= FL_ARGS_MAX);
    assert(args->rest_what == NULL || rest != NULL);
    fill_getopt(args, table);
    set_fallbacks(args, value);
    opterr = 0; /* the messages are ours */
    optind = 0; /* start anew */
    for (;;) {
        int got = getopt_long(argc, argv, ":", table, NULL);
        if (got == -1) {
            break;
        }
        if (got == ':') {
            return fl_fail(err, FL_EINVAL, "%.60s: a value is missing", argv[optind - 1]);
        }
        if (got < OPTION_BASE) {
            return unknown_option(args, argv[optind - 1], err);
        }
        if (takes_next_word(args, got, argc, argv)) {
            optarg = argv[optind++];
        }
        bool is_apart = optarg != NULL && optarg == argv[optind - 1];
        const char *given = argv[is_apart ? optind - 2 : optind - 1];
        size_t index = (size_t)(got - OPTION_BASE);
        fl_status status = take_option(&args->option[index], given, optarg, &value[index], err);
        if (status != FL_OK) {
            return status;
        }
    }
    fl_status status = check_rest(args, argc, argv, rest, err);
    return status == FL_OK ? check_required(args, value, err) : status;
}

static void print_kind(const fl_arg *option, FILE *out)
{
    char low[FL_NUM_TEXT_MAX];
    char high[FL_NUM_TEXT_MAX];
    if (option->choices != NULL) {
        (void)fprintf(out, "; one of %s", option->choices);
    } else if (option->is_repeatable) {
        (void)fputs("; may be given again", out);
    } else if (has_range(option)) {
        (void)fprintf(out, "; %s to %s", fl_num_format(low, option->min, 15),
                      fl_num_format(high, option->max, 15));
    }
    if (option->is_required) {
        (void)fputs(" (required)", out);
    }
    (void)fputc('\n', out);
}

void fl_args_print(const fl_args *args, FILE *out)
{
    static const char *const kinds[] = {" NUMBER", " N", " TEXT", ""};
    for (size_t i = 0; i < args->count; i++) {
        char name[NAME_MAX_LEN + 12];
        (void)snprintf(name, sizeof name, "--%s%s", args->option[i].name,
                       kinds[args->option[i].kind]);
        (void)fprintf(out, "  %-28s %s", name, args->option[i].help);
        print_kind(&args->option[i], out);
    }
}
