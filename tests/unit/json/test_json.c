/* json/json.h: the reader, against the grammar of RFC 8259, and the canonical bytes. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/num.h"
#include "base/rng.h"
#include "json/json.h"
#include "support/check.h"

static fl_json_doc *parse(const char *text)
{
    fl_json_doc *doc = NULL;
    fl_err err = {0};
    check_ok(fl_json_parse(fl_sv_from_cstr(text), &doc, &err), &err);
    return doc;
}

static void check_canonical(const char *text, const char *want)
{
    fl_str out;
    fl_err err = {0};
    fl_json_doc *doc = parse(text);
    fl_str_init(&out, 10000);
    check_ok(fl_json_canonical(fl_json_root(doc), &out, &err), &err);
    check_str(out.ptr, want);
    fl_str_done(&out);
    fl_json_free(doc);
}

static void test_types(void **state)
{
    (void)state;
    fl_json_doc *doc =
        parse("{\"n\":null,\"b\":true,\"i\":3,\"r\":0.5,\"s\":\"x\",\"a\":[1,2],\"o\":{}}");
    const fl_json_value *root = fl_json_root(doc);
    check_int(fl_json_type_of(root), FL_JSON_OBJECT);
    check_int(fl_json_type_of(fl_json_get(root, "n")), FL_JSON_NULL);
    check_int(fl_json_type_of(fl_json_get(root, "b")), FL_JSON_BOOL);
    check_int(fl_json_type_of(fl_json_get(root, "i")), FL_JSON_NUMBER);
    check_int(fl_json_type_of(fl_json_get(root, "r")), FL_JSON_NUMBER);
    check_int(fl_json_type_of(fl_json_get(root, "s")), FL_JSON_STRING);
    check_int(fl_json_type_of(fl_json_get(root, "a")), FL_JSON_ARRAY);
    check_int(fl_json_type_of(fl_json_get(root, "o")), FL_JSON_OBJECT);
    check_int(fl_json_type_of(fl_json_get(root, "?")), FL_JSON_ABSENT);
    check_int(fl_json_size(root), 7);
    check_int(fl_json_size(fl_json_get(root, "a")), 2);
    check_int(fl_json_size(fl_json_get(root, "s")), 0);
    check_int(fl_json_size(NULL), 0);
    check_true(fl_json_get(fl_json_get(root, "a"), "x") == NULL);
    check_true(fl_json_get(NULL, "x") == NULL);
    check_true(fl_json_at(fl_json_get(root, "a"), 2) == NULL);
    check_true(fl_json_at(root, 0) == NULL);
    fl_json_free(doc);
    fl_json_free(NULL);
}

static void test_values(void **state)
{
    (void)state;
    fl_json_doc *doc =
        parse("{\"t\":true,\"f\":false,\"s\":\"\\u00e9\\ud83c\\udf3f\\n\",\"n\":-2.5}");
    const fl_json_value *root = fl_json_root(doc);
    check_true(fl_json_bool(fl_json_get(root, "t"), false));
    check_false(fl_json_bool(fl_json_get(root, "f"), true));
    check_true(fl_json_bool(fl_json_get(root, "s"), true));
    check_false(fl_json_bool(NULL, false));
    check_sv(fl_json_text(fl_json_get(root, "s")), "\xc3\xa9\xf0\x9f\x8c\xbf\n");
    check_sv(fl_json_text(fl_json_get(root, "n")), "");
    check_sv(fl_json_text(NULL), "");
    double number = 1.0;
    check_true(fl_json_number(fl_json_get(root, "n"), &number));
    check_close(number, -2.5, 0.0, 0.0);
    check_false(fl_json_number(fl_json_get(root, "s"), &number));
    check_false(fl_json_number(NULL, &number));
    fl_json_free(doc);
}

static void test_integers(void **state)
{
    (void)state;
    fl_json_doc *doc =
        parse("[9223372036854775807, 3.0, 3.5, 1e15, 1e16, \"3\", -9223372036854775808]");
    const fl_json_value *root = fl_json_root(doc);
    int64_t got = 0;
    check_true(fl_json_int(fl_json_at(root, 0), &got));
    check_true(got == INT64_MAX);
    check_true(fl_json_int(fl_json_at(root, 1), &got));
    check_int(got, 3);
    check_false(fl_json_int(fl_json_at(root, 2), &got));
    check_true(fl_json_int(fl_json_at(root, 3), &got));
    check_int(got, 1000000000000000);
    check_false(fl_json_int(fl_json_at(root, 4), &got)); /* beyond 2^53 a double is not exact */
    check_false(fl_json_int(fl_json_at(root, 5), &got));
    check_false(fl_json_int(NULL, &got));
    check_true(fl_json_int(fl_json_at(root, 6), &got));
    check_true(got == INT64_MIN);
    fl_json_free(doc);
}

