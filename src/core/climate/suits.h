/* Does a plant suit a place: light, humidity, warmth, size, and the animals in it, each by itself,
 * each with how well both sides of it are known. Start here; the plant's side is data/plants.csv
 * and data/suits.csv.
 *
 * Nothing here says "safe": lists of poisonous plants are made for people and pets, what no list
 * names is not known, and a plant that visibly thrives is not argued with. */
#ifndef FL_CORE_CLIMATE_SUITS_H
#define FL_CORE_CLIMATE_SUITS_H

#include "core/know/know.h"

/* X(enum, word, what it is) */
#define FL_SUITS_ASPECT_LIST(X)                                                                    \
    X(FL_SUITS_LIGHT, "light", "light")                                                            \
    X(FL_SUITS_HUMIDITY, "humidity", "humidity")                                                   \
    X(FL_SUITS_WARMTH, "warmth", "warmth")                                                         \
    X(FL_SUITS_SIZE, "size", "size")                                                               \
    X(FL_SUITS_ANIMALS, "animals", "animals")
/* X(enum, word, what it says): in the order of concern. */
#define FL_SUITS_STATE_LIST(X)                                                                     \
    X(FL_SUITS_FITS, "fits", "fits")                                                               \
    X(FL_SUITS_THRIVES, "thrives", "thrives here: leave it")                                       \
    X(FL_SUITS_NO_QUESTION, "no_question", "no question here")                                     \
    X(FL_SUITS_UNKNOWN, "unknown", "not known")                                                    \
    X(FL_SUITS_EDGE, "edge", "at the edge")                                                        \
    X(FL_SUITS_AGAINST, "against", "speaks against it")
/* X(enum, word, what it is): where the place's side comes from. */
#define FL_SUITS_BASIS_LIST(X)                                                                     \
    X(FL_SUITS_UNTOLD, "untold", "nothing is told of it")                                          \
    X(FL_SUITS_TOLD, "told", "as told")                                                            \
    X(FL_SUITS_MEASURED, "measured", "measured here")
/* X(enum, word, what lists say of a plant's harm) */
#define FL_SUITS_HARM_LIST(X)                                                                      \
    X(FL_HARM_UNKNOWN, "unknown", "whether it harms animals is not known")                         \
    X(FL_HARM_NOT_LISTED, "not_listed", "no list that we read names it, which is no claim")        \
    X(FL_HARM_NAMED, "named", "a list for people or pets names it as not poisonous")               \
    X(FL_HARM_DIFFERS, "differs", "sources differ on it")                                          \
    X(FL_HARM_IRRITANT, "irritant", "its sap or leaf irritates or harms when touched or eaten")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_suits_aspect {
    FL_SUITS_ASPECT_LIST(FL_WORD_ENUM) FL_SUITS_ASPECTS
} fl_suits_aspect;
typedef enum fl_suits_state { FL_SUITS_STATE_LIST(FL_WORD_ENUM) FL_SUITS_STATES } fl_suits_state;
typedef enum fl_suits_basis { FL_SUITS_BASIS_LIST(FL_WORD_ENUM) FL_SUITS_BASES } fl_suits_basis;
typedef enum fl_suits_harm { FL_SUITS_HARM_LIST(FL_WORD_ENUM) FL_SUITS_HARMS } fl_suits_harm;
#undef FL_WORD_ENUM
extern const fl_word fl_words_suits_aspect[FL_SUITS_ASPECTS];
extern const fl_word fl_words_suits_state[FL_SUITS_STATES];
extern const fl_word fl_words_suits_basis[FL_SUITS_BASES];
extern const fl_word fl_words_suits_harm[FL_SUITS_HARMS];

/* How a plant grows and how big it gets (data/suits.csv). */
typedef struct fl_suits_plant {
    const char *habit;      /* clump, creeps, climbs, hangs */
    double height_low_mm;   /* of the foliage of a grown plant; NAN: not known */
    double height_high_mm;  /* NAN */
    double spread_mm;       /* NAN: not known, or it grows on as long as it is let */
    const char *size_grade; /* published, memory */
    const char *size_source;
    fl_suits_harm harm;
    const char *harm_grade; /* published, memory; "" where nothing is known */
} fl_suits_plant;
/* The row of a plant of data/plants.csv. plant NULL: nothing is known. */
fl_suits_plant fl_suits_plant_of(const fl_know_plant *plant);

/* True for what grows on and is cut back from time to time: it creeps, climbs or hangs. */
bool fl_suits_is_trimmed(const fl_suits_plant *plant);

/* A place, as far as it is known; NAN: not known. */
typedef struct fl_suits_site {
    double dli_mol_m2_d;
    fl_suits_basis light_basis;
    double rh_pct; /* usual */
    fl_suits_basis rh_basis;
    double temp_min_c, temp_mean_c, temp_max_c; /* all alike for a set value */
    fl_suits_basis temp_basis;
    double length_mm, width_mm, height_mm; /* free of mix: above it */
    bool is_closed;                        /* little air goes through it */
    bool has_animals;                      /* now or planned, the clean-up crew counts */
    bool may_eat_leaves;                   /* reptiles: some do */
} fl_suits_site;

/* A degree beyond the best is no matter; so much beyond is at the edge, more speaks against it
 * (our judgement). Humidity so far below the least is at the edge. */
#define FL_SUITS_TEMP_EDGE_C 5.0
#define FL_SUITS_RH_EDGE_PCT 10.0
/* Light within this factor outside of the band is at the edge. */
#define FL_SUITS_LIGHT_EDGE 1.5

/* One aspect of one plant there. plant NULL: unknown, but where no animals are. is_thriving: it
 * stands there and visibly does well: then light, humidity, warmth and size are not judged. */
fl_suits_state fl_suits_judge(fl_suits_aspect aspect, const fl_know_plant *plant,
                              const fl_suits_site *site, bool is_thriving);

/* Of the four but light to size, and animals: the one of most concern, `thrives` where it does. */
fl_suits_state fl_suits_whole(const fl_suits_state state[FL_SUITS_ASPECTS]);

/* Classes of light as extension services draw them for indoor plants, by photons over twelve hours:
 * low 50 to 250 foot-candles, medium to 1000, high above (University of Missouri Extension G6515,
 * under white light: light-climate-substrate 1.5, light-classes.csv). */
#define FL_SUITS_LIGHT_LIST(X)                                                                     \
    X(FL_SUITS_CLASS_NONE, "below_low", "below the low class")                                     \
    X(FL_SUITS_CLASS_LOW, "low", "low")                                                            \
    X(FL_SUITS_CLASS_MEDIUM, "medium", "medium")                                                   \
    X(FL_SUITS_CLASS_HIGH, "high", "high")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_suits_light { FL_SUITS_LIGHT_LIST(FL_WORD_ENUM) FL_SUITS_CLASSES } fl_suits_light;
#undef FL_WORD_ENUM
extern const fl_word fl_words_suits_light[FL_SUITS_CLASSES];
/* dli_mol_m2_d >= 0. */
fl_suits_light fl_suits_light_class(double dli_mol_m2_d);

/* Relative humidity that a class of data/plants.csv means, percent: H1 40 to 60, H2 55 to 75, H3 75
 * to 95 (light-climate-substrate 4.0); "H1-2" from the first's least to the second's most. false
 * for a text that names none. */
bool fl_suits_humidity_class(const char *humidity_class, double *low_pct, double *high_pct);

#endif
