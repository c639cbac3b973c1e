/* json/schema.h: the verdict of every case of tests/reference/schema_cases.json (JSON Schema
 * 2020-12; the same file is answered by ajv), the schemas of schema/ themselves, and that their
 * words and limits are those of the headers. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/limits.h"
#include "event/event.h"
#include "json/schema.h"
#include "json/schema_parts.h"
#include "support/check.h"
#include "support/source_file.h"

static fl_json_doc *parse(const char *text)
{
    fl_err err = {0};
    fl_json_doc *doc = NULL;
    check_ok(fl_json_parse(fl_sv_from_cstr(text), &doc, &err), &err);
    return doc;
}

static fl_json_doc *parse_file(const char *path)
{
    char *text = fl_source_file(path);
    fl_json_doc *doc = parse(text);
    free(text);
    return doc;
}

static fl_status wanted_status(const fl_json_value *entry)
{
    fl_sv verdict = fl_json_text(fl_json_get(entry, "verdict"));
    if (fl_sv_eq_cstr(verdict, "fits")) {
        return FL_OK;
    }
    check_true(fl_sv_eq_cstr(verdict, "misfit") || fl_sv_eq_cstr(verdict, "bad schema"));
    return fl_sv_eq_cstr(verdict, "misfit") ? FL_EINVAL : FL_EFORMAT;
}

static void check_case(const fl_json_value *entry)
{
    fl_err err = {0};
    fl_sv name = fl_json_text(fl_json_get(entry, "name"));
    const fl_json_value *schema = fl_json_get(entry, "schema");
    const fl_json_value *at = fl_json_get(entry, "at");
    if (schema == NULL) {
        schema = fl_schema_of_kind(fl_json_text(fl_json_get(entry, "kind")));
    }
    check_true(schema != NULL);
    fl_status got = fl_schema_check(schema, fl_json_get(entry, "value"), &err);
    if (got != wanted_status(entry)) {
        print_error("case \"%.*s\": %s %s\n", FL_SV_ARG(name), fl_status_name(got), err.message);
        fail();
    }
    check_status(&err, got);
    if (at != NULL && strncmp(err.message, fl_json_text(at).ptr, fl_json_text(at).len) != 0) {
        print_error("case \"%.*s\": \"%s\" is not at %.*s\n", FL_SV_ARG(name), err.message,
                    FL_SV_ARG(fl_json_text(at)));
        fail();
    }
}

static void test_cases(void **state)
{
    (void)state;
    fl_json_doc *doc = parse_file("tests/reference/schema_cases.json");
    const fl_json_value *cases = fl_json_get(fl_json_root(doc), "cases");
    check_true(fl_json_size(cases) > 600);
    for (size_t i = 0; i < fl_json_size(cases); i++) {
        check_case(fl_json_at(cases, i));
    }
    fl_json_free(doc);
}

static void check_message(const char *schema, const char *value, const char *message)
{
    fl_err err = {0};
    fl_json_doc *schema_doc = parse(schema);
    fl_json_doc *value_doc = parse(value);
    check_true(fl_schema_check(fl_json_root(schema_doc), fl_json_root(value_doc), &err) != FL_OK);
    check_str(err.message, message);
    fl_json_free(schema_doc);
    fl_json_free(value_doc);
}

static void test_messages(void **state)
{
    (void)state;
    check_message("{\"type\":\"integer\"}", "\"three\"", "(top): \"three\": give a whole number");
    check_message("{\"items\":{\"type\":\"object\"}}", "[{},[1]]", "/1: a list: give an object");
    check_message("{\"properties\":{\"a/b~\":{\"type\":\"null\"}}}", "{\"a/b~\":true}",
                  "/a~1b~0: true: give null");
    check_message("{\"enum\":[\"bin\",\"jar\",1]}", "\"box\"", "(top): \"box\": give bin, jar, 1");
    check_message("{\"const\":\"bleach\"}", "null", "(top): null: give \"bleach\"");
    check_message("{\"required\":[\"lot\"]}", "{}", "(top): \"lot\" is missing");
    check_message("{\"properties\":{\"a\":{},\"b\":{}},\"additionalProperties\":false}",
                  "{\"c\":1}", "(top): \"c\" is not known here: give a, b");
    check_message("{\"minimum\":1}", "0", "(top): 0: give at least 1");
    check_message("{\"maximum\":1.5}", "2", "(top): 2: give at most 1.5");
    check_message("{\"exclusiveMinimum\":0}", "0", "(top): 0: give more than 0");
    check_message("{\"minItems\":1}", "[]", "(top): 0 entries: give at least 1");
    check_message("{\"maxLength\":2}", "\"\xc3\xa9\xc3\xa9\xc3\xa9\"",
                  "(top): 3 characters: give at most 2");
    check_message("{\"uniqueItems\":true}", "[1,2,1]", "(top): 1 stands twice: give each once");
    check_message("{\"pattern\":\"^[a-z][a-z0-9_]*$\"}", "\"Two\"",
                  "(top): \"Two\": give a code such as fungus_gnat");
    check_message("{\"oneOf\":[{\"type\":\"null\"},{\"minimum\":2}]}", "1",
                  "(top): fits no form: (top): 1: give null; or (top): 1: give at least 2");
    check_message("{\"oneOf\":[{},{}]}", "1", "(top): fits 2 forms at once: give one");
    check_message("{\"minimun\":1}", "1",
                  "schema: the keyword \"minimun\" is not among those known");
    check_message("{\"items\":{\"minLength\":-1}}", "1",
                  "schema /items/minLength: give a whole number from 0");
}

/* What is ours alone: patterns are a fixed set, and a schema may not run in a circle. */
static void test_refused_schemas(void **state)
{
    (void)state;
    check_message("{\"pattern\":\"^x$\"}", "1",
                  "schema /pattern: the pattern is not among those known "
                  "(src/json/schema_pattern.c)");
    check_message("{\"$ref\":\"#\"}", "1", "schema: refers to itself without an end");
    check_message("{\"oneOf\":[{\"$ref\":\"#\"}]}", "1", "schema: refers to itself without an end");
    check_message("{\"$ref\":\"\"}", "1", "schema /$ref: refers to nothing");
    check_message("{\"$ref\":\"common.json#/title\"}", "1", "schema /$ref: refers to nothing");
    check_message("[]", "1", "schema (top): give a schema: an object, true or false");
}

