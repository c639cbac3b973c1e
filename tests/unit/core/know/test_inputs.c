/* The assumed inputs as docs/decisions/0002-assumed-inputs.md froze them, read through know.h
 * functions. No outside checks: they pin that what was written down is what is computed with. */
#include <math.h>
#include <string.h>

#include "core/know/know.h"
#include "support/check.h"

#define SAME 1e-12 /* products of two or three decimals */

static const fl_threat *named(const char *code)
{
    const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(code));
    check_true(threat != NULL);
    return threat;
}

static int stage_of(const fl_threat *threat, const char *name)
{
    for (int i = 0; i < threat->n_stages; i++) {
        if (strcmp(threat->stage[i].name, name) == 0) {
            return i;
        }
    }
    fail_msg("%s has no stage %s", threat->code, name);
    return 0;
}

static double prior(const char *code, fl_source_kind kind, fl_form form)
{
    return fl_know_prior_of(named(code), kind, form).prob;
}

static void test_priors_of_the_chain_store(void **state)
{
    (void)state;
    static const struct {
        const char *code;
        double prior;
    } rows[] = {{"fungus_gnat", 0.30},
                {"twospotted_spider_mite", 0.08},
                {"western_flower_thrips", 0.08},
                {"citrus_mealybug", 0.06},
                {"shore_fly", 0.06},
                {"small_snail", 0.06},
                {"aphid", 0.05},
                {"slug", 0.05},
                {"greenhouse_whitefly", 0.04},
                {"brown_soft_scale", 0.03},
                {"armoured_scale", 0.02},
                {"root_mealybug", 0.02},
                {"broad_mite", 0.02},
                {"ants", 0.02}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_close(prior(rows[i].code, FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED), rows[i].prior, SAME,
                    0.0);
    }
    /* Combined rows, split evenly. */
    check_close(named("root_knot_nematode")->prior + named("foliar_nematode")->prior, 0.02, SAME,
                0);
    check_close(named("predatory_planarian")->prior + named("nemertean")->prior, 0.01, SAME, 0.0);
}

static void test_priors_by_kind(void **state)
{
    (void)state;
    static const double factor[FL_SOURCE_COUNT] = {[FL_SOURCE_CHAIN_STORE] = 1.0,
                                                   [FL_SOURCE_NURSERY] = 0.7,
                                                   [FL_SOURCE_MARKET_STALL] = 0.8,
                                                   [FL_SOURCE_MAIL_ORDER] = 0.7,
                                                   [FL_SOURCE_TISSUE_CULTURE_LAB] = 0.03,
                                                   [FL_SOURCE_TRADE] = 0.5,
                                                   [FL_SOURCE_OWN_STOCK] = 0.1,
                                                   [FL_SOURCE_OWN_ENCLOSURE] = 1.0,
                                                   [FL_SOURCE_OUTDOORS] = 1.5};
    for (int kind = 0; kind < FL_SOURCE_COUNT; kind++) {
        check_close(prior("fungus_gnat", (fl_source_kind)kind, FL_FORM_POTTED), 0.30 * factor[kind],
                    SAME, 0.0);
    }
    check_close(prior("slug", FL_SOURCE_OUTDOORS, FL_FORM_POTTED), 0.20, SAME, 0.0);
    check_close(prior("small_snail", FL_SOURCE_OUTDOORS, FL_FORM_POTTED), 0.24, SAME, 0.0);
    check_close(prior("ants", FL_SOURCE_OUTDOORS, FL_FORM_POTTED), 0.08, SAME, 0.0);
}

