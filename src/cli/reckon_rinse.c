/* reckon rinse: the chlorine left in each of a series of baths. */
#include "cli/reckon.h"
#include "core/dip/neutralise.h"

enum { CHLORINE, CARRY, BATH, RINSES, TAP, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [CHLORINE] = {"chlorine-mg-per-l", FL_ARG_NUMBER, .is_required = true,
                  .help = "of the liquid that clings to the plants, mg/L"},
    [CARRY] = {"carry-ml", FL_ARG_NUMBER, .is_required = true,
               .help = "liquid that clings (wet less blotted weight: 1 g is about 1 ml)"},
    [BATH] = {"bath-ml", FL_ARG_NUMBER, .is_required = true, .help = "water in each bath, ml"},
    [RINSES] = {"rinses", FL_ARG_INT, .is_required = true, .min = 1, .max = FL_RINSES_MAX,
                .help = "how many baths"},
    [TAP] = {"tap-mg-per-l", FL_ARG_NUMBER, .help = "chlorine in the tap water itself (0)"},
};

static void put_count(fl_json_writer *w, const char *key, const fl_rinse *rinse,
                      double target_mg_per_l)
{
    int count = -1;
    if (fl_rinse_count(rinse, target_mg_per_l, &count, NULL) != FL_OK || count < 0) {
        fl_json_put_null(w, key);
    } else {
        fl_json_put_int(w, key, count);
    }
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_rinse rinse = {.chlorine_mg_per_l = value[CHLORINE].number,
                      .carry_ml = value[CARRY].number,
                      .bath_ml = value[BATH].number,
                      .tap_mg_per_l = value[TAP].number,
                      .rinses = (int)value[RINSES].integer};
    double after_mg_per_l[FL_RINSES_MAX];
    fl_status status = fl_rinse_series(&rinse, after_mg_per_l, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_array(w, "after_mg_per_l");
    for (int i = 0; i < rinse.rinses; i++) {
        fl_json_put_number(w, NULL, after_mg_per_l[i]);
    }
    fl_json_end(w);
    put_count(w, "rinses_to_acute_criterion", &rinse, FL_CHLORINE_ACUTE_MG_PER_L);
    put_count(w, "rinses_to_chronic_criterion", &rinse, FL_CHLORINE_CHRONIC_MG_PER_L);
    fl_json_put_number(w, "acute_criterion_mg_per_l", FL_CHLORINE_ACUTE_MG_PER_L);
    fl_json_put_number(w, "chronic_criterion_mg_per_l", FL_CHLORINE_CHRONIC_MG_PER_L);
    fl_json_put_cstr(w, "note",
                     "Well mixed, free film only: roots, axils, cork and moss give more back "
                     "slowly. Neutralise, then test with a strip that reads zero.");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_rinse;
const fl_reckon_topic fl_reckon_topic_rinse = {
    .name = "rinse",
    .summary = "chlorine left after each of a series of rinses",
    .example = "rinse --chlorine-mg-per-l 3000 --carry-ml 20 --bath-ml 1000 --rinses 3",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
