/* Compares a plant's row with a place, aspect by aspect. */
#include "core/climate/suits.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/climate/light_at.h"
#include "data/suits.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_suits_aspect[FL_SUITS_ASPECTS] = {FL_SUITS_ASPECT_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_suits_state[FL_SUITS_STATES] = {FL_SUITS_STATE_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_suits_basis[FL_SUITS_BASES] = {FL_SUITS_BASIS_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_suits_harm[FL_SUITS_HARMS] = {FL_SUITS_HARM_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_suits_light[FL_SUITS_CLASSES] = {FL_SUITS_LIGHT_LIST(FL_WORD_ENTRY)};
#undef FL_WORD_ENTRY

/* Foot-candles times lux a foot-candle by the factor of white light, over twelve hours. */
#define LUX_PER_FC 10.764
#define LUX_PER_UMOL 70.0
#define DLI_OF_FC(fc) ((fc)*LUX_PER_FC / LUX_PER_UMOL * 12.0 * 3600.0 / 1e6)
#define FC_LOW 50.0
#define FC_MEDIUM 250.0
#define FC_HIGH 1000.0

fl_suits_light fl_suits_light_class(double dli_mol_m2_d)
{
    if (dli_mol_m2_d < DLI_OF_FC(FC_LOW)) {
        return FL_SUITS_CLASS_NONE;
    }
    if (dli_mol_m2_d < DLI_OF_FC(FC_MEDIUM)) {
        return FL_SUITS_CLASS_LOW;
    }
    return dli_mol_m2_d < DLI_OF_FC(FC_HIGH) ? FL_SUITS_CLASS_MEDIUM : FL_SUITS_CLASS_HIGH;
}

bool fl_suits_humidity_class(const char *humidity_class, double *low_pct, double *high_pct)
{
    static const double low[] = {40.0, 55.0, 75.0};
    static const double high[] = {60.0, 75.0, 95.0};
    int first = 0;
    int last = 0;
    if (humidity_class[0] != 'H' || humidity_class[1] < '1' || humidity_class[1] > '3') {
        return false;
    }
    first = last = humidity_class[1] - '1';
    if (humidity_class[2] == '-' && humidity_class[3] >= '1' && humidity_class[3] <= '3') {
        last = humidity_class[3] - '1';
    }
    *low_pct = low[first];
    *high_pct = high[last];
    return true;
}

static fl_suits_harm harm_of(const char *word)
{
    for (int i = 0; i < FL_SUITS_HARMS; i++) {
        if (strcmp(fl_words_suits_harm[i].word, word) == 0) {
            return (fl_suits_harm)i;
        }
    }
    return FL_HARM_UNKNOWN;
}

fl_suits_plant fl_suits_plant_of(const fl_know_plant *plant)
{
    fl_suits_plant none = {.habit = "",
                           .height_low_mm = (double)NAN,
                           .height_high_mm = (double)NAN,
                           .spread_mm = (double)NAN,
                           .size_grade = "",
                           .size_source = "",
                           .harm = FL_HARM_UNKNOWN,
                           .harm_grade = ""};
    for (size_t i = 0; plant != NULL && i < fl_rows_suits_count; i++) {
        const struct fl_row_suits *row = &fl_rows_suits[i];
        if (strcmp(row->plant, plant->code) == 0) {
            return (fl_suits_plant){.habit = row->habit,
                                    .height_low_mm = row->height_low_mm,
                                    .height_high_mm = row->height_high_mm,
                                    .spread_mm = row->spread_mm,
                                    .size_grade = row->size_grade,
                                    .size_source = row->size_source,
                                    .harm = harm_of(row->harm),
                                    .harm_grade = row->harm_grade};
        }
    }
    return none;
}

bool fl_suits_is_trimmed(const fl_suits_plant *plant)
{
    return strcmp(plant->habit, "creeps") == 0 || strcmp(plant->habit, "climbs") == 0 ||
           strcmp(plant->habit, "hangs") == 0;
}

/* ---- aspects ---- */

static fl_suits_state judge_light(const fl_know_plant *plant, const fl_suits_site *site)
{
    const fl_light_band band = fl_climate_band_of(plant);
    const double dli = site->dli_mol_m2_d;
    if (isnan(dli) || isnan(band.low) || isnan(band.high)) {
        return FL_SUITS_UNKNOWN;
    }
    if (dli >= band.low && dli <= band.high) {
        return FL_SUITS_FITS;
    }
    return dli * FL_SUITS_LIGHT_EDGE >= band.low && dli <= band.high * FL_SUITS_LIGHT_EDGE
               ? FL_SUITS_EDGE
               : FL_SUITS_AGAINST;
}

