/* The timers as JSON. */
#include "view/timers.h"

#include "view/evening.h"
#include "view/put.h"

static const char *alarm_text(const fl_view_alarm *alarm)
{
    if (!alarm->is_there) {
        return "This computer sounds no alarm.";
    }
    if (alarm->has_command) {
        return alarm->has_bell ? "This computer rings its bell and runs your alarm command."
                               : "This computer runs your alarm command.";
    }
    return alarm->has_bell
               ? "This computer rings the bell of its terminal."
               : "This computer sounds no alarm: it has no terminal, and no alarm command was "
                 "given.";
}

static void put_timer(const fl_view *v, const fl_timer *timer, const fl_view_alarm *alarm)
{
    fl_json_writer *w = v->w;
    const fl_alarm_entry *entry =
        alarm->is_there ? fl_alarm_set_find(alarm->set, timer->run) : NULL;
    int64_t left_s =
        entry != NULL ? fl_alarm_left_s(entry, alarm->now) : timer->due_s - v->room->now_s;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "run_id", timer->run);
    fl_put_word(w, "step", "step_text", &fl_words_step[timer->step->step]);
    fl_put_word(w, "agent", "agent_text", &fl_words_agent[timer->step->agent]);
    fl_put_text(w, "tub", timer->step->tub);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < timer->step->lots.count; i++) {
        const fl_lot *lot = fl_meaning_lot(&v->room->meaning, timer->step->lots.ids[i]);
        if (lot != NULL) {
            fl_put_lot_ref(v, NULL, lot);
        }
    }
    fl_json_end(w);
    fl_put_at(w, "started_at", timer->started_s);
    fl_json_put_int(w, "planned_s", timer->planned_s);
    fl_put_at(w, "due_at", timer->due_s);
    fl_json_put_int(w, "left_s", left_s);
    fl_json_put_bool(w, "is_over", left_s <= 0);
    fl_json_put_bool(w, "has_sounded", entry != NULL && entry->n_sounded > 0);
    if (entry != NULL && entry->late_s > 0) {
        fl_sv span = fl_say_span(entry->late_s, entry->late_s, v->arena);
        fl_json_put_text(w, "missed_text",
                         fl_arena_printf(v->arena,
                                         "The alarm could not sound when it was due; %.*s late.",
                                         FL_SV_ARG(span)));
    } else {
        fl_json_put_null(w, "missed_text");
    }
    fl_json_end(w);
}

void fl_view_timers(const fl_view *v, const char *key, const fl_timer *timers, size_t n,
                    const fl_view_alarm *alarm)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_put_at(w, "now_at", alarm->is_there ? alarm->now.wall_s : v->room->now_s);
    fl_json_begin_array(w, "timers");
    for (size_t i = 0; i < n; i++) {
        put_timer(v, &timers[i], alarm);
    }
    fl_json_end(w);
    fl_json_begin_object(w, "alarm");
    fl_json_put_bool(w, "has_bell", alarm->has_bell);
    fl_json_put_bool(w, "has_command", alarm->has_command);
    fl_json_put_cstr(w, "text", alarm_text(alarm));
    fl_json_put_int(w, "clock_moved_s", alarm->is_there ? alarm->set->moved_s : 0);
    fl_json_end(w);
    fl_json_end(w);
}
