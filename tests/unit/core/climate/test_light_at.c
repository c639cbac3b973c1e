/* Light of a place. Outside checks: the sum of two strips is the sum of each (superposition of
 * illuminance, any photometry text); PPFD = lux / K, DLI = PPFD hours 3600 / 10^6 (definitions);
 * the worked table of a 1.2 m strip of 4,000 lm, K 69.8, 12 h (light-climate-substrate 1.3,
 * reckoned from Lambert's law): 5330 lx, 3.30 mol at 300 mm, 1784 lx 0.3 m aside. The integral of
 * Lambert's law over the strip itself is tests/unit/core/light. */
#include <math.h>

#include "core/climate/light_at.h"
#include "support/check.h"

static fl_event told(fl_ev_place_set set, int64_t at_s)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET, .at_s = at_s};
    set.place.b[0] = 7;
    set.name = FL_SV("bin");
    set.kind = FL_PLACE_BIN;
    set.shelf = -1;
    event.body.place_set = set;
    return event;
}

static const fl_id bin = {{7}};

static fl_ev_place_set lamp_4000(void)
{
    return (fl_ev_place_set){.lamp_lumens = 4000.0,
                             .lamp_length_mm = 1200.0,
                             .lamp_height_mm = 300.0,
                             .lamp_hours = 12.0,
                             .lamp_lux_per_umol = 69.8,
                             .lid = FL_SV("none")};
}

