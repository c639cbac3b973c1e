/* A straight lamp against the laws it must obey: the integral of Lambert's law over its length and
 * the conservation of its lumens (both by GSL's quadrature), the limits of a very long and a very
 * far lamp, and the reference page's worked table. */
#include <math.h>

#include <gsl/gsl_integration.h>

#include "core/light/light.h"
#include "support/check.h"

#define PI 3.14159265358979323846
#define INTERVALS 2000

/* 4000 lm over 1.2 m, 0.3 m above the point below its middle. */
static fl_strip shop_light(void)
{
    return (fl_strip){.lumens = 4000.0, .length_mm = 1200.0, .height_mm = 300.0};
}

static double lux_of(fl_strip strip)
{
    double lux = -1.0;
    fl_err err = {0};

    check_ok(fl_light_strip_lux(&strip, &lux, &err), &err);
    return lux;
}

static double integrate(double (*f)(double, void *), void *context, double from, double to)
{
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(INTERVALS);
    gsl_function function = {.function = f, .params = context};
    double result = NAN;
    double error = NAN;

    assert_non_null(space);
    assert_int_equal(gsl_integration_qag(&function, from, to, 0.0, 1e-8, INTERVALS,
                                         GSL_INTEG_GAUSS31, space, &result, &error),
                     0);
    gsl_integration_workspace_free(space);
    return result;
}

/* What one metre of lamp at `at_m` along its axis adds: inverse square law and two cosines. */
static double from_element(double at_m, void *context)
{
    const fl_strip *strip = context;
    const double h = strip->height_mm / 1000.0;
    const double x = at_m - strip->along_mm / 1000.0;
    const double y = strip->across_mm / 1000.0;
    const double square = h * h + x * x + y * y;
    const double per_m = strip->lumens / (strip->length_mm / 1000.0);
    const double at_plane = h / sqrt(square);

    if (strip->kind == FL_STRIP_DOWNLIGHT) {
        return per_m / PI * at_plane * at_plane / square;
    }
    return per_m / (PI * PI) * sqrt((h * h + y * y) / square) * at_plane / square;
}

/* Lambert's cosine law and the inverse square law (any photometry text), summed over the lamp. */
static void test_integral_over_the_lamp(void **state)
{
    static const double along[] = {0.0, 100.0, 600.0, 1500.0, -700.0};
    static const double across[] = {0.0, 200.0, -900.0};
    static const double height[] = {50.0, 300.0, 2000.0};
    (void)state;

    for (size_t i = 0; i < 5 * 3 * 3 * 2; i++) {
        fl_strip strip = shop_light();
        strip.along_mm = along[i % 5];
        strip.across_mm = across[i / 5 % 3];
        strip.height_mm = height[i / 15 % 3];
        strip.kind = i / 45 == 0 ? FL_STRIP_DOWNLIGHT : FL_STRIP_BARE_TUBE;
        check_close(lux_of(strip), integrate(from_element, &strip, -0.6, 0.6), 1e-7, 0.0);
    }
}

static double over_along(double along_m, void *context)
{
    fl_strip strip = *(fl_strip *)context;
    strip.along_mm = along_m * 1000.0;
    return lux_of(strip);
}

static double over_across(double across_m, void *context)
{
    fl_strip strip = *(fl_strip *)context;
    strip.across_mm = across_m * 1000.0;
    return 2.0 * integrate(over_along, &strip, 0.0, 30.0);
}

/* No lumen is lost: the whole plane under a downlight strip receives what the lamp gives (what
 * misses a 30 m half-width is h^2 / r^2 = 1e-4); under a bare tube half of it goes up, and of the
 * downward half everything arrives but what leaves nearly level (width 30 m: about 1 %). */
static void test_energy(void **state)
{
    fl_strip strip = shop_light();
    (void)state;

    check_close(2.0 * integrate(over_across, &strip, 0.0, 30.0), 4000.0, 3e-4, 0.0);
    strip.kind = FL_STRIP_BARE_TUBE;
    check_close(2.0 * integrate(over_across, &strip, 0.0, 30.0), 2000.0, 0.02, 0.0);
}

