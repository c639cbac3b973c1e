/* Inside of the run sheet, for the files of this folder only: hands-on tasks, partial orders, their
 * times and bounds. */
#ifndef FL_CORE_BENCH_INNER_H
#define FL_CORE_BENCH_INNER_H

#include <stdint.h>

#include "core/bench/bench.h"

#define TASKS_MAX FL_BENCH_TASKS_MAX
#define CLEANS_MAX 24
#define ENTRIES_MAX (TASKS_MAX + CLEANS_MAX)
#define WIDTH_MAX 1024 /* orders of one length kept beside each other */
#define CHOICES_MAX (FL_BENCH_LOTS_MAX + FL_BENCH_TUBS_MAX)
#define BUCKETS 2048
#define TIMES_MAX (FL_BENCH_LOTS_MAX + FL_BENCH_TUBS_MAX + 2)

/* A piece of work that hands do without a break. Tasks of one lot stand together, in order. */
typedef struct task {
    short lot;
    short step;
    short purchase; /* index, equal for lots of one purchase */
    short rank;     /* 0 is handled first */
    int hands_s;
    int lag_s;         /* after its end, before the lot's next task may start */
    bool is_lag_exact; /* the next task starts then, neither sooner nor later */
    bool takes_tub;    /* when it starts */
    bool frees_tub;    /* when it ends */
} task;

/* The plan as tasks. Invariant: first[i] <= first[i + 1]; tail_s only after a lot's last task. */
typedef struct shop {
    const fl_bench_plan *plan;
    int n_lots;
    int n_tasks;
    int n_ranks;
    int n_purchases;
    task tasks[TASKS_MAX];
    short first[FL_BENCH_LOTS_MAX + 1]; /* tasks of lot i: first[i] to first[i + 1] - 1 */
    short twin[FL_BENCH_LOTS_MAX];      /* the lot before it that is the same in all but name; -1 */
    short rank_of[FL_BENCH_LOTS_MAX];
    short tub_purchase[FL_BENCH_TUBS_MAX]; /* of an evening that has begun; -1: clean */
    short hands_purchase;                  /* likewise */
    int hands_left_s[TASKS_MAX];           /* of the lot, from this task on */
    int chain_left_s[TASKS_MAX];           /* the same with the lags between */
    short by_rest[TASKS_MAX];      /* tasks by rank, then by what follows them in their lot, longest
                                      first */
    int tail_s[FL_BENCH_LOTS_MAX]; /* unattended time after the lot's last task */
    int tub_left_s[TASKS_MAX];  /* time in tubs of the lot's steps that begin from this task on */
    int dip_left_s[TASKS_MAX];  /* the part of it in steps that may not overrun */
    int long_left_s[TASKS_MAX]; /* hands-on tasks that fit beside no such step */
    /* Waits or washes: [0] when nothing is disinfected in them, [1] when all n_cleans are. */
    int gap_left_s[2][TASKS_MAX];    /* from this task on, of a purchase of one lot */
    int gap_s[2][FL_BENCH_LOTS_MAX]; /* of a purchase of several, at its first lot of a rank */
    /* Of any purchase, at its first lot of a rank: [0] over all tasks, [1] up to each lot's cut. */
    int whole_gap_s[2][2][FL_BENCH_LOTS_MAX];
    short cut[FL_BENCH_LOTS_MAX];         /* of each lot, the task before its longest wait */
    int cut_left_s[TASKS_MAX];            /* hands-on time from this task to its lot's cut */
    int n_cleans;                         /* tubs that the evening calls for to be disinfected */
    int least_other_s[FL_BENCH_LOTS_MAX]; /* of a lot: the shortest work of another purchase */
    unsigned gap_lots[FL_BENCH_LOTS_MAX]; /* mask of its lots, to be untouched for gap_s to hold */
    int after_tub_s[FL_BENCH_LOTS_MAX];   /* from the end of the lot's last tub to its last task */
} shop;

