/* The filter's functions one by one: by hand, at the edges, and every error. */
#include <math.h>
#include <string.h>

#include "core/clear/filter.h"
#include "support/check.h"

/* The three hidden stages and the adult of the reference's fixture-1, with fewer substages. */
static const fl_stage_model MODEL =
    {4, {{4, 10, 60, 30, 0}, {2, 9, 80, 30, 0}, {3, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}}, 0.0, 0};
static const double ONE[1] = {1.0};
static const double SHARE[4] = {0.4, 0.3, 0.2, 0.1};

static fl_filter started(void)
{
    fl_filter state;
    fl_filter_seed seed = {.prior = 0.3, .share = SHARE, .n_mix = 1, .multiplier = ONE};
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    return state;
}

static double total(const fl_filter *state, int w)
{
    return fl_filter_alive(state, w) + state->found[w] + state->dead[w];
}

static void test_start_spreads_shares_evenly(void **unused)
{
    (void)unused;
    fl_filter state = started();
    check_int(state.n, 10);
    check_int(fl_filter_substages(&MODEL), 10);
    for (int i = 0; i < 4; i++) {
        check_close(state.alive[i][0], 0.1, 1e-15, 0.0);
    }
    check_close(state.alive[4][0], 0.15, 1e-15, 0.0);
    check_close(state.alive[6][0], 0.2 / 3.0, 1e-15, 0.0);
    check_close(state.alive[9][0], 0.1, 1e-15, 0.0);
    check_close(state.found[0] + state.dead[0], 0.0, 0.0, 0.0);
    check_close(state.prior, 0.3, 0.0, 0.0);
    double by_stage[4];
    fl_err err;
    check_ok(fl_filter_alive_by_stage(&MODEL, &state, ONE, by_stage, &err), &err);
    for (int s = 0; s < 4; s++) {
        check_close(by_stage[s], SHARE[s], 1e-15, 0.0);
    }
}

static void test_start_in_one_substage(void **unused)
{
    (void)unused;
    const double multiplier[3] = {0.5, 1.0, 2.0};
    fl_filter_seed seed = {.prior = 1.0, .substage = 9, .n_mix = 3, .multiplier = multiplier};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_int(state.n_mix, 3);
    for (int w = 0; w < 3; w++) {
        check_close(state.alive[9][w], 1.0, 0.0, 0.0);
        check_close(fl_filter_alive(&state, w), 1.0, 0.0, 0.0);
        check_close(state.multiplier[w], multiplier[w], 0.0, 0.0);
    }
    check_close(state.multiplier[3] + state.alive[9][3], 0.0, 0.0, 0.0);
}

