/* Advice on dips: our own rules (design section 5), pinned case by case; no outside source. */
#include <math.h>
#include <string.h>

#include "core/dip/advice.h"
#include "support/check.h"

static const fl_dip_question from_shop = {.source_kind = FL_SOURCE_CHAIN_STORE,
                                          .form = FL_FORM_POTTED,
                                          .use = FL_USE_AMPHIBIAN};

static fl_dip_advice ask(const fl_dip_question *q)
{
    fl_dip_advice a = fl_dip_recommend(q);
    bool has_dip = a.agent != FL_AGENT_NONE;
    check_true(has_dip == !isnan(a.product_pct_by_volume));
    check_true(has_dip == (a.reason == FL_DIP_ANIMALS || a.reason == FL_DIP_PATHOGEN));
    check_true(fl_words_dip_reason[a.reason].text[0] != '\0');
    return a;
}

static void test_no_ritual(void **state)
{
    (void)state;
    fl_dip_question q = from_shop;
    check_int(ask(&q).reason, FL_DIP_NO_HISTORY);
    q.has_animals_with_plants = true;
    q.use = FL_USE_PLANTS_ONLY;
    check_int(ask(&q).reason, FL_DIP_NO_ANIMALS_THERE);
    q.use = FL_USE_INVERTEBRATE;
    check_int(ask(&q).reason, FL_DIP_NO_ANIMALS_THERE);
    q.use = FL_USE_AMPHIBIAN;
    q.form = FL_FORM_TISSUE_CULTURE;
    check_int(ask(&q).reason, FL_DIP_TISSUE_CULTURE);
    q.form = FL_FORM_SEED;
    check_int(ask(&q).reason, FL_DIP_SEED);
    q.form = FL_FORM_LEAF_LITTER;
    check_int(ask(&q).reason, FL_DIP_MATERIAL);
    q = from_shop;
    q.history = FL_HISTORY_PLANT_DISEASE;
    check_int(ask(&q).reason, FL_DIP_PLANT_DISEASE);
    check_true(ask(&q).is_better_refused);
}

static void test_animals(void **state)
{
    (void)state;
    static const fl_use uses[] = {FL_USE_AMPHIBIAN, FL_USE_REPTILE, FL_USE_STOCK};
    for (size_t i = 0; i < 3; i++) {
        fl_dip_question q = from_shop;
        q.use = uses[i];
        q.has_animals_with_plants = true;
        fl_dip_advice a = ask(&q);
        check_int(a.agent, FL_AGENT_BLEACH);
        check_int(a.reason, FL_DIP_ANIMALS);
        check_false(a.is_better_refused);
        check_close(a.product_pct_by_volume, 5.0, 0.0, 0.0);
        check_true(a.minutes_low < a.minutes_high);
        q.delicacy = FL_DELICACY_CAUTION;
        check_int(ask(&q).risk, FL_PLANT_RISK_HIGH);
        check_true(ask(&q).minutes_high < a.minutes_high);
        q.delicacy = FL_DELICACY_HIGH;
        check_int(ask(&q).reason, FL_DIP_TOO_DELICATE);
        check_true(ask(&q).is_better_refused);
    }
    fl_dip_question q = from_shop;
    q.source_kind = FL_SOURCE_OWN_ENCLOSURE;
    check_int(ask(&q).reason, FL_DIP_ANIMALS);
    q.source_kind = FL_SOURCE_TRADE;
    q.history = FL_HISTORY_ANIMALS;
    check_int(ask(&q).reason, FL_DIP_ANIMALS);
    q.form = FL_FORM_MOSS_CLUMP;
    check_int(ask(&q).reason, FL_DIP_TOO_DELICATE);
    q.form = FL_FORM_POTTED;
    q.history = FL_HISTORY_PATHOGEN;
    check_int(ask(&q).reason, FL_DIP_PATHOGEN);
    check_true(ask(&q).is_better_refused);
}

