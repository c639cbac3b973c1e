/* What the last answers left behind, for the next: the programmes with their states, and of each
 * carrier what its copies taught and whom its finds blamed, under the digest of all that it depends
 * on (core/clear/depend). Nothing in it is ever wrong, only unused: another history has other
 * digests. It may be dropped at any time. One for each thread. */
#ifndef FL_APP_RECALL_H
#define FL_APP_RECALL_H

#include "app/chance.h"
#include "app/programme_store.h"
#include "core/clear/depend.h"
#include "core/learn/kind.h"

/* Programmes are dropped beyond this, and found again from the start of the histories asked for. */
#define FL_RECALL_BYTES_MAX ((size_t)56 << 20)

/* What a network calls a root; of a find's root the look and its carrier. */
typedef struct fl_recalled_root {
    fl_root_kind kind;
    fl_id key;
    fl_id carrier; /* FL_ROOT_FIND */
} fl_recalled_root;

/* A find on the carrier may have been of this root. */
typedef struct fl_recalled_blame {
    size_t pest;
    bool is_fast;
    unsigned find; /* the how manieth of the carrier */
    fl_recalled_root root;
    double cause;
} fl_recalled_blame;

/* One carrier. */
typedef struct fl_recalled {
    fl_digest digest;
    uint64_t used_in; /* the run that asked for it last */
    fl_recalled_root *roots;
    double
        *quiet; /* [n_roots x n_pests]: P(no find | the root is real), the most; below 0: no copy */
    size_t n_roots;
    fl_recalled_blame *blames;
    size_t n_blames;
} fl_recalled;

/* The purchases of one kind of source as they taught of one pest last, with the sums over them. */
typedef struct fl_recalled_class {
    fl_learn_beta mean;
    fl_learn_lesson *lesson; /* [n_lessons] */
    int *first_of;           /* [n_sources + 1] */
    int n_lessons, n_sources;
    double *work; /* NULL: none yet */
} fl_recalled_class;

/* Of one pest and kind no more than so many sums are kept. */
#define FL_RECALL_WORK_MAX ((size_t)1 << 17)

struct fl_recall {
    fl_arena arena; /* of the programmes */
    fl_programmes programmes;
    bool has_programmes;
    fl_recalled **table; /* open addressing by digest */
    size_t cap, count;
    uint64_t run;
    fl_recalled_class *classes; /* [n_classes]: by pest, then kind */
    size_t n_classes;
    fl_sheet *sheets; /* [n_sheets]: the figures that were looked up, by pest and set */
    size_t n_sheets;
    fl_learn_grid grid; /* of these many: */
    int grid_sources, grid_purchases;
    double *grid_storage; /* NULL: no grid yet */
};

/* A zeroed one is empty, too. */
void fl_recall_init(fl_recall *recall);
void fl_recall_done(fl_recall *recall);

/* A run begins: programmes are made or resumed. The memo of `app` is asked in the first run. */
void fl_recall_begin(fl_recall *recall, fl_app *app);

/* A run is over: carriers that were not asked for are forgotten when there are many of them. */
void fl_recall_end(fl_recall *recall);

/* The grid for so many sources and purchases; another one makes the classes worthless. */
const fl_learn_grid *fl_recall_grid(fl_recall *recall, int n_sources, int n_purchases);

/* The sums of a class brought up to these purchases: in *work until the next call for this class.
 * *work is NULL, and nothing done, when there would be too many. Errors of fl_learn_kind_hear. */
fl_status fl_recall_hear(fl_recall *recall, size_t class_index, size_t n_classes,
                         const fl_learn_kind *kind, double **work, fl_err *err) FL_MUST_USE;

/* NULL when it is not known. */
const fl_recalled *fl_recall_find(fl_recall *recall, fl_digest digest);

/* Takes over a carrier; its arrays are from fl_alloc and the recall's from now on. */
const fl_recalled *fl_recall_keep(fl_recall *recall, const fl_recalled *carrier);

#endif
