/* What is left of a pesticide that came with a plant, and whether the plant may go where it is
 * meant to. Start at fl_residue_left (a fraction with its band) and fl_residue_judge (the
 * gate's answer: known clean, unknown, known systemic). Screening figures of outdoor crops, not
 * measurements on houseplants. Model card: docs/models/residue.md; table: data/actives.csv. */
#ifndef FL_CORE_RESIDUE_RESIDUE_H
#define FL_CORE_RESIDUE_RESIDUE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"
#include "event/words.h"

#define FL_RESIDUE_DAYS_MAX 36500.0

/* Half-lives of pesticides on plants: the 90th percentile of 396 foliage trials with 30 actives
 * (Ebeling and Wang 2018, S75). Used where nothing is known. */
#define FL_RESIDUE_H90_DAYS 7.9

/* Where an active goes after it was put on. */
typedef enum fl_movement {
    FL_MOVEMENT_SURFACE = 0,  /* stays outside: a rinse takes some */
    FL_MOVEMENT_SLIGHT,       /* mostly outside */
    FL_MOVEMENT_TRANSLAMINAR, /* into the leaf it fell on */
    FL_MOVEMENT_PARTIAL,      /* partly carried through the plant */
    FL_MOVEMENT_SYSTEMIC      /* carried through the plant, and from its roots */
} fl_movement;

typedef enum fl_residue_flag {
    FL_RESIDUE_FLAG_UNKNOWN = 0, /* treated as CAUTION */
    FL_RESIDUE_FLAG_CAUTION,
    FL_RESIDUE_FLAG_BLOCK
} fl_residue_flag;

/* An active, as the table has it. Half-lives in days; NAN where there is none. */
typedef struct fl_active {
    const char *code; /* "bifenthrin" */
    const char *name;
    const char *kind; /* "pyrethroid" */
    fl_movement movement;
    bool decays;             /* false: an element */
    double half_life_low_d;  /* on or in the plant, as it was measured or modelled */
    double half_life_plan_d; /* what is planned with */
    double half_life_high_d; /* the slow end, with what the old mix feeds to the plant */
    double washoff_frac;     /* what one rinse takes off, 0 to 1: planned, least, most */
    double washoff_low_frac;
    double washoff_high_frac;
    bool is_photolabile; /* broken down by light: three times slower indoors */
    bool persists_in_mix;
    fl_residue_flag invertebrates;
    fl_residue_flag amphibians;
    const char *grade;
    const char *source;
    const char *note;
} fl_active;

size_t fl_active_count(void);
/* index < fl_active_count(). The plan is the table's, or the geometric mean of low and high; the
 * slow end is the table's, or the high half-life. */
fl_active fl_active_at(size_t index);
/* By code or name, ignoring case, with '-' and ' ' as '_'; false when it is not there. */
bool fl_active_find(fl_sv name, fl_active *out);

/* True for actives that count as systemic (carried through the plant, wholly or partly). */
bool fl_active_is_systemic(const fl_active *active);

/* How the plant was treated since. */
typedef struct fl_residue_since {
    double days;      /* since it was put on, 0 to 36 500 */
    bool is_rinsed;   /* washed once or more: credited once */
    bool is_outdoors; /* stood in sunlight: no slowing of photolabile actives */
} fl_residue_since;

typedef enum fl_residue_advice {
    FL_RESIDUE_LITTLE_LEFT = 0, /* at most 1 % even at the slow end */
    FL_RESIDUE_WAIT,            /* still there, and goes with time */
    FL_RESIDUE_MUCH_LEFT,       /* more than half is planned to be there */
    FL_RESIDUE_SYSTEMIC,        /* inside the plant: rinsing does not help */
    FL_RESIDUE_STAYS,           /* does not decay */
    FL_RESIDUE_ADVICE_COUNT
} fl_residue_advice;

/* word and sentence of each advice */
extern const fl_word fl_words_residue_advice[FL_RESIDUE_ADVICE_COUNT];

