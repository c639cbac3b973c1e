/* reckon first-water: the first watering of fresh mix. */
#include "cli/reckon.h"
#include "core/mix/watering.h"

enum { MIX, CAPACITY, NOW, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [MIX] = {"mix-l", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 10000,
             .help = "litres of mix"},
    [CAPACITY] = {"capacity", FL_ARG_NUMBER, .min = 0, .max = 1,
                  .fallback = FL_WATER_CAPACITY_DEFAULT,
                  .help = "water by volume after draining; 0.60, good to a quarter, if not given"},
    [NOW] = {"water-fraction", FL_ARG_NUMBER, .min = 0, .max = 1,
             .help = "water by volume as it is; 0, dry, if not given"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_first_water water;
    fl_status status = fl_first_water_of(value[MIX].number, value[CAPACITY].number,
                                         value[NOW].number, &water, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "to_capacity_ml", water.to_capacity_ml);
    fl_json_put_number(w, "closed_low_ml", water.closed_low_ml);
    fl_json_put_number(w, "closed_high_ml", water.closed_high_ml);
    fl_json_put_cstr(
        w, "note",
        "a pot drains: to capacity; a box that stays closed does not: 60 to 70 % of it "
        "(from memory); then feel the mix at each look");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_first_water;
const fl_reckon_topic fl_reckon_topic_first_water = {
    .name = "first-water",
    .summary = "how much water fresh mix takes, in a pot and in a closed box",
    .example = "first-water --mix-l 2 --water-fraction 0.1",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
