/* Bleach: units, published dilutions, loss in storage, and what is refused. */
#include <math.h>

#include "core/dip/bleach.h"
#include "support/check.h"

static fl_bleach_request request_of(double label_pct, double product, double water)
{
    return (fl_bleach_request){.bottle = fl_bleach_bottle_of(label_pct),
                               .strip = {.reading_mg_per_l = (double)NAN},
                               .parts = {product, water},
                               .target_mg_per_l = (double)NAN,
                               .total_ml = 4000.0};
}

static fl_bleach_mix planned(const fl_bleach_request *request)
{
    fl_bleach_mix mix = {0};
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_bleach_plan(request, &mix, &err), &err);
    return mix;
}

static fl_bleach_strength strength_of(const fl_bleach_bottle *bottle)
{
    fl_bleach_strength s = {0};
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_bleach_strength_now(bottle, NULL, &s, &err), &err);
    return s;
}

static void refused(const fl_bleach_request *request, const char *says)
{
    fl_bleach_mix mix = {.product_ml = -1.0};
    fl_err err;
    fl_err_clear(&err);
    check_int(fl_bleach_plan(request, &mix, &err), FL_EDOMAIN);
    check_status(&err, FL_EDOMAIN);
    check_contains(err.message, says);
    check_close(mix.product_ml, -1.0, 0.0, 0.0);
}

/* Derived table of units (tests/reference/chem_bleach_units.csv), to its printed digits. */
static void test_units_table(void **state)
{
    (void)state;
    fl_table t = fl_table_read("chem_bleach_units.csv");
    check_int(t.n_rows, 4);
    for (size_t i = 0; i < t.n_rows; i++) {
        double pct = fl_table_number(&t, i, "label_pct");
        fl_bleach_request r = request_of(pct, 1.0, 19.0);
        fl_bleach_mix mix = planned(&r);
        check_close(mix.product_ml, 200.0, 1e-12, 0.0);
        check_close(mix.water_ml, 3800.0, 1e-12, 0.0);
        check_close(mix.specific_gravity, fl_table_number(&t, i, "gravity"), 0.0, 6e-4);
        check_close(fl_bleach_chlorine_mg_per_l(pct, mix.specific_gravity),
                    fl_table_number(&t, i, "chlorine_mg_per_l"), 1e-3, 0.0);
        check_close(mix.chlorine_mg_per_l, fl_table_number(&t, i, "chlorine_1_19_mg_per_l"), 2e-3,
                    0.0);
        check_close(mix.chlorine_simple_mg_per_l, fl_table_number(&t, i, "simple_1_19_mg_per_l"),
                    1e-12, 0.0);
        check_close(mix.naocl_mg_per_l / 10000.0, fl_table_number(&t, i, "naocl_wv_pct_1_19"), 0.0,
                    6e-4);
        check_close(pct * 10.0 * mix.specific_gravity / FL_MOLAR_NAOCL,
                    fl_table_number(&t, i, "naocl_mol_per_l"), 0.0, 6e-4);
        /* the simple convention is low by 2 to 6 % at these strengths */
        double low_by = 1.0 - mix.chlorine_simple_mg_per_l / mix.chlorine_mg_per_l;
        check_true(low_by > 0.02 && low_by < 0.065);
    }
    fl_table_free(&t);
}

/* WHO 2014 Annex G and the other published dilutions: percent x 10 000 x share. */
static void test_published_dilutions(void **state)
{
    (void)state;
    fl_table t = fl_table_read("chem_bleach_dilution.csv");
    check_int(t.n_rows, 6);
    for (size_t i = 0; i < t.n_rows; i++) {
        double product = fl_table_number(&t, i, "parts_product");
        double water = fl_table_number(&t, i, "parts_total") - product;
        fl_bleach_request r = request_of(fl_table_number(&t, i, "label_pct"), product, water);
        fl_bleach_mix mix = planned(&r);
        double simple = fl_table_number(&t, i, "chlorine_simple_mg_per_l");
        if (!isnan(simple)) {
            check_close(mix.chlorine_simple_mg_per_l, simple, 1e-9, 0.0);
        }
        double by_volume = fl_table_number(&t, i, "product_pct_by_volume");
        if (!isnan(by_volume)) {
            check_close(mix.product_pct_by_volume, by_volume, 1e-9, 0.0);
        }
    }
    fl_table_free(&t);
}

/* Worked example of the reference page: 4 L at 3 000 mg/L from 8.25 % bleach is 137 ml. */
static void test_target(void **state)
{
    (void)state;
    fl_bleach_request r = request_of(8.25, 0.0, 0.0);
    r.target_mg_per_l = 3000.0;
    fl_bleach_mix mix = planned(&r);
    check_close(mix.product_ml, 137.0, 0.0, 0.5);
    check_close(mix.water_ml, 3863.0, 0.0, 0.5);
    check_close(mix.chlorine_mg_per_l, 3000.0, 1e-12, 0.0);
    /* an old bottle: more product, dosed with today's strength */
    r.bottle.age_days = 120.0;
    r.bottle.store_c = 22.0;
    fl_bleach_mix old = planned(&r);
    check_true(old.product_ml > mix.product_ml);
    check_close(old.product_ml / mix.product_ml, 8.25 / old.strength.now_pct, 1e-12, 0.0);
    check_close(old.chlorine_mg_per_l, 3000.0, 1e-12, 0.0);
    check_true(old.chlorine_low_mg_per_l < 3000.0 && old.chlorine_high_mg_per_l > 3000.0);
}

