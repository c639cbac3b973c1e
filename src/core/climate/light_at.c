/* Light by reading or by lamp, and what would change it. */
#include "core/climate/light_at.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/light/lamp.h"
#include "core/light/light.h"

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_light_state[FL_LIGHT_STATES] = {FL_LIGHT_STATE_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

#define MOL_PER_UMOL_HOUR (3600.0 / 1e6)
#define BAND_HOURS 12.0 /* data/plants.csv: daily light is over twelve hours */

fl_status fl_climate_lamp_lux(const fl_climate_lamp *lamp, double height_mm, double along_mm,
                              double across_mm, double *lux, fl_err *err)
{
    double sum = 0.0;
    for (int64_t i = 0; i < lamp->count; i++) {
        double shift_mm = ((double)i - (double)(lamp->count - 1) / 2.0) * lamp->spacing_mm;
        const fl_strip strip = {.lumens = lamp->lumens,
                                .length_mm = lamp->length_mm,
                                .height_mm = height_mm,
                                .along_mm = along_mm,
                                .across_mm = across_mm - shift_mm,
                                .kind = FL_STRIP_DOWNLIGHT};
        double one = 0.0;
        fl_status status = fl_light_strip_lux(&strip, &one, err);
        if (status != FL_OK) {
            return status;
        }
        sum += one;
    }
    *lux = sum;
    return FL_OK;
}

static void find_factor(const fl_climate_lamp *lamp, fl_light_at *out)
{
    size_t index = fl_lamp_find(lamp->code.len > 0 ? lamp->code : FL_SV("white_led"));
    if (lamp->lux_per_umol > 0.0) {
        out->lux_per_umol = lamp->lux_per_umol;
        out->factor_source = "as you told";
    } else if (index < fl_lamp_count()) {
        fl_lamp row = fl_lamp_at(index);
        out->lux_per_umol = row.lux_per_umol;
        out->factor_source = row.source;
    } else {
        out->lux_per_umol = FL_LAMP_LUX_PER_UMOL_DEFAULT;
        out->factor_source = "a white LED, since the lamp is not in the table";
    }
}

static double lid_of(const fl_climate_facts *facts, bool is_closed)
{
    size_t index = fl_lid_find(facts->lid);
    if (facts->lid.len == 0) {
        return is_closed ? FL_CLIMATE_LID : 1.0;
    }
    if (fl_sv_eq_cstr(facts->lid, "none")) {
        return 1.0;
    }
    if (index < fl_lid_count()) {
        fl_lid lid = fl_lid_at(index);
        double middle = (lid.transmittance_low + lid.transmittance_high) / 2.0;
        return isnan(middle) ? FL_CLIMATE_LID : middle;
    }
    return FL_CLIMATE_LID;
}

fl_status fl_climate_light(const fl_climate_facts *facts, bool is_closed, fl_light_at *out,
                           fl_err *err)
{
    fl_light_at light = {.hours = facts->lamp.hours, .lid = 1.0};
    find_factor(&facts->lamp, &light);
    if (facts->light_umol_m2_s > 0.0) {
        light.basis = FL_BASIS_READING;
        light.ppfd_umol_m2_s = facts->light_umol_m2_s;
        light.lux = light.ppfd_umol_m2_s * light.lux_per_umol;
    } else if (facts->light_lux > 0.0) {
        light.basis = FL_BASIS_READING;
        light.lux = facts->light_lux;
        light.ppfd_umol_m2_s = light.lux / light.lux_per_umol;
    } else if (facts->has_no_lamp) {
        light.basis = FL_BASIS_DARK;
    } else {
        double lux = 0.0;
        fl_status status =
            fl_climate_lamp_lux(&facts->lamp, facts->lamp.height_mm, facts->lamp.along_mm,
                                facts->lamp.across_mm, &lux, err);
        if (status != FL_OK) {
            return status;
        }
        light.basis = facts->is_lamp_told ? FL_BASIS_FIXTURE : FL_BASIS_DEFAULT;
        light.lid = lid_of(facts, is_closed);
        light.lux = lux * light.lid;
        light.ppfd_umol_m2_s = light.lux / light.lux_per_umol;
    }
    light.dli_mol_m2_d = light.ppfd_umol_m2_s * light.hours * MOL_PER_UMOL_HOUR;
    *out = light;
    return FL_OK;
}

fl_light_band fl_climate_band_of(const fl_know_plant *plant)
{
    if (plant == NULL) {
        return (fl_light_band){(double)NAN, (double)NAN, false};
    }
    return (fl_light_band){
        .low = plant->ppfd_min_umol_m2_s * BAND_HOURS * MOL_PER_UMOL_HOUR,
        .high = plant->ppfd_max_umol_m2_s * BAND_HOURS * MOL_PER_UMOL_HOUR,
        .is_published = strcmp(plant->confidence, "published") == 0,
    };
}

fl_light_state fl_climate_judge(const fl_know_plant *plant, bool is_thriving, double dli_mol_m2_d)
{
    fl_light_band band = fl_climate_band_of(plant);
    if (is_thriving) {
        return FL_LIGHT_THRIVES;
    }
    if (dli_mol_m2_d < band.low) {
        return FL_LIGHT_DARK;
    }
    if (dli_mol_m2_d > band.high) {
        return FL_LIGHT_BRIGHT;
    }
    return isnan(band.low) || isnan(band.high) ? FL_LIGHT_UNKNOWN : FL_LIGHT_FITS;
}

/* The lamp's height at which the place gets `lux` times what it gets now, by halving; NAN where no
 * height in reach does. Light at a point falls with height once the point is near below. */
static double height_for(const fl_climate_lamp *lamp, double ratio)
{
    double now = 0.0;
    double low_mm = FL_CLIMATE_HEIGHT_MIN_MM;
    double high_mm = FL_CLIMATE_HEIGHT_MAX_MM;
    double at_low = 0.0;
    double at_high = 0.0;
    if (fl_climate_lamp_lux(lamp, lamp->height_mm, lamp->along_mm, lamp->across_mm, &now, NULL) !=
            FL_OK ||
        fl_climate_lamp_lux(lamp, low_mm, lamp->along_mm, lamp->across_mm, &at_low, NULL) !=
            FL_OK ||
        fl_climate_lamp_lux(lamp, high_mm, lamp->along_mm, lamp->across_mm, &at_high, NULL) !=
            FL_OK ||
        at_low < now * ratio || at_high > now * ratio) {
        return (double)NAN;
    }
    for (int i = 0; i < 60; i++) {
        double middle_mm = (low_mm + high_mm) / 2.0;
        double lux = 0.0;
        if (fl_climate_lamp_lux(lamp, middle_mm, lamp->along_mm, lamp->across_mm, &lux, NULL) !=
            FL_OK) {
            return (double)NAN;
        }
        low_mm = lux > now * ratio ? middle_mm : low_mm;
        high_mm = lux > now * ratio ? high_mm : middle_mm;
    }
    return low_mm;
}

void fl_climate_change(const fl_climate_facts *facts, const fl_light_at *light,
                       const fl_light_band *want, fl_light_change *out)
{
    double target = light->dli_mol_m2_d < want->low ? want->low : want->high;
    *out = (fl_light_change){(double)NAN, (double)NAN};
    bool fits = light->dli_mol_m2_d >= want->low && light->dli_mol_m2_d <= want->high;
    if (isnan(want->low) || isnan(want->high) || want->low > want->high || fits ||
        light->dli_mol_m2_d <= 0.0) {
        return;
    }
    double ratio = target / light->dli_mol_m2_d;
    double hours = light->hours * ratio;
    if (hours >= FL_CLIMATE_HOURS_MIN && hours <= FL_CLIMATE_HOURS_MAX) {
        out->hours = hours;
    }
    if (!facts->has_no_lamp) {
        out->height_mm = height_for(&facts->lamp, ratio);
    }
}

fl_status fl_climate_grid(const fl_climate_lamp *lamp, const fl_light_grid *grid, double *lux,
                          fl_err *err)
{
    assert(grid->n_along >= 1 && grid->n_along <= 200);
    assert(grid->n_across >= 1 && grid->n_across <= 200);
    double step_along = (grid->to_along_mm - grid->from_along_mm) / grid->n_along;
    double step_across = (grid->to_across_mm - grid->from_across_mm) / grid->n_across;
    for (int row = 0; row < grid->n_across; row++) {
        for (int column = 0; column < grid->n_along; column++) {
            fl_status status = fl_climate_lamp_lux(
                lamp, lamp->height_mm, grid->from_along_mm + (column + 0.5) * step_along,
                grid->from_across_mm + (row + 0.5) * step_across,
                &lux[row * grid->n_along + column], err);
            if (status != FL_OK) {
                return status;
            }
        }
    }
    return FL_OK;
}

/* The orange females of the mite neither feed nor lay in a short, cool day: no look sees damage
 * then, and the clock of the chance does not run for them. */
static const fl_short_day short_days[] = {
    {"twospotted_spider_mite", 14.0, 20.0, "assumed",
     "rests in short days when it is cool; 14 hours and 20 degrees end it: from memory"},
};

size_t fl_climate_short_day_count(void)
{
    return sizeof short_days / sizeof short_days[0];
}

fl_short_day fl_climate_short_day_at(size_t index)
{
    assert(index < fl_climate_short_day_count());
    return short_days[index];
}
