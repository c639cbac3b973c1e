/* What the journal means, as rows: lots, stays, fills, holds, conflicts.
 *
 * core/ledger makes them from events, store keeps them (live tables), verify compares the two.
 * Keys come from event ids, so the same history gives the same rows in whatever order it was
 * recorded. Texts are views. */
#ifndef FL_EVENT_MEANING_H
#define FL_EVENT_MEANING_H

#include "event/event.h"

#define FL_TIME_OPEN INT64_MAX /* "not ended yet" */

/* A lot as it stands after all that is known. Following `mother` always ends: a birth that would
 * close a circle has none. A split shares name, arrival, source, plant, form, use and label with
 * its lot; a cutting or division shares name, source, plant and label with its mother. */
typedef struct fl_lot {
    fl_id id;
    fl_id born_by;  /* the event that brought it into being */
    fl_kind origin; /* lot_arrived, lot_already_here, lot_cut or lot_split */
    int64_t born_s;
    fl_precision precision;
    fl_id mother;  /* the lot it was cut or split from; none */
    fl_id arrival; /* none for own cuttings; a split keeps its lot's */
    fl_id source;  /* none when not known */
    fl_id plant;   /* none for material without one */
    fl_sv name;
    fl_form form; /* the form it came in */
    fl_use use;
    fl_sv label_active;
    bool is_label_clean;
    int64_t count_born;
    int64_t count;     /* now; never below 0; outside: what went out */
    fl_id place;       /* where it stands now; none when gone or not told */
    bool is_gone;      /* no plant left, or outside */
    fl_id released_by; /* the last release event, a split's from before it too; none */
} fl_lot;

/* A lot in a place, from_s <= t < to_s. Sorted by lot, then from_s. Stays of one lot never overlap
 * and are never empty: what came and went in the same second left no stay. None is outside. */
typedef struct fl_stay {
    fl_id lot;
    fl_id place;
    int64_t from_s;
    int64_t to_s;     /* FL_TIME_OPEN while it lasts */
    fl_id from_event; /* what began it */
    fl_id to_event;   /* what ended it; none */
} fl_stay;

/* A place's life from clean to clean, from_s < to_s. Sorted by place, then from_s. A place has a
 * fill from its first stay on; cleaning closes it, and the next begins with the next stay, or at
 * the cleaning itself when lots were still in it. In the second of the cleaning, what leaves has
 * left before it and what comes has come after it. Every stay is covered by fills. */
typedef struct fl_fill {
    fl_id id; /* fl_id_derive(place, the 16 bytes of from_event) */
    fl_id place;
    int64_t from_s;
    int64_t to_s;         /* FL_TIME_OPEN */
    fl_id from_event;     /* the first stay's, or the cleaning that lots stayed through */
    fl_id to_event;       /* the cleaning; none */
    bool began_with_lots; /* lots stayed in the place through the cleaning before it */
} fl_fill;

/* Why a place is held. */
typedef enum fl_hold_cause {
    FL_HOLD_BY_KEEPER = 0, /* hold_set */
    FL_HOLD_BY_FINDING,    /* a finding that is not retracted, tolerated or a look-alike */
    FL_HOLD_BY_ANIMAL      /* an animal ill, dead, or tested positive */
} fl_hold_cause;

/* A hold covers from_s <= t < to_s; one that ends in its first second is kept and covers none. */
typedef struct fl_hold {
    fl_id id; /* the keeper's own, or fl_id_derive(finding or animal event, "hold") */
    fl_id place;
    fl_hold_cause cause;
    fl_id from_event;
    fl_id finding; /* for FL_HOLD_BY_FINDING */
    int64_t from_s;
    int64_t to_s;   /* FL_TIME_OPEN */
    fl_id to_event; /* what lifted it; none */
    fl_sv why;
} fl_hold;

/* X(enum, word, what a person reads) */
#define FL_CONFLICT_LIST(X)                                                                        \
    X(FL_CONFLICT_BORN_TWICE, "born_twice", "it came into being twice")                            \
    X(FL_CONFLICT_BEFORE_BORN, "before_born", "the event is earlier than the lot itself")          \
    X(FL_CONFLICT_AFTER_GONE, "after_gone", "the lot was already gone")                            \
    X(FL_CONFLICT_TWO_PLACES, "two_places", "two places at the same moment")                       \
    X(FL_CONFLICT_TOO_MANY, "too_many", "more plants left the lot than it had")                    \
    X(FL_CONFLICT_NOT_THERE, "not_there", "the lot was not in that place then")                    \
    X(FL_CONFLICT_RELEASED_TWICE, "released_twice", "the lot was released twice")                  \
    X(FL_CONFLICT_HOLD_NOT_SET, "hold_not_set", "the hold was not set then")                       \
    X(FL_CONFLICT_FINDING_UNKNOWN, "finding_unknown", "the finding is later than its naming")      \
    X(FL_CONFLICT_NAMED_TWICE, "named_twice", "the finding was given two names")                   \
    X(FL_CONFLICT_LEFT_HELD, "left_held", "a lot left a held place")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_conflict_kind { FL_CONFLICT_LIST(FL_WORD_ENUM) FL_CONFLICT_COUNT } fl_conflict_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_conflict[FL_CONFLICT_COUNT];

/* Two things that cannot both be so; both events show it. It has a lot, or a place, or both.
 * born_twice is about a lot, or (without one) about a finding or hold of the place. */
typedef struct fl_conflict {
    fl_conflict_kind kind;
    fl_id event;  /* the later in canonical order */
    fl_id other;  /* the one it contradicts; none when the lot has no birth at all */
    fl_id lot;    /* none for holds and findings */
    fl_id place;  /* none where no place is at stake */
    int64_t at_s; /* of `event` */
} fl_conflict;

/* A finding with all that was said of it later. */
typedef struct fl_finding_now {
    fl_id finding;
    fl_id look; /* the look event */
    fl_id place;
    fl_id lot; /* none when not told */
    int64_t at_s;
    fl_sv threat; /* a threat or look-alike code; empty: not identified */
    fl_sv stage;
    int64_t count;
    bool is_removed;
    bool is_retracted;
    fl_sv what;
} fl_finding_now;

/* All of it. Arrays are the caller's; n_* is how many there are. Sorted: lots by id, stays by
 * (lot, from), fills by (place, from), holds by (place, from, id), findings by (at, id),
 * conflicts by (at, event, kind, other, lot, place), each once. */
typedef struct fl_meaning {
    fl_lot *lots;
    size_t n_lots;
    fl_stay *stays;
    size_t n_stays;
    fl_fill *fills;
    size_t n_fills;
    fl_hold *holds;
    size_t n_holds;
    fl_finding_now *findings;
    size_t n_findings;
    fl_conflict *conflicts;
    size_t n_conflicts;
} fl_meaning;

/* True when every member is the same. */
bool fl_lot_same(const fl_lot *a, const fl_lot *b);
bool fl_stay_same(const fl_stay *a, const fl_stay *b);
bool fl_fill_same(const fl_fill *a, const fl_fill *b);
bool fl_hold_same(const fl_hold *a, const fl_hold *b);
bool fl_finding_same(const fl_finding_now *a, const fl_finding_now *b);
bool fl_conflict_same(const fl_conflict *a, const fl_conflict *b);

#endif
