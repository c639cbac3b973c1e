/* The timers of the room, with this computer's clock and what its alarm can do. */
#include "http/alarm.h"
#include "http/api.h"
#include "view/timers.h"

fl_status fl_api_timers(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_alarm_view alarm;
    fl_timer *timers = NULL;
    fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    size_t n = fl_timers_running(view.room, &x->arena, &timers);
    fl_view_alarm told = {.is_there = x->alarm != NULL};
    if (x->alarm != NULL) {
        fl_alarm_look(x->alarm, &alarm);
        told.set = &alarm.set;
        told.now = alarm.now;
        told.has_bell = alarm.has_bell && alarm.is_watching;
        told.has_command = alarm.has_command && alarm.is_watching;
    }
    fl_view_timers(&view, NULL, timers, n, &told);
    return fl_api_end(x, &view, FL_OK);
}
