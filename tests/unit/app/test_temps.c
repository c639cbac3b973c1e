/* The temperature of a place over time: what was told last before an hour holds for it; what was
 * told first holds for the time before, too. */
#include <math.h>

#include "app/temps.h"
#include "support/keeper.h"

#define START_H (FL_KEEPER_START_S / FL_HOUR_S)

static void tell(fl_keeper *k, fl_id place, double temp_c)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = (fl_ev_place_set){.place = place,
                                             .name = FL_SV("bin"),
                                             .kind = FL_PLACE_BIN,
                                             .set_temp_c = temp_c,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    fl_keeper_record(k, &event);
}

/* The value of one hour inside a span. */
static double at(fl_keeper *k, fl_id place, int64_t from_h, int64_t to_h, int64_t hour)
{
    const double *temps_c = NULL;
    double constant_c = 0.0;
    fl_temps_of_place(&k->room, place, from_h, to_h, &k->room.arena, &temps_c, &constant_c);
    return temps_c == NULL ? constant_c : temps_c[hour - from_h];
}

static bool is_constant(fl_keeper *k, fl_id place, int64_t from_h, int64_t to_h)
{
    const double *temps_c = NULL;
    double constant_c = 0.0;
    fl_temps_of_place(&k->room, place, from_h, to_h, &k->room.arena, &temps_c, &constant_c);
    return temps_c == NULL;
}

static void test_told_values(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id place = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 20.0);
    fl_id other = fl_keeper_place(&k, "other", FL_PLACE_BIN, 0, 18.0);
    fl_keeper_day(&k, 10, 0);
    tell(&k, place, 24.0);
    k.now_s += FL_HOUR_S + 60; /* past the hour: it holds from the next one */
    tell(&k, place, 22.0);
    fl_keeper_day(&k, 12, 0);
    tell(&k, other, 25.0);
    fl_keeper_ask(&k);
    int64_t change_h = START_H + 10 * 24;
    static const struct {
        int64_t after_change_h;
        double want_c;
    } rows[] = {{-2000, 20.0}, {-1, 20.0}, {0, 24.0}, {1, 24.0}, {2, 22.0}, {3, 22.0}, {400, 22.0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t hour = change_h + rows[i].after_change_h;
        check_close(at(&k, place, hour, hour + 1, hour), rows[i].want_c, 0.0, 0.0);
        check_close(at(&k, place, change_h - 2500, change_h + 500, hour), rows[i].want_c, 0.0, 0.0);
        check_close(at(&k, place, hour - 1, hour + 2, hour), rows[i].want_c, 0.0, 0.0);
    }
    fl_keeper_done(&k);
}

/* A collection that is older than its place's first telling: one long constant, not an hour by hour
 * list of years. */
static void test_years_before(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id place = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 20.0);
    fl_keeper_ask(&k);
    check_true(is_constant(&k, place, START_H - 3 * 365 * 24, START_H + 100));
    fl_keeper_day(&k, 2, 0);
    tell(&k, place, 21.0);
    fl_keeper_ask(&k);
    check_true(is_constant(&k, place, START_H - 3 * 365 * 24, START_H + 48));
    check_false(is_constant(&k, place, START_H - 3 * 365 * 24, START_H + 49));
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_told_values),
    cmocka_unit_test(test_years_before),
};
FL_TEST_MAIN(tests)
