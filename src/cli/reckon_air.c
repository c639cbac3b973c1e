/* reckon air: what a thermometer and a hygrometer say about the air. */
#include "cli/reckon.h"
#include "core/air/air.h"

enum { TEMP, HUMIDITY, LEAF, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [TEMP] = {"temp-c", FL_ARG_NUMBER, .is_required = true, .min = FL_AIR_TEMP_MIN_C,
              .max = FL_AIR_TEMP_MAX_C, .help = "air temperature"},
    [HUMIDITY] = {"rh-pct", FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 100,
                  .help = "relative humidity"},
    [LEAF] = {"leaf-temp-c", FL_ARG_NUMBER, .min = FL_AIR_TEMP_MIN_C, .max = FL_AIR_TEMP_MAX_C,
              .help = "leaf temperature, for the deficit at the leaf"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_air air = {0};
    double leaf_kpa = 0.0;
    fl_status status = fl_air_of(value[TEMP].number, value[HUMIDITY].number, &air, err);

    if (status == FL_OK && value[LEAF].is_given) {
        status = fl_air_leaf_deficit_kpa(&air, value[LEAF].number, &leaf_kpa, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "saturation_kpa", air.saturation_kpa);
    fl_json_put_number(w, "vapour_kpa", air.vapour_kpa);
    fl_json_put_number(w, "vpd_kpa", air.vpd_kpa);
    fl_json_put_number(w, "dew_point_c", air.dew_point_c);
    fl_json_put_number(w, "absolute_humidity_g_m3", air.absolute_humidity_g_m3);
    if (value[LEAF].is_given) {
        fl_json_put_number(w, "leaf_vpd_kpa", leaf_kpa);
    }
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_air;
const fl_reckon_topic fl_reckon_topic_air = {
    .name = "air",
    .summary = "vapour, deficit, dew point and water in the air",
    .example = "air --temp-c 23 --rh-pct 88",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
