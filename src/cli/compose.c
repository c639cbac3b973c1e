/* Building and recording the events of a command. */
#include "cli/compose.h"

#include <math.h>
#include <stdio.h>

#include "base/limits.h"
#include "base/shown.h"
#include "base/str.h"

fl_id fl_compose_id(fl_session *s)
{
    if (s->cli->ids == NULL) {
        return fl_id_random();
    }
    const fl_id root = {{0}};
    fl_sv name = fl_arena_printf(&s->arena, "%s %lld %llu", s->cli->ids,
                                 (long long)(s->has_room ? s->room.position : 0),
                                 (unsigned long long)s->n_ids++);
    return fl_id_derive(root, name);
}

/* The members that are "not told" unless something is put there, and whose zero means something. */
static void clear_body(fl_event *event)
{
    const double untold = (double)NAN;
    switch ((int)event->kind) {
    case FL_KIND_PLACE_SET:
        event->body.place_set.set_temp_c = event->body.place_set.volume_l = untold;
        event->body.place_set.shelf = -1;
        break;
    case FL_KIND_BOTTLE_OPENED:
        event->body.bottle_opened.specific_gravity = event->body.bottle_opened.store_c = untold;
        break;
    case FL_KIND_LOT_ARRIVED:
        event->body.lot_arrived.cost = untold;
        break;
    case FL_KIND_PLACE_CLEANED:
        event->body.place_cleaned.efficacy = untold;
        break;
    case FL_KIND_LOOK_DONE:
        event->body.look_done.frac_examined = 1.0;
        break;
    case FL_KIND_ANIMAL_NOTED:
        event->body.animal_noted.sampled_s = INT64_MIN;
        break;
    case FL_KIND_COMPLAINT_NOTED:
        event->body.complaint_noted.hazard_per_30_days = untold;
        event->body.complaint_noted.look_days = event->body.complaint_noted.temp_c = untold;
        break;
    case FL_KIND_ROOM_SET:
        event->body.room_set.round_weekday = -1;
        break;
    default:
        break;
    }
}

fl_status fl_compose(fl_session *s, fl_kind kind, fl_event **out, fl_err *err)
{
    if (s->events == NULL) {
        s->events = FL_ARENA_ARRAY(&s->arena, fl_event, FL_SESSION_EVENTS_MAX);
    }
    if (s->n_events == FL_SESSION_EVENTS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "more than %d events in one command: give fewer lots",
                       FL_SESSION_EVENTS_MAX);
    }
    fl_event *event = &s->events[s->n_events++];
    *event = (fl_event){.id = fl_compose_id(s),
                        .kind = kind,
                        .at_s = s->at_s,
                        .precision = s->precision,
                        .note = s->note};
    clear_body(event);
    *out = event;
    return FL_OK;
}

void fl_compose_made(fl_session *s, const char *what, fl_id id, fl_sv name)
{
    if (s->made == NULL) {
        s->made = FL_ARENA_ARRAY(&s->arena, fl_made, FL_SESSION_EVENTS_MAX);
    }
    if (s->n_made < FL_SESSION_EVENTS_MAX) {
        s->made[s->n_made++] = (fl_made){what, id, fl_arena_copy_sv(&s->arena, name)};
    }
}

fl_status fl_compose_record(fl_session *s, fl_err *err)
{
    s->n_conflicts_before = s->room.meaning.n_conflicts;
    fl_status status = fl_app_record_events(&s->app, s->events, s->n_events, err);
    s->has_recorded = status == FL_OK;
    return status == FL_OK ? fl_session_load(s, err) : status;
}

bool fl_compose_told(fl_session *s)
{
    char text[FL_ID_TEXT_MAX];
    if (!s->cli->is_json) {
        return false;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_id *ids = FL_ARENA_ARRAY(&s->arena, fl_id, s->n_events);
    fl_recorded *results = FL_ARENA_ARRAY(&s->arena, fl_recorded, s->n_events);
    for (size_t i = 0; i < s->n_events; i++) {
        ids[i] = s->events[i].id;
        results[i] = FL_RECORDED_NEW;
    }
    fl_json_begin_object(w, NULL);
    fl_view_recorded(w, "record", ids, results, s->n_events, s->room.position);
    fl_json_begin_array(w, "made");
    for (size_t i = 0; i < s->n_made; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "what", s->made[i].what);
        fl_json_put_cstr(w, "id", fl_id_format(text, s->made[i].id));
        fl_json_put_text(w, "code", fl_code_of(s, s->made[i].id));
        fl_json_put_text(w, "name", s->made[i].name);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
    return true;
}

/* ---- reading what was typed ---- */

fl_status fl_read_lots(fl_call *call, size_t first, const fl_lot ***out, size_t *count, fl_err *err)
{
    size_t n = call->n_words > first ? call->n_words - first : 0;
    const fl_lot **lots = FL_ARENA_ARRAY(&call->s->arena, const fl_lot *, n);
    fl_status status = FL_OK;
    if (n > FL_LIST_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu lots: give at most %d", n, FL_LIST_MAX);
    }
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = fl_room_find_lot(&call->s->room, call->words[first + i], &lots[i], err);
        for (size_t k = 0; k < i && status == FL_OK; k++) {
            if (lots[k] == lots[i]) {
                status = fl_fail(err, FL_EINVAL, "\"%.*s\" is named twice: name each lot once",
                                 FL_SHOWN(call->words[first + i]));
            }
        }
    }
    if (status == FL_OK) {
        *out = lots;
        *count = n;
    }
    return status;
}

fl_id_list fl_lot_ids(fl_session *s, const fl_lot *const *lots, size_t count)
{
    fl_id *ids = FL_ARENA_ARRAY(&s->arena, fl_id, count);
    for (size_t i = 0; i < count; i++) {
        ids[i] = lots[i]->id;
    }
    return (fl_id_list){ids, count};
}

fl_status fl_read_word(fl_sv text, const char *what, const fl_word *list, int count, int *out,
                       fl_err *err)
{
    int found = fl_word_find(list, count, text);
    if (found >= 0) {
        *out = found;
        return FL_OK;
    }
    fl_str names;
    fl_str_init(&names, 170);
    for (int i = 0; i < count; i++) {
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", list[i].word);
    }
    fl_status status =
        fl_fail(err, FL_EINVAL, "%s \"%.*s\": give one of %s", what, FL_SHOWN(text), names.ptr);
    fl_str_done(&names);
    return status;
}

fl_status fl_read_mask(fl_sv text, const char *what, const fl_word *list, int count, unsigned *out,
                       fl_err *err)
{
    unsigned mask = 0;
    fl_status status = FL_OK;
    while (text.len > 0 && status == FL_OK) {
        int index = 0;
        status = fl_read_word(fl_sv_trim(fl_sv_split(&text, ',')), what, list, count, &index, err);
        mask |= status == FL_OK ? 1U << index : 0U;
    }
    if (status == FL_OK) {
        *out = mask;
    }
    return status;
}
