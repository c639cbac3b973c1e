/* reckon light: lux, photons and the day's sum under a straight lamp. */
#include <math.h>

#include "cli/reckon.h"
#include "cli/unknown.h"
#include "core/light/lamp.h"
#include "core/light/light.h"

#define HOURS_DEFAULT 12.0

enum {
    LUMENS,
    STRIP,
    HEIGHT,
    ALONG,
    ACROSS,
    FACTOR,
    LAMP,
    TRANSMITTANCE,
    LID,
    HOURS,
    TUBE,
    OPTION_COUNT
};

static const fl_arg options[OPTION_COUNT] = {
    [LUMENS] = {"lumens", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 1e6,
                .help = "of the whole lamp"},
    [STRIP] = {"strip-mm", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 1e5,
               .help = "lit length; 0: a point"},
    [HEIGHT] = {"height-mm", FL_ARG_NUMBER, .is_required = true, .min = 1, .max = 1e5,
                .help = "lamp above the leaf"},
    [ALONG] = {"offset-along-mm", FL_ARG_NUMBER, .min = -1e6, .max = 1e6,
               .help = "leaf from below the lamp's middle, along the lamp"},
    [ACROSS] = {"offset-across-mm", FL_ARG_NUMBER, .min = -1e6, .max = 1e6,
                .help = "the same, across the lamp"},
    [FACTOR] = {"lux-per-umol", FL_ARG_NUMBER, .min = 10, .max = 200,
                .help = "of the lamp; 70, a white LED, if neither it nor --lamp is given"},
    [LAMP] = {"lamp", FL_ARG_TEXT, .help = "the lamp by name: white_led_4000k, sunlight, …"},
    [TRANSMITTANCE] = {"lid-transmittance", FL_ARG_NUMBER, .min = 0, .max = 1, .fallback = 1,
                       .help = "share that passes the lid; 1, no lid, if not given"},
    [LID] = {"lid", FL_ARG_TEXT, .help = "the lid by name: polypropylene, glass, …"},
    [HOURS] = {"hours", FL_ARG_NUMBER, .min = 0, .max = 24, .fallback = HOURS_DEFAULT,
               .help = "lit a day; 12 if not given"},
    [TUBE] = {"bare-tube", FL_ARG_FLAG, .help = "a tube without a reflector, lighting all round"},
};

static const char *lamp_code_at(size_t index)
{
    return fl_lamp_at(index).code;
}

static const char *lid_code_at(size_t index)
{
    return fl_lid_at(index).code;
}

/* The lamp's factor, and where it is from. */
static fl_status read_factor(const fl_arg_value *value, double *factor, fl_lamp *lamp, fl_err *err)
{
    size_t index = fl_lamp_find(FL_SV("white_led"));

    if (value[FACTOR].is_given && value[LAMP].is_given) {
        return fl_fail(err, FL_EINVAL, "--lux-per-umol and --lamp both: give one of them");
    }
    if (value[LAMP].is_given) {
        index = fl_lamp_find(value[LAMP].text);
        if (index == fl_lamp_count()) {
            return fl_cli_unknown(err, "lamp", value[LAMP].text, lamp_code_at, fl_lamp_count());
        }
    }
    if (value[FACTOR].is_given) {
        *lamp = (fl_lamp){.grade = "measured", .source = "as given"};
        *factor = value[FACTOR].number;
    } else {
        *lamp = fl_lamp_at(index);
        *factor = lamp->lux_per_umol;
    }
    return FL_OK;
}

static fl_status read_lid(const fl_arg_value *value, double *transmittance, fl_err *err)
{
    const size_t index = fl_lid_find(value[LID].text);
    fl_lid lid;

    *transmittance = value[TRANSMITTANCE].number;
    if (!value[LID].is_given) {
        return FL_OK;
    }
    if (value[TRANSMITTANCE].is_given) {
        return fl_fail(err, FL_EINVAL, "--lid-transmittance and --lid both: give one of them");
    }
    if (index == fl_lid_count()) {
        return fl_cli_unknown(err, "lid", value[LID].text, lid_code_at, fl_lid_count());
    }
    lid = fl_lid_at(index);
    if (isnan(lid.transmittance_low)) {
        return fl_fail(err, FL_EDOMAIN,
                       "lid %s: what it passes is not known; measure it and give "
                       "--lid-transmittance",
                       lid.code);
    }
    *transmittance = (lid.transmittance_low + lid.transmittance_high) / 2.0;
    return FL_OK;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_lamp lamp = {0};
    fl_light light = {0};
    fl_light_in in = {
        .strip = {.lumens = value[LUMENS].number,
                  .length_mm = value[STRIP].number,
                  .height_mm = value[HEIGHT].number,
                  .along_mm = value[ALONG].number,
                  .across_mm = value[ACROSS].number,
                  .kind = value[TUBE].is_given ? FL_STRIP_BARE_TUBE : FL_STRIP_DOWNLIGHT},
        .hours = value[HOURS].number};
    fl_status status = read_factor(value, &in.lux_per_umol, &lamp, err);

    if (status == FL_OK) {
        status = read_lid(value, &in.lid_transmittance, err);
    }
    if (status == FL_OK) {
        status = fl_light_of(&in, &light, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "lux", light.lux);
    fl_json_put_number(w, "ppfd_umol_m2_s", light.ppfd_umol_m2_s);
    fl_json_put_number(w, "dli_mol_m2_d", light.dli_mol_m2_d);
    fl_json_put_number(w, "lux_no_lid", light.lux_no_lid);
    fl_json_put_number(w, "lux_per_umol", in.lux_per_umol);
    fl_json_put_cstr(w, "lux_per_umol_grade", lamp.grade);
    fl_json_put_cstr(w, "lux_per_umol_source", lamp.source);
    fl_json_put_number(w, "lid_transmittance", in.lid_transmittance);
    fl_json_put_number(w, "hours", in.hours);
    fl_json_put_cstr(w, "note", "one clean lamp, no walls; a meter at the leaf beats this");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_light;
const fl_reckon_topic fl_reckon_topic_light = {
    .name = "light",
    .summary = "lux, PPFD and DLI at a leaf under a straight lamp",
    .example = "light --lumens 4000 --strip-mm 1200 --height-mm 300 --lid polypropylene --hours 12",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
