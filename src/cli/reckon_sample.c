/* reckon sample: how many plants of a lot to examine (ISPM 31). */
#include "cli/reckon.h"
#include "core/sample/sample.h"

enum { LOT, LEVEL, CONFIDENCE, EFFICACY, METHOD, ROUND, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [LOT] = {"lot", FL_ARG_INT, .is_required = true, .min = 1, .max = FL_SAMPLE_LOT_MAX,
             .help = "plants in the lot"},
    [LEVEL] = {"level", FL_ARG_NUMBER, .is_required = true, .min = 1e-9, .max = 1,
               .help = "level of detection: infested share, 0.05 for 5 %"},
    [CONFIDENCE] = {"confidence", FL_ARG_NUMBER, .is_required = true, .min = 0, .max = 1,
                    .help = "wanted chance of seeing one, 0.95 for 95 %"},
    [EFFICACY] = {"efficacy", FL_ARG_NUMBER, .min = 1e-6, .max = 1, .fallback = 1,
                  .help = "chance that an examined infested plant is seen; 1 if not given"},
    [METHOD] = {"method", FL_ARG_TEXT, .is_required = true, .choices = "hypergeometric|binomial",
                .help = "how the sample is drawn"},
    [ROUND] = {"round", FL_ARG_TEXT, .choices = "floor|ceil",
               .help = "level times lot, when not whole; floor, the standard's, if not given"},
};

/* Why there is no sample size, for a person. */
static const char *reason_text(fl_sample_reason reason)
{
    switch (reason) {
    case FL_SAMPLE_UNDER_ONE_PLANT:
        return "the level is less than one plant of this lot; design for one plant instead";
    case FL_SAMPLE_EFFICACY_TOO_LOW:
        return "even examining every plant does not reach this confidence; look again later";
    case FL_SAMPLE_ATTAINABLE:
    default:
        return "";
    }
}

static void put_size(const fl_sample_size *size, fl_json_writer *w)
{
    if (size->reason == FL_SAMPLE_ATTAINABLE) {
        fl_json_put_int(w, "sample_size", size->sample_size);
        fl_json_put_number(w, "confidence_reached", size->prob_reached);
        return;
    }
    fl_json_put_null(w, "sample_size");
    fl_json_put_cstr(w, "reason", reason_text(size->reason));
    if (size->reason == FL_SAMPLE_EFFICACY_TOO_LOW) {
        fl_json_put_number(w, "confidence_reached", size->prob_reached);
    }
}

static void put_design(const fl_sample_size *size, fl_json_writer *w)
{
    fl_json_put_int(w, "infested_plants", size->infested_plants);
    fl_json_put_bool(w, "is_rounded", size->is_rounded);
    if (size->is_under_one_plant && size->size_for_one > 0) {
        fl_json_put_int(w, "sample_size_for_one_plant", size->size_for_one);
    } else if (size->is_under_one_plant) {
        fl_json_put_null(w, "sample_size_for_one_plant");
    }
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    const fl_sample_design design = {
        .lot_size = value[LOT].integer,
        .frac_level = value[LEVEL].number,
        .prob_confidence = value[CONFIDENCE].number,
        .prob_efficacy = value[EFFICACY].number,
        .method = value[METHOD].choice == 1 ? FL_SAMPLE_BINOMIAL : FL_SAMPLE_HYPERGEOMETRIC,
        .rounding = value[ROUND].choice == 1 ? FL_SAMPLE_CEIL : FL_SAMPLE_FLOOR,
    };
    fl_sample_size size = {0};
    const fl_status status = fl_sample_size_of(&design, &size, err);

    if (status != FL_OK) {
        return status;
    }
    put_size(&size, w);
    if (design.method == FL_SAMPLE_HYPERGEOMETRIC) {
        put_design(&size, w);
    }
    if (size.exceeds_lot) {
        fl_json_put_cstr(w, "note", "more than the lot holds: use --method hypergeometric");
    } else if (size.is_under_one_plant) {
        fl_json_put_cstr(w, "note", "the level is less than one plant of this lot");
    }
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_sample;
const fl_reckon_topic fl_reckon_topic_sample = {
    .name = "sample",
    .summary = "how many plants of a lot to examine (ISPM 31)",
    .example = "sample --lot 200 --level 0.05 --confidence 0.95 --method hypergeometric",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
