/* The filter's and the branching line's contracts (filter.h, branching.h, steady.h): each figure
 * that a header names as a limit is let through and computed with, the next beyond it is refused
 * and leaves everything as it was; what stands in rows of no stage and no multiplier is not read.
 * What comes out at a limit is held to a closed form where there is one: exp(-m t), a chance of
 * one founder by Bayes, 1 - exp(-mean) of a Poisson inflow. */
#include <math.h>
#include <string.h>

#include "core/clear/branching.h"
#include "core/clear/steady.h"
#include "support/check.h"

static const fl_stage_model CHAIN = {3,
                                     {{4, 10.0, 50.0, 30.0, 0.0},
                                      {4, 10.0, 80.0, 30.0, 0.0},
                                      {1, 0.0, 0.0, 0.0, 0.0},
                                      {-7, (double)NAN, -1.0, -1.0, -1.0}}, /* of no stage */
                                     0.0,
                                     0};
static const double SHARE[4] = {0.5, 0.3, 0.2, 7.0};
static const double MULTIPLIER[3] = {0.5, 1.5, -1.0}; /* the third of no eye */
static const double WEIGHT[3] = {0.25, 0.75, -1.0};

static fl_filter_seed sound(void)
{
    return (fl_filter_seed){.prior = 0.3, .share = SHARE, .n_mix = 2, .multiplier = MULTIPLIER};
}

static fl_filter started(void)
{
    fl_filter f;
    fl_err err = {0};
    fl_filter_seed seed = sound();
    check_ok(fl_filter_start(&CHAIN, &seed, &f, &err), &err);
    return f;
}

/* ---- models ---- */

static void takes(const fl_stage_model *model)
{
    fl_err err = {0};
    check_ok(fl_filter_check_model(model, &err), &err);
}

static void refuses(const fl_stage_model *model, fl_status status, const char *because)
{
    fl_err err = {0};
    check_int(fl_filter_check_model(model, &err), status);
    check_contains(err.message, because);
}

static void test_rates(void **state)
{
    (void)state;
    fl_stage_model model = CHAIN;
    model.stage[0] = (fl_stage_rate){1, FL_FILTER_TEMP_MIN_C, 0.1, FL_FILTER_TEMP_MIN_C + 200.0, 0};
    model.stage[1] = (fl_stage_rate){1, FL_FILTER_TEMP_MAX_C, 1e9, 100.001, 1000.0};
    takes(&model);
    model.stage[0].upper_c += 1e-6;
    refuses(&model, FL_EDOMAIN, "stage 0: upper_c");
    model.stage[0] = CHAIN.stage[0];
    model.stage[1].upper_c = FL_FILTER_TEMP_MAX_C;
    refuses(&model, FL_EDOMAIN, "give more than threshold_c 100");
    static const struct {
        fl_stage_rate rate;
        const char *because;
    } bad[] = {{{1, -90.001, 50.0, 30.0, 0.0}, "threshold_c"},
               {{1, 100.001, 50.0, 130.0, 0.0}, "threshold_c"},
               {{1, 10.0, 0.0999, 30.0, 0.0}, "degree_days"},
               {{1, 10.0, 1.001e9, 30.0, 0.0}, "degree_days"},
               {{1, 10.0, 50.0, 30.0, 1000.1}, "mortality_per_day"},
               {{1, 10.0, 50.0, 30.0, -1e-9}, "mortality_per_day"}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        model = CHAIN;
        model.stage[1] = bad[i].rate;
        refuses(&model, FL_EDOMAIN, bad[i].because);
    }
    model = CHAIN; /* the last stage's rate is not looked at, its deaths are */
    model.stage[2] = (fl_stage_rate){1, 400.0, -1.0, -1.0, 1000.0};
    takes(&model);
    model.stage[2].mortality_per_day = 1000.1;
    refuses(&model, FL_EDOMAIN, "stage 2: mortality_per_day");
}

