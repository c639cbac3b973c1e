/* Bleach arithmetic and the loss of strength in storage. */
#include "core/dip/bleach.h"

#include <math.h>

#define GAS_CONSTANT 8.314 /* J/(mol K), as Adam and Gordon's constants were fitted with */
#define KELVIN 273.15
#define DAY_S 86400.0

/* Opened spray bottles of 0.5 % lost 6 to 7 % in 5 to 6 weeks (S15). At that strength the
 * second-order loss is nil, so all of it is put on opening, light and use: ln(1/0.93) / 35 d. */
#define OPENED_LOSS_PER_DAY 0.002073
#define RATE_MIDDLE 1.3
#define RATE_LOW 1.5
#define STRIP_SPREAD 0.25

#define REPLACE_RATIO 1.5
#define REPLACE_SHARE 0.5

#define MODEL_MOL_MIN 0.7
#define MODEL_MOL_MAX 3.0
#define MODEL_TEMP_MIN_C 15.0
#define STORE_TEMP_MAX_C 55.0
#define AGE_MAX_DAYS 3650.0

fl_bleach_bottle fl_bleach_bottle_of(double label_pct)
{
    return (fl_bleach_bottle){.label_pct = label_pct,
                              .specific_gravity = (double)NAN,
                              .age_days = (double)NAN,
                              .store_c = (double)NAN,
                              .product = FL_BLEACH_PLAIN};
}

double fl_bleach_gravity_of(double label_pct)
{
    return 1.0 + 0.0142 * label_pct;
}

double fl_bleach_chlorine_mg_per_l(double naocl_pct, double specific_gravity)
{
    return naocl_pct * 10000.0 * specific_gravity * FL_CL2_PER_NAOCL;
}

double fl_bleach_pct_of_chlorine(double chlorine_mg_per_l, double specific_gravity)
{
    return chlorine_mg_per_l / (10000.0 * specific_gravity * FL_CL2_PER_NAOCL);
}

double fl_bleach_pct_of_trade(double trade_pct, double specific_gravity)
{
    return fl_bleach_pct_of_chlorine(trade_pct * 10000.0, specific_gravity);
}

double fl_bleach_loss_constant(double temp_c, double mu_mol_per_l)
{
    double t_k = temp_c + KELVIN;
    double at_zero_mu =
        2.083e10 * t_k * exp(-1.018e5 / (GAS_CONSTANT * t_k)) * exp(-56.5 / GAS_CONSTANT);
    return at_zero_mu * pow(10.0, 0.149 * mu_mol_per_l);
}

static double gravity_used(const fl_bleach_bottle *bottle)
{
    return isnan(bottle->specific_gravity) ? fl_bleach_gravity_of(bottle->label_pct)
                                           : bottle->specific_gravity;
}

static fl_status check_product(fl_bleach_product product, fl_err *err)
{
    static const char *const word[FL_BLEACH_PRODUCT_COUNT] = {"plain", "scented", "gel",
                                                              "splashless"};
    if (product == FL_BLEACH_PLAIN) {
        return FL_OK;
    }
    return fl_fail(err, FL_EDOMAIN,
                   "%s bleach carries perfume, thickener or detergent that stays on a plant: use "
                   "plain unscented bleach",
                   product < FL_BLEACH_PRODUCT_COUNT ? word[product] : "unknown");
}

static fl_status check_age(const fl_bleach_bottle *bottle, fl_err *err)
{
    if (isnan(bottle->age_days) && isnan(bottle->store_c)) {
        return FL_OK;
    }
    if (isnan(bottle->age_days)) {
        return fl_fail(err, FL_EDOMAIN,
                       "a storage temperature without an age: give the age in days too");
    }
    if (!(bottle->age_days >= 0.0) || bottle->age_days > AGE_MAX_DAYS) {
        return fl_fail(err, FL_EDOMAIN, "age %g days: give 0 to %g", bottle->age_days,
                       AGE_MAX_DAYS);
    }
    if (isnan(bottle->store_c)) {
        return fl_fail(err, FL_EDOMAIN,
                       "an age without a storage temperature: give the mean temperature in C too");
    }
    if (!(bottle->store_c >= 0.0) || bottle->store_c > STORE_TEMP_MAX_C) {
        return fl_fail(err, FL_EDOMAIN, "storage at %g C: give 0 to %g", bottle->store_c,
                       STORE_TEMP_MAX_C);
    }
    return FL_OK;
}