static void test_priors_by_form(void **state)
{
    (void)state;
    const fl_source_kind shop = FL_SOURCE_CHAIN_STORE;
    check_close(prior("aphid", shop, FL_FORM_PLUG), 0.04, SAME, 0.0);
    check_close(prior("root_mealybug", shop, FL_FORM_BARE_ROOT), 0.008, SAME, 0.0);
    check_close(prior("aphid", shop, FL_FORM_BARE_ROOT), 0.05, SAME, 0.0);
    check_close(prior("fungus_gnat", shop, FL_FORM_UNROOTED_CUTTING), 0.03, SAME, 0.0);
    check_close(prior("aphid", shop, FL_FORM_UNROOTED_CUTTING), 0.035, SAME, 0.0);
    check_close(prior("aphid", shop, FL_FORM_MOUNTED), 0.03, SAME, 0.0);
    check_close(prior("fungus_gnat", shop, FL_FORM_MOSS_CLUMP), 0.45, SAME, 0.0);
    check_close(prior("slug", shop, FL_FORM_MOSS_CLUMP), 0.075, SAME, 0.0);
    check_close(prior("small_snail", shop, FL_FORM_MOSS_CLUMP), 0.09, SAME, 0.0);
    check_close(prior("aphid", shop, FL_FORM_MOSS_CLUMP), 0.05, SAME, 0.0);
    check_close(prior("aphid", shop, FL_FORM_SEED), 0.001, SAME, 0.0);
    /* Given outright: the kind of source has no say. */
    check_close(prior("fungus_gnat", FL_SOURCE_NURSERY, FL_FORM_MIX_BAGGED), 0.05, SAME, 0.0);
    check_close(prior("fungus_gnat", FL_SOURCE_OUTDOORS, FL_FORM_MIX_OPEN), 0.3, SAME, 0.0);
    check_close(prior("slug", FL_SOURCE_OUTDOORS, FL_FORM_LEAF_LITTER), 0.5, SAME, 0.0);
    check_close(prior("ants", FL_SOURCE_OUTDOORS, FL_FORM_LEAF_LITTER), 0.5, SAME, 0.0);
    check_close(prior("aphid", FL_SOURCE_OUTDOORS, FL_FORM_LEAF_LITTER), 0.0, 0.0, 0.0);
}

static void test_tissue_culture_is_near_zero_and_not_counted_twice(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *t = fl_know_threat(i);
        double lab = fl_know_prior_of(t, FL_SOURCE_TISSUE_CULTURE_LAB, FL_FORM_TISSUE_CULTURE).prob;
        double shop = fl_know_prior_of(t, FL_SOURCE_CHAIN_STORE, FL_FORM_TISSUE_CULTURE).prob;
        check_close(lab, 0.03 * t->prior, SAME, 0.0);
        check_close(shop, lab, SAME, 0.0);
        check_true(lab < 0.01);
    }
}

/* base x kind x form is what the answer shows beside the product. */
static void test_priors_explain_themselves(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        for (int kind = 0; kind < FL_SOURCE_COUNT; kind++) {
            for (int form = 0; form < FL_FORM_COUNT; form++) {
                fl_know_prior p =
                    fl_know_prior_of(fl_know_threat(i), (fl_source_kind)kind, (fl_form)form);
                check_true(p.prob >= 0.0 && p.prob <= 1.0);
                check_close(p.prob, p.base * p.kind_factor * p.form_factor, 1e-9, 1e-15);
                check_int(p.grade, FL_GRADE_ASSUMED);
            }
        }
    }
}

static void test_weights(void **state)
{
    (void)state;
    static const struct {
        const char *code;
        double weight[FL_USE_COUNT]; /* plants only, reptile, invertebrate, amphibian, stock */
    } rows[] = {{"fungus_gnat", {0.6, 0.4, 0.5, 0.3, 1}},
                {"shore_fly", {0.4, 0.3, 0.4, 0.2, 0.8}},
                {"twospotted_spider_mite", {1, 0.5, 0.5, 0.4, 1}},
                {"broad_mite", {0.8, 0.4, 0.4, 0.3, 1}},
                {"western_flower_thrips", {1, 0.5, 0.5, 0.4, 1}},
                {"citrus_mealybug", {1, 0.5, 0.6, 0.5, 1}},
                {"brown_soft_scale", {0.8, 0.4, 0.5, 0.4, 1}},
                {"armoured_scale", {0.8, 0.4, 0.5, 0.4, 1}},
                {"aphid", {0.7, 0.3, 0.4, 0.3, 1}},
                {"greenhouse_whitefly", {0.8, 0.4, 0.5, 0.4, 1}},
                {"slug", {1, 0.6, 0.8, 0.5, 1}},
                {"small_snail", {0.7, 0.4, 0.6, 0.4, 1}},
                {"root_mealybug", {0.8, 0.4, 0.5, 0.4, 1}},
                {"ants", {0.7, 0.8, 1, 1, 1}},
                {"nemertean", {0.3, 0.4, 1, 0.8, 1}},
                {"predatory_planarian", {0.3, 0.4, 1, 0.8, 1}}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int use = 0; use < FL_USE_COUNT; use++) {
            check_close(named(rows[i].code)->weight[use], rows[i].weight[use], 0.0, 0.0);
        }
    }
}

