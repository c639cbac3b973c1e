/* cli/zone.h. The form of an offset is RFC 3339's "time-offset" (section 5.6). */
#include "cli/zone.h"
#include "support/check.h"

static void test_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int minutes;
    } rows[] = {{"Z", 0},         {"+00:00", 0},   {"+01:00", 60},
                {"-08:00", -480}, {"+05:45", 345}, {"-03:30", -210}};
    fl_err err = {0};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int minutes = 7;
        check_ok(fl_zone_read(fl_sv_from_cstr(rows[i].text), &minutes, &err), &err);
        check_int(minutes, rows[i].minutes);
    }
}

static void test_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {"", "1", "01:00", "+1:00", "+0100", "+01:00:00", "CET"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        fl_err err = {0};
        int minutes = 7;
        check_int(fl_zone_read(fl_sv_from_cstr(texts[i]), &minutes, &err), FL_EFORMAT);
        check_contains(err.message, "+01:00");
        check_int(minutes, 7);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_read),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
