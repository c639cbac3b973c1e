/* Looks tested points up; never interpolates. */
#include "core/dip/efficacy.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/dip/bleach.h"
#include "data/agents.h"
#include "data/chem_sources.h"
#include "data/efficacy.h"

typedef struct fl_row_efficacy row;

/* The bath's strength in the row's unit; NAN when it cannot be told. */
static double strength_in(const fl_dip_bath *bath, const char *unit)
{
    if (strcmp(unit, "mg_per_l_naocl") == 0) {
        return bath->strength / FL_CL2_PER_NAOCL;
    }
    if (strcmp(unit, "pct_by_volume") == 0) {
        return bath->product_pct_by_volume;
    }
    return bath->strength;
}

static fl_efficacy_outcome outcome_of(const row *r)
{
    static const struct {
        const char *word;
        fl_efficacy_outcome outcome;
    } words[] = {{"fails", FL_EFFICACY_FAILS},
                 {"partly", FL_EFFICACY_PARTLY},
                 {"reduces", FL_EFFICACY_REDUCES},
                 {"kills", FL_EFFICACY_KILLS}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(r->outcome, words[i].word) == 0) {
            return words[i].outcome;
        }
    }
    return FL_EFFICACY_UNTESTED;
}

/* Comparisons are written so that an unknown strength or time (NAN) never fits. The last digits of
 * a converted strength are forgiven: 5 % is 5 % however it was computed. */
static bool row_fits(const row *r, const fl_dip_bath *bath)
{
    double conc = strength_in(bath, r->unit);
    double slack = 1e-9 * r->conc;
    if (outcome_of(r) >= FL_EFFICACY_REDUCES) {
        bool is_strong_enough = isnan(r->min_conc_mg_per_l_naocl) ||
                                bath->strength / FL_CL2_PER_NAOCL >= r->min_conc_mg_per_l_naocl;
        return conc >= r->conc - slack && bath->minutes >= r->minutes && is_strong_enough;
    }
    return conc <= r->conc + slack && (isnan(r->minutes) || bath->minutes <= r->minutes);
}

static fl_efficacy answer_of(const row *r)
{
    return (fl_efficacy){.outcome = outcome_of(r),
                         .is_in_vitro = strcmp(r->setting, "in_vitro") == 0,
                         .tested_conc = r->conc,
                         .tested_unit = r->unit,
                         .tested_minutes = r->minutes,
                         .organism = r->organism,
                         .organism_name = r->organism_name,
                         .setting = r->setting,
                         .source = r->source,
                         .note = r->note};
}

fl_efficacy fl_dip_efficacy(const fl_dip_bath *bath, fl_sv organism)
{
    fl_efficacy best = {.outcome = FL_EFFICACY_UNTESTED,
                        .tested_conc = (double)NAN,
                        .tested_unit = "",
                        .tested_minutes = (double)NAN,
                        .organism = "",
                        .organism_name = "",
                        .setting = "",
                        .source = "",
                        .note = ""};
    const char *agent = fl_words_agent[bath->agent].word;
    for (size_t i = 0; i < fl_rows_efficacy_count; i++) {
        const row *r = &fl_rows_efficacy[i];
        if (!fl_sv_eq_cstr(organism, r->organism)) {
            continue;
        }
        if (best.outcome == FL_EFFICACY_UNTESTED) {
            best.organism_name = r->organism_name;
        }
        if (strcmp(agent, r->agent) == 0 && row_fits(r, bath) && outcome_of(r) > best.outcome) {
            best = answer_of(r);
        }
    }
    return best;
}

size_t fl_dip_tested_count(void)
{
    return fl_rows_efficacy_count;
}

fl_agent fl_dip_tested_at(size_t index, fl_efficacy *out)
{
    assert(index < fl_rows_efficacy_count);
    const row *r = &fl_rows_efficacy[index];
    int agent = fl_word_find(fl_words_agent, FL_AGENT_COUNT, fl_sv_from_cstr(r->agent));
    *out = answer_of(r);
    return agent < 0 ? FL_AGENT_COUNT : (fl_agent)agent;
}

/* True when no earlier row has this row's organism. */
static bool is_first_of_organism(size_t index)
{
    for (size_t i = 0; i < index; i++) {
        if (strcmp(fl_rows_efficacy[i].organism, fl_rows_efficacy[index].organism) == 0) {
            return false;
        }
    }
    return true;
}

size_t fl_dip_organism_count(void)
{
    size_t n = 0;
    for (size_t i = 0; i < fl_rows_efficacy_count; i++) {
        n += is_first_of_organism(i) ? 1 : 0;
    }
    return n;
}

const char *fl_dip_organism(size_t index)
{
    size_t n = 0;
    for (size_t i = 0; i < fl_rows_efficacy_count; i++) {
        if (is_first_of_organism(i) && n++ == index) {
            return fl_rows_efficacy[i].organism;
        }
    }
    assert(false && "index in range");
    return "";
}

size_t fl_agent_use_count(void)
{
    return fl_rows_agents_count;
}

fl_agent_use fl_agent_use_at(size_t index)
{
    assert(index < fl_rows_agents_count);
    const struct fl_row_agents *r = &fl_rows_agents[index];
    return (fl_agent_use){.code = r->code,
                          .agent = r->agent,
                          .name = r->name,
                          .conc_low = r->conc_low,
                          .conc_high = r->conc_high,
                          .unit = r->unit,
                          .basis = r->basis,
                          .minutes_low = r->minutes_low,
                          .minutes_high = r->minutes_high,
                          .use_on = r->use_on,
                          .good_for = r->good_for,
                          .not_good_for = r->not_good_for,
                          .plant_risk = r->plant_risk,
                          .after = r->after,
                          .grade = r->grade,
                          .source = r->source};
}

const char *fl_dip_citation(fl_sv key)
{
    for (size_t i = 0; i < fl_rows_chem_sources_count; i++) {
        if (fl_sv_eq_cstr(key, fl_rows_chem_sources[i].key)) {
            return fl_rows_chem_sources[i].citation;
        }
    }
    return NULL;
}
