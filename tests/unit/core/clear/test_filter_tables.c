/* The filter against tables made with scipy 1.10.1 and numpy 1.24.2 (expm, LSODA, gamma
 * distribution, simulation); each file's header holds the call. */
#include <math.h>
#include <string.h>

#include "core/clear/filter.h"
#include "support/check.h"

#define ACCURACY 1e-8 /* what filter.h promises; the tables hold 10 digits */
#define DAYS_MAX 64
#define PI 3.14159265358979323846

static const fl_stage_model FIXTURE =
    {4, {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0}, {16, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}}, 0.0, 0};
static const double DETECT[4] = {0.02, 0.5, 0.05, 0.7};
static const double SURVIVAL[4] = {0.9, 0.1, 0.6, 0.05};
static const double ONE[1] = {1.0};

/* One reference case, run day by day: treatment, look, then time. */
typedef struct trial {
    const fl_stage_model *model;
    bool is_varying;      /* else constant 20 C */
    double examined;      /* share of the batch looked at */
    bool looks[DAYS_MAX]; /* by day */
    bool treatments[DAYS_MAX];
    fl_filter state;
    int day;
    bool are_events_done;
} trial;

static void start_trial(trial *t, fl_filter_seed seed)
{
    fl_err err;
    check_ok(fl_filter_start(t->model, &seed, &t->state, &err), &err);
    t->day = 0;
    t->are_events_done = false;
}

static void do_events(trial *t)
{
    fl_err err;
    if (t->are_events_done) {
        return;
    }
    if (t->treatments[t->day]) {
        check_ok(fl_filter_treat(t->model, SURVIVAL, false, &t->state, &err), &err);
    }
    if (t->looks[t->day]) {
        double detect[4];
        for (int s = 0; s < 4; s++) {
            detect[s] = DETECT[s] * t->examined;
        }
        check_ok(fl_filter_look(t->model, detect, 1.0, &t->state, &err), &err);
    }
    t->are_events_done = true;
}

static void pass_a_day(trial *t)
{
    fl_err err;
    if (t->is_varying) {
        double temps[24];
        for (int h = 0; h < 24; h++) {
            double turn = (24 * t->day + h + 0.5) / 24.0 - 0.25;
            temps[h] = round((20.0 + 12.0 * sin(2.0 * PI * turn)) * 1000.0) / 1000.0;
        }
        check_ok(fl_filter_advance(t->model, temps, 24, &t->state, &err), &err);
    } else {
        check_ok(fl_filter_advance_constant(t->model, 20.0, 24, &t->state, &err), &err);
    }
    t->day++;
    t->are_events_done = false;
}

/* Brings the trial to a day, before ("pre") or after its events. */
static void run_to(trial *t, int day, bool is_pre)
{
    while (t->day < day) {
        do_events(t);
        pass_a_day(t);
    }
    if (!is_pre) {
        do_events(t);
    }
}

static fl_chance chance_of(const fl_filter *state, const double *weight, fl_founders many)
{
    fl_chance chance;
    fl_err err;
    check_ok(fl_filter_chance(state, weight, &many, &chance, &err), &err);
    return chance;
}

static const fl_founders POISSON3 = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3.0};
static const fl_founders NEGBIN3 = {.family = FL_FOUNDERS_ZT_NEGBIN, .mean = 3.0, .size = 0.5};

static void check_rows(trial *t, const char *file, int last_day)
{
    fl_table table = fl_table_read(file);
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        bool is_pre = strcmp(fl_table_text(&table, row, "when"), "pre") == 0;
        run_to(t, (int)fl_table_number(&table, row, "day"), is_pre);
        fl_filter_masses mass;
        double stage[4];
        check_ok(fl_filter_means(&t->state, ONE, &mass, &err), &err);
        check_ok(fl_filter_alive_by_stage(t->model, &t->state, ONE, stage, &err), &err);
        check_close(mass.alive, fl_table_number(&table, row, "A_alive_unfound"), 0.0, ACCURACY);
        check_close(mass.found, fl_table_number(&table, row, "D_found"), 0.0, ACCURACY);
        check_close(mass.dead, fl_table_number(&table, row, "X_dead"), 0.0, ACCURACY);
        check_close(stage[0], fl_table_number(&table, row, "a_egg"), 0.0, ACCURACY);
        check_close(stage[1], fl_table_number(&table, row, "a_larva"), 0.0, ACCURACY);
        check_close(stage[2], fl_table_number(&table, row, "a_pupa"), 0.0, ACCURACY);
        check_close(stage[3], fl_table_number(&table, row, "a_adult"), 0.0, ACCURACY);
        fl_chance poisson = chance_of(&t->state, ONE, POISSON3);
        fl_chance negbin = chance_of(&t->state, ONE, NEGBIN3);
        check_close(poisson.one, fl_table_number(&table, row, "P_one"), 0.0, ACCURACY);
        check_close(poisson.many, fl_table_number(&table, row, "P_ztpois"), 0.0, ACCURACY);
        check_close(negbin.many, fl_table_number(&table, row, "P_ztnb"), 0.0, ACCURACY);
        check_close(poisson.chance, fmax(poisson.one, poisson.many), 0.0, 0.0);
    }
    check_int(t->day, last_day);
    fl_table_free(&table);
}

