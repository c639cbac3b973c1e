/* Programmes as shared, remembered nodes: a chain of operations. Equal histories are one node,
 * found by its parent and its operation, of which equal ones are one too. A state is computed once,
 * kept packed to the substages its model has, and put into the room's memo under the hash of the
 * chain so far. */
#ifndef FL_APP_PROGRAMME_STORE_H
#define FL_APP_PROGRAMME_STORE_H

#include "app/app.h"
#include "core/clear/spread.h"

struct fl_prog {
    const fl_prog *parent; /* NULL at the start */
    const fl_stage_model *model;
    const fl_op *op;
    const fl_hash *hash;        /* NULL until the memo is asked */
    const double *state;        /* packed; NULL until computed, or not kept */
    const fl_filter_sums *sums; /* NULL until asked for */
    bool is_remembered;         /* the memo holds its state, or needs not */
};

/* One operation, with the bytes that tell it from others. */
typedef struct fl_kept_op {
    fl_op op;
    const uint8_t *bytes;
    size_t len;
} fl_kept_op;

/* The operation of a kind that was asked for last: the copies on one carrier ask for the same. */
typedef struct fl_last_op {
    fl_op asked;
    int n_stages;
    const fl_kept_op *kept;
} fl_last_op;

#define FL_PROGRAMME_MODELS_MAX 128

typedef struct fl_programmes {
    fl_arena *arena; /* owns nodes and states */
    fl_app *app;     /* the memo; NULL: none */
    fl_know_mixture mixture;
    fl_prog **table;   /* open addressing by parent and operation */
    size_t cap, count; /* cap is a power of two */
    fl_kept_op **ops;  /* open addressing by bytes */
    size_t cap_ops, n_ops;
    fl_last_op last[FL_OP_KINDS];
    const fl_stage_model *models[FL_PROGRAMME_MODELS_MAX]; /* of equal ones the first */
    size_t n_models;
    fl_prog **fresh; /* nodes whose state the memo should get */
    size_t n_fresh, cap_fresh;
    size_t n_states, n_memo_hits;
    size_t n_bytes;    /* of nodes, operations and states, about */
    bool does_outlive; /* the caller's arrays of temperatures: they are copied */
} fl_programmes;

void fl_programmes_init(fl_programmes *set, fl_app *app, fl_arena *arena);

/* The same set for another run: what the run before handed in may be gone. Nothing more is written
 * to the memo, or read from it: what matters of it is here. For sets with does_outlive. */
void fl_programmes_resume(fl_programmes *set);

/* The node for `parent` (NULL: none) followed by `op`, for this model. */
fl_status fl_programmes_append(fl_programmes *set, const fl_stage_model *model,
                               const fl_prog *parent, const fl_op *op, const fl_prog **out,
                               fl_err *err) FL_MUST_USE;

/* Its state. */
fl_status fl_programmes_state(fl_programmes *set, const fl_prog *prog, fl_filter *out,
                              fl_err *err) FL_MUST_USE;

/* Its masses alone: within 1e-12 those of its state, which is not computed where they follow from
 * the masses of the programme before it. */
fl_status fl_programmes_sums(fl_programmes *set, const fl_prog *prog, fl_filter_sums *out,
                             fl_err *err) FL_MUST_USE;

/* Writes what the memo should get. A memo that cannot be written is no error. */
void fl_programmes_remember(fl_programmes *set);

#endif
