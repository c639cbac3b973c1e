/* Readings in a room: the stored form comes back as it went in; a file is one batch that a voiding
 * undoes; what is there already is known again; temperatures follow at once; a chance today is
 * reckoned anew, and what was judged at a release stays as it was judged. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/readings.h"
#include "app/recheck.h"
#include "app/temps.h"
#include "base/rng.h"
#include "support/keeper.h"

#define START_H (FL_KEEPER_START_S / FL_HOUR_S)

static void test_pack_round_trip(void **state)
{
    (void)state;
    fl_arena arena;
    fl_err err = {0};
    fl_rng rng = {20261125};
    for (int trial = 0; trial < 60; trial++) {
        fl_arena_init(&arena);
        size_t n = 1 + fl_rng_below(&rng, 3000);
        fl_logged *list = FL_ARENA_ARRAY(&arena, fl_logged, n);
        int32_t step = trial % 3 == 0 ? 1 : trial % 3 == 1 ? 100 : 1000;
        int64_t at = 0;
        for (size_t i = 0; i < n; i++) {
            bool has_temp = fl_rng_below(&rng, 10) > 0;
            list[i] = (fl_logged){.offset_s = at,
                                  .temp_milli =
                                      ((int32_t)fl_rng_below(&rng, 60000) - 20000) / step * step,
                                  .rh_milli = (int32_t)fl_rng_below(&rng, 100001) / step * step};
            list[i].temp_milli = has_temp ? list[i].temp_milli : FL_PROBE_MISSING;
            list[i].rh_milli = fl_rng_below(&rng, 10) > 3 ? list[i].rh_milli : FL_PROBE_MISSING;
            at += 1 + (int64_t)fl_rng_below(&rng, fl_rng_below(&rng, 50) == 0 ? 2000000 : 900);
        }
        fl_readings in = {.list = list, .count = n, .unit = (fl_probe_unit)(trial % 2)};
        fl_readings out;
        fl_sv bytes;
        check_ok(fl_readings_pack(&in, &arena, &bytes, &err), &err);
        check_ok(fl_readings_unpack(bytes, &arena, &out, &err), &err);
        check_int(out.count, n);
        check_int(out.unit, in.unit);
        for (size_t i = 0; i < n; i++) {
            check_int(out.list[i].offset_s, list[i].offset_s);
            check_int(out.list[i].temp_milli, list[i].temp_milli);
            check_int(out.list[i].rh_milli, list[i].rh_milli);
        }
        /* cut short or with a flipped bit: refused, or a batch; never anything else */
        check_int(fl_readings_unpack((fl_sv){bytes.ptr, bytes.len - 1}, &arena, &out, &err),
                  FL_EFORMAT);
        char *copy = fl_arena_alloc(&arena, bytes.len, 1);
        memcpy(copy, bytes.ptr, bytes.len);
        for (int k = 0; k < 20; k++) {
            size_t where = fl_rng_below(&rng, bytes.len);
            copy[where] = (char)(copy[where] ^ (1 << fl_rng_below(&rng, 8)));
            fl_status status = fl_readings_unpack((fl_sv){copy, bytes.len}, &arena, &out, &err);
            check_true(status == FL_OK || status == FL_EFORMAT);
        }
        fl_arena_done(&arena);
    }
}

/* A file of hourly values for a place: `value` for each hour from `from_h` on; NAN: no row. */
static fl_status take_series(fl_keeper *k, fl_id place, int64_t from_h, const double *temp_c,
                             size_t n, int64_t shift_s, fl_readings_look *look, fl_arena *arena)
{
    char *text = fl_arena_alloc(arena, 64 * (n + 1), 1);
    int len = snprintf(text, 64, "time,temp C,rh\n");
    for (size_t i = 0; i < n; i++) {
        fl_civil c = fl_civil_from_utc((from_h + (int64_t)i) * FL_HOUR_S + 600, 0);
        if (!isnan(temp_c[i])) {
            len += snprintf(text + len, 64, "%04d-%02d-%02dT%02d:%02d:00Z,%.2f,80\n", c.year,
                            c.month, c.day, c.hour, c.minute, temp_c[i]);
        }
    }
    const fl_probe_told told = {.order = -1, .unit = -1, .shift_s = shift_s};
    fl_keeper_ask(k);
    return fl_readings_look_at(&k->app, &k->room, place, (fl_sv){text, (size_t)len}, &told, arena,
                               look, &k->err);
}

