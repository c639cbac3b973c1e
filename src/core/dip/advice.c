/* Advice on dips, by rules that are written out here one by one. */
#include "core/dip/advice.h"

#include <math.h>
#include <stddef.h>

#define HOT_WATER_MIN_C 39.0
#define HOT_WATER_MAX_C 49.0
#define HOT_WATER_MAX_MINUTES 15.0

#define FL_DIP_REASON_ENTRY(name, word, text) {word, text},
const fl_word fl_words_dip_reason[FL_DIP_REASON_COUNT] = {FL_DIP_REASON_LIST(FL_DIP_REASON_ENTRY)};
#undef FL_DIP_REASON_ENTRY

fl_delicacy fl_delicacy_of(fl_sv word)
{
    if (fl_sv_eq_cstr(word, "none")) {
        return FL_DELICACY_NONE;
    }
    return fl_sv_eq_cstr(word, "high") ? FL_DELICACY_HIGH : FL_DELICACY_CAUTION;
}

/* One cell of the risk table: an agent by delicacy, for an ordinary plant in leaf. */
typedef struct risk_row {
    fl_plant_risk by_delicacy[3];
    const char *why;
} risk_row;

static risk_row row_of(fl_agent agent)
{
    static const risk_row bleach = {
        {FL_PLANT_RISK_MODERATE, FL_PLANT_RISK_HIGH, FL_PLANT_RISK_NEVER},
        "common practice on firm leaves, no trial known; soft and fuzzy leaves are burnt"};
    static const risk_row permanganate = {
        {FL_PLANT_RISK_MODERATE, FL_PLANT_RISK_HIGH, FL_PLANT_RISK_NEVER},
        "no tested dose for plants is known"};
    static const risk_row peroxide = {
        {FL_PLANT_RISK_LOW, FL_PLANT_RISK_MODERATE, FL_PLANT_RISK_HIGH},
        "most species took 900 mg/L on the leaves; young leaves and repeated use are damaged"};
    static const risk_row soap = {{FL_PLANT_RISK_LOW, FL_PLANT_RISK_HIGH, FL_PLANT_RISK_NEVER},
                                  "maidenhair ferns, begonias and other thin leaves are harmed"};
    static const risk_row hot_water = {
        {FL_PLANT_RISK_MODERATE, FL_PLANT_RISK_HIGH, FL_PLANT_RISK_NEVER},
        "potted plants stood 45 to 49 C for minutes; orchids and bromeliads do not"};
    static const risk_row pesticide = {
        {FL_PLANT_RISK_MODERATE, FL_PLANT_RISK_HIGH, FL_PLANT_RISK_HIGH},
        "the label says on which plants it may go"};
    static const risk_row water = {
        {FL_PLANT_RISK_LOW, FL_PLANT_RISK_LOW, FL_PLANT_RISK_MODERATE},
        "gentle rinsing; what a rinse ruins is soaked in changes of water"};
    switch (agent) {
    case FL_AGENT_BLEACH:
        return bleach;
    case FL_AGENT_PERMANGANATE:
        return permanganate;
    case FL_AGENT_PEROXIDE:
        return peroxide;
    case FL_AGENT_SOAP:
        return soap;
    case FL_AGENT_HOT_WATER:
        return hot_water;
    case FL_AGENT_PESTICIDE:
        return pesticide;
    case FL_AGENT_NONE:
    case FL_AGENT_THIOSULFATE:
    case FL_AGENT_COUNT:
        break;
    }
    return water;
}

static fl_plant_risk worse(fl_plant_risk a, fl_plant_risk b)
{
    return a > b ? a : b;
}

fl_plant_risk fl_dip_plant_risk(fl_agent agent, fl_form form, fl_delicacy delicacy,
                                const char **why)
{
    risk_row row = row_of(agent);
    fl_plant_risk risk = row.by_delicacy[delicacy];
    const char *said = row.why;
    bool is_gentle = agent == FL_AGENT_NONE || agent == FL_AGENT_THIOSULFATE;
    if (!is_gentle && fl_form_is_material(form)) {
        risk = FL_PLANT_RISK_NEVER;
        said = "mix, litter, wood and cultures soak it up and hold it";
    } else if (!is_gentle && form == FL_FORM_MOSS_CLUMP) {
        /* moss takes a dip up like a sponge and cannot be rinsed out again */
        risk = FL_PLANT_RISK_NEVER;
        said = "moss takes it up like a sponge and cannot be rinsed clean";
    } else if (!is_gentle && form == FL_FORM_TISSUE_CULTURE) {
        risk = worse(risk, FL_PLANT_RISK_HIGH);
        said = "plants out of tissue culture have no wax on their leaves yet";
    } else if (!is_gentle && form == FL_FORM_UNROOTED_CUTTING) {
        /* cut surfaces were what a strong dip damaged (S27) */
        risk = worse(risk, FL_PLANT_RISK_MODERATE);
    }
    if (why != NULL) {
        *why = said;
    }
    return risk;
}

