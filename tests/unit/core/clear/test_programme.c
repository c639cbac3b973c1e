/* Operations as data: the same as the filter's functions, with one canonical form in bytes. */
#include <math.h>
#include <string.h>

#include "core/clear/programme.h"
#include "support/check.h"

static const fl_stage_model LASTING =
    {3, {{6, 10, 60, 30, 0}, {4, 9, 80, 30, 0}, {1, NAN, NAN, NAN, 0}}, 0.0, 0};
static const fl_stage_model MODEL =
    {3, {{6, 10, 60, 30, 0}, {4, 9, 80, 30, 0.02}, {1, NAN, NAN, NAN, 0}}, 0.0, 0};
static const double MULTIPLIER[2] = {0.5, 1.5};

static const fl_op START = {.kind = FL_OP_START,
                            .start = {.prior = 0.25, .share = {0.5, 0.25, 0.25}}};

static fl_filter started(void)
{
    fl_filter state;
    memset(&state, 0, sizeof state);
    state.n_mix = 2;
    memcpy(state.multiplier, MULTIPLIER, sizeof MULTIPLIER);
    fl_err err;
    check_ok(fl_op_apply(&MODEL, &START, &state, &err), &err);
    return state;
}

static void check_same(const fl_filter *a, const fl_filter *b)
{
    check_int(memcmp(a, b, sizeof *a), 0);
}

static void test_start_keeps_the_multipliers(void **unused)
{
    (void)unused;
    fl_filter got = started();
    fl_filter want;
    const fl_filter_seed seed = {
        .prior = 0.25, .share = START.start.share, .n_mix = 2, .multiplier = MULTIPLIER};
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &want, &err), &err);
    check_same(&got, &want);
    fl_filter empty;
    memset(&empty, 0, sizeof empty);
    check_int(fl_op_apply(&MODEL, &START, &empty, &err), FL_EDOMAIN);
    check_contains(err.message, "multipliers");
}

static void test_each_kind_is_its_function(void **unused)
{
    (void)unused;
    static const double survival[3] = {0.9, 0.2, 0.1};
    static const double detect[3] = {0.05, 0.6, 0.8};
    static const double temps[5] = {20.0, 21.0, 21.0, 25.5, 8.0};
    const fl_filter_finding finding = {
        .n_found = 2, .mean = 3, .size = 0.5, .weight = {1, 2}, .youngest_hidden_stage = 0};
    const fl_op ops[] = {
        {.kind = FL_OP_TREAT, .treat = {.survival = {0.9, 0.2, 0.1}, .has_colony_rule = true}},
        {.kind = FL_OP_TREAT, .treat = {.survival = {0.9, 0.2, 0.1}}},
        {.kind = FL_OP_TIME, .time = {.n_hours = 5, .temps_c = temps}},
        {.kind = FL_OP_LOOK, .look = {.detect = {0.05, 0.6, 0.8}, .cap = 0.7}},
        {.kind = FL_OP_THIN, .thin = {.ride = {0.9, 0.2, 0.1}}},
        {.kind = FL_OP_TIME, .time = {.n_hours = 700, .temp_c = 23.25}},
        {.kind = FL_OP_FIND, .find = finding},
        {.kind = FL_OP_REWEIGHT, .reweight = {.prior = 0.125}},
    };
    fl_filter got = started();
    fl_filter want = got;
    fl_err err;
    for (size_t i = 0; i < sizeof ops / sizeof ops[0]; i++) {
        check_ok(fl_op_apply(&MODEL, &ops[i], &got, &err), &err);
    }
    check_ok(fl_filter_treat(&MODEL, survival, true, &want, &err), &err);
    check_ok(fl_filter_treat(&MODEL, survival, false, &want, &err), &err);
    check_ok(fl_filter_advance(&MODEL, temps, 5, &want, &err), &err);
    check_ok(fl_filter_look(&MODEL, detect, 0.7, &want, &err), &err);
    check_ok(fl_filter_thin(&MODEL, survival, &want, &err), &err);
    check_ok(fl_filter_advance_constant(&MODEL, 23.25, 700, &want, &err), &err);
    check_ok(fl_filter_find(&MODEL, &finding, &want, &err), &err);
    check_ok(fl_filter_reweight(0.125, &want, &err), &err);
    check_same(&got, &want);
}

/* A constant written out, with noise below the rounding, is the constant: bytes and state. */
static void test_equal_bytes_give_equal_states(void **unused)
{
    (void)unused;
    double temps[500];
    for (int h = 0; h < 500; h++) {
        temps[h] = 21.37 + (h % 3 - 1) * 0.002;
    }
    const fl_op written = {.kind = FL_OP_TIME, .time = {.n_hours = 500, .temps_c = temps}};
    const fl_op constant = {
        .kind = FL_OP_TIME, .at_h = 480000, .time = {.n_hours = 500, .temp_c = 21.37}};
    uint8_t a[64];
    uint8_t b[64];
    size_t len = fl_op_bytes(&written, &MODEL, a, sizeof a);
    check_int(len, 1 + 4 + 4 + 2);
    check_int(fl_op_bytes(&constant, &MODEL, b, sizeof b), len);
    check_int(memcmp(a, b, len), 0);
    fl_filter from_written = started();
    fl_filter from_constant = from_written;
    fl_err err;
    check_ok(fl_op_apply(&MODEL, &written, &from_written, &err), &err);
    check_ok(fl_op_apply(&MODEL, &constant, &from_constant, &err), &err);
    check_same(&from_written, &from_constant);
}