static fl_id record_series(fl_keeper *k, fl_id place, int64_t from_h, const double *temp_c,
                           size_t n)
{
    fl_arena arena;
    fl_readings_look look;
    fl_event event = {.kind = FL_KIND_READINGS_IMPORTED};
    fl_arena_init(&arena);
    check_ok(take_series(k, place, from_h, temp_c, n, 0, &look, &arena), &k->err);
    check_ok(
        fl_readings_keep(&k->app, &look, place, &arena, &event.body.readings_imported, &k->err),
        &k->err);
    fl_keeper_record(k, &event);
    fl_arena_done(&arena);
    return event.id;
}

static void void_event(fl_keeper *k, fl_id id)
{
    fl_event event = {.kind = FL_KIND_EVENT_VOIDED};
    event.body.event_voided = (fl_ev_event_voided){.event = id, .why = FL_SV("wrong bin")};
    fl_keeper_record(k, &event);
}

static double at(fl_keeper *k, fl_id place, int64_t hour, fl_temps_side side)
{
    const double *temps_c = NULL;
    double constant_c = 0.0;
    const int64_t span[2] = {hour, hour + 1};
    fl_temps_of_place_side(&k->room, place, span, side, &k->room.arena, &temps_c, &constant_c);
    const int64_t wide[2] = {hour - 400, hour + 300};
    const double *more_c = NULL;
    double other_c = 0.0;
    fl_temps_of_place_side(&k->room, place, wide, side, &k->room.arena, &more_c, &other_c);
    double one = temps_c == NULL ? constant_c : temps_c[0];
    check_close(more_c == NULL ? other_c : more_c[400], one, 0.0, 0.0); /* whatever the span */
    return one;
}

/* Design 4.10: the logger's mean; a gap to six hours bridged; a longer one the set value; untold,
 * the lower of 21 - 3 and the last 28 days' least for the slow set, mirrored for the fast. */
static void test_temperatures(void **state)
{
    (void)state;
    enum { N = 24 * 20 };
    double temp_c[N];
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id told = fl_keeper_place(&k, "told", FL_PLACE_BIN, 0, 22.0);
    fl_id untold = fl_keeper_place(&k, "untold", FL_PLACE_BIN, 0, (double)NAN);
    for (int h = 0; h < N; h++) {
        temp_c[h] = 20.0 + h % 24 * 0.25;
    }
    temp_c[50] = 15.5;
    temp_c[60] = 27.5;
    for (int h = 100; h < 106; h++) { /* six hours */
        temp_c[h] = (double)NAN;
    }
    for (int h = 200; h < 207; h++) { /* seven */
        temp_c[h] = (double)NAN;
    }
    fl_keeper_day(&k, 20, 0);
    (void)record_series(&k, told, START_H, temp_c, N);
    (void)record_series(&k, untold, START_H, temp_c, N);
    fl_keeper_ask(&k);
    for (int side = FL_TEMPS_COLD; side <= FL_TEMPS_WARM; side++) {
        fl_temps_side way = (fl_temps_side)side;
        check_close(at(&k, told, START_H - 5, way), 22.0, 0.0, 0.0);
        check_close(at(&k, told, START_H + 30, way), temp_c[30], 0.0, 1e-9);
        double slope = (temp_c[106] - temp_c[99]) / 7.0;
        check_close(at(&k, told, START_H + 102, way), temp_c[99] + 3.0 * slope, 0.0, 1e-9);
        check_close(at(&k, told, START_H + 203, way), 22.0, 0.0, 0.0);
        check_close(at(&k, untold, START_H + 203, way), way == FL_TEMPS_COLD ? 15.5 : 27.5, 0.0,
                    1e-9);
        check_close(at(&k, untold, START_H - 5, way), FL_TEMP_UNTOLD_C, 0.0, 0.0);
        /* ahead of now: the set value, or the same hour of the last week */
        check_close(at(&k, told, START_H + N + 30, way), 22.0, 0.0, 0.0);
        check_close(at(&k, untold, START_H + N + 30, way), temp_c[30 % 24], 0.0, 1e-9);
    }
    fl_keeper_done(&k);
}

