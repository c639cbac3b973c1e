/* What fernlock knows, compiled in from data/ (one CSV file a table). Start reading here.
 *
 * Every number carries a grade (measured, practice, assumed) and a source key of data/sources.csv.
 * Tables are static and never change; a keeper's own values are laid over them as fl_know_override
 * entries, which come from events. Codes are short stable ASCII words ("fungus_gnat"). */
#ifndef FL_CORE_KNOW_KNOW_H
#define FL_CORE_KNOW_KNOW_H

#include <stdbool.h>
#include <stddef.h>

#include "base/hash.h"
#include "base/sv.h"
#include "core/clear/model.h"
#include "event/words.h"

typedef enum fl_grade { FL_GRADE_MEASURED = 0, FL_GRADE_PRACTICE, FL_GRADE_ASSUMED } fl_grade;

/* What a threat is. Only FL_CLASS_PEST is in the gate's weighted sum. */
typedef enum fl_threat_class {
    FL_CLASS_PEST = 0, /* arthropods, molluscs, nematodes, worms */
    FL_CLASS_STOWAWAY, /* frogs and their eggs: looked for, not summed */
    FL_CLASS_PATHOGEN  /* animal pathogens: a rule of their own (design, gate) */
} fl_threat_class;

/* Where a stage lives: decides what a look can see (data/visibility.csv). */
typedef enum fl_where {
    FL_WHERE_PLAIN = 0, /* plain to the eye */
    FL_WHERE_LENS,      /* needs a lens */
    FL_WHERE_ROOT,      /* root zone or mix */
    FL_WHERE_HIDDEN,    /* in tissue, never seen */
    FL_WHERE_COUNT
} fl_where;

typedef struct fl_know_stage {
    const char *name; /* "egg", "larva", … the last is the reproducing one */
    fl_where where;
    double start_share;   /* of what arrives; the shares of a threat sum to 1 */
    bool is_breeding;     /* seeing it means eggs may have been laid */
    bool is_night_active; /* a look after dark sees it better (slugs, snails) */
    bool rides_a_cutting; /* can be on an unrooted cutting (not in mix or on roots) */
    fl_grade grade;       /* of this stage's development figures */
    const char *source;   /* keys of sources.csv, '|' between */
    const char *note;     /* one line: what the figures rest on */
} fl_know_stage;

typedef struct fl_threat {
    const char *code;  /* "fungus_gnat" */
    const char *name;  /* "fungus gnat" */
    const char *latin; /* "Bradysia impatiens, B. coprophila" */
    fl_threat_class class;
    const char *trait;           /* how it gets about: key of links.csv and room.csv ("crawler") */
    bool is_mobile;              /* reaches every lot of its pool; else it stays on its lot */
    bool is_flier;               /* an adult stage flies */
    bool is_root_zone;           /* rides roots and mix only */
    bool is_out_of_reach;        /* no stage can be seen or treated here (4.12) */
    double prior;                /* P(a potted chain-store purchase carries it), 0 to 1 */
    double weight[FL_USE_COUNT]; /* by use, 0 to 1 */
    int n_stages;                /* 2 to FL_STAGES_MAX; 0 for pathogens, which have no clock */
    fl_know_stage stage[FL_STAGES_MAX];
    fl_stage_model fast;    /* soonest credible development */
    fl_stage_model slow;    /* slowest credible development: the gate's */
    fl_grade grade;         /* of the development figures */
    const char *source;     /* keys of sources.csv, '|' between */
    const char *look_where; /* one line: where to look */
    const char *harm;       /* one line: what it does, and to animals */
} fl_threat;

/* All threats in the order of data/threats.csv; index < count. */
size_t fl_know_threat_count(void);
const fl_threat *fl_know_threat(size_t index);
/* By code; NULL when unknown. */
const fl_threat *fl_know_threat_find(fl_sv code);

/* The prior that a purchase of this source kind and form carries the threat, with where it comes
 * from. own enclosure gives the chain-store figure here; app puts the enclosure's own chance in its
 * place. */
typedef struct fl_know_prior {
    double prob;        /* 0 to 1 */
    double base;        /* the threat's */
    double kind_factor; /* by source kind */
    double form_factor; /* by form */
    fl_grade grade;
} fl_know_prior;
fl_know_prior fl_know_prior_of(const fl_threat *threat, fl_source_kind kind, fl_form form);

/* The factor on the prior of a collection that has been here, quiet, for a year. */
double fl_know_already_here_factor(const fl_threat *threat);

/* Share of stage `stage` that lives through one step, 0 to 1 (the single step's own figure; floors
 * are the caller's, fl_know_step_floor), with grade and source. A soak in an agent counts as a dip
 * in it. For hot water this is what a published temperature and time do: where
 * fl_know_hot_water_counts says no, the caller takes 1. Bake, boil, freeze, dry: materials only. */
typedef struct fl_know_survival {
    double survival;
    fl_grade grade;
    const char *source;
} fl_know_survival;
fl_know_survival fl_know_survival_of(const fl_threat *threat, int stage, fl_step step,
                                     fl_agent agent);
