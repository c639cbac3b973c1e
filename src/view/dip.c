/* A bath as JSON: what to measure, what it was seen to do at that strength and time, which plants
 * it harms, and what it may never be mixed with. One place for the command and the API. */
#include "view/dip.h"

#include <math.h>

#include "base/limits.h"
#include "base/shown.h"
#include "base/str.h"
#include "core/dip/advice.h"
#include "core/dip/efficacy.h"
#include "core/dip/recipe.h"
#include "core/dip/safety.h"
#include "core/know/know.h"

static const char *const risks[] = {"low", "moderate", "high", "never"};

/* ---- what is never done ---- */

static fl_status check_blocks(const fl_dip_asked *asked, fl_agent agent, fl_err *err)
{
    fl_dip_clash clash;
    const char *word = fl_words_agent[agent].word;
    if (asked->has_animals_in && agent != FL_AGENT_NONE) {
        return fl_fail(err, FL_EINVAL,
                       "never %s with animals in: take them out first, or take the plant out",
                       fl_words_agent[agent].text);
    }
    if (asked->with.len > 0 && fl_dip_conflict_words(fl_sv_from_cstr(word), asked->with, &clash)) {
        return fl_fail(err, FL_EINVAL, "never %s with %.*s (%s): %s", word, FL_SHOWN(asked->with),
                       clash.hazard, clash.text);
    }
    return FL_OK;
}

static fl_status find_plant(const fl_dip_asked *asked, const fl_know_plant **row, fl_form *form,
                            fl_err *err)
{
    *form = FL_FORM_BARE_ROOT;
    *row = NULL;
    if (asked->form.len > 0) {
        int found = fl_word_find(fl_words_form, FL_FORM_COUNT, asked->form);
        if (found < 0) {
            return fl_fail(err, FL_EINVAL, "--form \"%.*s\": give potted, plug, bare_root …",
                           FL_SHOWN(asked->form));
        }
        *form = (fl_form)found;
    }
    if (asked->plant.len > 0) {
        *row = fl_know_plant_find(asked->plant);
        if (*row == NULL) {
            return fl_fail(err, FL_ENOTFOUND, "no plant \"%.*s\" in the table: leave it out",
                           FL_SHOWN(asked->plant));
        }
    }
    return FL_OK;
}

static fl_delicacy delicacy_of(const fl_know_plant *row)
{
    return row == NULL ? FL_DELICACY_CAUTION : fl_delicacy_of(fl_sv_from_cstr(row->delicate_flag));
}

/* Hot water beyond what the plant stands is refused. */
static fl_status check_hot_water(const fl_dip_asked *asked, const fl_know_plant *row, fl_err *err)
{
    fl_sv family = fl_sv_from_cstr(row == NULL ? "" : row->family);
    double minutes = isnan(asked->minutes) ? 5.0 : asked->minutes;
    return fl_dip_hot_water_check(family, row == NULL ? FL_DELICACY_NONE : delicacy_of(row),
                                  asked->target, minutes, err);
}

/* ---- what to measure ---- */

static fl_status put_liquid(fl_json_writer *w, fl_status status, const fl_liquid_recipe *r)
{
    if (status == FL_OK) {
        fl_json_put_number(w, "product_ml", r->product_ml);
        fl_json_put_number(w, "water_ml", r->water_ml);
    }
    return status;
}