static fl_status check_bottle(const fl_bleach_bottle *bottle, fl_err *err)
{
    fl_status status = check_product(bottle->product, err);
    if (status != FL_OK) {
        return status;
    }
    if (!(bottle->label_pct >= FL_BLEACH_PCT_MIN) || bottle->label_pct > FL_BLEACH_PCT_MAX) {
        return fl_fail(err, FL_EDOMAIN, "label strength %g %%: give %g to %g, as the label says",
                       bottle->label_pct, FL_BLEACH_PCT_MIN, FL_BLEACH_PCT_MAX);
    }
    double gravity = bottle->specific_gravity;
    if (!isnan(gravity) && (!(gravity >= 0.95) || gravity > 1.30)) {
        return fl_fail(err, FL_EDOMAIN,
                       "specific gravity %g: give 0.95 to 1.30, from the safety sheet", gravity);
    }
    return check_age(bottle, err);
}

/* Share of the first strength that is left: -dC/dt = a C^2 + b C with a in 1/(M d), b in 1/d. */
static double share_left(double start_mol_per_l, double a, double b, double days)
{
    double ac = a * start_mol_per_l;
    if (b <= 0.0) {
        return 1.0 / (1.0 + ac * days);
    }
    double decay = exp(-b * days);
    return decay / (1.0 + ac * -expm1(-b * days) / b);
}

/* The three strengths by age; a bottle whose age is not told is believed. */
static fl_bleach_strength strength_by_age(const fl_bleach_bottle *bottle)
{
    double label = bottle->label_pct;
    fl_bleach_strength s = {.now_pct = label, .low_pct = label, .high_pct = label};
    if (isnan(bottle->age_days)) {
        s.is_age_unknown = true;
        return s;
    }
    double start = label * 10.0 * gravity_used(bottle) / FL_MOLAR_NAOCL;
    double t_c = bottle->store_c;
    double days = bottle->age_days;
    double k_high = fl_bleach_loss_constant(t_c, 2.0 * start + 0.15) * DAY_S;
    double k_now = fl_bleach_loss_constant(t_c, 2.0 * start + 0.20) * DAY_S * RATE_MIDDLE;
    double k_low = fl_bleach_loss_constant(t_c, 2.0 * start + 0.25) * DAY_S * RATE_LOW;
    s.high_pct = label * share_left(start, k_high, 0.0, days);
    s.now_pct = label * share_left(start, k_now, 0.0, days);
    s.low_pct = label * share_left(start, k_low, OPENED_LOSS_PER_DAY, days);
    s.is_extrapolated = start < MODEL_MOL_MIN || start > MODEL_MOL_MAX || t_c < MODEL_TEMP_MIN_C;
    return s;
}

static fl_status strength_by_strip(const fl_bleach_bottle *bottle, const fl_bleach_strip *strip,
                                   fl_bleach_strength *out, fl_err *err)
{
    fl_status status = fl_parts_check(strip->parts, err);
    if (status != FL_OK) {
        return status;
    }
    double in_product = strip->reading_mg_per_l / fl_parts_share(strip->parts);
    double pct = fl_bleach_pct_of_chlorine(in_product, gravity_used(bottle));
    if (!(pct > 0.0) || pct > FL_BLEACH_PCT_MAX) {
        return fl_fail(err, FL_EDOMAIN,
                       "strip reading %g mg/L in %g+%g means a product of %.3g %%: check the "
                       "reading and how it was diluted",
                       strip->reading_mg_per_l, strip->parts.product, strip->parts.water, pct);
    }
    *out = (fl_bleach_strength){.now_pct = pct,
                                .low_pct = pct * (1.0 - STRIP_SPREAD),
                                .high_pct = pct * (1.0 + STRIP_SPREAD),
                                .is_measured = true};
    return FL_OK;
}

