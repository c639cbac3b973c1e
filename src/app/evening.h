/* Tonight at the sink: which lots, what each of them still needs, and in which order one pair of
 * hands and a few tubs get it done. How far the evening has come follows from the journal alone:
 * steps started, done or abandoned, and tubs recorded as disinfected. Whoever asks again after a
 * step ran late, a lot came in or a tub was lost gets the evening as it is now. Model card:
 * docs/models/evening.md. */
#ifndef FL_APP_EVENING_H
#define FL_APP_EVENING_H

#include "app/plans.h"
#include "core/bench/bench.h"
#include "core/dip/neutralise.h"

#define FL_EVENING_STEPS_MAX 16 /* of one lot: a repeated soak counts each time */
#define FL_EVENING_TUBS_USUAL 2
#define FL_EVENING_TUB_ML_USUAL 4000.0
/* Steps further apart than this belong to two evenings. */
#define FL_EVENING_GAP_S (4 * 3600)
#define FL_EVENING_SPAN_S (16 * 3600)

typedef struct fl_evening_options {
    int n_tubs;         /* tubs put out, 1 to FL_BENCH_TUBS_MAX */
    unsigned tubs_lost; /* mask of 1u << (number - 1): no longer to be used */
    int64_t start_s;    /* when hands begin; in the past, or INT64_MIN: now */
    double tub_ml;      /* what a tub holds for a dip */
    double label_pct;   /* the bleach label's percent when no bottle is recorded; 0: not told */
    bool has_refused;   /* also lots that are not worth it for where they go */
    const fl_lot *const *lots; /* these only; NULL: all that came home and are not done */
    size_t n_lots;
    size_t effort; /* of the search; 0: usual */
} fl_evening_options;

/* Two tubs of 4 l, from now on. */
fl_evening_options fl_evening_options_usual(void);

typedef enum fl_evening_state {
    FL_STEP_WAITS = 0,
    FL_STEP_RUNS, /* started, not ended */
    FL_STEP_IS_DONE,
    FL_STEP_STOPPED, /* abandoned: not begun again tonight unless the keeper starts it */
    FL_STEP_PASSED   /* a later one was done; this one is not in the record */
} fl_evening_state;

/* One step of one lot, as planned and as it went. */
typedef struct fl_evening_step {
    const fl_prep_step *plan;
    fl_evening_state state;
    fl_id run;                     /* of a timed step; none */
    int64_t started_s;             /* INT64_MIN when not told */
    int64_t ended_s;               /* INT64_MIN */
    int64_t planned_s;             /* of a running one: due at started_s + planned_s */
    const fl_ev_step *as_recorded; /* NULL until started or done */
} fl_evening_step;

typedef struct fl_evening_lot {
    const fl_lot *lot;
    fl_prep_plan plan;
    fl_sv purchase;      /* the same text: the same source and arrival */
    double risk;         /* smaller is cleaner and is handled first */
    bool is_established; /* not in quarantine: handled before all that is */
    fl_evening_step steps[FL_EVENING_STEPS_MAX];
    int n_steps;
    int next; /* the first that waits or runs; n_steps: none is left */
} fl_evening_lot;

/* One line of the run sheet, times in UTC seconds. */
typedef struct fl_evening_item {
    fl_bench_job job;
    int lot;  /* index into lots; -1 */
    int step; /* index into that lot's steps; -1 */
    int tub;  /* the tub's number, from 1; 0: none */
    int64_t start_s;
    int64_t hands_until_s;
    int64_t out_from_s;
    int64_t end_s;
} fl_evening_item;

typedef struct fl_evening {
    int64_t now_s;
    int64_t begun_s; /* the first step of tonight; INT64_MIN: not begun */
    fl_evening_lot *lots;
    size_t n_lots;
    const fl_lot **refused; /* set aside: not worth it for where they go */
    size_t n_refused;
    const fl_lot **left_out; /* more than one evening holds */
    size_t n_left_out;
    fl_evening_item *items;
    size_t n_items;
    int64_t start_s;
    int64_t finish_s; /* by usual times; low and high: by the shortest and longest usual */
    int64_t finish_low_s;
    int64_t finish_high_s;
    int64_t bound_s; /* no evening that keeps the rules ends before this */
    bool is_optimal;
    int n_tubs;
    unsigned tubs_lost;
    double tub_ml;
    bool has_dip; /* a bleach dip is still to come, or runs */
    bool has_mix; /* and the recipe is known */
    fl_bleach_mix mix;
    fl_sv no_mix_why;                  /* else why not */
    const fl_ev_bottle_opened *bottle; /* the recipe's; NULL: by the label given */
    fl_thiosulfate_dose thiosulfate;   /* for one neutralising bath; with has_mix */
    fl_id bench;                       /* where the lots stand; none */
    bool is_closed_up; /* the sink was recorded as disinfected after the last step */
} fl_evening;

/* Liquid that clings to a lot out of the dip, per plant (assumed; weigh it to know). */
#define FL_CARRY_ML_PER_PLANT 10.0

/* Makes the evening. Everything lives in the arena and the room. FL_EDOMAIN for options out of
 * range;
 * what fl_bench_schedule and the chances return. An evening without lots has no items. */
fl_status fl_evening_make(const fl_room *room, fl_chances *chances,
                          const fl_evening_options *options, fl_arena *arena, fl_evening *out,
                          fl_err *err) FL_MUST_USE;

/* "tub 2": how the journal names a tub. */
fl_sv fl_evening_tub_name(int number, fl_arena *arena);
/* The number of a tub's name; 0 when it is none of ours. */
int fl_evening_tub_number(fl_sv name);

/* The step as it is to be recorded when it is done as planned: lots, agent, strength, tub,
 * bottle. */
fl_ev_step fl_evening_step_event(const fl_evening *evening, const fl_evening_item *item,
                                 fl_arena *arena);

/* Seconds that a step which stands by itself is meant to stand; hands-on ones: their time. */
int64_t fl_evening_planned_s(const fl_evening_lot *lot, const fl_evening_step *step);

/* "All as planned": what is still to be recorded, in order, each at its planned end but none later
 * than now and all after the lots came in. Ids are none; a running step names its run. A closing
 * for each tub used, the tools and the sink. Array in the arena. */
void fl_evening_as_planned(const fl_evening *evening, fl_arena *arena, fl_event **out,
                           size_t *count);

#endif