/* Many short runs and a few long ones: batching does not show. */
static void test_batches_are_seamless(void **unused)
{
    (void)unused;
    double temps[1000];
    for (int h = 0; h < 1000; h++) {
        temps[h] = h < 100 ? 18.0 : h < 400 ? 24.0 : 20.0 + h % 11;
    }
    const fl_op op = {.kind = FL_OP_TIME, .time = {.n_hours = 1000, .temps_c = temps}};
    fl_filter got = started();
    fl_filter want = got;
    fl_err err;
    check_ok(fl_op_apply(&MODEL, &op, &got, &err), &err);
    check_ok(fl_filter_advance(&MODEL, temps, 1000, &want, &err), &err);
    for (int i = 0; i < got.n; i++) {
        check_close(got.alive[i][0], want.alive[i][0], 1e-12, 1e-15);
        check_close(got.alive[i][1], want.alive[i][1], 1e-12, 1e-15);
    }
}

static void check_bytes(fl_op op, const uint8_t *want, size_t len)
{
    uint8_t got[FL_OP_BYTES_USUAL];
    check_int(fl_op_bytes(&op, &MODEL, got, sizeof got), len);
    check_int(memcmp(got, want, len), 0);
    op.at_h += 24; /* the date is not part */
    check_int(fl_op_bytes(&op, &MODEL, got, sizeof got), len);
    check_int(memcmp(got, want, len), 0);
    check_int(fl_op_bytes(&op, &MODEL, NULL, 0), len);
}

/* Written out by hand: 0.25, 0.5, 1 and 2 are 3fd0…, 3fe0…, 3ff0… and 4000… in IEEE 754. */
static void test_layout_of_the_bytes(void **unused)
{
    (void)unused;
#define F025 0, 0, 0, 0, 0, 0, 0xd0, 0x3f
#define F05 0, 0, 0, 0, 0, 0, 0xe0, 0x3f
#define F0 0, 0, 0, 0, 0, 0, 0, 0
#define F1 0, 0, 0, 0, 0, 0, 0xf0, 0x3f
#define F2 0, 0, 0, 0, 0, 0, 0, 0x40
    static const uint8_t start[] = {0, F025, 0, F05, F025, F025};
    check_bytes(START, start, sizeof start);
    static const double temps[3] = {20.004, 20.0, -5.0};
    static const uint8_t time[] = {1, 3, 0, 0, 0, 2, 0, 0, 0, 0xd0, 7, 1, 0, 0, 0, 0x0c, 0xfe};
    check_bytes((fl_op){.kind = FL_OP_TIME, .time = {.n_hours = 3, .temps_c = temps}}, time,
                sizeof time);
    static const uint8_t treat[] = {2, F1, F0, F05, 1};
    check_bytes((fl_op){.kind = FL_OP_TREAT,
                        .treat = {.survival = {1.0, -0.0, 0.5}, .has_colony_rule = true}},
                treat, sizeof treat);
    static const uint8_t look[] = {3, F0, F05, F1, F1};
    check_bytes((fl_op){.kind = FL_OP_LOOK, .look = {.detect = {0, 0.5, 1, 9}, .cap = 1}}, look,
                sizeof look);
    static const uint8_t thin[] = {4, F1, F1, F0};
    check_bytes((fl_op){.kind = FL_OP_THIN, .thin = {.ride = {1, 1, 0}}}, thin, sizeof thin);
    static const uint8_t find[] = {5,  3,  0,  0,  0,    F2,   F05,  F1,
                                   F0, F0, F0, F0, 0xff, 0xff, 0xff, 0xff};
    check_bytes((fl_op){.kind = FL_OP_FIND,
                        .find = {.n_found = 3,
                                 .mean = 2,
                                 .size = 0.5,
                                 .weight = {1},
                                 .youngest_hidden_stage = -1}},
                find, sizeof find);
    static const uint8_t reweight[] = {6, F025};
    check_bytes((fl_op){.kind = FL_OP_REWEIGHT, .reweight = {.prior = 0.25}}, reweight,
                sizeof reweight);
    static const uint8_t mixture[] = {2, 0, 0, 0, F05, 0, 0, 0, 0, 0, 0, 0xf8, 0x3f};
    uint8_t got[64];
    check_int(fl_mixture_bytes(2, MULTIPLIER, got, sizeof got), sizeof mixture);
    check_int(memcmp(got, mixture, sizeof mixture), 0);
}

static void test_a_short_buffer_still_says_the_size(void **unused)
{
    (void)unused;
    uint8_t small[4] = {0, 0, 0, 0xee};
    check_int(fl_op_bytes(&START, &MODEL, small, 3), 34);
    check_int(small[3], 0xee);
}

