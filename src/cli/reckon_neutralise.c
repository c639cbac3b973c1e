/* reckon neutralise: how much thiosulfate takes the chlorine out of a volume. */
#include "cli/reckon.h"
#include "core/dip/neutralise.h"
#include "core/dip/safety.h"

enum { CHLORINE, VOLUME, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [CHLORINE] = {"chlorine-mg-per-l", FL_ARG_NUMBER, .is_required = true,
                  .help = "available chlorine in it, strict (reckon bleach), mg/L"},
    [VOLUME] = {"volume-l", FL_ARG_NUMBER, .is_required = true,
                .help = "what is carried over into the bath, or the spent dip itself, L"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_thiosulfate_dose dose;
    fl_status status =
        fl_thiosulfate_plan(value[CHLORINE].number, value[VOLUME].number, &dose, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "thiosulfate_pentahydrate_mg", dose.planned_mg);
    fl_json_put_number(w, "low_mg", dose.low_mg);
    fl_json_put_number(w, "high_mg", dose.high_mg);
    fl_json_put_number(w, "chlorine_mg", value[CHLORINE].number * value[VOLUME].number);
    fl_caution caution[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(FL_AGENT_THIOSULFATE, 0u, caution);
    fl_json_begin_array(w, "cautions");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_cstr(w, NULL, caution[i].text);
    }
    fl_json_end(w);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_neutralise;
const fl_reckon_topic fl_reckon_topic_neutralise = {
    .name = "neutralise",
    .summary = "sodium thiosulfate pentahydrate for the chlorine in a volume",
    .example = "neutralise --chlorine-mg-per-l 3100 --volume-l 0.02",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
