/* Builds: planned enclosures with a need-by date, worked backwards through what stands ready, what
 * the mothers can give, and what must be bought, quarantined and housed in a bin until then.
 *
 * A build is an event (build_planned); its wants are the event's plan_json, read here. Nothing is
 * stored: a study is made from a snapshot of the room, so that a find or a release changes it. The
 * days of a way are asked of the gate itself, in a room in which the purchase was made. */
#ifndef FL_APP_BUILD_H
#define FL_APP_BUILD_H

#include "app/app.h"
#include "app/gate.h"
#include "app/room.h"
#include "core/builds/builds.h"

#define FL_BUILDS_MAX 16 /* open builds studied together */
#define FL_BUILD_ITEMS_MAX 40
#define FL_BUILD_MATERIALS_MAX 12
#define FL_BUILD_SETTLE_DAYS 7 /* planted so long before it is needed, when not told otherwise */

/* Plants of one kind that a build asks for. */
typedef struct fl_build_item {
    fl_sv name;
    fl_id plant;              /* of the room; none when nobody defined it yet */
    const fl_know_plant *row; /* NULL: not in data/plants.csv */
    int count;
    fl_id source; /* where it would be bought, when told; none */
} fl_build_item;

/* Material by volume: a recipe of data/mix_recipes.csv or a name. */
typedef struct fl_build_material {
    fl_sv name;
    double volume_l; /* finished; NAN: not told */
} fl_build_material;

/* A build as it was last planned. */
typedef struct fl_build {
    const fl_event *event;
    const fl_ev_build_planned *body;
    unsigned uses;  /* the enclosure's, with those of the plan; at least one */
    int64_t need_s; /* local noon of the day it is needed */
    int settle_days;
    double length_mm, width_mm, height_mm; /* inside; NAN when not told */
    double substrate_mm, drainage_mm;      /* depths; NAN */
    fl_build_item items[FL_BUILD_ITEMS_MAX];
    size_t n_items;
    fl_build_material materials[FL_BUILD_MATERIALS_MAX];
    size_t n_materials;
    bool is_done;
    fl_sv trouble; /* why its plan could not be read; empty */
} fl_build;

/* Reads the plan of one event:
 *   {"uses":["amphibian"],"settle_days":7,"size_mm":[600,450,450],"substrate_mm":80,
 *    "drainage_mm":40,"plants":[{"name":"Ficus pumila","count":3,"source":"UUID"}],
 *    "materials":[{"name":"epiphyte","volume_l":12},"leaf_litter"],"is_done":false}
 * all optional; a plant may be named by "plant" (its UUID) too. Views into the room and the arena.
 * FL_EFORMAT, FL_EINVAL or FL_EDOMAIN naming the build and the member. */
fl_status fl_build_read(const fl_room *room, const fl_event *event, fl_arena *arena, fl_build *out,
                        fl_err *err) FL_MUST_USE;

/* Builds that are still ahead: not marked "is_done" in their plan, and not needed more than 30 days
 * ago; by need-by day. At most FL_BUILDS_MAX, the first that were planned. A plan that cannot be
 * read is there with its trouble and no items. */
void fl_builds_open(const fl_room *room, fl_arena *arena, fl_build **out, size_t *count);

/* X(enum, word, what a person reads) */
#define FL_BUILD_MEANS_LIST(X)                                                                     \
    X(FL_BUILD_FROM_STOCK, "stock", "on the shelf")                                                \
    X(FL_BUILD_BY_CUTTING, "cut", "cuttings of a mother")                                          \
    X(FL_BUILD_BY_BUYING, "buy", "bought")                                                         \
    X(FL_BUILD_NOT_AT_ALL, "none", "no way is known")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_build_means {
    FL_BUILD_MEANS_LIST(FL_WORD_ENUM) FL_BUILD_MEANS_COUNT
} fl_build_means;
#undef FL_WORD_ENUM
extern const fl_word fl_words_build_means[FL_BUILD_MEANS_COUNT];