/* Reference light-climate-substrate 1.3: an endless lamp gives (lm/m) / (2 h) and (lm/m) / (2 pi
 * h); illuminance of a long line falls as 1/h (IES Lighting Handbook p. 8-41). */
static void test_endless_lamp(void **state)
{
    fl_strip strip = {.lumens = 1e6, .length_mm = 1e5, .height_mm = 100.0};
    double tube;
    (void)state;

    check_close(lux_of(strip), 10000.0 / (2.0 * 0.1), 1e-6, 0.0);
    strip.kind = FL_STRIP_BARE_TUBE;
    tube = lux_of(strip);
    check_close(tube, 10000.0 / (2.0 * PI * 0.1), 1e-6, 0.0);
    strip.height_mm = 200.0;
    check_close(lux_of(strip), tube / 2.0, 1e-6, 0.0);

    /* for a long strip the best height for a point y to the side is y * sqrt 2 */
    strip.kind = FL_STRIP_DOWNLIGHT;
    strip.across_mm = 200.0;
    strip.height_mm = 200.0 * sqrt(2.0);
    {
        const double best = lux_of(strip);
        strip.height_mm *= 1.01;
        check_true(lux_of(strip) < best);
        strip.height_mm *= 0.98;
        check_true(lux_of(strip) < best);
    }
}

/* Far away a strip is a point: on axis I0 / h^2 within 1 % from h = 5 L; a strip of no length is
 * that point exactly, and a very short one joins on. */
static void test_far_and_point(void **state)
{
    fl_strip strip = {.lumens = 4000.0, .length_mm = 1000.0, .height_mm = 5000.0};
    (void)state;

    check_close(lux_of(strip), 4000.0 / PI / 25.0, 0.01, 0.0);
    strip.height_mm = 50000.0;
    check_close(lux_of(strip), 4000.0 / PI / 2500.0, 1e-4, 0.0);
    for (int kind = 0; kind < 2; kind++) {
        fl_strip point = {.lumens = 4000.0, .length_mm = 0.0, .height_mm = 400.0};
        const double reach = 0.4 * 0.4 + 0.3 * 0.3 + 0.2 * 0.2;
        double at_point;
        point.kind = kind == 0 ? FL_STRIP_DOWNLIGHT : FL_STRIP_BARE_TUBE;
        point.along_mm = 300.0;
        point.across_mm = 200.0;
        at_point = lux_of(point);
        check_close(at_point,
                    kind == 0 ? 4000.0 / PI * 0.4 * 0.4 / (reach * reach)
                              : 4000.0 / (PI * PI) * 0.4 * hypot(0.4, 0.2) / (reach * reach),
                    1e-13, 0.0);
        point.length_mm = 0.01;
        check_close(lux_of(point), at_point, 1e-8, 0.0);
    }
}

/* Four ways to the same place, and nothing but symmetry. */
static void test_symmetry(void **state)
{
    fl_strip strip = shop_light();
    double want;
    (void)state;

    strip.along_mm = 250.0;
    strip.across_mm = 130.0;
    want = lux_of(strip);
    strip.along_mm = -250.0;
    check_close(lux_of(strip), want, 1e-14, 0.0);
    strip.across_mm = -130.0;
    check_close(lux_of(strip), want, 1e-14, 0.0);
    /* far off the end: faint, never negative */
    strip.along_mm = 1e6;
    check_true(lux_of(strip) >= 0.0 && lux_of(strip) < 1e-6);
}

/* Worked table of reference light-climate-substrate 1.3 (computed there, independently): 1.2 m,
 * 4000 lm, K = 69.8, 12 h. Columns: h, lux, PPFD, DLI, lux at y = 0.2 m, y = 0.3 m, x = 0.5 m. */