static void test_stages(void **state)
{
    (void)state;
    fl_stage_model model = {.n_stages = FL_STAGES_MAX};
    for (int s = 0; s < FL_STAGES_MAX; s++) {
        model.stage[s] = (fl_stage_rate){s == FL_STAGES_MAX - 1 ? 1 : 20, 10.0, 50.0, 30.0, 0.0};
    }
    model.stage[0].n_substages = FL_SUBSTAGES_MAX - 1 - 6 * 20;
    takes(&model);
    check_int(fl_filter_substages(&model), FL_SUBSTAGES_MAX);
    model.stage[0].n_substages++;
    refuses(&model, FL_ETOOBIG, "more than 160 substages");
    model.n_stages = FL_STAGES_MAX + 1;
    refuses(&model, FL_ETOOBIG, "9 stages: at most 8");
    model = (fl_stage_model){2, {{1, 10.0, 50.0, 30.0, 0.0}, {1, 0.0, 0.0, 0.0, 0.0}}, 0.0, 0};
    takes(&model);
    check_int(fl_filter_substages(&model), 2);
    model.stage[1].n_substages = 2;
    refuses(&model, FL_EDOMAIN, "give 1 for the last");
    model.n_stages = 1;
    refuses(&model, FL_EDOMAIN, "give at least 2");
}

/* A second generation: as many substages again. */
static void test_generations(void **state)
{
    (void)state;
    fl_stage_model model = CHAIN;
    check_int(fl_filter_generations(&model), 1);
    model.n_young = -5; /* without a second generation it is not looked at */
    takes(&model);
    model.life_days = 0.1;
    model.n_young = 1;
    takes(&model);
    check_int(fl_filter_generations(&model), 2);
    check_int(fl_filter_substages(&model), 18);
    model.life_days = 1e6;
    model.n_young = 1000;
    takes(&model);
    /* one of three young that are each seen with 0.2, independently: 1 - 0.8^3 */
    model.n_young = 3;
    check_close(fl_filter_seen_of(&model, 1, 0.2), 1.0 - 0.8 * 0.8 * 0.8, 1e-12, 0.0);
    check_close(fl_filter_seen_of(&model, 0, 0.2), 0.2, 0.0, 0.0);
    model.n_young = 1001;
    refuses(&model, FL_EDOMAIN, "n_young 1001");
    model.n_young = 0;
    refuses(&model, FL_EDOMAIN, "n_young 0");
    model.n_young = 1;
    model.life_days = 0.0999;
    refuses(&model, FL_EDOMAIN, "life_days");
    model.life_days = 1.001e6;
    refuses(&model, FL_EDOMAIN, "life_days");
    model.life_days = 30.0;
    model.stage[0].n_substages = FL_SUBSTAGES_MAX / 2 - 5;
    takes(&model);
    model.stage[0].n_substages++;
    refuses(&model, FL_ETOOBIG, "more than 80 substages");
}

/* ---- the start ---- */

static void test_seeds(void **state)
{
    (void)state;
    static const double five[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 100.0};
    static const double more[FL_MIXTURE_MAX] = {0.0, 1.0, 2.0, 3.0, 100.001};
    static const double slack[3] = {0.5, 0.3, 0.2 + 0.9e-6};
    static const double over[3] = {0.5, 0.3, 0.2 + 1.1e-6};
    static const double under[3] = {0.5, 0.3, 0.2 - 1.1e-6};
    fl_err err = {0};
    fl_filter f;
    fl_filter_seed seed = sound();
    for (int prior = 0; prior <= 1; prior++) {
        seed.prior = prior;
        check_ok(fl_filter_start(&CHAIN, &seed, &f, &err), &err);
    }
    seed.n_mix = FL_MIXTURE_MAX;
    seed.multiplier = five;
    seed.share = slack;
    check_ok(fl_filter_start(&CHAIN, &seed, &f, &err), &err);
    for (int w = 0; w < FL_MIXTURE_MAX; w++) { /* scaled to 1 again */
        check_close(fl_filter_alive(&f, w), 1.0, 1e-14, 0.0);
        check_close(f.multiplier[w], five[w], 0.0, 0.0);
    }
    const fl_filter before = f;
    seed.multiplier = more;
    check_int(fl_filter_start(&CHAIN, &seed, &f, &err), FL_EDOMAIN);
    seed.multiplier = five;
    seed.share = over;
    check_int(fl_filter_start(&CHAIN, &seed, &f, &err), FL_EDOMAIN);
    seed.share = under;
    check_int(fl_filter_start(&CHAIN, &seed, &f, &err), FL_EDOMAIN);
    seed.share = NULL;
    seed.substage = 9;
    check_int(fl_filter_start(&CHAIN, &seed, &f, &err), FL_EDOMAIN);
    check_true(memcmp(&f, &before, sizeof f) == 0);
    for (int i = 0; i < 9; i += 8) { /* the youngest and the last */
        seed.substage = i;
        check_ok(fl_filter_start(&CHAIN, &seed, &f, &err), &err);
        check_close(f.alive[i][4], 1.0, 0.0, 0.0);
        check_close(fl_filter_alive(&f, 4), 1.0, 0.0, 0.0);
    }
}

