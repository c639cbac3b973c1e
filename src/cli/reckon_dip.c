/* reckon dip: a bath in anything but plain water: what to measure, what it was seen to do at that
 * strength and time, which plants it harms, and what it may never be mixed with. Bleach by parts
 * and by the bottle's age is reckon bleach. */
#include <math.h>

#include "base/shown.h"
#include "cli/reckon.h"
#include "core/dip/advice.h"
#include "core/dip/efficacy.h"
#include "core/dip/recipe.h"
#include "core/dip/safety.h"
#include "core/know/know.h"

enum {
    AGENT,
    TARGET,
    TOTAL,
    LABEL,
    STOCK,
    HOT,
    COLD,
    MINUTES,
    BY_VOLUME,
    PLANT,
    FORM,
    WITH,
    ANIMALS,
    OPTION_COUNT
};

static const fl_arg options[OPTION_COUNT] = {
    [AGENT] = {"agent", FL_ARG_TEXT, .is_required = true,
               .choices = "none|bleach|permanganate|peroxide|soap|hot_water",
               .help = "what is in it"},
    [TARGET] = {"target", FL_ARG_NUMBER,
                .help = "its strength: mg/L of available chlorine, permanganate or peroxide; % of "
                        "soap; C of hot water"},
    [TOTAL] = {"total-ml", FL_ARG_NUMBER, .help = "volume of the bath, ml: tells what to measure"},
    [LABEL] = {"label-pct", FL_ARG_NUMBER, .help = "of peroxide or soap: % on the label"},
    [STOCK] = {"stock-g-per-l", FL_ARG_NUMBER, .help = "of permanganate: a stock solution"},
    [HOT] = {"hot-c", FL_ARG_NUMBER, .help = "of hot water: the hot water, C"},
    [COLD] = {"cold-c", FL_ARG_NUMBER, .help = "and the cold, C"},
    [MINUTES] = {"minutes", FL_ARG_NUMBER, .min = 0.001, .max = 10000, .help = "how long"},
    [BY_VOLUME] = {"pct-by-volume", FL_ARG_NUMBER, .min = 0.001, .max = 100,
                   .help = "of bleach: product in the bath, % by volume"},
    [PLANT] = {"plant", FL_ARG_TEXT, .help = "botanical or common name: what it stands"},
    [FORM] = {"form", FL_ARG_TEXT, .help = "potted, plug, bare_root …; else bare_root"},
    [WITH] = {"with", FL_ARG_TEXT,
              .help =
                  "what else would be in the bath: an agent, acid, ammonia, alcohol, formalin …"},
    [ANIMALS] = {"animals-in", FL_ARG_FLAG, .help = "animals are in what is to be treated"},
};

static double or_untold(const fl_arg_value *value)
{
    return value->is_given ? value->number : (double)NAN;
}

/* ---- what is never done ---- */

static fl_status check_blocks(const fl_arg_value *value, fl_agent agent, fl_err *err)
{
    fl_dip_clash clash;
    const char *word = fl_words_agent[agent].word;
    if (value[ANIMALS].is_given && agent != FL_AGENT_NONE) {
        return fl_fail(err, FL_EINVAL,
                       "never %s with animals in: take them out first, or take the plant out",
                       fl_words_agent[agent].text);
    }
    if (value[WITH].is_given &&
        fl_dip_conflict_words(fl_sv_from_cstr(word), value[WITH].text, &clash)) {
        return fl_fail(err, FL_EINVAL, "never %s with %.*s (%s): %s", word,
                       FL_SHOWN(value[WITH].text), clash.hazard, clash.text);
    }
    return FL_OK;
}

static fl_status find_plant(const fl_arg_value *value, const fl_know_plant **row, fl_form *form,
                            fl_err *err)
{
    *form = FL_FORM_BARE_ROOT;
    *row = NULL;
    if (value[FORM].is_given) {
        int found = fl_word_find(fl_words_form, FL_FORM_COUNT, value[FORM].text);
        if (found < 0) {
            return fl_fail(err, FL_EINVAL, "--form \"%.*s\": give potted, plug, bare_root …",
                           FL_SHOWN(value[FORM].text));
        }
        *form = (fl_form)found;
    }
    if (value[PLANT].is_given) {
        *row = fl_know_plant_find(value[PLANT].text);
        if (*row == NULL) {
            return fl_fail(err, FL_ENOTFOUND, "no plant \"%.*s\" in the table: leave it out",
                           FL_SHOWN(value[PLANT].text));
        }
    }
    return FL_OK;
}

static fl_delicacy delicacy_of(const fl_know_plant *row)
{
    return row == NULL ? FL_DELICACY_CAUTION : fl_delicacy_of(fl_sv_from_cstr(row->delicate_flag));
}

