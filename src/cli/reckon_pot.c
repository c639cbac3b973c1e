/* reckon pot: how much a pot holds. */
#include "cli/reckon.h"
#include "core/mix/pot.h"

enum { TOP, BOTTOM, HEIGHT, SQUARE, FILL, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [TOP] = {"top-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
             .help = "inside diameter or side at the top"},
    [BOTTOM] = {"bottom-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
                .help = "inside diameter or side at the bottom"},
    [HEIGHT] = {"height-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
                .help = "inside height"},
    [SQUARE] = {"square", FL_ARG_FLAG, .help = "a square pot: top and bottom are its sides"},
    [FILL] = {"fill-share", FL_ARG_NUMBER, .min = 0.01, .max = 1, .fallback = FL_POT_FILL_SHARE,
              .help = "how full it is filled; 0.9 if not given"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    double volume_ml = 0.0;
    fl_status (*const volume_of)(double, double, double, double *, fl_err *) =
        value[SQUARE].is_given ? fl_pot_square_volume : fl_pot_volume;
    fl_status status =
        volume_of(value[TOP].number, value[BOTTOM].number, value[HEIGHT].number, &volume_ml, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "volume_ml", volume_ml);
    fl_json_put_number(w, "fill_share", value[FILL].number);
    fl_json_put_number(w, "filled_ml", volume_ml * value[FILL].number);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_pot;
const fl_reckon_topic fl_reckon_topic_pot = {
    .name = "pot",
    .summary = "the volume of a pot to its brim, and filled",
    .example = "pot --top-mm 120 --bottom-mm 96 --height-mm 110",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
