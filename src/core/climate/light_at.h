/* Light in a place, against what its plants want: from a meter's reading, else from the lamp as
 * told or the strip to start from; dark, fits or bright; what to change. */
#ifndef FL_CORE_CLIMATE_LIGHT_AT_H
#define FL_CORE_CLIMATE_LIGHT_AT_H

#include "core/climate/facts.h"
#include "core/know/know.h"

/* What passes the lid of a closed box when none was told: clarified polypropylene (assumed). */
#define FL_CLIMATE_LID 0.85
/* The longest day that is proposed (common practice, no source). */
#define FL_CLIMATE_HOURS_MAX 16.0
#define FL_CLIMATE_HOURS_MIN 4.0
/* Between these a lamp's height is proposed (what shelves allow). */
#define FL_CLIMATE_HEIGHT_MIN_MM 80.0
#define FL_CLIMATE_HEIGHT_MAX_MM 800.0

typedef struct fl_light_at {
    fl_climate_basis basis;
    double lux; /* at leaf height, under the lid */
    double ppfd_umol_m2_s;
    double hours;
    double dli_mol_m2_d;
    double lux_per_umol;
    const char *factor_source; /* static */
    double lid;                /* share that passes; 1: no lid, or a reading under it */
} fl_light_at;

/* Illuminance of a lamp at a point, all strips, no lid, lx. height_mm above 0. FL_EDOMAIN. */
fl_status fl_climate_lamp_lux(const fl_climate_lamp *lamp, double height_mm, double along_mm,
                              double across_mm, double *lux, fl_err *err) FL_MUST_USE;

/* Light in a place.
 *   is_closed  it has a lid when none was told of
 * A reading in photons wins over one in lux, either over the lamp's label. */
fl_status fl_climate_light(const fl_climate_facts *facts, bool is_closed, fl_light_at *out,
                           fl_err *err) FL_MUST_USE;

/* X(enum, word, what it says) */
#define FL_LIGHT_STATE_LIST(X)                                                                     \
    X(FL_LIGHT_UNKNOWN, "unknown", "what it wants is not known")                                   \
    X(FL_LIGHT_FITS, "fits", "fits")                                                               \
    X(FL_LIGHT_DARK, "dark", "dark")                                                               \
    X(FL_LIGHT_BRIGHT, "bright", "bright")                                                         \
    X(FL_LIGHT_THRIVES, "thrives", "thrives here: leave it")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_light_state { FL_LIGHT_STATE_LIST(FL_WORD_ENUM) FL_LIGHT_STATES } fl_light_state;
#undef FL_WORD_ENUM
extern const fl_word fl_words_light_state[FL_LIGHT_STATES];

/* Daily light that a plant's class wants, mol m-2 d-1: its band of PPFD over twelve hours. */
typedef struct fl_light_band {
    double low, high;  /* NAN: not known */
    bool is_published; /* the table's row says so; else from memory, or a hobby page */
} fl_light_band;
fl_light_band fl_climate_band_of(const fl_know_plant *plant);

/* The state of a plant under so much light a day. plant NULL: unknown. */
fl_light_state fl_climate_judge(const fl_know_plant *plant, bool is_thriving, double dli_mol_m2_d);

/* What would bring a place into a band of daily light; NAN for what does not help. */
typedef struct fl_light_change {
    double hours;     /* lit a day */
    double height_mm; /* of the lamp, for a lamp that was told or the default */
} fl_light_change;
void fl_climate_change(const fl_climate_facts *facts, const fl_light_at *light,
                       const fl_light_band *want, fl_light_change *out);

/* A heat map: lux at leaf height without a lid, row by row, over a rectangle around the lamp's
 * middle; lux[n_across * n_along], cell middles. FL_EDOMAIN. */
typedef struct fl_light_grid {
    double from_along_mm, to_along_mm;
    double from_across_mm, to_across_mm;
    int n_along, n_across; /* 1 to 200 each (asserted) */
} fl_light_grid;
fl_status fl_climate_grid(const fl_climate_lamp *lamp, const fl_light_grid *grid, double *lux,
                          fl_err *err) FL_MUST_USE;

/* Pests that pause in a short day, and say nothing of themselves meanwhile. */
typedef struct fl_short_day {
    const char *threat; /* code */
    double below_hours; /* of light */
    double below_c;     /* and colder than this */
    const char *grade;  /* measured, practice, assumed */
    const char *source; /* static */
} fl_short_day;
size_t fl_climate_short_day_count(void);
fl_short_day fl_climate_short_day_at(size_t index);

#endif
