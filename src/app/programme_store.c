/* The set of programme nodes, their hashes and states. The memo's rows are raw doubles of this
 * machine: it may be dropped at any time, and never leaves the room file. */
#include "app/programme_store.h"

#include <assert.h>
#include <string.h>

#define TABLE_FIRST 1024

void fl_programmes_init(fl_programmes *set, fl_app *app, fl_arena *arena)
{
    *set = (fl_programmes){.arena = arena, .app = app, .mixture = fl_know_detectability()};
    set->cap = set->cap_ops = TABLE_FIRST;
    set->table = FL_ARENA_ARRAY(arena, fl_prog *, set->cap);
    set->ops = FL_ARENA_ARRAY(arena, fl_kept_op *, set->cap_ops);
}

void fl_programmes_resume(fl_programmes *set)
{
    assert(set->does_outlive);
    memset(set->last, 0, sizeof set->last); /* an address may be used anew */
    set->app = NULL;
    set->n_fresh = 0;
}

/* ---- mixing keys ---- */

static uint64_t stirred(uint64_t key)
{
    key ^= key >> 32;
    key *= UINT64_C(0xD6E8FEB86659FD93);
    return key ^ (key >> 32);
}

static uint64_t key_of_bytes(const uint8_t *bytes, size_t len)
{
    uint64_t key = len;
    for (size_t i = 0; i < len; i += sizeof key) {
        uint64_t word = 0;
        memcpy(&word, &bytes[i], len - i < sizeof word ? len - i : sizeof word);
        key = stirred(key ^ word);
    }
    return key;
}

static uint64_t key_of_node(const void *parent, const fl_op *op)
{
    return stirred(stirred((uint64_t)(uintptr_t)parent) ^ (uint64_t)(uintptr_t)op);
}

/* ---- operations ---- */

static size_t op_slot(const fl_programmes *set, const uint8_t *bytes, size_t len)
{
    size_t slot = (size_t)key_of_bytes(bytes, len) & (set->cap_ops - 1);
    while (set->ops[slot] != NULL &&
           (set->ops[slot]->len != len || memcmp(set->ops[slot]->bytes, bytes, len) != 0)) {
        slot = (slot + 1) & (set->cap_ops - 1);
    }
    return slot;
}

static void grow_ops(fl_programmes *set)
{
    fl_kept_op **old = set->ops;
    size_t old_cap = set->cap_ops;
    set->cap_ops *= 2;
    set->ops = FL_ARENA_ARRAY(set->arena, fl_kept_op *, set->cap_ops);
    for (size_t i = 0; i < old_cap; i++) {
        if (old[i] != NULL) {
            set->ops[op_slot(set, old[i]->bytes, old[i]->len)] = old[i];
        }
    }
}

/* Temperatures are borrowed from the caller's run. */
static void own_temps(fl_programmes *set, fl_op *op)
{
    if (!set->does_outlive || op->kind != FL_OP_TIME || op->time.temps_c == NULL) {
        return;
    }
    size_t n = (size_t)op->time.n_hours;
    double *temps_c = FL_ARENA_ARRAY(set->arena, double, n);
    if (n > 0) {
        memcpy(temps_c, op->time.temps_c, n * sizeof temps_c[0]);
    }
    op->time.temps_c = temps_c;
    set->n_bytes += n * sizeof temps_c[0];
}

