/* `show event`, `show history`, `show conflicts`: the journal, and where it disagrees. */
#include <stdlib.h>

#include "base/alloc.h"
#include "base/limits.h"
#include "cli/event_line.h"
#include "cli/find.h"
#include "cli/show.h"
#include "json/event_codec.h"

/* ---- one event ---- */

static bool is_voided(const fl_session *s, fl_id id)
{
    for (size_t i = 0; i < s->room.n_voided; i++) {
        if (fl_id_eq(s->room.voided[i].id, id)) {
            return true;
        }
    }
    return false;
}

/* The bytes that the journal holds are the ones that the event writes. */
static fl_status print_event_json(const fl_event *event, fl_err *err)
{
    fl_str text;
    fl_str_init(&text, FL_EVENT_BYTES_MAX + 1);
    fl_status status = fl_event_write(event, &text, err);
    if (status == FL_OK) {
        (void)printf("%.*s\n", FL_SV_ARG(fl_str_sv(&text)));
    }
    fl_str_done(&text);
    return status;
}

static void print_conflict(fl_session *s, const fl_conflict *conflict)
{
    char id[FL_ID_TEXT_MAX];
    const fl_event *event = fl_find_event(s, conflict->event);
    const fl_event *other = fl_find_event(s, conflict->other);
    const fl_lot *lot = fl_meaning_lot(&s->room.meaning, conflict->lot);
    (void)fputs(fl_words_conflict[conflict->kind].text, stdout);
    if (lot != NULL) {
        fl_sv label = fl_lot_label(s, lot);
        (void)printf(": %.*s", FL_SV_ARG(label));
    }
    (void)fputc('\n', stdout);
    if (event != NULL) {
        fl_sv text = fl_event_line(s, event);
        (void)printf("  %s  %.*s\n", fl_id_format(id, event->id), FL_SV_ARG(text));
    }
    if (other != NULL) {
        fl_sv text = fl_event_line(s, other);
        (void)printf("  %s  %.*s\n", fl_id_format(id, other->id), FL_SV_ARG(text));
    }
}

fl_status fl_show_event(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_event *event = NULL;
    fl_status status = fl_find_recorded(s, call->words[0], &event, err);
    if (status != FL_OK) {
        return status;
    }
    fl_id id = event->id;
    if (s->cli->is_json) {
        return print_event_json(event, err);
    }
    fl_sv line = fl_event_line(s, event);
    (void)printf("%.*s\n", FL_SV_ARG(line));
    if (is_voided(s, id)) {
        (void)puts("It was voided: it does not count.");
    }
    for (size_t i = 0; i < s->room.meaning.n_conflicts; i++) {
        const fl_conflict *conflict = &s->room.meaning.conflicts[i];
        if (fl_id_eq(conflict->event, id) || fl_id_eq(conflict->other, id)) {
            print_conflict(s, conflict);
        }
    }
    return print_event_json(event, err);
}

/* ---- the history of a lot ---- */

/* True when the event mentions the lot, or is a look at the place where it stood then. */
static bool is_about(const fl_session *s, const fl_event *event, const fl_lot *lot)
{
    fl_fact facts[2 * FL_LIST_MAX];
    size_t n = 0;
    if (event->kind == FL_KIND_LOOK_DONE && event->body.look_done.lots.count == 0) {
        const fl_stay *stay = fl_meaning_stay_at(&s->room.meaning, lot->id, event->at_s);
        if (stay != NULL && fl_id_eq(stay->place, event->body.look_done.place)) {
            return true;
        }
    }
    if (fl_event_facts(event, facts, sizeof facts / sizeof facts[0], &n, NULL) != FL_OK) {
        n = sizeof facts / sizeof facts[0];
    }
    for (size_t i = 0; i < n; i++) {
        if (facts[i].entity == FL_ENTITY_LOT && fl_id_eq(facts[i].id, lot->id)) {
            return true;
        }
    }
    return false;
}

