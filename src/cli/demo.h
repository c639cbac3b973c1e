/* The demo: a history that is shifted by whole days so that it ends today, in a room of its own;
 * and what keeps demo data out of other rooms. */
#ifndef FL_CLI_DEMO_H
#define FL_CLI_DEMO_H

#include "base/arena.h"
#include "event/event.h"

/* FL_EFORBIDDEN when the event would mark a room as a demo: only `fernlock demo` makes one.
 * FL_OK for everything else, also for what is no event: recording says what is wrong with it. */
fl_status fl_demo_refuse(fl_sv json, fl_err *err) FL_MUST_USE;

/* The day that becomes today, and the offset from UTC of its clocks. */
#define FL_DEMO_TODAY_YEAR 2026
#define FL_DEMO_TODAY_MONTH 11
#define FL_DEMO_TODAY_DAY 25
#define FL_DEMO_TZ_MIN 60

/* Moves an event, read at FL_DEMO_TZ_MIN, by whole days to the same time of the day at
 * tz_offset_min: its moment (a vague one to the month or year it falls in then), the moments and
 * dates in its body, dates in a frozen answer, and the weekday of the room's round. A room_set
 * marks the room as a demo. Texts are made in the arena. FL_EDOMAIN when it would leave the years 1
 * to 9999. */
fl_status fl_demo_shift(fl_event *event, int64_t days, int tz_offset_min, fl_arena *arena,
                        fl_err *err) FL_MUST_USE;

#endif