static void test_known_again(void **state)
{
    (void)state;
    enum { N = 240 };
    double temp_c[N];
    fl_readings_look look;
    fl_arena arena;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_arena_init(&arena);
    fl_id place = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 22.0);
    for (int h = 0; h < N; h++) {
        temp_c[h] = 20.0 + h % 7;
    }
    fl_keeper_day(&k, 20, 0);
    fl_id first = record_series(&k, place, START_H, temp_c, 100);
    fl_id second = record_series(&k, place, START_H + 50, temp_c + 50, 100); /* half is known */
    fl_keeper_ask(&k);
    check_int(k.room.n_batches, 2);
    check_ok(take_series(&k, place, START_H, temp_c, 150, 0, &look, &arena), &k.err);
    check_int(look.n_known, 150);
    check_int(look.readings.count, 0);
    fl_ev_readings_imported body;
    check_int(fl_readings_keep(&k.app, &look, place, &arena, &body, &k.err), FL_EINVAL);
    temp_c[3] += 1.0;
    check_ok(take_series(&k, place, START_H, temp_c, N, 0, &look, &arena), &k.err);
    check_int(look.n_known, 149);
    check_int(look.n_other, 1);
    check_int(look.readings.count, N - 150);
    temp_c[3] -= 1.0;
    /* a voided batch is gone, and is new again */
    void_event(&k, first);
    check_ok(take_series(&k, place, START_H, temp_c, 150, 0, &look, &arena), &k.err);
    check_int(look.n_known, 50);
    check_int(look.readings.count, 100);
    check_close(at(&k, place, START_H + 10, FL_TEMPS_COLD), 22.0, 0.0, 0.0);
    check_close(at(&k, place, START_H + 120, FL_TEMPS_COLD), temp_c[120], 0.0, 1e-9);
    void_event(&k, second);
    fl_keeper_ask(&k);
    check_true(fl_room_series(&k.room, place) == NULL);
    fl_keeper_verify(&k);
    /* a clock that was an hour ahead */
    check_ok(take_series(&k, place, START_H, temp_c, 100, -3600, &look, &arena), &k.err);
    check_int(look.from_s, START_H * FL_HOUR_S + 600 - 3600);
    fl_arena_done(&arena);
    fl_keeper_done(&k);
}

/* A bin that was colder than told: what is in it hatches later, so that the same looks say less. */
static void test_chance_follows(void **state)
{
    (void)state;
    enum { N = 24 * 35 };
    static double cold_c[N];
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id bin = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 24.0);
    fl_id source = fl_keeper_source(&k, "shop", FL_SOURCE_CHAIN_STORE, false);
    fl_id lot =
        fl_keeper_arrive(&k, source, fl_keeper_id(&k), bin, FL_FORM_POTTED, FL_USE_STOCK, 4);
    for (int week = 1; week <= 5; week++) {
        fl_keeper_day(&k, 7 * week, 0);
        (void)fl_keeper_look(&k, bin, FL_EFFORT_CAREFUL, 0, NULL, lot);
    }
    fl_keeper_ask(&k);
    double before = fl_keeper_chance(&k, lot, "citrus_mealybug").chance;
    for (int h = 0; h < N; h++) {
        cold_c[h] = 15.0;
    }
    fl_id batch = record_series(&k, bin, START_H, cold_c, N);
    fl_keeper_ask(&k);
    check_true(fl_keeper_chance(&k, lot, "citrus_mealybug").chance > 1.05 * before);
    void_event(&k, batch);
    fl_keeper_ask(&k);
    check_close(fl_keeper_chance(&k, lot, "citrus_mealybug").chance, before, 0.0, 1e-12);
    fl_keeper_done(&k);
}

