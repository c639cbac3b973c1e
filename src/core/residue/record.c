/* The rules as tables. Sources, and what is from memory: docs/models/pesticide-record.md. */
#include "core/residue/record.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_record_field[FL_RECORD_FIELDS] = {FL_RECORD_FIELD_LIST(FL_WORD_ENTRY)};

#define HAS(field) (1U << FL_RECORD_##field)

const fl_record_rule fl_record_rules[FL_RECORD_RULES] = {
    {.word = "eu",
     .name = "Commission Implementing Regulation (EU) 2023/564, annex",
     .brief = "EU 2023/564",
     .whom = "professional users of plant protection products in the EU and the EEA",
     .keep_years = 3,
     .keep = "Regulation (EC) No 1107/2009, article 67(1)",
     .when = "without delay, and in a form that machines read within "
             "30 days; a Member State may set other terms and ask for more",
     .asked = HAS(BRAND) | HAS(REGISTRATION) | HAS(DATE) | HAS(RATE) | HAS(SIZE) | HAS(SITE) |
              HAS(CROP) | HAS(EPPO),
     .asked_if = HAS(START) | HAS(STAGE),
     .condition = {[FL_RECORD_START] = "where the authorisation limits the time of day",
                   [FL_RECORD_STAGE] = "where the authorisation limits the growth stage"}},
    {.word = "us",
     .name = "7 CFR 110.3 (USA)",
     .brief = "7 CFR 110.3",
     .whom = "certified applicators of restricted use pesticides in the USA; states may ask for "
             "more, and of others",
     .keep_years = 2,
     .keep = "7 CFR 110.3",
     .when = "within 14 days of the application",
     .asked = HAS(BRAND) | HAS(REGISTRATION) | HAS(DATE) | HAS(AMOUNT) | HAS(SIZE) | HAS(SITE) |
              HAS(CROP) | HAS(OPERATOR),
     .asked_if = HAS(CERTIFICATE),
     .condition = {[FL_RECORD_CERTIFICATE] = "where that person has one"}},
};

bool fl_record_is_entry(const fl_ev_step *step)
{
    return step->agent == FL_AGENT_PESTICIDE || step->brand.len > 0 || step->registration.len > 0;
}

/* The fields that are texts. */
static unsigned texts_of(const fl_ev_step *step)
{
    const struct {
        fl_sv text;
        unsigned field;
    } texts[] = {{step->brand, HAS(BRAND)},
                 {step->registration, HAS(REGISTRATION)},
                 {step->site, HAS(SITE)},
                 {step->eppo_code, HAS(EPPO)},
                 {step->growth_stage, HAS(STAGE)},
                 {step->operator_name, HAS(OPERATOR)},
                 {step->operator_number, HAS(CERTIFICATE)}};
    unsigned has = 0;
    for (unsigned i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        has |= texts[i].text.len > 0 ? texts[i].field : 0U;
    }
    return has;
}

unsigned fl_record_has(const fl_ev_step *step, fl_precision precision)
{
    unsigned has = texts_of(step) | HAS(CROP);
    if (step->rate_g_per_l > 0.0 || step->rate_ml_per_l > 0.0 || step->rate_g_per_m2 > 0.0 ||
        step->rate_ml_per_m2 > 0.0) {
        has |= HAS(RATE);
    }
    if (step->amount_g > 0.0 || step->amount_ml > 0.0) {
        has |= HAS(AMOUNT);
    }
    if (step->area_m2 > 0.0 || step->space_m3 > 0.0 || step->units > 0) {
        has |= HAS(SIZE);
    }
    has |= precision <= FL_PRECISION_DAY ? HAS(DATE) : 0U;
    has |= precision <= FL_PRECISION_HOUR ? HAS(START) : 0U;
    return has;
}
