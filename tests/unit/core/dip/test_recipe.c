/* The other dips' arithmetic, and volumes. */
#include <math.h>

#include "core/dip/recipe.h"
#include "core/dip/volume.h"
#include "support/check.h"

/* UF/IFAS FA37 (S30): 285 g in a US gallon is 75.3 g/L, and 1 ml of it in 10 gallons 2 mg/L (1.99).
 * That stock is above what cold water dissolves, so the plan takes at most 64 g/L; the figures are
 * checked by arithmetic on crystals. */
static void test_permanganate(void **state)
{
    (void)state;
    check_close(285.0 / (fl_volume_us_gal_to_ml(1.0) / 1000.0), 75.3, 1e-3, 0.0);
    fl_permanganate_recipe r;
    fl_err err;
    fl_err_clear(&err);
    double ten_gal_ml = fl_volume_us_gal_to_ml(10.0);
    check_ok(fl_permanganate_plan(1.99, ten_gal_ml, (double)NAN, &r, &err), &err);
    check_close(r.crystals_mg, 75.3, 2e-3, 0.0);
    check_true(isnan(r.stock_ml));
    check_close(r.water_ml, ten_gal_ml, 0.0, 0.0);
    check_ok(fl_permanganate_plan(2.0, 5000.0, 10.0, &r, &err), &err);
    check_close(r.crystals_mg, 10.0, 1e-12, 0.0);
    check_close(r.stock_ml, 1.0, 1e-12, 0.0);
    check_close(r.water_ml, 4999.0, 1e-12, 0.0);
    r.crystals_mg = -1.0;
    check_int(fl_permanganate_plan(7500.0, 5000.0, (double)NAN, &r, &err), FL_EDOMAIN);
    check_int(fl_permanganate_plan(2.0, 5000.0, 75.3, &r, &err), FL_EDOMAIN);
    check_int(fl_permanganate_plan(2.0, 0.0, 10.0, &r, &err), FL_EDOMAIN);
    check_close(r.crystals_mg, -1.0, 0.0, 0.0);
}

/* Reference page, by arithmetic: 3 % is about 30 000 mg/L; 1+19 is 1 500, 1+9 is 3 000 mg/L. */
static void test_peroxide(void **state)
{
    (void)state;
    fl_liquid_recipe r;
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_peroxide_plan(3.0, 1500.0, 2000.0, &r, &err), &err);
    check_close(r.water_ml / r.product_ml, 19.0, 1e-12, 0.0);
    check_ok(fl_peroxide_plan(3.0, 3000.0, 2000.0, &r, &err), &err);
    check_close(r.water_ml / r.product_ml, 9.0, 1e-12, 0.0);
    check_close(r.product_ml + r.water_ml, 2000.0, 1e-12, 0.0);
    check_int(fl_peroxide_plan(35.0, 3000.0, 2000.0, &r, &err), FL_EDOMAIN);
    check_int(fl_peroxide_plan(12.0, 60000.0, 2000.0, &r, &err), FL_EDOMAIN);
    check_int(fl_peroxide_plan(2.0, 25000.0, 2000.0, &r, &err), FL_EDOMAIN);
    check_int(fl_peroxide_plan(3.0, 3000.0, -1.0, &r, &err), FL_EDOMAIN);
}

static void test_soap(void **state)
{
    (void)state;
    fl_liquid_recipe r;
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_soap_plan(49.0, 0.98, 1000.0, &r, &err), &err);
    check_close(r.product_ml, 20.0, 1e-12, 0.0);
    check_close(r.water_ml, 980.0, 1e-12, 0.0);
    check_int(fl_soap_plan(49.0, 5.0, 1000.0, &r, &err), FL_EDOMAIN);
    check_int(fl_soap_plan(1.0, 1.0, 1000.0, &r, &err), FL_EDOMAIN);
    check_int(fl_soap_plan(49.0, 1.0, 1e9, &r, &err), FL_EDOMAIN);
}

/* Heat balance: hot and cold give the target. */
static void test_hot_water(void **state)
{
    (void)state;
    fl_hot_water_recipe r;
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_hot_water_plan(45.0, 6000.0, 60.0, 15.0, &r, &err), &err);
    check_close((r.hot_ml * 60.0 + r.cold_ml * 15.0) / 6000.0, 45.0, 1e-12, 0.0);
    check_close(r.hot_ml + r.cold_ml, 6000.0, 1e-12, 0.0);
    check_int(fl_hot_water_plan(55.0, 6000.0, 60.0, 15.0, &r, &err), FL_EDOMAIN);
    check_int(fl_hot_water_plan(45.0, 6000.0, 40.0, 15.0, &r, &err), FL_EDOMAIN);
    check_int(fl_hot_water_plan(45.0, 6000.0, 60.0, 45.0, &r, &err), FL_EDOMAIN);
    check_int(fl_hot_water_plan(45.0, 0.0, 60.0, 15.0, &r, &err), FL_EDOMAIN);
}

/* NIST Handbook 44, appendix C: US gallon 3.785411784 L, US fluid ounce 29.5735295625 ml. */
static void test_volumes(void **state)
{
    (void)state;
    check_close(fl_volume_us_gal_to_ml(1.0), 231.0 * 2.54 * 2.54 * 2.54, 1e-14, 0.0);
    check_close(fl_volume_us_fl_oz_to_ml(128.0), fl_volume_us_gal_to_ml(1.0), 1e-14, 0.0);
    check_close(fl_volume_ml_to_us_gal(fl_volume_us_gal_to_ml(2.5)), 2.5, 1e-14, 0.0);
    check_close(fl_volume_ml_to_us_fl_oz(fl_volume_us_fl_oz_to_ml(7.0)), 7.0, 1e-14, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_permanganate), cmocka_unit_test(test_peroxide),
    cmocka_unit_test(test_soap),         cmocka_unit_test(test_hot_water),
    cmocka_unit_test(test_volumes),
};
FL_TEST_MAIN(tests)
