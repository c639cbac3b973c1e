/* cli/args.h. */
#define _GNU_SOURCE
#include <math.h>
#include <string.h>

#include "cli/args.h"
#include "support/check.h"

enum { SIZE, COUNT, NAME, METHOD, STRICT, FOUND, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [SIZE] = {"size-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 100,
              .help = "the size"},
    [COUNT] = {"count", FL_ARG_INT, .min = 0, .max = 10, .fallback = 2, .help = "how many"},
    [NAME] = {"name", FL_ARG_TEXT, .help = "any text"},
    [METHOD] = {"method", FL_ARG_TEXT, .choices = "one|two", .help = "how"},
    [STRICT] = {"strict", FL_ARG_FLAG, .help = "be strict"},
    [FOUND] = {"found", FL_ARG_TEXT, .help = "what was found", .is_repeatable = true},
};

#define READ(value, err, ...)                                                                      \
    read_words((value), (err), sizeof((const char *[]){__VA_ARGS__}) / sizeof(char *),             \
               (const char *[]){__VA_ARGS__})

static fl_status read_words(fl_arg_value *value, fl_err *err, size_t count,
                            const char *const *words)
{
    const fl_args args = {options, OPTION_COUNT, .rest_what = "FILE", .rest_max = 2};
    char text[20][60];
    char *argv[21] = {0};
    int rest = 0;
    for (size_t i = 0; i < count; i++) {
        (void)snprintf(text[i], sizeof text[i], "%s", words[i]);
        argv[i] = text[i];
    }
    return fl_args_read(&args, (int)count, argv, value, &rest, err);
}

static void test_reads(void **state)
{
    (void)state;
    fl_arg_value value[OPTION_COUNT];
    fl_err err = {0};
    check_ok(
        READ(value, &err, "x", "--size-mm", "12.5", "--count=7", "--method", "two", "--strict"),
        &err);
    check_close(value[SIZE].number, 12.5, 0.0, 0.0);
    check_int(value[COUNT].integer, 7);
    check_int(value[METHOD].choice, 1);
    check_true(value[STRICT].is_given);
    check_false(value[NAME].is_given);
    check_int(value[NAME].text.len, 0);
    check_int(value[NAME].choice, -1);
}

static void test_repeats(void **state)
{
    (void)state;
    fl_arg_value value[OPTION_COUNT];
    fl_err err = {0};
    check_ok(READ(value, &err, "x", "--size-mm=1", "--found", "a", "--found=b"), &err);
    check_int(value[FOUND].n_repeats, 2);
    check_sv(value[FOUND].repeats[0], "a");
    check_sv(value[FOUND].repeats[1], "b");
    check_int(READ(value, &err, "x", "--size-mm=1", "--name", "a", "--name", "b"), FL_EINVAL);
    check_contains(err.message, "--name is given twice");
}

static void test_repeats_have_a_limit(void **state)
{
    (void)state;
    const char *words[4 + FL_ARGS_REPEATS] = {"x", "--size-mm=1"};
    char text[4 + FL_ARGS_REPEATS][60];
    char *argv[5 + FL_ARGS_REPEATS] = {0};
    const fl_args args = {.option = options, .count = OPTION_COUNT};
    fl_arg_value value[OPTION_COUNT];
    fl_err err = {0};
    int count = 2 + FL_ARGS_REPEATS + 1;
    for (int i = 0; i < count; i++) {
        (void)snprintf(text[i], sizeof text[i], "%s", i < 2 ? words[i] : "--found=z");
        argv[i] = text[i];
    }
    check_int(fl_args_read(&args, count, argv, value, NULL, &err), FL_ETOOBIG);
    check_contains(err.message, "--found is given too often");
}

static void test_fallbacks(void **state)
{
    (void)state;
    fl_arg_value value[OPTION_COUNT];
    fl_err err = {0};
    check_ok(READ(value, &err, "x", "--size-mm=1"), &err);
    check_int(value[COUNT].integer, 2);
    check_false(value[COUNT].is_given);
    check_false(value[STRICT].is_given);
}

/* "Not given" may be NAN, and a fallback may be beyond a whole number: none is cast (C17 6.3.1.4:
 * undefined; the sanitizer's build would stop here). */
static void test_fallbacks_that_are_no_whole_numbers(void **state)
{
    (void)state;
    static const fl_arg odd[] = {{"none", FL_ARG_NUMBER, .fallback = (double)NAN, .help = "none"},
                                 {"huge", FL_ARG_NUMBER, .fallback = 1e300, .help = "huge"}};
    const fl_args args = {.option = odd, .count = 2};
    char name[] = "x";
    char *argv[] = {name, NULL};
    fl_arg_value value[2];
    fl_err err = {0};
    check_ok(fl_args_read(&args, 1, argv, value, NULL, &err), &err);
    check_true(isnan(value[0].number));
    check_int(value[0].integer, 0);
    check_close(value[1].number, 1e300, 0.0, 0.0);
    check_int(value[1].integer, 0);
}

static void check_refused(fl_status status, const fl_err *err, const char *message)
{
    check_true(status != FL_OK);
    check_status(err, status);
    check_str(err->message, message);
}

