/* Finds the command and takes the options that all of them share. */
#define _GNU_SOURCE
#include "cli/command.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"
#include "generated/commands.h"

#define DECLARE(name) extern const fl_command fl_command_##name;
FL_COMMANDS(DECLARE)
#undef DECLARE

#define ENTRY(name) &fl_command_##name,
static const fl_command *const commands[] = {FL_COMMANDS(ENTRY)};
#undef ENTRY
#define COMMAND_COUNT (sizeof commands / sizeof commands[0])

/* What was asked for before the command itself runs. */
typedef struct request {
    fl_cli cli;
    bool is_help;
    bool is_version;
    int argc; /* what is left: the command and its own words */
    char **argv;
} request;

static const fl_command *find_command(const char *name)
{
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        if (strcmp(commands[i]->name, name) == 0) {
            return commands[i];
        }
    }
    return NULL;
}

static int compare_rank(const void *left, const void *right)
{
    const fl_command *a = *(const fl_command *const *)left;
    const fl_command *b = *(const fl_command *const *)right;
    return a->rank != b->rank ? (a->rank > b->rank) - (a->rank < b->rank)
                              : strcmp(a->name, b->name);
}

static void sort_commands(const fl_command *sorted[COMMAND_COUNT])
{
    memcpy(sorted, commands, sizeof commands);
    qsort(sorted, COMMAND_COUNT, sizeof(const fl_command *), compare_rank);
}

const fl_command *fl_cli_command_at(size_t index)
{
    const fl_command *sorted[COMMAND_COUNT];
    sort_commands(sorted);
    return index < COMMAND_COUNT ? sorted[index] : NULL;
}

static void print_all(FILE *out)
{
    const fl_command *sorted[COMMAND_COUNT];
    sort_commands(sorted);
    (void)fputs("usage: fernlock [--room DIR] COMMAND [--json]\n\n"
                "The airlock between the plant shop and the planted enclosure.\n\n",
                out);
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        (void)fprintf(out, "  %-13s %s\n", sorted[i]->name, sorted[i]->summary);
    }
    (void)fputs("\n  --room DIR  the data folder (else $FERNLOCK_ROOM, else room in this folder)\n"
                "  --json      answer as JSON\n"
                "  --version   the version\n"
                "  --help      this, or a command's own help\n\n"
                "Exit code 0: done, or yes; 1: the answer is no; 2: wrong use or bad input; "
                "3: failed.\n"
                "example: fernlock reckon pot --top-mm 120 --bottom-mm 96 --height-mm 110\n",
                out);
}

static void print_one(const fl_command *command, const request *asked, FILE *out)
{
    (void)fprintf(out, "usage: fernlock [--room DIR] %s %s\n\n%s\n", command->name, command->usage,
                  command->summary);
    if (command->help != NULL) {
        (void)fputc('\n', out);
        command->help(asked->argc, asked->argv, out);
    }
    (void)fprintf(out, "\nexample: %s\n", command->example);
}

/* An option before or among the command's own words that takes a value. */
typedef struct shared_option {
    const char *name;
    const char *what; /* what to give */
    const char **value;
} shared_option;

static fl_status take_value(const shared_option *option, const char *value, fl_err *err)
{
    if (value == NULL || value[0] == '\0') {
        return fl_fail(err, FL_EINVAL, "%s: give %s", option->name, option->what);
    }
    if (*option->value != NULL) {
        return fl_fail(err, FL_EINVAL, "%s is given twice: give it once", option->name);
    }
    *option->value = value;
    return FL_OK;
}

static bool take_flag(request *asked, const char *word)
{
    if (strcmp(word, "--json") == 0) {
        asked->cli.is_json = true;
    } else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        asked->is_help = true;
    } else if (strcmp(word, "--version") == 0) {
        asked->is_version = true;
    } else {
        return false;
    }
    return true;
}

