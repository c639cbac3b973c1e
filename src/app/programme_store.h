/* Programmes as shared, remembered nodes: a chain of operations with a hash at each link. Equal
 * histories are one node; a state is computed once, and kept in the room's memo under its hash. */
#ifndef FL_APP_PROGRAMME_STORE_H
#define FL_APP_PROGRAMME_STORE_H

#include "app/app.h"
#include "core/clear/spread.h"

struct fl_prog {
    const fl_prog *parent; /* NULL at the start */
    const fl_stage_model *model;
    fl_op op;
    fl_hash hash;
    fl_filter *state;   /* NULL until asked for */
    bool is_remembered; /* the memo holds its state, or needs not */
};

typedef struct fl_programmes {
    fl_arena *arena; /* owns nodes and states */
    fl_app *app;     /* the memo; NULL: none */
    fl_know_mixture mixture;
    fl_prog **table;   /* open addressing by hash */
    size_t cap, count; /* cap is a power of two */
    fl_prog **fresh;   /* nodes whose state the memo should get */
    size_t n_fresh, cap_fresh;
    size_t n_states, n_memo_hits;
} fl_programmes;

void fl_programmes_init(fl_programmes *set, fl_app *app, fl_arena *arena);

/* The node for `parent` (NULL: none) followed by `op`, for this model. */
fl_status fl_programmes_append(fl_programmes *set, const fl_stage_model *model,
                               const fl_prog *parent, const fl_op *op, const fl_prog **out,
                               fl_err *err) FL_MUST_USE;

/* Its state; a view that lives as long as the set. */
fl_status fl_programmes_state(fl_programmes *set, const fl_prog *prog, const fl_filter **out,
                              fl_err *err) FL_MUST_USE;

/* Writes what the memo should get. A memo that cannot be written is no error. */
void fl_programmes_remember(fl_programmes *set);

#endif