/* One of all equal operations, by their canonical bytes: these say nothing of when it was. */
static fl_status keep_op(fl_programmes *set, const fl_stage_model *model, const fl_op *op,
                         const fl_kept_op **out, fl_err *err)
{
    uint8_t usual[FL_OP_BYTES_USUAL];
    uint8_t *bytes = usual;
    size_t len = fl_op_bytes(op, model, usual, sizeof usual);
    if (len == 0) {
        return fl_fail(err, FL_EDOMAIN, "an operation of a programme has figures out of range");
    }
    if (len > sizeof usual) {
        bytes = fl_arena_alloc(set->arena, len, 1);
        len = fl_op_bytes(op, model, bytes, len);
    }
    size_t slot = op_slot(set, bytes, len);
    if (set->ops[slot] == NULL) {
        if (2 * (set->n_ops + 1) > set->cap_ops) {
            grow_ops(set);
            slot = op_slot(set, bytes, len);
        }
        uint8_t *own = bytes != usual ? bytes : fl_arena_alloc(set->arena, len, 1);
        memmove(own, bytes, len);
        fl_kept_op *kept = FL_ARENA_NEW(set->arena, fl_kept_op);
        *kept = (fl_kept_op){*op, own, len};
        own_temps(set, &kept->op);
        set->n_bytes += sizeof *kept + len;
        set->ops[slot] = kept;
        set->n_ops++;
    }
    *out = set->ops[slot];
    return FL_OK;
}

static fl_status kept_op(fl_programmes *set, const fl_stage_model *model, const fl_op *op,
                         const fl_op **out, fl_err *err)
{
    assert((int)op->kind < FL_OP_KINDS);
    fl_last_op *last = &set->last[op->kind];
    fl_op asked;
    fl_status status = FL_OK;
    memcpy(&asked, op, sizeof asked); /* its padding too, for memcmp */
    asked.at_h = 0;
    if (last->kept == NULL || last->n_stages != model->n_stages ||
        memcmp(&last->asked, &asked, sizeof asked) != 0) {
        const fl_kept_op *kept = NULL;
        status = keep_op(set, model, op, &kept, err);
        if (status == FL_OK) {
            memcpy(&last->asked, &asked, sizeof asked);
            last->n_stages = model->n_stages;
            last->kept = kept;
        }
    }
    if (status == FL_OK) {
        *out = &last->kept->op;
    }
    return status;
}

/* ---- nodes ---- */

static bool same_model(const fl_stage_model *a, const fl_stage_model *b)
{
    uint8_t of_a[512];
    uint8_t of_b[sizeof of_a];
    size_t n = fl_model_bytes(a, of_a, sizeof of_a);
    return a == b ||
           (n > 0 && n == fl_model_bytes(b, of_b, sizeof of_b) && memcmp(of_a, of_b, n) == 0);
}

/* Of equal models the first: their programmes are shared. */
static const fl_stage_model *kept_model(fl_programmes *set, const fl_stage_model *model)
{
    for (size_t i = 0; i < set->n_models; i++) {
        if (set->models[i] == model) {
            return model;
        }
    }
    for (size_t i = 0; i < set->n_models; i++) {
        if (same_model(set->models[i], model)) {
            return set->models[i];
        }
    }
    if (set->n_models < FL_PROGRAMME_MODELS_MAX) {
        set->models[set->n_models++] = model;
    }
    return model;
}

static size_t node_slot(const fl_programmes *set, const fl_prog *parent,
                        const fl_stage_model *model, const fl_op *op)
{
    const void *before = parent != NULL ? (const void *)parent : (const void *)model;
    size_t slot = (size_t)key_of_node(before, op) & (set->cap - 1);
    while (set->table[slot] != NULL &&
           (set->table[slot]->parent != parent || set->table[slot]->op != op ||
            set->table[slot]->model != model)) {
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
            set->table[node_slot(set, old[i]->parent, old[i]->model, old[i]->op)] = old[i];
        }
    }
}

fl_status fl_programmes_append(fl_programmes *set, const fl_stage_model *model,
                               const fl_prog *parent, const fl_op *op, const fl_prog **out,
                               fl_err *err)
{
    const fl_op *own = NULL;
    const fl_stage_model *kept = parent != NULL ? parent->model : kept_model(set, model);
    fl_status status = kept_op(set, kept, op, &own, err);
    if (status != FL_OK) {
        return status;
    }
    size_t slot = node_slot(set, parent, kept, own);
    if (set->table[slot] == NULL) {
        if (2 * (set->count + 1) > set->cap) {
            grow(set);
            slot = node_slot(set, parent, kept, own);
        }
        fl_prog *node = FL_ARENA_NEW(set->arena, fl_prog);
        *node = (fl_prog){.parent = parent, .model = kept, .op = own};
        set->table[slot] = node;
        set->count++;
        set->n_bytes += sizeof *node;
    }
    *out = set->table[slot];
    return FL_OK;
}

