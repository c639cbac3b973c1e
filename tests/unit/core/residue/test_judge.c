/* The gate's answer about residues: our own policy (design section 4), pinned case by case. */
#include <math.h>

#include "core/residue/residue.h"
#include "support/check.h"

static const fl_use sensitive[] = {FL_USE_INVERTEBRATE, FL_USE_AMPHIBIAN};

static fl_residue_case shop_plant(fl_use use)
{
    return (fl_residue_case){.use = use, .form = FL_FORM_POTTED};
}

static fl_residue_verdict judged(const fl_residue_case *q)
{
    fl_residue_verdict v = fl_residue_judge(q);
    /* ok: nothing to wait for; not ok: a wait, or growth, or nothing helps */
    check_true(!v.is_ok_for_use || v.wait_days == 0.0);
    check_true(v.is_ok_for_use || isnan(v.wait_days) || v.wait_days >= 1.0);
    check_true(fl_words_residue_why[v.why].text[0] != '\0');
    return v;
}

/* One tenth at the 90th percentile of half-lives, 7.9 d (Ebeling and Wang 2018). */
static void test_unknown_wait(void **state)
{
    (void)state;
    double wait = fl_residue_unknown_wait_days();
    check_close(wait, 27.0, 0.0, 0.0);
    check_true(exp2(-wait / 7.9) <= 0.10 && exp2(-(wait - 1.0) / 7.9) > 0.10);
}

static void test_known_clean(void **state)
{
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        fl_residue_case q = shop_plant(sensitive[i]);
        q.form = FL_FORM_TISSUE_CULTURE;
        check_int(judged(&q).answer, FL_RESIDUE_KNOWN_CLEAN);
        check_true(judged(&q).is_ok_for_use);
        q.form = FL_FORM_UNROOTED_CUTTING;
        q.is_line_clean = true;
        check_true(judged(&q).is_ok_for_use);
    }
}

static void test_unknown(void **state)
{
    (void)state;
    fl_residue_case q = shop_plant(FL_USE_PLANTS_ONLY);
    check_true(judged(&q).is_ok_for_use);
    check_int(judged(&q).answer, FL_RESIDUE_UNKNOWN);
    q.use = FL_USE_STOCK;
    check_true(judged(&q).is_ok_for_use);
    q.use = FL_USE_REPTILE;
    check_false(judged(&q).is_ok_for_use);
    check_close(judged(&q).wait_days, 27.0, 0.0, 0.0);
    q.days_since = 27.0;
    check_true(judged(&q).is_ok_for_use); /* growth is not asked for there */
    for (size_t i = 0; i < 2; i++) {
        q = shop_plant(sensitive[i]);
        q.days_since = 10.5;
        check_int(judged(&q).why, FL_RESIDUE_WHY_WAIT);
        check_close(judged(&q).wait_days, 17.0, 0.0, 0.0);
        check_true(judged(&q).wants_new_growth);
        q.days_since = 200.0;
        check_int(judged(&q).why, FL_RESIDUE_WHY_NEEDS_GROWTH);
        check_true(isnan(judged(&q).wait_days));
        q.has_new_growth = true;
        check_true(judged(&q).is_ok_for_use);
        q.days_since = (double)NAN;
        check_close(judged(&q).wait_days, 27.0, 0.0, 0.0);
        q.is_only_new_growth = true;
        check_true(judged(&q).is_ok_for_use);
    }
}

/* A seller's word is believed for plants and reptiles; for the sensitive it spares only the
 * growth. */
static void test_said_clean(void **state)
{
    (void)state;
    fl_residue_case q = shop_plant(FL_USE_REPTILE);
    q.label = FL_LABEL_SAYS_CLEAN;
    check_int(judged(&q).why, FL_RESIDUE_WHY_SAID_CLEAN);
    q.use = FL_USE_AMPHIBIAN;
    check_false(judged(&q).is_ok_for_use);
    check_false(judged(&q).wants_new_growth);
    q.days_since = 27.0;
    check_true(judged(&q).is_ok_for_use);
}

static fl_residue_verdict with_spray(fl_use use, const char *active, double days)
{
    fl_residue_spray spray = {fl_sv_from_cstr(active), days, false};
    fl_residue_case q = shop_plant(use);
    q.is_line_clean = true;
    q.sprays = &spray;
    q.n_sprays = 1;
    return judged(&q);
}

