/* The steady hazard (clearance-and-tracing 1.5: a Poisson number with mean vector M,
 * dM/dt = Q M + h b) against a closed form for one stage and against GSL's ODE solver for several,
 * with looks and a treatment in between; and its readout. */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <gsl/gsl_sf_gamma.h>

#include "core/clear/steady.h"
#include "core/know/know.h"
#include "support/check.h"

static const double one_eye[1] = {1.0};
static const double all_of_it[1] = {1.0};

/* One hidden stage of k substages, then a last one; rate per day = 1 / days at 20 C. */
static fl_stage_model single_stage(int k, double days)
{
    fl_stage_model model = {.n_stages = 2};
    model.stage[0] = (fl_stage_rate){
        .n_substages = k, .threshold_c = 10.0, .degree_days = 10.0 * days, .upper_c = 30.0};
    model.stage[1] = (fl_stage_rate){.n_substages = 1};
    return model;
}

static void hours_pass(const fl_stage_model *model, fl_filter *state, int n_hours)
{
    fl_err err = {0};
    check_ok(fl_filter_advance_constant(model, 20.0, n_hours, state, &err), &err);
}

static void let_in(const fl_stage_model *model, fl_filter *state, double mean, const double *share)
{
    fl_err err = {0};
    check_ok(fl_filter_inflow(model, mean, share, state, &err), &err);
}

static double chance_of(const fl_filter *state, const double *weight)
{
    double chance = (double)NAN;
    fl_err err = {0};
    check_ok(fl_filter_steady_chance(state, weight, &chance, &err), &err);
    return chance;
}

static fl_filter empty(const fl_stage_model *model, int n, const double *multiplier)
{
    fl_filter state;
    fl_err err = {0};
    check_ok(fl_filter_start_empty(model, n, multiplier, &state, &err), &err);
    return state;
}

/* One exponential stage with founders that trickle in: its mean is h/r (1 - e^-rt); none is lost.
 * And k substages with all mass in at once: what has left them by t is the gamma distribution
 * (clearance-and-tracing 2.1), from GSL's incomplete gamma function. */
static void test_one_stage_closed_form(void **state_)
{
    (void)state_;
    const int k = 4;
    const double days = 5.0;
    const double share[2] = {1.0, 0.0};
    fl_stage_model model = single_stage(k, days);
    /* At start_empty every substage gets an equal part of a stage's inflow; one substage for k = 1
     * is a plain exponential stage, for which the mean is h/r (1 - e^-rt). */
    fl_stage_model plain = single_stage(1, days);
    fl_filter state = empty(&plain, 1, one_eye);
    for (int i = 0; i < 24 * 30; i++) {
        let_in(&plain, &state, 0.01 / 24.0, share);
        hours_pass(&plain, &state, 1);
    }
    double r = 1.0 / days;
    /* in by the hour, at the beginning of each: a geometric sum instead of the integral */
    double per_hour = exp(-r / 24.0);
    double want = 0.01 / 24.0 * per_hour * (1.0 - pow(per_hour, 24.0 * 30.0)) / (1.0 - per_hour);
    check_close(state.alive[0][0], want, 1e-7, 0.0);
    check_close(fl_filter_alive(&state, 0), 0.01 * 30.0, 1e-9, 0.0);
    check_close(chance_of(&state, all_of_it), -expm1(-0.3), 1e-9, 0.0);
    /* The limit of ever shorter steps is the closed form. */
    double closed = 0.01 / r * -expm1(-r * 30.0);
    check_close(want, closed, 0.01, 0.0);
    /* k substages, all mass in at once: P(left by t) is the gamma distribution's. */
    fl_filter chain = empty(&model, 1, one_eye);
    const double late[2] = {1.0, 0.0};
    let_in(&model, &chain, 1.0, late);
    hours_pass(&model, &chain, 24 * 10);
    double left = 0.0; /* a start in substage j needs k - j more */
    for (int j = 0; j < k; j++) {
        left += gsl_sf_gamma_inc_P(k - j, k * 10.0 / days) / k;
    }
    check_close(chain.alive[k][0], left, 1e-8, 0.0);
}

/* ---- several stages against GSL ---- */

typedef struct chain {
    const fl_stage_model *model;
    const double *share;
    double per_day;
} chain;