static fl_status put_recipe(const fl_dip_asked *asked, fl_agent agent, fl_json_writer *w,
                            fl_err *err)
{
    double target = asked->target;
    double total_ml = asked->total_ml;
    fl_permanganate_recipe pink;
    fl_hot_water_recipe hot;
    fl_liquid_recipe liquid = {0};
    fl_status status = FL_OK;
    if (isnan(asked->total_ml) || agent == FL_AGENT_NONE || agent == FL_AGENT_BLEACH) {
        return FL_OK;
    }
    if (agent == FL_AGENT_PEROXIDE) {
        status = fl_peroxide_plan(asked->label_pct, target, total_ml, &liquid, err);
        return put_liquid(w, status, &liquid);
    }
    if (agent == FL_AGENT_SOAP) {
        status = fl_soap_plan(asked->label_pct, target, total_ml, &liquid, err);
        return put_liquid(w, status, &liquid);
    }
    if (agent == FL_AGENT_PERMANGANATE) {
        status = fl_permanganate_plan(target, total_ml, asked->stock_g_per_l, &pink, err);
        if (status == FL_OK) {
            fl_json_put_number(w, "crystals_mg", pink.crystals_mg);
            fl_json_put_number(w, "stock_ml", pink.stock_ml);
            fl_json_put_number(w, "water_ml", pink.water_ml);
        }
        return status;
    }
    status = fl_hot_water_plan(target, total_ml, asked->hot_c, asked->cold_c, &hot, err);
    if (status == FL_OK) {
        fl_json_put_number(w, "hot_ml", hot.hot_ml);
        fl_json_put_number(w, "cold_ml", hot.cold_ml);
    }
    return status;
}

/* ---- what is known of it ---- */

/* "S1|S2" in words: the works themselves. */
static void put_citations(fl_sv keys, fl_json_writer *w)
{
    fl_str text;
    fl_str_init(&text, FL_NOTE_BYTES_MAX);
    while (keys.len > 0) {
        const char *citation = fl_dip_citation(fl_sv_split(&keys, '|'));
        if (citation != NULL) {
            fl_str_appendf(&text, "%s%s", text.len > 0 ? "; " : "", citation);
        }
    }
    fl_json_put_text(w, "source_text", fl_str_sv(&text));
    fl_str_done(&text);
}

static void put_effect(const fl_efficacy *e, fl_json_writer *w)
{
    static const char *const outcomes[] = {"untested", "fails", "partly", "reduces", "kills"};
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "organism", e->organism);
    fl_json_put_cstr(w, "name", e->organism_name);
    fl_json_put_cstr(w, "outcome", outcomes[e->outcome]);
    fl_json_put_number(w, "tested_at", e->tested_conc);
    fl_json_put_cstr(w, "tested_unit", e->tested_unit);
    fl_json_put_number(w, "tested_minutes", e->tested_minutes);
    fl_json_put_cstr(w, "setting", e->setting);
    fl_json_put_cstr(w, "source", e->source);
    put_citations(fl_sv_from_cstr(e->source), w);
    fl_json_put_cstr(w, "note", e->note);
    fl_json_end(w);
}

static void put_effects(const fl_dip_asked *asked, fl_agent agent, fl_json_writer *w)
{
    const fl_dip_bath bath = {agent, asked->target, asked->pct_by_volume, asked->minutes};
    fl_json_begin_array(w, "effects");
    for (size_t i = 0; i < fl_dip_organism_count(); i++) {
        fl_efficacy e = fl_dip_efficacy(&bath, fl_sv_from_cstr(fl_dip_organism(i)));
        e.organism = fl_dip_organism(i);
        put_effect(&e, w);
    }
    fl_json_end(w);
}

