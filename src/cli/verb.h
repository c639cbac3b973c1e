/* A command's forms as a table: `place add NAME …`, `place list`, `place LOT… --in PLACE`. One
 * runner reads the options, opens the room, calls the form and prints what went wrong. */
#ifndef FL_CLI_VERB_H
#define FL_CLI_VERB_H

#include "cli/args.h"
#include "cli/session.h"

/* What a form gets. */
typedef struct fl_call {
    fl_session *s;
    const fl_arg_value *value; /* [i] belongs to the form's option i */
    const fl_sv *words;        /* the words without "--" */
    size_t n_words;
    int code; /* the exit code when the form returns FL_OK: 0, or 1 for "no" */
} fl_call;

typedef enum fl_verb_needs {
    FL_NEEDS_ROOM = 0, /* the open room and a snapshot of it */
    FL_NEEDS_APP,      /* the open room */
    FL_NEEDS_NOTHING   /* a clock only */
} fl_verb_needs;

typedef struct fl_verb {
    const char *name;    /* the second word; NULL: the form without one, last in the table */
    const char *usage;   /* what follows: "NAME --kind KIND [--OPTION VALUE]…" */
    const char *summary; /* one line */
    fl_args args;
    size_t words_min;
    fl_verb_needs needs;
    fl_status (*fn)(fl_call *call, fl_err *err);
} fl_verb;

/* The options that every recording form has; two entries for the head of its table. */
#define FL_OPTIONS_RECORDING                                                                       \
    {"at", FL_ARG_TEXT,                                                                            \
     .help = "when it happened, if not now: 2026-03-01T18:30:00+01:00, a date, 2026-03 or 2026"},  \
    {                                                                                              \
        "note", FL_ARG_TEXT, .help = "a note to keep with it"                                      \
    }
enum { FL_OPTION_AT, FL_OPTION_NOTE, FL_OPTION_FIRST };

#define FL_VERB_ARGS(options)                                                                      \
    {                                                                                              \
        .option = (options), .count = sizeof(options) / sizeof((options)[0])                       \
    }
#define FL_VERB_ARGS_WORDS(options, what, max)                                                     \
    {                                                                                              \
        .option = (options), .count = sizeof(options) / sizeof((options)[0]), .rest_what = (what), \
        .rest_max = (max)                                                                          \
    }
#define FL_VERB_WORDS(what, max)                                                                   \
    {                                                                                              \
        .rest_what = (what), .rest_max = (max)                                                     \
    }
#define FL_WORDS_MAX 200 /* lots named in one command */

/* Runs the form that argv asks for; returns the exit code. */
int fl_verbs_run(const fl_verb *verbs, size_t count, const fl_cli *cli, int argc, char **argv);
/* The forms and their options. */
void fl_verbs_help(const fl_verb *verbs, size_t count, int argc, char **argv, FILE *out);

/* Defines the run and help functions of a command from its table `verbs`. */
#define FL_VERBS_COMMAND(verbs)                                                                    \
    static int run(const fl_cli *cli, int argc, char **argv)                                       \
    {                                                                                              \
        return fl_verbs_run(verbs, sizeof(verbs) / sizeof((verbs)[0]), cli, argc, argv);           \
    }                                                                                              \
    static void help(int argc, char **argv, FILE *out)                                             \
    {                                                                                              \
        fl_verbs_help(verbs, sizeof(verbs) / sizeof((verbs)[0]), argc, argv, out);                 \
    }

#endif