static void test_systemics(void **state)
{
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        fl_residue_verdict v = with_spray(sensitive[i], "imidacloprid", 3000.0);
        check_int(v.answer, FL_RESIDUE_KNOWN_SYSTEMIC);
        check_false(v.is_ok_for_use);
        check_true(isnan(v.wait_days));
        v = with_spray(sensitive[i], "something new", 3000.0);
        check_int(v.why, FL_RESIDUE_WHY_UNLISTED);
        check_false(v.is_ok_for_use);
        v = with_spray(sensitive[i], "copper", 3000.0);
        check_int(v.why, FL_RESIDUE_WHY_STAYS);
        check_false(v.is_ok_for_use);
    }
    static const fl_use others[] = {FL_USE_PLANTS_ONLY, FL_USE_REPTILE, FL_USE_STOCK};
    for (size_t i = 0; i < 3; i++) {
        fl_residue_verdict v = with_spray(others[i], "imidacloprid", 0.0);
        check_int(v.answer, FL_RESIDUE_KNOWN_SYSTEMIC);
        check_true(v.is_ok_for_use);
        check_true(with_spray(others[i], "copper", 0.0).is_ok_for_use);
    }
}

/* Permethrin, 3 weeks at the slow end: 1 % after 139.5 d, 10 % after 69.8 d. */
static void test_known_surface_active(void **state)
{
    (void)state;
    fl_residue_verdict v = with_spray(FL_USE_AMPHIBIAN, "permethrin", 0.0);
    check_int(v.answer, FL_RESIDUE_UNKNOWN);
    check_int(v.why, FL_RESIDUE_WHY_FADING);
    check_close(v.wait_days, 140.0, 0.0, 0.0);
    v = with_spray(FL_USE_AMPHIBIAN, "permethrin", 139.0);
    check_close(v.wait_days, 1.0, 0.0, 0.0);
    v = with_spray(FL_USE_AMPHIBIAN, "permethrin", 140.0);
    check_int(v.answer, FL_RESIDUE_KNOWN_CLEAN);
    check_true(v.is_ok_for_use);
    check_close(with_spray(FL_USE_REPTILE, "permethrin", 0.0).wait_days, 70.0, 0.0, 0.0);
    check_true(with_spray(FL_USE_PLANTS_ONLY, "permethrin", 0.0).is_ok_for_use);
    /* flagged caution: one tenth is enough. Mancozeb 10 d: 33.2 d */
    check_close(with_spray(FL_USE_INVERTEBRATE, "mancozeb", 0.0).wait_days, 34.0, 0.0, 0.0);
    check_close(with_spray(FL_USE_AMPHIBIAN, "mancozeb", (double)NAN).wait_days, 34.0, 0.0, 0.0);
}

/* Several facts: the hardest one to live with is told. */
static void test_worst_of_all(void **state)
{
    (void)state;
    fl_residue_spray sprays[] = {{FL_SV("malathion"), 60.0, true},
                                 {FL_SV("mancozeb"), 10.0, true},
                                 {FL_SV("permethrin"), 100.0, true}};
    fl_residue_case q = shop_plant(FL_USE_AMPHIBIAN);
    q.label = FL_LABEL_NAMES_ACTIVE;
    q.days_since = 12.0;
    q.sprays = sprays;
    q.n_sprays = 3;
    fl_residue_verdict v = judged(&q);
    check_close(v.wait_days, 40.0, 0.0, 0.0); /* permethrin's */
    check_true(v.wants_new_growth);           /* the unknown rest's */
    sprays[1].active = FL_SV("acetamiprid");
    v = judged(&q);
    check_int(v.answer, FL_RESIDUE_KNOWN_SYSTEMIC);
    check_true(isnan(v.wait_days));
    q.use = FL_USE_PLANTS_ONLY;
    check_int(judged(&q).answer, FL_RESIDUE_KNOWN_SYSTEMIC); /* told even where it is allowed */
    check_true(judged(&q).is_ok_for_use);
}

/* Waiting longer never turns a yes into a no, and a stricter use is never easier. */
static void test_orderings(void **state)
{
    (void)state;
    static const char *const names[] = {"permethrin", "malathion",    "pyrethrins",
                                        "mancozeb",   "imidacloprid", "copper"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        bool was_ok[FL_USE_COUNT] = {false};
        for (double days = 0.0; days < 200.0; days += 7.0) {
            bool is_ok[FL_USE_COUNT];
            for (int use = 0; use < FL_USE_COUNT; use++) {
                is_ok[use] = with_spray((fl_use)use, names[i], days).is_ok_for_use;
                check_true(is_ok[use] || !was_ok[use]);
                was_ok[use] = is_ok[use];
            }
            check_true(is_ok[FL_USE_PLANTS_ONLY]);
            check_true(is_ok[FL_USE_REPTILE] || !is_ok[FL_USE_AMPHIBIAN]);
        }
    }
}