/* Nodes are created by the set and handed out const; the set itself may fill in the rest. */
static fl_prog *own(const fl_programmes *set, const fl_prog *prog)
{
    fl_prog *node = set->table[node_slot(set, prog->parent, prog->model, prog->op)];
    assert(node != NULL); /* every node handed out stands in the table */
    return node;
}

/* ---- hashes, for the memo ---- */

static fl_hash seed_of(const fl_programmes *set, const fl_stage_model *model)
{
    uint8_t bytes[512];
    fl_hash seed = fl_hash_of(bytes, fl_model_bytes(model, bytes, sizeof bytes));
    return fl_hash_link(
        seed, bytes,
        fl_mixture_bytes(FL_MULTIPLIERS, set->mixture.multiplier, bytes, sizeof bytes));
}

static const fl_hash *hash_of(fl_programmes *set, const fl_prog *prog)
{
    size_t n = 0;
    const fl_prog *from = prog;
    for (; from != NULL && from->hash == NULL; from = from->parent) {
        n++;
    }
    fl_hash hash = from != NULL ? *from->hash : seed_of(set, prog->model);
    for (; n > 0; n--) {
        const fl_prog *node = prog;
        for (size_t i = 1; i < n; i++) {
            node = node->parent;
        }
        const fl_kept_op *op = (const fl_kept_op *)(const void *)node->op; /* its first member */
        hash = fl_hash_link(hash, op->bytes, op->len);
        fl_hash *kept = FL_ARENA_NEW(set->arena, fl_hash);
        *kept = hash;
        own(set, node)->hash = kept;
    }
    return prog->hash;
}

/* ---- packed states; the memo's rows ---- */

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

static void read_row(const double *row, fl_filter *state)
{
    size_t at = ROW_HEAD;
    memset(state, 0, sizeof *state);
    state->prior = row[0];
    state->n = (int)row[1];
    state->n_mix = (int)row[2];
    for (int w = 0; w < state->n_mix; w++) {
        state->multiplier[w] = row[at++];
        state->found[w] = row[at++];
        state->dead[w] = row[at++];
    }
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < state->n_mix; w++) {
            state->alive[i][w] = row[at++];
        }
    }
}

/* A row that was stored is one only when its head and its length say so. */
static bool is_row(fl_sv bytes)
{
    double head[ROW_HEAD];
    if (bytes.len < sizeof head) {
        return false;
    }
    memcpy(head, bytes.ptr, sizeof head);
    return head[1] >= 1.0 && head[1] <= FL_SUBSTAGES_MAX && head[2] >= 1.0 &&
           head[2] <= FL_MIXTURE_MAX &&
           bytes.len == row_doubles((int)head[1], (int)head[2]) * sizeof(double);
}

static void keep_state(fl_programmes *set, fl_prog *node, const fl_filter *state)
{
    double *row = FL_ARENA_ARRAY(set->arena, double, row_doubles(state->n, state->n_mix));
    write_row(state, row);
    node->state = row;
    set->n_states++;
    set->n_bytes += row_doubles(state->n, state->n_mix) * sizeof row[0];
}

static bool recall(fl_programmes *set, fl_prog *node)
{
    fl_arena arena;
    fl_sv bytes;
    if (set->app == NULL) {
        return false;
    }
    fl_arena_init(&arena);
    bool is_there =
        fl_store_memo_get(set->app->store, *hash_of(set, node), &arena, &bytes, NULL) == FL_OK &&
        is_row(bytes);
    if (is_there) {
        double *row = fl_arena_alloc(set->arena, bytes.len, 1);
        memcpy(row, bytes.ptr, bytes.len);
        set->n_bytes += bytes.len;
        node->state = row;
        node->is_remembered = true;
        set->n_memo_hits++;
    }
    fl_arena_done(&arena);
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
        const double *row = set->fresh[i]->state;
        size_t bytes = row_doubles((int)row[1], (int)row[2]) * sizeof row[0];
        memos[i] = (fl_memo){.link = *hash_of(set, set->fresh[i]), {(const char *)row, bytes}};
    }
    /* A memo that was not kept, because another process writes, is computed again. */
    fl_status kept = fl_store_memo_put_all(set->app->store, memos, set->n_fresh, NULL);
    set->n_fresh = kept == FL_OK ? 0 : set->n_fresh;
    fl_arena_done(&arena);
}

