/* Who else, and where from: tracing through the room's own history. Start here; what to do about
 * it is app/outbreak.h.
 *
 * The question names a finding; or an animal that was ill, died or was tested; or a lot or a place
 * and a threat. The answer: when it came in (core/trace/backdate), which way in brought it, ranked,
 * each with its chain of dated contacts (core/trace/source), and which lots and places it may have
 * reached since, ranked (core/trace/passage). All of it over the carriers, links and cleanings of
 * core/clear/network, and only over links the threat can use (data/links.csv).
 *
 * Nothing is stored: a late event changes the answer to the next question. Model card:
 * docs/models/trace.md. */
#ifndef FL_APP_TRACE_H
#define FL_APP_TRACE_H

#include "app/chance.h"
#include "core/trace/backdate.h"

/* Of an animal that fell ill, plants and tools are traced back this far where no --from says
 * otherwise (assumed: incubation of weeks, noticed late). */
#define FL_TRACE_ANIMAL_DAYS 90
/* Ways in and reached lots below these shares are left out of the answer. */
#define FL_TRACE_SOURCE_LEAST 0.001
#define FL_TRACE_REACHED_LEAST 0.0005

/* X(enum, word, what it is) */
#define FL_SUSPECT_LIST(X)                                                                         \
    X(FL_SUSPECT_PURCHASE, "purchase", "a purchase")                                               \
    X(FL_SUSPECT_MATERIAL, "material", "a material lot")                                           \
    X(FL_SUSPECT_MIX, "mix", "the mix it was potted in")                                           \
    X(FL_SUSPECT_ALREADY_HERE, "already_here", "what was already here")                            \
    X(FL_SUSPECT_ROOM, "room", "the room itself: openings and the lid")                            \
    X(FL_SUSPECT_FIND, "find", "an earlier find")                                                  \
    X(FL_SUSPECT_ANIMAL, "animal", "animals of another enclosure")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_suspect_kind { FL_SUSPECT_LIST(FL_WORD_ENUM) FL_SUSPECT_COUNT } fl_suspect_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_suspect[FL_SUSPECT_COUNT];

typedef struct fl_trace_question {
    const fl_finding_now *finding; /* or NULL */
    const fl_event *animal;        /* an animal_noted event, or NULL */
    const fl_lot *lot;             /* or NULL */
    fl_id place;                   /* or none; one of the four is needed */
    const fl_threat *threat;       /* NULL: the finding's, the animal's test's */
    int64_t from_s;                /* INT64_MIN: not told: by back-dating */
    int64_t to_s; /* FL_TIME_OPEN: now; where nothing was found, it was there by then */
} fl_trace_question;

/* One dated contact of a chain, earliest first. */
typedef struct fl_trace_contact {
    int64_t at_s;
    fl_link link;     /* FL_LINK_COUNT: it came in here, or came to stand there */
    fl_id from_place; /* none for the first */
    fl_id to_place;
    fl_id lot; /* the lot that carried it, or that was there; none */
    double share;
    fl_id event;
} fl_trace_contact;

typedef struct fl_trace_source {
    size_t root; /* of the network that was walked; for app/trace_*.c only */
    fl_suspect_kind kind;
    fl_sv what;       /* "the purchase from Corner Nursery", "what was already here in …" */
    fl_id source;     /* of a purchase; none */
    fl_id arrival;    /* of a purchase; none */
    fl_id lot;        /* its first lot; none */
    fl_id place;      /* where it came in */
    int64_t at_s;     /* when it came in; INT64_MIN: at no one time (the room) */
    double prior;     /* before the find; of the room: the expected number until then */
    bool is_learned;  /* the prior leans on the keeper's own purchases */
    const char *fact; /* of a disease: what gives its weight; "" */
    double prob;      /* that it brought it, among all that is on record: they sum to 1 */
    const fl_trace_contact *chain;
    size_t n_chain;
} fl_trace_source;

typedef struct fl_trace_reached {
    const fl_lot *lot;
    double prob;       /* that it got there: likeliest chains, over the ways in; after the find
                          by what the treatments and quiet looks left of it */
    double most;       /* every contact counted by itself: not above this */
    double chance_now; /* that the threat is on it now, with all looks since; NAN: not asked */
    double here;       /* the smaller of prob and chance_now: what ranks */
    int64_t at_s;      /* when it may have come to it */
    fl_link link;      /* the last link of the likeliest chain */
    bool is_where_found;
    bool is_outside; /* it left the room: somebody has it */
    bool is_lost;    /* no plant is left */
    const fl_trace_contact *chain;
    size_t n_chain;
} fl_trace_reached;

typedef struct fl_trace_place {
    fl_id place;
    double prob; /* that its present fill was reached */
    size_t n_lots;
    bool is_held;
    bool is_where_found;
    bool is_occupied; /* animals are in it */
} fl_trace_place;

typedef struct fl_trace {
    const fl_threat *threat;
    bool is_threat_assumed; /* an animal died untested: the links of a disease are used */
    int stage;              /* that was seen; -1 */
    const fl_finding_now *finding;
    const fl_event *animal;
    const fl_lot *lot;
    fl_id place;     /* where */
    int64_t found_s; /* the moment it was there */
    int64_t from_s;  /* forward reach begins */
    int64_t to_s;
    bool has_window; /* by back-dating */
    fl_backdate_window window;
    int64_t window_from_s, window_middle_s, window_to_s;
    bool is_older_possible; /* it may have come with what came first */
    fl_trace_source *sources;
    size_t n_sources;
    fl_trace_reached *reached; /* likeliest first; where it was found first of all */
    size_t n_reached;
    fl_trace_place *places;
    size_t n_places;
    size_t n_outside;  /* of the reached: people to tell */
    size_t n_contacts; /* of the room, over which it was traced */
} fl_trace;

/* Traces. chances (of this room) gives learned priors and what is known now; NULL: the tables'
 * priors, chance_now is NAN. The answer is in the arena. FL_EINVAL: no subject, a finding without a
 * name and no threat, a retracted finding, a lot or place that never stood anywhere. */
fl_status fl_trace_ask(const fl_room *room, fl_chances *chances, const fl_trace_question *question,
                       fl_arena *arena, fl_trace *out, fl_err *err) FL_MUST_USE;

/* The finding with this id, UUID or short code; NULL. */
const fl_finding_now *fl_trace_find_finding(const fl_room *room, fl_sv text);
/* The event about an animal with this id, UUID or short code; NULL. */
const fl_event *fl_trace_find_animal(const fl_room *room, fl_sv text);

/* What a person meant by a word: a finding, a lot, or a place; of a place the last finding there
 * that still stands (of this threat, when told), or the last event about its animals. */
fl_status fl_trace_find_subject(const fl_room *room, fl_sv text, const fl_threat *threat,
                                fl_trace_question *out, fl_err *err) FL_MUST_USE;

/* Gone, and the last that was done with it was to put it outside: somebody has it. */
bool fl_trace_went_outside(const fl_room *room, const fl_lot *lot);

#endif
