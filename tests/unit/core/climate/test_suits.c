/* Does it suit: the classes of light and humidity against published ones, and each aspect at its
 * edges. What a plant needs is data/plants.csv, each row with its source; how wide the edges are is
 * our own judgement and pinned as such. */
#include <math.h>
#include <string.h>

#include "core/climate/suits.h"
#include "support/check.h"

static const fl_know_plant *plant_of(const char *name)
{
    const fl_know_plant *plant = fl_know_plant_find(fl_sv_from_cstr(name));
    check_true(plant != NULL);
    return plant;
}

static fl_suits_site unknown_site(void)
{
    return (fl_suits_site){.dli_mol_m2_d = (double)NAN,
                           .rh_pct = (double)NAN,
                           .temp_min_c = (double)NAN,
                           .temp_mean_c = (double)NAN,
                           .temp_max_c = (double)NAN,
                           .length_mm = (double)NAN,
                           .width_mm = (double)NAN,
                           .height_mm = (double)NAN};
}

/* Source: tests/reference/light-classes.csv, to its two digits: a class begins at its least. */
static void test_classes_of_light(void **state)
{
    fl_table table = fl_table_read("light-classes.csv");
    (void)state;
    assert_int_equal(table.n_rows, 3);
    for (size_t i = 0; i < table.n_rows; i++) {
        const double least = fl_table_number(&table, i, "dli_12h_min");
        const fl_suits_light above = fl_suits_light_class(least + 0.005);
        check_str(fl_words_suits_light[above].word, fl_table_text(&table, i, "class"));
        check_int(fl_suits_light_class(least - 0.006), (int)above - 1);
    }
    fl_table_free(&table);
}

/* The classes of data/plants.csv (ours): H1 40 to 60, H2 55 to 75, H3 75 to 95 percent. */
static void test_classes_of_humidity(void **state)
{
    double low = 0.0;
    double high = 0.0;
    (void)state;
    check_true(fl_suits_humidity_class("H1", &low, &high) && low == 40.0 && high == 60.0);
    check_true(fl_suits_humidity_class("H2-3", &low, &high) && low == 55.0 && high == 95.0);
    check_false(fl_suits_humidity_class("", &low, &high));
    check_false(fl_suits_humidity_class("H4", &low, &high));
    check_false(fl_suits_humidity_class("dry", &low, &high));
}

static void test_what_is_not_told_is_not_known(void **state)
{
    const fl_know_plant *fig = plant_of("Ficus pumila");
    const fl_suits_site site = unknown_site();
    (void)state;
    for (int a = 0; a < FL_SUITS_ANIMALS; a++) {
        check_int(fl_suits_judge((fl_suits_aspect)a, fig, &site, false), FL_SUITS_UNKNOWN);
        check_int(fl_suits_judge((fl_suits_aspect)a, NULL, &site, false), FL_SUITS_UNKNOWN);
        check_int(fl_suits_judge((fl_suits_aspect)a, fig, &site, true), FL_SUITS_THRIVES);
    }
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, fig, &site, false), FL_SUITS_NO_QUESTION);
}

static fl_suits_state at(fl_suits_aspect aspect, const fl_know_plant *plant, double value)
{
    fl_suits_site site = unknown_site();
    site.dli_mol_m2_d = aspect == FL_SUITS_LIGHT ? value : site.dli_mol_m2_d;
    site.rh_pct = aspect == FL_SUITS_HUMIDITY ? value : site.rh_pct;
    if (aspect == FL_SUITS_WARMTH) {
        site.temp_min_c = site.temp_mean_c = site.temp_max_c = value;
    }
    return fl_suits_judge(aspect, plant, &site, false);
}