/* Hot water beyond what the plant stands is refused. */
static fl_status check_hot_water(const fl_arg_value *value, const fl_know_plant *row, fl_err *err)
{
    fl_sv family = fl_sv_from_cstr(row == NULL ? "" : row->family);
    double minutes = value[MINUTES].is_given ? value[MINUTES].number : 5.0;
    return fl_dip_hot_water_check(family, row == NULL ? FL_DELICACY_NONE : delicacy_of(row),
                                  or_untold(&value[TARGET]), minutes, err);
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

static fl_status put_recipe(const fl_arg_value *value, fl_agent agent, fl_json_writer *w,
                            fl_err *err)
{
    double target = or_untold(&value[TARGET]);
    double total_ml = value[TOTAL].number;
    fl_permanganate_recipe pink;
    fl_hot_water_recipe hot;
    fl_liquid_recipe liquid = {0};
    fl_status status = FL_OK;
    if (!value[TOTAL].is_given || agent == FL_AGENT_NONE || agent == FL_AGENT_BLEACH) {
        return FL_OK;
    }
    if (agent == FL_AGENT_PEROXIDE) {
        status = fl_peroxide_plan(or_untold(&value[LABEL]), target, total_ml, &liquid, err);
        return put_liquid(w, status, &liquid);
    }
    if (agent == FL_AGENT_SOAP) {
        status = fl_soap_plan(or_untold(&value[LABEL]), target, total_ml, &liquid, err);
        return put_liquid(w, status, &liquid);
    }
    if (agent == FL_AGENT_PERMANGANATE) {
        status = fl_permanganate_plan(target, total_ml, or_untold(&value[STOCK]), &pink, err);
        if (status == FL_OK) {
            fl_json_put_number(w, "crystals_mg", pink.crystals_mg);
            fl_json_put_number(w, "stock_ml", pink.stock_ml);
            fl_json_put_number(w, "water_ml", pink.water_ml);
        }
        return status;
    }
    status = fl_hot_water_plan(target, total_ml, or_untold(&value[HOT]), or_untold(&value[COLD]),
                               &hot, err);
    if (status == FL_OK) {
        fl_json_put_number(w, "hot_ml", hot.hot_ml);
        fl_json_put_number(w, "cold_ml", hot.cold_ml);
    }
    return status;
}

/* ---- what is known of it ---- */

static void put_effects(const fl_arg_value *value, fl_agent agent, fl_json_writer *w)
{
    static const char *const outcomes[] = {"untested", "fails", "partly", "reduces", "kills"};
    const fl_dip_bath bath = {agent, or_untold(&value[TARGET]), or_untold(&value[BY_VOLUME]),
                              or_untold(&value[MINUTES])};
    fl_json_begin_array(w, "effects");
    for (size_t i = 0; i < fl_dip_organism_count(); i++) {
        fl_efficacy e = fl_dip_efficacy(&bath, fl_sv_from_cstr(fl_dip_organism(i)));
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "organism", fl_dip_organism(i));
        fl_json_put_cstr(w, "name", e.organism_name);
        fl_json_put_cstr(w, "outcome", outcomes[e.outcome]);
        fl_json_put_number(w, "tested_at", e.tested_conc);
        fl_json_put_cstr(w, "tested_unit", e.tested_unit);
        fl_json_put_number(w, "tested_minutes", e.tested_minutes);
        fl_json_put_cstr(w, "setting", e.setting);
        fl_json_put_cstr(w, "source", e.source);
        fl_json_put_cstr(w, "note", e.note);
        fl_json_end(w);
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

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    static const char *const risks[] = {"low", "moderate", "high", "never"};
    static const fl_agent agents[] = {FL_AGENT_NONE,     FL_AGENT_BLEACH, FL_AGENT_PERMANGANATE,
                                      FL_AGENT_PEROXIDE, FL_AGENT_SOAP,   FL_AGENT_HOT_WATER};
    const fl_agent agent = agents[value[AGENT].choice];
    const fl_know_plant *row = NULL;
    const char *why = "";
    fl_form form = FL_FORM_BARE_ROOT;
    fl_status status = check_blocks(value, agent, err);
    if (status == FL_OK) {
        status = find_plant(value, &row, &form, err);
    }
    if (status == FL_OK && agent == FL_AGENT_HOT_WATER && value[TARGET].is_given) {
        status = check_hot_water(value, row, err);
    }
    fl_json_put_cstr(w, "agent", fl_words_agent[agent].word);
    if (status == FL_OK) {
        status = put_recipe(value, agent, w, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_plant_risk risk = fl_dip_plant_risk(agent, form, delicacy_of(row), &why);
    fl_json_put_cstr(w, "plant_risk", risks[risk]);
    fl_json_put_cstr(w, "plant_risk_why", why);
    put_effects(value, agent, w);
    put_uses(agent, w);
    put_cautions(agent, w);
    fl_json_put_cstr(w, "note",
                     "A dip follows from where the plant has been and where it is to go (fernlock "
                     "prep); it is no ritual. Tested points are in vitro unless told.");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_dip;
const fl_reckon_topic fl_reckon_topic_dip = {
    .name = "dip",
    .summary = "a bath in permanganate, peroxide, soap, hot or plain water: what to measure, what "
               "it was seen to do",
    .example = "dip --agent peroxide --label-pct 3 --target 900 --total-ml 2000 --minutes 3",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
