/* core/mix/pot.h: against two trade pots of published size and content, and against geometry. */
#include <math.h>

#include "core/mix/pot.h"
#include "support/check.h"

#define MM_PER_IN 25.4

/* Tolerance 2.5 %: the published sizes are rounded to half an inch, which alone is worth 4 %. */
static void test_published_pots(void **state)
{
    (void)state;
    fl_table pots = fl_table_read("pot_volumes.csv");
    check_int(pots.n_rows, 2);
    for (size_t i = 0; i < pots.n_rows; i++) {
        double volume_ml = 0.0;
        double top_mm = fl_table_number(&pots, i, "top_in") * MM_PER_IN;
        double height_mm = fl_table_number(&pots, i, "height_in") * MM_PER_IN;
        double taper = fl_table_number(&pots, i, "taper");
        fl_err err = {0};
        check_ok(fl_pot_volume(top_mm, top_mm * taper, height_mm, &volume_ml, &err), &err);
        check_close(volume_ml / 1000.0, fl_table_number(&pots, i, "volume_l"), 0.025, 0.0);
    }
    fl_table_free(&pots);
}

/* Geometry: a cylinder; and a frustum is the whole cone less its tip. */
static void test_geometry(void **state)
{
    (void)state;
    double cylinder_ml = 0.0;
    double frustum_ml = 0.0;
    check_ok(fl_pot_volume(100, 100, 100, &cylinder_ml, NULL), NULL);
    check_close(cylinder_ml, acos(-1.0) * 50 * 50 * 100 / 1000, 1e-14, 0.0);
    check_ok(fl_pot_volume(120, 60, 100, &frustum_ml, NULL), NULL);
    double cone_ml = acos(-1.0) * 60 * 60 * 200 / 3 / 1000;
    check_close(frustum_ml, cone_ml * (1 - 1.0 / 8), 1e-14, 0.0);
    double turned_ml = 0.0;
    check_ok(fl_pot_volume(60, 120, 100, &turned_ml, NULL), NULL);
    check_close(turned_ml, frustum_ml, 1e-15, 0.0);
}

/* Geometry: a box; and a frustum of a pyramid is the whole pyramid less its tip. */
static void test_square_geometry(void **state)
{
    (void)state;
    double box_ml = 0.0;
    double frustum_ml = 0.0;
    double round_ml = 0.0;
    check_ok(fl_pot_square_volume(100, 100, 90, &box_ml, NULL), NULL);
    check_close(box_ml, 900.0, 1e-14, 0.0);
    check_ok(fl_pot_square_volume(120, 60, 100, &frustum_ml, NULL), NULL);
    check_close(frustum_ml, 120.0 * 120 * 200 / 3 / 1000 * (1 - 1.0 / 8), 1e-14, 0.0);
    check_ok(fl_pot_volume(120, 60, 100, &round_ml, NULL), NULL);
    check_true(round_ml < frustum_ml);
    fl_err err = {0};
    check_int(fl_pot_square_volume(120, 0, 100, &box_ml, &err), FL_EDOMAIN);
    check_contains(err.message, "bottom 0 mm");
    check_close(box_ml, 900.0, 1e-14, 0.0);
}

static void test_outside(void **state)
{
    (void)state;
    const double bad[] = {0.0, -1.0, 10000.1, NAN, INFINITY};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double volume_ml = 7.0;
        fl_err err = {0};
        check_int(fl_pot_volume(bad[i], 10, 10, &volume_ml, &err), FL_EDOMAIN);
        check_contains(err.message, "top");
        check_int(fl_pot_volume(10, bad[i], 10, &volume_ml, &err), FL_EDOMAIN);
        check_contains(err.message, "bottom");
        check_int(fl_pot_volume(10, 10, bad[i], &volume_ml, &err), FL_EDOMAIN);
        check_contains(err.message, "height");
        check_close(volume_ml, 7.0, 0.0, 0.0);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_published_pots),
    cmocka_unit_test(test_geometry),
    cmocka_unit_test(test_square_geometry),
    cmocka_unit_test(test_outside),
};
FL_TEST_MAIN(tests)
