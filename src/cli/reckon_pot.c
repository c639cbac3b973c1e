/* reckon pot: how much a round pot holds. */
#include "cli/reckon.h"
#include "core/mix/pot.h"

enum { TOP, BOTTOM, HEIGHT, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [TOP] = {"top-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
             .help = "inside diameter at the top"},
    [BOTTOM] = {"bottom-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
                .help = "inside diameter at the bottom"},
    [HEIGHT] = {"height-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
                .help = "inside height"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    double volume_ml = 0.0;
    fl_status status = fl_pot_volume(value[TOP].number, value[BOTTOM].number, value[HEIGHT].number,
                                     &volume_ml, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "volume_ml", volume_ml);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_pot;
const fl_reckon_topic fl_reckon_topic_pot = {
    .name = "pot",
    .summary = "the volume of a round pot to its brim",
    .example = "pot --top-mm 120 --bottom-mm 96 --height-mm 110",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
