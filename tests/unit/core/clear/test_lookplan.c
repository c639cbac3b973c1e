/* The look plan: expected costs against scipy's table (decision.csv, reference section 5), plans
 * against trying every choice of days, prices of single days against running them, and edges. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/clear/lookplan.h"
#include "core/clear/steady.h"
#include "core/know/know.h"
#include "support/check.h"

static const double ONE[FL_MIXTURE_MAX] = {1.0, 1.0, 1.0, 1.0, 1.0};

/* ---- expected costs: fixture-1 of the reference ---- */

static const fl_stage_model FIXTURE =
    {4, {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0}, {16, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}}, 0.0, 0};
static const double DETECT[4] = {0.02, 0.5, 0.05, 0.7};
static const double SURVIVAL[4] = {0.9, 0.1, 0.6, 0.05};
static const fl_lookplan_costs COSTS = {1.0, 4.0, 150.0, 2000.0};

/* The state after the treatment of day 0, at day `day`; the second treatment on day 7, and looks in
 * between, are put in by hand. *spent: what was spent until then. *quiet: P(nothing found yet). */
static fl_filter fixture_at(int day, int look_day, double *spent, double *quiet)
{
    fl_filter state;
    fl_err err;
    fl_filter_seed seed = {.prior = 0.3, .n_mix = 1, .multiplier = ONE};
    check_ok(fl_filter_start(&FIXTURE, &seed, &state, &err), &err);
    *spent = 0.0;
    *quiet = 1.0;
    for (int d = 0; d <= day; d++) {
        if (d == 0 || d == 7) {
            check_ok(fl_filter_treat(&FIXTURE, SURVIVAL, false, &state, &err), &err);
        }
        if (d == look_day) {
            *spent += COSTS.per_look;
            check_ok(fl_filter_look(&FIXTURE, DETECT, 1.0, &state, &err), &err);
            *quiet = 1.0 - 0.3 * state.found[0];
        }
        if (d < day) {
            *spent += COSTS.per_day * *quiet;
            check_ok(fl_filter_advance_constant(&FIXTURE, 20.0, 24, &state, &err), &err);
        }
    }
    *spent += COSTS.find * (1.0 - *quiet);
    return state;
}

typedef struct fixture {
    fl_lookplan_pest pest;
    fl_lookplan_copy copy;
    int hours[FL_LOOKPLAN_DAYS_MAX];
    fl_lookplan_problem problem;
    void *work;
} fixture;

static void set_fixture(fixture *f, const fl_filter *state, int n_days)
{
    memset(f, 0, sizeof *f);
    f->pest = (fl_lookplan_pest){.model = &FIXTURE, .weight = {1.0}};
    memcpy(f->pest.detect, DETECT, sizeof DETECT);
    f->copy = (fl_lookplan_copy){.state = state};
    for (int d = 0; d < n_days; d++) {
        f->hours[d] = 24 * d;
    }
    f->problem = (fl_lookplan_problem){.pests = &f->pest,
                                       .n_pests = 1,
                                       .copies = &f->copy,
                                       .n_copies = 1,
                                       .mix_weight = {1.0},
                                       .cap = 1.0,
                                       .founders = {.family = FL_FOUNDERS_ONE},
                                       .ceiling = {0.01},
                                       .n_uses = 1,
                                       .hours = f->hours,
                                       .n_days = n_days,
                                       .temp_c = 20.0,
                                       .since_last_look_h = -1,
                                       .most_looks = 20};
    f->work = malloc(fl_lookplan_work_bytes(&f->problem));
    check_true(f->work != NULL);
}