static void test_start_shares(void **state)
{
    (void)state;
    static const struct {
        const char *code;
        double share[4];
    } rows[] = {{"fungus_gnat", {0.40, 0.45, 0.15, 0}},
                {"shore_fly", {0.40, 0.45, 0.15, 0}},
                {"twospotted_spider_mite", {0.5, 0.4, 0.1}},
                {"broad_mite", {0.5, 0.4, 0.1}},
                {"western_flower_thrips", {0.4, 0.4, 0.1, 0.1}},
                {"citrus_mealybug", {0.3, 0.3, 0.2, 0.2}},
                {"brown_soft_scale", {0.4, 0.4, 0.2}},
                {"armoured_scale", {0.4, 0.4, 0.2}},
                {"aphid", {0.7, 0.3}},
                {"greenhouse_whitefly", {0.4, 0.5, 0.1}},
                {"slug", {0.6, 0.3, 0.1}},
                {"small_snail", {0.6, 0.3, 0.1}},
                {"root_mealybug", {0.4, 0.4, 0.2}}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const fl_threat *threat = named(rows[i].code);
        for (int s = 0; s < threat->n_stages && s < 4; s++) {
            check_close(threat->stage[s].start_share, rows[i].share[s], 0.0, 0.0);
        }
    }
}

static void test_stage_shares_of_a_whole(void **state)
{
    (void)state;
    static const struct {
        const char *code;
        double share[3];
    } rows[] = {{"fungus_gnat", {0.18, 0.59, 0.23}},
                {"western_flower_thrips", {0.30, 0.37, 0.33}},
                {"greenhouse_whitefly", {0.32, 0.68}},
                {"citrus_mealybug", {0.20, 0.24, 0.56}}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const fl_stage_model *slow = &named(rows[i].code)->slow;
        double whole = 0.0;
        for (int s = 0; s + 1 < slow->n_stages; s++) {
            whole += slow->stage[s].degree_days;
        }
        for (int s = 0; s + 1 < slow->n_stages; s++) { /* the whitefly's own figures: 32.35 % */
            check_close(slow->stage[s].degree_days / whole, rows[i].share[s], 0.0, 0.004);
        }
    }
}

static double detect(const char *code, const char *stage, fl_effort effort)
{
    const fl_threat *threat = named(code);
    return fl_know_detect(threat, stage_of(threat, stage), effort, 0, false);
}

static void test_visibility(void **state)
{
    (void)state;
    static const struct {
        const char *code, *stage;
        double chance[FL_EFFORT_COUNT];
    } rows[] = {{"fungus_gnat", "adult", {0.25, 0.60, 0.75}},
                {"aphid", "nymph", {0.25, 0.60, 0.75}},
                {"citrus_mealybug", "adult", {0.25, 0.60, 0.75}},
                {"slug", "adult", {0.25, 0.60, 0.75}},
                {"twospotted_spider_mite", "adult", {0.02, 0.25, 0.35}},
                {"western_flower_thrips", "larva", {0.02, 0.25, 0.35}},
                {"brown_soft_scale", "nymph", {0.02, 0.25, 0.35}},
                {"root_mealybug", "adult", {0, 0.05, 0.50}},
                {"fungus_gnat", "larva", {0, 0.05, 0.50}},
                {"western_flower_thrips", "egg", {0, 0, 0}},
                {"western_flower_thrips", "pupa", {0, 0, 0}},
                {"broad_mite", "adult", {0, 0, 0}}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int effort = 0; effort < FL_EFFORT_COUNT; effort++) {
            check_close(detect(rows[i].code, rows[i].stage, (fl_effort)effort),
                        rows[i].chance[effort], 0.0, 0.0);
        }
    }
}

