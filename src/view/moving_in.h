/* What a pasted list was understood as. */
#ifndef FL_VIEW_MOVING_IN_H
#define FL_VIEW_MOVING_IN_H

#include "app/moving_in.h"
#include "view/view.h"

/* {"is_recorded","text","places":[…],"lots":[…],"troubles":[…],"event_ids":[…]};
 * chances may be NULL. events[n_events]: what was or would be recorded. */
void fl_view_moving_in(const fl_view *v, const char *key, const fl_moving_in *moving,
                       bool is_recorded, const fl_event *events, size_t n_events);

/* "3 places, 2 of them new; 41 lots of 17 plants; 1 line was not understood." */
fl_sv fl_say_moving_in(const fl_moving_in *moving, fl_arena *arena);

#endif
