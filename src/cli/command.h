/* The commands as a table. A command lives in src/cli/cmd_<name>.c and defines
 * `const fl_command fl_command_<name>`; the build collects them by file name. */
#ifndef FL_CLI_COMMAND_H
#define FL_CLI_COMMAND_H

#include <stdbool.h>
#include <stdio.h>

#include "base/err.h"
#include "base/str.h"

/* Exit codes (design section 7). */
enum {
    FL_EXIT_YES = 0,        /* done, or "yes" */
    FL_EXIT_NO = 1,         /* the answer is no */
    FL_EXIT_MISUSE = 2,     /* wrong use or bad input */
    FL_EXIT_FAILED = 3,     /* reading or writing failed */
    FL_EXIT_CANCELLED = 130 /* Ctrl-C: 128 + SIGINT, as shells have it */
};

/* What stands before the command: the same for all. */
typedef struct fl_cli {
    const char *room;    /* --room DIR; NULL when not given: see fl_cli_room */
    bool is_json;        /* --json */
    const char *now;     /* --now TIME: a fixed clock, for tests (not in the help); else NULL */
    const char *ids;     /* --ids SEED: ids that are the same each time, for tests; else NULL */
    const char *version; /* of the program */
} fl_cli;

typedef struct fl_command {
    const char *name;
    int rank;            /* place in the help's list; equal ranks by name */
    const char *summary; /* one line */
    const char *usage;   /* after the name: "[OPTION…] FILE"; may have more lines of detail */
    const char *example; /* one whole command line */
    /* argv[0] is the command's name; --room, --json and --help are already taken out. Returns an
     * exit code. Answers go to stdout, one-line errors to stderr (fl_cli_fail). */
    int (*fn)(const fl_cli *cli, int argc, char **argv);
    /* Prints more help (a table of options, topics); NULL: none. argv as above. */
    void (*help)(int argc, char **argv, FILE *out);
} fl_command;

/* The commands in the order of the help; NULL past the last. */
const fl_command *fl_cli_command_at(size_t index);

/* Runs the whole command line; returns the exit code. */
int fl_cli_run(const char *version, int argc, char **argv);

/* The room: --room, else $FERNLOCK_ROOM, else "room" in the working folder. Lives as long as argv
 * and the environment. */
const char *fl_cli_room(const fl_cli *cli);

/* Prints "fernlock WHAT: MESSAGE" on stderr and returns the exit code of the error: 2 for what the
 * caller can put right, 3 for what failed. */
int fl_cli_fail(const char *what, const fl_err *err);

/* The whole of a file ("-": standard input) appended to *out, at most max bytes. FL_EIO or
 * FL_ETOOBIG naming the path. */
fl_status fl_cli_read_file(const char *path, size_t max, fl_str *out, fl_err *err) FL_MUST_USE;

#endif
