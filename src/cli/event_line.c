/* An event's line: its day, and the sentence of src/view. */
#include "cli/event_line.h"

#include "view/words_event.h"

/* The day, as vague as it was told. */
static fl_sv event_day(fl_session *s, const fl_event *event)
{
    fl_sv day = fl_say_civil(&s->room, event->at_s, &s->arena);
    size_t len = event->precision == FL_PRECISION_YEAR ? 4 : 7;
    bool is_vague = event->precision == FL_PRECISION_YEAR || event->precision == FL_PRECISION_MONTH;
    return is_vague && day.len > len ? (fl_sv){day.ptr, len} : day;
}

fl_sv fl_event_line(fl_session *s, const fl_event *event)
{
    fl_sv day = event_day(s, event);
    fl_sv text = fl_say_event(&s->room, event, &s->arena);
    return fl_arena_printf(&s->arena, "%-10.*s  %.*s", FL_SV_ARG(day), FL_SV_ARG(text));
}
