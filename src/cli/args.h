/* The options of a command or a reckon topic, as a table: names, kinds, ranges, help.
 *
 *     enum { TOP, HEIGHT, OPTION_COUNT };
 *     static const fl_arg options[OPTION_COUNT] = {
 *         [TOP] = {"top-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
 *                  .help = "inside diameter at the top"}, … };
 *     fl_arg_value value[OPTION_COUNT];
 *     status = fl_args_read(&(fl_args){options, OPTION_COUNT}, argc, argv, value, &err);
 *     … value[TOP].number …
 */
#ifndef FL_CLI_ARGS_H
#define FL_CLI_ARGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_ARGS_MAX 40     /* options of one command */
#define FL_ARGS_REPEATS 24 /* how often an option that may be repeated is given at most */

typedef enum fl_arg_kind {
    FL_ARG_NUMBER = 0, /* a decimal within min to max */
    FL_ARG_INT,        /* a whole number within min to max */
    FL_ARG_TEXT,       /* any text; one of `choices` when given */
    FL_ARG_FLAG        /* takes no value */
} fl_arg_kind;

typedef struct fl_arg {
    const char *name; /* without "--" */
    fl_arg_kind kind;
    bool is_required;
    double min, max;     /* for numbers, inclusive; both 0: any finite number */
    double fallback;     /* number or integer when the option is not given */
    const char *choices; /* "a|b|c", or NULL */
    const char *help;    /* one line */
    bool is_repeatable;  /* free text that may be given several times */
    bool may_be_bare;    /* the value may be left out: is_given, and an empty text. Only where no
                            words without "--" are accepted */
} fl_arg;

typedef struct fl_arg_value {
    bool is_given; /* for a flag: the flag itself */
    double number; /* FL_ARG_NUMBER; the fallback when not given */
    int64_t integer;
    fl_sv text;                     /* as typed; empty when not given */
    int choice;                     /* index into choices; -1 when not given or free text */
    fl_sv repeats[FL_ARGS_REPEATS]; /* of a repeatable option, each as typed */
    size_t n_repeats;
} fl_arg_value;

/* What a command accepts. */
typedef struct fl_args {
    const fl_arg *option;
    size_t count;          /* <= FL_ARGS_MAX */
    const char *rest_what; /* what the words without "--" are ("FILE"); NULL: none are accepted */
    size_t rest_max;       /* how many of them */
} fl_args;

/* Reads argv[1] to argv[argc - 1] into value[args->count]. Names must be written out. Words without
 * "--" are moved to the end of argv (order kept); *rest is the index of the first (may be NULL when
 * rest_what is NULL). FL_EINVAL, FL_EFORMAT or FL_EDOMAIN with one line that names the value and
 * what would do. Not reentrant (getopt). */
fl_status fl_args_read(const fl_args *args, int argc, char **argv, fl_arg_value *value, int *rest,
                       fl_err *err) FL_MUST_USE;

/* Prints the table of options, a line each. */
void fl_args_print(const fl_args *args, FILE *out);

#endif
