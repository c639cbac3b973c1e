/* Inside app/calendar*.c only. */
#ifndef FL_APP_CALENDAR_WORK_H
#define FL_APP_CALENDAR_WORK_H

#include "app/calendar.h"

/* A list that grows in an arena up to FL_CALENDAR_ENTRIES_MAX; what is beyond is left out. */
typedef struct fl_calendar_plan {
    const fl_room *room;
    fl_arena *arena;
    fl_calendar_entry *entries; /* room for FL_CALENDAR_ENTRIES_MAX */
    size_t n;
    fl_id root;    /* from which ids derive: the same wherever the room goes */
    int64_t today; /* local day */
    int minute;    /* of a round */
} fl_calendar_plan;

/* Adds what is planned now, without numbers. */
fl_status fl_calendar_plan_all(fl_calendar_plan *plan, fl_chances *chances,
                               fl_err *err) FL_MUST_USE;

/* The local day of a moment. */
int64_t fl_calendar_day(const fl_room *room, int64_t at_s);

#endif