static trial constant_case(void)
{
    trial t = {.model = &FIXTURE, .examined = 10.0 / 40.0};
    for (int day = 7; day <= 35; day += 7) {
        t.looks[day] = true;
    }
    t.treatments[0] = t.treatments[7] = true;
    return t;
}

static trial varying_case(void)
{
    trial t = {.model = &FIXTURE, .is_varying = true, .examined = 1.0};
    t.looks[3] = t.looks[10] = t.looks[17] = t.looks[24] = true;
    t.treatments[0] = t.treatments[10] = true;
    return t;
}

static const double MIX_SHARE[4] = {0.6, 0.3, 0.1, 0.0};

static void test_constant_temperature_expm(void **unused)
{
    (void)unused;
    trial t = constant_case();
    start_trial(&t, (fl_filter_seed){.prior = 0.3, .n_mix = 1, .multiplier = ONE});
    check_rows(&t, "clearance_constT.csv", 42);
}

static void test_constant_temperature_lsoda(void **unused)
{
    (void)unused;
    trial t = constant_case();
    start_trial(&t, (fl_filter_seed){.prior = 0.3, .n_mix = 1, .multiplier = ONE});
    check_rows(&t, "clearance_constT_ode.csv", 42);
}

static void test_varying_temperature(void **unused)
{
    (void)unused;
    trial t = varying_case();
    start_trial(&t,
                (fl_filter_seed){.prior = 0.15, .share = MIX_SHARE, .n_mix = 1, .multiplier = ONE});
    check_rows(&t, "clearance_varT.csv", 35);
}

static const double MULTIPLIER[2] = {0.3, 1.0};
static const double WEIGHT[2] = {0.25, 0.75};
static const double MEAN_MULTIPLIER[1] = {0.825};

static void check_mixture(trial t, fl_filter_seed seed, const char *file, const char *mean_column)
{
    trial mean = t;
    seed.n_mix = 2;
    seed.multiplier = MULTIPLIER;
    start_trial(&t, seed);
    seed.n_mix = 1;
    seed.multiplier = MEAN_MULTIPLIER;
    start_trial(&mean, seed);
    fl_table table = fl_table_read(file);
    bool has_when = strcmp(table.column[1], "when") == 0;
    for (size_t row = 0; row < table.n_rows; row++) {
        bool is_pre = has_when && strcmp(fl_table_text(&table, row, "when"), "pre") == 0;
        int day = (int)fl_table_number(&table, row, "day");
        run_to(&t, day, is_pre);
        run_to(&mean, day, is_pre);
        fl_chance mixed = chance_of(&t.state, WEIGHT, POISSON3);
        check_close(mixed.one, fl_table_number(&table, row, "P_one_mix"), 0.0, ACCURACY);
        check_close(mixed.many, fl_table_number(&table, row, "P_ztpois3_mix"), 0.0, ACCURACY);
        check_close(chance_of(&mean.state, ONE, POISSON3).one,
                    fl_table_number(&table, row, mean_column), 0.0, ACCURACY);
    }
    fl_table_free(&table);
}

static void test_mixture(void **unused)
{
    (void)unused;
    check_mixture(constant_case(), (fl_filter_seed){.prior = 0.3}, "clearance_mixture.csv",
                  "P_one_if_independent_at_mean_multiplier_0.825");
    check_mixture(varying_case(), (fl_filter_seed){.prior = 0.15, .share = MIX_SHARE},
                  "clearance_mixture_varT.csv", "P_one_at_mean");
}

/* 400 000 simulated founders, an independent program: within 3 standard errors, and the last
 * printed digit. */
static void test_simulated_founders(void **unused)
{
    (void)unused;
    trial t = constant_case();
    start_trial(&t, (fl_filter_seed){.prior = 0.3, .n_mix = 1, .multiplier = ONE});
    fl_table table = fl_table_read("clearance_constT_montecarlo.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        run_to(&t, (int)fl_table_number(&table, row, "day"), false);
        double alive = fl_filter_alive(&t.state, 0);
        double found = t.state.found[0];
        double se_alive = sqrt(alive * (1.0 - alive) / 400000.0);
        double se_found = sqrt(found * (1.0 - found) / 400000.0);
        check_close(alive, fl_table_number(&table, row, "A_mc"), 0.0, 3.0 * se_alive + 1e-6);
        check_close(found, fl_table_number(&table, row, "D_mc"), 0.0, 3.0 * se_found + 1e-6);
    }
    check_int(table.n_rows, 43);
    fl_table_free(&table);
}

/* Backward equations with births (scipy LSODA): the rows without births or deaths are the forward
 * filter's u = 1 - D - A and v = 1 - D. */
