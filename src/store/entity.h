/* What is written and read by more than one file of the store: the words of closed lists, and the
 * seal of a journal row. Words, not numbers, stand in the file: the order of an enum may change,
 * the file may not. Only src/store includes this. */
#ifndef FL_STORE_ENTITY_H
#define FL_STORE_ENTITY_H

#include "base/hash.h"
#include "event/event.h"
#include "event/meaning.h"

extern const fl_word fl_entity_words[FL_ENTITY_COUNT];
extern const fl_word fl_precision_words[FL_PRECISION_COUNT];
extern const fl_word fl_cause_words[FL_HOLD_BY_ANIMAL + 1];

/* A row of the journal as it is sealed. */
typedef struct fl_sealed {
    int64_t position;
    fl_id id;
    fl_sv kind; /* the word */
    int64_t at_s;
    int64_t rank;
    int64_t recorded_s;
    fl_sv canonical;
} fl_sealed;

/* The hash over all of the row: schema/001_room.sql says how. */
fl_hash fl_journal_seal(const fl_sealed *row);

#endif