/* Decision 0007: what does not grow is never asked for new growth. */
static void test_materials(void **state)
{
    (void)state;
    static const fl_form surfaces[] = {FL_FORM_LEAF_LITTER, FL_FORM_WOOD};
    fl_residue_case q = shop_plant(FL_USE_AMPHIBIAN);
    for (int form = FL_FORM_MIX_BAGGED; form <= FL_FORM_CULTURE; form++) {
        for (int use = 0; use < FL_USE_COUNT; use++) {
            q = (fl_residue_case){.use = (fl_use)use, .form = (fl_form)form};
            check_false(judged(&q).wants_new_growth);
            q.days_since = 27.0; /* and it opens at last: a trial at the most is asked */
            q.trial = FL_TRIAL_LIVED;
            check_true(judged(&q).is_ok_for_use);
            check_int(judged(&q).answer, FL_RESIDUE_UNKNOWN); /* never "clean" */
        }
    }
    for (size_t i = 0; i < 2; i++) {
        for (size_t k = 0; k < 2; k++) {
            q = (fl_residue_case){.use = sensitive[k], .form = surfaces[i], .days_since = 26.0};
            check_int(judged(&q).why, FL_RESIDUE_WHY_WAIT_MATERIAL);
            check_close(judged(&q).wait_days, 1.0, 0.0, 0.0);
            q.days_since = 27.0;
            check_true(judged(&q).is_ok_for_use);
        }
        q = (fl_residue_case){
            .use = FL_USE_INVERTEBRATE, .form = surfaces[i], .trial = FL_TRIAL_LIVED};
        check_true(judged(&q).is_ok_for_use);
        q.use = FL_USE_AMPHIBIAN; /* no proof for frogs */
        check_false(judged(&q).is_ok_for_use);
    }
    q = (fl_residue_case){.use = FL_USE_INVERTEBRATE, .form = FL_FORM_MIX_OPEN, .days_since = 900};
    check_int(judged(&q).why, FL_RESIDUE_WHY_NEEDS_TRIAL);
    check_true(isnan(judged(&q).wait_days));
    q.use = FL_USE_REPTILE;
    check_true(judged(&q).is_ok_for_use);
    q = (fl_residue_case){.use = FL_USE_AMPHIBIAN, .form = FL_FORM_MIX_BAGGED};
    check_int(judged(&q).why, FL_RESIDUE_WHY_NEVER_PLANTED);
    check_true(judged(&q).is_ok_for_use);
    q.form = FL_FORM_CULTURE;
    q.use = FL_USE_INVERTEBRATE;
    q.days_since = 13.9;
    check_false(judged(&q).is_ok_for_use);
    q.days_since = 14.0;
    check_true(judged(&q).is_ok_for_use);
}

/* A trial of a plant: in the place of growth, not of the wait, and not for frogs; a death
 * closes. */
static void test_trial(void **state)
{
    (void)state;
    fl_residue_case q = shop_plant(FL_USE_INVERTEBRATE);
    q.trial = FL_TRIAL_LIVED;
    check_int(judged(&q).why, FL_RESIDUE_WHY_WAIT);
    q.days_since = 27.0;
    check_true(judged(&q).is_ok_for_use);
    q.use = FL_USE_AMPHIBIAN;
    check_int(judged(&q).why, FL_RESIDUE_WHY_NEEDS_GROWTH);
    for (size_t i = 0; i < 2; i++) {
        q = shop_plant(sensitive[i]);
        q.form = FL_FORM_TISSUE_CULTURE; /* even then */
        q.trial = FL_TRIAL_DIED;
        check_int(judged(&q).why, FL_RESIDUE_WHY_TRIAL_DIED);
        check_true(isnan(judged(&q).wait_days));
    }
    q.use = FL_USE_PLANTS_ONLY;
    check_true(judged(&q).is_ok_for_use);
    fl_residue_spray systemic = {.active = FL_SV("imidacloprid"), .days_since = 400.0};
    q = shop_plant(FL_USE_INVERTEBRATE); /* a life does not outweigh a named systemic */
    q.trial = FL_TRIAL_LIVED;
    q.days_since = 400.0;
    q.sprays = &systemic;
    q.n_sprays = 1;
    check_int(judged(&q).answer, FL_RESIDUE_KNOWN_SYSTEMIC);
    check_false(judged(&q).is_ok_for_use);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_materials),    cmocka_unit_test(test_trial),
    cmocka_unit_test(test_unknown_wait), cmocka_unit_test(test_known_clean),
    cmocka_unit_test(test_unknown),      cmocka_unit_test(test_said_clean),
    cmocka_unit_test(test_systemics),    cmocka_unit_test(test_known_surface_active),
    cmocka_unit_test(test_worst_of_all), cmocka_unit_test(test_orderings),
};
FL_TEST_MAIN(tests)
