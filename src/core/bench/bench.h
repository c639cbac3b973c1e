/* The run sheet of an evening at the sink: who is handled when, with one pair of hands and a
 * few tubs. Hygiene comes first, then the shortest evening. Start at fl_bench_schedule.
 *
 * Rules of hygiene, never traded for time: 1 established lots before quarantined ones, and
 * within each the cleaner before the more suspect: hands that have touched one rank never go
 * back to an earlier rank; 2 a tub that held one purchase is disinfected before another
 * purchase goes in; 3 hands are washed whenever they go from one purchase to another; 4 a step
 * that may not overrun (a dip) is taken out on the second: hands are free then; 5 the evening
 * ends with waste bagged, baths poured away, and tubs, tools and sink disinfected. Within a
 * rank, lots are interleaved so that hands work while baths stand. Model card and the plan as
 * JSON: docs/models/runsheet.md. */
#ifndef FL_CORE_BENCH_BENCH_H
#define FL_CORE_BENCH_BENCH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_BENCH_LOTS_MAX 24
#define FL_BENCH_STEPS_MAX 12 /* of one lot */
#define FL_BENCH_TUBS_MAX 8
#define FL_BENCH_STEP_S_MAX 86400
#define FL_BENCH_TASKS_MAX 288 /* pieces of hands-on work; a dip has two: in and out */
/* Steps of all lots, washes, disinfected tubs and the closing. */
#define FL_BENCH_ITEMS_MAX 640

/* One step of one lot: hands at its start, then a time by itself, then hands to take it out. */
typedef struct fl_bench_step {
    fl_sv name;
    int hands_s;      /* >= 0 */
    int unattended_s; /* >= 0: 0 is hands-on work only */
    int out_s;        /* hands at the end, >= 0; -1: 30 s when it must be taken out, else 0 */
    bool needs_tub;   /* from its start until it is taken out */
    bool may_overrun; /* may stand longer than unattended_s (a soak may, a dip may not) */
} fl_bench_step;

typedef struct fl_bench_lot {
    fl_sv name;
    fl_sv purchase;      /* source and arrival; lots of one purchase have the same text; empty: a
                              purchase of its own */
    double risk;         /* smaller is cleaner; equal is equally suspect; finite */
    bool is_established; /* not in quarantine: handled before all that is */
    const fl_bench_step *steps;
    size_t n_steps;  /* 1 to FL_BENCH_STEPS_MAX */
    bool is_running; /* its first step was begun: in an evening that has begun only */
    int ran_s;       /* then: for how long it has stood since hands let it go, >= 0 */
    int tub;         /* then: the tub it is in; -1: none */
} fl_bench_lot;

/* How far an evening has come. Seconds of the sheet count from now; what was begun has a start
 * below 0. A step that stands and may not overrun is taken out on the second where hands can be
 * there; where they cannot, or its time is up, at once. */
typedef struct fl_bench_begun {
    fl_sv tub_purchase[FL_BENCH_TUBS_MAX]; /* whose each tub last was; empty: clean */
    int tub_ready_s[FL_BENCH_TUBS_MAX];    /* of a clean one: when its contact time is over */
    fl_sv hands_purchase;                  /* whose plants hands touched last; empty: clean */
    bool has_touched;    /* then, of all that was touched, the most suspect: what is cleaner comes
                        with */
    bool is_established; /* it, not before it, for hands never go back */
    double risk;
} fl_bench_begun;

/* The evening's fixed jobs, seconds; fl_bench_chores_usual gives our defaults. */
typedef struct fl_bench_chores {
    int hand_wash_s;   /* between purchases */
    int tub_hands_s;   /* disinfecting one tub, between purchases and at the end, hands */
    int tub_contact_s; /* then the disinfectant stands, before the tub is used again */
    int bag_waste_s;   /* closing, in this order: old mix and waste into bags */
    int pour_away_s;   /* baths and wash water; then each tub that was put out */
    int tools_s;
    int sink_s;
    int contact_s;   /* the disinfectant stands at the end */
    int last_wash_s; /* hands, while it stands */
} fl_bench_chores;

typedef struct fl_bench_plan {
    const fl_bench_lot *lots;
    size_t n_lots; /* 1 to FL_BENCH_LOTS_MAX; with what is still to do */
    int n_tubs;    /* tubs put out, 0 to FL_BENCH_TUBS_MAX */
    fl_bench_chores chores;
    const fl_bench_begun *begun; /* NULL: nothing was done yet; else n_lots may be 0 */
} fl_bench_plan;

/* Contact of 10 minutes is WHO's for wiped surfaces at 500 mg/L (S5); the rest is our guess. */
fl_bench_chores fl_bench_chores_usual(void);

typedef enum fl_bench_job {
    FL_BENCH_STEP = 0,
    FL_BENCH_WASH_HANDS,    /* before going to another purchase */
    FL_BENCH_DISINFECT_TUB, /* between purchases */
    FL_BENCH_BAG_WASTE,
    FL_BENCH_POUR_AWAY,
    FL_BENCH_CLOSE_TUBS,
    FL_BENCH_CLOSE_TOOLS,
    FL_BENCH_CLOSE_SINK,
    FL_BENCH_CONTACT, /* the disinfectant stands; no hands */
    FL_BENCH_LAST_WASH,
    FL_BENCH_JOB_COUNT
} fl_bench_job;

/* One line of the run sheet; seconds from the start of the evening. */
typedef struct fl_bench_item {
    fl_bench_job job;
    int lot;  /* index into the plan's lots; -1: none */
    int step; /* index into the lot's steps; -1: none */
    int tub;  /* from 0; -1: none */
    int start_s;
    int hands_until_s; /* hands are on it from start_s to here */
    int out_from_s;    /* and from here to end_s; equal to end_s when nothing is taken out */
    int end_s;
} fl_bench_item;

typedef struct fl_bench_sheet {
    int finish_s;
    int bound_s;      /* no evening that keeps the rules can end before this */
    size_t looked_at; /* pieces of work that the search appended in all: what it cost */
    bool is_optimal;  /* the search was finished: nothing shorter exists (bound_s is finish_s) */
    size_t n_items;
    fl_bench_item items[FL_BENCH_ITEMS_MAX]; /* by start_s */
} fl_bench_sheet;

/* Bytes of working memory that fl_bench_schedule needs (about 14 MB), aligned for any type. */
size_t fl_bench_work_bytes(void);

/* Makes the run sheet. effort: how many pieces of work one stage of the search may append; 0:
 * 4 000 000, some tenths of a second for 12 lots; up to four times that in all where the sheet is
 * far from its bound. The same plan and effort give the same sheet.
 * Errors: FL_EDOMAIN or FL_ETOOBIG naming lot and step for a plan out of range: no lots, a step
 * without any time, a tub needed but none there, a risk that is no number.
 * Method: narrow sweeps over partial orders, a climb by moves, a wide sweep with bounds, and the
 * bound raised by sweeps that come back empty; for an
 * order the earliest times follow from difference constraints. Exact when is_optimal. */
fl_status fl_bench_schedule(const fl_bench_plan *plan, size_t effort, void *memory,
                            fl_bench_sheet *out, fl_err *err) FL_MUST_USE;

/* What an item is called on paper ("wash hands"); the step's own name for a step. */
fl_sv fl_bench_item_name(const fl_bench_plan *plan, const fl_bench_item *item);

#endif
