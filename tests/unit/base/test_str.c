/* base/str.h. */
#include <string.h>

#include "base/str.h"
#include "support/check.h"

static void test_builds(void **state)
{
    (void)state;
    fl_str s;
    fl_str_init(&s, 1000);
    check_true(s.ptr == NULL);
    check_sv(fl_str_sv(&s), "");
    fl_str_append(&s, FL_SV("bin "));
    fl_str_append_cstr(&s, "n");
    fl_str_append_char(&s, ':');
    fl_str_appendf(&s, " %d %s", 3, "ok");
    check_str(s.ptr, "bin n: 3 ok");
    check_int(s.len, strlen(s.ptr));
    check_false(s.is_full);
    fl_str_clear(&s);
    check_str(s.ptr, "");
    fl_str_append_cstr(&s, NULL);
    check_int(s.len, 0);
    fl_str_done(&s);
    check_true(s.ptr == NULL);
    fl_str_done(&s);
    fl_str_done(NULL);
}

static void test_cuts_at_the_maximum(void **state)
{
    (void)state;
    fl_str s;
    fl_str_init(&s, 5);
    fl_str_append_cstr(&s, "12345");
    check_false(s.is_full); /* exactly full is whole */
    fl_str_append_char(&s, '6');
    check_true(s.is_full);
    check_str(s.ptr, "12345");
    fl_str_clear(&s);
    check_false(s.is_full);
    fl_str_appendf(&s, "%s", "abcdefgh");
    check_true(s.is_full);
    check_str(s.ptr, "abcde");
    fl_str_done(&s);
}

static void test_maximum_zero(void **state)
{
    (void)state;
    fl_str s;
    fl_str_init(&s, 0);
    fl_str_append_cstr(&s, "x");
    check_true(s.is_full);
    check_str(s.ptr, "");
    fl_str_done(&s);
}

static void test_grows(void **state)
{
    (void)state;
    fl_str s;
    fl_str_init(&s, 100000);
    for (int i = 0; i < 20000; i++) {
        fl_str_append_char(&s, (char)('a' + i % 26));
    }
    check_int(s.len, 20000);
    check_true(s.cap <= s.max + 1);
    for (size_t i = 0; i < s.len; i++) {
        check_int(s.ptr[i], 'a' + (int)(i % 26));
    }
    check_int(s.ptr[s.len], 0);
    fl_str_done(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_builds),
    cmocka_unit_test(test_cuts_at_the_maximum),
    cmocka_unit_test(test_maximum_zero),
    cmocka_unit_test(test_grows),
};
FL_TEST_MAIN(tests)