static void test_after_dark_is_for_slugs_and_snails(void **state)
{
    (void)state;
    const fl_threat *slug = named("slug"), *gnat = named("fungus_gnat");
    const fl_threat *snail = named("small_snail");
    int adult = stage_of(gnat, "adult");
    check_close(fl_know_detect(slug, 2, FL_EFFORT_GLANCE, 0, true), 0.8, 0.0, 0.0);
    check_close(fl_know_detect(slug, 2, FL_EFFORT_ROOTS, 0, true), 0.8, 0.0, 0.0);
    check_close(fl_know_detect(snail, 2, FL_EFFORT_CAREFUL, 0, true), 0.8, 0.0, 0.0);
    check_close(fl_know_detect(slug, 0, FL_EFFORT_CAREFUL, 0, true), 0.05, 0.0, 0.0);
    check_close(fl_know_detect(gnat, adult, FL_EFFORT_CAREFUL, 0, true), 0.60, 0.0, 0.0);
}

static void test_devices(void **state)
{
    (void)state;
    const unsigned card = 1u << FL_DEVICE_YELLOW_CARD, blue = 1u << FL_DEVICE_BLUE_CARD;
    const unsigned potato = 1u << FL_DEVICE_POTATO, bait = 1u << FL_DEVICE_BAIT;
    const fl_threat *gnat = named("fungus_gnat"), *mite = named("twospotted_spider_mite");
    const fl_threat *thrips = named("western_flower_thrips"), *slug = named("slug");
    int fly = stage_of(gnat, "adult"), larva = stage_of(gnat, "larva");
    check_close(fl_know_detect(gnat, fly, FL_EFFORT_GLANCE, card, false), 0.65, SAME, 0.0);
    check_close(fl_know_detect(gnat, fly, FL_EFFORT_CAREFUL, card, false), 0.95, SAME,
                0.0); /* cap */
    check_close(fl_know_detect(gnat, larva, FL_EFFORT_GLANCE, card, false), 0.0, 0.0, 0.0);
    check_close(fl_know_detect(gnat, larva, FL_EFFORT_GLANCE, potato, false), 0.3, SAME, 0.0);
    check_close(fl_know_detect(thrips, 3, FL_EFFORT_GLANCE, blue, false), 0.65, SAME, 0.0);
    check_close(fl_know_detect(thrips, 3, FL_EFFORT_GLANCE, blue | card, false), 0.95, SAME, 0.0);
    check_close(fl_know_detect(slug, 2, FL_EFFORT_GLANCE, bait, false), 0.55, SAME, 0.0);
    /* No device catches mites. */
    for (int s = 0; s < mite->n_stages; s++) {
        check_close(fl_know_detect(mite, s, FL_EFFORT_CAREFUL, card | blue | potato | bait, false),
                    fl_know_detect(mite, s, FL_EFFORT_CAREFUL, 0, false), 0.0, 0.0);
    }
}

/* More effort never sees less, and nothing is ever certain. */
static void test_effort_is_monotone_and_capped(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *t = fl_know_threat(i);
        for (int s = 0; s < t->n_stages; s++) {
            for (unsigned devices = 0; devices < 1u << FL_DEVICE_COUNT; devices++) {
                double glance = fl_know_detect(t, s, FL_EFFORT_GLANCE, devices, false);
                double careful = fl_know_detect(t, s, FL_EFFORT_CAREFUL, devices, false);
                double roots = fl_know_detect(t, s, FL_EFFORT_ROOTS, devices, true);
                check_true(glance >= 0.0 && glance <= careful && careful <= roots);
                check_true(roots <= fl_know_detectability().cap);
            }
        }
    }
}

