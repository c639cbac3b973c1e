/* The water balance of a closed bin: balances by hand from the CRC Handbook's vapour densities and
 * published permeability, signs, and refusals. */
#include <math.h>

#include "core/air/air.h"
#include "core/air/water.h"
#include "support/check.h"

/* A 30 litre bin at 24 C, saturated, in a room at 22 C and 45 %; 2 litres of mix. */
static fl_bin_water_in bin(void)
{
    return (fl_bin_water_in){.volume_l = 30.0,
                             .inside_c = 24.0,
                             .inside_rh_pct = 100.0,
                             .room_c = 22.0,
                             .room_rh_pct = 45.0,
                             .exchange_per_h = 0.0145,
                             .mix_l = 2.0,
                             .water_fraction = 0.6,
                             .use_share = 0.2};
}

static fl_bin_water water_of(fl_bin_water_in in)
{
    fl_bin_water out = {0};
    fl_err err = {0};

    check_ok(fl_bin_water_of(&in, &out, &err), &err);
    return out;
}

/* A room at 24 C and no vapour to speak of: what leaks is the CRC Handbook's (62nd ed.) density of
 * saturated vapour, 21.83 g/m3, times the air exchanged. Exchange: 0.0145 and 0.0376 per hour for
 * gasketed vessels, Chen and Chen 2002, Plant Cell Tiss. Org. Cult. 71:103-109. */
static void test_leak_into_dry_room(void **state)
{
    fl_bin_water_in in = bin();
    (void)state;

    in.room_c = 24.0;
    in.room_rh_pct = 1e-9;
    check_close(water_of(in).leak_g_per_day, 21.83 * 0.030 * 0.0145 * 24.0, 0.005, 0.0);
    in.exchange_per_h = 0.0376;
    check_close(water_of(in).leak_g_per_day, 21.83 * 0.030 * 0.0376 * 24.0, 0.005, 0.0);
    in.exchange_per_h = 0.0;
    check_close(water_of(in).loss_g_per_day, 0.0, 0.0, 0.0);
    check_false(water_of(in).loses_water);
}

/* The worked bin of the reference page (light-climate-substrate 2.4): 0.14 and 0.35 g a day by the
 * gasket, 0.033 g a day by 1.5 mm polypropylene walls. Permeability: Food Package Engineering,
 * table 11.2 (0.7 g mil per 100 in2 and day at 38 C and 90 %), converted. */
static void test_worked_bin(void **state)
{
    fl_bin_water_in in = bin();
    fl_bin_water got = water_of(in);
    (void)state;

    check_close(got.leak_g_per_day, 0.14, 0.0, 0.005);
    check_close(got.usable_g, 240.0, 1e-12, 0.0);
    check_close(got.days_to_water * got.loss_g_per_day, 240.0, 1e-12, 0.0);
    in.exchange_per_h = 0.0376;
    check_close(water_of(in).leak_g_per_day, 0.35, 0.0, 0.005);

    in.wall_area_m2 = 0.6;
    in.wall_mm = 1.5;
    /* 0.3937 g mm per (m2 d) to the g mil per (100 in2 d); 90 % of saturation at 38 C */
    in.wall_g_mm_per_m2_d_kpa = 0.7 * 0.3937 / (0.9 * fl_air_saturation_kpa(38.0));
    got = water_of(in);
    check_close(got.wall_g_per_day, 0.033, 0.0, 0.0005);
    check_close(got.loss_g_per_day, got.leak_g_per_day + got.wall_g_per_day, 1e-15, 0.0);
    check_true(got.leak_g_per_day > 5.0 * got.wall_g_per_day);
}

/* Twice the exchange, twice the loss and half the days; a moister room gives water back. */
static void test_proportions_and_sign(void **state)
{
    fl_bin_water_in in = bin();
    const fl_bin_water once = water_of(in);
    fl_bin_water twice;
    (void)state;

    in.exchange_per_h *= 2.0;
    twice = water_of(in);
    check_close(twice.loss_g_per_day, 2.0 * once.loss_g_per_day, 1e-14, 0.0);
    check_close(twice.days_to_water, once.days_to_water / 2.0, 1e-14, 0.0);
    in = bin();
    in.room_c = 30.0;
    in.room_rh_pct = 90.0;
    in.wall_area_m2 = 0.6;
    in.wall_mm = 1.5;
    in.wall_g_mm_per_m2_d_kpa = 0.046;
    check_true(water_of(in).leak_g_per_day < 0.0);
    check_true(water_of(in).wall_g_per_day < 0.0);
    check_false(water_of(in).loses_water);
    check_close(water_of(in).days_to_water, 0.0, 0.0, 0.0);
}

static void check_refused(fl_bin_water_in in, const char *message)
{
    fl_bin_water out = {.usable_g = 5.0};
    fl_err err = {0};

    check_int(fl_bin_water_of(&in, &out, &err), FL_EDOMAIN);
    check_contains(err.message, message);
    check_close(out.usable_g, 5.0, 0.0, 0.0);
}

#define REFUSE(field, value, message)                                                              \
    do {                                                                                           \
        fl_bin_water_in in = bin();                                                                \
        in.field = (value);                                                                        \
        check_refused(in, message);                                                                \
    } while (0)

static void test_bad_values(void **state)
{
    (void)state;
    REFUSE(volume_l, 0.0, "volume_l 0: give above 0");
    REFUSE(volume_l, NAN, "volume_l nan");
    REFUSE(volume_l, 10001.0, "volume_l 10001");
    REFUSE(exchange_per_h, -0.1, "exchange_per_h -0.1: give 0 to 100");
    REFUSE(mix_l, -1.0, "mix_l -1");
    REFUSE(water_fraction, 1.1, "water_fraction 1.1");
    REFUSE(use_share, 2.0, "use_share 2");
    REFUSE(wall_area_m2, -1.0, "wall_area_m2 -1");
    REFUSE(wall_area_m2, 1.0, "wall_mm 0");
    REFUSE(inside_c, 80.0, "temperature 80");
    REFUSE(room_c, -60.0, "temperature -60");
    REFUSE(inside_rh_pct, 0.0, "relative humidity 0");
    REFUSE(room_rh_pct, 101.0, "relative humidity 101");
    {
        fl_bin_water_in in = bin();
        in.wall_area_m2 = 1.0;
        in.wall_mm = 1.0;
        in.wall_g_mm_per_m2_d_kpa = -1.0;
        check_refused(in, "wall_g_mm_per_m2_d_kpa -1");
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_leak_into_dry_room),
    cmocka_unit_test(test_worked_bin),
    cmocka_unit_test(test_proportions_and_sign),
    cmocka_unit_test(test_bad_values),
};
FL_TEST_MAIN(tests)
