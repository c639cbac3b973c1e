/* Single-sine degree-days in closed form. */
#include "core/develop/degree_days.h"

#include <math.h>
#include <stdbool.h>

#define PI 3.14159265358979323846
#define REACH 1000.0 /* of any temperature, in any unit */

/* A day's sine: its mean and half its span. */
typedef struct day_curve {
    double mean;
    double half_span;
} day_curve;

static bool is_temperature(double value)
{
    return value >= -REACH && value <= REACH;
}

/* Integral over the day of (T - base)+. */
static double above(day_curve day, double base)
{
    if (day.mean - day.half_span >= base) {
        return day.mean - base;
    }
    if (day.mean + day.half_span <= base) {
        return 0.0;
    }
    double angle = asin((base - day.mean) / day.half_span);
    return ((day.mean - base) * (PI / 2.0 - angle) + day.half_span * cos(angle)) / PI;
}

/* Share of the day with T > base. */
static double share_above(day_curve day, double base)
{
    if (day.mean - day.half_span > base) {
        return 1.0;
    }
    if (day.mean + day.half_span <= base) {
        return 0.0;
    }
    return (PI / 2.0 - asin((base - day.mean) / day.half_span)) / PI;
}

fl_status fl_degree_days_single_sine(double min, double max, const fl_degree_day_limits *limits,
                                     double *out, fl_err *err)
{
    if (!is_temperature(min) || !is_temperature(max) || max < min) {
        return fl_fail(err, FL_EDOMAIN, "min %g and max %g: give max at or above min", min, max);
    }
    double lower = limits->lower;
    double upper = limits->upper;
    if (!is_temperature(lower) || !is_temperature(upper) || upper <= lower) {
        return fl_fail(err, FL_EDOMAIN, "lower %g and upper %g: give upper above lower", lower,
                       upper);
    }
    day_curve day = {(max + min) / 2.0, (max - min) / 2.0};
    double below_cutoff = above(day, lower) - above(day, upper);
    double sum = 0.0;
    switch (limits->cutoff) {
    case FL_CUTOFF_HORIZONTAL:
        sum = below_cutoff;
        break;
    case FL_CUTOFF_INTERMEDIATE:
        sum = below_cutoff - above(day, upper) + above(day, 2.0 * upper - lower);
        break;
    case FL_CUTOFF_VERTICAL:
        sum = below_cutoff - (upper - lower) * share_above(day, upper);
        break;
    default:
        return fl_fail(err, FL_EINVAL, "cutoff %d: 0 to 2", (int)limits->cutoff);
    }
    *out = fmax(0.0, sum);
    return FL_OK;
}