static void test_detectability_mixture(void **state)
{
    (void)state;
    static const double multiplier[] = {0.25, 0.6, 1, 1.4, 1.8};
    static const double low[] = {0.3, 0.4, 0.2, 0.1, 0}, middle[] = {0.1, 0.2, 0.4, 0.2, 0.1};
    static const double high[] = {0, 0.1, 0.3, 0.3, 0.3};
    fl_know_mixture m = fl_know_detectability();
    double sums[3] = {0, 0, 0};
    for (int i = 0; i < FL_MULTIPLIERS; i++) {
        check_close(m.multiplier[i], multiplier[i], 0.0, 0.0);
        check_close(m.weight_low[i], low[i], 0.0, 0.0);
        check_close(m.weight_middle[i], middle[i], 0.0, 0.0);
        check_close(m.weight_high[i], high[i], 0.0, 0.0);
        sums[0] += m.weight_low[i];
        sums[1] += m.weight_middle[i];
        sums[2] += m.weight_high[i];
    }
    for (int i = 0; i < 3; i++) {
        check_close(sums[i], 1.0, SAME, 0.0);
    }
    check_close(m.cap, 0.95, 0.0, 0.0);
}

static double survival(const char *code, const char *stage, fl_step step, fl_agent agent)
{
    const fl_threat *threat = named(code);
    return fl_know_survival_of(threat, stage_of(threat, stage), step, agent).survival;
}

/* Chemistry: no kill figure for bleach or permanganate on any animal pest was found. */
static void test_bleach_and_permanganate_earn_nothing(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *t = fl_know_threat(i);
        for (int s = 0; s < t->n_stages; s++) {
            for (int step = FL_STEP_SOAK; step <= FL_STEP_DIP; step++) {
                check_close(fl_know_survival_of(t, s, (fl_step)step, FL_AGENT_BLEACH).survival, 1.0,
                            0.0, 0.0);
                check_close(
                    fl_know_survival_of(t, s, (fl_step)step, FL_AGENT_PERMANGANATE).survival, 1.0,
                    0.0, 0.0);
            }
        }
    }
}

static void test_steps_leave_alive(void **state)
{
    (void)state;
    const fl_agent water = FL_AGENT_NONE, soap = FL_AGENT_SOAP, hot = FL_AGENT_HOT_WATER;
    check_close(survival("fungus_gnat", "larva", FL_STEP_STRIP, water), 0.6, 0.0, 0.0);
    check_close(survival("fungus_gnat", "adult", FL_STEP_STRIP, water), 1.0, 0.0, 0.0);
    check_close(survival("western_flower_thrips", "egg", FL_STEP_RINSE, water), 1.0, 0.0, 0.0);
    check_close(survival("western_flower_thrips", "pupa", FL_STEP_STRIP, water), 0.6, 0.0, 0.0);
    check_close(survival("brown_soft_scale", "adult", FL_STEP_RINSE, water), 1.0, 0.0, 0.0);
    check_close(survival("brown_soft_scale", "adult", FL_STEP_DIP, soap), 0.6, 0.0, 0.0);
    check_close(survival("citrus_mealybug", "egg", FL_STEP_DIP, soap), 1.0, 0.0, 0.0);
    check_close(survival("citrus_mealybug", "egg", FL_STEP_DIP, hot), 0.05, 0.0, 0.0);
    check_close(survival("greenhouse_whitefly", "nymph", FL_STEP_DIP, hot), 1.0, 0.0, 0.0);
    check_close(survival("slug", "egg", FL_STEP_SOAK, water), 1.0, 0.0, 0.0);
    check_close(survival("aphid", "nymph", FL_STEP_RINSE, water), 0.6, 0.0, 0.0);
    check_close(survival("aphid", "nymph", FL_STEP_POT_UP, water), 1.0, 0.0, 0.0);
    /* A soak in soap is a dip in soap; a dip in water is a soak; a rinse has no agent. */
    check_close(survival("aphid", "nymph", FL_STEP_SOAK, soap), 0.6, 0.0, 0.0);
    check_close(survival("slug", "egg", FL_STEP_DIP, water), 1.0, 0.0, 0.0);
    check_close(survival("aphid", "nymph", FL_STEP_RINSE, soap), 0.6, 0.0, 0.0);
    for (int step = FL_STEP_BAKE; step <= FL_STEP_DRY; step++) {
        check_close(survival("fungus_gnat", "egg", (fl_step)step, water), 0.05, 0.0, 0.0);
    }
    check_close(fl_know_step_floor(), 0.1, 0.0, 0.0);
}

