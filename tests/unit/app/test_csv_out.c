/* app/csv_out.h, against RFC 4180 (2005), section 2, and the list of first characters in OWASP's
 * page on CSV injection. Whole exports are read by python's csv in tests/reference. */
#include <math.h>

#include "app/csv_out.h"
#include "support/check.h"

static void check_field(fl_sv text, const char *wanted)
{
    fl_csv_out csv;
    fl_str whole;
    fl_csv_out_init(&csv, "a,b");
    fl_csv_put_text(&csv, text);
    fl_csv_put_int(&csv, 1);
    fl_csv_end_row(&csv);
    fl_str_init(&whole, 1000);
    fl_str_appendf(&whole, "a,b\r\n%s,1\r\n", wanted);
    check_sv(fl_str_sv(&csv.text), whole.ptr);
    fl_str_done(&whole);
    fl_csv_out_done(&csv);
}

static void test_quoting(void **state)
{
    (void)state;
    check_field(FL_SV("aaa"), "aaa"); /* the RFC's own examples, rules 5 to 7 */
    check_field(FL_SV("b\r\nbb"), "\"b\r\nbb\"");
    check_field(FL_SV("b\"bb"), "\"b\"\"bb\"");
    check_field(FL_SV("a,b"), "\"a,b\"");
    check_field(FL_SV(""), "");
    check_field(FL_SV(" spaces are part of a field "), " spaces are part of a field ");
    check_field(FL_SV("Übergröße 苔"), "Übergröße 苔");
}

static void test_formulas_are_text(void **state)
{
    (void)state;
    check_field(FL_SV("=1+1"), "\"'=1+1\"");
    check_field(FL_SV("+1"), "\"'+1\"");
    check_field(FL_SV("-1"), "\"'-1\"");
    check_field(FL_SV("@SUM(A1)"), "\"'@SUM(A1)\"");
    check_field(FL_SV("\t=1"), "\"'\t=1\"");
    check_field(FL_SV("\r=1"), "\"'\r=1\"");
    check_field(FL_SV("1=1"), "1=1");
    check_field(FL_SV("=\"a\",b"), "\"'=\"\"a\"\",b\"");
}

static void test_values(void **state)
{
    (void)state;
    fl_csv_out csv;
    fl_id id = {{0}};
    fl_csv_out_init(&csv, "a");
    fl_csv_put_number(&csv, -3.25);
    fl_csv_put_number(&csv, 0.1);
    fl_csv_put_number(&csv, (double)NAN);
    fl_csv_put_int(&csv, -7);
    fl_csv_put_bool(&csv, true);
    fl_csv_put_bool(&csv, false);
    fl_csv_put_id(&csv, id);
    id.b[15] = 0x1f;
    fl_csv_put_id(&csv, id);
    fl_csv_put_moment(&csv, 1772452800);
    fl_csv_put_moment(&csv, INT64_MAX);
    fl_csv_put_moment(&csv, INT64_MIN);
    fl_csv_put_cstr(&csv, NULL);
    fl_csv_end_row(&csv);
    check_sv(fl_str_sv(&csv.text),
             "a\r\n-3.25,0.1,,-7,true,false,,00000000-0000-0000-0000-00000000001f,"
             "2026-03-02T12:00:00Z,,,\r\n");
    fl_csv_out_done(&csv);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_quoting),
    cmocka_unit_test(test_formulas_are_text),
    cmocka_unit_test(test_values),
};
FL_TEST_MAIN(tests)