static void test_start_scales_shares_within_the_slack(void **unused)
{
    (void)unused;
    const double share[4] = {0.5, 0.5, 0.0, 9e-7};
    fl_filter_seed seed = {.prior = 0.5, .share = share, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_close(fl_filter_alive(&state, 0), 1.0, 1e-15, 0.0);
}

static void expect_bad_seed(fl_filter_seed seed, fl_status want, const char *text)
{
    fl_filter state;
    memset(&state, 7, sizeof state);
    fl_filter before = state;
    fl_err err;
    check_int(fl_filter_start(&MODEL, &seed, &state, &err), want);
    check_status(&err, want);
    check_contains(err.message, text);
    check_int(memcmp(&before, &state, sizeof state), 0);
    check_int(fl_filter_start(&MODEL, &seed, &state, NULL), want);
}

static void test_start_refuses(void **unused)
{
    (void)unused;
    fl_filter_seed good = {.prior = 0.3, .share = SHARE, .n_mix = 1, .multiplier = ONE};
    fl_filter_seed seed = good;
    seed.prior = NAN;
    expect_bad_seed(seed, FL_EDOMAIN, "prior");
    seed.prior = -0.1;
    expect_bad_seed(seed, FL_EDOMAIN, "-0.1");
    seed = good;
    seed.n_mix = 0;
    expect_bad_seed(seed, FL_EDOMAIN, "multipliers");
    seed.n_mix = FL_MIXTURE_MAX + 1;
    expect_bad_seed(seed, FL_ETOOBIG, "at most 5");
    seed = good;
    const double bad_multiplier[1] = {-1.0};
    seed.multiplier = bad_multiplier;
    expect_bad_seed(seed, FL_EDOMAIN, "multiplier -1");
    seed = good;
    const double low[4] = {0.4, 0.3, 0.2, 0.0};
    seed.share = low;
    expect_bad_seed(seed, FL_EDOMAIN, "sum to 0.9");
    const double negative[4] = {1.2, -0.2, 0.0, 0.0};
    seed.share = negative;
    expect_bad_seed(seed, FL_EDOMAIN, "share 1.2");
    const double no_number[4] = {1.0, NAN, 0.0, 0.0};
    seed.share = no_number;
    expect_bad_seed(seed, FL_EDOMAIN, "share nan");
    seed.share = NULL;
    seed.substage = 10;
    expect_bad_seed(seed, FL_EDOMAIN, "substage 10: give 0 to 9");
    seed.substage = -1;
    expect_bad_seed(seed, FL_EDOMAIN, "substage -1");
}

static void expect_bad_model(fl_stage_model model, fl_status want, const char *text)
{
    fl_err err;
    check_int(fl_filter_check_model(&model, &err), want);
    check_status(&err, want);
    check_contains(err.message, text);
    fl_filter state = started();
    fl_filter before = state;
    fl_filter_seed seed = {.prior = 0.3, .substage = 0, .n_mix = 1, .multiplier = ONE};
    check_int(fl_filter_start(&model, &seed, &state, &err), want);
    check_int(fl_filter_advance_constant(&model, 20.0, 24, &state, &err), want);
    check_int(fl_filter_treat(&model, SHARE, false, &state, &err), want);
    check_int(memcmp(&before, &state, sizeof state), 0);
}

static void test_model_refused(void **unused)
{
    (void)unused;
    fl_stage_model model = MODEL;
    model.n_stages = 9;
    expect_bad_model(model, FL_ETOOBIG, "9 stages");
    model.n_stages = 1;
    expect_bad_model(model, FL_EDOMAIN, "1 stages");
    model = MODEL;
    model.stage[1].n_substages = 0;
    expect_bad_model(model, FL_EDOMAIN, "stage 1: 0 substages");
    model.stage[1].n_substages = 160;
    expect_bad_model(model, FL_ETOOBIG, "160");
    model.stage[1].n_substages = 2147483647;
    expect_bad_model(model, FL_ETOOBIG, "160");
    model = MODEL;
    model.stage[3].n_substages = 2;
    expect_bad_model(model, FL_EDOMAIN, "1 for the last");
    model = MODEL;
    model.stage[0].threshold_c = NAN;
    expect_bad_model(model, FL_EDOMAIN, "threshold_c");
    model = MODEL;
    model.stage[2].degree_days = 0.0;
    expect_bad_model(model, FL_EDOMAIN, "degree_days 0");
    model.stage[2].degree_days = (double)INFINITY;
    expect_bad_model(model, FL_EDOMAIN, "degree_days inf");
    model = MODEL;
    model.stage[0].upper_c = 10.0;
    expect_bad_model(model, FL_EDOMAIN, "upper_c 10");
    model.stage[0].upper_c = NAN;
    expect_bad_model(model, FL_EDOMAIN, "upper_c");
    model = MODEL;
    model.stage[3].mortality_per_day = -0.1;
    expect_bad_model(model, FL_EDOMAIN, "mortality_per_day -0.1");
    model = MODEL;
    model.life_days = -7.0;
    expect_bad_model(model, FL_EDOMAIN, "life_days -7");
    model.life_days = NAN;
    expect_bad_model(model, FL_EDOMAIN, "life_days nan");
    model.life_days = 7.0;
    expect_bad_model(model, FL_EDOMAIN, "n_young 0");
    model.n_young = 1;
    model.stage[0].n_substages = 60;
    model.stage[1].n_substages = 30;
    expect_bad_model(model, FL_ETOOBIG, "80 substages");
}

static void test_model_at_its_limits(void **unused)
{
    (void)unused;
    fl_stage_model model = {
        4,
        {{60, 10, 60, 30, 0}, {60, 9, 80, 30, 0}, {39, 10.5, 55, 30, 0}, {1, NAN, NAN, NAN, 0}},
        0.0,
        0};
    fl_err err;
    check_ok(fl_filter_check_model(&model, &err), &err);
    check_int(fl_filter_substages(&model), FL_SUBSTAGES_MAX);
    const double multiplier[5] = {0.25, 0.6, 1.0, 1.4, 1.8};
    fl_filter_seed seed = {.prior = 0.3, .substage = 0, .n_mix = 5, .multiplier = multiplier};
    fl_filter state;
    check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
    check_ok(fl_filter_advance_constant(&model, 20.0, 24 * 400, &state, &err), &err);
    for (int w = 0; w < 5; w++) {
        check_close(state.alive[159][w], 1.0, 1e-12, 0.0);
        check_close(total(&state, w), 1.0, 1e-12, 0.0);
    }
}

static void test_treat_by_hand(void **unused)
{
    (void)unused;
    fl_filter state = started();
    const double survival[4] = {0.9, 0.1, 0.6, 0.05};
    fl_err err;
    check_ok(fl_filter_treat(&MODEL, survival, false, &state, &err), &err);
    double by_stage[4];
    check_ok(fl_filter_alive_by_stage(&MODEL, &state, ONE, by_stage, &err), &err);
    check_close(by_stage[0], 0.36, 1e-14, 0.0);
    check_close(by_stage[1], 0.03, 1e-14, 0.0);
    check_close(by_stage[2], 0.12, 1e-14, 0.0);
    check_close(by_stage[3], 0.005, 1e-14, 0.0);
    check_close(state.dead[0], 1.0 - 0.515, 1e-14, 0.0);
}

/* design 4.7 and decision 0006: of the last stage's casualties, the chance that one of five eggs
 * lives as the toughest earlier stage would is back in that stage's first substage. By hand:
 * 1 - 0.1^5 = 0.99999, 1 - 0.4^5 = 0.98976, 1 - 0.5^5 = 0.96875. */
static void test_colony_rule_by_hand(void **unused)
{
    (void)unused;
    fl_filter_seed seed = {.prior = 1.0, .substage = 9, .n_mix = 1, .multiplier = ONE};
    const double eggs[4] = {0.9, 0.1, 0.6, 0.05};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_treat(&MODEL, eggs, true, &state, &err), &err);
    check_close(state.alive[9][0], 0.05, 1e-15, 0.0);
    check_close(state.alive[0][0], 0.95 * 0.99999, 1e-14, 0.0);
    check_close(state.dead[0], 0.95 * 0.00001, 1e-9, 0.0);

    const double pupae[4] = {0.2, 0.1, 0.6, 0.05}; /* the pupa is the toughest: substage 6 */
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_treat(&MODEL, pupae, true, &state, &err), &err);
    check_close(state.alive[6][0], 0.95 * 0.98976, 1e-14, 0.0);
    check_close(total(&state, 0), 1.0, 1e-15, 0.0);

    const double hardy[4] = {0.2, 0.1, 0.6, 0.9}; /* the last stage is no earlier one */
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_treat(&MODEL, hardy, true, &state, &err), &err);
    check_close(state.alive[9][0], 0.9, 1e-15, 0.0);
    check_close(state.alive[6][0], 0.1 * 0.98976, 1e-14, 0.0);

    const double level[4] = {0.5, 0.5, 0.5, 0.0}; /* equal: the youngest */
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_treat(&MODEL, level, true, &state, &err), &err);
    check_close(state.alive[0][0], 0.96875, 1e-15, 0.0);

    const double harmless[4] = {1.0, 1.0, 1.0, 1.0};
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_treat(&MODEL, harmless, true, &state, &err), &err);
    check_close(state.alive[9][0], 1.0, 0.0, 0.0);

    const double deadly[4] = {0.0, 0.0, 0.0, 0.0};
    check_ok(fl_filter_treat(&MODEL, deadly, true, &state, &err), &err);
    check_close(state.dead[0], 1.0, 0.0, 0.0);
}

