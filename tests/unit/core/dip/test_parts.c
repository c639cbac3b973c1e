/* Dilutions as text: both ways of writing are read, the ambiguous one is asked about. */
#include "core/dip/parts.h"
#include "support/check.h"

static fl_parts parsed(const char *text)
{
    fl_parts parts = {0.0, 0.0};
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_parts_parse(fl_sv_from_cstr(text), &parts, &err), &err);
    return parts;
}

static fl_err refused(const char *text, fl_status want)
{
    fl_parts parts = {7.0, 8.0};
    fl_err err;
    fl_err_clear(&err);
    check_int(fl_parts_parse(fl_sv_from_cstr(text), &parts, &err), want);
    check_status(&err, want);
    /* untouched on failure */
    check_close(parts.product, 7.0, 0.0, 0.0);
    check_close(parts.water, 8.0, 0.0, 0.0);
    return err;
}

static void test_both_ways(void **state)
{
    (void)state;
    fl_parts plus = parsed("1+19");
    check_close(plus.product, 1.0, 0.0, 0.0);
    check_close(plus.water, 19.0, 0.0, 0.0);
    fl_parts in_all = parsed(" 1 in 20 ");
    check_close(in_all.water, 19.0, 0.0, 0.0);
    check_close(parsed("0.5 + 9.5").water, 9.5, 0.0, 0.0);
    /* 1 in 10 of CDC and WHO tables is 1 + 9 */
    check_close(fl_parts_share(parsed("1 IN 10")), 0.1, 1e-15, 0.0);
    check_close(fl_parts_share(parsed("1+10")), 1.0 / 11.0, 1e-15, 0.0);
    check_close(fl_parts_share(parsed("1+0")), 1.0, 0.0, 0.0);
}

/* Percent by volume: 5 parts in 100 in all, as 1+19 is. */
static void test_percent(void **state)
{
    (void)state;
    static const char *const texts[] = {"5 %", "5%", " 5 % by volume", "5% By Volume "};
    for (size_t i = 0; i < 4; i++) {
        fl_parts p = parsed(texts[i]);
        check_close(fl_parts_share(p), 1.0 / 20.0, 1e-12, 0.0);
    }
    fl_parts out;
    fl_err err;
    fl_err_clear(&err);
    check_int(fl_parts_parse(FL_SV("0 %"), &out, &err), FL_EDOMAIN);
    check_int(fl_parts_parse(FL_SV("101 %"), &out, &err), FL_EDOMAIN);
    check_int(fl_parts_parse(FL_SV("5 % by weight"), &out, &err), FL_EFORMAT);
}

static void test_ambiguous_is_asked(void **state)
{
    (void)state;
    fl_err err = refused("1:10", FL_EINVAL);
    check_contains(err.message, "1+9");
    check_contains(err.message, "1+10");
    check_contains(err.message, "?");
    err = refused("1/20", FL_EINVAL);
    check_contains(err.message, "1+19");
    check_contains(err.message, "1+20");
}

static void test_refused(void **state)
{
    (void)state;
    refused("", FL_EFORMAT);
    refused("20", FL_EFORMAT);
    refused("a:b", FL_EFORMAT);
    refused("10:1", FL_EFORMAT);
    refused("x+19", FL_EFORMAT);
    refused("1+y", FL_EFORMAT);
    refused("0+19", FL_EDOMAIN);
    refused("1+-2", FL_EDOMAIN);
    refused("20 in 1", FL_EDOMAIN);
    refused("1+1e9", FL_EDOMAIN);
    refused("1e9+1", FL_EDOMAIN);
    refused(" in ", FL_EFORMAT);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_both_ways),
    cmocka_unit_test(test_percent),
    cmocka_unit_test(test_ambiguous_is_asked),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