/* ---- time ---- */

/* Fifty years too cold to grow, deaths of a thousandth a day: exp(-m t), and the rest is dead. */
static void test_fifty_years(void **state)
{
    (void)state;
    fl_stage_model model = CHAIN;
    fl_err err = {0};
    for (int s = 0; s < 3; s++) {
        model.stage[s].mortality_per_day = 0.001;
    }
    fl_filter f = started();
    check_ok(
        fl_filter_advance_constant(&model, FL_FILTER_TEMP_MIN_C, FL_FILTER_HOURS_MAX, &f, &err),
        &err);
    double left = exp(-0.001 * FL_FILTER_HOURS_MAX / 24.0);
    check_close(fl_filter_alive(&f, 1), left, 1e-6, 0.0);
    check_close(f.dead[1], 1.0 - left, 1e-9, 0.0);
    const fl_filter before = f;
    check_int(fl_filter_advance_constant(&model, 20.0, FL_FILTER_HOURS_MAX + 1, &f, &err),
              FL_ETOOBIG);
    check_int(fl_filter_advance_constant(&model, -90.001, 1, &f, &err), FL_EDOMAIN);
    check_int(fl_filter_advance_constant(&model, 100.001, 1, &f, &err), FL_EDOMAIN);
    check_true(memcmp(&f, &before, sizeof f) == 0);
    check_ok(fl_filter_advance_constant(&model, FL_FILTER_TEMP_MAX_C, 1, &f, &err), &err);
}

/* No hour changes nothing; the hour behind the last one is not read. */
static void test_no_hours(void **state)
{
    (void)state;
    const double temps_c[3] = {25.0, 25.0, (double)NAN};
    fl_err err = {0};
    fl_filter f = started();
    const fl_filter before = f;
    check_ok(fl_filter_advance(&CHAIN, temps_c, 0, &f, &err), &err);
    check_ok(fl_filter_advance_constant(&CHAIN, 25.0, 0, &f, &err), &err);
    check_true(memcmp(&f, &before, sizeof f) == 0);
    check_ok(fl_filter_advance(&CHAIN, temps_c, 2, &f, &err), &err);
    fl_filter constant = before; /* equal neighbours are one wait */
    check_ok(fl_filter_advance_constant(&CHAIN, 25.0, 2, &constant, &err), &err);
    check_true(memcmp(&f, &constant, sizeof f) == 0);
}

/* ---- readouts ---- */

/* One founder, one eye: prior x seen not yet / (1 - prior x found), by Bayes. Found by a look with
 * 0.2, 0.4, 0.6 for the stages of SHARE: 0.1 + 0.12 + 0.12 = 0.34. */