static void test_survival_says_where_it_comes_from(void **state)
{
    (void)state;
    const fl_threat *whitefly = named("greenhouse_whitefly");
    fl_know_survival known = fl_know_survival_of(whitefly, 0, FL_STEP_DIP, FL_AGENT_HOT_WATER);
    fl_know_survival unknown = fl_know_survival_of(whitefly, 0, FL_STEP_DIP, FL_AGENT_PEROXIDE);
    check_int(known.grade, FL_GRADE_MEASURED);
    check_str(known.source, "iobc_poinsettia");
    check_close(unknown.survival, 1.0, 0.0, 0.0);
    check_true(fl_know_source_find(fl_sv_from_cstr(unknown.source)) != NULL);
}

/* Hot water only at a published point: Lester 1997 (mite), Hellqvist 2002 (tarsonemid), Gould &
 * McGuire 2000 and Middleton & Diepenbrock 2022 (mealybugs), Hara 2010 (coqui). */
static void test_hot_water_counts_only_where_published(void **state)
{
    (void)state;
    check_true(fl_know_hot_water_counts(named("citrus_mealybug"), 49.0, 10.0));
    check_false(fl_know_hot_water_counts(named("citrus_mealybug"), 48.9, 30.0));
    check_false(fl_know_hot_water_counts(named("citrus_mealybug"), 49.0, 9.0));
    check_true(fl_know_hot_water_counts(named("citrus_mealybug"), 55.0, 5.0));
    check_true(fl_know_hot_water_counts(named("broad_mite"), 44.0, 6.0));
    check_true(fl_know_hot_water_counts(named("twospotted_spider_mite"), 54.0, 3.6));
    check_false(fl_know_hot_water_counts(named("twospotted_spider_mite"), 44.0, 60.0));
    check_true(fl_know_hot_water_counts(named("stowaway_frog"), 45.0, 5.0));
    check_false(fl_know_hot_water_counts(named("greenhouse_whitefly"), 60.0, 600.0));
    check_false(fl_know_hot_water_counts(named("citrus_mealybug"), (double)NAN, 20.0));
    check_false(fl_know_hot_water_counts(named("citrus_mealybug"), 50.0, (double)NAN));
}

static void test_links(void **state)
{
    (void)state;
    const fl_threat *root = named("root_mealybug"), *thrips = named("western_flower_thrips");
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *t = fl_know_threat(i);
        double unsure = fl_know_link_factor(t, FL_LINK_UNSURE_TOOL);
        check_close(fl_know_link_factor(t, FL_LINK_MOVE), 1.0, 0.0, 0.0);
        check_close(fl_know_link_factor(t, FL_LINK_DIVISION), 1.0, 0.0, 0.0);
        check_close(unsure, fl_know_link_factor(t, FL_LINK_SHARED_TOOL) / 2.0, SAME, 0.0);
        check_true(fl_know_link_factor(t, FL_LINK_LEFTOVER) <= 0.05); /* cleaning works */
        for (int s = 0; s < t->n_stages; s++) {
            check_close(fl_know_link_stage_factor(t, s, FL_LINK_CUTTING),
                        t->stage[s].rides_a_cutting ? 1.0 : 0.0, 0.0, 0.0);
            check_close(fl_know_link_stage_factor(t, s, FL_LINK_SHARED_TUB),
                        fl_know_link_factor(t, FL_LINK_SHARED_TUB), 0.0, 0.0);
        }
    }
    check_close(fl_know_link_factor(root, FL_LINK_CUTTING), 0.0, 0.0, 0.0);
    check_close(fl_know_link_factor(thrips, FL_LINK_CUTTING), 0.9, SAME, 0.0); /* all but pupae */
    check_close(fl_know_link_factor(named("chytrid_bd"), FL_LINK_CUTTING), 1.0, 0.0, 0.0);
}

