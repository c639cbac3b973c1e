/* Programmes as shared nodes: equal histories are one, states are those of the operations applied
 * one after the other, bit for bit, from the store and from the memo of a room. */
#include <math.h>
#include <string.h>

#include "app/programme_store.h"
#include "support/keeper.h"

#define N_OPS 7

/* A history; `variant` changes its last link. */
static void write_ops(fl_op *ops, int variant)
{
    static const double temps_c[4] = {20.0, 20.0, 20.0, 20.0};
    memset(ops, 0, N_OPS * sizeof ops[0]);
    ops[0] = (fl_op){.kind = FL_OP_START, .start = {.prior = 1.0, .share = {0.5, 0.3, 0.2}}};
    ops[1] = (fl_op){.kind = FL_OP_TIME, .time = {.n_hours = 4, .temps_c = temps_c}};
    ops[2] = (fl_op){.kind = FL_OP_TREAT, .treat = {.survival = {0.9, 0.3, 0.5, 0.1}}};
    ops[3] = (fl_op){.kind = FL_OP_TIME, .time = {.n_hours = 300, .temp_c = 22.5}};
    ops[4] = (fl_op){.kind = FL_OP_LOOK, .look = {.detect = {0.0, 0.2, 0.1, 0.7}, .cap = 0.9}};
    ops[5] = (fl_op){.kind = FL_OP_TIME, .time = {.n_hours = 90, .temp_c = 19.0}};
    ops[6] = (fl_op){.kind = FL_OP_LOOK, .look = {.detect = {0.0, 0.2, 0.1, 0.7}, .cap = 0.9}};
    ops[6].look.detect[1] += 0.1 * variant;
}

static const fl_prog *append_all(fl_programmes *set, const fl_stage_model *model, const fl_op *ops)
{
    const fl_prog *prog = NULL;
    fl_err err;
    for (int i = 0; i < N_OPS; i++) {
        check_ok(fl_programmes_append(set, model, prog, &ops[i], &prog, &err), &err);
    }
    return prog;
}

static fl_filter apply_all(const fl_stage_model *model, const fl_op *ops, int n)
{
    fl_know_mixture mixture = fl_know_detectability();
    fl_filter state;
    fl_err err;
    memset(&state, 0, sizeof state);
    state.n_mix = FL_MULTIPLIERS;
    memcpy(state.multiplier, mixture.multiplier, sizeof mixture.multiplier);
    for (int i = 0; i < n; i++) {
        check_ok(fl_op_apply(model, &ops[i], &state, &err), &err);
    }
    return state;
}

static void check_state(fl_programmes *set, const fl_prog *prog, const fl_filter *want)
{
    fl_filter got;
    fl_filter_sums sums;
    fl_err err;
    check_ok(fl_programmes_state(set, prog, &got, &err), &err);
    check_int(memcmp(&got, want, sizeof got), 0);
    check_ok(fl_programmes_sums(set, prog, &sums, &err), &err);
    for (int w = 0; w < FL_MULTIPLIERS; w++) {
        check_close(sums.alive[w], fl_filter_alive(want, w), 1e-12, 0.0);
        check_close(sums.found[w], want->found[w], 0.0, 0.0);
    }
}

static void test_equal_histories_are_one(void **unused)
{
    (void)unused;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    fl_stage_model twin = gnat->slow;
    fl_op ops[N_OPS];
    fl_programmes set;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_programmes_init(&set, NULL, &arena);
    write_ops(ops, 0);
    const fl_prog *first = append_all(&set, &gnat->slow, ops);
    check_int(set.count, N_OPS);
    static const double temps_c[4] = {20.0, 20.0, 20.0, 20.0};
    ops[1].time.temps_c = temps_c; /* other storage, another date, an equal model: the same */
    ops[4].at_h = 77;
    check_true(append_all(&set, &gnat->slow, ops) == first);
    ops[1].time.temps_c = NULL;
    ops[1].time.temp_c = 20.0;
    check_true(append_all(&set, &twin, ops) == first);
    check_int(set.count, N_OPS);
    check_true(append_all(&set, &gnat->fast, ops) != first);
    check_int(set.count, 2 * N_OPS);
    write_ops(ops, 1);
    const fl_prog *other = append_all(&set, &gnat->slow, ops);
    check_true(other != first && other->parent == first->parent);
    check_int(set.count, 2 * N_OPS + 1);
    fl_filter want = apply_all(&gnat->slow, ops, N_OPS);
    check_state(&set, other, &want);
    check_state(&set, other, &want);
    want = apply_all(&gnat->slow, ops, N_OPS - 1);
    check_state(&set, other->parent, &want);
    ops[6].look.cap = 1.5; /* what cannot be computed is refused */
    fl_filter state;
    const fl_prog *bad = NULL;
    fl_err err;
    check_ok(fl_programmes_append(&set, &gnat->slow, other->parent, &ops[6], &bad, &err), &err);
    check_int(fl_programmes_state(&set, bad, &state, &err), FL_EDOMAIN);
    ops[5].time.n_hours = -1;
    check_int(fl_programmes_append(&set, &gnat->slow, other, &ops[5], &bad, &err), FL_EDOMAIN);
    fl_arena_done(&arena);
}

/* Many nodes, so that the tables grow, all found again. */
static void test_many(void **unused)
{
    (void)unused;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    const fl_prog *leaf[3000];
    fl_op ops[N_OPS];
    fl_programmes set;
    fl_arena arena;
    fl_err err;
    fl_arena_init(&arena);
    fl_programmes_init(&set, NULL, &arena);
    write_ops(ops, 0);
    const fl_prog *trunk = append_all(&set, &gnat->slow, ops);
    for (int round = 0; round < 2; round++) {
        for (int i = 0; i < 3000; i++) {
            const fl_prog *made = NULL;
            ops[5].time.n_hours = 1 + i;
            check_ok(fl_programmes_append(&set, &gnat->slow, trunk, &ops[5], &made, &err), &err);
            check_true(round == 0 || made == leaf[i]);
            leaf[i] = made;
        }
        check_int(set.count, N_OPS + 3000);
    }
    fl_arena_done(&arena);
}

/* A second run finds in the room's memo what the first computed, the same to the last bit. */
static void test_memo(void **unused)
{
    (void)unused;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    fl_keeper k;
    fl_keeper_init(&k);
    fl_op ops[N_OPS];
    write_ops(ops, 0);
    fl_filter want = apply_all(&gnat->slow, ops, N_OPS);
    for (int run = 0; run < 2; run++) {
        fl_programmes set;
        fl_arena arena;
        fl_arena_init(&arena);
        fl_programmes_init(&set, &k.app, &arena);
        const fl_prog *prog = append_all(&set, &gnat->slow, ops);
        check_state(&set, prog, &want);
        check_int(set.n_memo_hits, run);
        fl_programmes_remember(&set);
        fl_arena_done(&arena);
    }
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_equal_histories_are_one),
    cmocka_unit_test(test_many),
    cmocka_unit_test(test_memo),
};
FL_TEST_MAIN(tests)
