/* Inside of fl_chances, shared by chance*.c, complaint.c, course.c, forecast.c, learn.c and
 * looks.c only. */
#ifndef FL_APP_CHANCE_WORK_H
#define FL_APP_CHANCE_WORK_H

#include "app/chance.h"
#include "app/programme_store.h"
#include "app/recall.h"
#include "app/temps.h"
#include "core/learn/learn.h"

/* Which lot stood on which carrier from when: in order of time. */
typedef struct fl_stand {
    size_t lot;
    size_t carrier; /* FL_NO_INDEX: nowhere */
    int64_t at_h;
} fl_stand;

/* The tables' prior of a root, for the forms it had when it was looked up. */
typedef struct fl_table_prior {
    unsigned forms;
    double prior;
} fl_table_prior;

/* What the tables say of a threat, a kind of source and a form. */
typedef struct fl_known_prior {
    bool is_known;
    double prob;
} fl_known_prior;

/* One purchase as it teaches about one threat. */
typedef struct fl_teacher {
    size_t root;         /* one root of the purchase */
    size_t source;       /* in the order in which the sources came up */
    fl_source_kind kind; /* of the source */
    double table;        /* its prior by the tables, the likeliest of its roots' */
    fl_learn_purchase purchase;
} fl_teacher;

/* So often a part of the room is walked again for a lot that is asked for; then all of it is. */
#define FL_REPLAYS_MAX 3

typedef struct fl_class fl_class; /* learn.c's own */

/* One threat: its slow and its fast spread, and what the keeper's purchases taught. */
typedef struct fl_pest {
    const fl_threat *threat;
    fl_carriage carriage;
    fl_spread slow;
    fl_spread fast;
    double *prior;         /* [n_roots of the carriage]: learned or from the table; NAN: not yet */
    bool *is_learned;      /* [n_roots] */
    fl_table_prior *table; /* [cap_roots]: what the tables say, remembered */
    fl_teacher *teachers;  /* [n_teachers] */
    size_t n_teachers;
    const double *by_table;               /* [n_roots]: what the prior is without learning */
    const size_t *of_root;                /* [n_roots]: its teacher; FL_NO_INDEX */
    fl_class **classes;                   /* [FL_SOURCE_COUNT]: by kind; NULL: teaches nothing */
    fl_copy *retired[2 * FL_REPLAYS_MAX]; /* of earlier replays: somebody may hold one */
    size_t n_retired;
} fl_pest;

/* A place whose temperature never changes. */
typedef struct fl_steady_place {
    fl_id place;
    double temp_c;
    bool is_known;
    bool is_constant;
} fl_steady_place;
#define FL_STEADY_PLACES 256

typedef struct fl_walked {
    fl_network network;
    fl_stand *stands;
    size_t n_stands, cap_stands;
    /* With a recall: */
    fl_told *told; /* all happenings */
    size_t n_told, cap_told, n_finds;
    unsigned *finds;                /* [cap_carriers]: looks that found something */
    bool *has_find;                 /* [cap_carriers]: of the look that follows */
    bool *is_asked;                 /* [n_carriers]: to be walked to the end */
    size_t *until;                  /* [n_carriers]: how far each is walked */
    const fl_recalled **of_carrier; /* [n_carriers] */
    size_t *root_index; /* [cap_index]: open addressing by key, the root from 1; 0: none */
    size_t cap_index;
    size_t *first_stand; /* [n_lots] */
    size_t *next_stand;  /* [n_stands] */
    int n_replays;
} fl_walked;

/* A find while walking, and on which carrier: for the recall. */
typedef struct fl_chance_blame {
    size_t carrier;
    fl_recalled_blame blame;
} fl_chance_blame;

/* A pest's chance on a carrier, remembered within the run. */
typedef struct fl_cached {
    bool is_known;
    fl_reading slow, fast;
    double *ahead; /* [FL_FORECAST_LOOKS + 1] slow, middle, now and after each look ahead; NULL */
} fl_cached;