/* Decision 0006: founders that breed live a week, then their young begin with the first stage. */
static fl_stage_model two_generations(void)
{
    fl_stage_model model = MODEL;
    model.life_days = 7.0;
    model.n_young = 3;
    return model;
}

static void test_young_begin_again(void **unused)
{
    (void)unused;
    fl_stage_model model = two_generations();
    fl_filter_seed seed = {.prior = 1.0, .substage = 9, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_err err;
    check_int(fl_filter_generations(&MODEL), 1);
    check_int(fl_filter_generations(&model), 2);
    check_int(fl_filter_substages(&model), 20);
    check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
    check_ok(fl_filter_advance_constant(&model, -20.0, 24 * 7, &state, &err), &err);
    check_close(state.alive[9][0], exp(-1.0), 1e-8, 0.0); /* too cold for eggs to develop */
    check_close(state.alive[10][0], -expm1(-1.0), 1e-8, 0.0);
    check_ok(fl_filter_advance_constant(&model, 20.0, 24 * 700, &state, &err), &err);
    check_close(state.alive[19][0], 1.0, 1e-8, 0.0); /* and the second generation stays */
    check_close(total(&state, 0), 1.0, 1e-12, 0.0);
}

/* The second generation is many: each stage lives with 1 - (1 - m)^5, what its last stage loses is
 * back as its own eggs; three of it are seen with 1 - (1 - q)^3. */
static void test_young_are_many(void **unused)
{
    (void)unused;
    fl_stage_model model = two_generations();
    const double survival[4] = {0.5, 0.1, 0.4, 0.0};
    const double detect[4] = {0.1, 0.2, 0.0, 0.5};
    double by_stage[4];
    fl_err err;
    for (int i = 9; i < 20; i++) {
        fl_filter_seed seed = {.prior = 1.0, .substage = i, .n_mix = 1, .multiplier = ONE};
        fl_filter state;
        check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
        check_ok(fl_filter_treat(&model, survival, true, &state, &err), &err);
        double kept = i == 9 || i == 19 ? 0.0 : i < 14 ? 0.96875 : i < 16 ? 0.40951 : 0.92224;
        double back = i == 9 || i == 19 ? 0.96875 : 0.0;
        check_close(state.alive[i][0], i == 10 ? 0.96875 : kept, 1e-14, 0.0);
        check_close(fl_filter_alive(&state, 0), kept + back, 1e-14, 0.0);
        check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
        check_ok(fl_filter_look(&model, detect, 1.0, &state, &err), &err);
        double seen = i == 9    ? 0.5
                      : i == 19 ? 0.875
                      : i < 14  ? 1.0 - 0.9 * 0.9 * 0.9
                      : i < 16  ? 1.0 - 0.8 * 0.8 * 0.8
                                : 0.0;
        check_close(state.found[0], seen, 1e-14, 1e-15);
        check_ok(fl_filter_alive_by_stage(&model, &state, ONE, by_stage, &err), &err);
        check_close(by_stage[0] + by_stage[1] + by_stage[2] + by_stage[3], 1.0 - seen, 1e-14, 0.0);
    }
}

/* Everything would have been seen, and yet something was: it starts in the hidden stage, whole, and
 * nowhere else. */
static void test_find_with_nothing_alive(void **unused)
{
    (void)unused;
    const double all[4] = {1.0, 1.0, 1.0, 1.0};
    for (int hidden = -1; hidden < 3; hidden++) {
        fl_filter state = started();
        fl_filter_finding finding = {
            .n_found = 1, .mean = 3.0, .size = 1.0, .youngest_hidden_stage = hidden};
        fl_err err;
        check_ok(fl_filter_look(&MODEL, all, 1.0, &state, &err), &err);
        check_close(fl_filter_alive(&state, 0), 0.0, 0.0, 0.0);
        check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
        int at = hidden <= 0 ? 0 : hidden == 1 ? 4 : 6;
        for (int i = 0; i < state.n; i++) {
            check_close(state.alive[i][0], i == at ? 1.0 : 0.0, 0.0, 0.0);
        }
        check_close(total(&state, 0), 1.0, 0.0, 0.0);
    }
}

/* After a find the young that were left are of the second generation; without its rule for
 * colonies a treatment takes each as it comes; and what rides a link rides in both. */
static void test_young_after_a_find_and_over_a_link(void **unused)
{
    (void)unused;
    fl_stage_model model = two_generations();
    const double half[4] = {0.5, 0.5, 0.5, 0.5};
    fl_filter_seed seed = {.prior = 0.5, .substage = 12, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
    check_ok(fl_filter_thin(&model, half, &state, &err), &err);
    check_close(state.alive[12][0], 0.5, 1e-15, 0.0);
    check_ok(fl_filter_treat(&model, half, false, &state, &err), &err);
    check_close(state.alive[12][0], 0.25, 1e-15, 0.0);
    fl_filter_finding finding = {
        .n_found = 1, .mean = 3.0, .size = 1.0, .youngest_hidden_stage = 0};
    check_ok(fl_filter_find(&model, &finding, &state, &err), &err);
    check_close(state.alive[10][0], 0.5, 1e-15, 0.0);
    check_close(state.alive[12][0], 0.5, 1e-15, 0.0);
}

/* Why the rule is there: a colony treated late hides again as eggs, and a quiet look soon after
 * says little. Without the rule the same record looks nearly clear. */
static void test_colony_rule_keeps_a_late_treatment_honest(void **unused)
{
    (void)unused;
    fl_filter_seed seed = {.prior = 0.3, .substage = 9, .n_mix = 1, .multiplier = ONE};
    const double survival[4] = {0.9, 0.1, 0.6, 0.05};
    const double detect[4] = {0.02, 0.5, 0.05, 0.7};
    const fl_founders three = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3.0};
    fl_chance chance[2];
    fl_err err;
    for (int has_rule = 0; has_rule < 2; has_rule++) {
        fl_filter state;
        check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
        check_ok(fl_filter_treat(&MODEL, survival, has_rule == 1, &state, &err), &err);
        check_ok(fl_filter_advance_constant(&MODEL, 20.0, 24, &state, &err), &err);
        check_ok(fl_filter_look(&MODEL, detect, 0.95, &state, &err), &err);
        check_ok(fl_filter_chance(&state, ONE, &three, &chance[has_rule], &err), &err);
    }
    check_true(chance[0].one < 0.01);
    check_true(chance[1].one > 0.2);
}

static void test_look_by_hand(void **unused)
{
    (void)unused;
    const double multiplier[3] = {0.5, 1.0, 4.0};
    const double detect[4] = {0.0, 0.5, 0.1, 1.0};
    fl_filter_seed seed = {.prior = 0.3, .share = SHARE, .n_mix = 3, .multiplier = multiplier};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_look(&MODEL, detect, 0.95, &state, &err), &err);
    check_close(state.found[0], 0.3 * 0.25 + 0.2 * 0.05 + 0.1 * 0.5, 1e-14, 0.0);
    check_close(state.found[1], 0.3 * 0.5 + 0.2 * 0.1 + 0.1 * 0.95, 1e-14, 0.0);
    check_close(state.found[2], 0.3 * 0.95 + 0.2 * 0.4 + 0.1 * 0.95, 1e-14, 0.0);
    for (int w = 0; w < 3; w++) {
        check_close(total(&state, w), 1.0, 1e-15, 0.0);
        check_close(state.alive[0][w], 0.1, 1e-15, 0.0); /* eggs are hidden */
    }
    const double weight[3] = {1.0, 2.0, 1.0}; /* scaled to sum 1 */
    fl_filter_masses mean;
    check_ok(fl_filter_means(&state, weight, &mean, &err), &err);
    check_close(mean.found, (0.135 + 2.0 * 0.265 + 0.46) / 4.0, 1e-14, 0.0);
    check_close(mean.alive + mean.found + mean.dead, 1.0, 1e-15, 0.0);
}