static void test_room_and_already_here(void **state)
{
    (void)state;
    const fl_threat *gnat = named("fungus_gnat"), *root = named("root_mealybug");
    check_close(fl_know_room_per_opening(gnat), 0.0005, 0.0, 0.0);
    check_close(fl_know_room_per_opening(named("greenhouse_whitefly")), 0.0005, 0.0, 0.0);
    check_close(fl_know_room_per_opening(named("aphid")), 0.0, 0.0, 0.0);
    check_close(fl_know_room_per_day(gnat, false), 0.0002, 0.0, 0.0);
    check_close(fl_know_room_per_day(named("citrus_mealybug"), false), 0.0002, 0.0, 0.0);
    check_close(fl_know_room_per_day(gnat, true), 0.0, 0.0, 0.0);
    check_close(fl_know_room_per_day(root, false), 0.0, 0.0, 0.0);
    check_close(fl_know_already_here_factor(gnat), 0.3, 0.0, 0.0);
    check_close(fl_know_already_here_factor(root), 1.0, 0.0, 0.0);
}

static void test_uses(void **state)
{
    (void)state;
    static const double ceiling[FL_USE_COUNT] = {0.10, 0.05, 0.05, 0.02, 0.05};
    static const int least_days[FL_USE_COUNT] = {14, 21, 21, 28, 28};
    for (int use = 0; use < FL_USE_COUNT; use++) {
        fl_know_use policy = fl_know_use_of((fl_use)use);
        check_str(policy.code, fl_words_use[use].word);
        check_close(policy.ceiling, ceiling[use], 0.0, 0.0);
        check_int(policy.least_days, least_days[use]);
    }
    check_true(fl_know_use_of(FL_USE_AMPHIBIAN).bars_systemics);
    check_true(fl_know_use_of(FL_USE_INVERTEBRATE).bars_systemics);
    check_false(fl_know_use_of(FL_USE_PLANTS_ONLY).bars_systemics);
    check_true(fl_know_use_of(FL_USE_AMPHIBIAN).needs_pathogen_rule);
    check_false(fl_know_use_of(FL_USE_PLANTS_ONLY).needs_pathogen_rule);
}

/* What stays on its lot, what is out of reach, and what is not in the sum at all. */
static void test_traits(void **state)
{
    (void)state;
    static const char *const stay[] = {"root_mealybug", "root_knot_nematode", "foliar_nematode"};
    size_t n_stay = 0, n_far = 0;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        n_stay += !fl_know_threat(i)->is_mobile;
        n_far += fl_know_threat(i)->is_out_of_reach;
    }
    check_int(n_stay, 3);
    check_int(n_far, 2);
    for (size_t i = 0; i < 3; i++) {
        check_false(named(stay[i])->is_mobile);
    }
    check_true(named("root_knot_nematode")->is_out_of_reach);
    check_true(named("foliar_nematode")->is_out_of_reach);
    check_int(named("stowaway_frog")->class, FL_CLASS_STOWAWAY);
    check_int(named("chytrid_bd")->class, FL_CLASS_PATHOGEN);
    check_int(named("ranavirus")->class, FL_CLASS_PATHOGEN);
    check_true(named("fungus_gnat")->is_flier && named("fungus_gnat")->is_root_zone);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_priors_of_the_chain_store),
    cmocka_unit_test(test_priors_by_kind),
    cmocka_unit_test(test_priors_by_form),
    cmocka_unit_test(test_tissue_culture_is_near_zero_and_not_counted_twice),
    cmocka_unit_test(test_priors_explain_themselves),
    cmocka_unit_test(test_weights),
    cmocka_unit_test(test_start_shares),
    cmocka_unit_test(test_stage_shares_of_a_whole),
    cmocka_unit_test(test_visibility),
    cmocka_unit_test(test_after_dark_is_for_slugs_and_snails),
    cmocka_unit_test(test_devices),
    cmocka_unit_test(test_effort_is_monotone_and_capped),
    cmocka_unit_test(test_detectability_mixture),
    cmocka_unit_test(test_bleach_and_permanganate_earn_nothing),
    cmocka_unit_test(test_steps_leave_alive),
    cmocka_unit_test(test_survival_says_where_it_comes_from),
    cmocka_unit_test(test_hot_water_counts_only_where_published),
    cmocka_unit_test(test_links),
    cmocka_unit_test(test_room_and_already_here),
    cmocka_unit_test(test_uses),
    cmocka_unit_test(test_traits),
};
FL_TEST_MAIN(tests)