static void test_worked_table(void **state)
{
    static const double rows[][7] = {
        {150.0, 11043.0, 158.2, 6.83, 2339.0, 941.0, 9262.0},
        {200.0, 8218.0, 117.7, 5.09, 2843.0, 1332.0, 6447.0},
        {300.0, 5330.0, 76.4, 3.30, 2997.0, 1784.0, 3855.0},
        {400.0, 3831.0, 54.9, 2.37, 2675.0, 1858.0, 2684.0},
    };
    (void)state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fl_light_in in = {
            .strip = shop_light(), .lux_per_umol = 69.8, .lid_transmittance = 1.0, .hours = 12.0};
        fl_light got = {0};
        fl_err err = {0};
        in.strip.height_mm = rows[i][0];
        check_ok(fl_light_of(&in, &got, &err), &err);
        check_close(got.lux, rows[i][1], 0.0, 0.5);
        check_close(got.lux_no_lid, got.lux, 0.0, 0.0);
        check_close(got.ppfd_umol_m2_s, rows[i][2], 0.0, 0.05);
        check_close(got.dli_mol_m2_d, rows[i][3], 0.0, 0.005);
        in.strip.across_mm = 200.0;
        check_close(lux_of(in.strip), rows[i][4], 0.0, 0.5);
        in.strip.across_mm = 300.0;
        check_close(lux_of(in.strip), rows[i][5], 0.0, 0.5);
        in.strip.across_mm = 0.0;
        in.strip.along_mm = 500.0;
        check_close(lux_of(in.strip), rows[i][6], 0.0, 0.5);
    }
}

/* A lid of 80 % takes a fifth of everything; 24 h give twice the photons of 12. */
static void test_lid_and_hours(void **state)
{
    fl_light_in in = {
        .strip = shop_light(), .lux_per_umol = 70.0, .lid_transmittance = 0.8, .hours = 24.0};
    fl_light got = {0};
    fl_err err = {0};
    (void)state;

    check_ok(fl_light_of(&in, &got, &err), &err);
    check_close(got.lux, 0.8 * got.lux_no_lid, 1e-15, 0.0);
    check_close(got.ppfd_umol_m2_s, got.lux / 70.0, 1e-15, 0.0);
    check_close(got.dli_mol_m2_d, got.ppfd_umol_m2_s * 0.0864, 1e-14, 0.0);
}

/* Source: Fresnel at normal incidence; the values of reference light-climate-substrate 1.4. */
static void test_clear_slab(void **state)
{
    (void)state;
    check_close(fl_light_clear_slab(1.52), 0.918, 0.0, 0.0005);
    check_close(fl_light_clear_slab(1.49), 0.925, 0.0, 0.0005);
    check_close(fl_light_clear_slab(1.586), 0.902, 0.0, 0.0005);
    check_close(fl_light_clear_slab(1.0), 1.0, 0.0, 0.0);
}

static void check_refused(fl_light_in in, const char *message)
{
    fl_light out = {.lux = 5.0};
    fl_err err = {0};

    check_int(fl_light_of(&in, &out, &err), FL_EDOMAIN);
    check_contains(err.message, message);
    check_close(out.lux, 5.0, 0.0, 0.0);
}

#define REFUSE(field, value, message)                                                              \
    do {                                                                                           \
        fl_light_in in = {                                                                         \
            .strip = shop_light(), .lux_per_umol = 70.0, .lid_transmittance = 0.8, .hours = 12.0}; \
        in.field = (value);                                                                        \
        check_refused(in, message);                                                                \
    } while (0)

static void test_bad_values(void **state)
{
    (void)state;
    REFUSE(strip.lumens, -1.0, "lumens -1: give 0 to 1e+06");
    REFUSE(strip.length_mm, -1.0, "strip length in mm -1");
    REFUSE(strip.height_mm, 0.0, "height in mm 0");
    REFUSE(strip.along_mm, 2e6, "offset along the lamp");
    REFUSE(strip.across_mm, NAN, "offset across the lamp in mm nan");
    REFUSE(lux_per_umol, 0.0, "lux per umol 0");
    REFUSE(lid_transmittance, 1.1, "lid transmittance 1.1");
    REFUSE(hours, 25.0, "hours a day 25");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_integral_over_the_lamp),
    cmocka_unit_test(test_energy),
    cmocka_unit_test(test_endless_lamp),
    cmocka_unit_test(test_far_and_point),
    cmocka_unit_test(test_symmetry),
    cmocka_unit_test(test_worked_table),
    cmocka_unit_test(test_lid_and_hours),
    cmocka_unit_test(test_clear_slab),
    cmocka_unit_test(test_bad_values),
};
FL_TEST_MAIN(tests)
