/* The shape of the tables: shares, ranges, grades, sources, words; and their digests. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/know/know.h"
#include "data/already_here.h"
#include "data/detectability.h"
#include "data/devices.h"
#include "data/forms.h"
#include "data/hot_water.h"
#include "data/links.h"
#include "data/lives.h"
#include "data/lookalikes.h"
#include "data/plants.h"
#include "data/room.h"
#include "data/source_kinds.h"
#include "data/sources.h"
#include "data/stages.h"
#include "data/steps.h"
#include "data/survival.h"
#include "data/threats.h"
#include "data/uses.h"
#include "data/visibility.h"
#include "support/check.h"

static bool is_share(double value)
{
    return value >= 0.0 && value <= 1.0;
}

static bool is_in(const char *word, const fl_word *list, int count)
{
    return fl_word_find(list, count, fl_sv_from_cstr(word)) >= 0;
}

/* Every key of "a|b|c" is in sources.csv. */
static void check_sources(const char *keys)
{
    fl_sv rest = fl_sv_from_cstr(keys);
    check_true(rest.len > 0);
    while (rest.len > 0) {
        fl_sv key = fl_sv_split(&rest, '|');
        if (!fl_know_source_find(key)) {
            fail_msg("source key %.*s is not in sources.csv", FL_SV_ARG(key));
        }
    }
}

static void check_grade(const char *grade)
{
    if (strcmp(grade, "measured") != 0 && strcmp(grade, "practice") != 0) {
        check_str(grade, "assumed");
    }
}

#define CHECK_GRADED(name)                                                                         \
    for (size_t i = 0; i < fl_rows_##name##_count; i++) {                                          \
        check_grade(fl_rows_##name[i].grade);                                                      \
        check_sources(fl_rows_##name[i].source);                                                   \
    }

static void test_every_row_is_graded_and_sourced(void **state)
{
    (void)state;
    CHECK_GRADED(threats)
    CHECK_GRADED(stages)
    CHECK_GRADED(survival)
    CHECK_GRADED(hot_water)
    CHECK_GRADED(visibility)
    CHECK_GRADED(devices)
    CHECK_GRADED(detectability)
    CHECK_GRADED(source_kinds)
    CHECK_GRADED(forms)
    CHECK_GRADED(links)
    CHECK_GRADED(uses)
    CHECK_GRADED(already_here)
    CHECK_GRADED(room)
    CHECK_GRADED(lives)
    CHECK_GRADED(steps)
    for (size_t i = 0; i < fl_rows_threats_count; i++) {
        check_grade(fl_rows_threats[i].judgement_grade);
        check_sources(fl_rows_threats[i].judgement_source);
    }
    for (size_t i = 0; i < fl_rows_lookalikes_count; i++) {
        check_sources(fl_rows_lookalikes[i].source);
    }
    for (size_t i = 0; i < fl_rows_plants_count; i++) {
        check_grade(fl_rows_plants[i].handling_grade);
        check_sources(fl_rows_plants[i].handling_source);
        check_true(fl_rows_plants[i].source[0] != '\0');
    }
}

static void check_model(const fl_stage_model *model, int n_stages)
{
    int substages = 0;
    check_int(model->n_stages, n_stages);
    for (int i = 0; i < n_stages; i++) {
        const fl_stage_rate *stage = &model->stage[i];
        bool is_last = i == n_stages - 1;
        check_true(stage->n_substages >= 1 && stage->n_substages <= 60);
        check_true(stage->mortality_per_day >= 0.0);
        check_true(is_last ? stage->n_substages == 1 && stage->mortality_per_day == 0.0
                           : stage->degree_days > 0.0 && stage->upper_c > stage->threshold_c);
        substages += stage->n_substages;
    }
    check_true(substages <= FL_SUBSTAGES_MAX);
}

static void test_threats_are_whole(void **state)
{
    (void)state;
    size_t n_pests = 0;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        double share = 0.0;
        check_true(fl_know_threat_find(fl_sv_from_cstr(threat->code)) == threat);
        check_true(threat->name[0] && threat->latin[0] && threat->look_where[0] && threat->harm[0]);
        check_true(is_share(threat->prior));
        for (int use = 0; use < FL_USE_COUNT; use++) {
            check_true(is_share(threat->weight[use]));
            check_true(threat->weight[use] <= threat->weight[FL_USE_STOCK]); /* the strictest */
        }
        if (threat->class == FL_CLASS_PATHOGEN) {
            check_int(threat->n_stages, 0);
            check_close(threat->prior, 0.0, 0.0, 0.0);
            continue;
        }
        n_pests += threat->class == FL_CLASS_PEST;
        check_true(threat->prior > 0.0);
        check_true(threat->n_stages >= 2 && threat->n_stages < FL_STAGES_MAX);
        check_model(&threat->fast, threat->n_stages);
        check_model(&threat->slow, threat->n_stages);
        for (int s = 0; s < threat->n_stages; s++) {
            check_true(is_share(threat->stage[s].start_share));
            check_true(threat->stage[s].name[0] && threat->stage[s].note[0]);
            share += threat->stage[s].start_share;
        }
        check_close(share, 1.0, 1e-12, 0.0);
        check_true(threat->stage[threat->n_stages - 1].is_breeding);
        check_true(!threat->stage[0].is_breeding);
    }
    check_true(n_pests >= 18);
    check_true(fl_know_threat_find(FL_SV("no_such_pest")) == NULL);
    check_true(fl_know_threat_find(FL_SV("")) == NULL);
}

/* The first five are the five that everything was first built on. */
static void test_order_of_threats(void **state)
{
    (void)state;
    static const char *const first[] = {"fungus_gnat", "western_flower_thrips",
                                        "twospotted_spider_mite", "citrus_mealybug",
                                        "root_mealybug"};
    for (size_t i = 0; i < sizeof first / sizeof first[0]; i++) {
        check_str(fl_know_threat(i)->code, first[i]);
    }
}

static bool is_scope(const char *scope)
{
    if (strcmp(scope, "all") == 0 || strcmp(scope, "root_zone") == 0) {
        return true;
    }
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        if (strcmp(scope, threat->code) == 0 || strcmp(scope, threat->trait) == 0) {
            return true;
        }
    }
    return false;
}

