/* The threats as static tables: data/threats.csv, stages.csv and lives.csv joined when this file is
 * compiled, by the X-macros that csv2c makes. Nothing is computed here. */
#include "data/threats.h"

#include <assert.h>

#include "core/know/know.h"
#include "data/lives.h"
#include "data/stages.h"

/* Pathogens have no clock, hence no rows in stages.csv. */
#define fl_group_stages_chytrid_bd(X)
#define fl_group_stages_ranavirus(X)
#define fl_group_lives_chytrid_bd(X)
#define fl_group_lives_ranavirus(X)

/* The words of the tables. */
#define LIVES_plain FL_WHERE_PLAIN
#define LIVES_lens FL_WHERE_LENS
#define LIVES_root FL_WHERE_ROOT
#define LIVES_hidden FL_WHERE_HIDDEN
#define CLASS_pest FL_CLASS_PEST
#define CLASS_stowaway FL_CLASS_STOWAWAY
#define CLASS_pathogen FL_CLASS_PATHOGEN
#define GRADE_measured FL_GRADE_MEASURED
#define GRADE_practice FL_GRADE_PRACTICE
#define GRADE_assumed FL_GRADE_ASSUMED

/* One row of stages.csv as a stage, as the slow rate, as the fast rate, and as a one to count.
 * s_: slow, f_: fast; t: threshold, k: degree-days, u: upper limit. */
#define STAGE(threat, stage_, lives, share, breeds, night, rides, n, s_t, s_k, s_u, f_t, f_k, f_u, \
              deaths, grade_, source_, note_)                                                      \
    {.name = #stage_,                                                                              \
     .where = LIVES_##lives,                                                                       \
     .start_share = (share),                                                                       \
     .is_breeding = (breeds),                                                                      \
     .is_night_active = (night),                                                                   \
     .rides_a_cutting = (rides),                                                                   \
     .grade = GRADE_##grade_,                                                                      \
     .source = (source_),                                                                          \
     .note = (note_)},
#define RATE(n, t, k, u, deaths)                                                                   \
    {.n_substages = (n),                                                                           \
     .threshold_c = (t),                                                                           \
     .degree_days = (k),                                                                           \
     .upper_c = (u),                                                                               \
     .mortality_per_day = (deaths)},
#define SLOW(threat, stage_, lives, share, breeds, night, rides, n, s_t, s_k, s_u, f_t, f_k, f_u,  \
             deaths, grade_, source_, note_)                                                       \
    RATE(n, s_t, s_k, s_u, deaths)
#define FAST(threat, stage_, lives, share, breeds, night, rides, n, s_t, s_k, s_u, f_t, f_k, f_u,  \
             deaths, grade_, source_, note_)                                                       \
    RATE(n, f_t, f_k, f_u, deaths)
#define ONE(threat, stage_, lives, share, breeds, night, rides, n, s_t, s_k, s_u, f_t, f_k, f_u,   \
            deaths, grade_, source_, note_)                                                        \
    +1

#define LIFE(threat, days, young, grade_, source_, note_) +(days)
#define YOUNG(threat, days, young, grade_, source_, note_) +(young)

/* Every array ends with an empty entry, so that a threat without stages still has one. */
#define THREAT(code_, name_, latin_, class_, trait_, mobile, flier, root, far, prior_, w_plants,   \
               w_reptile, w_invertebrate, w_amphibian, w_stock, grade_, source_, j_grade,          \
               j_source, look, harm_)                                                              \
    {.code = #code_,                                                                               \
     .name = (name_),                                                                              \
     .latin = (latin_),                                                                            \
     .class = CLASS_##class_,                                                                      \
     .trait = #trait_,                                                                             \
     .is_mobile = (mobile),                                                                        \
     .is_flier = (flier),                                                                          \
     .is_root_zone = (root),                                                                       \
     .is_out_of_reach = (far),                                                                     \
     .prior = (prior_),                                                                            \
     .weight = {[FL_USE_PLANTS_ONLY] = (w_plants),                                                 \
                [FL_USE_REPTILE] = (w_reptile),                                                    \
                [FL_USE_INVERTEBRATE] = (w_invertebrate),                                          \
                [FL_USE_AMPHIBIAN] = (w_amphibian),                                                \
                [FL_USE_STOCK] = (w_stock)},                                                       \
     .n_stages = 0 fl_group_stages_##code_(ONE),                                                   \
     .stage = {fl_group_stages_##code_(STAGE){.name = NULL}},                                      \
     .fast = {.n_stages = 0 fl_group_stages_##code_(ONE),                                          \
              .life_days = 0.0 fl_group_lives_##code_(LIFE),                                       \
              .n_young = 0 fl_group_lives_##code_(YOUNG),                                          \
              .stage = {fl_group_stages_##code_(FAST){.n_substages = 0}}},                         \
     .slow = {.n_stages = 0 fl_group_stages_##code_(ONE),                                          \
              .life_days = 0.0 fl_group_lives_##code_(LIFE),                                       \
              .n_young = 0 fl_group_lives_##code_(YOUNG),                                          \
              .stage = {fl_group_stages_##code_(SLOW){.n_substages = 0}}},                         \
     .grade = GRADE_##grade_,                                                                      \
     .source = (source_),                                                                          \
     .look_where = (look),                                                                         \
     .harm = (harm_)},

static const fl_threat threats[] = {fl_list_threats(THREAT)};

size_t fl_know_threat_count(void)
{
    return sizeof threats / sizeof threats[0];
}

const fl_threat *fl_know_threat(size_t index)
{
    assert(index < fl_know_threat_count());
    return &threats[index];
}

const fl_threat *fl_know_threat_find(fl_sv code)
{
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        if (fl_sv_eq_cstr(code, threats[i].code)) {
            return &threats[i];
        }
    }
    return NULL;
}
