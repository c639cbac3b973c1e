/* The water balance of a closed bin. */
#include "core/air/water.h"

#include <stddef.h>

#include "core/air/air.h"

#define HOURS_PER_DAY 24.0
#define LITRES_PER_M3 1000.0
#define WATER_G_PER_L 1000.0 /* common practice; 0.3 % high at 25 C */

/* One input's range: everything in the struct that fl_air_of does not check itself. */
typedef struct range_rule {
    const char *name;
    size_t offset;
    double most;
    bool is_above_zero;
} range_rule;

static const range_rule RULES[] = {
    {"volume_l", offsetof(fl_bin_water_in, volume_l), 10000.0, true},
    {"exchange_per_h", offsetof(fl_bin_water_in, exchange_per_h), 100.0, false},
    {"wall_area_m2", offsetof(fl_bin_water_in, wall_area_m2), 100.0, false},
    {"mix_l", offsetof(fl_bin_water_in, mix_l), 10000.0, false},
    {"water_fraction", offsetof(fl_bin_water_in, water_fraction), 1.0, false},
    {"use_share", offsetof(fl_bin_water_in, use_share), 1.0, false},
};

static fl_status check_ranges(const fl_bin_water_in *in, fl_err *err)
{
    for (size_t i = 0; i < sizeof RULES / sizeof RULES[0]; i++) {
        const double value = *(const double *)(const void *)((const char *)in + RULES[i].offset);
        const bool is_low = RULES[i].is_above_zero ? !(value > 0.0) : !(value >= 0.0);

        if (is_low || value > RULES[i].most) {
            return fl_fail(err, FL_EDOMAIN, "%s %g: give %s0 to %g", RULES[i].name, value,
                           RULES[i].is_above_zero ? "above " : "", RULES[i].most);
        }
    }
    if (in->wall_area_m2 > 0.0 && !(in->wall_mm > 0.0 && in->wall_mm <= 1000.0)) {
        return fl_fail(err, FL_EDOMAIN, "wall_mm %g: give above 0 to 1000", in->wall_mm);
    }
    if (in->wall_area_m2 > 0.0 &&
        !(in->wall_g_mm_per_m2_d_kpa >= 0.0 && in->wall_g_mm_per_m2_d_kpa <= 1000.0)) {
        return fl_fail(err, FL_EDOMAIN, "wall_g_mm_per_m2_d_kpa %g: give 0 to 1000",
                       in->wall_g_mm_per_m2_d_kpa);
    }
    return FL_OK;
}

fl_status fl_bin_water_of(const fl_bin_water_in *in, fl_bin_water *out, fl_err *err)
{
    fl_air inside = {0};
    fl_air room = {0};
    fl_status status = check_ranges(in, err);

    if (status == FL_OK) {
        status = fl_air_of(in->inside_c, in->inside_rh_pct, &inside, err);
    }
    if (status == FL_OK) {
        status = fl_air_of(in->room_c, in->room_rh_pct, &room, err);
    }
    if (status != FL_OK) {
        return status;
    }
    out->leak_g_per_day = in->exchange_per_h * HOURS_PER_DAY * in->volume_l / LITRES_PER_M3 *
                          (inside.absolute_humidity_g_m3 - room.absolute_humidity_g_m3);
    out->wall_g_per_day = 0.0;
    if (in->wall_area_m2 > 0.0) {
        out->wall_g_per_day = in->wall_g_mm_per_m2_d_kpa * in->wall_area_m2 *
                              (inside.vapour_kpa - room.vapour_kpa) / in->wall_mm;
    }
    out->loss_g_per_day = out->leak_g_per_day + out->wall_g_per_day;
    out->usable_g = in->mix_l * in->water_fraction * in->use_share * WATER_G_PER_L;
    out->loses_water = out->loss_g_per_day > 0.0;
    out->days_to_water = out->loses_water ? out->usable_g / out->loss_g_per_day : 0.0;
    return FL_OK;
}
