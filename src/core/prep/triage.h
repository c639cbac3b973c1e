/* At the door: keep it, keep only a clean tip of it, send it back, or refuse it. Weighs its price,
 * the bin-weeks it would take and the chance that a find starts its quarantine over, and says
 * which way that leans and why. It decides nothing: every way stays open to the keeper. What nobody
 * publishes is named and graded here (fl_triage_worth). Model card: docs/models/triage.md. */
#ifndef FL_CORE_PREP_TRIAGE_H
#define FL_CORE_PREP_TRIAGE_H

#include "core/prep/prep.h"

/* X(enum, word, what a person reads); of two that are worth the same the first is told. */
#define FL_TRIAGE_WAY_LIST(X)                                                                      \
    X(FL_TRIAGE_KEEP, "keep", "keep it")                                                           \
    X(FL_TRIAGE_TIP, "clean_tip", "keep only a clean tip")                                         \
    X(FL_TRIAGE_RETURN, "return", "send it back")                                                  \
    X(FL_TRIAGE_REFUSE, "refuse", "refuse it at the door")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_triage_way { FL_TRIAGE_WAY_LIST(FL_WORD_ENUM) FL_TRIAGE_WAY_COUNT } fl_triage_way;
#undef FL_WORD_ENUM
extern const fl_word fl_words_triage_way[FL_TRIAGE_WAY_COUNT];

/* X(enum, word, why it leans that way) */
#define FL_TRIAGE_WHY_LIST(X)                                                                      \
    X(FL_TRIAGE_WORTH_IT, "worth_it", "it is worth the room that it takes")                        \
    X(FL_TRIAGE_ROOM_DEAR, "room_dear", "the bin-weeks would weigh more than it is worth")         \
    X(FL_TRIAGE_TIP_SOONER, "tip_sooner", "a tip brings less with it and takes far less room")     \
    X(FL_TRIAGE_TIP_ONLY, "tip_only", "the whole plant will not stand a wash that would do")       \
    X(FL_TRIAGE_TIP_OPENS, "tip_opens", "the whole plant would not get a date; a tip would")       \
    X(FL_TRIAGE_NOT_FOR_THERE, "not_for_there", "it is not for where it was going")                \
    X(FL_TRIAGE_NEVER_OPENS, "never_opens",                                                        \
      "as things go it would never be quiet enough for where it was going")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_triage_why { FL_TRIAGE_WHY_LIST(FL_WORD_ENUM) FL_TRIAGE_WHY_COUNT } fl_triage_why;
#undef FL_WORD_ENUM
extern const fl_word fl_words_triage_why[FL_TRIAGE_WHY_COUNT];

/* One way through quarantine: of the whole plant, or of a tip of it. */
typedef struct fl_triage_road {
    bool is_there;    /* a tip needs a plant that can be cut */
    double days;      /* until it could go where it is meant to, > 0; NAN: never, as things go */
    double prob_find; /* that something comes out on the way, and it starts over; 0 to 1 */
} fl_triage_road;

/* What is assumed; each may be the keeper's own. */
typedef struct fl_triage_worth {
    double bin_week;    /* what a week of a whole bin is worth, in the keeper's money, >= 0 */
    double times_price; /* what the plant is worth to whoever carried it home, in prices, >= 0 */
    double tip_share;   /* what a rooted tip is worth of the plant, 0 to 1 */
} fl_triage_worth;

/* Assumed, all three: a bin-week 1 (of the keeper's money), twice its price, a half. */
fl_triage_worth fl_triage_worth_usual(void);

/* Without a price: a tip is leaned to where it takes at most this share of the room and saves at
 * least so many bin-weeks. Assumed. */
#define FL_TRIAGE_TIP_ROOM 0.5
#define FL_TRIAGE_TIP_SAVES 2.0

typedef struct fl_triage_input {
    fl_triage_road whole, tip;
    double bin_share;        /* of a bin that it would fill, above 0 to 1 */
    double price;            /* of all its plants, in the keeper's money; NAN: not told; 0: a gift,
                                of which a price says nothing either */
    bool is_claim_open;      /* the seller still takes it back */
    fl_prep_verdict verdict; /* of the evening's plan */
    fl_triage_worth worth;
} fl_triage_input;

typedef struct fl_triage_option {
    bool is_there;    /* it can be done at all */
    double bin_weeks; /* expected: a find doubles the time; 0 back at the seller; NAN: never ends */
    double worth;     /* what it is worth less the room it takes, or the price that comes back;
                         NAN: not told, or it never ends */
} fl_triage_option;

typedef struct fl_triage {
    fl_triage_option option[FL_TRIAGE_WAY_COUNT];
    fl_triage_way leans;
    fl_triage_why why;
} fl_triage;

/* Weighs. Expected bin-weeks are days / 7 x share of the bin x (1 + chance of a find): a find
 * starts it over once (assumed). With a price the way of the largest worth is leaned to: kept,
 * times_price x price - bin_week x bin-weeks; a tip, tip_share of that value less its own room;
 * sent back, the price; refused, nothing. Without a price: kept, unless a tip takes far less room
 * (FL_TRIAGE_TIP_ROOM, FL_TRIAGE_TIP_SAVES). What is not for there, or never opens, leans to the
 * tip that opens, else back to the seller, else to refusing. Total. */
void fl_triage_weigh(const fl_triage_input *input, fl_triage *out);

#endif
