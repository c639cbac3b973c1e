/* The exact variant with reproduction: against scipy's backward equations and simulated lines
 * (clearance_branching.csv, scipy 1.10.1), against the forward filter where nothing breeds, by hand
 * for a birth-and-death process, and its errors. */
#include <math.h>
#include <string.h>

#include "core/clear/branching.h"
#include "core/know/know.h"
#include "support/check.h"

static const double ONE[FL_MIXTURE_MAX] = {1.0, 1.0, 1.0, 1.0, 1.0};
static const fl_founders SINGLE = {.family = FL_FOUNDERS_ONE};

/* The table's model: k = 6, 6, 4, rates 0.2, 0.125, 0.25 per day, here at 20 degrees above 0. */
static fl_stage_model table_model(double mortality_per_day)
{
    return (fl_stage_model){4,
                            {{6, 0, 20 / 0.2, 99, 0},
                             {6, 0, 20 / 0.125, 99, 0},
                             {4, 0, 20 / 0.25, 99, 0},
                             {1, 0, 0, 0, mortality_per_day}},
                            0.0,
                            0};
}

static const double SURVIVAL[4] = {0.9, 0.1, 0.6, 0.05};
static const double DETECT[4] = {0.02, 0.4, 0.05, 0.6};

/* Day 30 back to day 0, the days' events from the table's header: treatment, then look. */
static fl_branching run_back(const fl_stage_model *model, double births_per_day, int every_days)
{
    fl_branching b;
    fl_err err;
    check_ok(fl_branching_end(model, 1, ONE, &b, &err), &err);
    for (int day = 29; day >= 0; day--) {
        check_ok(fl_branching_back_constant(model, births_per_day, 20.0, 24, &b, &err), &err);
        if (day > 0 && day % every_days == 0) {
            check_ok(fl_branching_look(model, DETECT, 1.0, &b, &err), &err);
        }
        if (day == 0 || day == 10) {
            check_ok(fl_branching_treat(model, SURVIVAL, &b, &err), &err);
        }
    }
    return b;
}

static void test_table(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("clearance_branching.csv");
    fl_err err;
    for (size_t row = 0; row < table.n_rows; row++) {
        fl_stage_model model = table_model(fl_table_number(&table, row, "mu"));
        bool is_weekly = strcmp(fl_table_text(&table, row, "inspections"), "14 28") != 0;
        double births = fl_table_number(&table, row, "b");
        fl_branching b = run_back(&model, births, is_weekly ? 7 : 14);
        fl_branching_line line;
        fl_chance chance;
        check_ok(fl_branching_start(&model, &b, NULL, 0, &line, &err), &err);
        check_ok(fl_branching_chance(&b, &line, 0.3, ONE, &SINGLE, &chance, &err), &err);
        /* the solver's columns; the table holds 8 digits */
        check_close(line.gone[0], fl_table_number(&table, row, "u"), 0.0, 5e-8);
        check_close(line.quiet[0], fl_table_number(&table, row, "v"), 0.0, 5e-8);
        check_close(chance.one, fl_table_number(&table, row, "P_one_pi0.3"), 0.0, 5e-8);
        /* 20 000 simulated lines each, within 2 standard errors */
        double se_u = sqrt(line.gone[0] * (1.0 - line.gone[0]) / 20000.0);
        double se_v = sqrt(line.quiet[0] * (1.0 - line.quiet[0]) / 20000.0);
        check_close(fl_table_number(&table, row, "u_sim"), line.gone[0], 0.0, 2.0 * se_u);
        check_close(fl_table_number(&table, row, "v_sim"), line.quiet[0], 0.0, 2.0 * se_v);
    }
    check_int(table.n_rows, 8);
    fl_table_free(&table);
}

/* One individual in the last stage that bears more of its own kind: with births into a first stage
 * that passes at once, the numbers are those of the linear birth-and-death process,
 * P(extinct at t) = mu (e^((b-mu)t) - 1) / (b e^((b-mu)t) - mu)  (Kendall 1948, from memory; here
 * it is derived again from the equation dq/dt = (1-q)(mu - b q)). */