/* Expected cost and posterior of looks on days[n] with release on day tau. */
static fl_lookplan_cost cost_of(const int *days, int n, int tau, double *posterior)
{
    int start = tau < 7 ? 0 : 7; /* the second treatment comes first on its day */
    int early = n > 0 && days[0] < start ? days[0] : -1;
    double spent = 0.0;
    double quiet = 1.0;
    fl_filter state = fixture_at(start, early, &spent, &quiet);
    fixture f;
    fl_lookplan_cost cost;
    fl_err err;
    bool is_look[FL_LOOKPLAN_DAYS_MAX] = {false};
    set_fixture(&f, &state, tau - start + 1);
    for (int i = 0; i < n; i++) {
        if (days[i] >= start) {
            is_look[days[i] - start] = true;
        }
    }
    check_ok(fl_lookplan_expect(&f.problem, is_look, tau - start, &COSTS, f.work, &cost, &err),
             &err);
    free(f.work);
    cost.expected = spent + quiet * cost.expected;
    *posterior = cost.prob_released / cost.prob_quiet;
    return cost;
}

static int parse_days(const char *text, int *days)
{
    int n = 0;
    char *end = NULL;
    for (const char *at = text; *at != '\0'; at = *end == ' ' ? end + 1 : end) {
        days[n++] = (int)strtol(at, &end, 10);
    }
    return n;
}

static void test_expected_costs(void **unused)
{
    (void)unused;
    fl_table table = fl_table_read("decision.csv");
    for (size_t row = 0; row < table.n_rows; row++) {
        int days[8];
        double posterior = 0.0;
        int n = parse_days(fl_table_text(&table, row, "inspection_days"), days);
        int tau = (int)fl_table_number(&table, row, "release_day");
        fl_lookplan_cost cost = cost_of(days, n, tau, &posterior);
        check_close(cost.expected, fl_table_number(&table, row, "expected_cost"), 0.0, 2e-5);
        check_close(posterior, fl_table_number(&table, row, "posterior_at_release"), 0.0, 2e-8);
    }
    check_int(table.n_rows, 12);
    fl_table_free(&table);
}

/* The notes: day 27 is the best single look of days 1 to 40, days 27 and 28 the best two. */
static void test_optima_of_the_table(void **unused)
{
    (void)unused;
    double posterior = 0.0;
    double best_one = HUGE_VAL;
    double best_two = HUGE_VAL;
    int one = 0;
    int two[2] = {0, 0};
    for (int a = 1; a <= 40; a++) {
        double cost = cost_of(&a, 1, a, &posterior).expected;
        if (cost < best_one) {
            best_one = cost;
            one = a;
        }
        for (int b = a + 1; b <= 40; b++) {
            if (b < 7) {
                continue; /* both before the second treatment: cost_of puts in one by hand */
            }
            int days[2] = {a, b};
            cost = cost_of(days, 2, b, &posterior).expected;
            if (cost < best_two) {
                best_two = cost;
                two[0] = a;
                two[1] = b;
            }
        }
    }
    check_int(one, 27);
    check_int(two[0], 27);
    check_int(two[1], 28);
}

/* ---- rooms in small: several pests, roots and copies ---- */

#define PESTS 4
#define COPIES 9

typedef struct scene {
    fl_lookplan_pest pests[PESTS];
    fl_lookplan_copy copies[COPIES];
    fl_filter states[COPIES];
    int hours[FL_LOOKPLAN_DAYS_MAX];
    double temps_c[FL_LOOKPLAN_DAYS_MAX * 168 + 24];
    fl_lookplan_problem problem;
    fl_know_mixture mixture;
    void *work;
} scene;

static const char *const CODES[PESTS] = {"fungus_gnat", "western_flower_thrips",
                                         "twospotted_spider_mite", "citrus_mealybug"};

static double between(fl_rng *rng, double low, double high)
{
    return low + (high - low) * fl_rng_uniform(rng);
}

static void set_state(scene *s, fl_rng *rng, size_t copy, const fl_threat *threat)
{
    double share[FL_STAGES_MAX];
    double survival[FL_STAGES_MAX];
    fl_err err;
    for (int i = 0; i < threat->n_stages; i++) {
        share[i] = threat->stage[i].start_share;
        survival[i] = between(rng, 0.3, 1.0);
    }
    fl_filter_seed seed = {.prior = between(rng, 0.02, 0.3),
                           .share = share,
                           .n_mix = FL_MULTIPLIERS,
                           .multiplier = s->mixture.multiplier};
    fl_filter *state = &s->states[copy];
    check_ok(fl_filter_start(&threat->slow, &seed, state, &err), &err);
    check_ok(fl_filter_treat(&threat->slow, survival, true, state, &err), &err);
    int hours = (int)fl_rng_below(rng, 300);
    check_ok(fl_filter_advance_constant(&threat->slow, 21.0, hours, state, &err), &err);
}

