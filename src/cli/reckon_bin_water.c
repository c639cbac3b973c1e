/* reckon bin-water: how long the water of a closed bin lasts. */
#include <math.h>

#include "cli/reckon.h"
#include "cli/unknown.h"
#include "core/air/air.h"
#include "core/air/water.h"
#include "core/light/lamp.h"

enum {
    VOLUME,
    INSIDE,
    INSIDE_RH,
    ROOM,
    ROOM_RH,
    EXCHANGE,
    MIX,
    WATER,
    USE,
    WALL,
    WALL_AREA,
    WALL_MM,
    OPTION_COUNT
};

#define TEMP(option_name, text)                                                                    \
    {                                                                                              \
        option_name, FL_ARG_NUMBER, .is_required = true, .min = FL_AIR_TEMP_MIN_C,                 \
                                    .max = FL_AIR_TEMP_MAX_C, .help = (text)                       \
    }
#define HUMIDITY(option_name, text)                                                                \
    {                                                                                              \
        option_name, FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 100, .help = (text)  \
    }

static const fl_arg options[OPTION_COUNT] = {
    [VOLUME] = {"volume-l", FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 10000,
                .help = "air in the bin"},
    [INSIDE] = TEMP("inside-c", "temperature inside"),
    [INSIDE_RH] = HUMIDITY("inside-rh-pct", "relative humidity inside"),
    [ROOM] = TEMP("room-c", "temperature of the room"),
    [ROOM_RH] = HUMIDITY("room-rh-pct", "relative humidity of the room"),
    [EXCHANGE] = {"exchange-per-h", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 100,
                  .help = "air changes an hour; gasketed vessels have 0.0145 to 0.0376"},
    [MIX] = {"mix-l", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 10000,
             .help = "volume of the mix"},
    [WATER] = {"water-fraction", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 1,
               .help = "share of the mix's volume that is water"},
    [USE] = {"use-share", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 1,
             .help = "share of that water that may go"},
    [WALL] = {"wall", FL_ARG_TEXT,
              .help = "what the walls are made of (polypropylene, …), to "
                      "count what passes them"},
    [WALL_AREA] = {"wall-area-m2", FL_ARG_NUMBER, .min = 0.0001, .max = 100,
                   .help = "area of walls and lid, with --wall"},
    [WALL_MM] = {"wall-mm", FL_ARG_NUMBER, .min = 0.001, .max = 1000,
                 .help = "thickness of the walls, with --wall"},
};

static const char *code_at(size_t index)
{
    return fl_lid_at(index).code;
}

/* The walls count when all three of their options are given; none is fine too. */
static fl_status read_wall(const fl_arg_value *value, fl_bin_water_in *in, fl_err *err)
{
    const size_t lid = fl_lid_find(value[WALL].text);

    if (!value[WALL].is_given && !value[WALL_AREA].is_given && !value[WALL_MM].is_given) {
        return FL_OK;
    }
    if (!value[WALL].is_given || !value[WALL_AREA].is_given || !value[WALL_MM].is_given) {
        return fl_fail(err, FL_EINVAL, "walls need --wall, --wall-area-m2 and --wall-mm together");
    }
    if (lid == fl_lid_count()) {
        return fl_cli_unknown(err, "wall", value[WALL].text, code_at, fl_lid_count());
    }
    in->wall_g_mm_per_m2_d_kpa = fl_lid_at(lid).wall_high_g_mm_per_m2_d_kpa;
    if (isnan(in->wall_g_mm_per_m2_d_kpa)) {
        return fl_fail(err, FL_EDOMAIN, "wall %s: its permeability is not known; leave --wall out",
                       fl_lid_at(lid).code);
    }
    in->wall_area_m2 = value[WALL_AREA].number;
    in->wall_mm = value[WALL_MM].number;
    return FL_OK;
}

static void put_days(const fl_bin_water *water, fl_json_writer *w)
{
    if (water->loses_water) {
        fl_json_put_number(w, "days_to_water", water->days_to_water);
    } else {
        fl_json_put_null(w, "days_to_water");
        fl_json_put_cstr(w, "reason", "the bin loses no water to this room");
    }
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_bin_water_in in = {
        .volume_l = value[VOLUME].number,
        .inside_c = value[INSIDE].number,
        .inside_rh_pct = value[INSIDE_RH].number,
        .room_c = value[ROOM].number,
        .room_rh_pct = value[ROOM_RH].number,
        .exchange_per_h = value[EXCHANGE].number,
        .mix_l = value[MIX].number,
        .water_fraction = value[WATER].number,
        .use_share = value[USE].number,
    };
    fl_bin_water water = {0};
    fl_status status = read_wall(value, &in, err);

    if (status == FL_OK) {
        status = fl_bin_water_of(&in, &water, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "loss_g_per_day", water.loss_g_per_day);
    put_days(&water, w);
    fl_json_put_number(w, "leak_g_per_day", water.leak_g_per_day);
    fl_json_put_number(w, "wall_g_per_day", water.wall_g_per_day);
    fl_json_put_number(w, "usable_g", water.usable_g);
    fl_json_put_cstr(w, "note", "lid closed throughout; weigh the bin for a week to find its leak");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_bin_water;
const fl_reckon_topic fl_reckon_topic_bin_water = {
    .name = "bin-water",
    .summary = "the water a closed bin loses, and for how long it lasts",
    .example = "bin-water --volume-l 30 --inside-c 24 --inside-rh-pct 95 --room-c 22 "
               "--room-rh-pct 45 --exchange-per-h 0.03 --mix-l 2 --water-fraction 0.6 "
               "--use-share 0.2",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
