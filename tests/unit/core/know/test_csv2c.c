/* The host tool csv2c: what it makes of good tables, and that a bad row ends it with one line that
 * names file and line. The tool's source is included here and run in a child process, because it
 * ends by exit(). Quoting after RFC 4180, section 2 (rules 5 to 7). */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/check.h"

int csv2c_main(int argc, char **argv);
#undef fail /* cmocka's, not used here */
#define main csv2c_main
#include "../../../../tools/csv2c.c"
#undef main

#define HEAD "# source: s\n# licence: l\n# units: u\n# date: d\n"
#define OUT_MAX 20000

typedef struct outcome {
    int status;
    char message[2000];
    char header[OUT_MAX];
} outcome;

static void slurp(const char *path, char *text, size_t size)
{
    FILE *in = fopen(path, "rb");
    size_t len = in ? fread(text, 1, size - 1, in) : 0;
    text[len] = '\0';
    if (in) {
        fclose(in);
    }
}

static outcome run(const char *csv)
{
    static outcome got;
    char folder[FL_TEMP_PATH_MAX], in[FL_TEMP_PATH_MAX + 20], out[FL_TEMP_PATH_MAX + 20];
    char err[FL_TEMP_PATH_MAX + 20];
    char *argv[] = {(char[]){"csv2c"}, in, out, NULL};
    memset(&got, 0, sizeof got);
    fl_temp_folder(folder);
    snprintf(in, sizeof in, "%s/trial.csv", folder);
    snprintf(out, sizeof out, "%s/trial.h", folder);
    snprintf(err, sizeof err, "%s/err", folder);
    FILE *file = fopen(in, "wb");
    check_true(file != NULL);
    fputs(csv, file);
    fclose(file);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        int to = open(err, O_CREAT | O_WRONLY, 0600);
        if (to < 0 || dup2(to, STDERR_FILENO) < 0) {
            _exit(99);
        }
        int status = csv2c_main(3, argv);
        fflush(NULL);
        _exit(status);
    }
    check_true(waitpid(child, &got.status, 0) == child);
    check_true(WIFEXITED(got.status));
    got.status = WEXITSTATUS(got.status);
    slurp(err, got.message, sizeof got.message);
    slurp(out, got.header, sizeof got.header);
    fl_remove_folder(folder);
    return got;
}

static void check_refused(const char *csv, const char *line, const char *why)
{
    outcome got = run(csv);
    check_int(got.status, 1);
    check_contains(got.message, line);
    check_contains(got.message, why);
    check_true(strchr(got.message, '\n') == got.message + strlen(got.message) - 1); /* one line */
    check_str(got.header, "");
}

static void test_a_good_table(void **state)
{
    (void)state;
    outcome got = run(HEAD "# types: w,s,d,i\n# key: code\ncode,text,number,count\n"
                           "one,\"a, \"\"b\"\"\",2.5,7\r\ntwo,\"two\nlines\",,\n");
    check_int(got.status, 0);
    check_str(got.message, "");
    check_contains(got.header, "struct fl_row_trial {");
    check_contains(got.header, "#define fl_rows_trial_count 2");
    check_contains(got.header, "{\"one\", \"a, \\042b\\042\", 2.5, 7},");
    check_contains(got.header, "{\"two\", \"two\\012lines\", (double)NAN, FL_ROW_INT_BLANK},");
    check_contains(got.header, "X(one, \"a, \\042b\\042\", 2.5, 7)");
    check_contains(got.header, "fl_bytes_trial[");
}

/* Whole numbers stay doubles in a column of type d, and no digit is lost. */
static void test_numbers(void **state)
{
    (void)state;
    outcome got = run(HEAD "# types: d\nnumber\n3\n0.1\n-1e-300\n1e22\n");
    check_int(got.status, 0);
    check_contains(got.header, "{3.0},");
    check_contains(got.header, "{0.10000000000000001},");
    check_contains(got.header, "e-300},");
    check_contains(got.header, "{1e+22},");
}

static void test_groups(void **state)
{
    (void)state;
    const char *head = HEAD "# types: w,i\n# group: of\nof,n\n";
    char csv[400];
    snprintf(csv, sizeof csv, "%sa,1\na,2\nb,3\n", head);
    outcome got = run(csv);
    check_int(got.status, 0);
    check_contains(got.header, "#define fl_group_trial_a(X) \\\n    X(a, 1) \\\n    X(a, 2)\n");
    check_contains(got.header, "#define fl_group_trial_b(X) \\\n    X(b, 3)\n");
    snprintf(csv, sizeof csv, "%sa,1\nb,3\na,2\n", head);
    check_refused(csv, "trial.csv:10: ", "do not stand together");
}

/* The line named is the line where the bad row starts. */
static void test_bad_rows(void **state)
{
    (void)state;
    const char *head = HEAD "# types: w,d\nword,number\n"; /* rows start at line 7 */
    static const struct {
        const char *rows, *line, *why;
    } bad[] = {{"a,1\nb\n", "trial.csv:8: ", "1 fields, 2 wanted"},
               {"a,1,2\n", "trial.csv:7: ", "more than 2 fields"},
               {"a,nan\n", "trial.csv:7: ", "give a number"},
               {"a,1\nb,0x10\n", "trial.csv:8: ", "give a number"},
               {"a,1 \n", "trial.csv:7: ", "give a number"},
               {"a,1e999\n", "trial.csv:7: ", "give a number"},
               {"Not a word,1\n", "trial.csv:7: ", "lower-case"},
               {"\"a\"b,1\n", "trial.csv:7: ", "after a closing quote"},
               {"a\"b,1\n", "trial.csv:7: ", "unquoted"},
               {"a,1\n\"b,2\n", "trial.csv:8: ", "not closed"},
               {"", "trial.csv:7: ", "no rows"}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char csv[400];
        snprintf(csv, sizeof csv, "%s%s", head, bad[i].rows);
        check_refused(csv, bad[i].line, bad[i].why);
    }
    check_refused(HEAD "# types: i\nn\n1\n2.5\n", "trial.csv:8: ", "whole number");
    check_refused(HEAD "# types: i\nn\n99999999999\n", "trial.csv:7: ", "whole number");
    check_refused(HEAD "# types: w\n# key: code\ncode\na\nb\na\n", "trial.csv:10: ", "twice");
}

static void test_bad_headers(void **state)
{
    (void)state;
    check_refused("# source: s\n# units: u\n# date: d\n# types: d\nn\n1\n",
                  "trial.csv:5: ", "licence");
    check_refused("n\n1\n", "trial.csv:1: ", "source");
    check_refused(HEAD "# types: x\nn\n1\n", "trial.csv:5: ", "type 'x'");
    check_refused(HEAD "# types: d,d\nn\n1\n", "trial.csv:6: ", "1 columns, but 2 types");
    check_refused(HEAD "# types: d,d\nn,n\n1,1\n", "trial.csv:6: ", "occurs twice");
    check_refused(HEAD "# types: d\nBig Name\n1\n", "trial.csv:6: ", "lower-case");
    check_refused(HEAD "# types: d\n# key: n\nn\n1\n", "trial.csv:7: ", "of type w");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_good_table), cmocka_unit_test(test_numbers),
    cmocka_unit_test(test_groups),       cmocka_unit_test(test_bad_rows),
    cmocka_unit_test(test_bad_headers),
};
FL_TEST_MAIN(tests)
