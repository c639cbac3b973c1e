/* reckon mix: what to measure out for a potting mix. */
#include "cli/reckon.h"
#include "cli/unknown.h"
#include "core/mix/mix.h"

enum { RECIPE, TOTAL, YIELD, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [RECIPE] = {"recipe", FL_ARG_TEXT, .is_required = true,
                .help = "epiphyte, epiphyte_fine, epiphyte_basic, gesneriad or begonia"},
    [TOTAL] = {"total-l", FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 100000,
               .help = "finished loose mix"},
    [YIELD] = {"yield", FL_ARG_NUMBER, .min = FL_MIX_YIELD_MIN, .max = 1,
               .fallback = FL_MIX_YIELD_DEFAULT,
               .help = "finished over loose volume; 0.875, a guess, if not given"},
};

static const char *code_at(size_t index)
{
    return fl_mix_recipe_at(index).code;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    const size_t index = fl_mix_recipe_find(value[RECIPE].text);
    fl_mix_recipe recipe;
    fl_mix_plan plan = {.loose_l = 0.0};
    fl_status status;

    if (index == fl_mix_recipe_count()) {
        return fl_cli_unknown(err, "recipe", value[RECIPE].text, code_at, fl_mix_recipe_count());
    }
    recipe = fl_mix_recipe_at(index);
    status = fl_mix_plan_of(&recipe, value[TOTAL].number, value[YIELD].number, &plan, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_cstr(w, "recipe", recipe.code);
    fl_json_put_cstr(w, "name", recipe.name);
    fl_json_begin_array(w, "parts");
    for (size_t i = 0; i < recipe.n_parts; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "component", recipe.component[i]);
        fl_json_put_number(w, "volume_l", plan.volume_l[i]);
        fl_json_put_number(w, "parts", recipe.parts[i]);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_put_number(w, "total_l", value[TOTAL].number);
    fl_json_put_number(w, "loose_l", plan.loose_l);
    fl_json_put_number(w, "shrinkage", plan.shrinkage);
    fl_json_put_cstr(w, "shrinkage_grade", value[YIELD].is_given ? "measured" : "assumed");
    fl_json_put_cstr(w, "grade", recipe.grade);
    fl_json_put_cstr(w, "source", recipe.source);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_mix;
const fl_reckon_topic fl_reckon_topic_mix = {
    .name = "mix",
    .summary = "what to measure out for a potting mix",
    .example = "mix --recipe epiphyte --total-l 6",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
