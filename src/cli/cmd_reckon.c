/* The frame of the calculator: finds the topic, reads its options, prints its answer as JSON. */
#define _GNU_SOURCE
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/reckon.h"
#include "generated/reckon_topics.h"

#define ANSWER_BYTES_MAX ((size_t)256 << 20)

#define DECLARE(name) extern const fl_reckon_topic fl_reckon_topic_##name;
FL_RECKON_TOPICS(DECLARE)
#undef DECLARE

#define ENTRY(name) &fl_reckon_topic_##name,
static const fl_reckon_topic *const topics[] = {FL_RECKON_TOPICS(ENTRY)};
#undef ENTRY
#define TOPIC_COUNT (sizeof topics / sizeof topics[0])

static const fl_reckon_topic *find_topic(const char *name)
{
    for (size_t i = 0; i < TOPIC_COUNT; i++) {
        if (strcmp(topics[i]->name, name) == 0) {
            return topics[i];
        }
    }
    return NULL;
}

static fl_args args_of(const fl_reckon_topic *topic)
{
    return (fl_args){.option = topic->option, .count = topic->option_count};
}

static void help(int argc, char **argv, FILE *out)
{
    const fl_reckon_topic *topic = argc > 1 ? find_topic(argv[1]) : NULL;
    if (topic != NULL) {
        const fl_args args = args_of(topic);
        (void)fprintf(out, "%s: %s\n\n", topic->name, topic->summary);
        fl_args_print(&args, out);
        (void)fprintf(out, "\nexample: fernlock reckon %s\n", topic->example);
        return;
    }
    for (size_t i = 0; i < TOPIC_COUNT; i++) {
        (void)fprintf(out, "  %-12s %s\n", topics[i]->name, topics[i]->summary);
    }
}

static int fail_topic(const char *given)
{
    fl_err err = {0};
    fl_str names;
    fl_str_init(&names, 180);
    for (size_t i = 0; i < TOPIC_COUNT; i++) {
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", topics[i]->name);
    }
    if (given == NULL) {
        (void)fl_fail(&err, FL_EINVAL, "no topic: give one of %s", names.ptr);
    } else {
        (void)fl_fail(&err, FL_EINVAL, "unknown topic \"%.40s\": give one of %s", given, names.ptr);
    }
    fl_str_done(&names);
    return fl_cli_fail("reckon", &err);
}

/* Whether the terminal gets the readable form. */
static bool is_for_a_person(const fl_cli *cli)
{
    return !cli->is_json && isatty(STDOUT_FILENO) == 1;
}

static void print_answer(const fl_json_writer *w, bool is_pretty)
{
    fl_str text;
    fl_str_init(&text, ANSWER_BYTES_MAX);
    fl_json_write(w, is_pretty, &text);
    fl_str_append_char(&text, '\n');
    (void)fwrite(text.ptr, 1, text.len, stdout);
    fl_str_done(&text);
}

static int run_topic(const fl_cli *cli, const fl_reckon_topic *topic, int argc, char **argv)
{
    fl_err err = {0};
    char what[60];
    fl_arg_value value[FL_ARGS_MAX];
    const fl_args args = args_of(topic);
    (void)snprintf(what, sizeof what, "reckon %s", topic->name);
    if (fl_args_read(&args, argc, argv, value, NULL, &err) != FL_OK) {
        return fl_cli_fail(what, &err);
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    int code = FL_EXIT_YES;
    if (topic->fn(value, w, &err) != FL_OK) {
        code = fl_cli_fail(what, &err);
    } else {
        fl_json_end(w);
        print_answer(w, is_for_a_person(cli));
    }
    fl_json_writer_free(w);
    return code;
}

static int run(const fl_cli *cli, int argc, char **argv)
{
    const fl_reckon_topic *topic = argc > 1 ? find_topic(argv[1]) : NULL;
    if (topic == NULL) {
        return fail_topic(argc > 1 ? argv[1] : NULL);
    }
    return run_topic(cli, topic, argc - 1, argv + 1);
}

extern const fl_command fl_command_reckon;
const fl_command fl_command_reckon = {
    .name = "reckon",
    .rank = 90,
    .summary =
        "the calculator: dips, rinses, development, chances, light, air, pots (no room needed)",
    .usage = "TOPIC [--OPTION VALUE]…",
    .example = "fernlock reckon pot --top-mm 120 --bottom-mm 96 --height-mm 110",
    .fn = run,
    .help = help,
};
