/* reckon bleach: what to mix, from the bottle's label and age, and what will be in the tub. */
#include <math.h>

#include "cli/reckon.h"
#include "core/dip/bleach.h"
#include "core/dip/safety.h"
#include "core/dip/volume.h"

enum {
    LABEL_PCT,
    PARTS_PRODUCT,
    PARTS_WATER,
    RATIO,
    TARGET,
    TOTAL_ML,
    TOTAL_US_GAL,
    TOTAL_US_FL_OZ,
    GRAVITY,
    AGE_DAYS,
    STORE_C,
    PRODUCT,
    STRIP,
    STRIP_PRODUCT,
    STRIP_WATER,
    OPTION_COUNT
};

static const fl_arg options[OPTION_COUNT] = {
    [LABEL_PCT] = {"label-pct", FL_ARG_NUMBER, .is_required = true,
                   .help = "sodium hypochlorite on the label, % by weight, 0.5 to 15"},
    [PARTS_PRODUCT] = {"parts-product", FL_ARG_NUMBER, .help = "parts of bleach"},
    [PARTS_WATER] = {"parts-water", FL_ARG_NUMBER, .help = "parts of water beside them"},
    [RATIO] = {"ratio", FL_ARG_TEXT,
               .help = "the same as text: 1+19, \"1 in 20\", or 5 % (by volume)"},
    [TARGET] = {"target-mg-per-l", FL_ARG_NUMBER,
                .help = "instead of parts: available chlorine wanted, mg/L"},
    [TOTAL_ML] = {"total-ml", FL_ARG_NUMBER, .help = "volume of the finished dip, ml"},
    [TOTAL_US_GAL] = {"total-us-gal", FL_ARG_NUMBER, .help = "the same in US gallons"},
    [TOTAL_US_FL_OZ] = {"total-us-fl-oz", FL_ARG_NUMBER, .help = "the same in US fluid ounces"},
    [GRAVITY] = {"specific-gravity", FL_ARG_NUMBER,
                 .help = "from the safety sheet; else 1 + 0.0142 x label %"},
    [AGE_DAYS] = {"age-days", FL_ARG_NUMBER, .help = "days since the bottle was made or bought"},
    [STORE_C] = {"store-c", FL_ARG_NUMBER,
                 .help = "mean temperature it stood at, C (with --age-days)"},
    [PRODUCT] = {"product", FL_ARG_TEXT, .choices = "plain|scented|gel|splashless",
                 .help = "kind of bleach; only plain may be used"},
    [STRIP] = {"strip-mg-per-l", FL_ARG_NUMBER,
               .help = "a test strip's reading of chlorine; overrides label and age"},
    [STRIP_PRODUCT] = {"strip-parts-product", FL_ARG_NUMBER,
                       .help = "how the bleach was thinned for the strip"},
    [STRIP_WATER] = {"strip-parts-water", FL_ARG_NUMBER,
                     .help = "(without both: the reading is of the dip itself)"},
};

/* The option's number; NAN when it was not given. */
static double number_or_nan(const fl_arg_value *value)
{
    return value->is_given ? value->number : (double)NAN;
}

static fl_status read_amount(const fl_arg_value *value, fl_bleach_request *r, fl_err *err)
{
    bool has_parts = value[PARTS_PRODUCT].is_given || value[PARTS_WATER].is_given;
    bool has_target = value[TARGET].is_given;
    if ((int)has_parts + (int)value[RATIO].is_given + (int)has_target != 1) {
        return fl_fail(err, FL_EINVAL,
                       "give one of --parts-product with --parts-water, --ratio 1+19, or "
                       "--target-mg-per-l");
    }
    if (has_target) {
        r->target_mg_per_l = value[TARGET].number;
        return FL_OK;
    }
    if (value[RATIO].is_given) {
        return fl_parts_parse(value[RATIO].text, &r->parts, err);
    }
    if (!value[PARTS_PRODUCT].is_given || !value[PARTS_WATER].is_given) {
        return fl_fail(err, FL_EINVAL, "give both --parts-product and --parts-water");
    }
    r->parts = (fl_parts){value[PARTS_PRODUCT].number, value[PARTS_WATER].number};
    return FL_OK;
}

static fl_status read_total(const fl_arg_value *value, fl_bleach_request *r, fl_err *err)
{
    if ((int)value[TOTAL_ML].is_given + (int)value[TOTAL_US_GAL].is_given +
            (int)value[TOTAL_US_FL_OZ].is_given !=
        1) {
        return fl_fail(err, FL_EINVAL,
                       "give one of --total-ml, --total-us-gal and --total-us-fl-oz");
    }
    if (value[TOTAL_ML].is_given) {
        r->total_ml = value[TOTAL_ML].number;
    } else if (value[TOTAL_US_GAL].is_given) {
        r->total_ml = fl_volume_us_gal_to_ml(value[TOTAL_US_GAL].number);
    } else {
        r->total_ml = fl_volume_us_fl_oz_to_ml(value[TOTAL_US_FL_OZ].number);
    }
    return FL_OK;
}

