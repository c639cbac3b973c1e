/* The evening's plan by form, use and history. Minutes and steps agree with common practice (no
 * source): wash soak 15 to 20, a soak of 10 to 15 before a dip, household bleach 5 parts in 100 for
 * about 5 minutes, about 10 after; tissue culture is not stripped; a moss is soaked and not rinsed;
 * and a plant that is not worth it is said to be so. */
#include <math.h>
#include <string.h>

#include "core/prep/prep.h"
#include "support/check.h"

static fl_prep_input plain(fl_form form, fl_use use)
{
    return (fl_prep_input){.form = form, .use = use, .source_kind = FL_SOURCE_CHAIN_STORE};
}

static fl_prep_plan plan_of(fl_prep_input input)
{
    fl_prep_plan plan;
    fl_prep_make(&input, &plan);
    return plan;
}

/* The first such step, from `from` on; -1. */
static int find_step(const fl_prep_plan *plan, fl_step step, fl_agent agent, int from)
{
    for (int i = from; i < plan->n_steps; i++) {
        if (plan->steps[i].step == step && plan->steps[i].agent == agent) {
            return i;
        }
    }
    return -1;
}

static bool has(const fl_prep_plan *plan, fl_step step)
{
    for (int i = 0; i < plan->n_steps; i++) {
        if (plan->steps[i].step == step) {
            return true;
        }
    }
    return false;
}

/* A potted plant from a shop: stripped, rinsed, soaked, drained, potted up. No dip. */
static void test_a_potted_plant(void **state)
{
    (void)state;
    fl_prep_plan plan = plan_of(plain(FL_FORM_POTTED, FL_USE_PLANTS_ONLY));
    static const fl_step order[] = {FL_STEP_STRIP, FL_STEP_RINSE, FL_STEP_SOAK, FL_STEP_DRAIN,
                                    FL_STEP_POT_UP};
    check_int(plan.verdict, FL_PREP_GO);
    check_int(plan.n_steps, 5);
    for (int i = 0; i < 5; i++) {
        check_int(plan.steps[i].step, order[i]);
        check_int(plan.steps[i].times, 1);
        check_true(plan.steps[i].minutes_low <= plan.steps[i].minutes_high);
    }
    int soak = find_step(&plan, FL_STEP_SOAK, FL_AGENT_NONE, 0);
    check_close(plan.steps[soak].minutes_low, 15.0, 0.0, 0.0);  /* common practice, no source */
    check_close(plan.steps[soak].minutes_high, 20.0, 0.0, 0.0); /* common practice, no source */
    check_int(fl_prep_called_for(&plan),
              1U << FL_STEP_STRIP | 1U << FL_STEP_RINSE | 1U << FL_STEP_SOAK);
    check_int(plan.dip.agent, FL_AGENT_NONE);
}

/* Bought where animals are kept, for frogs: soak, bleach 5 in 100, neutralise, soak. */
static void test_a_dip_and_its_minutes(void **state)
{
    (void)state;
    fl_prep_input input = plain(FL_FORM_POTTED, FL_USE_AMPHIBIAN);
    input.source_keeps_animals = true;
    input.history = FL_HISTORY_ANIMALS;
    fl_prep_plan plan = plan_of(input);
    int dip = find_step(&plan, FL_STEP_DIP, FL_AGENT_BLEACH, 0);
    check_true(dip > 0);
    const fl_prep_step *before = &plan.steps[dip - 1];
    check_int(before->step, FL_STEP_SOAK);
    check_close(before->minutes_low, 10.0, 0.0, 0.0);  /* common practice, no source */
    check_close(before->minutes_high, 15.0, 0.0, 0.0); /* common practice, no source */
    /* About five minutes (common practice, no source). */
    check_true(plan.steps[dip].minutes_low <= 5.0 && plan.steps[dip].minutes_high >= 5.0);
    check_close(plan.dip.product_pct_by_volume, 5.0, 0.0, 0.0); /* common practice, no source */
    int neutralise = find_step(&plan, FL_STEP_NEUTRALISE, FL_AGENT_THIOSULFATE, dip);
    check_int(neutralise, dip + 1);
    int after = find_step(&plan, FL_STEP_SOAK, FL_AGENT_NONE, dip);
    check_int(after, dip + 2);
    /* About ten minutes (common practice, no source). */
    check_true(plan.steps[after].minutes_low <= 10.0 && plan.steps[after].minutes_high >= 10.0);
    check_true(plan.steps[dip].is_called_for);
    check_true((fl_prep_called_for(&plan) & 1U << FL_STEP_DIP) != 0);
}