static void test_refuses(void **state)
{
    (void)state;
    fl_arg_value v[OPTION_COUNT];
    fl_err err = {0};
    check_refused(READ(v, &err, "x"), &err, "--size-mm is missing: give the size");
    check_refused(READ(v, &err, "x", "--size-mm", "0"), &err, "--size-mm 0: give 1 to 100");
    check_refused(READ(v, &err, "x", "--size-mm", "ten"), &err,
                  "--size-mm \"ten\": give a decimal number such as 3.5");
    check_refused(READ(v, &err, "x", "--size-mm"), &err, "--size-mm: a value is missing");
    check_refused(READ(v, &err, "x", "--size", "3"), &err, "--size: write --size-mm");
    check_refused(READ(v, &err, "x", "--size-mm=3", "--size-mm=4"), &err,
                  "--size-mm is given twice: give it once");
    check_refused(READ(v, &err, "x", "--size-mm=3", "--count", "1.5"), &err,
                  "--count \"1.5\": give a whole number");
    check_refused(READ(v, &err, "x", "--size-mm=3", "--method", "three"), &err,
                  "--method \"three\": give one|two");
    check_refused(
        READ(v, &err, "x", "--strict=1"), &err,
        "unknown option --strict=1: give --size-mm, --count, --name, --method, --strict, --found");
    check_refused(
        READ(v, &err, "x", "--wide"), &err,
        "unknown option --wide: give --size-mm, --count, --name, --method, --strict, --found");
    check_refused(
        READ(v, &err, "x", "-s"), &err,
        "unknown option -s: give --size-mm, --count, --name, --method, --strict, --found");
    check_refused(READ(v, &err, "x", "--size-mm=3", "a", "b", "c"), &err,
                  "\"c\": one word too many; give FILE");
}

static void test_negative_numbers_and_rest(void **state)
{
    (void)state;
    static const fl_arg option[] = {{"temp-c", FL_ARG_NUMBER, .help = "temperature"}};
    const fl_args args = {option, 1, .rest_what = "FILE", .rest_max = 2};
    char words[][20] = {"x", "a.csv", "--temp-c", "-5.5", "b.csv"};
    char *argv[] = {words[0], words[1], words[2], words[3], words[4], NULL};
    fl_arg_value value[1];
    int rest = 0;
    fl_err err = {0};
    check_ok(fl_args_read(&args, 5, argv, value, &rest, &err), &err);
    check_close(value[0].number, -5.5, 0.0, 0.0);
    check_int(rest, 3);
    check_str(argv[3], "a.csv");
    check_str(argv[4], "b.csv");
    const fl_args none = {option, 1, .rest_what = NULL};
    check_int(fl_args_read(&none, 5, argv, value, NULL, &err), FL_EINVAL);
}

/* A value that may be left out: behind "=", as the next word, or not at all. */
static void test_bare(void **state)
{
    (void)state;
    static const fl_arg option[] = {
        {"lan", FL_ARG_TEXT, .may_be_bare = true, .help = "an address"},
        {"open", FL_ARG_FLAG, .help = "opens"},
    };
    static const struct {
        const char *words[3];
        const char *text;
        bool is_open;
    } rows[] = {
        {{"--lan", "192.0.2.1", NULL}, "192.0.2.1", false},
        {{"--lan=192.0.2.1", NULL, NULL}, "192.0.2.1", false},
        {{"--lan", NULL, NULL}, "", false},
        {{"--lan", "--open", NULL}, "", true},
        {{"--open", "--lan", "::1"}, "::1", true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char name[] = "fernlock";
        char words[3][32];
        char *argv[5] = {name};
        int argc = 1;
        fl_arg_value value[2];
        fl_err err = {0};
        for (; argc < 4 && rows[i].words[argc - 1] != NULL; argc++) {
            (void)snprintf(words[argc - 1], sizeof words[0], "%s", rows[i].words[argc - 1]);
            argv[argc] = words[argc - 1];
        }
        check_ok(fl_args_read(&(fl_args){option, 2, NULL, 0}, argc, argv, value, NULL, &err), &err);
        check_true(value[0].is_given);
        check_sv(value[0].text, rows[i].text);
        check_int(value[1].is_given, rows[i].is_open);
    }
}

static void test_print(void **state)
{
    (void)state;
    const fl_args args = {options, OPTION_COUNT, .rest_what = NULL};
    char text[2000] = {0};
    FILE *out = fmemopen(text, sizeof text - 1, "w");
    check_true(out != NULL);
    fl_args_print(&args, out);
    (void)fclose(out);
    check_contains(text, "--size-mm NUMBER");
    check_contains(text, "the size; 1 to 100 (required)");
    check_contains(text, "how; one of one|two");
    check_contains(text, "--strict ");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_reads),
    cmocka_unit_test(test_repeats),
    cmocka_unit_test(test_repeats_have_a_limit),
    cmocka_unit_test(test_fallbacks),
    cmocka_unit_test(test_fallbacks_that_are_no_whole_numbers),
    cmocka_unit_test(test_refuses),
    cmocka_unit_test(test_negative_numbers_and_rest),
    cmocka_unit_test(test_bare),
    cmocka_unit_test(test_print),
};
FL_TEST_MAIN(tests)