typedef struct tub_state {
    short purchase; /* whose it last was; -1: blank (new or disinfected) */
    short ready;    /* entry that disinfected it; -1 */
    bool is_busy;
    bool is_used;
} tub_state;

/* A partial order of hands-on work with its earliest times. */
typedef struct order {
    int n;
    int n_cleans;
    int n_fixed;                           /* entries that had begun before now */
    int purchase;                          /* whose plants hands touched last; -1: clean hands */
    int rank;                              /* of the tasks that may come next */
    unsigned char done[FL_BENCH_LOTS_MAX]; /* tasks of each lot that are in */
    short last[FL_BENCH_LOTS_MAX];         /* entry of the lot's last task; -1 */
    tub_state tubs[FL_BENCH_TUBS_MAX];
    short what[ENTRIES_MAX];     /* task, or -1 - tub: that tub is disinfected */
    short tub[ENTRIES_MAX];      /* tub of a task that takes or frees one; -1 */
    short before[ENTRIES_MAX];   /* entry of the lot's task before; -1 */
    short ready[ENTRIES_MAX];    /* entry that disinfected the tub it takes; -1 */
    short after[ENTRIES_MAX];    /* entry of the lot's task after; -1: not in yet, or none */
    bool is_washed[ENTRIES_MAX]; /* hands are washed right before it */
    int start_s[ENTRIES_MAX];
    int n_exact; /* entries whose lag is exact */
    short exact[ENTRIES_MAX];
} order;

/* What a finished order is judged by. */
typedef enum goal {
    GOAL_HANDS = 0, /* the end of hands-on work on plants */
    GOAL_EVENING    /* the end of everything */
} goal;

/* What decides an order's future, so that of two alike one can be dropped. Entries before `window`
 * cannot move any more; they count by the times they leave behind. */
typedef struct outlook {
    uint64_t hash; /* of all that must be equal: progress, hands, tubs, the window's entries */
    int window;
    int n_times;
    int times_s[TIMES_MAX]; /* smaller is never worse */
} outlook;

/* A child of an order: `what` appended to the order `parent` of its level. Smaller is better. */
typedef struct choice {
    int key_s;
    int tie_s;
    short parent;
    short what;
} choice;

/* The orders of one length that are kept. */
typedef struct level {
    int n;
    order orders[WIDTH_MAX];
    outlook outlooks[WIDTH_MAX];
    short next[WIDTH_MAX]; /* in its bucket; -1 */
    short bucket[BUCKETS]; /* -1: empty */
} level;

/* What is looked for: the best order of all ranks up to `last_rank`. */
typedef struct search {
    const shop *shop;
    goal goal;
    int last_rank;
    int width;           /* orders kept of each length, at most WIDTH_MAX */
    bool is_grouped;     /* a purchase once begun is finished before another of its rank */
    bool is_by_gaps;     /* what waits cost counts in what is promising, not only in what is cut */
    bool is_all_or_none; /* a sweep that has to leave anything out stops there */
    int weight;          /* of unattended time still to be started, against hands-off time */
    uint64_t series;     /* of moves that are tried */
    size_t looked_at;
    size_t looked_total; /* of the whole call */
    size_t effort;
    int best_s; /* value of `best`; INT_MAX: none yet */
    order best;
    bool is_complete; /* nothing better exists */
    order scratch;
    order prefix[ENTRIES_MAX + 1]; /* of improve.c */
    level levels[2];
    choice child[WIDTH_MAX * CHOICES_MAX];
} search;

/* All working memory of one call. */
typedef struct workshop {
    shop shop;
    search search;
    order start;
    order good;
} workshop;

/* tasks.c: the plan as tasks; errors as fl_bench_schedule. */
fl_status fl_bench_tasks(const fl_bench_plan *plan, shop *out, fl_err *err) FL_MUST_USE;
/* It stands by itself and hands must end that. */
bool fl_bench_must_be_taken_out(const fl_bench_step *step);
/* Its out_s, with the default put in. */
int fl_bench_out_s(const fl_bench_step *step);
/* Standing without hands after another step: no task of its own, a lag after the task before. */
bool fl_bench_is_folded(const fl_bench_lot *lot, size_t step);

