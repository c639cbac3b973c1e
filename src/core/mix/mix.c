/* Recipes out of the compiled table, and their arithmetic. */
#include "core/mix/mix.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "data/mix_recipes.h"

#define TOTAL_L_MAX 100000.0

/* Rows of one recipe stand together: a recipe begins where the code changes. */
static bool begins_recipe(size_t row)
{
    return row == 0 ||
           strcmp(fl_rows_mix_recipes[row].recipe, fl_rows_mix_recipes[row - 1].recipe) != 0;
}

size_t fl_mix_recipe_count(void)
{
    size_t count = 0;

    for (size_t row = 0; row < fl_rows_mix_recipes_count; row++) {
        count += begins_recipe(row) ? 1 : 0;
    }
    return count;
}

fl_mix_recipe fl_mix_recipe_at(size_t index)
{
    fl_mix_recipe out = {0};
    size_t seen = 0;

    assert(index < fl_mix_recipe_count());
    for (size_t row = 0; row < fl_rows_mix_recipes_count; row++) {
        seen += begins_recipe(row) ? 1 : 0;
        if (seen == index + 1) {
            assert(out.n_parts < FL_MIX_PARTS_MAX);
            out.code = fl_rows_mix_recipes[row].recipe;
            out.name = fl_rows_mix_recipes[row].name;
            out.grade = fl_rows_mix_recipes[row].grade;
            out.source = fl_rows_mix_recipes[row].source;
            out.component[out.n_parts] = fl_rows_mix_recipes[row].component;
            out.parts[out.n_parts] = fl_rows_mix_recipes[row].parts;
            out.n_parts++;
        }
    }
    return out;
}

size_t fl_mix_recipe_find(fl_sv code)
{
    const size_t count = fl_mix_recipe_count();
    size_t i = 0;

    while (i < count && !fl_sv_eq_nocase(code, fl_sv_from_cstr(fl_mix_recipe_at(i).code))) {
        i++;
    }
    return i;
}

fl_status fl_mix_plan_of(const fl_mix_recipe *recipe, double total_l, double yield,
                         fl_mix_plan *out, fl_err *err)
{
    fl_mix_plan plan = {.shrinkage = 1.0 - yield};
    double sum = 0.0;

    if (!(total_l > 0.0 && total_l <= TOTAL_L_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "total %g l: give above 0 to %g", total_l, TOTAL_L_MAX);
    }
    if (!(yield >= FL_MIX_YIELD_MIN && yield <= 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "yield %g: give %g to 1", yield, FL_MIX_YIELD_MIN);
    }
    assert(recipe->n_parts >= 1);
    for (size_t i = 0; i < recipe->n_parts; i++) {
        assert(recipe->parts[i] > 0.0);
        sum += recipe->parts[i];
    }
    for (size_t i = 0; i < recipe->n_parts; i++) {
        plan.volume_l[i] = total_l * recipe->parts[i] / sum / yield;
        plan.loose_l += plan.volume_l[i];
    }
    *out = plan;
    return FL_OK;
}

double fl_mix_least_yield(double coarse_l, double fine_l, double frac_void)
{
    assert(coarse_l >= 0.0 && fine_l >= 0.0 && coarse_l + fine_l > 0.0);
    assert(frac_void >= 0.0 && frac_void <= 1.0);
    return fmax(coarse_l, coarse_l * (1.0 - frac_void) + fine_l) / (coarse_l + fine_l);
}
