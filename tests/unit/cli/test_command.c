/* cli/command.h, as a person meets it: the built program, its answers and exit codes. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "json/json.h"
#include "support/check.h"
#include "support/program.h"

#define RUN(...) fl_run_program((const char *const[]){__VA_ARGS__, NULL}, NULL)

static void check_one_line(const char *text)
{
    const char *end = strchr(text, '\n');
    check_true(end != NULL && end[1] == '\0');
}

static void check_misuse(fl_run run, const char *message)
{
    check_int(run.code, FL_EXIT_MISUSE);
    check_str(run.out, "");
    check_one_line(run.err);
    check_contains(run.err, message);
    fl_run_done(&run);
}

static void test_version_and_help(void **state)
{
    (void)state;
    fl_run run = RUN("--version");
    check_int(run.code, FL_EXIT_YES);
    check_contains(run.out, "fernlock ");
    check_one_line(run.out);
    fl_run_done(&run);
    run = RUN("--help");
    check_int(run.code, FL_EXIT_YES);
    check_contains(run.out, "usage: fernlock [--room DIR] COMMAND [--json]");
    check_contains(run.out, "  reckon ");
    fl_run_done(&run);
    run = RUN("reckon", "--help");
    check_contains(run.out, "example: fernlock reckon");
    check_contains(run.out, "  pot ");
    fl_run_done(&run);
    run = RUN("reckon", "pot", "--help");
    check_contains(run.out, "--top-mm NUMBER");
    fl_run_done(&run);
}

static void test_misuse(void **state)
{
    (void)state;
    check_misuse(RUN("shake"), "unknown command \"shake\"");
    check_misuse(RUN("reckon"), "no topic: give one of");
    check_misuse(RUN("reckon", "pots"), "unknown topic \"pots\": give one of");
    check_misuse(RUN("--room"), "--room: give a folder");
    check_misuse(RUN("--room", "a", "--room=b", "reckon"), "--room is given twice");
    check_misuse(RUN("reckon", "pot", "--top-mm", "0", "--bottom-mm", "9", "--height-mm", "9"),
                 "fernlock reckon pot: --top-mm 0: give 1 to 10000");
    fl_run run = fl_run_program((const char *const[]){NULL}, NULL);
    check_int(run.code, FL_EXIT_MISUSE);
    check_str(run.out, "");
    check_contains(run.err, "usage: fernlock");
    fl_run_done(&run);
}

/* 12 digits at least, one JSON object on one line, with or without --json, wherever it stands. */
static void test_reckon_pot(void **state)
{
    (void)state;
    fl_run plain = RUN("reckon", "pot", "--top-mm", "120", "--bottom-mm=96", "--height-mm", "110");
    fl_run early =
        RUN("--json", "reckon", "pot", "--top-mm", "120", "--bottom-mm=96", "--height-mm", "110");
    check_int(plain.code, FL_EXIT_YES);
    check_str(plain.err, "");
    check_one_line(plain.out);
    check_str(early.out, plain.out);
    fl_json_doc *doc = NULL;
    double volume_ml = 0.0;
    check_ok(fl_json_parse(fl_sv_from_cstr(plain.out), &doc, NULL), NULL);
    check_ok(fl_json_need_number(fl_json_root(doc), "volume_ml", 0, 1e9, &volume_ml, NULL), NULL);
    /* pi * 110 / 12 * (120^2 + 120 * 96 + 96^2) / 1000 */
    check_close(volume_ml, 3.14159265358979324 * 110 / 12 * 35.136, 1e-12, 0.0);
    fl_json_free(doc);
    fl_run_done(&plain);
    fl_run_done(&early);
}

static void test_room_choice(void **state)
{
    (void)state;
    fl_cli cli = {.room = "given"};
    check_int(setenv("FERNLOCK_ROOM", "/from/environment", 1), 0);
    check_str(fl_cli_room(&cli), "given");
    cli.room = NULL;
    check_str(fl_cli_room(&cli), "/from/environment");
    check_int(setenv("FERNLOCK_ROOM", "", 1), 0);
    check_str(fl_cli_room(&cli), "room");
    check_int(unsetenv("FERNLOCK_ROOM"), 0);
    check_str(fl_cli_room(&cli), "room");
}

static void test_read_file(void **state)
{
    (void)state;
    fl_str text;
    fl_err err = {0};
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 20];
    (void)snprintf(path, sizeof path, "%s/in.txt", fl_temp_folder(folder));
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    for (int i = 0; i < 10000; i++) {
        (void)fputs("ab\n", file);
    }
    (void)fclose(file);
    fl_str_init(&text, 100000);
    check_ok(fl_cli_read_file(path, 30000, &text, &err), &err);
    check_int(text.len, 30000);
    fl_str_clear(&text);
    check_int(fl_cli_read_file(path, 29999, &text, &err), FL_ETOOBIG);
    check_contains(err.message, "29999");
    fl_str_clear(&text);
    check_int(fl_cli_read_file("/no/such/file", 10, &text, &err), FL_EIO);
    check_contains(err.message, "/no/such/file");
    check_int(fl_cli_read_file(folder, 10, &text, &err), FL_EIO); /* a folder is no file */
    fl_str_done(&text);
    fl_remove_folder(folder);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_version_and_help), cmocka_unit_test(test_misuse),
    cmocka_unit_test(test_reckon_pot),       cmocka_unit_test(test_room_choice),
    cmocka_unit_test(test_read_file),
};
FL_TEST_MAIN(tests)