/* A release stays as it was judged; readings that come later and are colder than was told bring it
 * up again when today's chance is above the ceiling. Readings that agree bring nothing up. */
static void test_recheck(void **state)
{
    (void)state;
    enum { N = 24 * 21 };
    static double temp_c[N];
    static const double cases_c[] = {24.0, 14.0};
    for (size_t i = 0; i < 2; i++) {
        fl_keeper k;
        fl_arena arena;
        fl_recheck *list = NULL;
        size_t n = 0;
        fl_keeper_init(&k);
        fl_arena_init(&arena);
        fl_id bin = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 24.0);
        fl_id tank = fl_keeper_place(&k, "tank", FL_PLACE_ENCLOSURE, 1U << FL_USE_AMPHIBIAN, 24.0);
        fl_id source = fl_keeper_source(&k, "shop", FL_SOURCE_CHAIN_STORE, false);
        fl_id lot = fl_keeper_arrive(&k, source, fl_keeper_id(&k), bin, FL_FORM_POTTED,
                                     FL_USE_AMPHIBIAN, 4);
        for (int week = 1; week <= 3; week++) {
            fl_keeper_day(&k, 7 * week, 0);
            (void)fl_keeper_look(&k, bin, FL_EFFORT_CAREFUL, 0, NULL, lot);
        }
        fl_keeper_release(&k, lot, tank);
        for (int h = 0; h < N; h++) {
            temp_c[h] = cases_c[i];
        }
        k.now_s += FL_HOUR_S;
        fl_keeper_ask(&k);
        check_ok(fl_recheck_list(k.chances, &k.room, &arena, &list, &n, &k.err), &k.err);
        check_int(n, 0); /* nothing was measured */
        (void)record_series(&k, bin, START_H, temp_c, N);
        fl_keeper_ask(&k);
        check_ok(fl_recheck_list(k.chances, &k.room, &arena, &list, &n, &k.err), &k.err);
        check_int(n, i); /* only the colder one */
        if (n > 0) {
            check_true(fl_id_eq(list[0].lot->id, lot) && fl_id_eq(list[0].bin, bin));
            check_close(list[0].colder_c, 10.0, 0.0, 1e-6);
            check_int(list[0].use, FL_USE_AMPHIBIAN);
            check_true(list[0].sum_now > list[0].ceiling);
            check_true(list[0].release->body.lot_released.answer_json.len == 0);
        }
        fl_arena_done(&arena);
        fl_keeper_done(&k);
    }
}

/* Mix as a lot of its own: what bakes, boils, freezes or dries it brings its chance down. */
static void test_treated_mix(void **state)
{
    (void)state;
    static const fl_step steps[] = {FL_STEP_BAKE, FL_STEP_BOIL, FL_STEP_FREEZE, FL_STEP_DRY};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        fl_keeper k;
        fl_keeper_init(&k);
        fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
        fl_id shop = fl_keeper_source(&k, "shop", FL_SOURCE_CHAIN_STORE, false);
        fl_id mix =
            fl_keeper_arrive(&k, shop, fl_keeper_id(&k), bench, FL_FORM_MIX_OPEN, FL_USE_STOCK, 1);
        fl_keeper_ask(&k);
        double before = fl_keeper_chance(&k, mix, "fungus_gnat").chance;
        fl_keeper_step(&k, &mix, 1, steps[i], FL_AGENT_NONE, "");
        fl_keeper_ask(&k);
        check_true(before > 0.0);
        check_true(fl_keeper_chance(&k, mix, "fungus_gnat").chance < 0.5 * before);
        fl_keeper_done(&k);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_pack_round_trip), cmocka_unit_test(test_temperatures),
    cmocka_unit_test(test_known_again),     cmocka_unit_test(test_chance_follows),
    cmocka_unit_test(test_recheck),         cmocka_unit_test(test_treated_mix),
};
FL_TEST_MAIN(tests)
