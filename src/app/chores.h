/* What `serve` does by itself now and then, on its writer: the daily backup, and remembering what
 * the calendar's feed gave out. */
#ifndef FL_APP_CHORES_H
#define FL_APP_CHORES_H

#include "app/app.h"

#define FL_CHORES_EVERY_S 600

/* Does what is due. `has_feed`: somebody may read the calendar's address. What went wrong is noted
 * in the room (a backup) or tried again next time; *what is a line for the log, empty when there is
 * nothing to say. Texts in the arena. */
void fl_app_chores(fl_app *app, bool has_feed, fl_arena *arena, fl_sv *what);

#endif