/* Trade percent: 12.5 trade % at gravity 1.16 is 125 g/L of available chlorine (definition, S1). */
static void test_trade_percent(void **state)
{
    (void)state;
    double pct = fl_bleach_pct_of_trade(12.5, 1.16);
    check_close(pct, 125.0 * 1.05 / (10.0 * 1.16), 1e-3, 0.0);
    check_close(fl_bleach_chlorine_mg_per_l(pct, 1.16), 125000.0, 1e-12, 0.0);
    check_close(fl_bleach_pct_of_chlorine(fl_bleach_chlorine_mg_per_l(6.0, 1.08), 1.08), 6.0, 1e-12,
                0.0);
}

/* Half-lives and shares left of the closed, dark, clean bottle against the derived table: its
 * gravity and ionic strength are rounded, so 4 %. */
static void test_decay_table(void **state)
{
    (void)state;
    fl_table t = fl_table_read("chem_bleach_units.csv");
    static const double temp_c[] = {15.0, 20.0, 25.0, 30.0, 35.0};
    static const char *const column[] = {"half_life_15_d", "half_life_20_d", "half_life_25_d",
                                         "half_life_30_d", "half_life_35_d"};
    for (size_t i = 0; i < t.n_rows; i++) {
        fl_bleach_bottle b = fl_bleach_bottle_of(fl_table_number(&t, i, "label_pct"));
        for (size_t k = 0; k < 5; k++) {
            b.store_c = temp_c[k];
            /* one day's loss of a second-order decay gives the half-life: t = x / (1 - x) a day */
            b.age_days = 1.0;
            double left = strength_of(&b).high_pct / b.label_pct;
            check_close(left / (1.0 - left), fl_table_number(&t, i, column[k]), 0.04, 0.0);
        }
        b.store_c = 25.0;
        b.age_days = 180.0;
        check_close(100.0 * strength_of(&b).high_pct / b.label_pct,
                    fl_table_number(&t, i, "left_180_pct"), 0.0, 1.0);
        b.age_days = 365.0;
        check_close(100.0 * strength_of(&b).high_pct / b.label_pct,
                    fl_table_number(&t, i, "left_365_pct"), 0.0, 1.0);
    }
    fl_table_free(&t);
}

static void check_loss_row(double days, double store_c, double published)
{
    fl_bleach_bottle b = fl_bleach_bottle_of(fl_bleach_pct_of_trade(12.5, 1.16));
    b.specific_gravity = 1.16;
    b.age_days = days;
    b.store_c = store_c;
    fl_bleach_strength s = strength_of(&b);
    double trade_per_pct = 12.5 / b.label_pct;
    if (published >= 0.5 * 12.5) {
        check_true(s.low_pct * trade_per_pct <= published);
        check_true(s.high_pct * trade_per_pct >= published);
    } else {
        /* beyond half strength the equation and the table part; we no longer give advice there */
        check_true(s.should_replace);
    }
    if (days < 31.0 && store_c < 30.0) {
        check_close(s.high_pct * trade_per_pct, published, 0.05, 0.0);
        check_close(s.now_pct * trade_per_pct, published, 0.03, 0.0);
    }
}

/* Published loss of 12.5 trade % product: the first month at 80 F is within a few per cent, and
 * every row with half the strength left lies inside our interval. */
static void test_published_loss(void **state)
{
    (void)state;
    fl_table t = fl_table_read("chem_bleach_loss.csv");
    check_int(t.n_rows, 5);
    for (size_t i = 0; i < t.n_rows; i++) {
        double days = fl_table_number(&t, i, "days");
        check_loss_row(days, (80.0 - 32.0) / 1.8, fl_table_number(&t, i, "left_80f_trade_pct"));
        check_loss_row(days, (95.0 - 32.0) / 1.8, fl_table_number(&t, i, "left_95f_trade_pct"));
    }
    fl_table_free(&t);
}

/* Chlorine Institute 2003 (S11): half the strength loses at about a quarter of the rate. The rate
 * is k C^2 and k falls with the ionic strength too, so a quarter or somewhat less. */
static void test_dilution_slows_loss(void **state)
{
    (void)state;
    double full = fl_bleach_loss_constant(25.0, 2.0 * 1.7 + 0.2) * 1.7 * 1.7;
    double half = fl_bleach_loss_constant(25.0, 2.0 * 1.7 + 0.2) * 0.85 * 0.85;
    check_close(half / full, 0.25, 1e-12, 0.0);
    double really = fl_bleach_loss_constant(25.0, 2.0 * 0.85 + 0.2) * 0.85 * 0.85;
    check_true(really / full < 0.25 && really / full > 0.10);
}