static fl_status read_strip(const fl_arg_value *value, fl_bleach_request *r, fl_err *err)
{
    r->strip.reading_mg_per_l = number_or_nan(&value[STRIP]);
    bool has_product = value[STRIP_PRODUCT].is_given;
    bool has_water = value[STRIP_WATER].is_given;
    if (has_product != has_water || (has_product && !value[STRIP].is_given)) {
        return fl_fail(err, FL_EINVAL,
                       "--strip-mg-per-l, --strip-parts-product and --strip-parts-water go "
                       "together");
    }
    if (has_product) {
        r->strip.parts = (fl_parts){value[STRIP_PRODUCT].number, value[STRIP_WATER].number};
    } else if (value[STRIP].is_given && value[TARGET].is_given) {
        return fl_fail(err, FL_EINVAL,
                       "--strip-mg-per-l with a target: say how the bleach was thinned for it "
                       "(--strip-parts-product, --strip-parts-water)");
    } else {
        r->strip.parts = r->parts;
    }
    return FL_OK;
}

static fl_status read_request(const fl_arg_value *value, fl_bleach_request *r, fl_err *err)
{
    *r = (fl_bleach_request){.bottle = fl_bleach_bottle_of(value[LABEL_PCT].number),
                             .target_mg_per_l = (double)NAN};
    r->bottle.specific_gravity = number_or_nan(&value[GRAVITY]);
    r->bottle.age_days = number_or_nan(&value[AGE_DAYS]);
    r->bottle.store_c = number_or_nan(&value[STORE_C]);
    if (value[PRODUCT].is_given) {
        r->bottle.product = (fl_bleach_product)value[PRODUCT].choice;
    }
    fl_status status = read_amount(value, r, err);
    if (status == FL_OK) {
        status = read_total(value, r, err);
    }
    if (status == FL_OK) {
        status = read_strip(value, r, err);
    }
    return status;
}

static void put_mix(const fl_bleach_mix *mix, fl_json_writer *w)
{
    fl_json_put_number(w, "product_ml", mix->product_ml);
    fl_json_put_number(w, "water_ml", mix->water_ml);
    fl_json_put_number(w, "product_us_fl_oz", fl_volume_ml_to_us_fl_oz(mix->product_ml));
    fl_json_put_number(w, "water_us_gal", fl_volume_ml_to_us_gal(mix->water_ml));
    fl_json_put_number(w, "chlorine_mg_per_l", mix->chlorine_mg_per_l);
    fl_json_put_number(w, "chlorine_low_mg_per_l", mix->chlorine_low_mg_per_l);
    fl_json_put_number(w, "chlorine_high_mg_per_l", mix->chlorine_high_mg_per_l);
    fl_json_put_number(w, "chlorine_simple_mg_per_l", mix->chlorine_simple_mg_per_l);
    fl_json_put_number(w, "naocl_mg_per_l", mix->naocl_mg_per_l);
    fl_json_put_number(w, "product_pct_by_volume", mix->product_pct_by_volume);
    fl_json_put_number(w, "specific_gravity", mix->specific_gravity);
    fl_json_put_number(w, "strength_now_pct", mix->strength.now_pct);
    fl_json_put_number(w, "strength_now_low_pct", mix->strength.low_pct);
    fl_json_put_number(w, "strength_now_high_pct", mix->strength.high_pct);
    fl_json_put_bool(w, "is_measured", mix->strength.is_measured);
    fl_json_put_bool(w, "should_replace", mix->strength.should_replace);
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_bleach_request request;
    fl_bleach_mix mix;
    fl_status status = read_request(value, &request, err);
    if (status == FL_OK) {
        status = fl_bleach_plan(&request, &mix, err);
    }
    if (status != FL_OK) {
        return status;
    }
    put_mix(&mix, w);
    fl_caution caution[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(FL_AGENT_BLEACH, fl_bleach_occasions(&mix), caution);
    fl_json_begin_array(w, "cautions");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_cstr(w, NULL, caution[i].text);
    }
    fl_json_end(w);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_bleach;
const fl_reckon_topic fl_reckon_topic_bleach = {
    .name = "bleach",
    .summary = "a bleach dip: volumes, chlorine, and today's strength of the bottle",
    .example = "bleach --label-pct 6 --parts-product 1 --parts-water 19 --total-ml 4000 "
               "--age-days 120 --store-c 22",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
