/* A threat's development as a chain of stages: what the filter needs to know, and nothing else. */
#ifndef FL_CORE_CLEAR_MODEL_H
#define FL_CORE_CLEAR_MODEL_H

#define FL_STAGES_MAX 8
#define FL_SUBSTAGES_MAX 160 /* of all stages together, the last one counting as one */

/* One stage; development rate (min(T, upper_c) - threshold_c)+ / degree_days, 1/day. */
typedef struct fl_stage_rate {
    int n_substages;          /* Erlang substages, 1 to 60; the last stage has 1 */
    double threshold_c;       /* lower developmental threshold */
    double degree_days;       /* thermal constant above it, > 0 (ignored for the last stage) */
    double upper_c;           /* speed does not rise above this temperature */
    double mortality_per_day; /* >= 0 */
} fl_stage_rate;

/* The whole chain. Invariants: 2 <= n_stages <= FL_STAGES_MAX; the last stage is absorbing;
 * the substages sum to at most FL_SUBSTAGES_MAX. */
typedef struct fl_stage_model {
    int n_stages;
    fl_stage_rate stage[FL_STAGES_MAX];
} fl_stage_model;

#endif
