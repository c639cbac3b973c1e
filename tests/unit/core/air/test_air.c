/* Humid air against FAO-56's worked example, the CRC Handbook's densities, and the other published
 * saturation formulas. */
#include <math.h>

#include "core/air/air.h"
#include "support/check.h"

static fl_air air_of(double temp_c, double rh_pct)
{
    fl_air out = {0};
    fl_err err = {0};

    check_ok(fl_air_of(temp_c, rh_pct, &out, &err), &err);
    return out;
}

/* Source: Allen et al. 1998, FAO Irrigation and Drainage Paper 56, example 3: 15 C and 24.5 C give
 * 1.705 and 3.075 kPa. Five digits (1.70535, 3.07465): NCAR's NCL, satvpr_temp_fao56, example 1. */
static void test_fao_56_example_3(void **state)
{
    (void)state;
    check_close(fl_air_saturation_kpa(15.0), 1.705, 0.0, 0.0005);
    check_close(fl_air_saturation_kpa(24.5), 3.075, 0.0, 0.0005);
    check_close(fl_air_saturation_kpa(15.0), 1.70535, 0.0, 0.000005);
    check_close(fl_air_saturation_kpa(24.5), 3.07465, 0.0, 0.000005);
}

/* Source: tests/reference/saturation-vapour.csv. Tetens to its printed digits; the published others
 * (WMO Magnus, Goff-Gratch, Hyland-Wexler) within 0.3 % over 5 to 35 C. */
static void test_other_formulas(void **state)
{
    static const char *const others[] = {"es_magnus_WMO_kPa", "es_goff_gratch_kPa",
                                         "es_hyland_wexler_kPa"};
    fl_table table = fl_table_read("saturation-vapour.csv");
    (void)state;

    assert_int_equal(table.n_rows, 11);
    for (size_t i = 0; i < table.n_rows; i++) {
        const double temp_c = fl_table_number(&table, i, "T_C");
        const double got = fl_air_saturation_kpa(temp_c);

        check_close(got, fl_table_number(&table, i, "es_tetens_FAO56_kPa"), 0.0, 0.00005);
        check_close(air_of(temp_c, 100.0).absolute_humidity_g_m3,
                    fl_table_number(&table, i, "AH_sat_ideal_g_m3_tetens"), 0.0, 0.005);
        for (size_t j = 0; j < 3 && temp_c <= 35.0; j++) {
            check_close(got, fl_table_number(&table, i, others[j]), 0.003, 0.0);
        }
    }
    fl_table_free(&table);
}

/* Source: CRC Handbook of Chemistry and Physics, 62nd ed. 1981, density of saturated vapour, as
 * reproduced by the United Nations University (80A01E0d). The ideal gas runs 0.2 to 0.4 % under. */
static void test_crc_densities(void **state)
{
    static const double crc[][2] = {{18.0, 15.40}, {20.0, 17.33}, {24.0, 21.83}, {28.0, 27.29}};
    (void)state;

    for (size_t i = 0; i < sizeof crc / sizeof crc[0]; i++) {
        const double got = air_of(crc[i][0], 100.0).absolute_humidity_g_m3;
        check_close(got, crc[i][1], 0.005, 0.0);
        check_true(got < crc[i][1]);
    }
}

/* Parts add up, and a bin at 23 C and 88 % has the deficit the propagation guide asks of fresh
 * cuttings (0.34 kPa, reference light-climate-substrate 2.5, computed there). */
static void test_deficit(void **state)
{
    double leaf_kpa = 0.0;
    fl_err err = {0};
    const fl_air air = air_of(23.0, 88.0);
    (void)state;

    check_close(air.vpd_kpa, 0.34, 0.0, 0.005);
    check_close(air.vapour_kpa + air.vpd_kpa, air.saturation_kpa, 1e-15, 0.0);
    check_close(air_of(23.0, 100.0).vpd_kpa, 0.0, 0.0, 1e-15);

    check_ok(fl_air_leaf_deficit_kpa(&air, 23.0, &leaf_kpa, &err), &err);
    check_close(leaf_kpa, air.vpd_kpa, 1e-14, 0.0);
    check_ok(fl_air_leaf_deficit_kpa(&air, 26.0, &leaf_kpa, &err), &err);
    check_close(leaf_kpa, fl_air_saturation_kpa(26.0) - air.vapour_kpa, 1e-15, 0.0);
    check_ok(fl_air_leaf_deficit_kpa(&air, air.dew_point_c - 1.0, &leaf_kpa, &err), &err);
    check_true(leaf_kpa < 0.0);
}

/* The dew point is where the same vapour saturates: saturation there equals the vapour (two
 * different published formulas, hence the width), and at 100 % it is the air's own temperature. */
static void test_dew_point(void **state)
{
    (void)state;
    for (double temp_c = 0.0; temp_c <= 40.0; temp_c += 2.5) {
        check_close(air_of(temp_c, 100.0).dew_point_c, temp_c, 0.0, 1e-12);
        for (double rh_pct = 20.0; rh_pct < 100.0; rh_pct += 7.0) {
            const fl_air air = air_of(temp_c, rh_pct);
            check_true(air.dew_point_c < temp_c);
            if (air.dew_point_c >= -5.0) {
                check_close(fl_air_saturation_kpa(air.dew_point_c), air.vapour_kpa, 0.004, 0.0);
                check_true(fl_air_saturation_kpa(air.dew_point_c - 0.05) < air.vapour_kpa);
                check_true(fl_air_saturation_kpa(air.dew_point_c + 0.05) > air.vapour_kpa);
            }
        }
    }
}

static void test_bad_values(void **state)
{
    static const double bad[][2] = {{-41.0, 50.0}, {61.0, 50.0},  {NAN, 50.0},
                                    {20.0, 0.0},   {20.0, 100.5}, {20.0, NAN}};
    fl_air out = {.vpd_kpa = 5.0};
    fl_err err = {0};
    double kpa = 5.0;
    (void)state;

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        check_int(fl_air_of(bad[i][0], bad[i][1], &out, &err), FL_EDOMAIN);
        check_contains(err.message, i < 3 ? "temperature" : "relative humidity");
    }
    check_int(fl_air_leaf_deficit_kpa(&out, 70.0, &kpa, &err), FL_EDOMAIN);
    check_close(out.vpd_kpa, 5.0, 0.0, 0.0);
    check_close(kpa, 5.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_fao_56_example_3), cmocka_unit_test(test_other_formulas),
    cmocka_unit_test(test_crc_densities),    cmocka_unit_test(test_deficit),
    cmocka_unit_test(test_dew_point),        cmocka_unit_test(test_bad_values),
};
FL_TEST_MAIN(tests)
