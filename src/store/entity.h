/* The words of entities and of the other closed lists, as they stand in the room file. Words, not
 * numbers: the order of an enum may change, the file may not. Only src/store includes this. */
#ifndef FL_STORE_ENTITY_H
#define FL_STORE_ENTITY_H

#include "event/event.h"
#include "event/meaning.h"

extern const fl_word fl_entity_words[FL_ENTITY_COUNT];
extern const fl_word fl_precision_words[FL_PRECISION_COUNT];
extern const fl_word fl_cause_words[FL_HOLD_BY_ANIMAL + 1];

#endif
