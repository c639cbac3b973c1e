/* Are the bins right? Light, air and water of every place that holds plants, against what those
 * plants want, and what would help. Start here; the science is core/climate, core/light, core/air.
 *
 * Nothing here is stored, and nothing refuses anything: a plant that thrives is never flagged. */
#ifndef FL_APP_CLIMATE_H
#define FL_APP_CLIMATE_H

#include "app/room.h"
#include "core/climate/air_at.h"
#include "core/climate/light_at.h"

/* Air changes an hour of a box: gasketed culture vessels have been measured (Chen and Chen 2002,
 * Plant Cell Tiss. Org. Cult. 71:103-109); a lid without a gasket has not (a guess). */
#define FL_CLIMATE_TIGHT_LOW 0.0145
#define FL_CLIMATE_TIGHT_HIGH 0.0376
#define FL_CLIMATE_LOOSE_LOW 0.3
#define FL_CLIMATE_LOOSE_HIGH 2.0
/* What is taken while nobody has told: assumed. */
#define FL_CLIMATE_ROOM_C 21.0
#define FL_CLIMATE_ROOM_RH_PCT 50.0
#define FL_CLIMATE_BOX_RH_PCT 95.0
#define FL_CLIMATE_MIX_SHARE 0.2 /* of a box's volume */
#define FL_CLIMATE_WATER 0.45    /* by volume of its mix */
#define FL_CLIMATE_USE_SHARE 0.2 /* of that, before plants want more */

typedef struct fl_climate_plant {
    const fl_lot *lot;
    const fl_know_plant *plant; /* NULL: not in data/plants.csv */
    bool is_thriving;
    fl_light_band band;
    fl_light_state state;
} fl_climate_plant;

typedef struct fl_climate_water {
    bool is_known;                                  /* the box's volume was told */
    double loss_low_g_per_day, loss_high_g_per_day; /* below 0: it gains from the room */
    double days_low, days_high;                     /* HUGE_VAL: it does not dry */
    double first_low_ml, first_high_ml;             /* for its mix when fresh */
    double mix_l;
    bool is_mix_told;
} fl_climate_water;

/* How urgent: the list's order. */
typedef enum fl_climate_rank {
    FL_CLIMATE_FINE = 0,
    FL_CLIMATE_UNTOLD, /* too little is known to say */
    FL_CLIMATE_WATCH,  /* one thing is off */
    FL_CLIMATE_ACT     /* harm is near: too hot, too cold */
} fl_climate_rank;

typedef struct fl_climate_place {
    const fl_ev_place_set *place;
    bool is_closed; /* a bin or a jar */
    fl_climate_facts facts;
    fl_light_at light;
    fl_climate_plant *plants; /* those of the lots that stand there; [n_plants] */
    size_t n_plants;
    unsigned light_states;       /* mask of 1u << fl_light_state over the plants */
    fl_light_band want;          /* what all of them can live with; low > high: no such light */
    fl_light_change change;      /* brings it there */
    const fl_ev_place_set *swap; /* with this place both would fit; NULL */
    fl_air_want air_want;
    const fl_series *series; /* NULL: no readings */
    fl_air_days days;        /* of the last FL_AIR_DAYS */
    unsigned air_states;     /* mask of 1u << fl_air_state */
    double room_c;           /* around it: the bench's readings, its set value, or 21 */
    bool is_lid_wet;         /* its dew point is above the room */
    double warmer_k;         /* what lamp and mat add, by the model; NAN */
    fl_climate_water water;
    fl_climate_rank rank;
} fl_climate_place;

/* A lamp over a shelf, and the places below it. */
#define FL_CLIMATE_GRID_ALONG 24
#define FL_CLIMATE_GRID_ACROSS 8
typedef struct fl_climate_shelf {
    int64_t shelf; /* -1: not told */
    fl_climate_lamp lamp;
    bool is_default; /* the lamp was not told */
    fl_light_grid grid;
    double *lux;                     /* [n_across * n_along], no lid */
    const fl_climate_place **places; /* by where they stand; [n_places] */
    size_t n_places;
} fl_climate_shelf;

typedef struct fl_climate {
    fl_climate_place *places; /* the most urgent first */
    size_t n_places;
    fl_climate_shelf *shelves;
    size_t n_shelves;
} fl_climate;

/* The climate of the room's places that are in use: bins, jars and open spots, and enclosures with
 * readings or a lamp. Everything in the arena; views into the room. */
fl_status fl_climate_of_room(const fl_room *room, fl_arena *arena, fl_climate *out,
                             fl_err *err) FL_MUST_USE;

/* One place of any kind but outside, also an enclosure of which nothing is told; no swap. */
fl_status fl_climate_of_place(const fl_room *room, const fl_ev_place_set *place, fl_arena *arena,
                              fl_climate_place *out, fl_err *err) FL_MUST_USE;

/* The place among them; NULL. */
const fl_climate_place *fl_climate_find(const fl_climate *climate, fl_id place);

#endif
