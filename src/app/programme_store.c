/* The set of programme nodes, their hashes and states. The memo's rows are raw doubles of this
 * machine: it may be dropped at any time, and never leaves the room file. */
#include "app/programme_store.h"

#include <assert.h>
#include <string.h>

#include "base/alloc.h"

#define TABLE_FIRST 1024

void fl_programmes_init(fl_programmes *set, fl_app *app, fl_arena *arena)
{
    *set = (fl_programmes){.arena = arena, .app = app, .mixture = fl_know_detectability()};
    set->cap = TABLE_FIRST;
    set->table = FL_ARENA_ARRAY(arena, fl_prog *, set->cap);
}

/* ---- nodes ---- */

static size_t slot_of(const fl_programmes *set, fl_hash hash)
{
    uint64_t start = 0;
    memcpy(&start, hash.b, sizeof start);
    size_t slot = (size_t)start & (set->cap - 1);
    while (set->table[slot] != NULL &&
           memcmp(set->table[slot]->hash.b, hash.b, FL_HASH_BYTES) != 0) {
        slot = (slot + 1) & (set->cap - 1);
    }
    return slot;
}

static void grow(fl_programmes *set)
{
    fl_prog **old = set->table;
    size_t old_cap = set->cap;
    set->cap *= 2;
    set->table = FL_ARENA_ARRAY(set->arena, fl_prog *, set->cap);
    for (size_t i = 0; i < old_cap; i++) {
        if (old[i] != NULL) {
            set->table[slot_of(set, old[i]->hash)] = old[i];
        }
    }
}

static fl_status hash_of(fl_programmes *set, const fl_stage_model *model, const fl_prog *parent,
                         const fl_op *op, fl_hash *out, fl_err *err)
{
    uint8_t usual[FL_OP_BYTES_USUAL];
    uint8_t *bytes = usual;
    fl_hash seed;
    if (parent != NULL) {
        seed = parent->hash;
    } else {
        size_t n = fl_model_bytes(model, usual, sizeof usual);
        seed = fl_hash_of(usual, n);
        n = fl_mixture_bytes(FL_MULTIPLIERS, set->mixture.multiplier, usual, sizeof usual);
        seed = fl_hash_link(seed, usual, n);
    }
    size_t need = fl_op_bytes(op, model, usual, sizeof usual);
    if (need == 0) {
        return fl_fail(err, FL_EDOMAIN, "an operation of a programme has figures out of range");
    }
    if (need > sizeof usual) {
        bytes = fl_arena_alloc(set->arena, need, 1);
        need = fl_op_bytes(op, model, bytes, need);
    }
    *out = fl_hash_link(seed, bytes, need);
    return FL_OK;
}

fl_status fl_programmes_append(fl_programmes *set, const fl_stage_model *model,
                               const fl_prog *parent, const fl_op *op, const fl_prog **out,
                               fl_err *err)
{
    fl_hash hash;
    fl_status status = hash_of(set, model, parent, op, &hash, err);
    if (status != FL_OK) {
        return status;
    }
    size_t slot = slot_of(set, hash);
    if (set->table[slot] == NULL) {
        if (2 * (set->count + 1) > set->cap) {
            grow(set);
            slot = slot_of(set, hash);
        }
        fl_prog *node = FL_ARENA_NEW(set->arena, fl_prog);
        *node = (fl_prog){.parent = parent, .model = model, .op = *op, .hash = hash};
        set->table[slot] = node;
        set->count++;
    }
    *out = set->table[slot];
    return FL_OK;
}

/* ---- the memo's rows ---- */

/* prior, n, n_mix, multipliers, found, dead, then alive substage by substage. */
#define ROW_HEAD 3

static size_t row_doubles(int n, int n_mix)
{
    return (size_t)(ROW_HEAD + 3 * n_mix + n * n_mix);
}

static void write_row(const fl_filter *state, double *row)
{
    size_t at = 0;
    row[at++] = state->prior;
    row[at++] = state->n;
    row[at++] = state->n_mix;
    for (int w = 0; w < state->n_mix; w++) {
        row[at++] = state->multiplier[w];
        row[at++] = state->found[w];
        row[at++] = state->dead[w];
    }
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < state->n_mix; w++) {
            row[at++] = state->alive[i][w];
        }
    }
}

static bool read_row(fl_sv bytes, fl_filter *state)
{
    double head[ROW_HEAD];
    if (bytes.len < sizeof head) {
        return false;
    }
    memcpy(head, bytes.ptr, sizeof head);
    bool is_sound = head[1] >= 1.0 && head[1] <= FL_SUBSTAGES_MAX && head[2] >= 1.0 &&
                    head[2] <= FL_MIXTURE_MAX;
    int n = is_sound ? (int)head[1] : 0;
    int n_mix = is_sound ? (int)head[2] : 0;
    if (!is_sound || bytes.len != row_doubles(n, n_mix) * sizeof(double)) {
        return false;
    }
    double row[ROW_HEAD + 3 * FL_MIXTURE_MAX + FL_SUBSTAGES_MAX * FL_MIXTURE_MAX];
    memcpy(row, bytes.ptr, bytes.len);
    size_t at = ROW_HEAD;
    *state = (fl_filter){.prior = head[0], .n = n, .n_mix = n_mix};
    for (int w = 0; w < n_mix; w++) {
        state->multiplier[w] = row[at++];
        state->found[w] = row[at++];
        state->dead[w] = row[at++];
    }
    for (int i = 0; i < n; i++) {
        for (int w = 0; w < n_mix; w++) {
            state->alive[i][w] = row[at++];
        }
    }
    return true;
}

