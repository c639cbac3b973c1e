/* What is said to a customer's complaint. */
#include "view/complaint.h"

#include <math.h>

#include "base/limits.h"
#include "base/str.h"
#include "view/put.h"
#include "view/view_trace.h"

/* From this chance on that it came along, something is to be done here before the next round. */
#define WORTH_A_LOOK 0.05
#define NAMED_MOST 4

/* ---- words ---- */

static fl_sv say_range(const fl_complaint_range *range, fl_arena *arena)
{
    const fl_sv chance = fl_say_chance(range->middle, arena);
    const fl_sv band = fl_say_band(range->least, range->most, arena);
    return band.len == 0 ? chance
                         : fl_arena_printf(arena, "%.*s, %.*s", FL_SV_ARG(chance), FL_SV_ARG(band));
}

fl_sv fl_say_complaint(const fl_complaint *c, fl_arena *arena)
{
    if (c->no_chance != NULL) {
        return fl_arena_printf(arena, "No chance can be told: %s.", c->no_chance);
    }
    if (isnan(c->here.middle)) {
        return FL_SV("By what is told, it can neither have come along nor have begun there: ask "
                     "what it is, and from when.");
    }
    const fl_sv range = say_range(&c->here, arena);
    return fl_arena_printf(arena, "That it came along: %.*s. Else it began at the customer's.",
                           FL_SV_ARG(range));
}

fl_sv fl_say_complaint_left(const fl_room *room, const fl_complaint *c, fl_arena *arena)
{
    const fl_sv on = fl_say_date(room, c->left.at_s, c->left.event->precision, arena);
    const fl_sv plural = fl_say_plural(c->question.threat, arena);
    if (c->no_chance != NULL) {
        return fl_arena_printf(arena, "It left on %.*s.", FL_SV_ARG(on));
    }
    const fl_sv range = say_range(&c->on_it, arena);
    return fl_arena_printf(arena, "When it left, on %.*s: %.*s, that %.*s were on it.",
                           FL_SV_ARG(on), FL_SV_ARG(range), FL_SV_ARG(plural));
}

fl_sv fl_say_complaint_there(const fl_complaint *c, fl_arena *arena)
{
    const fl_complaint_question *q = &c->question;
    return fl_arena_printf(
        arena,
        "At the customer's: %.2g arrivals of it from elsewhere expected in 30 days (%s); a glance "
        "every %.3g days (%s); %.3g °C.",
        q->hazard_per_30_days,
        c->is_hazard_told ? "as told" : "our judgement, and a quarter to four times that",
        q->look_days, c->is_look_told ? "as told" : "our judgement, and 2 to 14", q->temp_c);
}

/* ---- what now ---- */

static bool is_here(const fl_trace_reached *r)
{
    return !r->is_outside && !r->is_lost && !fl_id_is_none(r->lot->place);
}

/* Adds a name to a list of them, once; false when it was there. */
static bool add_name(fl_str *list, fl_sv name, size_t *n)
{
    fl_sv rest = fl_str_sv(list);
    while (rest.len > 0) {
        if (fl_sv_eq(fl_sv_trim(fl_sv_split(&rest, ',')), name)) {
            return false;
        }
    }
    fl_str_appendf(list, "%s%.*s", *n > 0 ? ", " : "", FL_SV_ARG(name));
    (*n)++;
    return true;
}

static fl_sv end_names(fl_str *list, fl_arena *arena)
{
    const fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(list));
    fl_str_done(list);
    return copy;
}

/* "bin 1, the bench": where those stand that may have it, likeliest first. */
static fl_sv places_here(const fl_room *room, const fl_complaint *c, fl_arena *arena)
{
    fl_str list;
    size_t n = 0;
    fl_str_init(&list, FL_NOTE_BYTES_MAX);
    for (size_t i = 0; i < c->trace.n_reached && n < NAMED_MOST; i++) {
        if (is_here(&c->trace.reached[i])) {
            (void)add_name(&list, fl_room_place_name(room, c->trace.reached[i].lot->place), &n);
        }
    }
    return end_names(&list, arena);
}

/* Who else has of the same plants. */
static fl_sv others(const fl_room *room, const fl_complaint *c, fl_arena *arena)
{
    fl_str list;
    size_t n = 0;
    fl_str_init(&list, FL_NOTE_BYTES_MAX);
    for (size_t i = 0; i < c->n_others && n < NAMED_MOST; i++) {
        if (!fl_id_eq(c->others[i].to, c->left.to)) {
            (void)add_name(&list, fl_room_place_name(room, c->others[i].to), &n);
        }
    }
    return end_names(&list, arena);
}

size_t fl_say_complaint_next(const fl_room *room, const fl_complaint *c, fl_arena *arena,
                             fl_sv next[FL_COMPLAINT_NEXT_MAX])
{
    size_t n = 0;
    const bool is_worth = c->no_chance != NULL || !(c->here.middle < WORTH_A_LOOK);
    const fl_sv places = places_here(room, c, arena);
    const fl_sv who = others(room, c, arena);
    const fl_sv left = fl_say_date(room, c->left.at_s, c->left.event->precision, arena);
    next[n++] = fl_arena_printf(arena,
                                "Ask for a photo, for the stage that is seen, and for what else "
                                "came home there since %.*s: each moves the number.",
                                FL_SV_ARG(left));
    if (is_worth && places.len > 0) {
        next[n++] =
            fl_arena_printf(arena, "Look carefully at what may have it too, likeliest first: %.*s.",
                            FL_SV_ARG(places));
        next[n++] = FL_SV("Until that look, let nothing leave from there: a hold keeps that in "
                          "mind. What it finds, or does not, moves every chance; the complaint "
                          "alone moves none.");
    } else if (places.len > 0) {
        next[n++] = FL_SV("Nothing here asks for more than the next round for it.");
    }
    if (who.len > 0) {
        next[n++] = fl_arena_printf(arena,
                                    "Others have of the same plants: %.*s. Tell them what "
                                    "to look for.",
                                    FL_SV_ARG(who));
    }
    next[n++] = FL_SV("A plant that comes back is a new arrival: closed in a bag, into a bin of "
                      "its own.");
    return n;
}