/* A dip follows from where it has been and where it goes, never from habit. */
static void test_no_dip_without_a_reason(void **state)
{
    (void)state;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        for (int form = 0; form < FL_FORM_COUNT; form++) {
            fl_prep_plan plan = plan_of(plain((fl_form)form, (fl_use)use));
            check_false(has(&plan, FL_STEP_DIP));
            check_false(has(&plan, FL_STEP_NEUTRALISE));
        }
    }
    /* With a history, but for plants only: no animals there to make ill. */
    fl_prep_input input = plain(FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    input.source_keeps_animals = true;
    input.history = FL_HISTORY_ANIMALS;
    fl_prep_plan plan = plan_of(input);
    check_false(has(&plan, FL_STEP_DIP));
    /* For stock it is done, and asked for by the gate only where frogs are next. */
    input.use = FL_USE_STOCK;
    plan = plan_of(input);
    check_true(has(&plan, FL_STEP_DIP));
    check_int(fl_prep_called_for(&plan) & 1U << FL_STEP_DIP, 0);
}

/* Raised sterile: the jelly comes off, nothing is stripped, soaked or dipped. */
static void test_tissue_culture_is_not_stripped(void **state)
{
    (void)state;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        fl_prep_input input = plain(FL_FORM_TISSUE_CULTURE, (fl_use)use);
        input.source_kind = FL_SOURCE_TISSUE_CULTURE_LAB;
        input.source_keeps_animals = true;
        input.history = FL_HISTORY_ANIMALS;
        fl_prep_plan plan = plan_of(input);
        check_int(plan.verdict, FL_PREP_GO);
        check_false(has(&plan, FL_STEP_STRIP));
        check_false(has(&plan, FL_STEP_SOAK));
        check_false(has(&plan, FL_STEP_DIP));
        check_int(plan.steps[0].step, FL_STEP_RINSE);
        check_int(plan.steps[0].reason, FL_PREP_GEL_OFF);
        check_true(has(&plan, FL_STEP_POT_UP));
        check_int(fl_prep_called_for(&plan), 1U << FL_STEP_RINSE);
    }
}

