/* The plan by form. Minutes come from data/steps.csv by their codes. */
#include "core/prep/prep.h"

#include <assert.h>
#include <string.h>

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_prep_reason[FL_PREP_REASON_COUNT] = {FL_PREP_REASON_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_prep_verdict[FL_PREP_VERDICT_COUNT] = {FL_PREP_VERDICT_LIST(FL_WORD_ENTRY)};

/* A step by its code in data/steps.csv. */
static void add(fl_prep_plan *plan, const char *code, fl_prep_reason reason, bool is_called_for)
{
    for (size_t i = 0; i < fl_know_step_count(); i++) {
        fl_know_step row = fl_know_step_at(i);
        if (strcmp(row.code, code) != 0) {
            continue;
        }
        assert(plan->n_steps < FL_PREP_STEPS_MAX);
        plan->steps[plan->n_steps++] = (fl_prep_step){.step = row.step,
                                                      .agent = row.agent,
                                                      .minutes_low = row.minutes_low,
                                                      .minutes_high = row.minutes_high,
                                                      .minutes_usual = row.minutes_usual,
                                                      .times = 1,
                                                      .reason = reason,
                                                      .is_called_for = is_called_for};
        return;
    }
    assert(false && "a step code that data/steps.csv does not have");
}

static bool is_ruined_by_rinse(const fl_prep_input *in)
{
    return in->is_delicate || in->form == FL_FORM_MOSS_CLUMP ||
           (in->row != NULL && in->row->is_ruined_by_rinse);
}

/* Rinse and soak, or the still soaks that take their place. */
static void add_wash(const fl_prep_input *in, fl_prep_plan *plan)
{
    if (is_ruined_by_rinse(in)) {
        add(plan, "wash_soak", FL_PREP_STILL_SOAKS, true);
        plan->steps[plan->n_steps - 1].times = 3;
        return;
    }
    add(plan, "rinse", FL_PREP_WASH_LEAVES, true);
    if (in->form != FL_FORM_UNROOTED_CUTTING) {
        add(plan, "wash_soak", FL_PREP_SOAK_ROOTS, true);
    }
}

static void add_dip(const fl_prep_input *in, fl_prep_plan *plan)
{
    if (plan->dip.agent != FL_AGENT_BLEACH || plan->dip.is_better_refused) {
        return;
    }
    bool called_for = in->use == FL_USE_AMPHIBIAN;
    add(plan, "soak_before_dip", FL_PREP_WET_FIRST, false);
    add(plan, "bleach_dip", FL_PREP_DIP, called_for);
    add(plan, "neutralise", FL_PREP_NEUTRALISE, false);
    add(plan, "soak_after_dip", FL_PREP_AFTER_SOAK, called_for);
}

static void plan_material(const fl_prep_input *in, fl_prep_plan *plan)
{
    switch ((int)in->form) {
    case FL_FORM_MIX_BAGGED:
    case FL_FORM_MIX_OPEN:
        add(plan, "bake", FL_PREP_HEAT_MATERIAL, in->form == FL_FORM_MIX_OPEN);
        return;
    case FL_FORM_LEAF_LITTER:
    case FL_FORM_WOOD:
        add(plan, "boil", FL_PREP_HEAT_MATERIAL, true);
        return;
    default: /* a living culture is only looked at */
        plan->nothing = FL_PREP_NOTHING;
        return;
    }
}

static void plan_plant(const fl_prep_input *in, fl_prep_plan *plan)
{
    switch ((int)in->form) {
    case FL_FORM_SEED:
        plan->nothing = FL_PREP_NOTHING;
        return;
    case FL_FORM_TISSUE_CULTURE:
        add(plan, "rinse", FL_PREP_GEL_OFF, true);
        add(plan, "drain", FL_PREP_DRAIN, false);
        add(plan, "pot_up", FL_PREP_FRESH_MIX, false);
        return;
    case FL_FORM_POTTED:
    case FL_FORM_PLUG:
        add(plan, "strip", FL_PREP_MIX_HIDES, true);
        break;
    default:
        break;
    }
    add_wash(in, plan);
    add_dip(in, plan);
    add(plan, "drain", FL_PREP_DRAIN, false);
    bool wants_mix = in->form != FL_FORM_MOUNTED && in->form != FL_FORM_MOSS_CLUMP;
    if (wants_mix) {
        add(plan, "pot_up", FL_PREP_FRESH_MIX, false);
    }
}

/* Worth it? Where it is going decides; the chances are priced elsewhere. */
static void judge(const fl_prep_input *in, fl_prep_plan *plan)
{
    bool bars = fl_know_use_of(in->use).bars_systemics;
    if (plan->dip.is_better_refused) {
        plan->verdict = FL_PREP_NOT_FOR_THERE;
        plan->verdict_why = fl_words_dip_reason[plan->dip.reason].text;
    } else if (in->is_label_systemic && bars) {
        plan->verdict = FL_PREP_NOT_FOR_THERE;
        plan->verdict_why = "Its label names a systemic pesticide, which stays inside the plant: "
                            "another plant, or plants only.";
    } else if (in->is_delicate && in->form == FL_FORM_POTTED &&
               in->source_kind == FL_SOURCE_OUTDOORS) {
        plan->verdict = FL_PREP_CLEAN_TIP;
        plan->verdict_why = "Delicate and from outdoors: it will not stand a wash that would do, "
                            "and much can be in it.";
    }
}

void fl_prep_make(const fl_prep_input *in, fl_prep_plan *out)
{
    *out = (fl_prep_plan){.verdict = FL_PREP_GO, .verdict_why = ""};
    fl_delicacy delicacy = in->row != NULL ? fl_delicacy_of(fl_sv_from_cstr(in->row->delicate_flag))
                                           : FL_DELICACY_CAUTION;
    fl_dip_question question = {.has_animals_with_plants = in->source_keeps_animals,
                                .history = in->history,
                                .source_kind = in->source_kind,
                                .form = in->form,
                                .use = in->use,
                                .delicacy = in->is_delicate ? FL_DELICACY_HIGH : delicacy};
    out->dip = fl_dip_recommend(&question);
    judge(in, out);
    if (fl_form_is_material(in->form)) {
        plan_material(in, out);
    } else {
        plan_plant(in, out);
    }
}

static bool mentions(const char *text, const char *word)
{
    size_t len = strlen(word);
    for (size_t at = 0; at + len <= strlen(text); at++) {
        if (memcmp(text + at, word, len) == 0) {
            return true;
        }
    }
    return false;
}

/* Forms in which slugs and snails, or their slime, come along. */
static bool may_hold_slugs(fl_form form)
{
    switch ((int)form) {
    case FL_FORM_TISSUE_CULTURE:
    case FL_FORM_UNROOTED_CUTTING:
    case FL_FORM_SEED:
    case FL_FORM_MIX_BAGGED:
    case FL_FORM_CULTURE:
        return false;
    default:
        return true;
    }
}

size_t fl_prep_hand_cautions(fl_form form, const fl_know_plant *row, const char **out)
{
    static const struct {
        const char *word; /* in the table's column */
        const char *text;
    } sap[] = {
        {"raphide", "Its sap holds needle crystals (raphides): gloves, and keep it from eyes and "
                    "mouth."},
        {"latex", "Its milky sap (latex) irritates: gloves, and wash off what drips."},
        {"dermatitis", "Its sap can irritate skin: gloves."},
        {"irritate skin", "It can irritate skin: gloves."},
        {"skin reaction", "It can irritate skin: gloves."},
    };
    size_t n = 0;
    if (may_hold_slugs(form)) {
        out[n++] = "Gloves for old mix, moss and litter: slugs and snails in them can carry "
                   "parasites. Wash hands before you eat.";
    }
    for (size_t i = 0; row != NULL && i < sizeof sap / sizeof sap[0] && n < FL_PREP_HANDS_MAX;
         i++) {
        if (mentions(row->toxicity, sap[i].word)) {
            out[n++] = sap[i].text;
        }
    }
    return n;
}

unsigned fl_prep_called_for(const fl_prep_plan *plan)
{
    unsigned mask = 0;
    for (int i = 0; i < plan->n_steps; i++) {
        mask |= plan->steps[i].is_called_for ? 1U << plan->steps[i].step : 0U;
    }
    return mask;
}
