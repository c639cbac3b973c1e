/* Lamps and lids: look-ups in the compiled tables. */
#include "core/light/lamp.h"

#include <assert.h>

#include "data/lamps.h"
#include "data/lids.h"

size_t fl_lamp_count(void)
{
    return fl_rows_lamps_count;
}

fl_lamp fl_lamp_at(size_t index)
{
    assert(index < fl_lamp_count());
    return (fl_lamp){.code = fl_rows_lamps[index].code,
                     .name = fl_rows_lamps[index].name,
                     .lux_per_umol = fl_rows_lamps[index].lux_per_umol,
                     .grade = fl_rows_lamps[index].grade,
                     .source = fl_rows_lamps[index].source};
}

size_t fl_lamp_find(fl_sv code)
{
    size_t i = 0;

    while (i < fl_lamp_count() && !fl_sv_eq_nocase(code, fl_sv_from_cstr(fl_rows_lamps[i].code))) {
        i++;
    }
    return i;
}

size_t fl_lid_count(void)
{
    return fl_rows_lids_count;
}

fl_lid fl_lid_at(size_t index)
{
    assert(index < fl_lid_count());
    return (fl_lid){
        .code = fl_rows_lids[index].code,
        .name = fl_rows_lids[index].name,
        .transmittance_low = fl_rows_lids[index].transmittance_low,
        .transmittance_high = fl_rows_lids[index].transmittance_high,
        .transmittance_grade = fl_rows_lids[index].transmittance_grade,
        .refractive_index = fl_rows_lids[index].refractive_index,
        .wall_low_g_mm_per_m2_d_kpa = fl_rows_lids[index].wall_low_g_mm_per_m2_d_kpa,
        .wall_high_g_mm_per_m2_d_kpa = fl_rows_lids[index].wall_high_g_mm_per_m2_d_kpa,
        .source = fl_rows_lids[index].source,
    };
}

size_t fl_lid_find(fl_sv code)
{
    size_t i = 0;

    while (i < fl_lid_count() && !fl_sv_eq_nocase(code, fl_sv_from_cstr(fl_rows_lids[i].code))) {
        i++;
    }
    return i;
}
