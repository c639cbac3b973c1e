/* The journal as sentences, the newest first. */
#include "base/limits.h"
#include "view/names.h"
#include "view/put.h"
#include "view/words_event.h"

/* The live voiding of an event; NULL. The latest one, should there be several. */
static const fl_event *voiding_of(const fl_room *room, fl_id id)
{
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *event = &room->events[i - 1];
        if (event->kind == FL_KIND_EVENT_VOIDED && fl_id_eq(event->body.event_voided.event, id)) {
            return event;
        }
    }
    return NULL;
}

/* True when the id is a hold of the place, or a finding there or on the lot. */
static bool is_of(const fl_meaning *m, fl_id id, fl_id about)
{
    for (size_t i = 0; i < m->n_holds; i++) {
        if (fl_id_eq(m->holds[i].id, id) && fl_id_eq(m->holds[i].place, about)) {
            return true;
        }
    }
    for (size_t i = 0; i < m->n_findings; i++) {
        const fl_finding_now *f = &m->findings[i];
        if (fl_id_eq(f->finding, id) && (fl_id_eq(f->place, about) || fl_id_eq(f->lot, about))) {
            return true;
        }
    }
    return false;
}

/* True when the event mentions the lot or place, or a hold or finding of it, or is a look at where
 * the lot stood then. */
static bool is_about(const fl_room *room, const fl_event *event, fl_id about)
{
    fl_fact facts[2 * FL_LIST_MAX];
    const size_t capacity = sizeof facts / sizeof facts[0];
    size_t n = 0;
    if (event->kind == FL_KIND_LOOK_DONE && event->body.look_done.lots.count == 0) {
        const fl_stay *stay = fl_meaning_stay_at(&room->meaning, about, event->at_s);
        if (stay != NULL && fl_id_eq(stay->place, event->body.look_done.place)) {
            return true;
        }
    }
    if (fl_event_facts(event, facts, capacity, &n, NULL) != FL_OK) {
        n = capacity;
    }
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(facts[i].id, about) || is_of(&room->meaning, facts[i].id, about)) {
            return true;
        }
    }
    return false;
}

static void put_event(const fl_view *v, const fl_event *event, bool is_voided)
{
    const fl_event *voiding = is_voided ? voiding_of(v->room, event->id) : NULL;
    fl_json_begin_object(v->w, NULL);
    fl_put_id(v->w, "id", event->id);
    fl_json_put_cstr(v->w, "kind", fl_kinds[event->kind].word);
    fl_put_at(v->w, "at", event->at_s);
    fl_put_on(v, "on", event->at_s);
    fl_json_put_text(v->w, "date_text",
                     fl_say_date(v->room, event->at_s, event->precision, v->arena));
    fl_json_put_text(v->w, "text", fl_say_event(v->room, event, v->arena));
    fl_put_text(v->w, "device", event->device);
    fl_json_put_bool(v->w, "is_voided", is_voided);
    fl_put_id(v->w, "voided_by", voiding != NULL ? voiding->id : (fl_id){{0}});
    fl_json_end(v->w);
}

void fl_view_history(const fl_view *v, const char *key, fl_history_of which)
{
    const fl_room *room = v->room;
    size_t live = room->n_events;
    size_t voided = room->n_voided;
    size_t n = 0;
    bool is_more = false;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "events");
    while ((live > 0 || voided > 0) && !is_more) {
        const bool takes_live =
            voided == 0 ||
            (live > 0 && fl_event_compare(&room->events[live - 1], &room->voided[voided - 1]) > 0);
        const fl_event *event = takes_live ? &room->events[--live] : &room->voided[--voided];
        if (event->kind == FL_KIND_EVENT_VOIDED ||
            (!fl_id_is_none(which.about) && !is_about(room, event, which.about))) {
            continue;
        }
        is_more = n == which.limit;
        if (!is_more) {
            put_event(v, event, !takes_live);
            n++;
        }
    }
    fl_json_end(v->w);
    fl_json_put_bool(v->w, "is_more", is_more);
    fl_json_end(v->w);
}
