/* Every sheet, made by the program from the demo room at a fixed moment: read out by pdftotext,
 * asked by pdfinfo, and the same bytes when made twice. The demo is our own making; what must stand
 * on the paper follows from issue 9 and docs/guide/print.md. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "support/outside.h"

#define NOW "2026-11-25T08:00:00Z"

static char dir[FL_TEMP_PATH_MAX];
static char room[FL_TEMP_PATH_MAX + 8];

#define RUN(...) run_it((const char *const[]){"--room", room, "--now", NOW, __VA_ARGS__, NULL})

static fl_run run_it(const char *const *words)
{
    fl_run run = fl_run_program(words, NULL);
    if (run.code != 0) {
        print_error("%s\n", run.err);
    }
    check_int(run.code, 0);
    return run;
}

static int setup(void **state)
{
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(room, sizeof room, "%s/room", dir);
    fl_run made = RUN("demo");
    fl_run_done(&made);
    fl_run address = RUN("print", "address", "http://fern.local:8462");
    fl_run_done(&address);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    fl_remove_folder(dir);
    return 0;
}

/* Makes one twice, compares, and gives its text. */
static fl_run text_of(const char *what, const char *of, const char *more)
{
    char path[2][FL_TEMP_PATH_MAX + 40];
    for (int i = 0; i < 2; i++) {
        const char *words[12] = {"--room", room, "--now", NOW, "print", what};
        int n = 6;
        (void)snprintf(path[i], sizeof path[i], "%s/%s-%d.pdf", dir, what, i);
        if (of != NULL) {
            words[n++] = of;
        }
        words[n++] = "--out";
        words[n++] = path[i];
        words[n] = more;
        fl_run made = run_it(words);
        fl_run_done(&made);
    }
    fl_run same = OUTSIDE("cmp", path[0], path[1]);
    fl_run_done(&same);
    fl_run info = OUTSIDE("pdfinfo", "-isodates", path[0]);
    check_contains(info.out, "CreationDate:    2026-11-25T08:00:00Z");
    check_contains(info.out, "Page size:       595.276 x 841.89 pts (A4)");
    fl_run_done(&info);
    return OUTSIDE("pdftotext", "-layout", path[0], "-");
}

static void check_words(fl_run *text, const char *const *words)
{
    for (size_t i = 0; words[i] != NULL; i++) {
        check_contains(text->out, words[i]);
    }
    check_contains(text->out, "page 1");
    check_contains(text->out, "(demo room: invented)"); /* demo data is never taken for real */
    fl_run_done(text);
}

static void test_evening(void **state)
{
    static const char *const words[] = {"Tonight at the sink", "creeping fig",  "strip the old mix",
                                        "5 to 15 min",         "In this order", "strip the old mix",
                                        "disinfect the sink",  "At the end",    NULL};
    (void)state;
    fl_run text = text_of("evening", NULL, NULL);
    check_words(&text, words);
}

static void test_round(void **state)
{
    static const char *const words[] = {"A round of looks",        "bin 1 (BQPFXT)",
                                        "Read: yellow card",       "lemon button fern",
                                        "Tools and hands cleaned", NULL};
    (void)state;
    fl_run text = text_of("round", NULL, NULL);
    check_words(&text, words);
}

static void test_place(void **state)
{
    static const char *const words[] = {"bin 1",  "BQPFXT", "Filled since 19 September 2026",
                                        "83QSYY", "Log",    NULL};
    (void)state;
    fl_run text = text_of("place", "bin 1", NULL);
    check_words(&text, words);
}

static void test_sitter(void **state)
{
    static const char *const words[] = {"While I am away", "5 small frogs", "Close the lid",
                                        "The vet:", NULL};
    (void)state;
    fl_run text = text_of("sitter", NULL, NULL);
    check_words(&text, words);
}

static void test_outbreak(void **state)
{
    static const char *const words[] = {
        "Found: fungus gnat", "All clear since 17 May", "Where from", "the purchase from",
        "What happened",      "bin 3 was cleaned",      NULL};
    (void)state;
    fl_run text = text_of("outbreak", "AVFFMT", NULL);
    check_words(&text, words);
}

static void test_card(void **state)
{
    static const char *const words[] = {"lemon button fern",
                                        "Nephrolepis cordifolia",
                                        "came, 2 potted, from",
                                        "strip the old mix",
                                        "nothing found; 8 times",
                                        "How likely something is still there",
                                        "What this rests on",
                                        "no official phytosanitary document",
                                        NULL};
    (void)state;
    fl_run text = text_of("card", "83QSYY", NULL);
    check_words(&text, words);
}

/* What the mother went through stands on the cutting's card, as hers. */
static void test_card_of_cutting(void **state)
{
    (void)state;
    fl_run text = text_of("card", "F2N7NZ", NULL);
    check_contains(text.out, "6 taken as unrooted cutting");
    check_contains(text.out, "its mother: ");
    fl_run_done(&text);
}

static void test_labels(void **state)
{
    (void)state;
    fl_run text = text_of("labels", NULL, NULL);
    check_contains(text.out, "83QSYY");
    check_contains(text.out, "not released: ask the program");
    check_true(strstr(text.out, "6A8HQK") == NULL); /* the air plant is established */
    fl_run_done(&text);
    text = text_of("labels", "The Brook", "--copies=3");
    check_contains(text.out, "NNEVT9");
    fl_run_done(&text);
}

static void test_refused(void **state)
{
    const char *const words[] = {"--room",        room,    "print", "labels",
                                 "no such thing", "--out", "x.pdf", NULL};
    (void)state;
    fl_run run = fl_run_program(words, NULL);
    check_int(run.code, 2);
    check_contains(run.err, "there is no lot or place \"no such thing\"");
    fl_run_done(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_evening),         cmocka_unit_test(test_round),
    cmocka_unit_test(test_place),           cmocka_unit_test(test_sitter),
    cmocka_unit_test(test_outbreak),        cmocka_unit_test(test_card),
    cmocka_unit_test(test_card_of_cutting), cmocka_unit_test(test_labels),
    cmocka_unit_test(test_refused),
};

int main(void)
{
    return cmocka_run_group_tests(tests, setup, teardown);
}