static void test_words_of_the_tables(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_rows_source_kinds_count; i++) {
        check_true(is_in(fl_rows_source_kinds[i].kind, fl_words_source_kind, FL_SOURCE_COUNT));
        check_true(is_scope(fl_rows_source_kinds[i].scope));
    }
    for (size_t i = 0; i < fl_rows_forms_count; i++) {
        const struct fl_row_forms *row = &fl_rows_forms[i];
        check_true(is_in(row->form, fl_words_form, FL_FORM_COUNT));
        check_true(is_scope(row->scope));
        check_true(isnan(row->factor) != isnan(row->prior)); /* exactly one of them */
    }
    for (size_t i = 0; i < fl_rows_links_count; i++) {
        check_true(is_in(fl_rows_links[i].link, fl_words_link, FL_LINK_COUNT));
        check_true(is_scope(fl_rows_links[i].scope));
        check_true(is_share(fl_rows_links[i].factor));
    }
    for (size_t i = 0; i < fl_rows_room_count; i++) {
        check_true(is_scope(fl_rows_room[i].scope));
    }
    for (size_t i = 0; i < fl_rows_already_here_count; i++) {
        check_true(is_scope(fl_rows_already_here[i].scope));
    }
    for (size_t i = 0; i < fl_rows_steps_count; i++) {
        check_true(is_in(fl_rows_steps[i].step, fl_words_step, FL_STEP_COUNT));
        check_true(is_in(fl_rows_steps[i].agent, fl_words_agent, FL_AGENT_COUNT));
    }
}

static bool has_stage(const char *code, const char *stage)
{
    const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(code));
    for (int i = 0; threat && i < threat->n_stages; i++) {
        if (strcmp(threat->stage[i].name, stage) == 0) {
            return true;
        }
    }
    return false;
}

/* A misspelt threat or stage would silently earn nothing. */
static void test_rows_name_real_stages(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_rows_devices_count; i++) {
        check_true(is_in(fl_rows_devices[i].device, fl_words_device, FL_DEVICE_COUNT));
        check_true(has_stage(fl_rows_devices[i].threat, fl_rows_devices[i].stage));
    }
    for (size_t i = 0; i < fl_rows_survival_count; i++) {
        const struct fl_row_survival *row = &fl_rows_survival[i];
        check_true(is_in(row->step, fl_words_step, FL_STEP_COUNT));
        check_true(is_in(row->agent, fl_words_agent, FL_AGENT_COUNT));
        check_true(strcmp(row->threat, "all") == 0 ||
                   fl_know_threat_find(fl_sv_from_cstr(row->threat)) != NULL);
        check_true(strcmp(row->stage, "all") == 0 || has_stage(row->threat, row->stage));
        double wanted = strcmp(row->code, "K") == 0 ? 0.05 : strcmp(row->code, "P") == 0 ? 0.6 : 1;
        check_true(strlen(row->code) == 1 && strchr("KPSU", row->code[0]) != NULL);
        check_close(row->survival, wanted, 0.0, 0.0);
    }
    for (size_t i = 0; i < fl_rows_hot_water_count; i++) {
        check_true(fl_know_threat_find(fl_sv_from_cstr(fl_rows_hot_water[i].threat)) != NULL);
    }
    for (size_t i = 0; i < fl_rows_stages_count; i++) {
        check_true(fl_know_threat_find(fl_sv_from_cstr(fl_rows_stages[i].threat)) != NULL);
    }
}

static void test_every_link_has_a_row_for_every_threat(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        for (size_t link = 0; link < FL_LINK_COUNT; link++) {
            size_t rows = 0;
            for (size_t r = 0; r < fl_rows_links_count; r++) {
                rows += strcmp(fl_rows_links[r].link, fl_words_link[link].word) == 0 &&
                        (strcmp(fl_rows_links[r].scope, "all") == 0 ||
                         strcmp(fl_rows_links[r].scope, fl_know_threat(i)->trait) == 0);
            }
            check_int(rows, 1);
        }
    }
}

