/* base/sv.h, views of text. */
#include "base/sv.h"
#include "support/check.h"

static void test_from_cstr(void **state)
{
    (void)state;
    check_int(fl_sv_from_cstr(NULL).len, 0);
    check_int(fl_sv_from_cstr("").len, 0);
    check_sv(fl_sv_from_cstr("fern"), "fern");
    check_sv(FL_SV("moss"), "moss");
}

static void test_equality(void **state)
{
    (void)state;
    const fl_sv none = {NULL, 0};
    check_true(fl_sv_eq(none, FL_SV("")));
    check_true(fl_sv_eq(FL_SV("a\0b"), FL_SV("a\0b")));
    check_false(fl_sv_eq(FL_SV("a\0b"), FL_SV("a\0c")));
    check_false(fl_sv_eq(FL_SV("a"), FL_SV("ab")));
    check_true(fl_sv_eq_cstr(FL_SV("x"), "x"));
    check_true(fl_sv_eq_cstr(none, NULL));
    check_true(fl_sv_eq_nocase(FL_SV("Ficus PUMILA"), FL_SV("ficus pumila")));
    check_false(fl_sv_eq_nocase(FL_SV("[x"), FL_SV("{x"))); /* neighbours of the letters */
    check_false(fl_sv_eq_nocase(FL_SV("@"), FL_SV("`")));
    check_false(fl_sv_eq_nocase(FL_SV("a"), FL_SV("aa")));
}

static void test_compare(void **state)
{
    (void)state;
    check_int(fl_sv_compare(FL_SV("a"), FL_SV("b")), -1);
    check_int(fl_sv_compare(FL_SV("b"), FL_SV("a")), 1);
    check_int(fl_sv_compare(FL_SV("a"), FL_SV("a")), 0);
    check_int(fl_sv_compare(FL_SV("a"), FL_SV("aa")), -1);
    check_int(fl_sv_compare(FL_SV("aa"), FL_SV("a")), 1);
    check_int(fl_sv_compare(FL_SV("\xff"), FL_SV("a")), 1); /* bytes, not signed chars */
    check_int(fl_sv_compare((fl_sv){NULL, 0}, FL_SV("")), 0);
    check_int(fl_sv_compare((fl_sv){NULL, 0}, FL_SV("a")), -1);
}

static void test_trim(void **state)
{
    (void)state;
    check_sv(fl_sv_trim(FL_SV(" \t\r\n a b \v\f")), "a b");
    check_sv(fl_sv_trim(FL_SV("   ")), "");
    check_sv(fl_sv_trim((fl_sv){NULL, 0}), "");
    check_sv(fl_sv_trim(FL_SV("\xc2\xa0x")), "\xc2\xa0x"); /* only ASCII space */
}

static void test_split(void **state)
{
    (void)state;
    fl_sv rest = FL_SV("a||bc");
    check_sv(fl_sv_split(&rest, '|'), "a");
    check_sv(fl_sv_split(&rest, '|'), "");
    check_sv(rest, "bc");
    check_sv(fl_sv_split(&rest, '|'), "bc");
    check_sv(rest, "");
    check_sv(fl_sv_split(&rest, '|'), "");
    rest = FL_SV("a|");
    check_sv(fl_sv_split(&rest, '|'), "a");
    check_sv(rest, "");
    rest = (fl_sv){NULL, 0};
    check_sv(fl_sv_split(&rest, '|'), "");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_from_cstr), cmocka_unit_test(test_equality),
    cmocka_unit_test(test_compare),   cmocka_unit_test(test_trim),
    cmocka_unit_test(test_split),
};
FL_TEST_MAIN(tests)
