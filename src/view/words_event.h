/* One event as a sentence: what happened, to what. */
#ifndef FL_VIEW_WORDS_EVENT_H
#define FL_VIEW_WORDS_EVENT_H

#include "view/words.h"

/* "lots were moved: Pilea (K7F2QX) to bin 3": one line without a date, in the arena. Names are
 * those of the room as it is now. */
fl_sv fl_say_event(const fl_room *room, const fl_event *event, fl_arena *arena);

#endif