/* Fractions of what was first there, low <= middle <= high, 0 to 1. */
typedef struct fl_residue_left {
    double fraction;
    double fraction_low;
    double fraction_high;
    double days_to_tenth;     /* from the treatment to one tenth, at the slow end and without a
                                 rinse; NAN: time alone is not to be trusted (systemic, element) */
    double days_to_hundredth; /* likewise to one hundredth */
    fl_residue_advice advice;
} fl_residue_left;

/* What is left of an active: (1 - wash-off) * 2^(-days / half-life), wash-off once, never for a
 * systemic. Low: shortest half-life and the most a rinse takes; high: the slow end and the least.
 * Photolabile actives indoors: plan and slow end three times as long (S73, about 3 for one active).
 * FL_EDOMAIN for days out of range. */
fl_status fl_residue_of_active(const fl_active *active, const fl_residue_since *since,
                               fl_residue_left *out, fl_err *err) FL_MUST_USE;

/* The same for a bare half-life (0.01 to 36 500 days): no band in time. A rinse takes 40 % (0
 * to 70: the published planning range over fresh and weathered residues). FL_EDOMAIN. */
fl_status fl_residue_of_half_life(double half_life_days, const fl_residue_since *since,
                                  fl_residue_left *out, fl_err *err) FL_MUST_USE;

/* ---- the gate's question ---- */

/* What is known of what others put on the plant. */
typedef enum fl_residue_label {
    FL_LABEL_SILENT = 0,  /* nothing said */
    FL_LABEL_SAYS_CLEAN,  /* grown without pesticides, by word or label */
    FL_LABEL_NAMES_ACTIVE /* an active is named: it stands in `sprays`; others may be there */
} fl_residue_label;

/* Springtails or isopods that were kept with it for FL_RESIDUE_TRIAL_DAYS or more. Graded
 * evidence: a
 * death speaks for all small animals; a life speaks for invertebrates, and is no proof for
 * frogs. */
typedef enum fl_residue_trial {
    FL_TRIAL_NONE = 0,
    FL_TRIAL_LIVED,
    FL_TRIAL_DIED /* however short it was */
} fl_residue_trial;

/* Assumed: long enough for small crawlers to eat of it and moult. */
#define FL_RESIDUE_TRIAL_DAYS 14.0

/* One treatment with a known active: named on the label, or the keeper's own. */
typedef struct fl_residue_spray {
    fl_sv active; /* name or code; what is not in the table is taken for a systemic */
    double days_since;
    bool is_rinsed;
} fl_residue_spray;

typedef struct fl_residue_case {
    fl_use use; /* the strictest it is for */
    fl_form form;
    bool is_line_clean; /* own stock, or cut from it, of a line known clean */
    fl_residue_label label;
    double days_since;              /* since others could last treat it: at the latest its arrival;
                                    NAN: not known, taken as 0 */
    bool has_new_growth;            /* grown here, in fresh mix */
    bool is_only_new_growth;        /* a cutting of growth made here */
    fl_residue_trial trial;         /* the last one */
    const fl_residue_spray *sprays; /* every known treatment, label's and own */
    size_t n_sprays;
} fl_residue_case;

typedef enum fl_residue_answer {
    FL_RESIDUE_KNOWN_CLEAN = 0,
    FL_RESIDUE_UNKNOWN, /* also: a known active that is not yet gone */
    FL_RESIDUE_KNOWN_SYSTEMIC
} fl_residue_answer;

