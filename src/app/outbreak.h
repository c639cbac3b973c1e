/* What now? After a find: the first five lines, the proposals that fit pest, plant, place and
 * animals (each acceptable by itself, as events ready to be recorded), and the outbreak's story to
 * the all-clear. Who else and where from is app/trace.h.
 *
 * In an occupied enclosure nothing is proposed that could harm animals: no cards, soap, oil,
 * alcohol, bleach, heat or gas. An ill animal is a vet's: no treatment of animals is ever proposed.
 * Nothing is done by itself; "tolerated here" and "discard it" are answers too. */
#ifndef FL_APP_OUTBREAK_H
#define FL_APP_OUTBREAK_H

#include "app/gate.h"
#include "app/trace.h"

#define FL_OUTBREAK_FIRST 5
/* Lots and places below this chance of having been reached get no proposal of their own. */
#define FL_OUTBREAK_LEAST 0.02
/* All clear: no hold of it lasts, and on no reached lot is the chance above this (our policy: the
 * 95 % of the gate's guard). Where lots may go is still the gate's answer. */
#define FL_OUTBREAK_CLEAR 0.05
/* Lots named one by one in proposals to discard. */
#define FL_OUTBREAK_LOTS_MAX 6
/* A second look sooner than this after the first tells little (reference: at least 5 days). */
#define FL_OUTBREAK_LOOK_DAYS 5

/* X(enum, word, what it is) */
#define FL_PROPOSAL_LIST(X)                                                                        \
    X(FL_PROPOSE_NAME, "name", "find out what it is")                                              \
    X(FL_PROPOSE_VET, "vet", "ask your vet")                                                       \
    X(FL_PROPOSE_HOLD, "hold", "hold a place it may have reached")                                 \
    X(FL_PROPOSE_MOVE, "move", "take the plant out to a place of its own")                         \
    X(FL_PROPOSE_TREAT, "treat", "treat the plants")                                               \
    X(FL_PROPOSE_CARD, "card", "hang a card or lay a bait")                                        \
    X(FL_PROPOSE_CLEAN, "clean", "clean the place")                                                \
    X(FL_PROPOSE_TOOLS, "tools", "clean tubs, tools and hands")                                    \
    X(FL_PROPOSE_LOOK, "look", "look sooner")                                                      \
    X(FL_PROPOSE_TELL, "tell", "tell who got plants")                                              \
    X(FL_PROPOSE_LIFT, "lift", "lift a hold")                                                      \
    X(FL_PROPOSE_KEEP, "keep", "keep it where no animals are")                                     \
    X(FL_PROPOSE_DISCARD, "discard", "discard it")                                                 \
    X(FL_PROPOSE_TOLERATE, "tolerate", "live with it here")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_proposal_kind { FL_PROPOSAL_LIST(FL_WORD_ENUM) FL_PROPOSAL_COUNT } fl_proposal_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_proposal[FL_PROPOSAL_COUNT];

typedef struct fl_proposal {
    fl_proposal_kind kind;
    fl_sv text;        /* one sentence: what to do */
    fl_sv why;         /* one sentence; empty */
    fl_sv not_reached; /* of a treatment: what lives through it; empty */
    const char *const *cautions;
    size_t n_cautions;
    fl_id place;            /* none */
    fl_id lot;              /* none */
    int64_t at_s;           /* of a look: when; else INT64_MIN */
    const fl_event *events; /* to be recorded when it is accepted, as done now; ids are theirs */
    size_t n_events;        /* 0: nothing to record: a word to a person, or a day to look */
} fl_proposal;

/* X(enum, word, what it is) */
#define FL_STORY_LIST(X)                                                                           \
    X(FL_STORY_CAME, "came", "it came in")                                                         \
    X(FL_STORY_CONTACT, "contact", "it could pass on")                                             \
    X(FL_STORY_FOUND, "found", "it was found")                                                     \
    X(FL_STORY_NAMED, "named", "it got a name")                                                    \
    X(FL_STORY_RETRACTED, "retracted", "it was taken back")                                        \
    X(FL_STORY_ANIMAL, "animal", "an animal was ill, died or was tested")                          \
    X(FL_STORY_HOLD, "hold", "a hold began or ended")                                              \
    X(FL_STORY_STEP, "step", "plants were treated")                                                \
    X(FL_STORY_CLEANED, "cleaned", "a place was cleaned")                                          \
    X(FL_STORY_LOOK, "look", "a look was done")                                                    \
    X(FL_STORY_LEFT, "left", "plants left")                                                        \
    X(FL_STORY_TOLERATED, "tolerated", "it is lived with")                                         \
    X(FL_STORY_CLEAR, "clear", "all clear")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_story_kind { FL_STORY_LIST(FL_WORD_ENUM) FL_STORY_COUNT } fl_story_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_story[FL_STORY_COUNT];

typedef struct fl_story_line {
    int64_t at_s;
    fl_story_kind kind;
    fl_sv text;     /* without the date */
    bool is_future; /* expected */
    fl_id event;    /* none */
} fl_story_line;

typedef enum fl_outbreak_state {
    FL_OUTBREAK_OPEN = 0,
    FL_OUTBREAK_TOLERATED, /* lived with where it was found */
    FL_OUTBREAK_RETRACTED, /* it was nothing; what was done stays done */
    FL_OUTBREAK_OVER       /* all clear */
} fl_outbreak_state;

typedef struct fl_outbreak {
    bool is_traced; /* false: no name yet, harmless, or taken back: then trace is empty */
    fl_trace trace;
    bool is_about_animals;
    const char *const *first; /* [FL_OUTBREAK_FIRST] */
    fl_proposal *proposals;
    size_t n_proposals;
    fl_story_line *story; /* by time */
    size_t n_story;
    fl_outbreak_state state;
    int64_t clear_s; /* when it was over, or is expected to be; FL_GATE_NEVER: not by waiting */
} fl_outbreak;

/* The outbreak of a finding or of an event about animals. chances of this room. Texts and arrays in
 * the arena. FL_EINVAL when the question names neither. */
fl_status fl_outbreak_ask(const fl_room *room, fl_chances *chances,
                          const fl_trace_question *question, fl_arena *arena, fl_outbreak *out,
                          fl_err *err) FL_MUST_USE;

/* ---- new dates ---- */

#define FL_OUTBREAK_DATES_MAX 12

/* When pests and days allow a lot to go: as it is, and had nothing been found; FL_GATE_NEVER: no
 * date within the forecast. A hold, steps and residues are told elsewhere. */
typedef struct fl_outbreak_date {
    const fl_lot *lot;
    int64_t was_s;
    int64_t now_s;
} fl_outbreak_date;

typedef struct fl_outbreak_dates {
    fl_outbreak_date list[FL_OUTBREAK_DATES_MAX];
    size_t n;
} fl_outbreak_dates;

/* The dates that an open outbreak of a finding moved, of the lots it reached that wait for the
 * gate, the likeliest first; none for any other. app: for the memo; NULL. */
fl_status fl_outbreak_ask_dates(const fl_room *room, fl_app *app, fl_chances *chances,
                                const fl_outbreak *outbreak, fl_arena *arena,
                                fl_outbreak_dates *out, fl_err *err) FL_MUST_USE;

/* The date of one answer: when its pests and days allow it. */
int64_t fl_outbreak_date_of(const fl_gate_report *report);

/* The five lines, for plants and for animals. */
extern const char *const fl_outbreak_first_plants[FL_OUTBREAK_FIRST];
extern const char *const fl_outbreak_first_animals[FL_OUTBREAK_FIRST];

#endif