/* ---- states ---- */

/* The nearest link back whose state is at hand; NULL: none is. *n_missing: links after it. */
static const fl_prog *nearest(fl_programmes *set, const fl_prog *prog, size_t *n_missing)
{
    const fl_prog *base = prog;
    *n_missing = 0;
    while (base != NULL && base->state == NULL && !recall(set, own(set, base))) {
        base = base->parent;
        (*n_missing)++;
    }
    return base;
}

static const fl_prog *ancestor(const fl_prog *prog, size_t steps)
{
    for (; steps > 0; steps--) {
        prog = prog->parent;
    }
    return prog;
}

/* Computes a state from the nearest link back. The link before a wait is kept: it is what the next
 * question starts from. */
static fl_status compute(fl_programmes *set, const fl_prog *prog, fl_filter *state, fl_err *err)
{
    size_t n_missing = 0;
    const fl_prog *base = nearest(set, prog, &n_missing);
    if (base != NULL) {
        read_row(base->state, state);
    } else {
        memset(state, 0, sizeof *state);
        state->n_mix = FL_MULTIPLIERS;
        memcpy(state->multiplier, set->mixture.multiplier, sizeof set->mixture.multiplier);
    }
    for (size_t left = n_missing; left > 0; left--) {
        const fl_prog *node = ancestor(prog, left - 1);
        fl_status status = fl_op_apply(node->model, node->op, state, err);
        if (status != FL_OK) {
            return status;
        }
        if (left == 2 && prog->op->kind == FL_OP_TIME) {
            fl_prog *stable = own(set, node);
            keep_state(set, stable, state);
            note_fresh(set, stable);
        }
    }
    return FL_OK;
}

fl_status fl_programmes_state(fl_programmes *set, const fl_prog *prog, fl_filter *out, fl_err *err)
{
    fl_status status = compute(set, prog, out, err);
    if (status == FL_OK && prog->state == NULL) {
        fl_prog *asked = own(set, prog);
        keep_state(set, asked, out);
        if (asked->op->kind != FL_OP_TIME) {
            note_fresh(set, asked);
        }
    }
    return status;
}

/* From the masses before it, or else from the state. */
static fl_status sum_up(fl_programmes *set, const fl_prog *prog, fl_filter_sums *out, fl_err *err)
{
    fl_filter_sums before;
    fl_filter state;
    bool is_waiting = prog->op->kind == FL_OP_TIME || prog->op->kind == FL_OP_INFLOW;
    if (is_waiting && prog->parent != NULL) {
        fl_status status = fl_programmes_sums(set, prog->parent, &before, err);
        if (status != FL_OK || fl_op_sums(prog->model, prog->op, &before, out)) {
            return status;
        }
    }
    fl_status status = fl_programmes_state(set, prog, &state, err);
    if (status == FL_OK) {
        fl_filter_sum(&state, out);
    }
    return status;
}

fl_status fl_programmes_sums(fl_programmes *set, const fl_prog *prog, fl_filter_sums *out,
                             fl_err *err)
{
    if (prog->sums == NULL) {
        fl_filter_sums sums;
        fl_status status = sum_up(set, prog, &sums, err);
        if (status != FL_OK) {
            return status;
        }
        fl_filter_sums *kept = FL_ARENA_NEW(set->arena, fl_filter_sums);
        *kept = sums;
        set->n_bytes += sizeof *kept;
        own(set, prog)->sums = kept;
    }
    *out = *prog->sums;
    return FL_OK;
}
