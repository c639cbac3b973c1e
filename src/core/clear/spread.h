/* One threat's roots and copies over the network: what is where, and how likely. Design section 4,
 * rules 1 to 9 and 12; the walk itself is core/clear/network.
 *
 * A root's state on a carrier is a copy. A copy has a programme: the ordered operations since its
 * root began. Programmes are appended and evaluated by the caller (who may share and remember
 * them); this module decides which operations there are. Nothing is allocated here. */
#ifndef FL_CORE_CLEAR_SPREAD_H
#define FL_CORE_CLEAR_SPREAD_H

#include "core/clear/filter.h"
#include "core/clear/network.h"
#include "core/clear/programme.h"
#include "core/clear/steady.h"
#include "core/know/know.h"
#include "core/know/sheet.h"

/* Of a real root, a smaller living share than this is not followed over a thin link. A chance is
 * then too low by at most about three times this, for one root, also after a find elsewhere. */
#define FL_COPY_LEAST 1e-4
/* Open copies of one root that are followed on one carrier, besides the room's own. */
#define FL_COPY_MAX 4
/* Steps on one lot within this time are one sequence: their survivals multiply, with a floor. */
#define FL_SEQUENCE_H 12
/* Founders expected, given any, and their clumping: for many founders and after a find. */
#define FL_FOUNDERS_MEAN 3.0
#define FL_FOUNDERS_SIZE 1.0
/* A find whose animals were not taken away leaves at least this chance. */
#define FL_FIND_NOT_REMOVED 0.99
/* A breeding stage that was seen, or may have been, has left young with this chance, although it
 * was taken away (assumed: docs/decisions/0005-after-a-find.md). */
#define FL_FIND_LEFT_YOUNG 0.8

/* Roots made by finds are numbered from here on. */
#define FL_FIND_ROOT(k) (SIZE_MAX / 2 + (k))
#define FL_IS_FIND_ROOT(root) ((root) >= SIZE_MAX / 2 && (root) != FL_NO_INDEX)

typedef struct fl_prog fl_prog; /* a programme; the caller's own */
typedef struct fl_copy fl_copy;
typedef struct fl_spread_find fl_spread_find;

/* What the caller does for us. */
typedef struct fl_spread_env {
    void *context;
    /* The programme `parent` (NULL: none yet) followed by `op`. */
    fl_status (*append)(void *context, const fl_prog *parent, const fl_op *op, const fl_prog **out,
                        fl_err *err);
    /* Its state. */
    fl_status (*state)(void *context, const fl_prog *prog, fl_filter *out, fl_err *err);
    /* Its masses. */
    fl_status (*sums)(void *context, const fl_prog *prog, fl_filter_sums *out, fl_err *err);
    /* The temperatures of a place for the hours from_h <= h < to_h: sets *temps_c to an array that
     * lives as long as the run, or to NULL and *constant_c. */
    fl_status (*temps)(void *context, fl_id place, int64_t from_h, int64_t to_h,
                       const double **temps_c, double *constant_c, fl_err *err);
    /* P(this root carries the threat), 0 to 1. */
    double (*prior)(void *context, const fl_root *root, const fl_threat *threat);
    /* True when the lot is material (no floor on a treatment). */
    bool (*is_material)(void *context, size_t lot);
    /* Optional: a larger array that holds the n copies of the old one, and *cap. NULL: the spread
     * fails with FL_ETOOBIG when its array is full. */
    fl_copy *(*more_copies)(void *context, fl_copy *copies, size_t n, size_t *cap);
    /* Optional: the same for finds. */
    fl_spread_find *(*more_finds)(void *context, fl_spread_find *finds, size_t n, size_t *cap);
    /* Optional: told of each root that may have brought a find, and how likely it did. */
    void (*blamed)(void *context, size_t root, double cause);
} fl_spread_env;

struct fl_copy {
    size_t root; /* index in the network, or FL_FIND_ROOT(k) */
    size_t carrier;
    size_t next; /* next copy on the carrier; FL_NO_INDEX */
    const fl_prog *prog;
    double prior;     /* NAN: the root's own */
    double blamed;    /* P(a find elsewhere was of this root): then it is real */
    double suspicion; /* at the last find here: what the look could have shown of it */
    bool is_suspect;  /* the copy that stood for its root then */
    int64_t from_h;   /* when the copy came to this carrier */
    int64_t at_h;     /* the programme reaches to here */
    fl_link link;     /* how it came (a root that came in here: FL_LINK_COUNT) */
    size_t from;      /* from which carrier; FL_NO_INDEX */
    const fl_event *from_event;
    bool is_steady; /* the room's hazard */
    bool is_thinned;
    bool is_closed; /* a find, or a likelier copy, took its place */
    bool is_ended;  /* the carrier was cleaned: only a leftover goes on from it */
};

