/* One event as a line for a person: its day, what happened, to what. */
#ifndef FL_CLI_EVENT_LINE_H
#define FL_CLI_EVENT_LINE_H

#include "cli/session.h"

/* "2026-03-01  lots were moved: Pilea (K7F2QX) to bin 3": without a line break, in the session's
 * memory. Names are those of the snapshot. */
fl_sv fl_event_line(fl_session *s, const fl_event *event);

#endif