static void test_birth_and_death(void **unused)
{
    (void)unused;
    const double b = 0.4;
    const double mu = 0.25;
    const double days = 20.0;
    fl_stage_model model = {2, {{1, 0, 0.1, 200, 0}, {1, 0, 0, 0, mu}}, 0.0, 0};
    fl_branching state;
    fl_branching_line line;
    fl_err err;
    check_ok(fl_branching_end(&model, 1, ONE, &state, &err), &err);
    /* at 100 degrees the first stage takes a thousandth of a day */
    check_ok(fl_branching_back_constant(&model, b, 100.0, 480, &state, &err), &err);
    check_ok(fl_branching_start(&model, &state, NULL, 1, &line, &err), &err);
    double growth = exp((b - mu) * days);
    check_close(line.gone[0], mu * (growth - 1.0) / (b * growth - mu), 0.0, 1e-3);
    check_close(line.quiet[0], 1.0, 0.0, 1e-12);
}

/* Where nothing breeds it is the filter seen from the other end, pest by pest: hourly changing
 * temperatures, two treatments, three looks, all multipliers. */
static void test_the_filter_backward(void **unused)
{
    (void)unused;
    enum { DAYS = 28 };
    fl_know_mixture mixture = fl_know_detectability();
    fl_err err;
    double temps_c[24 * DAYS];
    for (int h = 0; h < 24 * DAYS; h++) {
        temps_c[h] = 20.0 + 6.0 * sin(h * 0.2618) + h * 1e-3;
    }
    for (size_t k = 0; k < fl_know_threat_count(); k++) {
        const fl_threat *threat = fl_know_threat(k);
        if (threat->n_stages == 0) {
            continue;
        }
        const fl_stage_model *model = &threat->fast;
        double share[FL_STAGES_MAX];
        double detect[FL_STAGES_MAX];
        double survival[FL_STAGES_MAX];
        for (int i = 0; i < model->n_stages; i++) {
            share[i] = threat->stage[i].start_share;
            detect[i] = fl_know_detect(threat, i, FL_EFFORT_ROOTS, 0, false);
            survival[i] = 0.3 + 0.1 * i;
        }
        fl_filter forward;
        fl_branching back;
        fl_filter_seed seed = {.prior = 0.3,
                               .share = share,
                               .n_mix = FL_MULTIPLIERS,
                               .multiplier = mixture.multiplier};
        check_ok(fl_filter_start(model, &seed, &forward, &err), &err);
        check_ok(fl_branching_end(model, FL_MULTIPLIERS, mixture.multiplier, &back, &err), &err);
        for (int week = 0; week < 4; week++) {
            if (week < 2) {
                check_ok(fl_filter_treat(model, survival, false, &forward, &err), &err);
            }
            check_ok(fl_filter_advance(model, &temps_c[168 * week], 168, &forward, &err), &err);
            check_ok(fl_filter_look(model, detect, 0.95, &forward, &err), &err);
        }
        for (int week = 3; week >= 0; week--) {
            check_ok(fl_branching_look(model, detect, 0.95, &back, &err), &err);
            check_ok(fl_branching_back(model, 0.0, &temps_c[168 * week], 168, &back, &err), &err);
            if (week < 2) {
                check_ok(fl_branching_treat(model, survival, &back, &err), &err);
            }
        }
        fl_branching_line line;
        check_ok(fl_branching_start(model, &back, share, 0, &line, &err), &err);
        for (int w = 0; w < FL_MULTIPLIERS; w++) {
            check_close(line.quiet[w], 1.0 - forward.found[w], 0.0, 1e-8);
            check_close(line.gone[w], forward.dead[w], 0.0, 1e-8);
        }
        fl_chance want;
        fl_chance got;
        fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3.0};
        check_ok(fl_filter_chance(&forward, mixture.weight_middle, &many, &want, &err), &err);
        check_ok(fl_branching_chance(&back, &line, 0.3, mixture.weight_middle, &many, &got, &err),
                 &err);
        check_close(got.one, want.one, 1e-6, 1e-9);
        check_close(got.many, want.many, 1e-6, 1e-9);
    }
}

