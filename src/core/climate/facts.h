/* What the keeper told of a place's light, air and water: the lamp over it, its lid, a meter's
 * reading, its mix. Start here; how light is judged is in light_at.h, air in air_at.h. */
#ifndef FL_CORE_CLIMATE_FACTS_H
#define FL_CORE_CLIMATE_FACTS_H

#include "event/event.h"

/* Where to start from while nothing is told of a lamp (common practice, no source): a 5000 K strip
 * of 3,200 lm, six hours on, eighteen off; its length and height are what such strips have. */
#define FL_CLIMATE_LUMENS 3200.0
#define FL_CLIMATE_STRIP_MM 1200.0
#define FL_CLIMATE_HEIGHT_MM 300.0
#define FL_CLIMATE_HOURS 6.0

typedef struct fl_climate_lamp {
    fl_sv code;          /* of data/lamps.csv; empty: a white LED */
    double lux_per_umol; /* 0: the table's */
    double lumens;       /* of one strip */
    double length_mm;
    double height_mm;
    double along_mm; /* the place's middle from below the lamp's middle */
    double across_mm;
    int64_t count; /* strips side by side, 1 or more */
    double spacing_mm;
    double hours; /* lit a day */
    double watts; /* 0: not told */
} fl_climate_lamp;

typedef enum fl_climate_basis {
    FL_BASIS_DEFAULT = 0, /* nothing told: the strip to start from */
    FL_BASIS_FIXTURE,     /* the lamp as told */
    FL_BASIS_READING,     /* a meter's reading at leaf height */
    FL_BASIS_DARK         /* told: no lamp */
} fl_climate_basis;

typedef struct fl_climate_facts {
    fl_climate_lamp lamp; /* as told, or the default */
    bool is_lamp_told;
    bool has_no_lamp;
    int64_t lamp_s;   /* when the lamp was last told; INT64_MIN */
    double light_lux; /* a reading that still holds; 0: none */
    double light_umol_m2_s;
    int64_t reading_s;
    fl_sv lid;        /* a code, "none", or empty */
    double length_mm; /* inside; 0: not told */
    double width_mm;
    double height_mm;
    double rh_pct; /* told: the usual humidity; 0: not told */
    double mix_l;
    double mat_watts;
} fl_climate_facts;

/* Puts together what the place_set events of a place told.
 *   events  live, in the canonical order
 * A member that an event leaves out stays as told before; what belongs to the lamp is replaced
 * whole; a reading holds until the lamp is told in a later event. */
void fl_climate_facts_of(const fl_event *events, size_t n_events, fl_id place,
                         fl_climate_facts *out);

/* True when two lamps are one: the same strips at the same height and hours, wherever the places
 * stand below. */
bool fl_climate_same_lamp(const fl_climate_lamp *a, const fl_climate_lamp *b);

#endif