static fl_suits_state judge_humidity(const fl_know_plant *plant, const fl_suits_site *site)
{
    if (plant->rots_when_closed && site->is_closed) {
        return FL_SUITS_AGAINST;
    }
    if (isnan(site->rh_pct) || isnan(plant->rh_min_pct)) {
        return FL_SUITS_UNKNOWN;
    }
    if (site->rh_pct >= plant->rh_min_pct) {
        return FL_SUITS_FITS;
    }
    return site->rh_pct + FL_SUITS_RH_EDGE_PCT >= plant->rh_min_pct ? FL_SUITS_EDGE
                                                                    : FL_SUITS_AGAINST;
}

static fl_suits_state judge_warmth(const fl_know_plant *plant, const fl_suits_site *site)
{
    if (isnan(site->temp_mean_c) || isnan(plant->temp_opt_lo_c) || isnan(plant->temp_opt_hi_c)) {
        return FL_SUITS_UNKNOWN;
    }
    if (site->temp_min_c < plant->temp_min_c ||
        site->temp_max_c > plant->temp_opt_hi_c + FL_SUITS_TEMP_EDGE_C) {
        return FL_SUITS_AGAINST;
    }
    return site->temp_mean_c >= plant->temp_opt_lo_c && site->temp_mean_c <= plant->temp_opt_hi_c
               ? FL_SUITS_FITS
               : FL_SUITS_EDGE;
}

/* What is cut back need only have room for its leaves; a clump must have room for itself. */
static fl_suits_state judge_size(const fl_suits_plant *plant, const fl_suits_site *site)
{
    const double across_mm = fmin(site->length_mm, site->width_mm);
    if (isnan(site->height_mm) || isnan(plant->height_low_mm)) {
        return FL_SUITS_UNKNOWN;
    }
    if (plant->height_low_mm > site->height_mm ||
        (!isnan(plant->spread_mm) && plant->spread_mm > 2.0 * across_mm)) {
        return FL_SUITS_AGAINST;
    }
    return plant->height_high_mm > site->height_mm || plant->spread_mm > across_mm ? FL_SUITS_EDGE
                                                                                   : FL_SUITS_FITS;
}

/* Never "fits": no list that we read is about the animals of an enclosure. */
static fl_suits_state judge_animals(const fl_suits_plant *plant, const fl_suits_site *site)
{
    if (!site->has_animals) {
        return FL_SUITS_NO_QUESTION;
    }
    if (plant->harm == FL_HARM_IRRITANT && site->may_eat_leaves) {
        return FL_SUITS_AGAINST;
    }
    return plant->harm >= FL_HARM_DIFFERS ? FL_SUITS_EDGE : FL_SUITS_UNKNOWN;
}

fl_suits_state fl_suits_judge(fl_suits_aspect aspect, const fl_know_plant *plant,
                              const fl_suits_site *site, bool is_thriving)
{
    const fl_suits_plant more = fl_suits_plant_of(plant);
    if (is_thriving && aspect != FL_SUITS_ANIMALS) {
        return FL_SUITS_THRIVES;
    }
    if (plant == NULL && aspect != FL_SUITS_ANIMALS) {
        return FL_SUITS_UNKNOWN;
    }
    switch (aspect) {
    case FL_SUITS_LIGHT:
        return judge_light(plant, site);
    case FL_SUITS_HUMIDITY:
        return judge_humidity(plant, site);
    case FL_SUITS_WARMTH:
        return judge_warmth(plant, site);
    case FL_SUITS_SIZE:
        return judge_size(&more, site);
    case FL_SUITS_ANIMALS:
        return judge_animals(&more, site);
    case FL_SUITS_ASPECTS:
    default:
        assert(!"an aspect");
        return FL_SUITS_UNKNOWN;
    }
}

fl_suits_state fl_suits_whole(const fl_suits_state state[FL_SUITS_ASPECTS])
{
    fl_suits_state worst = FL_SUITS_FITS;
    if (state[FL_SUITS_LIGHT] == FL_SUITS_THRIVES) {
        return FL_SUITS_THRIVES;
    }
    for (int i = 0; i < FL_SUITS_ASPECTS; i++) {
        worst = state[i] > worst && state[i] != FL_SUITS_NO_QUESTION ? state[i] : worst;
    }
    return worst;
}