/* A way that was asked of the gate, open or not. */
typedef struct fl_build_prospect {
    fl_build_means means;           /* cut or buy */
    const fl_ev_source_set *source; /* of buy */
    const fl_lot *mother;           /* of cut */
    fl_form form;
    int spare;                 /* of cut: how many she can give; of buy: INT_MAX */
    int first_day;             /* of cut: when it can give again */
    int gate_days;             /* from the bin's first day until the gate would open; -1: never */
    int rooting_days;          /* of cut: 0 when not known, or no cutting */
    fl_condition_kind binding; /* what the gate waits for, or never opens for */
    double sum;                /* weighted, under the strictest use, when it opens */
} fl_build_prospect;

/* One line of the plan: some plants of one item by one means. */
typedef struct fl_build_line {
    const fl_build_item *item;
    int count;
    fl_build_means means;
    const fl_lot *lot;                  /* of stock */
    const fl_build_prospect *prospect;  /* of cut and buy; NULL */
    const fl_build_cohort *cohort;      /* of cut and buy; NULL when there is no bin at all */
    const fl_ev_place_set *bin;         /* NULL likewise */
    int64_t ready_s;                    /* FL_GATE_NEVER */
    double sum;                         /* weighted, as it would go in */
    int64_t from_s, by_s;               /* begin between these days; of cut and buy */
    const fl_build_prospect *prospects; /* all ways that were asked, the first n_prospects */
    size_t n_prospects;
} fl_build_line;

typedef struct fl_build_outlook {
    const fl_build *build;
    fl_build_line *lines;
    size_t n_lines;
    int64_t plant_s;      /* the day the plants must be ready: need-by less settling */
    int64_t ready_s;      /* when all of them are; FL_GATE_NEVER: something has no way */
    int64_t first_need_s; /* the first day it can be needed: ready and settled; FL_GATE_NEVER */
    double sum;           /* weighted, under its strictest use, over all lots as they would go in */
    const fl_build_line *worst; /* adds most to the sum; NULL */
    double worst_sum;
} fl_build_outlook;

/* X(enum, word, what it asks) */
#define FL_BUILD_HELP_LIST(X)                                                                      \
    X(FL_BUILD_HELP_BIN, "bin", "one more bin")                                                    \
    X(FL_BUILD_HELP_CULTURE, "tissue_culture", "tissue culture instead of what is bought now")     \
    X(FL_BUILD_HELP_WARM, "warm", "the bins at 25 degrees")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_build_help { FL_BUILD_HELP_LIST(FL_WORD_ENUM) FL_BUILD_HELP_COUNT } fl_build_help;
#undef FL_WORD_ENUM
extern const fl_word fl_words_build_help[FL_BUILD_HELP_COUNT];

typedef struct fl_build_study {
    const fl_room *room;
    fl_build_outlook *builds;
    size_t n_builds;
    fl_build_plan plan;           /* over all builds; days from today */
    const fl_ev_place_set **bins; /* [n_bins]: of the plan's bins */
    int *bin_free_day;            /* [n_bins] */
    size_t n_bins;
    size_t n_bins_shut;                      /* hold what does not open as things go, or stock */
    int help_late_days[FL_BUILD_HELP_COUNT]; /* late_days then; -1: not asked, nothing is late */
} fl_build_study;

/* Studies all open builds together. Views into room, builds and arena. The app gives the memo. */
fl_status fl_build_study_make(const fl_room *room, fl_app *app, const fl_build *builds,
                              size_t n_builds, fl_arena *arena, fl_build_study *out,
                              fl_err *err) FL_MUST_USE;

/* Days for roots at a temperature: the table's days at 23 C by a Q10 of 2, between 18 and 28 C
 * (assumed; light-climate-substrate 5). days NAN: NAN. */
double fl_build_rooting_days(double days_at_23, double temp_c);

#endif
