/* reckon layer: pebbles or clay balls under a mix, or gravel on top of it. */
#include "cli/reckon.h"
#include "core/mix/watering.h"

enum { LENGTH, WIDTH, DEPTH, GAPS, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [LENGTH] = {"length-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
                .help = "inside length"},
    [WIDTH] = {"width-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 10000,
               .help = "inside width"},
    [DEPTH] = {"depth-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 1000,
               .help = "of the layer"},
    [GAPS] = {"gaps", FL_ARG_NUMBER, .min = 0, .max = 1, .fallback = FL_LAYER_VOID_DEFAULT,
              .help = "share of gaps; 0.40, random packing, if not given"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_layer layer;
    fl_status status = fl_layer_of(value[LENGTH].number, value[WIDTH].number, value[DEPTH].number,
                                   value[GAPS].number, &layer, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "volume_l", layer.volume_l);
    fl_json_put_number(w, "water_l", layer.water_l);
    fl_json_put_number(w, "gaps", value[GAPS].number);
    fl_json_put_cstr(w, "note",
                     "under a mix: water above this wicks up; in a pot it only lifts the wet part. "
                     "On top, 1 to 2 cm of gravel against gnats on house plants: common practice, "
                     "no source");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_layer;
const fl_reckon_topic fl_reckon_topic_layer = {
    .name = "layer",
    .summary = "a drainage layer or a gravel top dressing: what to buy, what water it takes",
    .example = "layer --length-mm 400 --width-mm 300 --depth-mm 30",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