/* A pointer or a value that is too long for a message is cut; the message stays one line. */
static void test_long_values(void **state)
{
    (void)state;
    char value[1024] = "{\"";
    fl_err err = {0};
    fl_json_doc *schema = parse("{\"additionalProperties\":{\"type\":\"null\"}}");
    memset(value + 2, 'k', 500);
    (void)snprintf(value + 502, sizeof value - 502, "\":\"%0400d\"}", 7);
    fl_json_doc *doc = parse(value);
    check_int(fl_schema_check(fl_json_root(schema), fl_json_root(doc), &err), FL_EINVAL);
    check_status(&err, FL_EINVAL);
    check_contains(err.message, "give null");
    fl_json_free(doc);
    fl_json_free(schema);
}

static void test_kinds(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        const fl_json_value *schema = fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[i].word));
        check_true(schema != NULL);
        const fl_json_value *properties = fl_json_get(schema, "properties");
        check_sv(fl_json_text(fl_json_get(schema, "title")), fl_kinds[i].text);
        check_sv(fl_json_text(fl_json_get(fl_json_get(properties, "kind"), "const")),
                 fl_kinds[i].word);
    }
    check_true(fl_schema_of_kind(FL_SV("common")) == NULL);
    check_true(fl_schema_of_kind(FL_SV("lot")) == NULL);
    check_true(fl_schema_document(FL_SV("nothing.json")) == NULL);
}

/* True when every object schema below names its members and is closed. plan_json and answer_json
 * are free by intent. */
static bool is_closed(const fl_json_value *schema)
{
    const fl_json_value *properties = fl_json_get(schema, "properties");
    if (properties != NULL && fl_sv_eq_cstr(fl_json_text(fl_json_get(schema, "type")), "object") &&
        fl_json_bool(fl_json_get(schema, "additionalProperties"), true)) {
        return false;
    }
    for (size_t i = 0; i < fl_json_size(properties); i++) {
        fl_sv name;
        const fl_json_value *property = fl_json_member(properties, i, &name);
        bool is_free = fl_sv_eq_cstr(name, "plan_json") || fl_sv_eq_cstr(name, "answer_json");
        bool is_object = fl_sv_eq_cstr(fl_json_text(fl_json_get(property, "type")), "object");
        if (!is_closed(property) ||
            (is_object && !is_free && fl_json_get(property, "properties") == NULL)) {
            return false;
        }
    }
    return true;
}

static void test_closed(void **state)
{
    (void)state;
    const fl_json_value *common = fl_schema_document(FL_SV("common.json"));
    const fl_json_value *definitions = fl_json_get(common, "$defs");
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        check_true(is_closed(fl_schema_of_kind(fl_sv_from_cstr(fl_kinds[i].word))));
    }
    for (size_t i = 0; i < fl_json_size(definitions); i++) {
        check_true(is_closed(fl_json_member(definitions, i, NULL)));
    }
    fl_json_doc *open = parse("{\"type\":\"object\",\"properties\":{}}");
    check_false(is_closed(fl_json_root(open)));
    fl_json_free(open);
}