static void test_interval(void **state)
{
    (void)state;
    fl_bleach_bottle b = fl_bleach_bottle_of(6.0);
    fl_bleach_strength fresh = strength_of(&b);
    check_true(fresh.is_age_unknown);
    check_close(fresh.now_pct, 6.0, 0.0, 0.0);
    check_false(fresh.should_replace);
    double before = 6.0;
    b.store_c = 25.0;
    for (double days = 0.0; days <= 720.0; days += 30.0) {
        b.age_days = days;
        fl_bleach_strength s = strength_of(&b);
        check_true(s.low_pct <= s.now_pct && s.now_pct <= s.high_pct && s.high_pct <= 6.0);
        check_true(s.now_pct <= before && s.low_pct > 0.0);
        check_true(s.should_replace == (s.now_pct < 3.0 || s.high_pct / s.low_pct > 1.5));
        check_false(s.is_age_unknown);
        before = s.now_pct;
    }
    b.age_days = 30.0;
    check_false(strength_of(&b).should_replace);
    check_false(strength_of(&b).is_extrapolated);
    b.age_days = 365.0;
    check_true(strength_of(&b).should_replace);
    b.store_c = 10.0;
    check_true(strength_of(&b).is_extrapolated);
    fl_bleach_bottle weak = fl_bleach_bottle_of(2.5);
    weak.age_days = 10.0;
    weak.store_c = 20.0;
    check_true(strength_of(&weak).is_extrapolated);
    /* warmer is weaker */
    b.age_days = 100.0;
    b.store_c = 18.0;
    double cool = strength_of(&b).now_pct;
    b.store_c = 28.0;
    check_true(strength_of(&b).now_pct < cool);
}

/* A strip in 1 ml of product made up to 1 L: 40 mg/L is 40 000 mg/L in the bottle. */
static void test_strip_overrides(void **state)
{
    (void)state;
    fl_bleach_request r = request_of(6.0, 1.0, 19.0);
    r.bottle.age_days = 365.0;
    r.bottle.store_c = 25.0;
    r.strip = (fl_bleach_strip){40.0, {1.0, 999.0}};
    fl_bleach_mix mix = planned(&r);
    check_true(mix.strength.is_measured);
    check_close(mix.chlorine_mg_per_l, 2000.0, 1e-12, 0.0);
    check_true(mix.strength.low_pct < mix.strength.now_pct &&
               mix.strength.now_pct < mix.strength.high_pct);
    check_false(mix.strength.should_replace);
    r.strip.reading_mg_per_l = 20.0;
    check_true(planned(&r).strength.should_replace);
    r.strip.reading_mg_per_l = 400.0;
    refused(&r, "strip reading");
    r.strip.reading_mg_per_l = 0.0;
    refused(&r, "strip reading");
    r.strip = (fl_bleach_strip){40.0, {0.0, 999.0}};
    refused(&r, "parts of product");
}

static void test_refused(void **state)
{
    (void)state;
    fl_bleach_request good = request_of(6.0, 1.0, 19.0);
    fl_bleach_request r = good;
    r.bottle.label_pct = 60.0;
    refused(&r, "60");
    r.bottle.label_pct = (double)NAN;
    refused(&r, "label strength");
    r = good;
    r.bottle.specific_gravity = 2.0;
    refused(&r, "specific gravity");
    r = good;
    r.bottle.age_days = 30.0;
    refused(&r, "temperature");
    r = good;
    r.bottle.store_c = 20.0;
    refused(&r, "age");
    r.bottle.age_days = -1.0;
    refused(&r, "age -1");
    r.bottle.age_days = 30.0;
    r.bottle.store_c = 70.0;
    refused(&r, "70");
    r = good;
    r.total_ml = 0.0;
    refused(&r, "total");
    r = good;
    r.parts = (fl_parts){0.0, 10.0};
    refused(&r, "parts of product");
    r = good;
    r.target_mg_per_l = -5.0;
    refused(&r, "target");
    r.target_mg_per_l = 90000.0;
    refused(&r, "the bottle itself");
    r = good;
    r.bottle.product = FL_BLEACH_SCENTED;
    refused(&r, "scented");
    r.bottle.product = FL_BLEACH_GEL;
    refused(&r, "gel");
    r.bottle.product = FL_BLEACH_SPLASHLESS;
    refused(&r, "splashless");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_units_table),
    cmocka_unit_test(test_published_dilutions),
    cmocka_unit_test(test_target),
    cmocka_unit_test(test_trade_percent),
    cmocka_unit_test(test_decay_table),
    cmocka_unit_test(test_published_loss),
    cmocka_unit_test(test_dilution_slows_loss),
    cmocka_unit_test(test_interval),
    cmocka_unit_test(test_strip_overrides),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