/* More delicate is never less risky; materials, moss and tissue culture are the hard cases. */
static void test_risk(void **state)
{
    (void)state;
    for (int agent = 0; agent < FL_AGENT_COUNT; agent++) {
        for (int form = 0; form < FL_FORM_COUNT; form++) {
            fl_plant_risk before = FL_PLANT_RISK_LOW;
            for (int d = 0; d <= FL_DELICACY_HIGH; d++) {
                const char *why = NULL;
                fl_plant_risk risk =
                    fl_dip_plant_risk((fl_agent)agent, (fl_form)form, (fl_delicacy)d, &why);
                check_true(risk >= before);
                check_true(why != NULL && strlen(why) > 10);
                before = risk;
            }
        }
    }
    check_int(fl_dip_plant_risk(FL_AGENT_BLEACH, FL_FORM_WOOD, FL_DELICACY_NONE, NULL),
              FL_PLANT_RISK_NEVER);
    check_int(fl_dip_plant_risk(FL_AGENT_BLEACH, FL_FORM_MOSS_CLUMP, FL_DELICACY_NONE, NULL),
              FL_PLANT_RISK_NEVER);
    check_int(fl_dip_plant_risk(FL_AGENT_SOAP, FL_FORM_TISSUE_CULTURE, FL_DELICACY_NONE, NULL),
              FL_PLANT_RISK_HIGH);
    check_int(
        fl_dip_plant_risk(FL_AGENT_PEROXIDE, FL_FORM_UNROOTED_CUTTING, FL_DELICACY_NONE, NULL),
        FL_PLANT_RISK_MODERATE);
    check_int(fl_dip_plant_risk(FL_AGENT_NONE, FL_FORM_POTTED, FL_DELICACY_NONE, NULL),
              FL_PLANT_RISK_LOW);
    check_int(fl_delicacy_of(FL_SV("none")), FL_DELICACY_NONE);
    check_int(fl_delicacy_of(FL_SV("high")), FL_DELICACY_HIGH);
    check_int(fl_delicacy_of(FL_SV("?")), FL_DELICACY_CAUTION);
}

/* U. Hawaii CTAHR (orchids and bromeliads are the sensitive ones); Hara 2010 (45 to 49 C for 5
 * to 15 minutes stood by potted plants). */
static void test_hot_water(void **state)
{
    (void)state;
    fl_err err;
    fl_err_clear(&err);
    fl_sv arum = FL_SV("Araceae");
    check_ok(fl_dip_hot_water_check(arum, FL_DELICACY_NONE, 45.0, 5.0, &err), &err);
    check_ok(fl_dip_hot_water_check(arum, FL_DELICACY_CAUTION, 49.0, 15.0, &err), &err);
    check_ok(fl_dip_hot_water_check(FL_SV(""), FL_DELICACY_NONE, 49.0, 12.0, &err), &err);
    check_int(fl_dip_hot_water_check(FL_SV("Bromeliaceae"), FL_DELICACY_NONE, 45.0, 5.0, &err),
              FL_EDOMAIN);
    check_int(fl_dip_hot_water_check(FL_SV("orchidaceae"), FL_DELICACY_NONE, 45.0, 5.0, &err),
              FL_EDOMAIN);
    check_contains(err.message, "orchidaceae");
    check_int(fl_dip_hot_water_check(arum, FL_DELICACY_HIGH, 45.0, 5.0, &err), FL_EDOMAIN);
    check_int(fl_dip_hot_water_check(arum, FL_DELICACY_NONE, 52.0, 5.0, &err), FL_EDOMAIN);
    check_int(fl_dip_hot_water_check(arum, FL_DELICACY_NONE, 30.0, 5.0, &err), FL_EDOMAIN);
    check_int(fl_dip_hot_water_check(arum, FL_DELICACY_NONE, 45.0, 20.0, &err), FL_EDOMAIN);
    check_int(fl_dip_hot_water_check(arum, FL_DELICACY_NONE, 45.0, (double)NAN, &err), FL_EDOMAIN);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_no_ritual),
    cmocka_unit_test(test_animals),
    cmocka_unit_test(test_risk),
    cmocka_unit_test(test_hot_water),
};
FL_TEST_MAIN(tests)