static void test_the_chance_by_bayes(void **state)
{
    (void)state;
    static const double detect[4] = {0.2, 0.4, 0.6, 7.0};
    static const double one[1] = {1.0};
    static const fl_founders single = {.family = FL_FOUNDERS_ONE};
    static const fl_founders few = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 1e-6};
    static const fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 1e6};
    fl_err err = {0};
    fl_chance chance;
    fl_filter f;
    fl_filter_seed seed = {.prior = 0.3, .share = SHARE, .n_mix = 1, .multiplier = one};
    check_ok(fl_filter_start(&CHAIN, &seed, &f, &err), &err);
    check_ok(fl_filter_look(&CHAIN, detect, 1.0, &f, &err), &err);
    double want = 0.3 * 0.66 / (1.0 - 0.3 * 0.34);
    check_ok(fl_filter_chance(&f, one, &single, &chance, &err), &err);
    check_close(chance.chance, want, 1e-12, 0.0);
    check_ok(fl_filter_chance(&f, one, &few, &chance, &err), &err);
    check_close(chance.many, want, 1e-5, 0.0);
    check_ok(fl_filter_chance(&f, one, &many, &chance, &err), &err);
    check_close(chance.many, 0.0, 0.0, 1e-12); /* a million would have been seen */
    check_close(chance.chance, want, 1e-12, 0.0);
    static const double none[3] = {0.0, 0.0, 0.0};
    check_ok(fl_filter_look(&CHAIN, none, 0.0, &f, &err), &err); /* nothing can be seen */
    check_ok(fl_filter_chance(&f, one, &single, &chance, &err), &err);
    check_close(chance.chance, want, 1e-12, 0.0);
}

static void test_founders(void **state)
{
    (void)state;
    static const struct {
        fl_founders founders;
        bool is_taken;
    } cases[] = {{{.family = FL_FOUNDERS_ZT_POISSON, .lambda = 0.999e-6}, false},
                 {{.family = FL_FOUNDERS_ZT_POISSON, .lambda = 1.001e6}, false},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1e-6, .size = 1e6}, true},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1e6, .size = 1e-6}, true},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 0.999e-6, .size = 1.0}, false},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1.001e6, .size = 1.0}, false},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1.0, .size = 0.999e-6}, false},
                 {{.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 1.0, .size = 1.001e6}, false}};
    const fl_filter f = started();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_err err = {0};
        fl_chance chance = {42.0, 42.0, 42.0};
        fl_status status = fl_filter_chance(&f, WEIGHT, &cases[i].founders, &chance, &err);
        check_int(status, cases[i].is_taken ? FL_OK : FL_EDOMAIN);
        check_true(cases[i].is_taken ? chance.chance > 0.0 && chance.chance <= 0.3 + 1e-12
                                     : chance.chance > 41.0);
    }
}

static void test_weights(void **state)
{
    (void)state;
    static const double heavy[2] = {1e6, 0.0};
    static const double heavier[2] = {1.001e6, 0.0};
    static const double none[2] = {0.0, 0.0};
    fl_err err = {0};
    fl_filter_masses masses = {42.0, 42.0, 42.0};
    const fl_filter f = started();
    check_int(fl_filter_means(&f, heavier, &masses, &err), FL_EDOMAIN);
    check_int(fl_filter_means(&f, none, &masses, &err), FL_EDOMAIN);
    check_close(masses.alive, 42.0, 0.0, 0.0);
    check_ok(fl_filter_means(&f, heavy, &masses, &err), &err);
    check_close(masses.alive, 1.0, 1e-14, 0.0);
    double by_stage[4] = {0.0, 0.0, 0.0, 42.0};
    check_ok(fl_filter_alive_by_stage(&CHAIN, &f, WEIGHT, by_stage, &err), &err);
    for (int s = 0; s < 3; s++) {
        check_close(by_stage[s], SHARE[s], 1e-12, 0.0);
    }
    check_close(by_stage[3], 42.0, 0.0, 0.0);
}

/* ---- the steady hazard ---- */