/* Pest 0 has three copies of two roots and a trickle, the others two roots each or one. */
static void set_copies(scene *s, fl_rng *rng)
{
    static const size_t pest_of[COPIES] = {0, 0, 0, 0, 1, 1, 2, 2, 3};
    static const size_t root_of[COPIES] = {7, 7, 8, 9, 1, 2, 5, 5, 3};
    fl_err err;
    for (size_t i = 0; i < COPIES; i++) {
        const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(CODES[pest_of[i]]));
        s->copies[i] =
            (fl_lookplan_copy){.pest = pest_of[i], .root = root_of[i], .state = &s->states[i]};
        set_state(s, rng, i, threat);
        if (root_of[i] == 9) { /* the room's own trickle */
            s->copies[i].is_steady = s->copies[i].takes_inflow = true;
            check_ok(fl_filter_start_empty(&threat->slow, FL_MULTIPLIERS, s->mixture.multiplier,
                                           &s->states[i], &err),
                     &err);
        }
    }
}

static void set_scene(scene *s, uint64_t seed, int n_days, int every_days)
{
    fl_rng rng = {seed};
    memset(s, 0, sizeof *s);
    s->mixture = fl_know_detectability();
    for (size_t i = 0; i < PESTS; i++) {
        const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(CODES[i]));
        s->pests[i] = (fl_lookplan_pest){.model = &threat->slow};
        s->pests[i].weight[0] = threat->weight[FL_USE_PLANTS_ONLY];
        s->pests[i].weight[1] = threat->weight[FL_USE_AMPHIBIAN];
        for (int k = 0; k < threat->n_stages; k++) {
            s->pests[i].detect[k] =
                fl_know_detect(threat, k, FL_EFFORT_CAREFUL, 1U << FL_DEVICE_YELLOW_CARD, false);
            s->pests[i].inflow_share[k] = threat->stage[k].start_share;
        }
        s->pests[i].inflow_per_day = i == 0 ? 0.0002 : 0.0;
        s->pests[i].inflow_per_look = i == 0 ? 0.0005 : 0.0;
    }
    set_copies(s, &rng);
    for (int d = 0; d < n_days; d++) {
        s->hours[d] = 24 * every_days * d + 20;
    }
    for (int h = 0; h < s->hours[n_days - 1]; h++) {
        s->temps_c[h] = 20.0 + (h / 24 % 5);
    }
    s->problem = (fl_lookplan_problem){.pests = s->pests,
                                       .n_pests = PESTS,
                                       .copies = s->copies,
                                       .n_copies = COPIES,
                                       .cap = s->mixture.cap,
                                       .founders = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = 3},
                                       .ceiling = {0.10, 0.03},
                                       .n_uses = 2,
                                       .hours = s->hours,
                                       .n_days = n_days,
                                       .temps_c = seed % 2 == 0 ? s->temps_c : NULL,
                                       .temp_c = 23.0,
                                       .since_last_look_h = seed % 3 == 0 ? 48 : -1,
                                       .first_release = 1,
                                       .most_looks = n_days};
    memcpy(s->problem.mix_weight, s->mixture.weight_middle, sizeof s->problem.mix_weight);
    s->work = malloc(fl_lookplan_work_bytes(&s->problem));
    check_true(s->work != NULL);
}

/* ---- trying every choice of days ---- */

typedef struct tried {
    int release;
    int n_looks;
    double load;
} tried;

