/* Efficacy: only at tested pairs. The points are the papers' own, restated here with their
 * source and looked up through the table of the program. */
#include <math.h>
#include <string.h>

#include "core/dip/bleach.h"
#include "core/dip/efficacy.h"
#include "support/check.h"

static fl_dip_bath naocl(double mg_per_l_naocl, double minutes)
{
    return (fl_dip_bath){.agent = FL_AGENT_BLEACH,
                         .strength = mg_per_l_naocl * FL_CL2_PER_NAOCL,
                         .product_pct_by_volume = (double)NAN,
                         .minutes = minutes};
}

static fl_efficacy_outcome outcome(fl_dip_bath bath, const char *organism)
{
    return fl_dip_efficacy(&bath, fl_sv_from_cstr(organism)).outcome;
}

/* Becker and Gratwicke 2017 (PLoS ONE 12:e0176439): 0.03 % for 15 min and 0.12 % for 30 s
 * killed all Bd. In between nothing is claimed: the products of the two differ 7.5-fold. */
static void test_bd(void **state)
{
    (void)state;
    check_int(outcome(naocl(300.0, 15.0), "bd"), FL_EFFICACY_KILLS);
    check_int(outcome(naocl(1200.0, 0.5), "bd"), FL_EFFICACY_KILLS);
    check_int(outcome(naocl(5000.0, 3.0), "bd"), FL_EFFICACY_KILLS);
    check_int(outcome(naocl(300.0, 14.0), "bd"), FL_EFFICACY_UNTESTED);
    check_int(outcome(naocl(1100.0, 10.0), "bd"), FL_EFFICACY_UNTESTED);
    check_int(outcome(naocl(100.0, 60.0), "bd"), FL_EFFICACY_UNTESTED);
    check_int(outcome(naocl(1200.0, 0.4), "bd"), FL_EFFICACY_UNTESTED);
    fl_dip_bath bath = naocl(1200.0, 0.5);
    fl_efficacy e = fl_dip_efficacy(&bath, FL_SV("bd"));
    check_true(e.is_in_vitro);
    check_str(e.source, "S53");
    check_close(e.tested_conc, 1200.0, 0.0, 0.0);
}

/* Bryan and others 2009 (Dis Aquat Org 84:89): 3 and 5 % bleach for 1 and 5 min inactivated
 * ranavirus, 0.2 and 1 % did not; permanganate 2 and 5 mg/L for 60 min did not. */
static void test_ranavirus(void **state)
{
    (void)state;
    fl_dip_bath bath = naocl(3000.0, 1.0);
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_UNTESTED); /* by volume is not known */
    bath.product_pct_by_volume = 5.0;
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_KILLS);
    bath.minutes = 0.5;
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_UNTESTED);
    bath = naocl(1000.0, 5.0); /* an old, weak product */
    bath.product_pct_by_volume = 3.0;
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_UNTESTED);
    bath = naocl(600.0, 5.0);
    bath.product_pct_by_volume = 1.0;
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_FAILS);
    bath.minutes = 10.0;
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_UNTESTED);
    fl_dip_bath pink = {FL_AGENT_PERMANGANATE, 5.0, (double)NAN, 60.0};
    check_int(outcome(pink, "ranavirus"), FL_EFFICACY_FAILS);
    pink.strength = 10.0;
    check_int(outcome(pink, "ranavirus"), FL_EFFICACY_UNTESTED);
}

/* A common 1+19 dip, planned from the bottle: above the Bd and ranavirus points, and no snail cure
 * (Dwyer and others 2003: chlorine 500 to 3 000 mg/L rarely killed more than 30 %). */
static void test_common_dip(void **state)
{
    (void)state;
    fl_bleach_request r = {.bottle = fl_bleach_bottle_of(6.0),
                           .strip = {.reading_mg_per_l = (double)NAN},
                           .parts = {1.0, 19.0},
                           .target_mg_per_l = (double)NAN,
                           .total_ml = 4000.0};
    fl_bleach_mix mix;
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_bleach_plan(&r, &mix, &err), &err);
    fl_dip_bath bath = {FL_AGENT_BLEACH, mix.chlorine_mg_per_l, mix.product_pct_by_volume, 2.0};
    check_int(outcome(bath, "bd"), FL_EFFICACY_KILLS);
    check_int(outcome(bath, "ranavirus"), FL_EFFICACY_KILLS);
    bath.strength = 2900.0;
    check_int(outcome(bath, "snails"), FL_EFFICACY_PARTLY);
    bath.minutes = (double)NAN;
    check_int(outcome(bath, "bd"), FL_EFFICACY_UNTESTED);
}

