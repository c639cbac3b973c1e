/* Leaching and prills. Well-mixed washing leaves exp(-1), exp(-2), exp(-3) of the salt after one,
 * two and three pot-waters: 37, 14 and 5 %. Prills: a product of 4 months at 21 C (ICL 2022: months
 * hold at 21 C on average) lasts about 3 months at 80 F (plantersplace.com 2014, the
 * fertiliser maker's page). */
#include <math.h>

#include "core/residue/fertiliser.h"
#include "support/check.h"

static void test_leaching(void **state)
{
    (void)state;
    static const double published[] = {0.37, 0.14, 0.05};
    fl_err err = {0};
    double left = 0.0;
    for (int i = 0; i < 3; i++) {
        fl_leach leach = {.start_ms_cm = 2.0, .pot_water_ml = 150.0, .water_ml = 150.0 * (i + 1)};
        check_ok(fl_leach_left_ms_cm(&leach, &left, &err), &err);
        check_close(left / 2.0, published[i], 0.0, 0.005);
        leach.rinse_ms_cm = 0.5; /* never below the water itself */
        check_ok(fl_leach_left_ms_cm(&leach, &left, &err), &err);
        check_close(left, 0.5 + 1.5 * exp(-(i + 1.0)), 1e-12, 0.0);
    }
    fl_leach none = {.start_ms_cm = 2.0, .pot_water_ml = 0.0, .water_ml = 1.0};
    check_int(fl_leach_left_ms_cm(&none, &left, &err), FL_EDOMAIN);
    none.pot_water_ml = 100.0;
    none.start_ms_cm = (double)NAN;
    check_int(fl_leach_left_ms_cm(&none, &left, &err), FL_EDOMAIN);
}

static void test_prills(void **state)
{
    (void)state;
    fl_err err = {0};
    double left = 0.0;
    check_ok(fl_prills_left(4.0, 21.1, 61.0, &left, &err), &err);
    check_close(left, 0.5, 0.0, 0.01);
    check_ok(fl_prills_left(4.0, 26.7, 91.5, &left, &err), &err); /* three months */
    check_close(left, 0.0, 0.0, 0.02);
    check_ok(fl_prills_left(4.0, 26.7, 85.0, &left, &err), &err);
    check_true(left > 0.0);
    double warm = 0.0;
    check_ok(fl_prills_left(4.0, 20.0, 30.0, &left, &err), &err);
    check_ok(fl_prills_left(4.0, 30.0, 30.0, &warm, &err), &err);
    check_true(warm < left);
    check_int(fl_prills_left(4.0, 60.0, 30.0, &left, &err), FL_EDOMAIN);
    check_int(fl_prills_left(0.0, 20.0, 30.0, &left, &err), FL_EDOMAIN);
    check_int(fl_prills_left(4.0, 20.0, -1.0, &left, &err), FL_EDOMAIN);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_leaching),
    cmocka_unit_test(test_prills),
};
FL_TEST_MAIN(tests)