fl_status fl_dip_hot_water_check(fl_sv family, fl_delicacy delicacy, double temp_c, double minutes,
                                 fl_err *err)
{
    if (!(temp_c >= HOT_WATER_MIN_C) || temp_c > HOT_WATER_MAX_C) {
        return fl_fail(err, FL_EDOMAIN, "bath at %g C: potted plants were tried at %g to %g C",
                       temp_c, HOT_WATER_MIN_C, HOT_WATER_MAX_C);
    }
    if (!(minutes > 0.0) || minutes > HOT_WATER_MAX_MINUTES) {
        return fl_fail(err, FL_EDOMAIN, "%g minutes in hot water: give more than 0, at most %g",
                       minutes, HOT_WATER_MAX_MINUTES);
    }
    if (fl_sv_eq_nocase(family, FL_SV("Orchidaceae")) ||
        fl_sv_eq_nocase(family, FL_SV("Bromeliaceae"))) {
        return fl_fail(err, FL_EDOMAIN, "%.*s do not stand hot water: choose another way",
                       FL_SV_ARG(family));
    }
    if (delicacy == FL_DELICACY_HIGH) {
        return fl_fail(err, FL_EDOMAIN, "this plant is too delicate for hot water");
    }
    return FL_OK;
}

/* True where a disease of amphibians or reptiles would find them, now or through cuttings. */
static bool matters_there(fl_use use)
{
    return use == FL_USE_AMPHIBIAN || use == FL_USE_REPTILE || use == FL_USE_STOCK;
}

static bool was_with_animals(const fl_dip_question *q)
{
    return q->has_animals_with_plants || q->history == FL_HISTORY_ANIMALS ||
           q->history == FL_HISTORY_PATHOGEN || q->source_kind == FL_SOURCE_OWN_ENCLOSURE;
}

/* The reason before it is asked what the plant would stand. */
static fl_dip_reason first_reason(const fl_dip_question *q)
{
    if (fl_form_is_material(q->form)) {
        return FL_DIP_MATERIAL;
    }
    if (q->form == FL_FORM_TISSUE_CULTURE) {
        return FL_DIP_TISSUE_CULTURE;
    }
    if (q->form == FL_FORM_SEED) {
        return FL_DIP_SEED;
    }
    if (was_with_animals(q) && matters_there(q->use)) {
        return q->history == FL_HISTORY_PATHOGEN ? FL_DIP_PATHOGEN : FL_DIP_ANIMALS;
    }
    if (q->history == FL_HISTORY_PLANT_DISEASE) {
        return FL_DIP_PLANT_DISEASE;
    }
    return matters_there(q->use) ? FL_DIP_NO_HISTORY : FL_DIP_NO_ANIMALS_THERE;
}

fl_dip_advice fl_dip_recommend(const fl_dip_question *question)
{
    fl_dip_advice advice = {.agent = FL_AGENT_NONE,
                            .reason = first_reason(question),
                            .risk = FL_PLANT_RISK_LOW,
                            .risk_why = "",
                            .product_pct_by_volume = (double)NAN,
                            .minutes_low = (double)NAN,
                            .minutes_high = (double)NAN};
    bool wants_dip = advice.reason == FL_DIP_ANIMALS || advice.reason == FL_DIP_PATHOGEN;
    advice.is_better_refused =
        advice.reason == FL_DIP_PATHOGEN || advice.reason == FL_DIP_PLANT_DISEASE;
    if (!wants_dip) {
        return advice;
    }
    fl_plant_risk risk =
        fl_dip_plant_risk(FL_AGENT_BLEACH, question->form, question->delicacy, &advice.risk_why);
    if (risk == FL_PLANT_RISK_NEVER) {
        advice.reason = FL_DIP_TOO_DELICATE;
        advice.is_better_refused = true;
        return advice;
    }
    advice.agent = FL_AGENT_BLEACH;
    advice.risk = risk;
    advice.product_pct_by_volume = 5.0;
    advice.minutes_low = 1.0;
    advice.minutes_high = question->delicacy == FL_DELICACY_NONE ? 3.0 : 2.0;
    return advice;
}