/* Takes the shared options out wherever they stand, up to "--". */
static fl_status take_shared(int argc, char **argv, request *asked, fl_err *err)
{
    const shared_option options[] = {{"--room", "a folder", &asked->cli.room},
                                     {"--now", "a time", &asked->cli.now},
                                     {"--ids", "a word", &asked->cli.ids}};
    fl_status status = FL_OK;
    bool is_ended = false;
    for (int i = 1; i < argc && status == FL_OK; i++) {
        const char *word = argv[i];
        is_ended = is_ended || strcmp(word, "--") == 0;
        if (!is_ended && take_flag(asked, word)) {
            continue;
        }
        bool is_taken = false;
        for (size_t k = 0; k < sizeof options / sizeof options[0] && !is_ended && !is_taken; k++) {
            size_t len = strlen(options[k].name);
            if (strcmp(word, options[k].name) == 0) {
                i++;
                status = take_value(&options[k], i < argc ? argv[i] : NULL, err);
                is_taken = true;
            } else if (strncmp(word, options[k].name, len) == 0 && word[len] == '=') {
                status = take_value(&options[k], word + len + 1, err);
                is_taken = true;
            }
        }
        if (!is_taken) {
            asked->argv[asked->argc++] = argv[i];
        }
    }
    return status;
}

static int dispatch(const request *asked)
{
    fl_err err = {0};
    if (asked->is_version) {
        (void)printf("fernlock %s\n", asked->cli.version);
        return FL_EXIT_YES;
    }
    if (asked->argc == 0) {
        print_all(asked->is_help ? stdout : stderr);
        return asked->is_help ? FL_EXIT_YES : FL_EXIT_MISUSE;
    }
    const fl_command *command = find_command(asked->argv[0]);
    if (command == NULL) {
        (void)fl_fail(&err, FL_EINVAL, "unknown command \"%.40s\": see fernlock --help",
                      asked->argv[0]);
        return fl_cli_fail("", &err);
    }
    if (asked->is_help) {
        print_one(command, asked, stdout);
        return FL_EXIT_YES;
    }
    return command->fn(&asked->cli, asked->argc, asked->argv);
}

int fl_cli_run(const char *version, int argc, char **argv)
{
    fl_err err = {0};
    request asked = {.cli = {.version = version}};
    asked.argv = fl_alloc((size_t)argc + 1, sizeof *asked.argv);
    int code = FL_EXIT_MISUSE;
    if (take_shared(argc, argv, &asked, &err) != FL_OK) {
        code = fl_cli_fail("", &err);
    } else {
        code = dispatch(&asked);
    }
    fl_alloc_free(asked.argv);
    /* an answer that could not be written was not given */
    if (fflush(stdout) != 0 && code != FL_EXIT_FAILED) {
        (void)fl_fail(&err, FL_EIO, "standard output: %s", strerror(errno));
        code = fl_cli_fail("", &err);
    }
    return code;
}

const char *fl_cli_room(const fl_cli *cli)
{
    const char *given = cli->room != NULL ? cli->room : getenv("FERNLOCK_ROOM");
    return given != NULL && given[0] != '\0' ? given : "room";
}

static int exit_code_of(fl_status status)
{
    switch (status) {
    case FL_OK:
        return FL_EXIT_YES;
    case FL_EBUSY:
    case FL_EIO:
    case FL_ECORRUPT:
        return FL_EXIT_FAILED;
    case FL_ECANCELLED:
        return FL_EXIT_CANCELLED;
    case FL_EINVAL:
    case FL_EFORMAT:
    case FL_EAUTH:
    case FL_EFORBIDDEN:
    case FL_ENOTFOUND:
    case FL_ECONFLICT:
    case FL_ETOOBIG:
    case FL_EDOMAIN:
    case FL_STATUS_COUNT:
    default:
        return FL_EXIT_MISUSE;
    }
}

int fl_cli_fail(const char *what, const fl_err *err)
{
    assert(err->code != FL_OK);
    (void)fprintf(stderr, "fernlock%s%s: %s\n", what[0] == '\0' ? "" : " ", what, err->message);
    return exit_code_of(err->code);
}

fl_status fl_cli_read_file(const char *path, size_t max, fl_str *out, fl_err *err)
{
    char block[8192];
    bool is_input = strcmp(path, "-") == 0;
    fl_status status = FL_OK;
    size_t total = 0;
    FILE *file = is_input ? stdin : fopen(path, "rb");
    if (file == NULL) {
        return fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    size_t got = fread(block, 1, sizeof block, file);
    while (got > 0 && status == FL_OK) {
        total += got;
        fl_str_append(out, (fl_sv){block, got});
        if (total > max || out->is_full) {
            status = fl_fail(err, FL_ETOOBIG, "%.150s: more than %zu bytes", path, max);
        }
        got = fread(block, 1, sizeof block, file);
    }
    if (status == FL_OK && ferror(file)) {
        status = fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    if (!is_input) {
        (void)fclose(file);
    }
    return status;
}