static void test_thin_by_hand(void **unused)
{
    (void)unused;
    fl_filter state = started();
    const double ride[4] = {1.0, 0.5, 0.0, 0.2};
    fl_err err;
    check_ok(fl_filter_thin(&MODEL, ride, &state, &err), &err);
    check_close(fl_filter_alive(&state, 0), 0.4 + 0.15 + 0.02, 1e-14, 0.0);
    check_close(state.dead[0], 0.43, 1e-14, 0.0);
    check_close(state.found[0], 0.0, 0.0, 0.0);
}

static void test_shares_refused(void **unused)
{
    (void)unused;
    const double bad[3][4] = {{0.1, 0.1, 1.1, 0.1}, {0.1, -0.1, 0.1, 0.1}, {NAN, 0.1, 0.1, 0.1}};
    fl_filter state = started();
    fl_filter before = state;
    fl_err err;
    for (int i = 0; i < 3; i++) {
        check_int(fl_filter_treat(&MODEL, bad[i], true, &state, &err), FL_EDOMAIN);
        check_contains(err.message, "survival");
        check_int(fl_filter_look(&MODEL, bad[i], 0.95, &state, &err), FL_EDOMAIN);
        check_contains(err.message, "detect");
        check_int(fl_filter_thin(&MODEL, bad[i], &state, &err), FL_EDOMAIN);
        check_contains(err.message, "ride");
    }
    check_int(fl_filter_look(&MODEL, SHARE, NAN, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_look(&MODEL, SHARE, 1.01, &state, &err), FL_EDOMAIN);
    check_contains(err.message, "cap 1.01");
    check_int(memcmp(&before, &state, sizeof state), 0);
}

static void test_a_filter_of_another_model_is_refused(void **unused)
{
    (void)unused;
    fl_stage_model other = MODEL;
    other.stage[0].n_substages = 5;
    fl_filter state = started();
    fl_filter before = state;
    const fl_filter_finding finding = {.n_found = 1, .mean = 3, .size = 0.5};
    double by_stage[4];
    fl_err err;
    check_int(fl_filter_treat(&other, SHARE, false, &state, &err), FL_EINVAL);
    check_int(fl_filter_look(&other, SHARE, 0.95, &state, &err), FL_EINVAL);
    check_int(fl_filter_thin(&other, SHARE, &state, &err), FL_EINVAL);
    check_int(fl_filter_find(&other, &finding, &state, &err), FL_EINVAL);
    check_int(fl_filter_advance_constant(&other, 20.0, 1, &state, &err), FL_EINVAL);
    check_int(fl_filter_alive_by_stage(&other, &state, ONE, by_stage, &err), FL_EINVAL);
    check_int(memcmp(&before, &state, sizeof state), 0);
    state.n_mix = 6;
    check_int(fl_filter_treat(&MODEL, SHARE, false, &state, &err), FL_EINVAL);
    fl_filter_masses mean;
    check_int(fl_filter_means(&state, ONE, &mean, &err), FL_EINVAL);
}

static void test_time_edges(void **unused)
{
    (void)unused;
    fl_filter state = started();
    fl_filter before = state;
    const double cold[3] = {-20.0, 8.9, 9.0};
    fl_err err;
    check_ok(fl_filter_advance_constant(&MODEL, 20.0, 0, &state, &err), &err);
    check_ok(fl_filter_advance(&MODEL, NULL, 0, &state, &err), &err);
    check_ok(fl_filter_advance(&MODEL, cold, 3, &state, &err), &err);
    check_ok(fl_filter_advance_constant(&MODEL, 9.0, FL_FILTER_HOURS_MAX, &state, &err), &err);
    check_int(memcmp(&before, &state, sizeof state), 0); /* at or below every threshold */
    check_ok(fl_filter_advance_constant(&MODEL, 30.0, 24, &state, &err), &err);
    fl_filter hot = before;
    check_ok(fl_filter_advance_constant(&MODEL, 45.0, 24, &hot, &err), &err);
    check_int(memcmp(&hot, &state, sizeof state), 0); /* flat above upper_c */
}

static void test_time_refused(void **unused)
{
    (void)unused;
    fl_filter state = started();
    fl_filter before = state;
    const double temps[3] = {20.0, NAN, 20.0};
    const double hot[2] = {20.0, 101.0};
    fl_err err;
    check_int(fl_filter_advance(&MODEL, temps, 3, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_advance(&MODEL, hot, 2, &state, &err), FL_EDOMAIN);
    check_contains(err.message, "101");
    check_int(fl_filter_advance(&MODEL, temps, -1, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_advance_constant(&MODEL, -300.0, 1, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_advance_constant(&MODEL, 20.0, -1, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_advance_constant(&MODEL, 20.0, FL_FILTER_HOURS_MAX + 1, &state, &err),
              FL_ETOOBIG);
    check_int(memcmp(&before, &state, sizeof state), 0);
}

/* One stage that only dies: exp(-mu t), to the last digit the series gives. */
static void test_mortality_is_exponential(void **unused)
{
    (void)unused;
    const fl_stage_model model = {2, {{1, 40, 100, 50, 0.1}, {1, 0, 0, 0, 0.3}}, 0.0, 0};
    const double share[2] = {0.5, 0.5};
    fl_filter_seed seed = {.prior = 1.0, .share = share, .n_mix = 1, .multiplier = ONE};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
    check_ok(fl_filter_advance_constant(&model, 20.0, 240, &state, &err), &err);
    check_close(state.alive[0][0], 0.5 * exp(-1.0), 0.0, 1e-9);
    check_close(state.alive[1][0], 0.5 * exp(-3.0), 0.0, 1e-9);
    check_close(total(&state, 0), 1.0, 1e-15, 0.0);
}

/* Reading the days of a varying record hour by hour or all at once is the same. */
static void test_time_splits(void **unused)
{
    (void)unused;
    double temps[96];
    for (int h = 0; h < 96; h++) {
        temps[h] = 20.0 + h % 7;
    }
    fl_filter whole = started();
    fl_filter parts = whole;
    fl_err err;
    check_ok(fl_filter_advance(&MODEL, temps, 96, &whole, &err), &err);
    for (int h = 0; h < 96; h++) {
        check_ok(fl_filter_advance(&MODEL, &temps[h], 1, &parts, &err), &err);
    }
    for (int i = 0; i < whole.n; i++) {
        check_close(parts.alive[i][0], whole.alive[i][0], 0.0, 1e-14);
    }
}

static void test_find_by_hand(void **unused)
{
    (void)unused;
    const double detect[4] = {0.0, 0.5, 0.5, 0.5};
    const double multiplier[2] = {1.0, 0.0};
    fl_filter_seed seed = {.prior = 0.3, .share = SHARE, .n_mix = 2, .multiplier = multiplier};
    const fl_filter_finding finding = {
        .n_found = 1, .mean = 2.0, .size = 0.5, .weight = {0.5, 0.5}, .youngest_hidden_stage = -1};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_look(&MODEL, detect, 0.95, &state, &err), &err);
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
    /* the blind multiplier cannot have found one: only D = 0.3, A = 0.7 counts; b = 0.25 */
    check_close(state.prior, 1.0 - pow(0.55 / 1.25, 1.5), 1e-13, 0.0);
    check_close(total(&state, 0), 1.0, 1e-15, 0.0);
    check_close(total(&state, 1), 1.0, 1e-15, 0.0);
    check_close(state.found[0] + state.dead[0], 0.0, 0.0, 0.0);
    check_close(state.alive[0][0], 0.1 / 0.7, 1e-14, 0.0);
    check_close(state.alive[9][0], 0.05 / 0.7, 1e-14, 0.0);
    check_close(state.alive[0][1], 0.1, 1e-14, 0.0);
}

/* Two eyes of different strength: the weights after the find by the negative binomial's own
 * probabilities, written out. */
static void test_find_weighs_the_multipliers(void **unused)
{
    (void)unused;
    const double detect[4] = {0.4, 0.4, 0.4, 0.4};
    const double multiplier[2] = {1.0, 0.5};
    fl_filter_seed seed = {.prior = 0.3, .share = SHARE, .n_mix = 2, .multiplier = multiplier};
    const fl_filter_finding finding = {
        .n_found = 2, .mean = 3.0, .size = 1.0, .weight = {1.0, 3.0}, .youngest_hidden_stage = -1};
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(&MODEL, &seed, &state, &err), &err);
    check_ok(fl_filter_look(&MODEL, detect, 0.95, &state, &err), &err);
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
    double b = 1.0 / 3.0;
    double like_a = b * 0.4 * 0.4 / pow(b + 0.4, 3.0);
    double like_b = b * 0.2 * 0.2 / pow(b + 0.2, 3.0);
    double there_a = 1.0 - pow((b + 0.4) / (b + 1.0), 3.0);
    double there_b = 1.0 - pow((b + 0.2) / (b + 1.0), 3.0);
    double want =
        (0.25 * like_a * there_a + 0.75 * like_b * there_b) / (0.25 * like_a + 0.75 * like_b);
    check_close(state.prior, want, 1e-12, 0.0);
}

static void test_find_fills_the_nest(void **unused)
{
    (void)unused;
    fl_filter state = started();
    fl_filter_finding finding = {.n_found = 1, .mean = 3, .size = 0.5, .youngest_hidden_stage = 0};
    fl_err err;
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err); /* nobody looked: D = 0 */
    check_close(state.alive[0][0], 0.5, 0.0, 0.0);
    check_close(state.alive[1][0], 0.1 * 0.5 / 0.9, 1e-14, 0.0);
    check_close(total(&state, 0), 1.0, 1e-15, 0.0);
    check_close(state.prior, 1.0 - pow(1.0 + 6.0, -1.5), 1e-13, 0.0); /* b = 1/6, A = 1 */

    finding.youngest_hidden_stage = 2; /* more than half is in place already: left as it is */
    state = started();
    memset(state.alive, 0, sizeof state.alive);
    state.alive[6][0] = 0.8;
    state.alive[9][0] = 0.2;
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
    check_close(state.alive[6][0], 0.8, 1e-15, 0.0);

    const double none[4] = {0.0, 0.0, 0.0, 0.0}; /* nothing lives: the chance is 0 */
    check_ok(fl_filter_treat(&MODEL, none, false, &state, &err), &err);
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
    check_close(state.prior, 0.0, 0.0, 0.0);
    check_close(state.alive[6][0], 1.0, 0.0, 0.0);
    finding.youngest_hidden_stage = -1;
    check_ok(fl_filter_treat(&MODEL, none, false, &state, &err), &err);
    check_ok(fl_filter_find(&MODEL, &finding, &state, &err), &err);
    check_close(state.alive[0][0], 1.0, 0.0, 0.0);
}

static void expect_bad_finding(fl_filter_finding finding, const char *text)
{
    fl_filter state = started();
    fl_filter before = state;
    fl_err err;
    check_int(fl_filter_find(&MODEL, &finding, &state, &err), FL_EDOMAIN);
    check_contains(err.message, text);
    check_int(memcmp(&before, &state, sizeof state), 0);
}

static void test_find_refused(void **unused)
{
    (void)unused;
    const fl_filter_finding good = {
        .n_found = 1, .mean = 3, .size = 0.5, .youngest_hidden_stage = -1};
    fl_filter_finding bad = good;
    bad.n_found = -1;
    expect_bad_finding(bad, "n_found -1");
    bad.n_found = 1000001;
    expect_bad_finding(bad, "n_found");
    bad = good;
    bad.mean = 0.0;
    expect_bad_finding(bad, "mean 0");
    bad = good;
    bad.size = NAN;
    expect_bad_finding(bad, "size");
    bad = good;
    bad.weight[0] = -1.0;
    expect_bad_finding(bad, "weight -1");
    bad = good;
    bad.youngest_hidden_stage = 4;
    expect_bad_finding(bad, "youngest_hidden_stage 4: give -1 to 3");
    bad.youngest_hidden_stage = -2;
    expect_bad_finding(bad, "youngest_hidden_stage");
}

static void test_reweight(void **unused)
{
    (void)unused;
    fl_filter state = started();
    fl_err err;
    check_ok(fl_filter_reweight(0.07, &state, &err), &err);
    check_close(state.prior, 0.07, 0.0, 0.0);
    check_int(fl_filter_reweight(NAN, &state, &err), FL_EDOMAIN);
    check_int(fl_filter_reweight(1.5, &state, &err), FL_EDOMAIN);
    check_close(state.prior, 0.07, 0.0, 0.0);
}

/* A filter with these masses and one multiplier. */
static fl_filter with_masses(double prior, double alive, double found)
{
    fl_filter state = started();
    memset(state.alive, 0, sizeof state.alive);
    state.prior = prior;
    state.alive[2][0] = alive;
    state.found[0] = found;
    state.dead[0] = 1.0 - alive - found;
    return state;
}

static void test_chance_keeps_small_numbers(void **unused)
{
    (void)unused;
    fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3.0};
    fl_chance chance;
    fl_err err;
    fl_filter state = with_masses(0.3, 1e-18, 0.5);
    check_ok(fl_filter_chance(&state, ONE, &many, &chance, &err), &err);
    check_close(chance.one, 0.3e-18 / (0.7 + 0.15), 1e-13, 0.0);
    /* G'(1/2) = 3 e^1.5/(e^3 - 1) */
    double g = expm1(1.5) / expm1(3.0);
    double slope = 3.0 * exp(1.5) / expm1(3.0);
    check_close(chance.many, 0.3 * slope * 1e-18 / (0.7 + 0.3 * g), 1e-13, 0.0);
    check_close(chance.chance, chance.one, 0.0, 0.0); /* the larger */
    many.lambda = 1e6;                                /* e^lambda overflows, the answer does not */
    check_ok(fl_filter_chance(&state, ONE, &many, &chance, &err), &err);
    check_true(chance.many >= 0.0 && chance.many <= 1e-12);
    state = with_masses(0.3, 1.0, 0.0);
    check_ok(fl_filter_chance(&state, ONE, &many, &chance, &err), &err);
    check_close(chance.many, 0.3, 1e-14, 0.0);
    many = (fl_founders){.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1e-6, .size = 1e-6};
    check_ok(fl_filter_chance(&state, ONE, &many, &chance, &err), &err);
    check_close(chance.many, 0.3, 1e-14, 0.0);
    many.family = FL_FOUNDERS_ONE;
    check_ok(fl_filter_chance(&state, ONE, &many, &chance, &err), &err);
    check_close(chance.many, chance.one, 0.0, 0.0);
}

static void test_chance_at_the_ends(void **unused)
{
    (void)unused;
    const fl_founders three = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3.0};
    fl_chance chance;
    double likelihood = -1.0;
    fl_err err;
    fl_filter state = with_masses(1.0, 0.0, 1.0); /* an impossible record */
    check_ok(fl_filter_chance(&state, ONE, &three, &chance, &err), &err);
    check_close(chance.chance, 0.0, 0.0, 0.0);
    check_ok(fl_filter_likelihood(&state, ONE, &three, &likelihood, &err), &err);
    check_close(likelihood, 0.0, 0.0, 0.0);
    state = with_masses(0.0, 1.0, 0.0);
    check_ok(fl_filter_chance(&state, ONE, &three, &chance, &err), &err);
    check_close(chance.chance, 0.0, 0.0, 0.0);
    check_ok(fl_filter_likelihood(&state, ONE, &three, &likelihood, &err), &err);
    check_close(likelihood, 1.0, 0.0, 0.0);
    state = with_masses(1.0, 0.25, 0.75);
    check_ok(fl_filter_chance(&state, ONE, &three, &chance, &err), &err);
    check_close(chance.one, 1.0, 0.0, 0.0);
    check_close(chance.many, 1.0, 0.0, 0.0);
    const fl_founders one = {.family = FL_FOUNDERS_ONE};
    check_ok(fl_filter_likelihood(&state, ONE, &one, &likelihood, &err), &err);
    check_close(likelihood, 0.25, 1e-15, 0.0);
}

