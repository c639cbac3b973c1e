/* What must hold for every filter, whatever the model, the record and the eye: seeded random cases.
 * A failure prints the seed. */
#include <math.h>
#include <string.h>

#include "base/rng.h"
#include "core/clear/filter.h"
#include "support/check.h"

#define CASES 400

typedef struct scene {
    fl_stage_model model;
    fl_filter state;
    double weight[FL_MIXTURE_MAX];
    fl_founders founders;
    fl_rng rng;
} scene;

static double between(fl_rng *rng, double low, double high)
{
    return low + (high - low) * fl_rng_uniform(rng);
}

static int whole_between(fl_rng *rng, int low, int high)
{
    return low + (int)fl_rng_below(rng, (uint64_t)(high - low + 1));
}

static fl_stage_model random_model(fl_rng *rng, bool has_mortality)
{
    fl_stage_model model = {.n_stages = whole_between(rng, 2, 6)};
    int n_substages = 0;
    for (int s = 0; s < model.n_stages; s++) {
        bool is_last = s == model.n_stages - 1;
        model.stage[s] = (fl_stage_rate){
            .n_substages = is_last ? 1 : whole_between(rng, 1, 31),
            .threshold_c = between(rng, 4.0, 13.0),
            .degree_days = between(rng, 20.0, 300.0),
            .upper_c = between(rng, 26.0, 34.0),
            .mortality_per_day = has_mortality ? between(rng, 0.0, 0.2) : 0.0,
        };
        n_substages += model.stage[s].n_substages;
    }
    if (n_substages <= FL_SUBSTAGES_MAX / 2) { /* a second generation, where there is room */
        model.life_days = between(rng, 1.0, 60.0);
        model.n_young = whole_between(rng, 1, 5);
    }
    return model;
}

static void random_founders(scene *s)
{
    s->founders.family = (fl_founder_family)whole_between(&s->rng, 0, 2);
    s->founders.lambda = between(&s->rng, 0.1, 30.0);
    s->founders.mean = between(&s->rng, 0.1, 30.0);
    s->founders.size = between(&s->rng, 0.05, 5.0);
}

static scene random_scene(uint64_t seed, bool has_mortality)
{
    scene s = {.rng = {seed}};
    s.model = random_model(&s.rng, has_mortality);
    double share[FL_STAGES_MAX];
    double sum = 0.0;
    for (int i = 0; i < s.model.n_stages; i++) {
        share[i] = between(&s.rng, 0.0, 1.0);
        sum += share[i];
    }
    for (int i = 0; i < s.model.n_stages; i++) {
        share[i] /= sum;
    }
    double multiplier[FL_MIXTURE_MAX];
    fl_filter_seed start = {.prior = between(&s.rng, 0.01, 0.99),
                            .share = share,
                            .n_mix = whole_between(&s.rng, 1, FL_MIXTURE_MAX),
                            .multiplier = multiplier};
    for (int w = 0; w < start.n_mix; w++) {
        multiplier[w] = between(&s.rng, 0.0, 2.0);
        s.weight[w] = between(&s.rng, 0.01, 1.0);
    }
    random_founders(&s);
    fl_err err;
    check_ok(fl_filter_start(&s.model, &start, &s.state, &err), &err);
    return s;
}

static void random_shares(scene *s, double high, double *out)
{
    for (int i = 0; i < s->model.n_stages; i++) {
        out[i] = between(&s->rng, 0.0, high);
    }
}

static void wait_some(scene *s)
{
    double temps[60];
    int n = whole_between(&s->rng, 0, 60);
    fl_err err;
    if (fl_rng_below(&s->rng, 3) == 0) {
        double temp_c = between(&s->rng, -5.0, 40.0);
        check_ok(fl_filter_advance_constant(&s->model, temp_c, 40 * n, &s->state, &err), &err);
        return;
    }
    for (int h = 0; h < n; h++) {
        temps[h] = between(&s->rng, -5.0, 40.0);
    }
    check_ok(fl_filter_advance(&s->model, temps, n, &s->state, &err), &err);
}

