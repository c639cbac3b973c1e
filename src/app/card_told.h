/* What another keeper told of a lot: the history cards that its history_told events hold. */
#ifndef FL_APP_CARD_TOLD_H
#define FL_APP_CARD_TOLD_H

#include "app/card.h"

/* The lines told of this lot itself, in the order they were told; array in the arena. */
fl_status fl_card_told(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_card_line **out,
                       size_t *count, fl_err *err) FL_MUST_USE;

#endif
