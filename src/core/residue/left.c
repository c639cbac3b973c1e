/* The fraction left, with its band. */
#include <math.h>

#include "core/residue/residue.h"

#define INDOOR_SLOWING 3.0
/* What one rinse takes of an unnamed residue: 40 to 70 % of a fresh one, 0 to 40 % of a weathered
 * one (derived from S97 to S99): 40 is where both meet. */
#define RINSE_PLAN 0.40
#define RINSE_LEAST 0.0
#define RINSE_MOST 0.70

#define LITTLE 0.01
#define MUCH 0.5

const fl_word fl_words_residue_advice[FL_RESIDUE_ADVICE_COUNT] = {
    [FL_RESIDUE_LITTLE_LEFT] = {"little_left",
                                "Little is left on the surface, even at the slow end. What sits in "
                                "the old mix does not count here: throw that mix away."},
    [FL_RESIDUE_WAIT] = {"wait", "Some is still there: strip the old mix, rinse once, and wait."},
    [FL_RESIDUE_MUCH_LEFT] = {"much_left",
                              "More than half may still be there: strip the old mix, rinse once, "
                              "and wait before it goes near animals."},
    [FL_RESIDUE_SYSTEMIC] =
        {"systemic", "It is inside the plant: rinsing does not remove it and no count of "
                     "days makes it safe. Not for invertebrates or amphibians; keep it with "
                     "plants only, or take another plant."},
    [FL_RESIDUE_STAYS] = {"stays",
                          "It does not decay: wash it, cut off what is coated, throw the old mix "
                          "away, and keep it from invertebrates and amphibians."},
};

static fl_status check_days(const fl_residue_since *since, fl_err *err)
{
    if (!(since->days >= 0.0) || since->days > FL_RESIDUE_DAYS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "days %g: give 0 to %g", since->days, FL_RESIDUE_DAYS_MAX);
    }
    return FL_OK;
}

static double left_after(double days, double half_life_d, double washoff_frac)
{
    return (1.0 - washoff_frac) * exp2(-days / half_life_d);
}

static fl_residue_advice advice_by_amount(const fl_residue_left *left)
{
    if (left->fraction_high <= LITTLE) {
        return FL_RESIDUE_LITTLE_LEFT;
    }
    return left->fraction > MUCH ? FL_RESIDUE_MUCH_LEFT : FL_RESIDUE_WAIT;
}

fl_status fl_residue_of_active(const fl_active *active, const fl_residue_since *since,
                               fl_residue_left *out, fl_err *err)
{
    fl_status status = check_days(since, err);
    if (status != FL_OK) {
        return status;
    }
    if (!active->decays) {
        *out = (fl_residue_left){.fraction = 1.0,
                                 .fraction_low = 1.0,
                                 .fraction_high = 1.0,
                                 .days_to_tenth = (double)NAN,
                                 .days_to_hundredth = (double)NAN,
                                 .advice = FL_RESIDUE_STAYS};
        return FL_OK;
    }
    bool is_systemic = fl_active_is_systemic(active);
    bool has_washoff = since->is_rinsed && !is_systemic;
    double slower = active->is_photolabile && !since->is_outdoors ? INDOOR_SLOWING : 1.0;
    double slow_end_d = active->half_life_high_d * slower;
    fl_residue_left left = {
        .fraction = left_after(since->days, active->half_life_plan_d * slower,
                               has_washoff ? active->washoff_frac : 0.0),
        .fraction_low = left_after(since->days, active->half_life_low_d,
                                   has_washoff ? active->washoff_high_frac : 0.0),
        .fraction_high =
            left_after(since->days, slow_end_d, has_washoff ? active->washoff_low_frac : 0.0),
        .days_to_tenth = is_systemic ? (double)NAN : slow_end_d * log2(10.0),
        .days_to_hundredth = is_systemic ? (double)NAN : slow_end_d * log2(100.0)};
    left.advice = is_systemic ? FL_RESIDUE_SYSTEMIC : advice_by_amount(&left);
    *out = left;
    return FL_OK;
}

fl_status fl_residue_of_half_life(double half_life_days, const fl_residue_since *since,
                                  fl_residue_left *out, fl_err *err)
{
    fl_status status = check_days(since, err);
    if (status != FL_OK) {
        return status;
    }
    if (!(half_life_days >= 0.01) || half_life_days > FL_RESIDUE_DAYS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "half-life %g days: give 0.01 to %g", half_life_days,
                       FL_RESIDUE_DAYS_MAX);
    }
    bool is_rinsed = since->is_rinsed;
    fl_residue_left left = {
        .fraction = left_after(since->days, half_life_days, is_rinsed ? RINSE_PLAN : 0.0),
        .fraction_low = left_after(since->days, half_life_days, is_rinsed ? RINSE_MOST : 0.0),
        .fraction_high = left_after(since->days, half_life_days, RINSE_LEAST),
        .days_to_tenth = half_life_days * log2(10.0),
        .days_to_hundredth = half_life_days * log2(100.0)};
    left.advice = advice_by_amount(&left);
    *out = left;
    return FL_OK;
}
