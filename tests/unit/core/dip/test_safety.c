/* Hard blocks and cautions. */
#include <math.h>
#include <string.h>

#include "core/dip/safety.h"
#include "data/actives.h"
#include "data/agents.h"
#include "data/cautions.h"
#include "data/chem_sources.h"
#include "data/efficacy.h"
#include "data/incompatible.h"
#include "support/check.h"

static bool conflict(const char *a, const char *b, fl_dip_clash *out)
{
    return fl_dip_conflict_words(fl_sv_from_cstr(a), fl_sv_from_cstr(b), out);
}

/* Tennessee Poison Center 2018 (acid, ammonia), UF/IFAS FA37 (formalin), household notices 2020
 * (alcohol, vinegar with peroxide). */
static void test_published_blocks(void **state)
{
    (void)state;
    static const char *const pair[][3] = {{"bleach", "acid", "gas"},
                                          {"bleach", "ammonia", "gas"},
                                          {"bleach", "alcohol", "gas"},
                                          {"peroxide", "acid", "corrosive"},
                                          {"permanganate", "formalin", "fire"}};
    for (size_t i = 0; i < sizeof pair / sizeof pair[0]; i++) {
        fl_dip_clash c;
        check_true(conflict(pair[i][0], pair[i][1], &c));
        check_str(c.hazard, pair[i][2]);
        check_str(c.grade, "measured");
        check_true(conflict(pair[i][1], pair[i][0], &c));
    }
}

/* One oxidiser a bath: every pair of different agents but soap in warm water and what is washed
 * with plain water; never an agent with itself. */
static void test_agents(void **state)
{
    (void)state;
    fl_dip_clash c = {0};
    static const fl_agent oxidiser[] = {FL_AGENT_BLEACH, FL_AGENT_PERMANGANATE, FL_AGENT_PEROXIDE};
    for (size_t i = 0; i < 3; i++) {
        for (size_t k = 0; k < 3; k++) {
            check_true(fl_dip_conflict(oxidiser[i], oxidiser[k], &c) == (i != k));
        }
        check_true(fl_dip_conflict(oxidiser[i], FL_AGENT_SOAP, &c));
        check_true(fl_dip_conflict(FL_AGENT_THIOSULFATE, oxidiser[i], &c));
        check_true(fl_dip_conflict(FL_AGENT_PESTICIDE, oxidiser[i], &c));
        check_false(fl_dip_conflict(oxidiser[i], FL_AGENT_NONE, &c));
    }
    check_true(fl_dip_conflict(FL_AGENT_BLEACH, FL_AGENT_HOT_WATER, &c));
    check_false(fl_dip_conflict(FL_AGENT_SOAP, FL_AGENT_HOT_WATER, &c));
    check_false(conflict("bleach", "sand", &c));
}

static bool has_caution(const fl_caution *list, size_t n, const char *code)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(list[i].code, code) == 0) {
            return true;
        }
    }
    return false;
}

static void test_cautions(void **state)
{
    (void)state;
    fl_caution list[FL_CAUTIONS_MAX];
    check_int(fl_dip_cautions(FL_AGENT_NONE, ~0u, list), 0);
    for (int agent = FL_AGENT_NONE + 1; agent < FL_AGENT_COUNT; agent++) {
        size_t n = fl_dip_cautions((fl_agent)agent, 0u, list);
        check_true(n >= 3 && n <= FL_CAUTIONS_MAX);
        check_str(list[0].code, "label_first");
        check_str(list[n - 1].code, "help"); /* the last word: label and poison centre */
        check_contains(list[n - 1].text, "poison centre");
        check_true(fl_dip_cautions((fl_agent)agent, ~0u, list) >= n);
    }
    size_t n = fl_dip_cautions(FL_AGENT_BLEACH, 0u, list);
    check_true(has_caution(list, n, "bleach_gloves") && has_caution(list, n, "bleach_air"));
    check_true(has_caution(list, n, "bleach_into_water") && has_caution(list, n, "bleach_away"));
    check_false(has_caution(list, n, "replace_bottle"));
    n = fl_dip_cautions(FL_AGENT_BLEACH, FL_OCCASION_REPLACE | FL_OCCASION_STRONG, list);
    check_true(has_caution(list, n, "replace_bottle") && has_caution(list, n, "too_strong"));
    check_false(has_caution(list, n, "age_unknown"));
}

static void test_occasions(void **state)
{
    (void)state;
    fl_bleach_mix mix = {.chlorine_mg_per_l = 3000.0};
    check_int(fl_bleach_occasions(&mix), 0);
    mix.chlorine_mg_per_l = 50000.0;
    check_int(fl_bleach_occasions(&mix), FL_OCCASION_STRONG);
    mix.chlorine_mg_per_l = 50.0;
    mix.strength.is_age_unknown = true;
    check_int(fl_bleach_occasions(&mix), FL_OCCASION_WEAK | FL_OCCASION_AGE_UNKNOWN);
    mix.chlorine_mg_per_l = 3000.0;
    mix.strength = (fl_bleach_strength){.is_extrapolated = true, .should_replace = true};
    check_int(fl_bleach_occasions(&mix), FL_OCCASION_EXTRAPOLATED | FL_OCCASION_REPLACE);
}

static void check_keys(const char *keys)
{
    fl_sv rest = fl_sv_from_cstr(keys);
    check_true(rest.len > 0);
    while (rest.len > 0) {
        fl_sv key = fl_sv_split(&rest, '|');
        bool is_known = false;
        for (size_t i = 0; i < fl_rows_chem_sources_count; i++) {
            is_known = is_known || fl_sv_eq_cstr(key, fl_rows_chem_sources[i].key);
        }
        check_true(is_known);
    }
}

static void check_grade(const char *grade)
{
    check_true(strcmp(grade, "measured") == 0 || strcmp(grade, "practice") == 0 ||
               strcmp(grade, "assumed") == 0);
}

/* Every row opens to a source; a row from memory is never called measured. */
#define CHECK_ROWS(table)                                                                          \
    for (size_t i = 0; i < fl_rows_##table##_count; i++) {                                         \
        check_keys(fl_rows_##table[i].source);                                                     \
        check_grade(fl_rows_##table[i].grade);                                                     \
        if (strcmp(fl_rows_##table[i].source, "memory") == 0) {                                    \
            check_str(fl_rows_##table[i].grade, "assumed");                                        \
        }                                                                                          \
        if (strcmp(fl_rows_##table[i].source, "practice") == 0) {                                  \
            check_str(fl_rows_##table[i].grade, "practice");                                       \
        }                                                                                          \
    }

static void test_sources(void **state)
{
    (void)state;
    check_int(fl_rows_chem_sources_count, 126);
    CHECK_ROWS(agents)
    CHECK_ROWS(actives)
    CHECK_ROWS(cautions)
    CHECK_ROWS(efficacy)
    CHECK_ROWS(incompatible)
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_published_blocks), cmocka_unit_test(test_agents),
    cmocka_unit_test(test_cautions),         cmocka_unit_test(test_occasions),
    cmocka_unit_test(test_sources),
};
FL_TEST_MAIN(tests)
