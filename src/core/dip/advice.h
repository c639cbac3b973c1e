/* Whether to dip, and what a plant risks by it. A dip is advice that follows from where the
 * plant has been and where it is to go; it is never a ritual: bleach earns nothing against
 * insects, mites, slugs, snails or eggs, and no controlled trial on tropical foliage is known. */
#ifndef FL_CORE_DIP_ADVICE_H
#define FL_CORE_DIP_ADVICE_H

#include <stdbool.h>

#include "base/err.h"
#include "base/sv.h"
#include "event/words.h"

/* How a plant takes to being handled: delicate_flag of data/plants.csv. */
typedef enum fl_delicacy {
    FL_DELICACY_NONE = 0,
    FL_DELICACY_CAUTION,
    FL_DELICACY_HIGH
} fl_delicacy;

/* "none", "caution", "high"; an unknown word is CAUTION. */
fl_delicacy fl_delicacy_of(fl_sv word);

/* What is known to have gone on where the plant comes from. */
typedef enum fl_pathogen_history {
    FL_HISTORY_NONE = 0,     /* nothing known */
    FL_HISTORY_ANIMALS,      /* it stood in or beside water, mix or cages of animals */
    FL_HISTORY_PATHOGEN,     /* an animal pathogen was found, or animals fell ill, there */
    FL_HISTORY_PLANT_DISEASE /* rot, mould or spots on the plants themselves */
} fl_pathogen_history;

/* How likely a dip is to cost the plant. Order: worse is higher. */
typedef enum fl_plant_risk {
    FL_PLANT_RISK_LOW = 0,
    FL_PLANT_RISK_MODERATE,
    FL_PLANT_RISK_HIGH,
    FL_PLANT_RISK_NEVER /* not to be done */
} fl_plant_risk;

/* The risk of an agent to a plant of this form and delicacy; our own reading of practice (S29)
 * and of the few trials (S25, S27, S33 to S35, S38, S47, S62). *why gets a static line; NULL
 * allowed. */
fl_plant_risk fl_dip_plant_risk(fl_agent agent, fl_form form, fl_delicacy delicacy,
                                const char **why);

/* FL_OK when a plant of this family may be put into water of temp_c for minutes. FL_EDOMAIN
 * with the reason otherwise: orchids and bromeliads (S47), plants of high delicacy, below 39 or
 * above 49 C, more than 15 minutes (what potted plants stood: S62), or not a number. An empty
 * family is not asked about. */
fl_status fl_dip_hot_water_check(fl_sv family, fl_delicacy delicacy, double temp_c, double minutes,
                                 fl_err *err) FL_MUST_USE;

/* X(enum, word, what a person reads) */
#define FL_DIP_REASON_LIST(X)                                                                      \
    X(FL_DIP_MATERIAL, "material",                                                                 \
      "Mix, litter and wood are baked, boiled or frozen, not dipped.")                             \
    X(FL_DIP_TISSUE_CULTURE, "tissue_culture",                                                     \
      "Raised sterile: rinse the jelly off in clean water; a dip would only do harm.")             \
    X(FL_DIP_SEED, "seed", "Seed is sown clean; no dip is asked for.")                             \
    X(FL_DIP_NO_ANIMALS_THERE, "no_animals_there",                                                 \
      "Nothing that a dip kills matters where it is going. Strip, wash and look instead.")         \
    X(FL_DIP_NO_HISTORY, "no_history",                                                             \
      "It has not been near animals, as far as is known. Bleach does nothing against insects, "    \
      "mites, slugs, snails or eggs: strip, wash and look instead.")                               \
    X(FL_DIP_PLANT_DISEASE, "plant_disease",                                                       \
      "A dip kills spores on the outside, not an infection: cut the sick parts away or throw the " \
      "plant out, and keep it apart.")                                                             \
    X(FL_DIP_ANIMALS, "animals",                                                                   \
      "It has been where animals are kept: a bleach dip at a strength and time that were tested "  \
      "(on clean cultures) after stripping and washing.")                                          \
    X(FL_DIP_PATHOGEN, "pathogen",                                                                 \
      "A disease of animals was found where it comes from: better no plant from there. If it is "  \
      "kept, a bleach dip at a tested strength and time, and a place without animals.")            \
    X(FL_DIP_TOO_DELICATE, "too_delicate",                                                         \
      "It has been where animals are kept and would not live through the dip: better no plant "    \
      "from there; seed, tissue culture or another source instead.")

typedef enum fl_dip_reason {
#define FL_DIP_REASON_ENUM(name, word, text) name,
    FL_DIP_REASON_LIST(FL_DIP_REASON_ENUM)
#undef FL_DIP_REASON_ENUM
        FL_DIP_REASON_COUNT
} fl_dip_reason;

extern const fl_word fl_words_dip_reason[FL_DIP_REASON_COUNT];

typedef struct fl_dip_question {
    bool has_animals_with_plants; /* the source keeps animals where the plants are */
    fl_pathogen_history history;
    fl_source_kind source_kind;
    fl_form form;
    fl_use use; /* the strictest it is for */
    fl_delicacy delicacy;
} fl_dip_question;

typedef struct fl_dip_advice {
    fl_agent agent; /* FL_AGENT_NONE: no dip */
    fl_dip_reason reason;
    fl_plant_risk risk;           /* of that agent to this plant; LOW without a dip */
    const char *risk_why;         /* static; empty without a dip */
    bool is_better_refused;       /* return it, refuse it, or take only what is clean */
    double product_pct_by_volume; /* bleach: 5 (1+19); NAN without a dip */
    double minutes_low;           /* tested least: 1; NAN without a dip */
    double minutes_high;          /* practice: 3, 2 for what is delicate (S29) */
} fl_dip_advice;

/* The advice for one lot. Animal pathogens matter for amphibians, for reptiles (ranavirus) and for
 * stock, whose cuttings may go anywhere. A plant out of someone's enclosure counts as having been
 * with animals. Never fails. */
fl_dip_advice fl_dip_recommend(const fl_dip_question *question);

#endif
