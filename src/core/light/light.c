/* Illuminance of a straight lamp and what plants make of it. */
#include "core/light/light.h"

#include <assert.h>
#include <math.h>

#define PI 3.14159265358979323846
#define MM_PER_M 1000.0
#define S_PER_H 3600.0
#define UMOL_PER_MOL 1e6

static fl_status check(double value, const char *name, double least, double most, fl_err *err)
{
    if (!(value >= least && value <= most)) {
        return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", name, value, least, most);
    }
    return FL_OK;
}

static fl_status check_strip(const fl_strip *strip, fl_err *err)
{
    fl_status status = check(strip->lumens, "lumens", 0.0, 1e6, err);

    if (status == FL_OK) {
        status = check(strip->length_mm, "strip length in mm", 0.0, 1e5, err);
    }
    if (status == FL_OK) {
        status = check(strip->height_mm, "height in mm", 1e-3, 1e5, err);
    }
    if (status == FL_OK) {
        status = check(strip->along_mm, "offset along the lamp in mm", -1e6, 1e6, err);
    }
    if (status == FL_OK) {
        status = check(strip->across_mm, "offset across the lamp in mm", -1e6, 1e6, err);
    }
    return status;
}

/* [f(X1) + f(X2)] / L in 1/m. With g = a1 + a2 the angle under which the lamp is seen, the sum is
 * g + sin g cos(a1 - a2), and tan g = L d / (d^2 - X1 X2): no difference of near equal angles, also
 * for a point far off the end. A lamp of no length has the limit 2 d^3 / r^4. */
static double view_per_m(double length_m, double along_m, double axis_m)
{
    const double end_1_m = length_m / 2.0 - along_m;
    const double end_2_m = length_m / 2.0 + along_m;
    const double square = axis_m * axis_m;
    double angle;
    double cosine;

    if (length_m <= 0.0) {
        const double reach = square + along_m * along_m;
        return 2.0 * square * axis_m / (reach * reach);
    }
    angle = atan2(length_m * axis_m, square - end_1_m * end_2_m);
    cosine = (square + end_1_m * end_2_m) / (hypot(axis_m, end_1_m) * hypot(axis_m, end_2_m));
    return fmax(0.0, angle + sin(angle) * cosine) / length_m;
}

fl_status fl_light_strip_lux(const fl_strip *strip, double *lux, fl_err *err)
{
    const fl_status status = check_strip(strip, err);
    const double height_m = strip->height_mm / MM_PER_M;
    const double axis_m = hypot(height_m, strip->across_mm / MM_PER_M);
    double view;

    if (status != FL_OK) {
        return status;
    }
    view = view_per_m(strip->length_mm / MM_PER_M, strip->along_mm / MM_PER_M, axis_m);
    if (strip->kind == FL_STRIP_DOWNLIGHT) {
        const double down_cosine = height_m / axis_m;
        *lux = strip->lumens / PI * down_cosine * down_cosine / (2.0 * axis_m) * view;
    } else {
        *lux = strip->lumens / (PI * PI) * height_m / (2.0 * axis_m * axis_m) * view;
    }
    return FL_OK;
}

fl_status fl_light_of(const fl_light_in *in, fl_light *out, fl_err *err)
{
    double lux = 0.0;
    fl_status status = check(in->lux_per_umol, "lux per umol", 10.0, 200.0, err);

    if (status == FL_OK) {
        status = check(in->lid_transmittance, "lid transmittance", 0.0, 1.0, err);
    }
    if (status == FL_OK) {
        status = check(in->hours, "hours a day", 0.0, 24.0, err);
    }
    if (status == FL_OK) {
        status = fl_light_strip_lux(&in->strip, &lux, err);
    }
    if (status != FL_OK) {
        return status;
    }
    out->lux_no_lid = lux;
    out->lux = lux * in->lid_transmittance;
    out->ppfd_umol_m2_s = out->lux / in->lux_per_umol;
    out->dli_mol_m2_d = out->ppfd_umol_m2_s * in->hours * S_PER_H / UMOL_PER_MOL;
    return FL_OK;
}

double fl_light_clear_slab(double refractive_index)
{
    const double ratio = (refractive_index - 1.0) / (refractive_index + 1.0);
    const double reflected = ratio * ratio;

    assert(refractive_index >= 1.0);
    return (1.0 - reflected) / (1.0 + reflected);
}