struct fl_chances {
    fl_arena arena;
    const fl_room *room;
    int64_t now_h;
    fl_programmes *programmes;
    fl_programmes own_programmes; /* without a recall */
    fl_recall *recall;            /* NULL: all is walked */
    const fl_told *now_told;      /* while walking for a recall: the happening */
    bool is_walking;              /* priors are the tables' */
    fl_chance_blame *blames;
    size_t n_blames, cap_blames;
    fl_walked walked[2]; /* by fl_carriage */
    fl_pest *pests;
    size_t n_pests;
    fl_cached *cached[2]; /* [n_carriers x n_pests] by carriage */
    fl_spread_env env;
    fl_known_prior *known;                    /* [threats x kinds x forms] */
    const fl_learn_grid *learn_grid;          /* NULL until somebody learns */
    fl_steady_place steady[FL_STEADY_PLACES]; /* by the last byte of the place's id */
    const fl_app *app;                        /* who waits is told by it; NULL: nobody */
    int64_t n_asked;                          /* lots so far, for who waits */
    int64_t n_lots;                           /* that are not gone */
};

/* fl_know_prior_of, remembered. */
double fl_chances_know_prior(const fl_chances *chances, const fl_threat *threat,
                             fl_source_kind kind, fl_form form);

/* The prior of a root of the pest's network: learned, or by the tables. After fl_chances_learn. */
double fl_chances_prior(const fl_chances *chances, const fl_pest *pest, size_t root);

/* The pest's network. */
const fl_network *fl_pest_network(const fl_chances *chances, const fl_pest *pest);

/* Index of a lot in the meaning; FL_NO_INDEX. */
size_t fl_chances_lot_index(const fl_chances *chances, const fl_lot *lot);

/* Where the lot is now in the pest's network; FL_NO_INDEX. */
size_t fl_chances_carrier(const fl_chances *chances, const fl_pest *pest, const fl_lot *lot);

/* What is remembered of a pest on a carrier. */
fl_cached *fl_chances_cached(fl_chances *chances, const fl_pest *pest, size_t carrier);

/* The hour at which a root of the pest (an index of the network, or FL_FIND_ROOT(k)) first met the
 * lot or what it was cut or split from; INT64_MAX: never. */
int64_t fl_chances_met_at(fl_chances *chances, const fl_pest *pest, size_t lot, size_t root);

/* One stretch of a lot on one carrier (FL_NO_INDEX: on none); to_h INT64_MAX: still. */
typedef struct fl_stretch {
    size_t carrier;
    int64_t from_h;
    int64_t to_h;
} fl_stretch;

/* Where the lot has stood in the pest's network, and before its birth those it was cut or split
 * from; an array in the chances' arena. Returns how many. */
size_t fl_chances_stretches(fl_chances *chances, const fl_pest *pest, size_t lot, fl_stretch **out);

/* Both readings of a pest on a carrier now. */
fl_status fl_chances_read(fl_chances *chances, fl_pest *pest, size_t carrier, fl_cached *out,
                          fl_err *err) FL_MUST_USE;

/* Without a recall: the walk of all, happening by happening. With one: what is told, what is known
 * of it, and the walk of the rest. */
fl_status fl_chances_walk(fl_chances *chances, fl_err *err) FL_MUST_USE;

/* Sees to it that all copies that ever reached the lot have been walked. Before its carriers are
 * read. */
fl_status fl_chances_reach(fl_chances *chances, const fl_lot *lot, fl_err *err) FL_MUST_USE;

/* Which root of the network the recall means; FL_NO_INDEX: none of this one. */
size_t fl_chances_root(const fl_chances *chances, fl_carriage carriage,
                       const fl_recalled_root *root);

/* P(no find so far | the copy's root is real), if one came. */
fl_status fl_chances_quiet(fl_chances *chances, const fl_spread *spread, const fl_copy *copy,
                           double *out, fl_err *err) FL_MUST_USE;

/* A spread told of a blame: noted for the recall. */
void fl_chances_note_blame(fl_chances *chances, const fl_pest *pest, bool is_fast, size_t root,
                           double cause);

/* Replaces table priors by what the keeper's own purchases teach, each purchase left out of its
 * own (design 4.14). */
fl_status fl_chances_learn(fl_chances *chances, fl_err *err) FL_MUST_USE;

#endif