static void put_uses(fl_agent agent, fl_json_writer *w)
{
    fl_json_begin_array(w, "tried_uses");
    for (size_t i = 0; i < fl_agent_use_count(); i++) {
        const fl_agent_use use = fl_agent_use_at(i);
        if (!fl_sv_eq_cstr(fl_sv_from_cstr(use.agent), fl_words_agent[agent].word)) {
            continue;
        }
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "name", use.name);
        fl_json_put_number(w, "conc_low", use.conc_low);
        fl_json_put_number(w, "conc_high", use.conc_high);
        fl_json_put_cstr(w, "unit", use.unit);
        fl_json_put_cstr(w, "basis", use.basis);
        fl_json_put_number(w, "minutes_low", use.minutes_low);
        fl_json_put_number(w, "minutes_high", use.minutes_high);
        fl_json_put_cstr(w, "use_on", use.use_on);
        fl_json_put_cstr(w, "good_for", use.good_for);
        fl_json_put_cstr(w, "not_good_for", use.not_good_for);
        fl_json_put_cstr(w, "plant_risk", use.plant_risk);
        fl_json_put_cstr(w, "after", use.after);
        fl_json_put_cstr(w, "grade", use.grade);
        fl_json_put_cstr(w, "source", use.source);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_cautions(fl_agent agent, fl_json_writer *w)
{
    fl_caution caution[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(agent, 0, caution);
    fl_json_begin_array(w, "cautions");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_cstr(w, NULL, caution[i].text);
    }
    fl_json_end(w);
}

/* Every tested point of the agent, at whatever strength. */
static void put_tested(fl_agent agent, fl_json_writer *w)
{
    fl_json_begin_array(w, "tested");
    for (size_t i = 0; i < fl_dip_tested_count(); i++) {
        fl_efficacy e;
        if (fl_dip_tested_at(i, &e) == agent) {
            put_effect(&e, w);
        }
    }
    fl_json_end(w);
}

/* How the plant that was asked about, or plants of each kind, take it. */
static void put_harms(fl_agent agent, fl_form form, fl_json_writer *w)
{
    static const char *const kinds[] = {"hardy", "delicate", "very delicate"};
    fl_json_begin_array(w, "harms");
    for (int i = FL_DELICACY_NONE; i <= FL_DELICACY_HIGH; i++) {
        const char *why = "";
        fl_plant_risk risk = fl_dip_plant_risk(agent, form, (fl_delicacy)i, &why);
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "plants", kinds[i]);
        fl_json_put_cstr(w, "risk", risks[risk]);
        fl_json_put_cstr(w, "why", why);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_never_with(fl_agent agent, fl_json_writer *w)
{
    static const char *const others[] = {"acid",     "ammonia",      "alcohol",      "bleach",
                                         "peroxide", "permanganate", "peroxyacetic", "formalin",
                                         "glycerol", "thiosulfate",  "soap"};
    fl_dip_clash clash;
    fl_json_begin_array(w, "never_with");
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        if (fl_dip_conflict_words(fl_sv_from_cstr(fl_words_agent[agent].word),
                                  fl_sv_from_cstr(others[i]), &clash)) {
            fl_json_begin_object(w, NULL);
            fl_json_put_cstr(w, "with", others[i]);
            fl_json_put_cstr(w, "hazard", clash.hazard);
            fl_json_put_cstr(w, "text", clash.text);
            fl_json_put_cstr(w, "source", clash.source);
            fl_json_end(w);
        }
    }
    fl_json_end(w);
}

fl_status fl_view_dip(const fl_dip_asked *asked, fl_json_writer *w, fl_err *err)
{
    const fl_agent agent = asked->agent;
    const fl_know_plant *row = NULL;
    const char *why = "";
    fl_form form = FL_FORM_BARE_ROOT;
    fl_status status = check_blocks(asked, agent, err);
    if (status == FL_OK) {
        status = find_plant(asked, &row, &form, err);
    }
    if (status == FL_OK && agent == FL_AGENT_HOT_WATER && !isnan(asked->target)) {
        status = check_hot_water(asked, row, err);
    }
    fl_json_put_cstr(w, "agent", fl_words_agent[agent].word);
    fl_json_put_cstr(w, "agent_text", fl_words_agent[agent].text);
    if (status == FL_OK) {
        status = put_recipe(asked, agent, w, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_plant_risk risk = fl_dip_plant_risk(agent, form, delicacy_of(row), &why);
    fl_json_put_cstr(w, "plant_risk", risks[risk]);
    fl_json_put_cstr(w, "plant_risk_why", why);
    put_effects(asked, agent, w);
    put_tested(agent, w);
    put_harms(agent, form, w);
    put_never_with(agent, w);
    put_uses(agent, w);
    put_cautions(agent, w);
    fl_json_put_cstr(w, "note",
                     "A dip follows from where the plant has been and where it is to go (fernlock "
                     "prep); it is no ritual. Tested points are in vitro unless told.");
    return FL_OK;
}