static void test_chance_refused(void **unused)
{
    (void)unused;
    const fl_founders bad[] = {
        {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 0.0},
        {.family = FL_FOUNDERS_ZT_POISSON, .lambda = NAN},
        {.family = FL_FOUNDERS_ZT_NEGBIN, .mean = -1.0, .size = 1.0},
        {.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1.0, .size = 1e7},
    };
    const fl_founders one = {.family = FL_FOUNDERS_ONE};
    const fl_founders unknown = {.family = (fl_founder_family)7};
    const double nothing[1] = {0.0};
    const double negative[1] = {-1.0};
    fl_filter state = started();
    fl_chance chance = {-1.0, -1.0, -1.0};
    double likelihood = -1.0;
    double by_stage[4] = {-1.0, -1.0, -1.0, -1.0};
    fl_err err;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        check_int(fl_filter_chance(&state, ONE, &bad[i], &chance, &err), FL_EDOMAIN);
        check_int(fl_filter_likelihood(&state, ONE, &bad[i], &likelihood, &err), FL_EDOMAIN);
    }
    check_int(fl_filter_chance(&state, ONE, &unknown, &chance, &err), FL_EINVAL);
    check_int(fl_filter_chance(&state, nothing, &one, &chance, &err), FL_EDOMAIN);
    check_contains(err.message, "all weights are 0");
    check_int(fl_filter_likelihood(&state, negative, &one, &likelihood, &err), FL_EDOMAIN);
    check_int(fl_filter_alive_by_stage(&MODEL, &state, negative, by_stage, &err), FL_EDOMAIN);
    check_close(chance.chance, -1.0, 0.0, 0.0);
    check_close(likelihood, -1.0, 0.0, 0.0);
    check_close(by_stage[0], -1.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_start_spreads_shares_evenly),
    cmocka_unit_test(test_start_in_one_substage),
    cmocka_unit_test(test_start_scales_shares_within_the_slack),
    cmocka_unit_test(test_start_refuses),
    cmocka_unit_test(test_model_refused),
    cmocka_unit_test(test_model_at_its_limits),
    cmocka_unit_test(test_treat_by_hand),
    cmocka_unit_test(test_colony_rule_by_hand),
    cmocka_unit_test(test_young_begin_again),
    cmocka_unit_test(test_young_are_many),
    cmocka_unit_test(test_young_after_a_find_and_over_a_link),
    cmocka_unit_test(test_find_with_nothing_alive),
    cmocka_unit_test(test_colony_rule_keeps_a_late_treatment_honest),
    cmocka_unit_test(test_look_by_hand),
    cmocka_unit_test(test_thin_by_hand),
    cmocka_unit_test(test_shares_refused),
    cmocka_unit_test(test_a_filter_of_another_model_is_refused),
    cmocka_unit_test(test_time_edges),
    cmocka_unit_test(test_time_refused),
    cmocka_unit_test(test_mortality_is_exponential),
    cmocka_unit_test(test_time_splits),
    cmocka_unit_test(test_find_by_hand),
    cmocka_unit_test(test_find_weighs_the_multipliers),
    cmocka_unit_test(test_find_fills_the_nest),
    cmocka_unit_test(test_find_refused),
    cmocka_unit_test(test_reweight),
    cmocka_unit_test(test_chance_keeps_small_numbers),
    cmocka_unit_test(test_chance_at_the_ends),
    cmocka_unit_test(test_chance_refused),
};
FL_TEST_MAIN(tests)
