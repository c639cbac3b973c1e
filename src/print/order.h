/* Asking for something on paper, once for the command line and the API: what, of what, on what. */
#ifndef FL_PRINT_ORDER_H
#define FL_PRINT_ORDER_H

#include "app/chance.h"
#include "print/label.h"
#include "print/sheet.h"

/* X(enum, word, what it is) */
#define FL_ORDER_LIST(X)                                                                           \
    X(FL_ORDER_LABELS, "labels", "labels for lots and places")                                     \
    X(FL_ORDER_TEST_PAGE, "test-page", "the outlines of a sheet of labels, and a ruler")           \
    X(FL_ORDER_EVENING, "evening", "tonight at the sink")                                          \
    X(FL_ORDER_ROUND, "round", "a round of looks")                                                 \
    X(FL_ORDER_PLACE, "place", "the card of a bin or an enclosure")                                \
    X(FL_ORDER_SITTER, "sitter", "for whoever looks after the room")                               \
    X(FL_ORDER_OUTBREAK, "outbreak", "the story of a find")                                        \
    X(FL_ORDER_CARD, "card", "the history card of a lot")                                          \
    X(FL_ORDER_PESTICIDES, "pesticides", "the record of pesticides")                               \
    X(FL_ORDER_COMPLAINT, "complaint", "the answer to a customer's complaint")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_order_kind { FL_ORDER_LIST(FL_WORD_ENUM) FL_ORDER_COUNT } fl_order_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_order[FL_ORDER_COUNT];

#define FL_ORDER_COPIES_MAX 50

typedef struct fl_order {
    fl_order_kind kind;
    fl_app *app; /* for the settings of printing */
    const fl_room *room;
    fl_chances *chances; /* not asked by labels and the test page: NULL will do there */
    const fl_sv *of;     /* lots, places; a place's, finding's or lot's word for the sheets */
    size_t n_of;         /* labels: 0 is all lots that are not released; sheets: 1 or 0 */
    bool has_places;     /* labels: all places instead of lots, when n_of is 0 */
    fl_sv stock;         /* of labels; empty: the first of the list */
    fl_sv printer;       /* whose offset counts; empty: the usual one */
    int skip, copies;    /* of labels; copies 0 counts as 1 */
    fl_paper paper;
    fl_sv from, to;           /* civil dates of the record of pesticides; empty: no end */
    double tub_ml, label_pct; /* of the evening's dip; 0: 1000 ml, the recorded bottle */
} fl_order;

/* Makes the PDF, appended to *out. FL_ENOTFOUND, FL_EINVAL naming a word; errors of the sheets. */
fl_status fl_order_make(const fl_order *order, fl_str *out, fl_err *err) FL_MUST_USE;

/* A lot or a place by what a person typed or a scanner read: a code, a name, or an address that
 * ends in /L/CODE. Exactly one of *lot and *place is set. */
fl_status fl_order_find(const fl_room *room, fl_sv text, const fl_lot **lot,
                        const fl_ev_place_set **place, fl_err *err) FL_MUST_USE;

#endif