static bool keeps_the_gap(const fl_lookplan_problem *p, unsigned mask)
{
    int last_h = p->since_last_look_h < 0 ? -1000000 : -p->since_last_look_h;
    for (int d = 0; d < p->n_days; d++) {
        if ((mask & (1U << d)) == 0) {
            continue;
        }
        if (p->hours[d] - last_h < FL_LOOKPLAN_GAP_H) {
            return false;
        }
        last_h = p->hours[d];
    }
    return true;
}

/* Every subset of the days, with at most most_looks of them: the best by release, number, load. */
static tried try_all(const fl_lookplan_problem *p, void *work)
{
    tried best = {.release = p->n_days, .n_looks = 1000, .load = HUGE_VAL};
    for (unsigned mask = 1; mask < 1U << p->n_days; mask++) {
        int n = __builtin_popcount(mask);
        int release = 31 - __builtin_clz(mask);
        bool is_look[FL_LOOKPLAN_DAYS_MAX] = {false};
        double load[FL_LOOKPLAN_DAYS_MAX];
        fl_err err;
        bool is_worse = release > best.release || (release == best.release && n > best.n_looks);
        if (n > p->most_looks || release < p->first_release || is_worse ||
            !keeps_the_gap(p, mask)) {
            continue;
        }
        for (int d = 0; d < p->n_days; d++) {
            is_look[d] = (mask & (1U << d)) != 0;
        }
        fl_lookplan_problem to_release = *p;
        to_release.n_days = release + 1;
        to_release.first_release = 0;
        check_ok(fl_lookplan_run(&to_release, is_look, work, load, &err), &err);
        bool is_better = release < best.release || n < best.n_looks || load[release] < best.load;
        if (load[release] <= 1.0 && is_better) {
            best = (tried){release, n, load[release]};
        }
    }
    return best;
}

static void check_against_all(scene *s, uint64_t seed, const char *what)
{
    fl_lookplan plan;
    fl_err err;
    tried best = try_all(&s->problem, s->work);
    check_ok(fl_lookplan_find(&s->problem, s->work, &plan, &err), &err);
    bool is_none = best.release == s->problem.n_days;
    int want = is_none ? FL_LOOKPLAN_NEVER : best.release;
    bool holds = plan.release == want;
    if (!is_none && holds) {
        holds = plan.n_looks == best.n_looks &&
                fabs(plan.day[want].load - best.load) <= 1e-7 * best.load;
    }
    if (!holds) {
        print_error("%s, seed %llu: release %d, %d looks, load %.9f; best %d, %d, %.9f\n", what,
                    (unsigned long long)seed, plan.release, plan.n_looks,
                    plan.release >= 0 ? plan.day[plan.release].load : 0.0, want, best.n_looks,
                    best.load);
    }
    check_true(holds);
}

/* Up to three looks on weekly days: exactly the best of all choices. */
static void test_few_looks_weekly(void **unused)
{
    (void)unused;
    int n_found = 0;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        for (int most = 1; most <= 3; most++) {
            scene s;
            fl_lookplan plan;
            fl_err err;
            set_scene(&s, seed, 9, 7);
            s.problem.most_looks = most;
            s.problem.ceiling[0] = 0.25;
            s.problem.ceiling[1] = 0.10;
            check_against_all(&s, seed, "weekly");
            check_ok(fl_lookplan_find(&s.problem, s.work, &plan, &err), &err);
            n_found += plan.release >= 0;
            free(s.work);
        }
    }
    check_true(n_found >= 6); /* not all of them without a release */
}

/* On any day, five days apart. */
static void test_few_looks_daily(void **unused)
{
    (void)unused;
    for (uint64_t seed = 11; seed <= 13; seed++) {
        scene s;
        set_scene(&s, seed, 15, 2);
        s.problem.most_looks = 3;
        s.problem.ceiling[0] = 0.30;
        s.problem.ceiling[1] = 0.12;
        check_against_all(&s, seed, "every second day");
        free(s.work);
    }
}

/* As many looks as it takes: the release is the earliest there is, and no fewer looks would do. */
static void test_as_many_as_it_takes(void **unused)
{
    (void)unused;
    for (uint64_t seed = 21; seed <= 26; seed++) {
        scene s;
        set_scene(&s, seed, 10, 7);
        s.problem.ceiling[0] = 0.12;
        s.problem.ceiling[1] = 0.05;
        check_against_all(&s, seed, "as many as it takes");
        free(s.work);
    }
}

