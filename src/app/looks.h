/* When to look at a lot, what a missed look moves, and what it would help to look otherwise: the
 * look plan (core/clear/lookplan) of one lot in the room, on the keeper's own round days.
 *
 * A study is opened once for a lot and then asked many times, fast enough for sliders. Every look
 * to come is taken to find nothing; the lot stays where it is. Nothing is recorded. */
#ifndef FL_APP_LOOKS_H
#define FL_APP_LOOKS_H

#include "app/gate.h"
#include "core/clear/lookplan.h"

/* Days on which a look could be: today, when it is a round day, and half a year of weeks. */
#define FL_LOOKS_DAYS_MAX 27

typedef struct fl_looks fl_looks;

/* Opens the study for a mask of uses (0: the lot's own use). Lives in the arena; `chances` and the
 * arena must outlive it. FL_EINVAL when the lot is gone. */
fl_status fl_looks_open(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                        fl_arena *arena, fl_looks **out, fl_err *err) FL_MUST_USE;

/* The gate's answer that the study rests on. */
const fl_gate_report *fl_looks_report(const fl_looks *looks);

/* How the keeper looks from now on. */
typedef struct fl_looks_options {
    int every_days;   /* from round to round, 5 to 28; the first is the keeper's next round day */
    fl_effort effort; /* of every look */
    unsigned devices; /* read at every look: mask of 1u << fl_device */
    double temp_c;    /* the place is brought to this now, 5 to 35; NAN: as it will be */
    int n_looks;      /* at most, 1 to FL_LOOKS_DAYS_MAX; 0: as many as there are round days */
    bool is_sealed;   /* the box is taken to close tight from now on */
} fl_looks_options;

/* The keeper's way as it is: a round a week, at the room's effort, with the cards and baits that
 * hang there, at the temperature that is set, as many looks as it takes. */
fl_looks_options fl_looks_usual(const fl_looks *looks);

/* One round day. */
typedef struct fl_looks_day {
    int64_t at_s;        /* local noon; of today: now */
    bool is_look;        /* of the plan */
    double load;         /* after it, as planned: weighted sum over ceiling, the largest use */
    double load_changed; /* at the release, without this look or with one more here; NAN */
    int64_t missed_s;    /* of a look: the release when it is missed; FL_GATE_NEVER */
} fl_looks_day;

typedef struct fl_looks_plan {
    fl_looks_day days[FL_LOOKS_DAYS_MAX];
    int n_days;
    int n_looks;
    int64_t release_s; /* a round day; FL_GATE_NEVER: not within half a year of such looks */
    fl_condition_kind binding; /* what the release waits for: chance, guard, least days, residue */
    const fl_threat *threat;   /* the worst for the chance, the binding one for the guard; NULL */
    bool needs_roots;          /* the last look must be at the roots, or the guard is not met */
    unsigned blocked;          /* mask of 1u << fl_condition_kind: not met, and not by waiting */
} fl_looks_plan;

/* The plan: the earliest release, then the fewest looks (core/clear/lookplan.h). Only the
 * conditions that looks and time can meet decide: chance, guard, least days, residues that fade;
 * others are in `blocked`. FL_EDOMAIN for an option out of range. */
fl_status fl_looks_make_plan(fl_looks *looks, const fl_looks_options *options, fl_looks_plan *out,
                             fl_err *err) FL_MUST_USE;

/* The release alone, with a look on every round day: what a slider shows. */
fl_status fl_looks_release(fl_looks *looks, const fl_looks_options *options, int64_t *release_s,
                           fl_err *err) FL_MUST_USE;

/* X(enum, word, what it asks) */
#define FL_WHAT_IF_LIST(X)                                                                         \
    X(FL_WHAT_IF_FORTNIGHT, "fortnight", "a look every two weeks instead of every week")           \
    X(FL_WHAT_IF_CAREFUL, "careful", "careful looks instead of glances")                           \
    X(FL_WHAT_IF_WARM, "warm", "the place warmed to 25 degrees")                                   \
    X(FL_WHAT_IF_CARD, "card", "one more card")                                                    \
    X(FL_WHAT_IF_ROOTS, "roots", "unpotted at every look, to see the roots")                       \
    X(FL_WHAT_IF_OFTEN, "often", "a look every five days")                                         \
    X(FL_WHAT_IF_SEALED, "sealed", "a box that closes tight")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_what_if_kind { FL_WHAT_IF_LIST(FL_WORD_ENUM) FL_WHAT_IF_COUNT } fl_what_if_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_what_if[FL_WHAT_IF_COUNT];

#define FL_WHAT_IF_WARM_C 25.0

/* What warmth does to one lot in the place. */
typedef struct fl_warm_plant {
    const fl_lot *lot;
    const fl_know_plant *plant; /* NULL: not in data/plants.csv: watch it */
    double over_c;              /* degrees above its best range; 0: within; NAN: not known */
} fl_warm_plant;

typedef struct fl_what_if {
    fl_what_if_kind kind;
    bool applies;          /* false: it is so already, or nothing is left to add */
    int64_t usual_s;       /* the release as things go, looking on every round day */
    int64_t release_s;     /* the release then; FL_GATE_NEVER */
    fl_device device;      /* CARD: which */
    double from_c;         /* WARM: as it is set now */
    fl_warm_plant *plants; /* WARM: every lot in the place, the worst first; in the arena */
    size_t n_plants;
} fl_what_if;

/* One of the questions, asked against `usual`. The arena keeps the plants. Errors as above. */
fl_status fl_looks_what_if(fl_looks *looks, const fl_looks_options *usual, fl_what_if_kind kind,
                           fl_arena *arena, fl_what_if *out, fl_err *err) FL_MUST_USE;

/* The changes that bring the release forward, the most helpful first: at most `most` (1 to
 * FL_WHAT_IF_COUNT) of them in out. *count is 0 when none does. A warmer place is left out when a
 * plant there is known to dislike it. */
fl_status fl_looks_helps(fl_looks *looks, const fl_looks_options *usual, fl_arena *arena,
                         fl_what_if *out, int most, int *count, fl_err *err) FL_MUST_USE;

/* Every lot of the place by what a temperature does to it, the worst first; an array in the arena.
 * temp_c NAN: none. Returns how many. */
size_t fl_looks_warm_plants(const fl_looks *looks, double temp_c, fl_arena *arena,
                            fl_warm_plant **out);

/* Cards and baits that hang in a place now, as a mask of 1u << fl_device. */
unsigned fl_devices_in(const fl_room *room, fl_id place);

#endif