static void test_model_bytes_tell_models_apart(void **unused)
{
    (void)unused;
    uint8_t base[300];
    uint8_t other[300];
    size_t len = fl_model_bytes(&MODEL, base, sizeof base);
    check_int(len, 4 + 4 + 8 + 4 + 2 * (4 + 4 * 8) + 4 + 8);
    check_int(base[0], FL_SOLVER_VERSION);
    fl_stage_model model = MODEL;
    model.stage[2].threshold_c = 7.0; /* means nothing for the last stage */
    check_int(fl_model_bytes(&model, other, sizeof other), len);
    check_int(memcmp(base, other, len), 0);
    model.stage[1].mortality_per_day = 0.03;
    check_int(fl_model_bytes(&model, other, sizeof other), len);
    check_true(memcmp(base, other, len) != 0);
    model = MODEL;
    model.stage[0].n_substages = 7;
    check_int(fl_model_bytes(&model, other, sizeof other), len);
    check_true(memcmp(base, other, len) != 0);
}

static void test_what_cannot_be_encoded(void **unused)
{
    (void)unused;
    fl_stage_model bad = MODEL;
    bad.n_stages = 1;
    uint8_t buffer[300];
    check_int(fl_model_bytes(&bad, buffer, sizeof buffer), 0);
    check_int(fl_op_bytes(&START, &bad, buffer, sizeof buffer), 0);
    check_int(fl_mixture_bytes(0, MULTIPLIER, buffer, sizeof buffer), 0);
    check_int(fl_mixture_bytes(6, MULTIPLIER, buffer, sizeof buffer), 0);
    const double temps[2] = {20.0, NAN};
    const fl_op ops[] = {
        {.kind = FL_OP_TIME, .time = {.n_hours = 2, .temps_c = temps}},
        {.kind = FL_OP_TIME, .time = {.n_hours = 2, .temp_c = 1e9}},
        {.kind = FL_OP_TIME, .time = {.n_hours = -1, .temp_c = 20}},
        {.kind = FL_OP_TIME, .time = {.n_hours = FL_FILTER_HOURS_MAX + 1, .temp_c = 20}},
        {.kind = (fl_op_kind)99},
    };
    const fl_status want[] = {FL_EDOMAIN, FL_EDOMAIN, FL_EDOMAIN, FL_ETOOBIG, FL_EINVAL};
    for (size_t i = 0; i < sizeof ops / sizeof ops[0]; i++) {
        fl_filter state = started();
        fl_filter before = state;
        fl_err err;
        check_int(fl_op_bytes(&ops[i], &MODEL, buffer, sizeof buffer), 0);
        check_int(fl_op_apply(&MODEL, &ops[i], &state, &err), want[i]);
        check_status(&err, want[i]);
        check_same(&state, &before);
    }
}

/* The masses that follow without the state are those of the state. */
static void test_masses_without_the_state(void **unused)
{
    (void)unused;
    const fl_op ops[] = {
        {.kind = FL_OP_LOOK, .look = {.detect = {0.05, 0.6, 0.8}, .cap = 0.7}},
        {.kind = FL_OP_TIME, .time = {.n_hours = 700, .temp_c = 24.0}},
        {.kind = FL_OP_INFLOW, .inflow = {.mean = 0.03, .share = {0.4, 0.5, 0.1}}},
        {.kind = FL_OP_TIME, .time = {.n_hours = 5, .temp_c = 12.0}},
        {.kind = FL_OP_THIN, .thin = {.ride = {0.1, 0.5, 1.0}}},
    };
    fl_filter state = started();
    fl_filter_sums got;
    fl_filter_sums want;
    fl_err err;
    fl_filter_sum(&state, &got);
    for (size_t i = 0; i < sizeof ops / sizeof ops[0]; i++) {
        bool follows = fl_op_sums(&LASTING, &ops[i], &got, &got);
        check_ok(fl_op_apply(&LASTING, &ops[i], &state, &err), &err);
        fl_filter_sum(&state, &want);
        check_int(follows, ops[i].kind == FL_OP_TIME || ops[i].kind == FL_OP_INFLOW);
        for (int w = 0; w < 2 && follows; w++) {
            check_close(got.alive[w], want.alive[w], 1e-12, 0.0);
            check_close(got.found[w], want.found[w], 0.0, 0.0);
            check_close(got.dead[w], want.dead[w], 0.0, 0.0);
        }
        got = want;
    }
    check_false(fl_op_sums(&MODEL, &ops[1], &got, &got)); /* something dies while it waits */
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_start_keeps_the_multipliers),
    cmocka_unit_test(test_each_kind_is_its_function),
    cmocka_unit_test(test_masses_without_the_state),
    cmocka_unit_test(test_equal_bytes_give_equal_states),
    cmocka_unit_test(test_batches_are_seamless),
    cmocka_unit_test(test_layout_of_the_bytes),
    cmocka_unit_test(test_a_short_buffer_still_says_the_size),
    cmocka_unit_test(test_model_bytes_tell_models_apart),
    cmocka_unit_test(test_what_cannot_be_encoded),
};
FL_TEST_MAIN(tests)