/* ---- JSON ---- */

static void put_range(fl_json_writer *w, const char *const keys[3], const fl_complaint_range *r,
                      bool has)
{
    const double untold = (double)NAN;
    fl_json_put_number(w, keys[0], has ? r->middle : untold);
    fl_json_put_number(w, keys[1], has ? r->least : untold);
    fl_json_put_number(w, keys[2], has ? r->most : untold);
}

static void put_chances(const fl_view *v, const fl_complaint *c)
{
    static const char *const on_it[] = {"prob_left_with", "prob_left_with_least",
                                        "prob_left_with_most"};
    static const char *const here[] = {"prob_came_along", "prob_came_along_least",
                                       "prob_came_along_most"};
    const bool has = c->no_chance == NULL;
    put_range(v->w, on_it, &c->on_it, has);
    put_range(v->w, here, &c->here, has && !isnan(c->here.middle));
    fl_json_put_number(v->w, "prob_noticed_and_came_along", has ? c->noticed_here : (double)NAN);
    fl_json_put_number(v->w, "prob_noticed_and_began_there", has ? c->noticed_there : (double)NAN);
    fl_json_put_text(v->w, "text", fl_say_complaint(c, v->arena));
    fl_json_put_text(v->w, "left_text", fl_say_complaint_left(v->room, c, v->arena));
    fl_json_put_text(v->w, "there_text", fl_say_complaint_there(c, v->arena));
}

static void put_there(const fl_view *v, const fl_complaint *c)
{
    fl_json_begin_object(v->w, "there");
    fl_json_put_number(v->w, "hazard_per_30_days", c->question.hazard_per_30_days);
    fl_json_put_bool(v->w, "is_hazard_told", c->is_hazard_told);
    fl_json_put_number(v->w, "look_days", c->question.look_days);
    fl_json_put_bool(v->w, "is_look_told", c->is_look_told);
    fl_json_put_number(v->w, "temp_c", c->question.temp_c);
    fl_json_put_cstr(v->w, "grade", "assumed");
    fl_json_end(v->w);
}

static void put_leaving(const fl_view *v, const char *key, const fl_batch_leaving *left)
{
    fl_json_begin_object(v->w, key);
    fl_put_lot_ref(v, "lot", left->lot);
    fl_put_place_ref(v, "to", left->to);
    fl_json_put_int(v->w, "count", left->count);
    fl_put_at(v->w, "at", left->at_s);
    fl_put_on(v, "on", left->at_s);
    fl_json_put_text(v->w, "when_text",
                     fl_say_date(v->room, left->at_s, left->event->precision, v->arena));
    fl_json_end(v->w);
}

/* What was said: members that lists have too. */
static void put_said(const fl_view *v, const fl_event *event)
{
    char code[FL_CODE_TEXT_MAX];
    const fl_ev_complaint_noted *b = &event->body.complaint_noted;
    const fl_threat *threat = fl_know_threat_find(b->threat);
    fl_put_id(v->w, "id", event->id);
    fl_json_put_cstr(v->w, "code", fl_id_code(code, event->id));
    fl_put_at(v->w, "noticed_at", event->at_s);
    fl_put_on(v, "noticed_on", event->at_s);
    fl_json_put_text(v->w, "noticed_text",
                     fl_say_date(v->room, event->at_s, event->precision, v->arena));
    fl_put_lot_ref(v, "lot", fl_meaning_lot(&v->room->meaning, b->lot));
    fl_json_put_text(v->w, "threat", b->threat);
    fl_json_put_text(v->w, "name", threat != NULL ? fl_sv_from_cstr(threat->name) : b->threat);
    fl_put_text(v->w, "stage", b->stage);
    fl_put_text(v->w, "customer", b->customer);
    fl_put_text(v->w, "what", b->what);
}

void fl_view_complaint(const fl_view *v, const char *key, const fl_complaint *c)
{
    fl_sv next[FL_COMPLAINT_NEXT_MAX];
    const size_t n = fl_say_complaint_next(v->room, c, v->arena, next);
    fl_json_begin_object(v->w, key);
    fl_json_begin_object(v->w, "said");
    put_said(v, c->event);
    fl_json_end(v->w);
    fl_json_put_text(v->w, "customer", c->customer);
    put_leaving(v, "left", &c->left);
    put_chances(v, c);
    put_there(v, c);
    fl_json_begin_array(v->w, "next");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_text(v->w, NULL, next[i]);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "others");
    for (size_t i = 0; i < c->n_others; i++) {
        if (c->others[i].lot != c->left.lot) {
            put_leaving(v, NULL, &c->others[i]);
        }
    }
    fl_json_end(v->w);
    fl_view_trace(v, "trace", &c->trace);
    fl_json_end(v->w);
}

void fl_view_complaints(const fl_view *v, const char *key)
{
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "complaints");
    for (size_t i = v->room->n_events; i-- > 0;) {
        if (v->room->events[i].kind == FL_KIND_COMPLAINT_NOTED) {
            fl_json_begin_object(v->w, NULL);
            put_said(v, &v->room->events[i]);
            fl_json_end(v->w);
        }
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}
