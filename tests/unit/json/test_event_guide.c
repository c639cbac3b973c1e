/* docs/guide/events.md against the program: every kind has its section with the example that the
 * codec's test reads, every member of the schemas has its row, every word its meaning, and the
 * threats that the examples name exist. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/know/know.h"
#include "event/event.h"
#include "json/json.h"
#include "json/schema_parts.h"
#include "support/check.h"
#include "support/schema_walk.h"
#include "support/source_file.h"

static char *guide;

static int read_guide(void **state)
{
    (void)state;
    guide = fl_source_file("docs/guide/events.md");
    return 0;
}

static int free_guide(void **state)
{
    (void)state;
    free(guide);
    return 0;
}

/* The section under a heading, up to the next heading of any level; the caller frees it. */
static char *section(const char *heading)
{
    char line[120];
    (void)snprintf(line, sizeof line, "\n%s\n", heading);
    const char *from = strstr(guide, line);
    if (from == NULL) {
        print_error("no heading \"%s\"\n", heading);
        fail();
        return NULL;
    }
    from += strlen(line);
    const char *to = strstr(from, "\n#");
    size_t len = to == NULL ? strlen(from) : (size_t)(to - from);
    char *copy = malloc(len + 1);
    memcpy(copy, from, len);
    copy[len] = '\0';
    return copy;
}

/* A row for every property, with the schema's own words, and no row more. */
static void check_rows(const char *text, const fl_json_value *schema)
{
    const fl_json_value *properties = fl_json_get(schema, "properties");
    size_t n_rows = 0;
    check_true(fl_json_size(properties) > 0);
    for (size_t i = 0; i < fl_json_size(properties); i++) {
        char row[300];
        fl_sv key;
        const fl_json_value *property = fl_json_member(properties, i, &key);
        fl_sv description = fl_json_text(fl_json_get(property, "description"));
        check_true(description.len > 0);
        (void)snprintf(row, sizeof row, "\n| `%.*s` | %s | %.*s | ", FL_SV_ARG(key),
                       fl_schema_requires(schema, key) ? "yes" : "", FL_SV_ARG(description));
        check_contains(text, row);
    }
    for (const char *at = strstr(text, "\n| `"); at != NULL; at = strstr(at + 1, "\n| `")) {
        n_rows++;
    }
    check_int(n_rows, fl_json_size(properties));
}

static void test_kinds(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        char name[120];
        const char *word = fl_kinds[i].word;
        (void)snprintf(name, sizeof name, "## %s", word);
        char *text = section(name);
        check_contains(text, fl_kinds[i].text + 1); /* its first letter is a capital there */
        const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(word));
        check_rows(text, fl_json_get(fl_json_get(schema, "properties"), "body"));
        (void)snprintf(name, sizeof name, "tests/unit/json/events/%s.json", word);
        char *example = fl_source_file(name);
        char *block = malloc(strlen(example) + 20);
        (void)snprintf(block, strlen(example) + 20, "```json\n%s```\n", example);
        check_contains(text, block);
        (void)snprintf(name, sizeof name, "| [`%s`](#%s) | %s |\n", word, word, fl_kinds[i].text);
        check_contains(guide, name);
        free(block);
        free(example);
        free(text);
    }
}

static void test_shared_shapes(void **state)
{
    (void)state;
    const fl_json_value *common = fl_schema_document(FL_SV("common.json"));
    const fl_json_value *definitions = fl_json_get(common, "$defs");
    char *text = section("## A step on lots");
    check_rows(text, fl_json_get(definitions, "step_on_lots"));
    free(text);
    text = section("## A finding");
    check_rows(text, fl_json_get(definitions, "finding_seen"));
    free(text);
}

static void check_words(const char *heading, const fl_word *words, int count)
{
    char *text = section(heading);
    for (int i = 0; i < count; i++) {
        char row[200];
        (void)snprintf(row, sizeof row, "| `%s` | %s |", words[i].word, words[i].text);
        check_contains(text, row);
    }
    free(text);
}

static void test_words(void **state)
{
    (void)state;
    check_words("### source_kind", fl_words_source_kind, FL_SOURCE_COUNT);
    check_words("### form", fl_words_form, FL_FORM_COUNT);
    check_words("### place_kind", fl_words_place_kind, FL_PLACE_COUNT);
    check_words("### use", fl_words_use, FL_USE_COUNT);
    check_words("### step", fl_words_step, FL_STEP_COUNT);
    check_words("### agent", fl_words_agent, FL_AGENT_COUNT);
    check_words("### prills", fl_words_prills, FL_PRILLS_COUNT);
    check_words("### effort", fl_words_effort, FL_EFFORT_COUNT);
    check_words("### device", fl_words_device, FL_DEVICE_COUNT);
    check_words("### hands", fl_words_hands, FL_HANDS_COUNT);
    check_words("### animal_event", fl_words_animal_event, FL_ANIMAL_COUNT);
}

/* Every "threat": "…" of the page is a code of data/threats.csv. */
static void test_threats(void **state)
{
    (void)state;
    static const char key[] = "\"threat\": \"";
    size_t n_threats = 0;
    for (const char *at = strstr(guide, key); at != NULL; at = strstr(at, key)) {
        at += sizeof key - 1;
        fl_sv code = {at, strcspn(at, "\"")};
        if (fl_know_threat_find(code) == NULL) {
            print_error("no threat \"%.*s\"\n", FL_SV_ARG(code));
            fail();
        }
        n_threats++;
    }
    check_int(n_threats, 6);
}

#define WITH_GUIDE(test) cmocka_unit_test_setup_teardown(test, read_guide, free_guide)
static const struct CMUnitTest tests[] = {
    WITH_GUIDE(test_kinds),
    WITH_GUIDE(test_shared_shapes),
    WITH_GUIDE(test_words),
    WITH_GUIDE(test_threats),
};
FL_TEST_MAIN(tests)