/* Founders that come in as a Poisson number of mean 0.2: there is one with 1 - exp(-0.2). */
static void test_inflow(void **state)
{
    (void)state;
    static const double one[1] = {1.0};
    static const double over[3] = {0.5, 0.3, 0.2 + 1.1e-6};
    static const double negative[3] = {-0.1, 0.6, 0.5};
    fl_err err = {0};
    fl_filter f;
    double chance = 42.0;
    check_ok(fl_filter_start_empty(&CHAIN, 1, one, &f, &err), &err);
    check_ok(fl_filter_inflow(&CHAIN, 0.0, SHARE, &f, &err), &err);
    check_ok(fl_filter_steady_chance(&f, one, &chance, &err), &err);
    check_close(chance, 0.0, 0.0, 0.0);
    check_ok(fl_filter_inflow(&CHAIN, 0.05, SHARE, &f, &err), &err);
    check_ok(fl_filter_inflow(&CHAIN, 0.15, SHARE, &f, &err), &err);
    check_ok(fl_filter_steady_chance(&f, one, &chance, &err), &err);
    check_close(chance, 1.0 - exp(-0.2), 1e-12, 0.0);
    const fl_filter before = f;
    check_int(fl_filter_inflow(&CHAIN, -1e-9, SHARE, &f, &err), FL_EDOMAIN);
    check_int(fl_filter_inflow(&CHAIN, (double)NAN, SHARE, &f, &err), FL_EDOMAIN);
    check_int(fl_filter_inflow(&CHAIN, 0.1, over, &f, &err), FL_EDOMAIN);
    check_int(fl_filter_inflow(&CHAIN, 0.1, negative, &f, &err), FL_EDOMAIN);
    check_true(memcmp(&f, &before, sizeof f) == 0);
    static const double zero[1] = {0.0};
    static const double below[1] = {-1.0};
    check_int(fl_filter_steady_chance(&f, zero, &chance, &err), FL_EDOMAIN);
    check_int(fl_filter_steady_chance(&f, below, &chance, &err), FL_EDOMAIN);
    check_close(chance, 1.0 - exp(-0.2), 1e-12, 0.0);
}

/* ---- the branching line ---- */

/* Without births a line is one founder, and backward is forward: gone is what has died, quiet what
 * was not found. Too cold to grow: exp(-m t). */
static void test_a_line_without_births(void **state)
{
    (void)state;
    static const double one[2] = {1.0, -1.0};
    static const double survival[4] = {0.5, 0.5, 0.5, 7.0};
    static const double detect[4] = {0.2, 0.4, 0.6, 7.0};
    fl_stage_model model = CHAIN;
    fl_err err = {0};
    fl_branching b;
    fl_branching_line line;
    for (int s = 0; s < 3; s++) {
        model.stage[s].mortality_per_day = 0.1;
    }
    check_ok(fl_branching_end(&model, 1, one, &b, &err), &err);
    check_ok(fl_branching_back_constant(&model, 0.0, -90.0, 240, &b, &err), &err);
    check_ok(fl_branching_treat(&model, survival, &b, &err), &err);
    check_ok(fl_branching_look(&model, detect, 1.0, &b, &err), &err);
    check_ok(fl_branching_start(&model, &b, SHARE, 0, &line, &err), &err);
    check_close(line.quiet[0], 0.66, 1e-9, 0.0);
    check_close(line.gone[0], 0.66 * (1.0 - 0.5 * exp(-1.0)), 1e-8, 0.0);
    check_ok(fl_branching_start(&model, &b, NULL, 8, &line, &err), &err); /* a colony: 0.6 */
    check_close(line.quiet[0], 0.4, 1e-9, 0.0);
}