/* order.c */
/* An empty order: all tubs unused. */
void fl_bench_order_init(order *o);
/* The order of what was done before now: what is running, tubs and hands as they are. Without it
 * an empty order. */
void fl_bench_order_begin(order *o, const shop *s);
/* What may come next, into what[FL_BENCH_LOTS_MAX + FL_BENCH_TUBS_MAX]; returns how many. */
int fl_bench_order_choices(const order *o, const shop *s, int last_rank, short *what);
/* Appends; false, and *o spoilt, when no times exist that keep the dips on the second. */
bool fl_bench_order_append(order *o, const shop *s, short what);
/* When hands are free after the last entry. */
int fl_bench_order_end_s(const order *o, const shop *s);
/* Seconds of hands-on work of an entry. */
int fl_bench_entry_hands_s(const shop *s, short what);

/* bound.c */
/* The least value that any completion of all ranks up to last_rank can have; of a finished order
 * its value. */
int fl_bench_bound_s(const order *o, const shop *s, goal by, int last_rank);
/* The same without what waits inside purchases cost: never more. */
int fl_bench_plain_bound_s(const order *o, const shop *s, goal by, int last_rank);
/* From the last hands-on work on plants to the end. */
int fl_bench_closing_s(const shop *s);
/* Tubs to disinfect at the end: all that were put out, none when no step needs one. */
int fl_bench_tubs_out(const shop *s);

/* Whether an entry may come next (a task: its lot's turn, its rank, a tub to take). */
bool fl_bench_order_may(const order *o, const shop *s, short what);
/* Copies what of an order is in use: orders are large and mostly empty. */
void fl_bench_order_copy(order *to, const order *from);

/* whole.c: the least end of hands-on work of all ranks up to last_rank, from what was lost so
 * far and what each purchase's waits cost over its whole; 0 for an evening that has begun. */
int fl_bench_whole_s(const order *o, const shop *s, int last_rank);
/* Tubs that must still be disinfected so that these purchases find one. */
int fl_bench_cleans_left(const order *o, const shop *s, unsigned loads);
/* outlook.c */
/* The first entry that can still move. */
int fl_bench_window(const order *o);
void fl_bench_outlook(const order *o, const search *se, outlook *out);
/* True when whatever can follow b can follow a, and no later. */
bool fl_bench_is_ahead(const order *a, const outlook *ahead, const order *b, const outlook *behind);

typedef struct gap_kind {
    int n_cleans; /* tubs of the purchase's own that are disinfected in each wait */
    bool is_cut;  /* only tasks up to each lot's cut; the others count as waiting */
} gap_kind;

/* gaps.c: what the waits of a purchase's lots of one rank cost at least, idle or in washes; less
 * than that where it would take too long to find out. */
int fl_bench_gaps_s(const shop *s, const int *lots, int n_lots, const gap_kind *kind);
/* What one wait after a task costs at least, with so many tubs of its purchase disinfected in
 * it. */
int fl_bench_wait_cost_s(const shop *s, const task *t, int wait_s, int n_cleans);

/* improve.c: betters se->best by moving entries about, until the effort is spent. */
void fl_bench_improve(search *se, const order *start);

/* search.c: finds se->best from `start`; shop, goal, last_rank, effort and best_s are set. */
void fl_bench_search(search *se, const order *start);

/* True when no order from `start` is worth less than least_s, by a wide sweep that left nothing
 * out. Where it finds a shorter one, that is se->best; se->is_complete: and nothing is shorter
 * still. */
bool fl_bench_is_refuted(search *se, const order *start, int least_s);

/* sheet.c: the finished order as items. */
void fl_bench_write(const order *o, const shop *s, fl_bench_sheet *out);

#endif