/* With births the step size matters: halves of the steps give the same. */
static void test_hours_and_days_agree(void **unused)
{
    (void)unused;
    fl_stage_model model = table_model(0.05);
    fl_branching whole;
    fl_branching hours;
    fl_err err;
    double temps_c[240];
    for (int h = 0; h < 240; h++) {
        temps_c[h] = 20.0;
    }
    check_ok(fl_branching_end(&model, 1, ONE, &whole, &err), &err);
    hours = whole;
    check_ok(fl_branching_back(&model, 0.4, temps_c, 240, &whole, &err), &err);
    for (int h = 0; h < 240; h++) {
        check_ok(fl_branching_back_constant(&model, 0.4, 20.0, 1, &hours, &err), &err);
    }
    for (int i = 0; i < whole.n; i++) {
        check_close(whole.gone[i], hours.gone[i], 0.0, 1e-7);
        check_close(whole.quiet[i], 1.0, 0.0, 1e-12);
    }
}

static void test_refuses(void **unused)
{
    (void)unused;
    fl_stage_model model = table_model(0.05);
    fl_branching b;
    fl_branching before;
    fl_branching_line line;
    fl_chance chance;
    fl_err err;
    const double cold[1] = {-100.0};
    const double wrong[4] = {0.5, 1.5, 0.5, 0.5};
    check_true(fl_branching_end(&model, 6, ONE, &b, &err) == FL_ETOOBIG);
    check_ok(fl_branching_end(&model, 1, ONE, &b, &err), &err);
    before = b;
    check_true(fl_branching_back_constant(&model, -1.0, 20.0, 24, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_back_constant(&model, 2000.0, 20.0, 24, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_back_constant(&model, 0.1, 120.0, 24, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_back_constant(&model, 0.1, 20.0, -1, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_back_constant(&model, 0.1, 20.0, FL_FILTER_HOURS_MAX + 1, &b, &err) ==
               FL_ETOOBIG);
    check_true(fl_branching_back(&model, 0.1, cold, 1, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_treat(&model, wrong, &b, &err) == FL_EDOMAIN);
    check_contains(err.message, "stage 1: survival 1.5");
    check_true(fl_branching_look(&model, wrong, 1.0, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_look(&model, DETECT, 1.1, &b, &err) == FL_EDOMAIN);
    check_true(fl_branching_start(&model, &b, wrong, 0, &line, &err) == FL_EDOMAIN);
    check_true(fl_branching_start(&model, &b, NULL, 17, &line, &err) == FL_EDOMAIN);
    check_ok(fl_branching_start(&model, &b, NULL, 16, &line, &err), &err);
    check_true(fl_branching_chance(&b, &line, 1.1, ONE, &SINGLE, &chance, &err) == FL_EDOMAIN);
    check_int(memcmp(&b, &before, sizeof b), 0);
    /* births make the generations themselves, so a life beside them is refused, however short */
    fl_stage_model twice = table_model(0.0);
    fl_branching lines;
    twice.life_days = 0.5;
    twice.n_young = 1;
    check_ok(fl_branching_end(&twice, 1, ONE, &lines, &err), &err);
    check_int(fl_branching_back_constant(&twice, 0.1, 20.0, 24, &lines, &err), FL_EINVAL);
    check_contains(err.message, "life_days 0.5");
    check_ok(fl_branching_back_constant(&twice, 0.0, 20.0, 24, &lines, &err), &err);
    fl_stage_model other = {2, {{1, 0, 10, 200, 0}, {1, 0, 0, 0, 0}}, 0.0, 0};
    check_true(fl_branching_look(&other, DETECT, 1.0, &b, &err) == FL_EINVAL);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_table),
    cmocka_unit_test(test_birth_and_death),
    cmocka_unit_test(test_the_filter_backward),
    cmocka_unit_test(test_hours_and_days_agree),
    cmocka_unit_test(test_refuses),
};
FL_TEST_MAIN(tests)
