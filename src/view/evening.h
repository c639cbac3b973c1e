/* The evening at the sink as JSON, and how long things take in words. */
#ifndef FL_VIEW_EVENING_H
#define FL_VIEW_EVENING_H

#include "app/evening.h"
#include "view/view.h"

/* The evening: lots with their steps, the run sheet, recipe, timers' steps, what is recorded for
 * each line and for "all as planned". Keys: api/openapi.yaml, Evening. */
void fl_view_evening(const fl_view *v, const char *key, const fl_evening *evening);

/* "2 to 2¾ h", "40 to 50 min", "about 5 min": outwards to quarters of an hour (above an hour), to
 * five minutes (above ten) or to minutes. low_s <= high_s, both >= 0. */
fl_sv fl_say_span(int64_t low_s, int64_t high_s, fl_arena *arena);

/* What one line of the sheet is called: "dip in household bleach", "wash hands". */
fl_sv fl_say_item(const fl_evening *evening, const fl_evening_item *item, fl_arena *arena);

#endif
