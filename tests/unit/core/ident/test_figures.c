/* The line drawings of data/figures: one for each specimen, ours, small, and harmless to put into a
 * page: no script, no style, no link, no colour but the page's own. */
#include <stdio.h>
#include <string.h>

#include "core/ident/ident.h"
#include "support/check.h"

#define FIGURE_BYTES_MAX 4096

static char text[FIGURE_BYTES_MAX + 1];

static size_t read_figure(const char *code)
{
    char path[1024];
    (void)snprintf(path, sizeof path, "%s/data/figures/%s.svg", FL_SOURCE_DIR, code);
    FILE *in = fopen(path, "rb");
    if (in == NULL) {
        fail_msg("no drawing %s", path);
        return 0;
    }
    size_t len = fread(text, 1, FIGURE_BYTES_MAX, in);
    check_true(feof(in) || fgetc(in) == EOF); /* no longer than that */
    (void)fclose(in);
    text[len] = '\0';
    return len;
}

static void check_absent(const char *code, const char *what)
{
    if (strstr(text, what) != NULL) {
        fail_msg("%s.svg holds \"%s\"", code, what);
    }
}

/* Every fill and stroke is one of three. */
static void check_colours(const char *code)
{
    static const char *const keys[] = {" fill=\"", " stroke=\""};
    static const char *const allowed[] = {"none\"", "currentColor\"", "var(--paper, #fff)\""};
    for (size_t k = 0; k < 2; k++) {
        for (const char *at = strstr(text, keys[k]); at != NULL; at = strstr(at + 1, keys[k])) {
            const char *value = at + strlen(keys[k]);
            bool is_known = false;
            for (size_t i = 0; i < 3; i++) {
                is_known = is_known || strncmp(value, allowed[i], strlen(allowed[i])) == 0;
            }
            if (!is_known) {
                fail_msg("%s.svg has the colour %.20s", code, value);
            }
        }
    }
}

static void test_each_specimen_has_its_drawing(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_ident_specimen_count(); i++) {
        const fl_specimen s = fl_ident_specimen_at(i);
        char title[256];
        check_true(read_figure(s.code) > 200);
        check_true(strncmp(text, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 96 96\"",
                           59) == 0);
        (void)snprintf(title, sizeof title, "<title>%s</title>", s.name);
        check_contains(text, title);
        check_contains(text, "stroke=\"currentColor\"");
        check_contains(text, "</svg>");
        check_colours(s.code);
        static const char *const never[] = {"<script", "style=", "<style",  "href", "<text",
                                            "<image",  "onload", "onclick", "url(", "<!ENTITY"};
        for (size_t k = 0; k < sizeof never / sizeof never[0]; k++) {
            check_absent(s.code, never[k]);
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_each_specimen_has_its_drawing),
};
FL_TEST_MAIN(tests)