struct fl_spread_find {
    const fl_finding_now *finding;
    size_t carrier;
    int64_t at_h;
    size_t was;      /* the root that most likely brought it; FL_NO_INDEX */
    double prob_was; /* how likely, among all candidates here */
};

/* State of one carrier while walking. */
typedef struct fl_spread_carrier {
    size_t first; /* copy */
    fl_id place;
    bool has_place;
    double efficacy;   /* of the cleaning that closed it; NAN */
    double n_openings; /* since the last inflow */
    const fl_finding_now
        *finding; /* of the look that follows; NULL: none. Of all its finds here: */
    int64_t n_found;
    bool is_left_there; /* something was not taken away */
    bool saw_breeding;  /* or may have */
} fl_spread_carrier;

/* One lot and its sequence of steps. */
typedef struct fl_spread_lot {
    size_t carrier; /* where it stands */
    bool is_treated;
    int64_t last_h; /* the last step of the sequence */
    int64_t n_plants;
    bool is_touched;
    double cum[FL_STAGES_MAX]; /* survival of the sequence so far, without floor */
    double floor[FL_STAGES_MAX];
    double before[FL_STAGES_MAX]; /* with floor, before this event */
} fl_spread_lot;

/* One threat with one development set. The caller fills the upper part. */
typedef struct fl_spread {
    const fl_threat *threat;
    const fl_stage_model *model; /* the slow or the fast one */
    const fl_network *network;   /* being filled by the walk */
    const fl_spread_env *env;
    fl_copy *copies;
    size_t cap_copies;
    fl_spread_find *finds;
    size_t cap_finds;
    double *root_found;          /* [cap_roots of the network]: P(it was the cause of a find) */
    fl_spread_carrier *carriers; /* [cap_carriers] */
    fl_spread_lot *lots;         /* [n_lots] */
    size_t n_lots;
    size_t *recent; /* [n_lots]: those in a sequence of steps, by index; NULL: all are asked */

    fl_know_mixture mixture;
    fl_sheet sheet; /* the threat's figures */
    size_t n_copies;
    size_t n_finds;
    size_t n_recent;
} fl_spread;

/* Makes the spread empty. */
void fl_spread_begin(fl_spread *spread);

/* Takes the next happening of the walk. FL_ETOOBIG when a caller's array is too small. Pointers to
 * copies do not outlive it. */
fl_status fl_spread_take(fl_spread *spread, const fl_happening *happening, fl_err *err) FL_MUST_USE;

/* What a transfer does to the carrier it comes from, for a walk that leaves out the carrier it goes
 * to: its copies reach that hour. */
fl_status fl_spread_take_out(fl_spread *spread, const fl_happening *transfer,
                             fl_err *err) FL_MUST_USE;

/* What a find on a carrier that the walk leaves out does to this root's copies (env->blamed told
 * it). */
void fl_spread_blame(fl_spread *spread, size_t root, double cause);

/* Lets the copy's programme reach to_h (>= copy->at_h). */
fl_status fl_spread_advance(fl_spread *spread, fl_copy *copy, int64_t to_h,
                            fl_err *err) FL_MUST_USE;

/* The prior of a copy, 0 to 1. */
double fl_spread_prior(const fl_spread *spread, const fl_copy *copy);

/* Three readings of a chance: with the low, middle and high weights of the detectability mixture
 * (low: the eye may be poor, so the chance is highest). */
typedef struct fl_reading {
    double poor, middle, good;
} fl_reading;

/* The chance of one copy from its state (prior put in), or from the masses of it. */
fl_status fl_spread_read_state(const fl_spread *spread, const fl_copy *copy, const fl_filter *state,
                               fl_reading *out, fl_err *err) FL_MUST_USE;
fl_status fl_spread_read_sums(const fl_spread *spread, const fl_copy *copy,
                              const fl_filter_sums *sums, fl_reading *out, fl_err *err) FL_MUST_USE;

/* Adds a root's chance to a combination: 1 - prod(1 - p). */
void fl_reading_combine(fl_reading *all, const fl_reading *one);
/* The larger of two, reading by reading. */
void fl_reading_larger(fl_reading *a, const fl_reading *b);

/* The chance that the threat is on the carrier at now_h: over its open copies, the largest of each
 * root, combined over roots (design 4.4). Copies later than now_h do not count. */
fl_status fl_spread_chance(fl_spread *spread, size_t carrier, int64_t now_h, fl_reading *out,
                           fl_err *err) FL_MUST_USE;

#endif