static void test_plants(void **state)
{
    (void)state;
    static const char *const confidences[] = {"published", "mixed", "weak", "memory"};
    check_true(fl_know_plant_count() >= 60);
    for (size_t i = 0; i < fl_know_plant_count(); i++) {
        const fl_know_plant *plant = fl_know_plant_at(i);
        bool is_known = false;
        for (size_t c = 0; c < 4; c++) {
            is_known = is_known || strcmp(plant->confidence, confidences[c]) == 0;
        }
        check_true(is_known);
        check_true(plant->ppfd_min_umol_m2_s < plant->ppfd_max_umol_m2_s);
        check_true(plant->temp_min_c < plant->temp_opt_lo_c);
        check_true(plant->temp_opt_lo_c < plant->temp_opt_hi_c);
        check_true(plant->rh_min_pct > 0.0 && plant->rh_min_pct <= 100.0);
        check_true(isnan(plant->rooting_days_min) == isnan(plant->rooting_days_max));
        check_true(!(plant->rots_when_closed || plant->is_ruined_by_rinse) ||
                   fl_rows_plants[i].handling_reason[0] != '\0');
        check_true(fl_know_plant_find(fl_sv_from_cstr(plant->botanical_name)) == plant);
    }
    const fl_know_plant *fig = fl_know_plant_find(FL_SV("CREEPING FIG"));
    check_true(fig != NULL);
    check_str(fig->botanical_name, "Ficus pumila");
    check_true(fl_know_plant_find(FL_SV("Sphagnum (live)"))->is_ruined_by_rinse);
    check_true(fl_know_plant_find(FL_SV("air plant"))->rots_when_closed);
    check_true(fl_know_plant_find(FL_SV("")) == NULL);
    check_true(fl_know_plant_find(FL_SV("plastic fern")) == NULL);
}

static void test_lookalikes_and_steps(void **state)
{
    (void)state;
    check_true(fl_know_lookalike_count() >= 10);
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        const fl_know_lookalike *l = fl_know_lookalike_at(i);
        check_true(l->name[0] && l->looks_like[0] && l->cue[0]);
        check_true(fl_know_threat_find(fl_sv_from_cstr(l->code)) == NULL);
    }
    for (size_t i = 0; i < fl_know_step_count(); i++) {
        fl_know_step step = fl_know_step_at(i);
        check_true(step.minutes_low > 0.0 && step.minutes_low <= step.minutes_usual);
        check_true(step.minutes_usual <= step.minutes_high);
        check_true(step.how[0]);
    }
}

/* ---- digests ---- */

static fl_hash link_file(fl_hash so_far, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/data/%s.csv", FL_SOURCE_DIR, name);
    FILE *in = fopen(path, "rb");
    check_true(in != NULL);
    char *bytes = malloc(1 << 20);
    check_true(bytes != NULL);
    size_t len = fread(bytes, 1, 1 << 20, in);
    fclose(in);
    so_far = fl_hash_link(fl_hash_link(so_far, name, strlen(name)), bytes, len);
    free(bytes);
    return so_far;
}

/* The digest is over the files as they are: computed here from the files themselves. */
static void test_digest_of_the_files(void **state)
{
    (void)state;
    static const char *const ours[] = {
        "actives",    "agents",   "already_here", "cautions",     "detectability", "devices",
        "efficacy",   "forms",    "hot_water",    "incompatible", "links",         "lives",
        "lookalikes", "plants",   "room",         "source_kinds", "sources",       "stages",
        "steps",      "survival", "threats",      "uses",         "visibility"};
    char got[FL_HASH_TEXT_MAX], want[FL_HASH_TEXT_MAX];
    fl_hash so_far = fl_hash_of("", 0);
    for (size_t i = 0; i < sizeof ours / sizeof ours[0]; i++) {
        check_true(i == 0 || strcmp(ours[i - 1], ours[i]) < 0);
        so_far = link_file(so_far, ours[i]);
    }
    check_str(fl_hash_format(got, fl_know_hash()), fl_hash_format(want, so_far));
}

/* Design 4.13: the default threat list is frozen. Who changes threats.csv or stages.csv writes the
 * reason into docs/decisions/ and then the new digest here. */
static void test_default_threats_are_pinned(void **state)
{
    (void)state;
    char text[FL_HASH_TEXT_MAX];
    check_str(fl_hash_format(text, fl_know_threats_hash()),
              "2f611e8a3597955be0e08d28cf3c31c4b51e00efe7a89b600eaa324574674233");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_row_is_graded_and_sourced),
    cmocka_unit_test(test_threats_are_whole),
    cmocka_unit_test(test_order_of_threats),
    cmocka_unit_test(test_words_of_the_tables),
    cmocka_unit_test(test_rows_name_real_stages),
    cmocka_unit_test(test_every_link_has_a_row_for_every_threat),
    cmocka_unit_test(test_plants),
    cmocka_unit_test(test_lookalikes_and_steps),
    cmocka_unit_test(test_digest_of_the_files),
    cmocka_unit_test(test_default_threats_are_pinned),
};
FL_TEST_MAIN(tests)