static bool recall(fl_programmes *set, const fl_prog *node, fl_filter *state)
{
    fl_arena arena;
    fl_sv bytes;
    if (set->app == NULL) {
        return false;
    }
    fl_arena_init(&arena);
    bool is_there = fl_store_memo_get(set->app->store, node->hash, &arena, &bytes, NULL) == FL_OK &&
                    read_row(bytes, state);
    fl_arena_done(&arena);
    set->n_memo_hits += is_there ? 1 : 0;
    return is_there;
}

static void note_fresh(fl_programmes *set, fl_prog *node)
{
    if (set->app == NULL || node->is_remembered) {
        return;
    }
    if (set->n_fresh == set->cap_fresh) {
        size_t cap = set->cap_fresh == 0 ? 64 : 2 * set->cap_fresh;
        fl_prog **fresh = FL_ARENA_ARRAY(set->arena, fl_prog *, cap);
        if (set->n_fresh > 0) {
            memcpy(fresh, set->fresh, set->n_fresh * sizeof fresh[0]);
        }
        set->fresh = fresh;
        set->cap_fresh = cap;
    }
    node->is_remembered = true;
    set->fresh[set->n_fresh++] = node;
}

void fl_programmes_remember(fl_programmes *set)
{
    if (set->app == NULL || set->n_fresh == 0) {
        return;
    }
    fl_arena arena;
    fl_arena_init(&arena);
    fl_memo *memos = FL_ARENA_ARRAY(&arena, fl_memo, set->n_fresh);
    for (size_t i = 0; i < set->n_fresh; i++) {
        const fl_filter *state = set->fresh[i]->state;
        size_t n = row_doubles(state->n, state->n_mix);
        double *row = FL_ARENA_ARRAY(&arena, double, n);
        write_row(state, row);
        memos[i] =
            (fl_memo){.link = set->fresh[i]->hash, .state = {(const char *)row, n * sizeof row[0]}};
    }
    /* A memo that was not kept, because another process writes, is computed again. */
    fl_status kept = fl_store_memo_put_all(set->app->store, memos, set->n_fresh, NULL);
    set->n_fresh = kept == FL_OK ? 0 : set->n_fresh;
    fl_arena_done(&arena);
}

/* ---- states ---- */

/* Nodes are created by the set and handed out const; the set itself may fill in their state. */
static fl_prog *own(const fl_programmes *set, const fl_prog *prog)
{
    fl_prog *node = set->table[slot_of(set, prog->hash)];
    assert(node != NULL); /* every node handed out stands in the table */
    return node;
}

static fl_filter *new_state(fl_programmes *set, const fl_filter *from)
{
    fl_filter *state = FL_ARENA_NEW(set->arena, fl_filter);
    *state = *from;
    set->n_states++;
    return state;
}

fl_status fl_programmes_state(fl_programmes *set, const fl_prog *prog, const fl_filter **out,
                              fl_err *err)
{
    fl_filter state = {.n_mix = FL_MULTIPLIERS};
    const fl_prog *base = prog;
    size_t n_missing = 0;
    memcpy(state.multiplier, set->mixture.multiplier, sizeof set->mixture.multiplier);
    for (; base != NULL; base = base->parent, n_missing++) {
        if (base->state != NULL) {
            state = *base->state;
            break;
        }
        if (recall(set, base, &state)) {
            own(set, base)->is_remembered = true;
            break;
        }
    }
    const fl_prog **missing = FL_ARENA_ARRAY(set->arena, const fl_prog *, n_missing + 1);
    const fl_prog *node = prog;
    for (size_t i = n_missing; i > 0 && node != NULL; i--, node = node->parent) {
        missing[i - 1] = node;
    }
    for (size_t i = 0; i < n_missing; i++) {
        fl_status status = fl_op_apply(missing[i]->model, &missing[i]->op, &state, err);
        if (status != FL_OK) {
            return status;
        }
        /* The link before a wait for "now" is what the next question will start from. */
        bool is_last = i + 1 == n_missing;
        if (!is_last && i + 2 == n_missing && prog->op.kind == FL_OP_TIME) {
            fl_prog *stable = own(set, missing[i]);
            stable->state = new_state(set, &state);
            note_fresh(set, stable);
        }
    }
    fl_prog *asked = own(set, prog);
    if (asked->state == NULL) {
        asked->state = new_state(set, &state);
        if (asked->op.kind != FL_OP_TIME && n_missing > 0) {
            note_fresh(set, asked);
        }
    }
    *out = asked->state;
    return FL_OK;
}