fl_status fl_bleach_strength_now(const fl_bleach_bottle *bottle, const fl_bleach_strip *strip,
                                 fl_bleach_strength *out, fl_err *err)
{
    fl_status status = check_bottle(bottle, err);
    if (status != FL_OK) {
        return status;
    }
    fl_bleach_strength s;
    if (strip != NULL && !isnan(strip->reading_mg_per_l)) {
        status = strength_by_strip(bottle, strip, &s, err);
        if (status != FL_OK) {
            return status;
        }
    } else {
        s = strength_by_age(bottle);
        s.should_replace = s.high_pct / s.low_pct > REPLACE_RATIO;
    }
    if (s.now_pct < REPLACE_SHARE * bottle->label_pct) {
        s.should_replace = true;
    }
    *out = s;
    return FL_OK;
}

/* Share of product by volume that the request comes to. */
static fl_status share_wanted(const fl_bleach_request *request, double product_mg_per_l,
                              double *share, fl_err *err)
{
    if (isnan(request->target_mg_per_l)) {
        fl_status status = fl_parts_check(request->parts, err);
        if (status == FL_OK) {
            *share = fl_parts_share(request->parts);
        }
        return status;
    }
    if (!(request->target_mg_per_l > 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "target %g mg/L: give more than 0",
                       request->target_mg_per_l);
    }
    if (request->target_mg_per_l > product_mg_per_l) {
        return fl_fail(err, FL_EDOMAIN,
                       "target %g mg/L: the bottle itself now holds about %.0f mg/L",
                       request->target_mg_per_l, product_mg_per_l);
    }
    *share = request->target_mg_per_l / product_mg_per_l;
    return FL_OK;
}

fl_status fl_bleach_plan(const fl_bleach_request *request, fl_bleach_mix *out, fl_err *err)
{
    fl_bleach_strength s;
    fl_status status = fl_bleach_strength_now(&request->bottle, &request->strip, &s, err);
    if (status != FL_OK) {
        return status;
    }
    if (!(request->total_ml > 0.0) || request->total_ml > FL_BLEACH_TOTAL_ML_MAX) {
        return fl_fail(err, FL_EDOMAIN, "total %g ml: give more than 0, at most %g",
                       request->total_ml, FL_BLEACH_TOTAL_ML_MAX);
    }
    double gravity = gravity_used(&request->bottle);
    double product_mg_per_l = fl_bleach_chlorine_mg_per_l(s.now_pct, gravity);
    double share = 0.0;
    status = share_wanted(request, product_mg_per_l, &share, err);
    if (status != FL_OK) {
        return status;
    }
    double product_ml = request->total_ml * share;
    *out = (fl_bleach_mix){
        .product_ml = product_ml,
        .water_ml = request->total_ml - product_ml,
        .chlorine_mg_per_l = product_mg_per_l * share,
        .chlorine_low_mg_per_l = fl_bleach_chlorine_mg_per_l(s.low_pct, gravity) * share,
        .chlorine_high_mg_per_l = fl_bleach_chlorine_mg_per_l(s.high_pct, gravity) * share,
        .chlorine_simple_mg_per_l = s.now_pct * 10000.0 * share,
        .naocl_mg_per_l = product_mg_per_l * share / FL_CL2_PER_NAOCL,
        .product_pct_by_volume = 100.0 * share,
        .specific_gravity = gravity,
        .strength = s,
    };
    return FL_OK;
}