static int slope(double day, const double y[], double dydt[], void *params)
{
    (void)day;
    const chain *c = params;
    double arriving = 0.0;
    int i = 0;
    for (int g = 0; g < 2; g++) { /* founders, and what they leave behind after their lives */
        for (int s = 0; s < c->model->n_stages; s++) {
            const fl_stage_rate *stage = &c->model->stage[s];
            double warm = fmin(20.0, stage->upper_c) - stage->threshold_c;
            bool is_last = s == c->model->n_stages - 1;
            double rate = warm <= 0.0 ? 0.0 : stage->n_substages * warm / stage->degree_days;
            rate = is_last ? (g == 0 ? 1.0 / c->model->life_days : 0.0) : rate;
            double in = g == 0 ? c->per_day * c->share[s] / stage->n_substages : 0.0;
            for (int k = 0; k < stage->n_substages; k++, i++) {
                dydt[i] = arriving - rate * y[i] + in;
                arriving = rate * y[i];
            }
        }
    }
    return GSL_SUCCESS;
}

/* A gnat's chain for 60 days, looks on days 20 and 40: the filter takes its inflow by the
 * hour, GSL continuously. */
static void test_a_gnat_against_gsl(void **state_)
{
    (void)state_;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    const fl_stage_model *model = &gnat->slow;
    double share[FL_STAGES_MAX] = {0};
    double detect[FL_STAGES_MAX] = {0};
    double y[FL_SUBSTAGES_MAX] = {0};
    for (int i = 0; i < gnat->n_stages; i++) {
        share[i] = gnat->stage[i].start_share;
        detect[i] = fl_know_detect(gnat, i, FL_EFFORT_CAREFUL, 1U << FL_DEVICE_YELLOW_CARD, false);
    }
    fl_filter state = empty(model, 1, one_eye);
    chain c = {model, share, 0.02};
    gsl_odeiv2_system system = {slope, NULL, (size_t)state.n, &c};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-12, 0.0);
    double found = 0.0;
    for (int day = 0; day < 60; day++) {
        if (day == 20 || day == 40) {
            int i = 0;
            fl_err err = {0};
            check_ok(fl_filter_look(model, detect, 0.95, &state, &err), &err);
            for (int g = 0; g < 2 * model->n_stages; g++) {
                int s = g % model->n_stages;
                double missed = pow(1.0 - detect[s], g < model->n_stages ? 1 : model->n_young);
                for (int k = 0; k < model->stage[s].n_substages; k++, i++) {
                    found += (1.0 - missed) * y[i];
                    y[i] *= missed;
                }
            }
            gsl_odeiv2_driver_reset(driver);
        }
        double t = day;
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, day + 1.0, y), GSL_SUCCESS);
        for (int hour = 0; hour < 24; hour++) { /* half before, half after: second order */
            let_in(model, &state, 0.02 / 48.0, share);
            hours_pass(model, &state, 1);
            let_in(model, &state, 0.02 / 48.0, share);
        }
    }
    double sum = 0.0;
    for (int i = 0; i < state.n; i++) {
        check_close(state.alive[i][0], y[i], 1e-3, 1e-7);
        sum += y[i];
    }
    check_close(state.found[0], found, 1e-3, 0.0);
    check_close(fl_filter_alive(&state, 0) + state.found[0], 0.02 * 60.0, 1e-9, 0.0);
    check_close(chance_of(&state, all_of_it), -expm1(-sum), 1e-4, 0.0);
    gsl_odeiv2_driver_free(driver);
}

/* The program lets in at the end of a span what came in during it: younger, hence never more
 * visible than it may be. The number is the same, and at a look the chance is not lower. */
static void test_in_at_the_end_is_never_lower(void **state_)
{
    (void)state_;
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    const fl_stage_model *model = &gnat->slow;
    double share[FL_STAGES_MAX] = {0};
    double detect[FL_STAGES_MAX] = {0};
    for (int i = 0; i < gnat->n_stages; i++) {
        share[i] = gnat->stage[i].start_share;
        detect[i] = fl_know_detect(gnat, i, FL_EFFORT_CAREFUL, 1U << FL_DEVICE_YELLOW_CARD, false);
    }
    fl_filter as_it_came = empty(model, 1, one_eye);
    fl_filter at_the_end = empty(model, 1, one_eye);
    fl_err err = {0};
    for (int week = 0; week < 12; week++) {
        for (int hour = 0; hour < 168; hour++) {
            let_in(model, &as_it_came, 0.001 / 168.0, share);
            hours_pass(model, &as_it_came, 1);
        }
        hours_pass(model, &at_the_end, 168);
        let_in(model, &at_the_end, 0.001, share);
        check_ok(fl_filter_look(model, detect, 0.95, &as_it_came, &err), &err);
        check_ok(fl_filter_look(model, detect, 0.95, &at_the_end, &err), &err);
        check_true(chance_of(&at_the_end, all_of_it) >= chance_of(&as_it_came, all_of_it));
    }
    check_close(chance_of(&at_the_end, all_of_it), chance_of(&as_it_came, all_of_it), 0.35, 0.0);
}

