/* The frustum of a pot, round or square. */
#include "core/mix/pot.h"

#include <stddef.h>

#define PI 3.14159265358979323846
#define POT_MM_MAX 10000.0
#define MM3_PER_ML 1000.0

static fl_status check_mm(const char *what, double mm, fl_err *err)
{
    if (!(mm > 0.0 && mm <= POT_MM_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "%s %g mm: give more than 0, up to 10000", what, mm);
    }
    return FL_OK;
}

/* h / 3 (D^2 + D d + d^2), the volume between squares of sides D and d; a round pot has pi / 4 of
 * it. Both formulas in the header come to this. */
static fl_status square_ml(double top_mm, double bottom_mm, double height_mm, double *volume_ml,
                           fl_err *err)
{
    const struct {
        const char *what;
        double mm;
    } sizes[] = {{"top", top_mm}, {"bottom", bottom_mm}, {"height", height_mm}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        fl_status status = check_mm(sizes[i].what, sizes[i].mm, err);
        if (status != FL_OK) {
            return status;
        }
    }
    double square_mm2 = top_mm * top_mm + top_mm * bottom_mm + bottom_mm * bottom_mm;
    *volume_ml = height_mm / 3.0 * square_mm2 / MM3_PER_ML;
    return FL_OK;
}

fl_status fl_pot_volume(double top_mm, double bottom_mm, double height_mm, double *volume_ml,
                        fl_err *err)
{
    fl_status status = square_ml(top_mm, bottom_mm, height_mm, volume_ml, err);
    if (status == FL_OK) {
        *volume_ml *= PI / 4.0;
    }
    return status;
}

fl_status fl_pot_square_volume(double top_mm, double bottom_mm, double height_mm, double *volume_ml,
                               fl_err *err)
{
    return square_ml(top_mm, bottom_mm, height_mm, volume_ml, err);
}