/* True when heat was published to kill this kind of pest at this temperature and time, or at less
 * of both (data/hot_water.csv). NAN for either: false. */
bool fl_know_hot_water_counts(const fl_threat *threat, double temp_c, double minutes);
/* No step sequence on a real plant goes below this for what it was not shown to remove: 0.1. */
double fl_know_step_floor(void);

/* What a step of an evening at the sink is (data/steps.csv); common practice. */
typedef struct fl_know_step {
    const char *code; /* "bleach_dip" */
    fl_step step;
    fl_agent agent;
    double minutes_low, minutes_high, minutes_usual;
    const char *strength; /* what to mix, "" when nothing */
    const char *how;      /* one line, cautions included */
} fl_know_step;
size_t fl_know_step_count(void);
/* index < fl_know_step_count(). */
fl_know_step fl_know_step_at(size_t index);

/* Chance that one look at this effort shows one founder in this stage, 0 to 0.95, before the
 * shared multiplier; device gains (a mask of FL_DEVICE bits that were read) added. */
double fl_know_detect(const fl_threat *threat, int stage, fl_effort effort, unsigned devices,
                      bool is_after_dark);

/* The shared detectability mixture. */
#define FL_MULTIPLIERS 5
typedef struct fl_know_mixture {
    double multiplier[FL_MULTIPLIERS];
    double weight_low[FL_MULTIPLIERS]; /* the optimist's lens is called high */
    double weight_middle[FL_MULTIPLIERS];
    double weight_high[FL_MULTIPLIERS];
    double cap; /* no look sees more than this */
} fl_know_mixture;
fl_know_mixture fl_know_detectability(void);

/* Links: how a threat gets from one carrier to another. Factors 0 to 1. For a cutting this is the
 * share of a fresh arrival that can ride (tracing); a copy is thinned stage by stage instead. */
double fl_know_link_factor(const fl_threat *threat, fl_link link);
/* The share of `stage` that crosses the link: for a cutting 1 or 0, as the stage can ride; for
 * every other link the threat's own factor. stage 0 to n_stages - 1. */
double fl_know_link_stage_factor(const fl_threat *threat, int stage, fl_link link);

/* The room itself. */
double fl_know_room_per_opening(const fl_threat *threat);
double fl_know_room_per_day(const fl_threat *threat, bool has_gasket);

/* The gate's policy by use. */
typedef struct fl_know_use {
    const char *code; /* "amphibian" */
    const char *name; /* "small frogs and other amphibians" */
    double ceiling;   /* on the weighted sum, 0 to 1 */
    int least_days;   /* since the last possible way in */
    bool bars_systemics;
    bool needs_pathogen_rule;
} fl_know_use;
fl_know_use fl_know_use_of(fl_use use);

/* Plants of data/plants.csv. Text fields are never NULL; a missing number is NAN. */
typedef struct fl_know_plant {
    const char *code; /* "ficus_pumila" */
    const char *botanical_name;
    const char *common_name;
    const char *family;
    const char *growth_form;
    const char *light_class;
    double ppfd_min_umol_m2_s, ppfd_max_umol_m2_s;
    const char *humidity_class;
    double rh_min_pct;
    double temp_min_c, temp_opt_lo_c, temp_opt_hi_c;
    const char *propagation;
    double rooting_days_min, rooting_days_max;
    const char *delicate_flag; /* none, caution, high */
    const char *delicate_reason;
    bool rots_when_closed;   /* belongs on an open spot, not in a closed bin */
    bool is_ruined_by_rinse; /* mosses, spikemoss, sundews, fuzzy leaves: a series of soaks */
    const char *toxicity;
    const char *confidence; /* published, mixed, weak, memory */
    const char *source;
} fl_know_plant;
size_t fl_know_plant_count(void);
const fl_know_plant *fl_know_plant_at(size_t index);
/* By botanical or common name, ignoring case; NULL when unknown. */
const fl_know_plant *fl_know_plant_find(fl_sv name);

/* Things that look like a threat and are none. */
typedef struct fl_know_lookalike {
    const char *code, *name, *looks_like, *cue, *source;
} fl_know_lookalike;
size_t fl_know_lookalike_count(void);
const fl_know_lookalike *fl_know_lookalike_at(size_t index);

/* A source by its key; NULL when unknown. */
typedef struct fl_know_source {
    const char *key, *citation, *grade; /* grade: the evidence code, explained in sources.csv */
} fl_know_source;
const fl_know_source *fl_know_source_find(fl_sv key);

/* The SHA-256 over every table that know/ reads: part of each programme's hash and of each release.
 * From the digest of nothing, each link takes a table's name, then its file's bytes; the tables in
 * the order of their names. */
fl_hash fl_know_hash(void);

/* The SHA-256 over threats.csv and stages.csv: the default threat list, pinned by a test. */
fl_hash fl_know_threats_hash(void);

#endif