static void look_some(scene *s)
{
    double detect[FL_STAGES_MAX];
    fl_err err;
    random_shares(s, 1.0, detect);
    check_ok(fl_filter_look(&s->model, detect, 0.95, &s->state, &err), &err);
}

static void treat_some(scene *s)
{
    double survival[FL_STAGES_MAX];
    fl_err err;
    random_shares(s, 1.0, survival);
    bool has_rule = fl_rng_below(&s->rng, 2) == 0;
    check_ok(fl_filter_treat(&s->model, survival, has_rule, &s->state, &err), &err);
}

static fl_chance chance_of(const scene *s)
{
    fl_chance chance;
    fl_err err;
    check_ok(fl_filter_chance(&s->state, s->weight, &s->founders, &chance, &err), &err);
    return chance;
}

static double joint_of(const scene *s, fl_founders founders)
{
    fl_chance chance;
    double likelihood;
    fl_err err;
    check_ok(fl_filter_chance(&s->state, s->weight, &founders, &chance, &err), &err);
    check_ok(fl_filter_likelihood(&s->state, s->weight, &founders, &likelihood, &err), &err);
    return chance.many * likelihood;
}

#define EACH_CASE(seed, offset) for (uint64_t seed = (offset); seed < (offset) + CASES; seed++)

/* Prints the seed when the claim fails, then fails. */
static void claim(bool holds, uint64_t seed, const char *what)
{
    if (!holds) {
        print_error("seed %llu: %s\n", (unsigned long long)seed, what);
        fail();
    }
}

static void test_masses_sum_to_one(void **unused)
{
    (void)unused;
    EACH_CASE(seed, 1000)
    {
        scene s = random_scene(seed, seed % 2 == 0);
        for (int i = 0; i < 12; i++) {
            switch (fl_rng_below(&s.rng, 4)) {
            case 0:
                look_some(&s);
                break;
            case 1:
                treat_some(&s);
                break;
            default:
                wait_some(&s);
            }
            fl_chance chance = chance_of(&s);
            claim(chance.chance >= 0.0 && chance.chance <= 1.0, seed, "a chance is 0 to 1");
            claim(chance.chance >= chance.one && chance.chance >= chance.many, seed, "the larger");
            for (int w = 0; w < s.state.n_mix; w++) {
                double sum = fl_filter_alive(&s.state, w) + s.state.found[w] + s.state.dead[w];
                claim(fabs(sum - 1.0) <= 1e-12, seed, "the masses sum to 1");
                claim(s.state.found[w] >= 0.0 && s.state.dead[w] >= 0.0, seed, "no mass below 0");
                for (int k = 0; k < s.state.n; k++) {
                    claim(s.state.alive[k][w] >= 0.0, seed, "no mass below 0");
                }
            }
        }
    }
}

static void test_waiting_changes_no_chance(void **unused)
{
    (void)unused;
    EACH_CASE(seed, 2000)
    {
        scene s = random_scene(seed, false);
        look_some(&s);
        treat_some(&s);
        fl_chance before = chance_of(&s);
        wait_some(&s);
        wait_some(&s);
        fl_chance after = chance_of(&s);
        claim(fabs(after.one - before.one) <= 1e-12 * before.one, seed, "waiting, one founder");
        claim(fabs(after.many - before.many) <= 1e-12 * before.many, seed, "waiting, many");
    }
}

/* Undetected and still there: a look can only take from it. (The conditional chance may rise for
 * a mixture; the joint one may not.) A treatment can only take from it too. */
static void test_joint_chance_never_rises(void **unused)
{
    (void)unused;
    EACH_CASE(seed, 3000)
    {
        scene s = random_scene(seed, seed % 3 == 0);
        wait_some(&s);
        double before = joint_of(&s, s.founders);
        for (int i = 0; i < 5; i++) {
            if (fl_rng_below(&s.rng, 3) == 0) {
                treat_some(&s);
            } else {
                look_some(&s);
            }
            double after = joint_of(&s, s.founders);
            claim(after <= before * (1.0 + 1e-12), seed, "a look or a treatment only takes");
            before = after;
            wait_some(&s);
            after = joint_of(&s, s.founders);
            claim(after <= before * (1.0 + 1e-12), seed, "time only takes");
            before = after;
        }
    }
}

