/* cli/lot_spec.h: lots as they are typed. The form is ours (docs/guide/command-line.md). */
#include <math.h>

#include "cli/lot_spec.h"
#include "support/check.h"

static void test_whole(void **state)
{
    (void)state;
    fl_lot_spec spec;
    fl_err err = {0};
    check_ok(
        fl_lot_spec_read(FL_SV("12x Pilea cadierei:potted:amphibian:label=imidacloprid:cost=4.5"),
                         &spec, &err),
        &err);
    check_int(spec.count, 12);
    check_sv(spec.name, "Pilea cadierei");
    check_true(spec.has_form && spec.has_use);
    check_int(spec.form, FL_FORM_POTTED);
    check_int(spec.use, FL_USE_AMPHIBIAN);
    check_sv(spec.label_active, "imidacloprid");
    check_false(spec.is_label_clean);
    check_close(spec.cost, 4.5, 0.0, 0.0);
}

static void test_short(void **state)
{
    (void)state;
    fl_lot_spec spec;
    fl_err err = {0};
    check_ok(fl_lot_spec_read(FL_SV("unnamed fern"), &spec, &err), &err);
    check_int(spec.count, 1);
    check_sv(spec.name, "unnamed fern");
    check_false(spec.has_form || spec.has_use);
    check_true(isnan(spec.cost));
    /* the fields in any order, blanks around them */
    check_ok(fl_lot_spec_read(FL_SV("3 x moss : stock : clean : moss_clump"), &spec, &err), &err);
    check_int(spec.count, 3);
    check_sv(spec.name, "moss");
    check_int(spec.form, FL_FORM_MOSS_CLUMP);
    check_int(spec.use, FL_USE_STOCK);
    check_true(spec.is_label_clean);
}

/* A number that is no count belongs to the name. */
static void test_numbers_in_names(void **state)
{
    (void)state;
    fl_lot_spec spec;
    fl_err err = {0};
    check_ok(fl_lot_spec_read(FL_SV("2xerophytes:potted"), &spec, &err), &err);
    check_sv(spec.name, "2xerophytes");
    check_int(spec.count, 1);
    check_ok(fl_lot_spec_read(FL_SV("No. 7"), &spec, &err), &err);
    check_sv(spec.name, "No. 7");
}

static void check_refused(const char *text, fl_status code, const char *message)
{
    fl_lot_spec spec = {.count = 77};
    fl_err err = {0};
    check_int(fl_lot_spec_read(fl_sv_from_cstr(text), &spec, &err), code);
    check_contains(err.message, message);
    check_int(spec.count, 77); /* untouched */
}

static void test_refused(void **state)
{
    (void)state;
    check_refused("", FL_EINVAL, "name the plant");
    check_refused("3x :potted", FL_EINVAL, "name the plant");
    check_refused("0x Pilea", FL_EDOMAIN, "how many plants");
    check_refused("9999999x Pilea", FL_EDOMAIN, "1000000");
    check_refused("Pilea:pottd", FL_EINVAL, "\"pottd\" is no form");
    check_refused("Pilea:potted:plug", FL_EINVAL, "\"plug\": a lot has one form");
    check_refused("Pilea:stock:reptile", FL_EINVAL, "\"reptile\": a lot has one form");
    check_refused("Pilea:label=", FL_EINVAL, "\"label=\"");
    check_refused("Pilea:cost=-1", FL_EDOMAIN, "cost");
    check_refused("Pilea:cost=free", FL_EFORMAT, "cost");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_whole),
    cmocka_unit_test(test_short),
    cmocka_unit_test(test_numbers_in_names),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
