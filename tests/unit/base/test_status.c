/* base/status.h and base/err.h. */
#include <string.h>

#include "base/err.h"
#include "support/check.h"

static void test_names_and_codes(void **state)
{
    (void)state;
    check_str(fl_status_name(FL_OK), "ok");
    check_str(fl_status_name(FL_ENOTFOUND), "not-found");
    check_str(fl_status_name(FL_ECORRUPT), "corrupt");
    check_int(fl_status_http(FL_OK), 200);
    check_int(fl_status_http(FL_ETOOBIG), 413);
    check_int(fl_status_http(FL_EBUSY), 503);
}

static void test_names_are_distinct(void **state)
{
    (void)state;
    for (int i = 0; i < FL_STATUS_COUNT; i++) {
        for (int j = 0; j < i; j++) {
            check_true(strcmp(fl_status_name((fl_status)i), fl_status_name((fl_status)j)) != 0);
        }
        check_true(fl_status_http((fl_status)i) >= 200 && fl_status_http((fl_status)i) < 600);
    }
}

static void test_fail_fills(void **state)
{
    (void)state;
    fl_err err = {0};
    check_int(fl_fail(&err, FL_EINVAL, "label-pct %d: give 1 to 16", 40), FL_EINVAL);
    check_status(&err, FL_EINVAL);
    check_str(err.message, "label-pct 40: give 1 to 16");
    check_contains(err.file, "test_status.c");
    check_true(err.line > 0);
    check_int(fl_fail(NULL, FL_EIO, "no struct to fill"), FL_EIO);
    fl_err_clear(&err);
    check_status(&err, FL_OK);
    check_str(err.message, "");
    fl_err_clear(NULL);
}

static void test_fail_keeps_one_line(void **state)
{
    (void)state;
    fl_err err = {0};
    (void)fl_fail(&err, FL_EINVAL,
                  "a\nb\tc\x7f"
                  "d\x1b[0m");
    check_str(err.message, "a?b?c?d?[0m");
}

static void test_fail_cuts_long_text(void **state)
{
    (void)state;
    char text[600];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    fl_err err = {0};
    (void)fl_fail(&err, FL_EINVAL, "%s", text);
    check_int(strlen(err.message), FL_ERR_MESSAGE_MAX - 1);
    /* "é" twice over the edge: byte 239 would be the first half of one */
    text[238] = '\xc3';
    text[239] = '\xa9';
    (void)fl_fail(&err, FL_EINVAL, "%s", text);
    check_int(strlen(err.message), 238);
    /* and whole when it just fits */
    text[237] = '\xc3';
    text[238] = '\xa9';
    (void)fl_fail(&err, FL_EINVAL, "%s", text);
    check_int(strlen(err.message), 239);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_names_and_codes),     cmocka_unit_test(test_names_are_distinct),
    cmocka_unit_test(test_fail_fills),          cmocka_unit_test(test_fail_keeps_one_line),
    cmocka_unit_test(test_fail_cuts_long_text),
};
FL_TEST_MAIN(tests)