static void test_members_keep_their_order(void **state)
{
    (void)state;
    fl_json_doc *doc = parse("{\"z\":1,\"a\":2,\"m\":3}");
    static const char *const keys[] = {"z", "a", "m"};
    for (size_t i = 0; i < 3; i++) {
        fl_sv key = FL_SV("");
        int64_t value = 0;
        check_true(fl_json_int(fl_json_member(fl_json_root(doc), i, &key), &value));
        check_sv(key, keys[i]);
        check_int(value, (int)i + 1);
    }
    check_true(fl_json_member(fl_json_root(doc), 3, NULL) == NULL);
    check_true(fl_json_member(NULL, 0, NULL) == NULL);
    fl_json_free(doc);
}

/* RFC 8259: what its grammar does not have is refused; and section 4: names
 * should be unique, here they must be. */
static void test_refuses(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      " ",
                                      "{",
                                      "[1,]",
                                      "{\"a\":1,}",
                                      "{a:1}",
                                      "'a'",
                                      "01",
                                      "+1",
                                      ".5",
                                      "5.",
                                      "1e",
                                      "NaN",
                                      "Infinity",
                                      "-",
                                      "tru",
                                      "nul",
                                      "\"\t\"",
                                      "\"\\x\"",
                                      "\"\\ud800\"",
                                      "\"\\u0000\"",
                                      "\"a",
                                      "[1] 2",
                                      "{\"a\":1,\"a\":2}",
                                      "[1 2]",
                                      "/*x*/1",
                                      "\"\xff\"",
                                      "\"\xc3\"",
                                      "1e999",
                                      "9223372036854775808",
                                      "\xef\xbb\xbf{}"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fl_json_doc *doc = NULL;
        fl_err err = {0};
        if (fl_json_parse(fl_sv_from_cstr(bad[i]), &doc, &err) != FL_EFORMAT) {
            print_error("accepted: %s\n", bad[i]);
            fail();
        }
        check_status(&err, FL_EFORMAT);
        check_contains(err.message, "line");
        check_true(doc == NULL);
    }
    fl_json_doc *doc = NULL;
    check_int(fl_json_parse(FL_SV("1\0"), &doc, NULL), FL_EFORMAT);
    check_int(fl_json_parse((fl_sv){NULL, 0}, &doc, NULL), FL_EFORMAT);
}

static void test_error_names_the_place(void **state)
{
    (void)state;
    fl_json_doc *doc = NULL;
    fl_err err = {0};
    check_int(fl_json_parse(FL_SV("{\n  \"a\": 1,\n  \"b\": x\n}"), &doc, &err), FL_EFORMAT);
    check_contains(err.message, "line 3");
}

/* `deep` arrays around `inside`. */
static fl_status parse_nested(int deep, const char *open, const char *close, fl_json_doc **doc,
                              fl_err *err)
{
    fl_str text;
    fl_str_init(&text, 1000000);
    for (int i = 0; i < deep; i++) {
        fl_str_append_cstr(&text, open);
    }
    fl_str_append_cstr(&text, "1");
    for (int i = 0; i < deep; i++) {
        fl_str_append_cstr(&text, close);
    }
    fl_status status = fl_json_parse(fl_str_sv(&text), doc, err);
    fl_str_done(&text);
    return status;
}

static void test_depth(void **state)
{
    (void)state;
    fl_json_doc *doc = NULL;
    fl_err err = {0};
    check_ok(parse_nested(16, "[", "]", &doc, &err), &err);
    fl_json_free(doc);
    doc = NULL;
    check_int(parse_nested(17, "[", "]", &doc, &err), FL_EFORMAT);
    check_contains(err.message, "16 levels");
    check_int(parse_nested(17, "{\"a\":", "}", &doc, &err), FL_EFORMAT);
    check_int(parse_nested(100000, "[", "]", &doc, &err), FL_EFORMAT);
    check_true(doc == NULL);
}