/* ---- prices ---- */

/* What a changed day comes to is what running the changed plan gives. */
static void test_prices_are_runs(void **unused)
{
    (void)unused;
    for (uint64_t seed = 31; seed <= 34; seed++) {
        scene s;
        fl_lookplan plan;
        fl_err err;
        int n_prices = 0;
        set_scene(&s, seed, 14, 7);
        s.problem.ceiling[0] = 0.09;
        s.problem.ceiling[1] = 0.04;
        check_ok(fl_lookplan_find(&s.problem, s.work, &plan, &err), &err);
        check_true(plan.release > 2);
        for (int d = 0; d < s.problem.n_days; d++) {
            bool is_look[FL_LOOKPLAN_DAYS_MAX];
            double load[FL_LOOKPLAN_DAYS_MAX];
            for (int k = 0; k < s.problem.n_days; k++) {
                is_look[k] = plan.day[k].is_look != (k == d);
            }
            if (isnan(plan.day[d].load_changed)) {
                check_true(d > plan.release || (d == 0 && s.problem.since_last_look_h >= 0));
                continue;
            }
            check_ok(fl_lookplan_run(&s.problem, is_look, s.work, load, &err), &err);
            check_close(plan.day[d].load_changed, load[plan.release], 1e-6, 0.0);
            n_prices++;
        }
        check_true(n_prices >= 3);
        free(s.work);
    }
}

/* A missed look moves the release by what running it shows; never to an earlier day. */
static void test_a_missed_look(void **unused)
{
    (void)unused;
    int n_moved = 0;
    for (uint64_t seed = 41; seed <= 44; seed++) {
        scene s;
        fl_lookplan plan;
        fl_err err;
        set_scene(&s, seed, 14, 7);
        s.problem.ceiling[0] = 0.09;
        s.problem.ceiling[1] = 0.04;
        check_ok(fl_lookplan_find(&s.problem, s.work, &plan, &err), &err);
        for (int d = 0; d <= plan.release; d++) {
            int release = 0;
            bool is_look[FL_LOOKPLAN_DAYS_MAX] = {false};
            double load[FL_LOOKPLAN_DAYS_MAX];
            int want = FL_LOOKPLAN_NEVER;
            if (!plan.day[d].is_look) {
                check_true(fl_lookplan_missed(&s.problem, &plan, d, s.work, &release, &err) ==
                           FL_EINVAL);
                continue;
            }
            for (int k = 0; k < s.problem.n_days; k++) {
                is_look[k] = (plan.day[k].is_look && k != d) || k > plan.release;
            }
            check_ok(fl_lookplan_run(&s.problem, is_look, s.work, load, &err), &err);
            for (int k = s.problem.n_days - 1; k >= s.problem.first_release; k--) {
                want = is_look[k] && load[k] <= 1.0 ? k : want;
            }
            check_ok(fl_lookplan_missed(&s.problem, &plan, d, s.work, &release, &err), &err);
            check_int(release, want);
            check_true(release == FL_LOOKPLAN_NEVER || release >= plan.release);
            n_moved += release != plan.release;
        }
        free(s.work);
    }
    check_true(n_moved > 4);
}

/* ---- edges ---- */