static void test_worked_table(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_climate_facts facts;
    fl_light_at light;
    fl_ev_place_set set = lamp_4000();
    fl_event event = told(set, 100);
    fl_climate_facts_of(&event, 1, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_int(light.basis, FL_BASIS_FIXTURE);
    check_close(light.lux, 5330.0, 2e-4, 0.0);
    check_close(light.ppfd_umol_m2_s, 76.4, 1e-3, 0.0);
    check_close(light.dli_mol_m2_d, 3.30, 2e-3, 0.0);
    set.lamp_across_mm = 300.0;
    event = told(set, 100);
    fl_climate_facts_of(&event, 1, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_close(light.lux, 1784.0, 5e-4, 0.0);
    /* two strips 600 mm apart over the middle between them are twice one at 300 mm */
    set.lamp_across_mm = 0.0;
    set.lamp_count = 2;
    set.lamp_spacing_mm = 600.0;
    event = told(set, 100);
    fl_climate_facts_of(&event, 1, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_close(light.lux, 2.0 * 1784.0, 5e-4, 0.0);
}

/* What was told before stays; a lamp is told whole; a reading holds until the lamp changes. */
static void test_facts_over_time(void **state)
{
    (void)state;
    fl_climate_facts facts;
    fl_light_at light;
    fl_err err = {0};
    fl_event events[5];
    events[0] = told(lamp_4000(), 100);
    events[1] = told((fl_ev_place_set){.light_lux = 700.0, .mix_l = 8.0}, 200);
    events[2] = told((fl_ev_place_set){.length_mm = 400.0}, 300); /* a new name, say */
    events[3] = told((fl_ev_place_set){.lamp_lumens = 3000.0, .lamp_hours = 8.0}, 400);
    events[4] = told((fl_ev_place_set){.lamp = FL_SV("none")}, 500);
    fl_climate_facts_of(NULL, 0, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_int(light.basis, FL_BASIS_DEFAULT);
    check_close(light.hours, 6.0, 0.0, 0.0); /* six on, eighteen off: common practice, no source */
    fl_climate_facts_of(events, 3, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_int(light.basis, FL_BASIS_READING);
    check_close(light.ppfd_umol_m2_s, 700.0 / 69.8, 1e-12, 0.0);
    check_close(light.dli_mol_m2_d, 700.0 / 69.8 * 12.0 * 0.0036, 1e-12, 0.0);
    check_close(facts.mix_l, 8.0, 0.0, 0.0);
    check_close(facts.length_mm, 400.0, 0.0, 0.0);
    fl_climate_facts_of(events, 4, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_int(light.basis, FL_BASIS_FIXTURE);
    check_close(facts.lamp.lumens, 3000.0, 0.0, 0.0);
    check_close(facts.lamp.height_mm, FL_CLIMATE_HEIGHT_MM, 0.0, 0.0);
    check_close(light.lux_per_umol, 70.0, 0.0, 0.0); /* the old lamp's factor went with it */
    check_close(light.lid, 1.0, 0.0, 0.0);           /* the lid did not */
    fl_climate_facts_of(events, 5, bin, &facts);
    check_ok(fl_climate_light(&facts, true, &light, &err), &err);
    check_int(light.basis, FL_BASIS_DARK);
    check_close(light.dli_mol_m2_d, 0.0, 0.0, 0.0);
}

static void test_judged(void **state)
{
    (void)state;
    const fl_know_plant *plant = fl_know_plant_find(FL_SV("Ficus pumila")); /* 40 to 150 umol */
    check_true(plant != NULL);
    fl_light_band band = fl_climate_band_of(plant);
    check_close(band.low, 40.0 * 0.0432, 1e-12, 0.0); /* over twelve hours */
    check_close(band.high, 150.0 * 0.0432, 1e-12, 0.0);
    check_int(fl_climate_judge(plant, false, 1.7), FL_LIGHT_DARK);
    check_int(fl_climate_judge(plant, false, 3.0), FL_LIGHT_FITS);
    check_int(fl_climate_judge(plant, false, 6.5), FL_LIGHT_BRIGHT);
    check_int(fl_climate_judge(NULL, false, 6.5), FL_LIGHT_UNKNOWN);
    for (double dli = 0.0; dli < 20.0; dli += 0.5) { /* what thrives is never flagged */
        check_int(fl_climate_judge(plant, true, dli), FL_LIGHT_THRIVES);
    }
}

/* What is proposed does what it says: applied, the light is at the edge of the band. */
static void test_change_works(void **state)
{
    (void)state;
    fl_err err = {0};
    static const double bands[][2] = {{3.6, 5.0}, {1.0, 2.5}, {2.0, 6.0}, {15.0, 20.0}};
    for (size_t i = 0; i < sizeof bands / sizeof bands[0]; i++) {
        fl_climate_facts facts;
        fl_light_at light;
        fl_light_change change;
        fl_light_band want = {bands[i][0], bands[i][1], false};
        fl_event event = told(lamp_4000(), 100);
        fl_climate_facts_of(&event, 1, bin, &facts);
        check_ok(fl_climate_light(&facts, true, &light, &err), &err);
        fl_climate_change(&facts, &light, &want, &change);
        double target = light.dli_mol_m2_d < want.low ? want.low : want.high;
        bool fits = light.dli_mol_m2_d >= want.low && light.dli_mol_m2_d <= want.high;
        if (fits) {
            check_true(isnan(change.hours) && isnan(change.height_mm));
            continue;
        }
        check_true(isnan(change.hours) == (i == 3)); /* four times the light is no day's hours */
        if (!isnan(change.hours)) {
            facts.lamp.hours = change.hours;
            check_ok(fl_climate_light(&facts, true, &light, &err), &err);
            check_close(light.dli_mol_m2_d, target, 1e-9, 0.0);
            facts.lamp.hours = 12.0;
        }
        if (!isnan(change.height_mm)) {
            facts.lamp.height_mm = change.height_mm;
            check_ok(fl_climate_light(&facts, true, &light, &err), &err);
            check_close(light.dli_mol_m2_d, target, 1e-6, 0.0);
        }
    }
}

/* The map conserves the lamp's lumens: lux times area over a wide plane is what the lamp sends down
 * (the energy of a Lambertian strip; within 1 % over 6 m by 6 m at 30 cm). */
static void test_grid_keeps_lumens(void **state)
{
    (void)state;
    enum { N = 200 };
    static double lux[N * N];
    fl_err err = {0};
    fl_climate_facts facts;
    fl_event event = told(lamp_4000(), 100);
    fl_climate_facts_of(&event, 1, bin, &facts);
    const fl_light_grid grid = {-4000.0, 4000.0, -4000.0, 4000.0, N, N};
    check_ok(fl_climate_grid(&facts.lamp, &grid, lux, &err), &err);
    double sum = 0.0;
    for (int i = 0; i < N * N; i++) {
        sum += lux[i] * 0.04 * 0.04;
    }
    check_close(sum, 4000.0, 0.015, 0.0);
    check_close(lux[100 * N + 30], lux[99 * N + 169], 1e-9, 0.0); /* symmetric */
}

static void test_short_day(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_climate_short_day_count(); i++) {
        fl_short_day one = fl_climate_short_day_at(i);
        check_true(fl_know_threat_find(fl_sv_from_cstr(one.threat)) != NULL);
        check_contains(one.source, "from memory");
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_worked_table),
    cmocka_unit_test(test_facts_over_time),
    cmocka_unit_test(test_judged),
    cmocka_unit_test(test_change_works),
    cmocka_unit_test(test_grid_keeps_lumens),
    cmocka_unit_test(test_short_day),
};
FL_TEST_MAIN(tests)
