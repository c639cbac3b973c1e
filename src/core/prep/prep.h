/* What to do with one lot on the evening it comes home: the steps in order, with the reason for
 * each, or the word that the plant is not worth it for where it is going. Common practice, no
 * source, for steps and minutes (data/steps.csv); what a dip is good for is core/dip. */
#ifndef FL_CORE_PREP_PREP_H
#define FL_CORE_PREP_PREP_H

#include "core/dip/advice.h"
#include "core/know/know.h"

#define FL_PREP_STEPS_MAX 12

/* X(enum, word, why) */
#define FL_PREP_REASON_LIST(X)                                                                     \
    X(FL_PREP_MIX_HIDES, "mix_hides",                                                              \
      "The old mix hides gnats, root mealybugs, slug eggs and fertiliser prills: off with it.")    \
    X(FL_PREP_WASH_LEAVES, "wash_leaves",                                                          \
      "Running water takes mites, aphids and eggs off leaf undersides and axils.")                 \
    X(FL_PREP_SOAK_ROOTS, "soak_roots",                                                            \
      "A soak loosens what is left of the mix and drives some small animals out.")                 \
    X(FL_PREP_STILL_SOAKS, "still_soaks",                                                          \
      "A rinse would ruin it: a series of still soaks in fresh water instead.")                    \
    X(FL_PREP_GEL_OFF, "gel_off",                                                                  \
      "Raised sterile: only the jelly comes off, in clean water. Nothing to strip.")               \
    X(FL_PREP_WET_FIRST, "wet_first", "Wet tissue takes up less of the dip.")                      \
    X(FL_PREP_DIP, "dip", "")                                                                      \
    X(FL_PREP_NEUTRALISE, "neutralise", "Thiosulfate takes up the chlorine that clings to it.")    \
    X(FL_PREP_AFTER_SOAK, "after_soak", "Plain water takes off what is left.")                     \
    X(FL_PREP_DRAIN, "drain", "Wet axils rot in a closed bin.")                                    \
    X(FL_PREP_FRESH_MIX, "fresh_mix",                                                              \
      "Fresh mix from a closed bag, so that what shows later did not come with the pot.")          \
    X(FL_PREP_HEAT_MATERIAL, "heat_material",                                                      \
      "Heat through to the core kills eggs that nobody can see in it.")                            \
    X(FL_PREP_FREEZE_MATERIAL, "freeze_material",                                                  \
      "Living material cannot be heated; cold slows and kills some of what is in it.")             \
    X(FL_PREP_NOTHING, "nothing", "Nothing is to be done but look at it.")

typedef enum fl_prep_reason {
#define FL_PREP_REASON_ENUM(name, word, text) name,
    FL_PREP_REASON_LIST(FL_PREP_REASON_ENUM)
#undef FL_PREP_REASON_ENUM
        FL_PREP_REASON_COUNT
} fl_prep_reason;
extern const fl_word fl_words_prep_reason[FL_PREP_REASON_COUNT];

/* X(enum, word, what a person reads) */
#define FL_PREP_VERDICT_LIST(X)                                                                    \
    X(FL_PREP_GO, "go", "worth the work")                                                          \
    X(FL_PREP_NOT_FOR_THERE, "not_for_there",                                                      \
      "not for where it is going: use it elsewhere, return it, or take another source")            \
    X(FL_PREP_CLEAN_TIP, "clean_tip", "keep only a clean tip: root it apart and throw the rest out")

typedef enum fl_prep_verdict {
#define FL_PREP_VERDICT_ENUM(name, word, text) name,
    FL_PREP_VERDICT_LIST(FL_PREP_VERDICT_ENUM)
#undef FL_PREP_VERDICT_ENUM
        FL_PREP_VERDICT_COUNT
} fl_prep_verdict;
extern const fl_word fl_words_prep_verdict[FL_PREP_VERDICT_COUNT];

typedef struct fl_prep_input {
    fl_form form;
    fl_use use; /* the strictest it is for */
    fl_source_kind source_kind;
    bool source_keeps_animals;
    fl_pathogen_history history;
    const fl_know_plant *row; /* NULL: not in the tables */
    bool is_delicate;         /* the keeper's own word */
    bool is_label_systemic;   /* the label names a systemic */
} fl_prep_input;

typedef struct fl_prep_step {
    fl_step step;
    fl_agent agent;
    double minutes_low;
    double minutes_high;
    double minutes_usual;  /* what is recorded when it was done as planned */
    int times;             /* how often, in fresh water each time */
    fl_prep_reason reason; /* for FL_PREP_DIP the plan's dip.reason says why */
    bool is_called_for;    /* the gate asks for it */
} fl_prep_step;

typedef struct fl_prep_plan {
    fl_prep_verdict verdict;
    const char *verdict_why; /* static; empty when it is worth it */
    fl_dip_advice dip;       /* the advice, also where it is "none" */
    fl_prep_step steps[FL_PREP_STEPS_MAX];
    int n_steps;            /* 0: FL_PREP_NOTHING */
    fl_prep_reason nothing; /* why there is no step */
} fl_prep_plan;

/* The plan. Total. */
void fl_prep_make(const fl_prep_input *input, fl_prep_plan *out);

/* What hands are told about this plant and what is around its roots: gloves for what lives in old
 * mix, moss and litter (not for what was raised sterile, nor for cuttings and sealed bags); sap,
 * crystals, latex, from the column `toxicity` of `row`, which may be NULL. Static lines into
 * out[FL_PREP_HANDS_MAX]; how many. */
#define FL_PREP_HANDS_MAX 4
size_t fl_prep_hand_cautions(fl_form form, const fl_know_plant *row, const char **out);

/* The steps the gate asks of a lot: mask of 1u << fl_step of the called-for steps of its plan. */
unsigned fl_prep_called_for(const fl_prep_plan *plan);

#endif
