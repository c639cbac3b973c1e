/* Temperature and humidity of a place over its last days, against what its plants want. */
#ifndef FL_CORE_CLIMATE_AIR_AT_H
#define FL_CORE_CLIMATE_AIR_AT_H

#include "core/know/know.h"

/* How far back a place is judged, and how many of those hours must have readings. */
#define FL_AIR_DAYS 7
#define FL_AIR_HOURS_LEAST 12
/* A tenth of the hours out of range is worth a word. */
#define FL_AIR_SHARE 0.1
/* Air this damp, with water on the leaves, lets grey mould in (from memory). */
#define FL_AIR_DAMP_PCT 95.0
/* Warmer than the best by this much harms even tropical plants, and roots sooner (assumed). */
#define FL_AIR_HOT_OVER_C 5.0

/* What the plants of a place want together. NAN: none of them says. */
typedef struct fl_air_want {
    double temp_min_c;    /* the tenderest: harm below */
    double temp_opt_lo_c; /* the highest of their lower ends */
    double temp_opt_hi_c; /* the lowest of their upper ends */
    double rh_min_pct;    /* the most demanding */
} fl_air_want;

/* Takes one more plant into it; begin with fl_air_want_none. plant NULL changes nothing. */
fl_air_want fl_air_want_none(void);
void fl_air_want_add(fl_air_want *want, const fl_know_plant *plant);

/* Hours of the last days, by what they were. */
typedef struct fl_air_days {
    int n_temp; /* hours with a temperature */
    int n_rh;
    double temp_mean_c, temp_min_c, temp_max_c; /* NAN: none */
    double rh_mean_pct, rh_min_pct, rh_max_pct; /* NAN: none */
    double vpd_mean_kpa;                        /* leaf at air temperature; NAN */
    double dew_point_c;                         /* of the means; NAN */
    double absolute_humidity_g_m3;              /* of the means; NAN */
    int n_harm;                                 /* hours below the tenderest plant's least */
    int n_cool;                                 /* below the best, not harm */
    int n_warm;                                 /* above the best */
    int n_hot;                                  /* above it by FL_AIR_HOT_OVER_C */
    int n_dry;  /* humidity below the most demanding plant's least */
    int n_damp; /* above FL_AIR_DAMP_PCT */
} fl_air_days;

/* Sorts hours: temp_c[n], rh_pct[n], NAN where there is no reading. */
void fl_air_days_of(const double *temp_c, const double *rh_pct, int n, const fl_air_want *want,
                    fl_air_days *out);

/* X(enum, word, what it says): the worst comes last. */
#define FL_AIR_STATE_LIST(X)                                                                       \
    X(FL_AIR_NO_READINGS, "no_readings", "no readings of these days")                              \
    X(FL_AIR_FITS, "fits", "fits")                                                                 \
    X(FL_AIR_DAMP, "damp", "very damp")                                                            \
    X(FL_AIR_COOL, "cool", "cool")                                                                 \
    X(FL_AIR_WARM, "warm", "warm")                                                                 \
    X(FL_AIR_DRY, "dry", "dry")                                                                    \
    X(FL_AIR_COLD, "cold", "too cold")                                                             \
    X(FL_AIR_HOT, "hot", "too hot")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_air_state { FL_AIR_STATE_LIST(FL_WORD_ENUM) FL_AIR_STATES } fl_air_state;
#undef FL_WORD_ENUM
extern const fl_word fl_words_air_state[FL_AIR_STATES];

/* The mask of 1u << fl_air_state that these days deserve; never 0. A tenth of the hours, but an
 * hour of harm or heat is enough. */
unsigned fl_air_judge(const fl_air_days *days);

#endif