static void test_backward_equations(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {4,
                                         {{6, 0, 20 / 0.2, 99, 0},
                                          {6, 0, 20 / 0.125, 99, 0},
                                          {4, 0, 20 / 0.25, 99, 0},
                                          {1, 0, 0, 0, 0}},
                                         0.0,
                                         0};
    static const double detect[4] = {0.02, 0.4, 0.05, 0.6};
    fl_table table = fl_table_read("clearance_branching.csv");
    int n_checked = 0;
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        if (fl_table_number(&table, row, "mu") > 0.0 || fl_table_number(&table, row, "b") > 0.0) {
            continue;
        }
        bool is_weekly = strcmp(fl_table_text(&table, row, "inspections"), "14 28") != 0;
        fl_filter state;
        fl_filter_seed seed = {.prior = 0.3, .n_mix = 1, .multiplier = ONE};
        check_ok(fl_filter_start(&model, &seed, &state, &err), &err);
        for (int day = 0; day < 30; day++) {
            if (day == 0 || day == 10) {
                check_ok(fl_filter_treat(&model, SURVIVAL, false, &state, &err), &err);
            }
            if (day > 0 && day % (is_weekly ? 7 : 14) == 0) {
                check_ok(fl_filter_look(&model, detect, 1.0, &state, &err), &err);
            }
            check_ok(fl_filter_advance_constant(&model, 20.0, 24, &state, &err), &err);
        }
        double found = state.found[0];
        double alive = fl_filter_alive(&state, 0);
        check_close(1.0 - found - alive, fl_table_number(&table, row, "u"), 0.0, 2e-8);
        check_close(1.0 - found, fl_table_number(&table, row, "v"), 0.0, 2e-8);
        check_close(chance_of(&state, ONE, POISSON3).one,
                    fl_table_number(&table, row, "P_one_pi0.3"), 0.0, 2e-8);
        n_checked++;
    }
    check_int(n_checked, 2);
    fl_table_free(&table);
}

/* Stage occupancy against scipy's gamma distribution and a numeric convolution of three. */
static void test_erlang_stages(void **unused)
{
    (void)unused;
    trial t = {.model = &FIXTURE};
    start_trial(&t, (fl_filter_seed){.prior = 0.3, .n_mix = 1, .multiplier = ONE});
    fl_table table = fl_table_read("erlang_occupancy.csv");
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        run_to(&t, (int)fl_table_number(&table, row, "day"), false);
        double stage[4];
        check_ok(fl_filter_alive_by_stage(&FIXTURE, &t.state, ONE, stage, &err), &err);
        check_close(1.0 - stage[0], fl_table_number(&table, row, "gamma_cdf_left_egg"), 0.0,
                    ACCURACY);
        check_close(stage[1], fl_table_number(&table, row, "larva"), 0.0, ACCURACY);
        check_close(stage[2], fl_table_number(&table, row, "pupa"), 0.0, ACCURACY);
        check_close(stage[3], fl_table_number(&table, row, "adult"), 0.0, ACCURACY);
        /* the convolution's own steps of 1/200 day are good to about 1e-7 */
        check_close(stage[3], fl_table_number(&table, row, "adult_by_numeric_convolution"), 0.0,
                    2e-7);
    }
    check_int(t.day, 40);
    fl_table_free(&table);
}

/* Equation (2) and a direct sum over the number of founders. */
static void test_after_a_find(void **unused)
{
    (void)unused;
    static const double everywhere[4] = {1.0, 1.0, 1.0, 1.0};
    fl_table table = fl_table_read("posterior_after_find.csv");
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        double alive = fl_table_number(&table, row, "A");
        double found = fl_table_number(&table, row, "D");
        fl_filter state;
        fl_filter_seed seed = {.prior = 0.3, .n_mix = 1, .multiplier = ONE};
        check_ok(fl_filter_start(&FIXTURE, &seed, &state, &err), &err);
        double detect[4];
        double ride[4];
        for (int s = 0; s < 4; s++) {
            detect[s] = found * everywhere[s];
            ride[s] = alive / (1.0 - found);
        }
        check_ok(fl_filter_look(&FIXTURE, detect, 1.0, &state, &err), &err);
        check_ok(fl_filter_thin(&FIXTURE, ride, &state, &err), &err);
        const fl_filter_finding finding = {.n_found = (int)fl_table_number(&table, row, "x"),
                                           .mean = fl_table_number(&table, row, "m"),
                                           .size = fl_table_number(&table, row, "k"),
                                           .youngest_hidden_stage = -1};
        check_ok(fl_filter_find(&FIXTURE, &finding, &state, &err), &err);
        check_close(state.prior, fl_table_number(&table, row, "P_still_infested"), 0.0, 1e-10);
        check_close(state.prior, fl_table_number(&table, row, "direct_sum"), 0.0, 1e-10);
    }
    check_int(table.n_rows, 27);
    fl_table_free(&table);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_constant_temperature_expm),
    cmocka_unit_test(test_constant_temperature_lsoda),
    cmocka_unit_test(test_varying_temperature),
    cmocka_unit_test(test_mixture),
    cmocka_unit_test(test_simulated_founders),
    cmocka_unit_test(test_backward_equations),
    cmocka_unit_test(test_erlang_stages),
    cmocka_unit_test(test_after_a_find),
};
FL_TEST_MAIN(tests)
