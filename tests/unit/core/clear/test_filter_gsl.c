/* The filter's time step against GSL's ODE solver (gsl_odeiv2, Runge-Kutta Prince-Dormand 8-9) at
 * hourly changing temperatures, with and without mortality, with stages of very different speed. */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "base/rng.h"
#include "core/clear/filter.h"
#include "core/know/know.h"
#include "support/check.h"

/* The chain at one temperature, for GSL: written from the definition, not from the filter. A
 * breeding founder that lives a while leaves its stage at 1 / life for the young's first one. */
typedef struct chain {
    const fl_stage_model *model;
    double temp_c;
} chain;

static int slope(double day, const double y[], double dydt[], void *params)
{
    (void)day;
    const chain *c = params;
    double arriving = 0.0;
    int i = 0;
    int generations = c->model->life_days > 0.0 ? 2 : 1;
    for (int g = 0; g < generations * c->model->n_stages; g++) {
        int s = g % c->model->n_stages;
        const fl_stage_rate *stage = &c->model->stage[s];
        double warm = fmin(c->temp_c, stage->upper_c) - stage->threshold_c;
        double rate = warm > 0.0 ? warm / stage->degree_days : 0.0;
        bool is_last = s == c->model->n_stages - 1;
        bool has_young = is_last && g < c->model->n_stages && generations == 2;
        double last = has_young ? y[i] / c->model->life_days : 0.0;
        for (int k = 0; k < (is_last ? 1 : stage->n_substages); k++, i++) {
            double leaving = is_last ? last : stage->n_substages * rate * y[i];
            dydt[i] = arriving - leaving - stage->mortality_per_day * y[i];
            arriving = leaving;
        }
    }
    return GSL_SUCCESS;
}

/* Runs both for so many days from the same start and compares every substage every day. */
static void compare_days(const fl_stage_model *model, fl_filter_seed seed, uint64_t noise, int days)
{
    static const double one[1] = {1.0};
    seed.prior = 1.0;
    seed.n_mix = 1;
    seed.multiplier = one;
    fl_filter state;
    fl_err err;
    check_ok(fl_filter_start(model, &seed, &state, &err), &err);
    double y[FL_SUBSTAGES_MAX];
    for (int i = 0; i < state.n; i++) {
        y[i] = state.alive[i][0];
    }
    chain c = {model, 0.0};
    gsl_odeiv2_system system = {slope, NULL, (size_t)state.n, &c};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-13, 0.0);
    fl_rng rng = {noise};
    for (int day = 0; day < days; day++) {
        double temps[24];
        for (int h = 0; h < 24; h++) {
            temps[h] = 20.0 + 11.0 * sin(h / 3.8) + 3.0 * fl_rng_uniform(&rng);
            c.temp_c = temps[h];
            double t = 0.0;
            check_int(gsl_odeiv2_driver_reset(driver), GSL_SUCCESS);
            check_int(gsl_odeiv2_driver_apply(driver, &t, 1.0 / 24.0, y), GSL_SUCCESS);
        }
        check_ok(fl_filter_advance(model, temps, 24, &state, &err), &err);
        for (int i = 0; i < state.n; i++) {
            check_close(state.alive[i][0], y[i], 0.0, 1e-8);
        }
        check_close(fl_filter_alive(&state, 0) + state.dead[0], 1.0, 0.0, 1e-12);
    }
    gsl_odeiv2_driver_free(driver);
}

static void compare(const fl_stage_model *model, fl_filter_seed seed, uint64_t noise)
{
    compare_days(model, seed, noise, 30);
}

/* Every shipped pest, slow and fast, as it ships: where it starts, with its second generation. */
static void test_every_pest(void **unused)
{
    (void)unused;
    int n = 0;
    for (size_t k = 0; k < fl_know_threat_count(); k++) {
        const fl_threat *threat = fl_know_threat(k);
        if (threat->n_stages == 0) {
            continue; /* pathogens have no clock */
        }
        double share[FL_STAGES_MAX] = {0.0};
        for (int i = 0; i < threat->n_stages; i++) {
            share[i] = threat->stage[i].start_share;
        }
        compare_days(&threat->slow, (fl_filter_seed){.share = share}, 10 + k, 14);
        compare_days(&threat->fast, (fl_filter_seed){.share = share}, 40 + k, 14);
        n++;
    }
    check_true(n >= 16);
}

static void test_fixture(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {
        4,
        {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0}, {16, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}},
        0.0,
        0};
    static const double share[4] = {0.6, 0.3, 0.1, 0.0};
    compare(&model, (fl_filter_seed){.substage = 0}, 1);
    compare(&model, (fl_filter_seed){.share = share}, 2);
}

static void test_mortality(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {
        4,
        {{20, 8.5, 70, 28, 0.02}, {9, 10, 120, 31, 0.1}, {30, 6, 45, 27, 0}, {1, 0, 0, 0, 0.05}},
        0.0,
        0};
    compare(&model, (fl_filter_seed){.substage = 0}, 3);
    compare(&model, (fl_filter_seed){.substage = 25}, 4);
}

/* One stage a hundred times as fast as its neighbours: steps are split for its sake. */
static void test_stiff_stage(void **unused)
{
    (void)unused;
    static const fl_stage_model model = {
        4,
        {{5, 10, 200, 30, 0.01}, {40, 9, 4, 30, 0}, {12, 12, 300, 30, 0}, {1, 0, 0, 0, 0}},
        0.0,
        0};
    compare(&model, (fl_filter_seed){.substage = 0}, 5);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_fixture),
    cmocka_unit_test(test_mortality),
    cmocka_unit_test(test_stiff_stage),
    cmocka_unit_test(test_every_pest),
};
FL_TEST_MAIN(tests)