/* Events about the lot, voided ones too, in the order in which they happened. */
static size_t gather_history(const fl_session *s, const fl_lot *lot, const fl_event **out)
{
    size_t n = 0;
    size_t live = 0;
    size_t voided = 0;
    while (live < s->room.n_events || voided < s->room.n_voided) {
        bool takes_live = voided == s->room.n_voided ||
                          (live < s->room.n_events &&
                           fl_event_compare(&s->room.events[live], &s->room.voided[voided]) < 0);
        const fl_event *event = takes_live ? &s->room.events[live++] : &s->room.voided[voided++];
        if (is_about(s, event, lot)) {
            out[n++] = event;
        }
    }
    return n;
}

static fl_status print_history_json(fl_session *s, const fl_event *const *events, size_t n,
                                    fl_err *err)
{
    char id[FL_ID_TEXT_MAX];
    fl_status status = FL_OK;
    fl_str text;
    fl_str_init(&text, FL_EVENT_BYTES_MAX + 1);
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "events");
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_str_clear(&text);
        status = fl_event_write(events[i], &text, err);
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "id", fl_id_format(id, events[i]->id));
        fl_json_put_bool(w, "is_voided", is_voided(s, events[i]->id));
        fl_json_put_text(w, "text", fl_event_line(s, events[i]));
        if (status == FL_OK) {
            status = fl_json_put_raw(w, "event", fl_str_sv(&text), err);
        }
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    fl_str_done(&text);
    return status;
}

static void print_history(fl_session *s, const fl_lot *lot, const fl_event *const *events, size_t n)
{
    char id[FL_ID_TEXT_MAX];
    for (size_t i = 0; i < n; i++) {
        fl_sv text = fl_event_line(s, events[i]);
        (void)printf("%s  %s%.*s\n", fl_id_format(id, events[i]->id),
                     is_voided(s, events[i]->id) ? "(voided) " : "", FL_SV_ARG(text));
    }
    for (size_t i = 0; i < s->room.meaning.n_conflicts; i++) {
        if (fl_id_eq(s->room.meaning.conflicts[i].lot, lot->id)) {
            print_conflict(s, &s->room.meaning.conflicts[i]);
        }
    }
}

fl_status fl_show_history(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_event **events =
        FL_ARENA_ARRAY(&s->arena, const fl_event *, s->room.n_events + s->room.n_voided);
    size_t n = gather_history(s, lot, events);
    if (s->cli->is_json) {
        return print_history_json(s, events, n, err);
    }
    print_history(s, lot, events, n);
    return FL_OK;
}

/* ---- conflicts ---- */

static void print_conflicts_json(const fl_session *s)
{
    char id[FL_ID_TEXT_MAX];
    char at[FL_CIVIL_TEXT_MAX];
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "conflicts");
    for (size_t i = 0; i < s->room.meaning.n_conflicts; i++) {
        const fl_conflict *c = &s->room.meaning.conflicts[i];
        const fl_id ids[] = {c->event, c->other, c->lot, c->place};
        static const char *const keys[] = {"event", "other", "lot", "place"};
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "kind", fl_words_conflict[c->kind].word);
        fl_json_put_cstr(w, "text", fl_words_conflict[c->kind].text);
        fl_json_put_cstr(w, "at", fl_civil_format_utc(at, c->at_s));
        for (size_t k = 0; k < sizeof ids / sizeof ids[0]; k++) {
            if (fl_id_is_none(ids[k])) {
                fl_json_put_null(w, keys[k]);
            } else {
                fl_json_put_cstr(w, keys[k], fl_id_format(id, ids[k]));
            }
        }
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

fl_status fl_show_conflicts(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    (void)err;
    if (s->cli->is_json) {
        print_conflicts_json(s);
        return FL_OK;
    }
    for (size_t i = 0; i < s->room.meaning.n_conflicts; i++) {
        print_conflict(s, &s->room.meaning.conflicts[i]);
    }
    if (s->room.meaning.n_conflicts == 0) {
        (void)puts("All records agree.");
    }
    return FL_OK;
}
