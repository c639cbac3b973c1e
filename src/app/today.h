/* What is due: five lines or fewer. Never red: a missed look moves a date, and says so. */
#ifndef FL_APP_TODAY_H
#define FL_APP_TODAY_H

#include "app/gate.h"

#define FL_TODAY_LINES 5

/* X(enum, word, what it is) */
#define FL_DUE_LIST(X)                                                                             \
    X(FL_DUE_HOLD, "hold", "something was found here")                                             \
    X(FL_DUE_STEP, "step", "a timed step is running")                                              \
    X(FL_DUE_CLAIM, "claim", "what is on trial could still go back to its seller")                 \
    X(FL_DUE_PREP, "prep", "came home and is not cleaned yet")                                     \
    X(FL_DUE_PLACE, "place", "cleaned, and still on the bench")                                    \
    X(FL_DUE_AWAY, "away", "the keeper is away")                                                   \
    X(FL_DUE_LOOK, "look", "a look is due")                                                        \
    X(FL_DUE_RELEASE, "release", "quiet enough to go")                                             \
    X(FL_DUE_UPKEEP, "upkeep", "an established place has not been looked over for a while")        \
    X(FL_DUE_TRIM, "trim", "plants have grown enough to be cut back")                              \
    X(FL_DUE_CONFLICT, "conflict", "two records do not agree")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_due_kind { FL_DUE_LIST(FL_WORD_ENUM) FL_DUE_COUNT } fl_due_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_due[FL_DUE_COUNT];

/* One line: several lots or places of one kind are one line. */
typedef struct fl_due {
    fl_due_kind kind;
    int64_t at_s;  /* when it fell or falls due */
    fl_id place;   /* the (first) place; none */
    fl_id lot;     /* the (first) lot; none */
    fl_id arrival; /* for prep; none */
    size_t n_places;
    size_t n_lots;
    fl_sv text; /* one sentence without a date */
} fl_due;

typedef struct fl_today {
    fl_due lines[FL_TODAY_LINES];
    int n;
    int n_more;             /* lines that did not fit */
    int64_t next_s;         /* the next moment something falls due after these; FL_TIME_OPEN */
    size_t n_in_quarantine; /* lots not released and not established */
} fl_today;

/* Texts in the arena. chances NULL: what is quiet enough is not asked, all else is there. */
fl_status fl_today_list(fl_chances *chances, const fl_room *room, fl_arena *arena, fl_today *out,
                        fl_err *err) FL_MUST_USE;

/* Where a lot stands in its way through the airlock. */
#define FL_PHASE_LIST(X)                                                                           \
    X(FL_PHASE_ARRIVED, "arrived", "came home, not cleaned yet")                                   \
    X(FL_PHASE_CLEANED, "cleaned", "cleaned, waits for its bin")                                   \
    X(FL_PHASE_QUARANTINE, "quarantine", "in quarantine")                                          \
    X(FL_PHASE_HELD, "held", "on hold: something was found")                                       \
    X(FL_PHASE_ESTABLISHED, "established", "established")                                          \
    X(FL_PHASE_GONE, "gone", "gone")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_phase { FL_PHASE_LIST(FL_WORD_ENUM) FL_PHASE_COUNT } fl_phase;
#undef FL_WORD_ENUM
extern const fl_word fl_words_phase[FL_PHASE_COUNT];

/* Established: released, already here, or in an enclosure. */
fl_phase fl_phase_of(const fl_room *room, const fl_lot *lot);

#endif