/* ---- the readout ---- */

/* sum_w w e^-D_w (1 - e^-A_w) / sum_w w e^-D_w, by hand for two eyes. */
static void test_two_eyes(void **state_)
{
    (void)state_;
    static const double eyes[2] = {0.5, 2.0};
    static const double weight[2] = {0.3, 0.7};
    static const double share[2] = {0.0, 1.0};
    static const double detect[2] = {0.0, 0.4};
    fl_stage_model model = single_stage(3, 5.0);
    fl_filter state = empty(&model, 2, eyes);
    fl_err err = {0};
    let_in(&model, &state, 0.8, share);
    check_ok(fl_filter_look(&model, detect, 0.95, &state, &err), &err);
    double w0 = 0.3 * exp(-0.8 * 0.2);
    double w1 = 0.7 * exp(-0.8 * 0.8);
    double want = (w0 * -expm1(-0.8 * 0.8) + w1 * -expm1(-0.8 * 0.2)) / (w0 + w1);
    check_close(chance_of(&state, weight), want, 1e-12, 0.0);
}

/* Nothing in it is 0; a flood is 1 and not more; a treatment takes its share. */
static void test_edges(void **state_)
{
    (void)state_;
    static const double share[2] = {1.0, 0.0};
    static const double survival[2] = {0.25, 1.0};
    fl_stage_model model = single_stage(3, 5.0);
    fl_filter state = empty(&model, 1, one_eye);
    fl_err err = {0};
    check_close(chance_of(&state, all_of_it), 0.0, 0.0, 0.0);
    let_in(&model, &state, 0.0, share);
    check_close(chance_of(&state, all_of_it), 0.0, 0.0, 0.0);
    let_in(&model, &state, 0.4, share);
    check_ok(fl_filter_treat(&model, survival, false, &state, &err), &err);
    check_close(chance_of(&state, all_of_it), -expm1(-0.1), 1e-12, 0.0);
    check_close(state.dead[0], 0.3, 1e-12, 0.0);
    let_in(&model, &state, 1000.0, share);
    check_close(chance_of(&state, all_of_it), 1.0, 1e-12, 0.0);
    check_true(chance_of(&state, all_of_it) <= 1.0);
}

static void test_refusals(void **state_)
{
    (void)state_;
    static const double share[2] = {1.0, 0.0};
    static const double short_share[2] = {0.5, 0.4};
    static const double minus[1] = {-1.0};
    static const double nothing[1] = {0.0};
    fl_stage_model model = single_stage(3, 5.0);
    fl_filter state = empty(&model, 1, one_eye);
    fl_filter before = state;
    double out = 7.0;
    fl_err err = {0};
    check_true(fl_filter_inflow(&model, -0.1, share, &state, &err) == FL_EDOMAIN);
    check_true(fl_filter_inflow(&model, 1000.1, share, &state, &err) == FL_EDOMAIN);
    check_true(fl_filter_inflow(&model, (double)NAN, share, &state, &err) == FL_EDOMAIN);
    check_true(fl_filter_inflow(&model, 1.0, short_share, &state, &err) == FL_EDOMAIN);
    check_status(&err, FL_EDOMAIN);
    check_true(fl_filter_steady_chance(&state, minus, &out, &err) == FL_EDOMAIN);
    check_true(fl_filter_steady_chance(&state, nothing, &out, &err) == FL_EDOMAIN);
    check_close(out, 7.0, 0.0, 0.0);
    assert_memory_equal(&state, &before, sizeof state);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_one_stage_closed_form),
                                          cmocka_unit_test(test_a_gnat_against_gsl),
                                          cmocka_unit_test(test_in_at_the_end_is_never_lower),
                                          cmocka_unit_test(test_two_eyes),
                                          cmocka_unit_test(test_edges),
                                          cmocka_unit_test(test_refusals)};
FL_TEST_MAIN(tests)
