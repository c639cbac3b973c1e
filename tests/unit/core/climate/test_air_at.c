/* Hours sorted by what plants want; heat of a box; the first watering. VPD of 23 C and 88 % is
 * 0.34 kPa (light-climate-substrate 2.5, reckoned with FAO-56 equation 11); a box of 5.3 W over
 * 5 W/(m2 K) and 0.9 m2 is 1.2 K warmer (light-climate-substrate 2.6). */
#include <math.h>

#include "core/air/heat.h"
#include "core/climate/air_at.h"
#include "core/mix/watering.h"
#include "support/check.h"

static void test_hours(void **state)
{
    (void)state;
    enum { N = 168 };
    double temp_c[N];
    double rh_pct[N];
    fl_air_days days;
    fl_air_want want = fl_air_want_none();
    fl_air_want_add(&want, NULL);
    check_true(isnan(want.temp_min_c));
    want = (fl_air_want){10.0, 18.0, 26.0, 75.0};
    for (int i = 0; i < N; i++) {
        temp_c[i] = 23.0;
        rh_pct[i] = 88.0;
    }
    fl_air_days_of(temp_c, rh_pct, N, &want, &days);
    check_int(fl_air_judge(&days), 1U << FL_AIR_FITS);
    check_close(days.vpd_mean_kpa, 0.34, 0.0, 0.005);
    temp_c[5] = 31.5; /* an hour of heat is enough */
    check_int((fl_air_days_of(temp_c, rh_pct, N, &want, &days), fl_air_judge(&days)),
              1U << FL_AIR_HOT);
    temp_c[5] = 9.0;
    check_int((fl_air_days_of(temp_c, rh_pct, N, &want, &days), fl_air_judge(&days)),
              1U << FL_AIR_COLD);
    temp_c[5] = 23.0;
    for (int i = 0; i < 20; i++) { /* a tenth and more */
        temp_c[i] = 27.0;
        rh_pct[i + 60] = 60.0;
    }
    check_int((fl_air_days_of(temp_c, rh_pct, N, &want, &days), fl_air_judge(&days)),
              1U << FL_AIR_WARM | 1U << FL_AIR_DRY);
    check_int(days.n_warm, 20);
    check_int(days.n_dry, 20);
    for (int i = 8; i < N; i++) { /* too few readings say nothing */
        temp_c[i] = rh_pct[i] = (double)NAN;
    }
    check_int((fl_air_days_of(temp_c, rh_pct, N, &want, &days), fl_air_judge(&days)),
              1U << FL_AIR_NO_READINGS);
}

static void test_heat(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_box_heat heat;
    fl_box_heat_in in = {.mat_watts = 5.3, .wall_m2 = 0.9, .u_w_m2_k = 5.0};
    check_ok(fl_box_heat_of(&in, &heat, &err), &err);
    check_close(heat.warmer_k, 1.2, 0.02, 0.0);
    in = (fl_box_heat_in){
        .lit_m2 = 0.25, .ppfd_umol_m2_s = 100.0, .wall_m2 = 0.9, .u_w_m2_k = FL_BOX_U_DEFAULT};
    check_ok(fl_box_heat_of(&in, &heat, &err), &err);
    check_close(heat.lamp_w / FL_BOX_ABSORBED, 5.3, 0.01, 0.0); /* 100 umol over 0.25 m2 */
    in.sun_w_m2 = 800.0;
    in.sun_m2 = 0.1;
    in.transmittance = 0.85;
    check_ok(fl_box_heat_of(&in, &heat, &err), &err);
    check_true(heat.warmer_k > 14.0); /* a window kills what a lamp does not */
    in.wall_m2 = 0.0;
    check_int(fl_box_heat_of(&in, &heat, &err), FL_EDOMAIN);
}

static void test_water(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_first_water water;
    fl_layer layer;
    check_ok(fl_first_water_of(2.0, 0.6, 0.1, &water, &err), &err);
    check_close(water.to_capacity_ml, 1000.0, 1e-12, 0.0);
    check_close(water.closed_low_ml, 520.0, 1e-12, 0.0);
    check_close(water.closed_high_ml, 640.0, 1e-12, 0.0);
    check_ok(fl_first_water_of(2.0, 0.6, 0.9, &water, &err), &err);
    check_close(water.to_capacity_ml, 0.0, 0.0, 0.0);
    /* 30 x 40 cm x 3 cm with gaps of 0.40 take 1.44 L (light-climate-substrate 3.4) */
    check_ok(fl_layer_of(400.0, 300.0, 30.0, FL_LAYER_VOID_DEFAULT, &layer, &err), &err);
    check_close(layer.volume_l, 3.6, 1e-12, 0.0);
    check_close(layer.water_l, 1.44, 1e-12, 0.0);
    check_int(fl_layer_of(400.0, 300.0, 0.0, 0.4, &layer, &err), FL_EDOMAIN);
    check_int(fl_first_water_of(-1.0, 0.6, 0.1, &water, &err), FL_EDOMAIN);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_hours),
    cmocka_unit_test(test_heat),
    cmocka_unit_test(test_water),
};
FL_TEST_MAIN(tests)