/* Hong 2003, Oplinger and Wagner 2009, Hara 2010, and what is in no table. */
static void test_others(void **state)
{
    (void)state;
    fl_dip_bath water = {FL_AGENT_BLEACH, 2.0, (double)NAN, 2.0};
    check_int(outcome(water, "phytophthora_spores"), FL_EFFICACY_KILLS);
    water = (fl_dip_bath){FL_AGENT_BLEACH, 8.0, (double)NAN, 8.0};
    check_int(outcome(water, "phytophthora_mycelium"), FL_EFFICACY_PARTLY);
    fl_dip_bath peroxide = {FL_AGENT_PEROXIDE, 7500.0, (double)NAN, 15.0};
    check_int(outcome(peroxide, "snails"), FL_EFFICACY_KILLS);
    peroxide.minutes = 5.0;
    check_int(outcome(peroxide, "snails"), FL_EFFICACY_PARTLY);
    fl_dip_bath hot = {FL_AGENT_HOT_WATER, 45.0, (double)NAN, 5.0};
    check_int(outcome(hot, "frog_eggs"), FL_EFFICACY_KILLS);
    check_int(outcome(hot, "snails"), FL_EFFICACY_REDUCES);
    check_int(outcome(hot, "bd"), FL_EFFICACY_UNTESTED);
    check_int(outcome(naocl(5000.0, 15.0), "spider_mite_eggs"), FL_EFFICACY_UNTESTED);
    fl_dip_bath plain = {FL_AGENT_NONE, (double)NAN, (double)NAN, 60.0};
    fl_efficacy e = fl_dip_efficacy(&plain, FL_SV("bd"));
    check_int(e.outcome, FL_EFFICACY_UNTESTED);
    check_str(e.source, "");
    check_contains(e.organism_name, "chytrid");
}

/* Bath by the unit of a row; by volume: of a 6 % product, as the papers' household bleach. */
static fl_dip_bath bath_of(const fl_table *t, size_t i)
{
    fl_sv unit = fl_sv_from_cstr(fl_table_text(t, i, "unit"));
    double strength = fl_table_number(t, i, "strength");
    double minutes = fl_table_number(t, i, "minutes");
    fl_dip_bath bath = {
        .strength = strength, .product_pct_by_volume = (double)NAN, .minutes = minutes};
    bath.agent = (fl_agent)fl_word_find(fl_words_agent, FL_AGENT_COUNT,
                                        fl_sv_from_cstr(fl_table_text(t, i, "agent")));
    if (fl_sv_eq_cstr(unit, "naocl")) {
        bath.strength = strength * FL_CL2_PER_NAOCL;
    } else if (fl_sv_eq_cstr(unit, "vv")) {
        bath.product_pct_by_volume = strength;
        bath.strength = strength / 100.0 * 62000.0; /* available chlorine of 6 %, strict */
    }
    return bath;
}

/* Every tested point of the page, read apart from the program's own table. */
static void test_published(void **state)
{
    (void)state;
    static const char *const words[] = {"untested", "fails", "partly", "reduces", "kills"};
    fl_table t = fl_table_read("chem_efficacy.csv");
    check_int(t.n_rows, 27);
    for (size_t i = 0; i < t.n_rows; i++) {
        fl_dip_bath bath = bath_of(&t, i);
        fl_efficacy e = fl_dip_efficacy(&bath, fl_sv_from_cstr(fl_table_text(&t, i, "organism")));
        check_str(words[e.outcome], fl_table_text(&t, i, "outcome"));
        check_contains(e.source, fl_table_text(&t, i, "source"));
    }
    fl_table_free(&t);
}

/* Stronger or longer never turns a kill into less. */
static void test_monotone(void **state)
{
    (void)state;
    for (double mg = 50.0; mg < 8000.0; mg *= 1.3) {
        for (double minutes = 0.1; minutes < 40.0; minutes *= 1.5) {
            if (outcome(naocl(mg, minutes), "bd") == FL_EFFICACY_KILLS) {
                check_int(outcome(naocl(mg * 1.3, minutes), "bd"), FL_EFFICACY_KILLS);
                check_int(outcome(naocl(mg, minutes * 1.5), "bd"), FL_EFFICACY_KILLS);
            }
        }
    }
}

static void test_lists(void **state)
{
    (void)state;
    size_t n = fl_dip_organism_count();
    check_true(n > 8);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) {
            check_true(strcmp(fl_dip_organism(i), fl_dip_organism(k)) != 0);
        }
    }
    check_true(fl_agent_use_count() > 10);
    for (size_t i = 0; i < fl_agent_use_count(); i++) {
        fl_agent_use use = fl_agent_use_at(i);
        bool is_step =
            fl_word_find(fl_words_agent, FL_AGENT_COUNT, fl_sv_from_cstr(use.agent)) >= 0;
        check_true(is_step || use.agent[0] == '\0');
        check_true(use.source[0] != '\0' && use.conc_low <= use.conc_high);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bd),         cmocka_unit_test(test_ranavirus),
    cmocka_unit_test(test_common_dip), cmocka_unit_test(test_others),
    cmocka_unit_test(test_published),  cmocka_unit_test(test_monotone),
    cmocka_unit_test(test_lists),
};
FL_TEST_MAIN(tests)