/* Best, at the edge, against, as far as the widths say. */
static void test_edges(void **state)
{
    const fl_know_plant *plant = plant_of("Pilea cadierei");
    const double best = plant->temp_opt_hi_c;
    (void)state;
    check_int(at(FL_SUITS_WARMTH, plant, best), FL_SUITS_FITS);
    check_int(at(FL_SUITS_WARMTH, plant, best + 0.5), FL_SUITS_EDGE);
    check_int(at(FL_SUITS_WARMTH, plant, best + FL_SUITS_TEMP_EDGE_C + 0.1), FL_SUITS_AGAINST);
    check_int(at(FL_SUITS_WARMTH, plant, plant->temp_min_c - 0.1), FL_SUITS_AGAINST);
    check_int(at(FL_SUITS_HUMIDITY, plant, plant->rh_min_pct), FL_SUITS_FITS);
    check_int(at(FL_SUITS_HUMIDITY, plant, plant->rh_min_pct - 1.0), FL_SUITS_EDGE);
    check_int(at(FL_SUITS_HUMIDITY, plant, plant->rh_min_pct - FL_SUITS_RH_EDGE_PCT - 1.0),
              FL_SUITS_AGAINST);
    check_int(at(FL_SUITS_LIGHT, plant, 0.0), FL_SUITS_AGAINST);
    check_int(at(FL_SUITS_LIGHT, plant, 100.0), FL_SUITS_AGAINST);
}

/* Nothing is ever said to be harmless; what irritates is against animals that eat leaves. */
static void test_animals(void **state)
{
    fl_suits_site site = unknown_site();
    const fl_know_plant *pothos = plant_of("Epipremnum aureum");
    const fl_know_plant *pilea =
        plant_of("Pilea cadierei"); /* a list for pets names it non-toxic */
    (void)state;
    site.has_animals = true;
    check_int(fl_suits_plant_of(pilea).harm, FL_HARM_NAMED);
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, pilea, &site, false), FL_SUITS_UNKNOWN);
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, NULL, &site, false), FL_SUITS_UNKNOWN);
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, pothos, &site, false), FL_SUITS_EDGE);
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, pothos, &site, true), FL_SUITS_EDGE);
    site.may_eat_leaves = true;
    check_int(fl_suits_judge(FL_SUITS_ANIMALS, pothos, &site, false), FL_SUITS_AGAINST);
    for (size_t i = 0; i < fl_know_plant_count(); i++) {
        check_true(fl_suits_judge(FL_SUITS_ANIMALS, fl_know_plant_at(i), &site, false) !=
                   FL_SUITS_FITS);
    }
}

static void test_size(void **state)
{
    fl_suits_site site = unknown_site();
    const fl_know_plant *caperata = plant_of("Peperomia caperata"); /* 10 to 20 cm, 20 across */
    const fl_know_plant *fig = plant_of("Ficus pumila");            /* climbs: it is cut back */
    (void)state;
    site.length_mm = 600.0;
    site.width_mm = 450.0;
    site.height_mm = 300.0;
    check_int(fl_suits_judge(FL_SUITS_SIZE, caperata, &site, false), FL_SUITS_FITS);
    site.height_mm = 150.0;
    check_int(fl_suits_judge(FL_SUITS_SIZE, caperata, &site, false), FL_SUITS_EDGE);
    site.height_mm = 90.0;
    check_int(fl_suits_judge(FL_SUITS_SIZE, caperata, &site, false), FL_SUITS_AGAINST);
    check_int(fl_suits_judge(FL_SUITS_SIZE, fig, &site, false), FL_SUITS_FITS);
    site.height_mm = 300.0;
    site.width_mm = 90.0;
    check_int(fl_suits_judge(FL_SUITS_SIZE, caperata, &site, false), FL_SUITS_AGAINST);
}

/* The whole is its worst aspect; what thrives is not argued with. */
static void test_whole(void **state)
{
    fl_suits_state of[FL_SUITS_ASPECTS] = {FL_SUITS_FITS, FL_SUITS_FITS, FL_SUITS_FITS,
                                           FL_SUITS_FITS, FL_SUITS_NO_QUESTION};
    (void)state;
    check_int(fl_suits_whole(of), FL_SUITS_FITS);
    of[FL_SUITS_SIZE] = FL_SUITS_UNKNOWN;
    check_int(fl_suits_whole(of), FL_SUITS_UNKNOWN);
    of[FL_SUITS_WARMTH] = FL_SUITS_AGAINST;
    check_int(fl_suits_whole(of), FL_SUITS_AGAINST);
    of[FL_SUITS_LIGHT] = FL_SUITS_THRIVES;
    check_int(fl_suits_whole(of), FL_SUITS_THRIVES);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_classes_of_light),
    cmocka_unit_test(test_classes_of_humidity),
    cmocka_unit_test(test_what_is_not_told_is_not_known),
    cmocka_unit_test(test_edges),
    cmocka_unit_test(test_animals),
    cmocka_unit_test(test_size),
    cmocka_unit_test(test_whole),
};
FL_TEST_MAIN(tests)