static const fl_json_value *definition(const char *name)
{
    const fl_json_value *common = fl_schema_document(FL_SV("common.json"));
    const fl_json_value *found = fl_json_get(fl_json_get(common, "$defs"), name);
    check_true(found != NULL);
    return found;
}

static void check_words(const char *name, const fl_word *words, int count)
{
    const fl_json_value *list = fl_json_get(definition(name), "enum");
    check_int(fl_json_size(list), count);
    for (int i = 0; i < count; i++) {
        check_sv(fl_json_text(fl_json_at(list, (size_t)i)), words[i].word);
    }
}

static void test_words(void **state)
{
    (void)state;
    check_words("source_kind", fl_words_source_kind, FL_SOURCE_COUNT);
    check_words("form", fl_words_form, FL_FORM_COUNT);
    check_words("place_kind", fl_words_place_kind, FL_PLACE_COUNT);
    check_words("use", fl_words_use, FL_USE_COUNT);
    check_words("step", fl_words_step, FL_STEP_COUNT);
    check_words("agent", fl_words_agent, FL_AGENT_COUNT);
    check_words("prills", fl_words_prills, FL_PRILLS_COUNT);
    check_words("effort", fl_words_effort, FL_EFFORT_COUNT);
    check_words("device", fl_words_device, FL_DEVICE_COUNT);
    check_words("hands", fl_words_hands, FL_HANDS_COUNT);
    check_words("animal_event", fl_words_animal_event, FL_ANIMAL_COUNT);
}

/* What can be in a bottle: every agent but plain and hot water, once, over both forms. */
static void test_bottle_agents(void **state)
{
    (void)state;
    const fl_json_value *schema = fl_schema_of_kind(FL_SV("bottle_opened"));
    const fl_json_value *body = fl_json_get(fl_json_get(schema, "properties"), "body");
    const fl_json_value *forms = fl_json_get(body, "oneOf");
    const fl_json_value *bleach = fl_json_get(fl_json_at(forms, 0), "properties");
    const fl_json_value *others = fl_json_get(fl_json_at(forms, 1), "properties");
    const fl_json_value *list = fl_json_get(fl_json_get(others, "agent"), "enum");
    check_sv(fl_json_text(fl_json_get(fl_json_get(bleach, "agent"), "const")),
             fl_words_agent[FL_AGENT_BLEACH].word);
    size_t at = 0;
    for (int i = 0; i < FL_AGENT_COUNT; i++) {
        if (i != FL_AGENT_NONE && i != FL_AGENT_HOT_WATER && i != FL_AGENT_BLEACH) {
            check_sv(fl_json_text(fl_json_at(list, at++)), fl_words_agent[i].word);
        }
    }
    check_int(fl_json_size(list), at);
}

static void check_limit(const fl_json_value *schema, const char *keyword, int64_t limit)
{
    int64_t got = 0;
    check_true(fl_json_int(fl_json_get(schema, keyword), &got));
    check_int(got, limit);
}

static void test_limits(void **state)
{
    (void)state;
    const fl_json_value *look = fl_schema_of_kind(FL_SV("look_done"));
    const fl_json_value *body = fl_json_get(fl_json_get(look, "properties"), "body");
    const fl_json_value *properties = fl_json_get(body, "properties");
    const fl_json_value *step = fl_json_get(definition("step_on_lots"), "properties");
    check_limit(definition("name"), "maxLength", FL_NAME_BYTES_MAX);
    check_limit(definition("line"), "maxLength", FL_NAME_BYTES_MAX);
    check_limit(definition("text"), "maxLength", FL_NOTE_BYTES_MAX);
    check_limit(fl_json_get(properties, "lots"), "maxItems", FL_LIST_MAX);
    check_limit(fl_json_get(properties, "findings"), "maxItems", FL_LIST_MAX);
    check_limit(fl_json_get(step, "lots"), "maxItems", FL_LIST_MAX);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_cases),           cmocka_unit_test(test_messages),
    cmocka_unit_test(test_refused_schemas), cmocka_unit_test(test_long_values),
    cmocka_unit_test(test_kinds),           cmocka_unit_test(test_closed),
    cmocka_unit_test(test_words),           cmocka_unit_test(test_bottle_agents),
    cmocka_unit_test(test_limits),
};
FL_TEST_MAIN(tests)
