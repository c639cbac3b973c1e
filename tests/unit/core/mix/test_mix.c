/* Mixes: recipes against the pages they were relayed on, arithmetic by hand, the sifting bound. */
#include <math.h>

#include "core/mix/mix.h"
#include "support/check.h"

static fl_mix_recipe recipe_of(const char *code)
{
    const size_t index = fl_mix_recipe_find(fl_sv_from_cstr(code));

    check_true(index < fl_mix_recipe_count());
    return fl_mix_recipe_at(index);
}

/* Source: terrariumtribe.com (sphagnum 1, tree fern 2, orchid bark 2, peat 1, charcoal 1; 7 in all)
 * and dendroboard.com thread 193969 (9, 7, 5 and 7 parts in all). */
static void test_recipes(void **state)
{
    static const struct {
        const char *code;
        size_t n_parts;
        double sum;
    } rows[] = {{"epiphyte", 5, 7.0},  {"epiphyte_fine", 5, 9.0}, {"epiphyte_basic", 4, 7.0},
                {"gesneriad", 3, 5.0}, {"begonia", 2, 7.0},       {"house_pot", 3, 4.0},
                {"bin_open", 2, 2.0}};
    (void)state;

    check_int(fl_mix_recipe_count(), 7);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const fl_mix_recipe recipe = recipe_of(rows[i].code);
        double sum = 0.0;
        for (size_t j = 0; j < recipe.n_parts; j++) {
            check_true(recipe.parts[j] > 0.0 && recipe.component[j][0] != '\0');
            sum += recipe.parts[j];
        }
        check_int(recipe.n_parts, rows[i].n_parts);
        check_close(sum, rows[i].sum, 0.0, 0.0);
        check_str(recipe.grade, "practice");
        check_true(recipe.source[0] != '\0' && recipe.name[0] != '\0');
    }
    check_str(recipe_of("Epiphyte").component[1], "tree-fern fibre");
    check_close(recipe_of("epiphyte").parts[1], 2.0, 0.0, 0.0);
    check_int(fl_mix_recipe_find(FL_SV("soil")), fl_mix_recipe_count());
}

/* By hand: 7 litres of the 7-part mix at yield 1 are 1, 2, 2, 1, 1 litres; at yield 0.875 they are
 * 8 litres loose, an eighth of which vanishes. */
static void test_plan(void **state)
{
    const fl_mix_recipe recipe = recipe_of("epiphyte");
    static const double litres[] = {1.0, 2.0, 2.0, 1.0, 1.0};
    fl_mix_plan plan = {0};
    fl_err err = {0};
    (void)state;

    check_ok(fl_mix_plan_of(&recipe, 7.0, 1.0, &plan, &err), &err);
    for (size_t i = 0; i < 5; i++) {
        check_close(plan.volume_l[i], litres[i], 1e-15, 0.0);
    }
    check_close(plan.shrinkage, 0.0, 0.0, 0.0);
    check_ok(fl_mix_plan_of(&recipe, 7.0, FL_MIX_YIELD_DEFAULT, &plan, &err), &err);
    check_close(plan.loose_l, 8.0, 1e-15, 0.0);
    check_close(plan.shrinkage, 0.125, 1e-15, 0.0);
    check_close(plan.loose_l * (1.0 - plan.shrinkage), 7.0, 1e-15, 0.0);
    check_close(plan.volume_l[2] / plan.volume_l[0], 2.0, 1e-15, 0.0);
}

/* Source: light-climate-substrate 3.2, geometry: gaps of 45 % just filled give 1 / 1.45 = 0.69. */
static void test_least_yield(void **state)
{
    (void)state;
    check_close(fl_mix_least_yield(1.0, 0.45, 0.45), 1.0 / 1.45, 1e-15, 0.0);
    check_close(fl_mix_least_yield(1.0, 0.45, 0.45), 0.69, 0.0, 0.005);
    check_close(fl_mix_least_yield(1.0, 0.0, 0.45), 1.0, 0.0, 0.0);
    check_close(fl_mix_least_yield(0.0, 1.0, 0.45), 1.0, 0.0, 0.0);
    /* worst where the gaps are just full */
    for (double fine_l = 0.0; fine_l < 2.0; fine_l += 0.05) {
        check_true(fl_mix_least_yield(1.0, fine_l, 0.45) >= 1.0 / 1.45 - 1e-15);
    }
    check_true(1.0 / 1.45 > FL_MIX_YIELD_MIN && 1.0 / 1.45 < FL_MIX_YIELD_DEFAULT);
}

static void test_bad_values(void **state)
{
    const fl_mix_recipe recipe = recipe_of("begonia");
    fl_mix_plan plan = {.loose_l = 5.0};
    fl_err err = {0};
    (void)state;

    check_int(fl_mix_plan_of(&recipe, 0.0, 0.9, &plan, &err), FL_EDOMAIN);
    check_contains(err.message, "total 0 l");
    check_int(fl_mix_plan_of(&recipe, NAN, 0.9, &plan, &err), FL_EDOMAIN);
    check_int(fl_mix_plan_of(&recipe, 1.0, 0.4, &plan, &err), FL_EDOMAIN);
    check_contains(err.message, "yield 0.4: give 0.5 to 1");
    check_int(fl_mix_plan_of(&recipe, 1.0, 1.1, &plan, &err), FL_EDOMAIN);
    check_close(plan.loose_l, 5.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_recipes),
    cmocka_unit_test(test_plan),
    cmocka_unit_test(test_least_yield),
    cmocka_unit_test(test_bad_values),
};
FL_TEST_MAIN(tests)