static void test_lines_refuse(void **state)
{
    (void)state;
    static const double temps_c[2] = {100.0, (double)NAN};
    static const double over[3] = {0.5, 1.0 + 1e-9, 0.5};
    static const double under[3] = {0.5, 0.5, -1e-9};
    static const double edges[3] = {0.0, 1.0, 0.5};
    fl_err err = {0};
    fl_branching b;
    fl_branching_line line;
    check_ok(fl_branching_end(&CHAIN, 2, MULTIPLIER, &b, &err), &err);
    check_ok(fl_branching_back(&CHAIN, 0.0, temps_c, 1, &b, &err), &err);
    check_ok(fl_branching_back_constant(&CHAIN, FL_BIRTHS_MAX_PER_DAY, -90.0, 0, &b, &err), &err);
    check_ok(fl_branching_treat(&CHAIN, edges, &b, &err), &err);
    check_ok(fl_branching_look(&CHAIN, edges, 0.0, &b, &err), &err);
    check_ok(fl_branching_look(&CHAIN, edges, 1.0, &b, &err), &err);
    const fl_branching before = b;
    check_int(fl_branching_back_constant(&CHAIN, 1000.1, 20.0, 1, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_back_constant(&CHAIN, -1e-9, 20.0, 1, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_back_constant(&CHAIN, 0.0, 100.001, 1, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_back_constant(&CHAIN, 0.0, -90.001, 1, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_back_constant(&CHAIN, 0.0, 20.0, -1, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_back_constant(&CHAIN, 0.0, 20.0, FL_FILTER_HOURS_MAX + 1, &b, &err),
              FL_ETOOBIG);
    check_int(fl_branching_treat(&CHAIN, over, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_treat(&CHAIN, under, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_look(&CHAIN, over, 0.5, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_look(&CHAIN, edges, 1.0 + 1e-9, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_look(&CHAIN, edges, -1e-9, &b, &err), FL_EDOMAIN);
    check_int(fl_branching_start(&CHAIN, &b, NULL, 9, &line, &err), FL_EDOMAIN);
    check_int(fl_branching_start(&CHAIN, &b, NULL, -1, &line, &err), FL_EDOMAIN);
    check_int(fl_branching_start(&CHAIN, &b, under, 0, &line, &err), FL_EDOMAIN);
    check_true(memcmp(&b, &before, sizeof b) == 0);
    fl_stage_model two = CHAIN;
    two.life_days = 30.0;
    two.n_young = 1;
    fl_branching young;
    check_ok(fl_branching_end(&two, 2, MULTIPLIER, &young, &err), &err);
    check_int(fl_branching_back_constant(&two, 0.1, 20.0, 1, &young, &err), FL_EINVAL);
    check_ok(fl_branching_back_constant(&two, 0.0, 20.0, 1, &young, &err), &err);
    check_int(fl_branching_treat(&CHAIN, edges, &young, &err), FL_EINVAL);
}

/* The chance of a line of one founder is Bayes again; priors of 0 and 1 are priors. */
static void test_the_chance_of_a_line(void **state)
{
    (void)state;
    static const double one[1] = {1.0};
    static const double detect[3] = {0.2, 0.4, 0.6};
    static const fl_founders single = {.family = FL_FOUNDERS_ONE};
    fl_err err = {0};
    fl_branching b;
    fl_branching_line line;
    fl_chance chance = {42.0, 42.0, 42.0};
    check_ok(fl_branching_end(&CHAIN, 1, one, &b, &err), &err);
    check_ok(fl_branching_look(&CHAIN, detect, 1.0, &b, &err), &err);
    check_ok(fl_branching_start(&CHAIN, &b, SHARE, 0, &line, &err), &err);
    check_int(fl_branching_chance(&b, &line, 1.0 + 1e-9, one, &single, &chance, &err), FL_EDOMAIN);
    check_int(fl_branching_chance(&b, &line, -1e-9, one, &single, &chance, &err), FL_EDOMAIN);
    check_close(chance.chance, 42.0, 0.0, 0.0);
    check_ok(fl_branching_chance(&b, &line, 0.3, one, &single, &chance, &err), &err);
    check_close(chance.chance, 0.3 * 0.66 / (1.0 - 0.3 * 0.34), 1e-12, 0.0);
    check_ok(fl_branching_chance(&b, &line, 0.0, one, &single, &chance, &err), &err);
    check_close(chance.chance, 0.0, 0.0, 0.0);
    check_ok(fl_branching_chance(&b, &line, 1.0, one, &single, &chance, &err), &err);
    check_close(chance.chance, 1.0, 1e-12, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rates),
    cmocka_unit_test(test_stages),
    cmocka_unit_test(test_generations),
    cmocka_unit_test(test_seeds),
    cmocka_unit_test(test_fifty_years),
    cmocka_unit_test(test_no_hours),
    cmocka_unit_test(test_the_chance_by_bayes),
    cmocka_unit_test(test_founders),
    cmocka_unit_test(test_weights),
    cmocka_unit_test(test_inflow),
    cmocka_unit_test(test_a_line_without_births),
    cmocka_unit_test(test_lines_refuse),
    cmocka_unit_test(test_the_chance_of_a_line),
};
FL_TEST_MAIN(tests)
