/* Degree-days of a day from its minimum and maximum, by a single sine. For indoor records, which
 * are hourly, fl_develop_progress needs no sine. */
#ifndef FL_CORE_DEVELOP_DEGREE_DAYS_H
#define FL_CORE_DEVELOP_DEGREE_DAYS_H

#include "base/err.h"

/* What happens above the upper threshold. */
typedef enum fl_cutoff {
    FL_CUTOFF_HORIZONTAL = 0, /* development goes on at the upper threshold's rate */
    FL_CUTOFF_INTERMEDIATE,   /* it slows by as much as it is too hot, down to nothing */
    FL_CUTOFF_VERTICAL        /* it stops */
} fl_cutoff;

/* Thresholds in any unit of temperature; min, max and the answer are in the same. */
typedef struct fl_degree_day_limits {
    double lower;
    double upper; /* > lower */
    fl_cutoff cutoff;
} fl_degree_day_limits;

/* Degree-days of one day whose temperature is a sine between min and max (max >= min), 0 or more.
 * Temperatures and thresholds within -1000 to 1000. FL_EDOMAIN, FL_EINVAL for an unknown cutoff.
 *
 * Closed form of dd(T0) = integral of (T - T0)+ over the day (Baskerville and Emin 1969; Allen
 * 1976, Environ. Entomol. 5:388-396): M - T0 when min >= T0; 0 when max <= T0; else, with M and W
 * the half sum and half difference and th = asin((T0 - M)/W), ((M - T0)(pi/2 - th) + W cos
 * th)/pi. Horizontal: dd(lower) - dd(upper). Intermediate: dd(lower) - 2 dd(upper) + dd(2 upper -
 * lower). Vertical: dd(lower) - dd(upper) - (upper - lower) x the share of the day above upper.
 * Rounding only. */
fl_status fl_degree_days_single_sine(double min, double max, const fl_degree_day_limits *limits,
                                     double *out, fl_err *err) FL_MUST_USE;

#endif
