/* Water by volume, and pebbles. */
#include "core/mix/watering.h"

#include <math.h>

static fl_status check(double value, const char *what, double min, double max, fl_err *err)
{
    if (value >= min && value <= max) {
        return FL_OK;
    }
    return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", what, value, min, max);
}

fl_status fl_first_water_of(double mix_l, double capacity, double now, fl_first_water *out,
                            fl_err *err)
{
    fl_status status = check(mix_l, "mix in litres", 0.0, 10000.0, err);
    if (status == FL_OK) {
        status = check(capacity, "capacity", 0.0, 1.0, err);
    }
    if (status == FL_OK) {
        status = check(now, "water by volume", 0.0, 1.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const double ml = mix_l * 1000.0;
    *out = (fl_first_water){
        .to_capacity_ml = ml * fmax(capacity - now, 0.0),
        .closed_low_ml = ml * fmax(FL_WATER_CLOSED_LOW * capacity - now, 0.0),
        .closed_high_ml = ml * fmax(FL_WATER_CLOSED_HIGH * capacity - now, 0.0),
    };
    return FL_OK;
}

fl_status fl_layer_of(double length_mm, double width_mm, double depth_mm, double frac_void,
                      fl_layer *out, fl_err *err)
{
    fl_status status = check(length_mm, "length in mm", 1.0, 10000.0, err);
    if (status == FL_OK) {
        status = check(width_mm, "width in mm", 1.0, 10000.0, err);
    }
    if (status == FL_OK) {
        status = check(depth_mm, "depth in mm", 1.0, 1000.0, err);
    }
    if (status == FL_OK) {
        status = check(frac_void, "share of gaps", 0.0, 1.0, err);
    }
    if (status != FL_OK) {
        return status;
    }
    out->volume_l = length_mm * width_mm * depth_mm / 1e6;
    out->water_l = out->volume_l * frac_void;
    return FL_OK;
}