/* Mosses, and what the tables or the keeper call delicate: still soaks, fresh water each time. */
static void test_still_soaks(void **state)
{
    (void)state;
    fl_prep_plan moss = plan_of(plain(FL_FORM_MOSS_CLUMP, FL_USE_PLANTS_ONLY));
    check_int(moss.steps[0].step, FL_STEP_SOAK);
    check_true(moss.steps[0].times > 1);
    check_int(moss.steps[0].reason, FL_PREP_STILL_SOAKS);
    check_false(has(&moss, FL_STEP_RINSE));
    check_false(has(&moss, FL_STEP_STRIP));
    check_false(has(&moss, FL_STEP_POT_UP));
    fl_prep_input input = plain(FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    input.is_delicate = true;
    fl_prep_plan delicate = plan_of(input);
    check_true(has(&delicate, FL_STEP_STRIP));
    check_false(has(&delicate, FL_STEP_RINSE));
    const fl_know_plant *spikemoss = NULL;
    for (size_t i = 0; i < fl_know_plant_count() && spikemoss == NULL; i++) {
        const fl_know_plant *row = fl_know_plant_at(i);
        spikemoss = row->is_ruined_by_rinse ? row : NULL;
    }
    check_true(spikemoss != NULL);
    input = plain(FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    input.row = spikemoss;
    fl_prep_plan by_table = plan_of(input);
    check_false(has(&by_table, FL_STEP_RINSE));
    /* A moss that has been with animals is not dipped: it would hold the bleach. */
    input = plain(FL_FORM_MOSS_CLUMP, FL_USE_AMPHIBIAN);
    input.source_keeps_animals = true;
    fl_prep_plan refused = plan_of(input);
    check_int(refused.verdict, FL_PREP_NOT_FOR_THERE);
    check_true(strlen(refused.verdict_why) > 0);
    check_false(has(&refused, FL_STEP_DIP));
}

/* The other forms: nothing to strip from bare roots and mounts; a cutting is not soaked; seed and
 * cultures are only looked at. */
static void test_other_forms(void **state)
{
    (void)state;
    fl_prep_plan bare = plan_of(plain(FL_FORM_BARE_ROOT, FL_USE_STOCK));
    check_false(has(&bare, FL_STEP_STRIP));
    check_true(has(&bare, FL_STEP_SOAK) && has(&bare, FL_STEP_POT_UP));
    fl_prep_plan mounted = plan_of(plain(FL_FORM_MOUNTED, FL_USE_STOCK));
    check_false(has(&mounted, FL_STEP_STRIP) || has(&mounted, FL_STEP_POT_UP));
    fl_prep_plan plug = plan_of(plain(FL_FORM_PLUG, FL_USE_STOCK));
    check_true(has(&plug, FL_STEP_STRIP));
    fl_prep_plan cutting = plan_of(plain(FL_FORM_UNROOTED_CUTTING, FL_USE_STOCK));
    check_true(has(&cutting, FL_STEP_RINSE));
    check_false(has(&cutting, FL_STEP_SOAK) || has(&cutting, FL_STEP_STRIP));
    fl_prep_plan seed = plan_of(plain(FL_FORM_SEED, FL_USE_STOCK));
    check_int(seed.n_steps, 0);
    check_int(seed.nothing, FL_PREP_NOTHING);
    check_int(fl_prep_called_for(&seed), 0);
    fl_prep_plan culture = plan_of(plain(FL_FORM_CULTURE, FL_USE_INVERTEBRATE));
    check_int(culture.n_steps, 0);
}

/* Materials: heat where they can take it; asked for where they lay open or came from outdoors. */
static void test_materials(void **state)
{
    (void)state;
    fl_prep_plan bag = plan_of(plain(FL_FORM_MIX_BAGGED, FL_USE_STOCK));
    check_true(has(&bag, FL_STEP_BAKE));
    check_int(fl_prep_called_for(&bag), 0);
    fl_prep_plan open = plan_of(plain(FL_FORM_MIX_OPEN, FL_USE_STOCK));
    check_int(fl_prep_called_for(&open), 1U << FL_STEP_BAKE);
    fl_prep_plan litter = plan_of(plain(FL_FORM_LEAF_LITTER, FL_USE_AMPHIBIAN));
    check_int(fl_prep_called_for(&litter), 1U << FL_STEP_BOIL);
    fl_prep_plan wood = plan_of(plain(FL_FORM_WOOD, FL_USE_AMPHIBIAN));
    check_int(fl_prep_called_for(&wood), 1U << FL_STEP_BOIL);
}

/* "Not for where it is going", "keep only a clean tip": said with a reason. */
static void test_not_worth_it(void **state)
{
    (void)state;
    fl_prep_input systemic = plain(FL_FORM_POTTED, FL_USE_AMPHIBIAN);
    systemic.is_label_systemic = true;
    fl_prep_plan plan = plan_of(systemic);
    check_int(plan.verdict, FL_PREP_NOT_FOR_THERE);
    check_contains(plan.verdict_why, "systemic");
    systemic.use = FL_USE_PLANTS_ONLY;
    plan = plan_of(systemic);
    check_int(plan.verdict, FL_PREP_GO);
    check_str(plan.verdict_why, "");
    fl_prep_input ill = plain(FL_FORM_POTTED, FL_USE_AMPHIBIAN);
    ill.history = FL_HISTORY_PATHOGEN; /* an animal was ill there: refuse it */
    plan = plan_of(ill);
    check_int(plan.verdict, FL_PREP_NOT_FOR_THERE);
    check_true(strlen(plan.verdict_why) > 0);
    fl_prep_input wild = plain(FL_FORM_POTTED, FL_USE_PLANTS_ONLY);
    wild.source_kind = FL_SOURCE_OUTDOORS;
    wild.is_delicate = true;
    plan = plan_of(wild);
    check_int(plan.verdict, FL_PREP_CLEAN_TIP);
    check_true(strlen(plan.verdict_why) > 0);
}

static size_t hands_of(fl_form form, const char *plant, const char **out)
{
    const fl_know_plant *row = NULL;
    for (size_t i = 0; plant != NULL && i < fl_know_plant_count(); i++) {
        const fl_know_plant *one = fl_know_plant_at(i);
        row = strcmp(one->botanical_name, plant) == 0 ? one : row;
    }
    check_true(plant == NULL || row != NULL);
    return fl_prep_hand_cautions(form, row, out);
}

/* Issue "At the sink", line 3: sap, raphides, latex, slug and snail gloves. */
static void test_hands(void **state)
{
    (void)state;
    const char *hands[FL_PREP_HANDS_MAX];
    check_int(hands_of(FL_FORM_POTTED, NULL, hands), 1);
    check_contains(hands[0], "slugs and snails");
    check_int(hands_of(FL_FORM_LEAF_LITTER, NULL, hands), 1);
    check_int(hands_of(FL_FORM_TISSUE_CULTURE, NULL, hands), 0); /* raised sterile */
    check_int(hands_of(FL_FORM_UNROOTED_CUTTING, NULL, hands), 0);
    check_int(hands_of(FL_FORM_POTTED, "Pilea cadierei", hands), 1); /* not toxic */
    check_int(hands_of(FL_FORM_POTTED, "Philodendron hederaceum (scandens)", hands), 2);
    check_contains(hands[1], "raphides");
    check_int(hands_of(FL_FORM_UNROOTED_CUTTING, "Philodendron hederaceum (scandens)", hands), 1);
    check_contains(hands[0], "raphides"); /* a cut bleeds sap whatever the form */
    check_int(hands_of(FL_FORM_POTTED, "Ficus pumila", hands), 2);
    check_contains(hands[1], "latex");
}

/* Total: every form, use, source, history and flag gives a plan that fits, in an order that works:
 * nothing after potting up, and what is called for is in it. */
static void test_every_case(void **state)
{
    (void)state;
    for (int bits = 0; bits < 8; bits++) {
        for (int form = 0; form < FL_FORM_COUNT; form++) {
            for (int use = 0; use < FL_USE_COUNT; use++) {
                for (int kind = 0; kind < FL_SOURCE_COUNT; kind++) {
                    for (int past = 0; past <= FL_HISTORY_PLANT_DISEASE; past++) {
                        fl_prep_input in = plain((fl_form)form, (fl_use)use);
                        in.source_kind = (fl_source_kind)kind;
                        in.history = (fl_pathogen_history)past;
                        in.source_keeps_animals = (bits & 1) != 0;
                        in.is_delicate = (bits & 2) != 0;
                        in.is_label_systemic = (bits & 4) != 0;
                        fl_prep_plan p = plan_of(in);
                        check_true(p.n_steps >= 0 && p.n_steps <= FL_PREP_STEPS_MAX);
                        check_true((p.verdict == FL_PREP_GO) == (p.verdict_why[0] == '\0'));
                        int pot = find_step(&p, FL_STEP_POT_UP, FL_AGENT_NONE, 0);
                        check_true(pot == -1 || pot == p.n_steps - 1);
                        for (int i = 0; i < p.n_steps; i++) {
                            check_true(p.steps[i].times >= 1 && p.steps[i].minutes_low > 0.0);
                        }
                    }
                }
            }
        }
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_a_potted_plant),
                                          cmocka_unit_test(test_a_dip_and_its_minutes),
                                          cmocka_unit_test(test_no_dip_without_a_reason),
                                          cmocka_unit_test(test_tissue_culture_is_not_stripped),
                                          cmocka_unit_test(test_still_soaks),
                                          cmocka_unit_test(test_other_forms),
                                          cmocka_unit_test(test_materials),
                                          cmocka_unit_test(test_not_worth_it),
                                          cmocka_unit_test(test_hands),
                                          cmocka_unit_test(test_every_case)};
FL_TEST_MAIN(tests)
