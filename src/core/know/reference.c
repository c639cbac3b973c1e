/* Plain look-ups: the policy of each use, plants, look-alikes, sources. */
#include <assert.h>

#include "core/know/know.h"
#include "core/know/scope.h"
#include "data/lookalikes.h"
#include "data/plants.h"
#include "data/sources.h"
#include "data/uses.h"

_Static_assert(fl_rows_uses_count == FL_USE_COUNT, "one row a use");

/* plants.csv and lookalikes.csv as the structs of know.h. */
#define USE(code_, name_, ceiling_, days, systemics, pathogens, grade, source, note)               \
    {.code = #code_,                                                                               \
     .name = (name_),                                                                              \
     .ceiling = (ceiling_),                                                                        \
     .least_days = (days),                                                                         \
     .bars_systemics = (systemics),                                                                \
     .needs_pathogen_rule = (pathogens)},
#define PLANT(code_, botanical, common, family_, growth, light, ppfd_min, ppfd_max, dli_min,       \
              dli_max, humidity, rh_min, t_min, t_lo, t_hi, propagation_, days_min, days_max,      \
              success, delicate, delicate_why, rots, ruined, reason, grade, our_source, toxicity_, \
              confidence_, source_)                                                                \
    {.code = #code_,                                                                               \
     .botanical_name = (botanical),                                                                \
     .common_name = (common),                                                                      \
     .family = (family_),                                                                          \
     .growth_form = (growth),                                                                      \
     .light_class = (light),                                                                       \
     .ppfd_min_umol_m2_s = (ppfd_min),                                                             \
     .ppfd_max_umol_m2_s = (ppfd_max),                                                             \
     .humidity_class = (humidity),                                                                 \
     .rh_min_pct = (rh_min),                                                                       \
     .temp_min_c = (t_min),                                                                        \
     .temp_opt_lo_c = (t_lo),                                                                      \
     .temp_opt_hi_c = (t_hi),                                                                      \
     .propagation = (propagation_),                                                                \
     .rooting_days_min = (days_min),                                                               \
     .rooting_days_max = (days_max),                                                               \
     .delicate_flag = #delicate,                                                                   \
     .delicate_reason = (delicate_why),                                                            \
     .rots_when_closed = (rots),                                                                   \
     .is_ruined_by_rinse = (ruined),                                                               \
     .toxicity = (toxicity_),                                                                      \
     .confidence = #confidence_,                                                                   \
     .source = (source_)},
#define LOOKALIKE(code_, name_, like, cue_, source_)                                               \
    {.code = #code_, .name = (name_), .looks_like = (like), .cue = (cue_), .source = (source_)},
#define SOURCE(key_, citation_, grade_, note)                                                      \
    {.key = #key_, .citation = (citation_), .grade = (grade_)},

static const fl_know_use uses[] = {fl_list_uses(USE)};
static const fl_know_plant plants[] = {fl_list_plants(PLANT)};
static const fl_know_lookalike lookalikes[] = {fl_list_lookalikes(LOOKALIKE)};
static const fl_know_source sources[] = {fl_list_sources(SOURCE)};

fl_know_use fl_know_use_of(fl_use use)
{
    for (size_t i = 0; i < fl_rows_uses_count; i++) {
        if (fl_scope_is(uses[i].code, fl_words_use[use].word)) {
            return uses[i];
        }
    }
    assert(false && "every use has its row: a test goes through them");
    return uses[0];
}

size_t fl_know_plant_count(void)
{
    return fl_rows_plants_count;
}

const fl_know_plant *fl_know_plant_at(size_t index)
{
    assert(index < fl_rows_plants_count);
    return &plants[index];
}

const fl_know_plant *fl_know_plant_find(fl_sv name)
{
    if (name.len == 0) {
        return NULL; /* many plants have no common name */
    }
    for (size_t i = 0; i < fl_rows_plants_count; i++) {
        if (fl_sv_eq_nocase(name, fl_sv_from_cstr(plants[i].botanical_name)) ||
            fl_sv_eq_nocase(name, fl_sv_from_cstr(plants[i].common_name))) {
            return &plants[i];
        }
    }
    return NULL;
}

size_t fl_know_lookalike_count(void)
{
    return fl_rows_lookalikes_count;
}

const fl_know_lookalike *fl_know_lookalike_at(size_t index)
{
    assert(index < fl_rows_lookalikes_count);
    return &lookalikes[index];
}

const fl_know_source *fl_know_source_find(fl_sv key)
{
    for (size_t i = 0; i < fl_rows_sources_count; i++) {
        if (fl_sv_eq_cstr(key, sources[i].key)) {
            return &sources[i];
        }
    }
    return NULL;
}