static void test_need_number(void **state)
{
    (void)state;
    fl_json_doc *doc = parse("{\"pct\":6,\"bad\":40.5,\"text\":\"6\",\"list\":[1,2,3]}");
    const fl_json_value *root = fl_json_root(doc);
    double got = 99.0;
    fl_err err = {0};
    check_ok(fl_json_need_number(root, "pct", 1, 16, &got, &err), &err);
    check_close(got, 6.0, 0.0, 0.0);
    check_int(fl_json_need_number(root, "bad", 1, 16, &got, &err), FL_EINVAL);
    check_str(err.message, "bad: 40.5: give a number from 1 to 16");
    check_int(fl_json_need_number(root, "text", 1, 16, &got, &err), FL_EINVAL);
    check_str(err.message, "text: \"6\": give a number from 1 to 16");
    check_int(fl_json_need_number(root, "list", 1, 16, &got, &err), FL_EINVAL);
    check_int(fl_json_need_number(root, "none", 0.5, 16, &got, &err), FL_EINVAL);
    check_str(err.message, "none: missing: give a number from 0.5 to 16");
    check_close(got, 6.0, 0.0, 0.0);
    fl_json_free(doc);
}

/* Keys in byte order as RFC 8785, 3.2.3, has it for ASCII and for these letters; strings as in its
 * 3.2.2.2 example. */
static void test_canonical_text(void **state)
{
    (void)state;
    check_canonical(" { \"b\" : 1 , \"a\" : [ true , null , false ] } ",
                    "{\"a\":[true,null,false],\"b\":1}");
    check_canonical("{\"\\u00e9\":1,\"z\":2,\"Z\":3,\"\":4,\"aa\":5,\"a\":6}",
                    "{\"\":4,\"Z\":3,\"a\":6,\"aa\":5,\"z\":2,\"\xc3\xa9\":1}");
    check_canonical("\"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\"",
                    "\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"");
    check_canonical("\"\\b\\f\\n\\r\\t\\u001f\\u007f\"", "\"\\b\\f\\n\\r\\t\\u001f\x7f\"");
    check_canonical("[]", "[]");
    check_canonical("{}", "{}");
    check_canonical("\"\"", "\"\"");
}

static void test_canonical_numbers(void **state)
{
    (void)state;
    check_canonical("[3,3.0,3e0,-0.0,-0,0.1,7.6,1e-7,1.5e300]", "[3,3,3,0,0,0.1,7.6,1e-7,1.5e300]");
    check_canonical(
        "[1e15,1000000000000000,9007199254740993,1e20,0.30000000000000004]",
        "[1000000000000000,1000000000000000,9007199254740993,1e20,0.30000000000000004]");
    check_canonical("[100000.5,123456789.125,5e-324,1.7976931348623157e308]",
                    "[100000.5,123456789.125,4.94065645841247e-324,1.7976931348623157e308]");
}

/* What is canonical stays as it is, and every double survives. */
static void test_canonical_is_a_fixed_point(void **state)
{
    (void)state;
    fl_rng rng = {7};
    for (int i = 0; i < 3000; i++) {
        uint64_t bits = fl_rng_next(&rng);
        double value = 0.0;
        double back = 0.0;
        char text[64];
        fl_str first;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value)) {
            continue;
        }
        (void)snprintf(text, sizeof text, "{\"v\":%.17g}", value);
        fl_json_doc *doc = parse(text);
        fl_str_init(&first, 100);
        check_ok(fl_json_canonical(fl_json_root(doc), &first, NULL), NULL);
        fl_json_free(doc);
        doc = parse(first.ptr);
        check_true(fl_json_number(fl_json_get(fl_json_root(doc), "v"), &back));
        check_true(back == value);
        fl_json_free(doc);
        check_canonical(first.ptr, first.ptr);
        fl_str_done(&first);
    }
}

static void test_canonical_that_does_not_fit(void **state)
{
    (void)state;
    fl_json_doc *doc = parse("{\"note\":\"0123456789\"}");
    fl_str out;
    fl_err err = {0};
    fl_str_init(&out, 12);
    fl_str_append_cstr(&out, "kept");
    check_int(fl_json_canonical(fl_json_root(doc), &out, &err), FL_ETOOBIG);
    check_status(&err, FL_ETOOBIG);
    check_str(out.ptr, "kept");
    fl_str_done(&out);
    fl_json_free(doc);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_types),
    cmocka_unit_test(test_values),
    cmocka_unit_test(test_integers),
    cmocka_unit_test(test_members_keep_their_order),
    cmocka_unit_test(test_refuses),
    cmocka_unit_test(test_error_names_the_place),
    cmocka_unit_test(test_depth),
    cmocka_unit_test(test_need_number),
    cmocka_unit_test(test_canonical_text),
    cmocka_unit_test(test_canonical_numbers),
    cmocka_unit_test(test_canonical_is_a_fixed_point),
    cmocka_unit_test(test_canonical_that_does_not_fit),
};
FL_TEST_MAIN(tests)
