/* json/json.h: the writer. */
#include <math.h>

#include "json/json.h"
#include "support/check.h"

static void check_written(fl_json_writer *w, bool is_pretty, const char *want)
{
    fl_str out;
    fl_str_init(&out, 10000);
    fl_json_write(w, is_pretty, &out);
    check_str(out.ptr, want);
    fl_str_done(&out);
    fl_json_writer_free(w);
}

static void test_all_kinds(void **state)
{
    (void)state;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "z_first", FL_SV("a\"b"));
    fl_json_put_cstr(w, "c", "leaf");
    fl_json_put_number(w, "volume_ml", 7.6);
    fl_json_put_int(w, "n", -3);
    fl_json_put_bool(w, "yes", true);
    fl_json_put_null(w, "none");
    fl_json_begin_array(w, "list");
    fl_json_put_int(w, NULL, 1);
    fl_json_begin_object(w, NULL);
    fl_json_end(w);
    fl_json_begin_array(w, NULL);
    fl_json_end(w);
    fl_json_end(w);
    fl_json_end(w);
    check_written(w, false,
                  "{\"z_first\":\"a\\\"b\",\"c\":\"leaf\",\"volume_ml\":7.6,\"n\":-3,\"yes\":true,"
                  "\"none\":null,\"list\":[1,{},[]]}");
}

static void test_pretty(void **state)
{
    (void)state;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "a", 1);
    fl_json_begin_array(w, "b");
    fl_json_put_int(w, NULL, 2);
    fl_json_put_int(w, NULL, 3);
    fl_json_end(w);
    fl_json_begin_object(w, "c");
    fl_json_end(w);
    fl_json_end(w);
    check_written(w, true, "{\n  \"a\": 1,\n  \"b\": [\n    2,\n    3\n  ],\n  \"c\": {}\n}");
}

static void test_numbers(void **state)
{
    (void)state;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_array(w, NULL);
    fl_json_put_number(w, NULL, 1.0 / 3.0);
    fl_json_put_number(w, NULL, NAN);
    fl_json_put_number(w, NULL, -INFINITY);
    fl_json_put_number(w, NULL, 4000.0);
    fl_json_put_number(w, NULL, 0.1 + 0.2); /* 15 digits hide the last bit */
    fl_json_put_int(w, NULL, INT64_MIN);
    fl_json_end(w);
    check_written(w, false, "[0.333333333333333,null,null,4000,0.3,-9223372036854775808]");
}

static void test_text_that_is_not_utf8(void **state)
{
    (void)state;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_array(w, NULL);
    fl_json_put_text(w, NULL,
                     FL_SV("a\xff"
                           "b"));
    fl_json_put_text(w, NULL, (fl_sv){NULL, 0});
    fl_json_put_cstr(w, NULL, NULL);
    fl_json_put_text(w, NULL, FL_SV("\xc3\xa9"));
    fl_json_end(w);
    check_written(w, false, "[\"a?b\",\"\",\"\",\"\xc3\xa9\"]");
}

static void test_raw(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    check_ok(fl_json_put_raw(w, "frozen", FL_SV("{\"b\":1,\"a\":0.25}"), &err), &err);
    check_int(fl_json_put_raw(w, "broken", FL_SV("{\"b\":"), &err), FL_EFORMAT);
    check_status(&err, FL_EFORMAT);
    fl_json_end(w);
    check_written(w, false, "{\"frozen\":{\"b\":1,\"a\":0.25}}");
}

static void test_top_value_and_unfinished(void **state)
{
    (void)state;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_put_bool(w, NULL, false);
    check_written(w, false, "false");
    w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "left open");
    fl_json_writer_free(w); /* no leak, no harm */
    fl_json_writer_free(NULL);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_all_kinds), cmocka_unit_test(test_pretty),
    cmocka_unit_test(test_numbers),   cmocka_unit_test(test_text_that_is_not_utf8),
    cmocka_unit_test(test_raw),       cmocka_unit_test(test_top_value_and_unfinished),
};
FL_TEST_MAIN(tests)
