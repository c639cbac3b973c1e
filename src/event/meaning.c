/* The words of the conflicts, made from the same X-macro as their enum. */
#include "event/meaning.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_conflict[FL_CONFLICT_COUNT] = {FL_CONFLICT_LIST(FL_WORD_ENTRY)};
