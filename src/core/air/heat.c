/* Energy balance of a closed box. */
#include "core/air/heat.h"

static fl_status check(double value, const char *what, double min, double max, fl_err *err)
{
    if (value >= min && value <= max) {
        return FL_OK;
    }
    return fl_fail(err, FL_EDOMAIN, "%s %g: give %g to %g", what, value, min, max);
}

fl_status fl_box_heat_of(const fl_box_heat_in *in, fl_box_heat *out, fl_err *err)
{
    const struct {
        double value;
        const char *what;
        double min, max;
    } rows[] = {
        {in->lit_m2, "lit area in m2", 0.0, 100.0},
        {in->ppfd_umol_m2_s, "PPFD in umol m-2 s-1", 0.0, 5000.0},
        {in->mat_watts, "mat in W", 0.0, 10000.0},
        {in->sun_w_m2, "sun in W/m2", 0.0, 1400.0},
        {in->sun_m2, "sunlit area in m2", 0.0, 100.0},
        {in->transmittance, "transmittance", 0.0, 1.0},
        {in->wall_m2, "wall area in m2", 1e-6, 100.0},
        {in->u_w_m2_k, "U in W/(m2 K)", 1e-3, 100.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fl_status status = check(rows[i].value, rows[i].what, rows[i].min, rows[i].max, err);
        if (status != FL_OK) {
            return status;
        }
    }
    out->lamp_w = in->ppfd_umol_m2_s * in->lit_m2 / FL_BOX_UMOL_PER_J * FL_BOX_ABSORBED;
    out->mat_w = in->mat_watts;
    out->sun_w = in->sun_w_m2 * in->sun_m2 * in->transmittance * FL_BOX_ABSORBED;
    out->warmer_k = (out->lamp_w + out->mat_w + out->sun_w) / (in->u_w_m2_k * in->wall_m2);
    return FL_OK;
}
