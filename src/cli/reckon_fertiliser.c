/* reckon fertiliser: salt washed out of a pot, and what is left in prills. */
#include <math.h>

#include "cli/reckon.h"
#include "core/residue/fertiliser.h"

enum { START, RINSE, POT, WATER, MONTHS, TEMP, DAYS, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [START] = {"start-ms-cm", FL_ARG_NUMBER, .help = "conductivity of what drains at first, mS/cm"},
    [RINSE] = {"rinse-ms-cm", FL_ARG_NUMBER, .max = 20, .help = "of the rinse water itself, mS/cm"},
    [POT] = {"pot-water-ml", FL_ARG_NUMBER, .help = "water that the drained pot holds, ml"},
    [WATER] = {"water-ml", FL_ARG_NUMBER, .help = "rinse water poured through, ml"},
    [MONTHS] = {"prill-months", FL_ARG_NUMBER, .help = "or: months on the prills' label"},
    [TEMP] = {"temp-c", FL_ARG_NUMBER, .help = "mean temperature since, C"},
    [DAYS] = {"days", FL_ARG_NUMBER, .help = "days since they were put in"},
};

static fl_status reckon_leach(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    const fl_leach leach = {.start_ms_cm = value[START].number,
                            .rinse_ms_cm = value[RINSE].is_given ? value[RINSE].number : 0.0,
                            .pot_water_ml = value[POT].number,
                            .water_ml = value[WATER].number};
    double left = 0.0;
    fl_status status = fl_leach_left_ms_cm(&leach, &left, err);
    if (status == FL_OK) {
        fl_json_put_number(w, "drains_ms_cm", left);
        fl_json_put_number(w, "above_the_water_ms_cm", left - leach.rinse_ms_cm);
        fl_json_put_cstr(
            w, "advice",
            "Measure what drains: within 0.2 mS/cm of the rinse water is a common aim, "
            "no more than that (no source). Water does not empty prills: pick them "
            "out.");
    }
    return status;
}

static fl_status reckon_prills(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    double left = 0.0;
    fl_status status =
        fl_prills_left(value[MONTHS].number, value[TEMP].number, value[DAYS].number, &left, err);
    if (status == FL_OK) {
        fl_json_put_number(w, "fraction_left", left);
        fl_json_put_cstr(
            w, "advice",
            "Pick prills out by hand when the old mix is stripped: in a warm enclosure "
            "they go on releasing, and ammonium is what harms tadpoles and frogs most.");
    }
    return status;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    bool is_leach = value[START].is_given && value[POT].is_given && value[WATER].is_given;
    bool is_prills = value[MONTHS].is_given && value[TEMP].is_given && value[DAYS].is_given;
    if (is_leach == is_prills) {
        return fl_fail(err, FL_EINVAL,
                       "give --start-ms-cm, --pot-water-ml and --water-ml for a pot, or "
                       "--prill-months, --temp-c and --days for prills");
    }
    return is_leach ? reckon_leach(value, w, err) : reckon_prills(value, w, err);
}

extern const fl_reckon_topic fl_reckon_topic_fertiliser;
const fl_reckon_topic fl_reckon_topic_fertiliser = {
    .name = "fertiliser",
    .summary = "salt washed out of a pot, or what is left in controlled-release prills",
    .example = "fertiliser --start-ms-cm 2.4 --rinse-ms-cm 0.2 --pot-water-ml 150 --water-ml 450",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