static void test_every_day_and_none(void **unused)
{
    (void)unused;
    scene s;
    fl_lookplan plan;
    fl_lookplan found;
    fl_err err;
    set_scene(&s, 52, 14, 7);
    check_ok(fl_lookplan_every(&s.problem, s.work, &plan, &err), &err);
    check_ok(fl_lookplan_find(&s.problem, s.work, &found, &err), &err);
    check_int(plan.release, found.release);
    check_true(plan.n_looks >= found.n_looks);
    check_true(isnan(plan.day[0].load_changed));
    s.problem.ceiling[1] = 1e-9; /* out of reach: every day is a look, and there is no release */
    check_ok(fl_lookplan_find(&s.problem, s.work, &found, &err), &err);
    check_int(found.release, FL_LOOKPLAN_NEVER);
    check_int(found.n_looks, 14);
    s.problem.n_copies = 0; /* nothing is feared: the release look is all it takes */
    s.problem.first_release = 2;
    check_ok(fl_lookplan_find(&s.problem, s.work, &found, &err), &err);
    check_int(found.release, 2);
    check_int(found.n_looks, 1);
    s.problem.first_release = 14; /* something else forbids it for as long as we look ahead */
    check_ok(fl_lookplan_find(&s.problem, s.work, &found, &err), &err);
    check_int(found.release, FL_LOOKPLAN_NEVER);
    free(s.work);
}

static void expect(fl_lookplan_problem *p, void *work, fl_status status, const char *message)
{
    fl_lookplan plan;
    fl_err err;
    check_true(fl_lookplan_find(p, work, &plan, &err) == status);
    check_contains(err.message, message);
}

static void test_refuses(void **unused)
{
    (void)unused;
    scene s;
    set_scene(&s, 61, 14, 7);
    fl_lookplan_problem p = s.problem;
    p.n_days = 65;
    expect(&p, s.work, FL_ETOOBIG, "65 days");
    check_int(fl_lookplan_work_bytes(&p), 0);
    p = s.problem;
    p.first_release = 15;
    expect(&p, s.work, FL_EINVAL, "first_release 15");
    p = s.problem;
    p.most_looks = 0;
    expect(&p, s.work, FL_EDOMAIN, "at most 0 looks");
    p = s.problem;
    p.n_uses = 9;
    expect(&p, s.work, FL_EDOMAIN, "9 uses");
    p = s.problem;
    p.ceiling[1] = 0.0;
    expect(&p, s.work, FL_EDOMAIN, "ceiling 0");
    p = s.problem;
    p.cap = 1.5;
    expect(&p, s.work, FL_EDOMAIN, "cap 1.5");
    p = s.problem;
    p.temps_c = NULL;
    p.temp_c = 200.0;
    expect(&p, s.work, FL_EDOMAIN, "temperature 200");
    p = s.problem;
    p.mix_weight[0] = -1.0;
    expect(&p, s.work, FL_EDOMAIN, "weight -1");
    s.hours[3] = s.hours[2];
    expect(&s.problem, s.work, FL_EINVAL, "day 3");
    s.hours[3] = s.hours[2] + 168;
    s.copies[5].pest = 0;
    expect(&s.problem, s.work, FL_EINVAL, "copies stand by pest");
    s.copies[5].pest = 1;
    s.states[6].multiplier[2] = 0.5;
    expect(&s.problem, s.work, FL_EINVAL, "other multipliers");
    s.states[6].multiplier[2] = s.mixture.multiplier[2];
    bool is_look[FL_LOOKPLAN_DAYS_MAX] = {true};
    fl_lookplan_cost cost;
    fl_err err;
    check_true(fl_lookplan_expect(&s.problem, is_look, 3, &COSTS, s.work, &cost, &err) ==
               FL_EINVAL);
    s.problem.n_copies = 1;
    check_true(fl_lookplan_expect(&s.problem, is_look, 14, &COSTS, s.work, &cost, &err) ==
               FL_EINVAL);
    fl_lookplan_costs wrong = {.per_day = -1.0};
    check_true(fl_lookplan_expect(&s.problem, is_look, 3, &wrong, s.work, &cost, &err) ==
               FL_EDOMAIN);
    free(s.work);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_expected_costs),
    cmocka_unit_test(test_optima_of_the_table),
    cmocka_unit_test(test_few_looks_weekly),
    cmocka_unit_test(test_few_looks_daily),
    cmocka_unit_test(test_as_many_as_it_takes),
    cmocka_unit_test(test_prices_are_runs),
    cmocka_unit_test(test_a_missed_look),
    cmocka_unit_test(test_every_day_and_none),
    cmocka_unit_test(test_refuses),
};
FL_TEST_MAIN(tests)
