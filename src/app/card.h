/* The history card of a lot: where it came from, what was done to it, every look and what was seen,
 * how likely what is still there, and what that rests on. One struct for paper (print/sheet_card.c)
 * and file (app/card_file.h). No official phytosanitary document, and it says so. */
#ifndef FL_APP_CARD_H
#define FL_APP_CARD_H

#include "app/gate.h"

#define FL_CARD_NOTICE                                                                             \
    "Written by its keeper with fernlock. This is no official phytosanitary document and no "      \
    "plant "                                                                                       \
    "passport: nobody but the keeper has looked at this plant."

/* X(enum, word, what it is) */
#define FL_PAST_LIST(X)                                                                            \
    X(FL_PAST_CAME, "came", "it came, was cut or was here")                                        \
    X(FL_PAST_STOOD, "stood", "it came to stand in a place")                                       \
    X(FL_PAST_STEP, "step", "it was treated")                                                      \
    X(FL_PAST_LOOK, "look", "it was looked at")                                                    \
    X(FL_PAST_FOUND, "found", "something was seen")                                                \
    X(FL_PAST_RELEASED, "released", "it was released")                                             \
    X(FL_PAST_LOST, "lost", "plants were lost")                                                    \
    X(FL_PAST_OTHER, "other", "something else")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_past_kind { FL_PAST_LIST(FL_WORD_ENUM) FL_PAST_COUNT } fl_past_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_past[FL_PAST_COUNT];

/* One thing that happened. */
typedef struct fl_card_line {
    int64_t at_s;
    fl_precision precision;
    fl_past_kind kind;
    fl_sv text;     /* without the date */
    bool is_mother; /* it happened to the plant that this one was cut from */
    fl_sv teller;   /* told by another keeper; empty: the room's own record */
    size_t order;   /* as gathered: of one moment, what was done first comes first */
} fl_card_line;

typedef struct fl_card {
    const fl_lot *lot;
    fl_sv code;
    fl_sv plant;       /* the name the keeper gives it */
    fl_sv taxon;       /* botanical; empty */
    fl_sv source;      /* where it came from; empty */
    fl_sv source_kind; /* in words; empty */
    bool source_keeps_animals;
    fl_sv from;          /* who gives the card: the room's name */
    fl_card_line *lines; /* by time */
    size_t n_lines;
    fl_lot_chance *chances; /* reachable threats of 1 in 1,000 or more, likeliest first */
    size_t n_chances;
    fl_lot_chance *unseen; /* those that no look or treatment here reaches */
    size_t n_unseen;
    bool has_gate; /* it was asked: the lot is still here */
    fl_gate_report gate;
    fl_sv *assumed; /* what all of it rests on, a sentence each */
    size_t n_assumed;
    int64_t made_s;
} fl_card;

/* Of a lot, gone or not. Texts and arrays in the arena. */
fl_status fl_card_make(const fl_room *room, fl_chances *chances, const fl_lot *lot, fl_arena *arena,
                       fl_card *out, fl_err *err) FL_MUST_USE;

#endif