static void test_nothing_done_is_the_prior(void **unused)
{
    (void)unused;
    EACH_CASE(seed, 4000)
    {
        scene s = random_scene(seed, false);
        wait_some(&s);
        fl_chance chance = chance_of(&s);
        claim(fabs(chance.one - s.state.prior) <= 1e-12, seed, "the prior, one founder");
        claim(fabs(chance.many - s.state.prior) <= 1e-12, seed, "the prior, many");
    }
}

static void test_perfect_detection_is_zero(void **unused)
{
    (void)unused;
    static const double all[FL_STAGES_MAX] = {1, 1, 1, 1, 1, 1, 1, 1};
    EACH_CASE(seed, 5000)
    {
        scene s = random_scene(seed, seed % 2 == 0);
        fl_err err;
        for (int w = 0; w < s.state.n_mix; w++) {
            s.state.multiplier[w] = 1.0 + 0.5 * w;
        }
        wait_some(&s);
        check_ok(fl_filter_look(&s.model, all, 1.0, &s.state, &err), &err);
        claim(!(chance_of(&s).chance > 0.0), seed, "perfect detection leaves 0");
    }
}

/* After a late treatment of a colony and a quiet look that hardly sees eggs, the threat is not
 * nearly clear: at least the share of eggs that lived through both is still there. */
static void test_colony_rule_is_never_nearly_clear(void **unused)
{
    (void)unused;
    static const double one[1] = {1.0};
    EACH_CASE(seed, 6000)
    {
        scene s = random_scene(seed, false);
        fl_err err;
        fl_filter_seed start = {
            .prior = 0.3, .substage = s.state.n - 1, .n_mix = 1, .multiplier = one};
        check_ok(fl_filter_start(&s.model, &start, &s.state, &err), &err);
        int last = s.model.n_stages - 1;
        double survival[FL_STAGES_MAX];
        double detect[FL_STAGES_MAX];
        random_shares(&s, 0.5, survival);
        random_shares(&s, 0.9, detect);
        survival[0] = 0.9;
        detect[0] = 0.02;
        survival[last] = 0.05;
        check_ok(fl_filter_treat(&s.model, survival, true, &s.state, &err), &err);
        check_ok(fl_filter_look(&s.model, detect, 0.95, &s.state, &err), &err);
        s.weight[0] = 1.0;
        int n_young = s.model.life_days > 0.0 ? s.model.n_young : 1;
        double least = 0.95 * 0.9 * pow(0.98, n_young);
        double missed = 1.0 - s.state.found[0];
        double want = 0.3 * least / (0.7 + 0.3 * missed);
        claim(chance_of(&s).one >= want * (1.0 - 1e-12), seed, "eggs of a treated colony");
        claim(want > 0.2, seed, "the bound itself says something");
    }
}

/* A founder can only age: waiting moves mass towards the last substage of the last generation,
 * never back. */
static void test_time_only_ages(void **unused)
{
    (void)unused;
    EACH_CASE(seed, 7000)
    {
        scene s = random_scene(seed, false);
        const fl_filter before = s.state;
        wait_some(&s);
        double young_before = 0.0;
        double young_after = 0.0;
        for (int i = 0; i < s.state.n; i++) {
            young_before += before.alive[i][0];
            young_after += s.state.alive[i][0];
            claim(young_after <= young_before + 1e-12, seed, "nothing grows younger");
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_masses_sum_to_one),
    cmocka_unit_test(test_waiting_changes_no_chance),
    cmocka_unit_test(test_joint_chance_never_rises),
    cmocka_unit_test(test_nothing_done_is_the_prior),
    cmocka_unit_test(test_perfect_detection_is_zero),
    cmocka_unit_test(test_colony_rule_is_never_nearly_clear),
    cmocka_unit_test(test_time_only_ages),
};
FL_TEST_MAIN(tests)
