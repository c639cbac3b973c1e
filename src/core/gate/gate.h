/* The gate: may this lot go there today, and if not, what is missing and when could it be met.
 * Design section 4, "The gate". It never says "safe": the answer is "quiet enough for …" or the
 * conditions that are not met. Policy (ceilings, least days, weights) is data/uses.csv and
 * data/threats.csv. */
#ifndef FL_CORE_GATE_GATE_H
#define FL_CORE_GATE_GATE_H

#include "core/know/know.h"
#include "core/residue/residue.h"
#include "event/meaning.h"

/* "Never, as things go": no date within the looks ahead. */
#define FL_GATE_NEVER INT64_MAX
/* A threat whose weight x prior is below this needs no guard. */
#define FL_GATE_GUARD_FROM 0.005
/* Share that must have reached a stage that is seen. */
#define FL_GATE_GUARD_SHARE 0.95

/* X(enum, word, what it asks) */
#define FL_CONDITION_LIST(X)                                                                       \
    X(FL_CONDITION_HOLD, "hold", "no hold on the place")                                           \
    X(FL_CONDITION_CHANCE, "chance", "the pests together are under the ceiling")                   \
    X(FL_CONDITION_GUARD, "guard", "what came in has had time to show")                            \
    X(FL_CONDITION_LEAST_DAYS, "least_days", "the least days since the last way in")               \
    X(FL_CONDITION_STEPS, "steps", "the steps that its form calls for")                            \
    X(FL_CONDITION_RESIDUE, "residue", "residues of pesticides")                                   \
    X(FL_CONDITION_PATHOGEN, "pathogen", "diseases of animals")                                    \
    X(FL_CONDITION_RELEASE_LOOK, "release_look", "a look today, with nothing found")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_condition_kind {
    FL_CONDITION_LIST(FL_WORD_ENUM) FL_CONDITION_COUNT
} fl_condition_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_condition[FL_CONDITION_COUNT];

/* Where a lot has been, for the diseases of amphibians. */
typedef struct fl_pathogen_facts {
    bool was_with_amphibians;  /* in an enclosure with amphibians, or cut from a plant there */
    bool was_in_occupied;      /* out of an enclosure with any animals */
    bool source_keeps_animals; /* animals are kept with the plants where it was bought */
    bool is_from_outdoors;
    bool is_sterile;      /* it came as tissue culture or seed: says nothing of later */
    bool was_disinfected; /* at a tested strength and time, after that */
    bool has_positive;    /* an animal tested positive, or died untested, where it was */
} fl_pathogen_facts;

/* One pest as the gate sees it. */
typedef struct fl_gate_threat {
    const fl_threat *threat;
    double chance; /* slow development, middle detectability */
    double least, most;
    double prior;
    double guard_share;     /* at the last look (now, when it counts as one) */
    int64_t guard_s;        /* the first round day on which it reaches FL_GATE_GUARD_SHARE; NEVER */
    fl_effort guard_effort; /* the effort that can meet it then */
} fl_gate_threat;

/* What the forecast says of one use: the first moment its sum is under the ceiling. */
typedef struct fl_gate_dates {
    double sum_now;  /* weighted, reachable pests */
    int64_t all_s;   /* now when it is under already; else a round day; NEVER */
    int64_t quick_s; /* the quick pests alone */
} fl_gate_dates;

/* Bleach that was on it today, where animals would meet it today. */
typedef enum fl_gate_chlorine {
    FL_GATE_CHLORINE_NONE = 0,
    FL_GATE_CHLORINE_LEFT,  /* not neutralised and rinsed since, as told */
    FL_GATE_CHLORINE_RINSED /* told; a strip decides */
} fl_gate_chlorine;

typedef struct fl_gate_input {
    unsigned uses; /* mask of 1u << fl_use; at least one */
    int64_t now_s;
    int64_t today_end_s; /* the end of the local day */
    int64_t last_way_in_s;
    int64_t last_look_s;  /* the last look at the lot that found nothing; INT64_MIN: none */
    int64_t next_round_s; /* the next round day */
    bool is_held;
    const fl_gate_threat *threats;
    size_t n_threats;
    fl_gate_dates dates[FL_USE_COUNT]; /* of the uses in the mask */
    unsigned steps_needed;             /* mask of 1u << fl_step by form (core/prep) */
    unsigned steps_done;
    bool asks_prills; /* it came in a pot: were the fertiliser prills picked out? */
    fl_prills prills; /* what was told of them */
    fl_gate_chlorine chlorine;
    fl_residue_verdict residue; /* for the strictest of the uses (core/residue) */
    fl_use residue_use;
    fl_pathogen_facts pathogen;
} fl_gate_input;

/* One condition. What is not told is 0, NULL or NAN. */
typedef struct fl_condition {
    fl_condition_kind kind;
    bool is_met;
    int64_t earliest_s;      /* when it is met already: now; NEVER: not by waiting */
    fl_use use;              /* the use that binds it */
    const fl_threat *threat; /* the worst, or the binding one */
    double value;            /* the sum, the share, the days … */
    double limit;
    unsigned steps_missing;
    const char *reason; /* a word for what decides it ("with_amphibians"); "" */
} fl_condition;

typedef struct fl_gate_answer {
    bool is_open;                /* every condition is met: quiet enough for the uses asked */
    int64_t earliest_s;          /* of all conditions together; NEVER */
    int64_t quick_s;             /* the same with the quick pests only */
    const fl_gate_threat *worst; /* the largest weight x chance under the binding use */
    fl_use binding_use;
    double sum; /* under that use */
    double ceiling;
    fl_condition conditions[FL_CONDITION_COUNT]; /* in the order of the list */
} fl_gate_answer;

/* Decides. Never fails: an empty threat list gives a sum of 0. `uses` 0 counts as plants only. */
void fl_gate_decide(const fl_gate_input *input, fl_gate_answer *out);

/* True when nothing is missing but the look of the day itself. */
bool fl_gate_waits_for_look_only(const fl_gate_answer *answer);

/* The weighted sum of reachable pests for a use. */
double fl_gate_sum(const fl_gate_threat *threats, size_t n_threats, fl_use use);

#endif
