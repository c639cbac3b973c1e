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

/* The whole chain. Invariants: 2 <= n_stages <= FL_STAGES_MAX; the substages of all generations sum
 * to at most FL_SUBSTAGES_MAX.
 *
 * life_days 0: one generation, and its last stage is absorbing: what breeds does not end by itself.
 * life_days above 0: a founder that breeds lives so long on average, and what it leaves begins
 * again with the first stage: a second generation of the same stages, whose last one is absorbing.
 * Until the young have grown up, nothing of it may be seen (docs/decisions/0006). It stands for
 * n_young of them that are seen independently of each other. */
typedef struct fl_stage_model {
    int n_stages;
    fl_stage_rate stage[FL_STAGES_MAX];
    double life_days; /* of a breeding founder, 0 or 0.1 to 1e6 */
    int n_young;      /* of a second generation, 1 to 1000; without one it is not looked at */
} fl_stage_model;

#endif
