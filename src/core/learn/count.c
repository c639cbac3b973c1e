/* A source's record in figures: what is left of a purchase, and purchases as counts. */
#include <math.h>
#include <stdbool.h>

#include "core/learn/learn.h"

#define AGE_MAX_DAYS 1e6

static bool is_within(double value, double min, double max)
{
    return value >= min && value <= max;
}

static fl_status check_purchases(const fl_learn_purchase *purchase, int n, double half_life_days,
                                 fl_err *err)
{
    if (n < 0 || n > FL_LEARN_PURCHASES_MAX) {
        return fl_fail(err, n < 0 ? FL_EDOMAIN : FL_ETOOBIG, "%d purchases: give 0 to %d", n,
                       FL_LEARN_PURCHASES_MAX);
    }
    if (!is_within(half_life_days, 0.0, AGE_MAX_DAYS)) {
        return fl_fail(err, FL_EDOMAIN, "half life %g d: give 0 (none) to 1e6", half_life_days);
    }
    for (int i = 0; i < n; i++) {
        if (!is_within(purchase[i].prob_cause, 0.0, 1.0) ||
            !is_within(purchase[i].prob_missed, 0.0, 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "purchase %d: prob_cause %g, prob_missed %g: 0 to 1", i,
                           purchase[i].prob_cause, purchase[i].prob_missed);
        }
        if (!is_within(purchase[i].age_days, 0.0, AGE_MAX_DAYS)) {
            return fl_fail(err, FL_EDOMAIN, "purchase %d: age %g d: give 0 to 1e6", i,
                           purchase[i].age_days);
        }
    }
    return FL_OK;
}

double fl_learn_left(const fl_learn_purchase *purchase, double half_life_days)
{
    return half_life_days > 0.0 ? exp2(-purchase->age_days / half_life_days) : 1.0;
}

fl_status fl_learn_count_of(const fl_learn_purchase *purchase, int n, double half_life_days,
                            fl_learn_count *out, fl_err *err)
{
    fl_status status = check_purchases(purchase, n, half_life_days, err);
    if (status != FL_OK) {
        return status;
    }
    fl_learn_count sum = {0.0, 0.0};
    for (int i = 0; i < n; i++) {
        double weight = fl_learn_left(&purchase[i], half_life_days);
        double cause = purchase[i].prob_cause;
        sum.infested += weight * cause;
        sum.judged += weight * (cause + (1.0 - cause) * (1.0 - purchase[i].prob_missed));
    }
    *out = sum;
    return FL_OK;
}