/* X(enum, word, what a person reads: why, and what would change it) */
#define FL_RESIDUE_WHY_LIST(X)                                                                     \
    X(FL_RESIDUE_WHY_RAISED_CLEAN, "raised_clean",                                                 \
      "Raised in tissue culture, or of a line known clean.")                                       \
    X(FL_RESIDUE_WHY_SAID_CLEAN, "said_clean", "Grown without pesticides, by its label or word.")  \
    X(FL_RESIDUE_WHY_GONE, "gone",                                                                 \
      "What was put on it has had its time, at the slow end of what was measured.")                \
    X(FL_RESIDUE_WHY_NOT_ASKED, "not_asked", "It goes where nothing eats or touches it.")          \
    X(FL_RESIDUE_WHY_WAITED, "waited",                                                             \
      "Nobody knows what was put on it; it has waited long enough for most sprays to fade.")       \
    X(FL_RESIDUE_WHY_WAIT, "wait",                                                                 \
      "Nobody knows what was put on it: wait until most sprays would have faded.")                 \
    X(FL_RESIDUE_WHY_NEEDS_GROWTH, "needs_growth",                                                 \
      "Nobody knows what was put on it: new growth made here is what shows that it lives on "      \
      "clean "                                                                                     \
      "mix; or use only cuttings of that growth.")                                                 \
    X(FL_RESIDUE_WHY_FADING, "fading", "A known pesticide is still on it: wait.")                  \
    X(FL_RESIDUE_WHY_SYSTEMIC, "systemic",                                                         \
      "A systemic pesticide is inside it: not for invertebrates or amphibians. Another plant, or " \
      "plants only.")                                                                              \
    X(FL_RESIDUE_WHY_UNLISTED, "unlisted",                                                         \
      "A pesticide is named that is not in our table: it is taken for a systemic one. Not for "    \
      "invertebrates or amphibians.")                                                              \
    X(FL_RESIDUE_WHY_NEVER_PLANTED, "never_planted",                                               \
      "Bagged mix in which nothing was grown: nobody sprayed a plant in it.")                      \
    X(FL_RESIDUE_WHY_LIVED_IN, "lived_in",                                                         \
      "Small animals have lived in it here long enough; for frogs that is no proof.")              \
    X(FL_RESIDUE_WHY_WAIT_MATERIAL, "wait_material",                                               \
      "Nobody knows what was put on it, and it does not grow: wait until most sprays would have "  \
      "faded; for invertebrates, or keep springtails or isopods with a handful of it for two "     \
      "weeks.")                                                                                    \
    X(FL_RESIDUE_WHY_NEEDS_TRIAL, "needs_trial",                                                   \
      "Mix from an opened bag or a pot may hold a pesticide for years, and waiting does not show " \
      "it: keep springtails or isopods with a handful of it for two weeks, or take sealed mix.")   \
    X(FL_RESIDUE_WHY_TRIAL_DIED, "trial_died",                                                     \
      "Springtails or isopods died with it: not for invertebrates or amphibians, unless others "   \
      "live through a later trial.")                                                               \
    X(FL_RESIDUE_WHY_STAYS, "stays",                                                               \
      "What was put on it does not decay: not for invertebrates or amphibians.")

typedef enum fl_residue_why {
#define FL_RESIDUE_WHY_ENUM(name, word, text) name,
    FL_RESIDUE_WHY_LIST(FL_RESIDUE_WHY_ENUM)
#undef FL_RESIDUE_WHY_ENUM
        FL_RESIDUE_WHY_COUNT
} fl_residue_why;

extern const fl_word fl_words_residue_why[FL_RESIDUE_WHY_COUNT];

typedef struct fl_residue_verdict {
    fl_residue_answer answer;
    bool is_ok_for_use;
    fl_residue_why why;    /* its text also says what would change the answer */
    double wait_days;      /* whole days until waiting alone would be enough; 0 when ok;
                                 NAN: waiting alone will not do */
    bool wants_new_growth; /* asked for besides the wait */
} fl_residue_verdict;

/* Days to wait when nothing is known: one tenth at the 90th percentile of half-lives, rounded up:
 * 27. Our policy, not a published waiting time. */
double fl_residue_unknown_wait_days(void);

/* The gate's answer. Materials (mix, litter, wood, cultures) do not grow and have a rule of their
 * own: docs/decisions/0007-residues-of-materials.md. A trial lived through stands in the place
 * of new
 * growth for invertebrates, not for amphibians; a failed one closes both.
 * Plants only and stock: always ok, with the answer told. Reptiles:
 * systemics are allowed, an unknown history waits. Invertebrates and amphibians: no systemics,
 * no elements; an unknown history waits and shows new growth (or is only that); a seller's word
 * is not enough to skip the wait, only the growth. A known surface active must be down, at the
 * slow end and without counting a rinse, to 1 % where it is flagged block for that use, else to
 * 10 %. Total: it never fails; a negative or unknown number of days counts as 0. */
fl_residue_verdict fl_residue_judge(const fl_residue_case *question);

#endif
