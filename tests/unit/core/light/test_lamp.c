/* The lamp table against the published factors and against factors computed here from CIE spectra
 * (CIE 15:2018, test data) and the luminous efficiency curve of 1924; the lid table for sense. */
#include <math.h>
#include <stdio.h>

#include "core/light/lamp.h"
#include "core/light/light.h"
#include "support/check.h"

#define LM_PER_W 683.0
#define J_NM_PER_UMOL 119.6266 /* N_A h c, SI 2019 exact constants, in J nm per umol */

static double factor_of(const char *code)
{
    const size_t index = fl_lamp_find(fl_sv_from_cstr(code));

    check_true(index < fl_lamp_count());
    return fl_lamp_at(index).lux_per_umol;
}

/* Luminous flux over photon flux by the trapezoid rule on the 5 nm grid, 400 to 700 nm the photons;
 * *umol_per_j: photons over radiant power of the same band. */
static double computed_factor(const char *spectrum, double *umol_per_j)
{
    fl_table v = fl_table_read("vlambda-cie1924.csv");
    fl_table spd = fl_table_read("spd-cie-illuminants.csv");
    double light = 0.0;
    double photons = 0.0;
    double power = 0.0;

    assert_int_equal(v.n_rows, 81);
    assert_int_equal(spd.n_rows, 81);
    for (size_t i = 0; i < spd.n_rows; i++) {
        const double nm = fl_table_number(&spd, i, "wavelength_nm");
        const double s = fl_table_number(&spd, i, spectrum);
        const double end = i == 0 || i + 1 == spd.n_rows ? 0.5 : 1.0;
        check_close(fl_table_number(&v, i, "wavelength_nm"), nm, 0.0, 0.0);
        light += end * s * fl_table_number(&v, i, "V_lambda") * LM_PER_W;
        if (nm >= 400.0 && nm <= 700.0) {
            const double edge = nm <= 400.0 || nm >= 700.0 ? 0.5 : 1.0;
            photons += edge * s * nm / J_NM_PER_UMOL;
            power += edge * s;
        }
    }
    fl_table_free(&v);
    fl_table_free(&spd);
    *umol_per_j = photons / power;
    return light / photons;
}

/* Source: CIE 15:2018 spectra and V(lambda) 1924: every computed row of the lamp table that we have
 * the spectrum of, and the photons per joule of lux-per-umol.csv. */
static void test_computed_factors(void **state)
{
    static const struct {
        const char *code;
        const char *spectrum;
        const char *row;
    } rows[] = {{"white_led_2700k", "LED-B1", "White LED 2733 K (CIE LED-B1)"},
                {"white_led_4000k", "LED-B3", "White LED 4103 K (CIE LED-B3)"},
                {"white_led_6500k", "LED-B5", "White LED 6598 K (CIE LED-B5)"},
                {"daylight_d65", "D65", "Daylight D65"}};
    fl_table table = fl_table_read("lux-per-umol.csv");
    (void)state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double umol_per_j = 0.0;
        const double got = computed_factor(rows[i].spectrum, &umol_per_j);
        size_t row = 0;
        check_close(factor_of(rows[i].code), got, 0.0, 0.05);
        while (row < table.n_rows &&
               !fl_sv_eq_cstr(fl_sv_from_cstr(fl_table_text(&table, row, "source")), rows[i].row)) {
            row++;
        }
        check_close(got, fl_table_number(&table, row, "lux_per_umol_m2_s"), 0.0, 0.05);
        check_close(umol_per_j, fl_table_number(&table, row, "PAR_umol_per_J"), 0.0, 0.0005);
    }
    fl_table_free(&table);
}

/* All five phosphor white LEDs of the CIE lie within 4 % of the default. */
static void test_default_factor(void **state)
{
    static const char *const spectra[] = {"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5"};
    (void)state;

    check_close(factor_of("white_led"), FL_LAMP_LUX_PER_UMOL_DEFAULT, 0.0, 0.0);
    for (size_t i = 0; i < 5; i++) {
        double umol_per_j = 0.0;
        check_close(computed_factor(spectra[i], &umol_per_j), FL_LAMP_LUX_PER_UMOL_DEFAULT, 0.045,
                    0.0);
        check_true(umol_per_j > 4.5 - 0.01 && umol_per_j < 4.9);
    }
}

/* Source: Thimijan and Heins 1983 (rows "published" of lux-per-umol.csv). Daylight of D65 is within
 * 5 % of their sunlight, the width that the reference allows a published factor. */
static void test_published_factors(void **state)
{
    double umol_per_j = 0.0;
    (void)state;

    check_close(factor_of("sunlight"), 54.0, 0.0, 0.0);
    check_close(factor_of("cool_white_fluorescent"), 74.0, 0.0, 0.0);
    check_close(factor_of("high_pressure_sodium"), 82.0, 0.0, 0.0);
    check_close(factor_of("metal_halide"), 71.0, 0.0, 0.0);
    check_close(computed_factor("D65", &umol_per_j), factor_of("sunlight"), 0.05, 0.0);
    check_close(computed_factor("FL2", &umol_per_j), factor_of("cool_white_fluorescent"), 0.06,
                0.0);
}

static bool is_grade(const char *word)
{
    const fl_sv text = fl_sv_from_cstr(word);
    return fl_sv_eq_cstr(text, "measured") || fl_sv_eq_cstr(text, "practice") ||
           fl_sv_eq_cstr(text, "assumed");
}

static void test_tables_make_sense(void **state)
{
    (void)state;
    check_true(fl_lamp_count() >= 15);
    for (size_t i = 0; i < fl_lamp_count(); i++) {
        const fl_lamp lamp = fl_lamp_at(i);
        check_true(lamp.lux_per_umol >= 30.0 && lamp.lux_per_umol <= 90.0);
        check_true(is_grade(lamp.grade));
        check_true(lamp.source[0] != '\0' && lamp.name[0] != '\0');
        check_int(fl_lamp_find(fl_sv_from_cstr(lamp.code)), i);
    }
    check_true(fl_lid_count() >= 6);
    for (size_t i = 0; i < fl_lid_count(); i++) {
        const fl_lid lid = fl_lid_at(i);
        check_int(fl_lid_find(fl_sv_from_cstr(lid.code)), i);
        check_true(is_grade(lid.transmittance_grade));
        check_true(lid.source[0] != '\0');
        if (!isnan(lid.transmittance_low)) {
            check_true(lid.transmittance_low > 0.5);
            check_true(lid.transmittance_low <= lid.transmittance_high);
            /* no lid passes more than a clear slab of its material would */
            check_true(lid.transmittance_high <= fl_light_clear_slab(lid.refractive_index) + 1e-9);
        }
        if (!isnan(lid.wall_low_g_mm_per_m2_d_kpa)) {
            check_true(lid.wall_low_g_mm_per_m2_d_kpa <= lid.wall_high_g_mm_per_m2_d_kpa);
        }
    }
}

static void test_unknown_and_case(void **state)
{
    (void)state;
    check_int(fl_lamp_find(FL_SV("moonlight")), fl_lamp_count());
    check_int(fl_lid_find(FL_SV("paper")), fl_lid_count());
    check_int(fl_lamp_find(FL_SV("White_LED")), fl_lamp_find(FL_SV("white_led")));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_computed_factors),  cmocka_unit_test(test_default_factor),
    cmocka_unit_test(test_published_factors), cmocka_unit_test(test_tables_make_sense),
    cmocka_unit_test(test_unknown_and_case),
};
FL_TEST_MAIN(tests)
