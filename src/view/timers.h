/* The timers as JSON. */
#ifndef FL_VIEW_TIMERS_H
#define FL_VIEW_TIMERS_H

#include "app/timers.h"
#include "view/view.h"

/* What the alarm of the computer that serves knows. */
typedef struct fl_view_alarm {
    bool is_there; /* a server with an alarm; else only the clock is told */
    const fl_alarm_set *set;
    fl_alarm_now now;
    bool has_bell;
    bool has_command;
} fl_view_alarm;

/* {"now_at","timers":[…],"alarm":{…}}: left_s goes by elapsed time where the alarm has it,
 * whatever
 * happened to the clock. */
void fl_view_timers(const fl_view *v, const char *key, const fl_timer *timers, size_t n,
                    const fl_view_alarm *alarm);

#endif
