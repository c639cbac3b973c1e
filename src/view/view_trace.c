/* Traces, outbreaks and the identification aid as JSON. */
#include "view/view_trace.h"

#include <math.h>

#include "json/event_codec.h"
#include "view/put.h"

#define EVENT_BYTES_MAX ((size_t)1 << 20)

/* ---- chains ---- */

static void put_link(fl_json_writer *w, fl_link link)
{
    if (link == FL_LINK_COUNT) {
        fl_json_put_null(w, "link");
        fl_json_put_null(w, "link_text");
    } else {
        fl_put_word(w, "link", "link_text", &fl_words_link[link]);
    }
}

static const fl_lot *lot_of(const fl_view *v, fl_id id)
{
    return fl_id_is_none(id) ? NULL : fl_meaning_lot(&v->room->meaning, id);
}

static void put_chain(const fl_view *v, const fl_trace_contact *chain, size_t n)
{
    fl_json_begin_array(v->w, "chain");
    for (size_t i = 0; i < n; i++) {
        const fl_trace_contact *c = &chain[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_at(v->w, "at", c->at_s);
        fl_put_on(v, "on", c->at_s);
        put_link(v->w, c->link);
        fl_put_place_ref(v, "from_place", c->from_place);
        fl_put_place_ref(v, "to_place", c->to_place);
        fl_put_lot_ref(v, "lot", lot_of(v, c->lot));
        fl_json_put_number(v->w, "share", c->share);
        fl_json_put_text(v->w, "text", fl_say_contact(v->room, c, v->arena));
        fl_put_id(v->w, "event_id", c->event);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* ---- the trace ---- */

static void put_subject(const fl_view *v, const fl_trace *t)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, "subject");
    fl_put_id(w, "finding_id", t->finding != NULL ? t->finding->finding : (fl_id){{0}});
    fl_put_id(w, "animal_event_id", t->animal != NULL ? t->animal->id : (fl_id){{0}});
    fl_put_lot_ref(v, "lot", t->lot);
    fl_put_place_ref(v, "place", t->place);
    fl_json_put_text(w, "text", fl_say_subject(v->room, t, v->arena));
    fl_json_end(w);
    fl_json_put_cstr(w, "threat", t->threat->code);
    fl_json_put_cstr(w, "threat_text", t->threat->name);
    fl_json_put_bool(w, "is_threat_assumed", t->is_threat_assumed);
    fl_put_text(w, "stage",
                t->stage >= 0 ? fl_sv_from_cstr(t->threat->stage[t->stage].name) : FL_SV(""));
    fl_put_at(w, "found_at", t->found_s);
    fl_put_on(v, "found_on", t->found_s);
    fl_put_at(w, "from_at", t->from_s);
    fl_put_at(w, "to_at", t->to_s);
}

static void put_window(const fl_view *v, const fl_trace *t)
{
    if (!t->has_window) {
        fl_json_put_null(v->w, "window");
        return;
    }
    fl_json_begin_object(v->w, "window");
    fl_json_put_bool(v->w, "is_bound", t->window.is_bound);
    fl_json_put_bool(v->w, "is_older_possible", t->is_older_possible);
    fl_put_at(v->w, "from_at", t->window_from_s);
    fl_put_at(v->w, "middle_at", t->window_middle_s);
    fl_put_at(v->w, "to_at", t->window_to_s);
    fl_put_on(v, "from_on", t->window_from_s);
    fl_put_on(v, "to_on", t->window_to_s);
    fl_json_put_text(v->w, "text", fl_say_window(v->room, t, v->arena));
    fl_json_end(v->w);
}

static void put_source(const fl_view *v, const fl_trace_source *s)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "kind_text", &fl_words_suspect[s->kind]);
    fl_json_put_text(w, "text", fl_say_source(v->room, s, v->arena));
    fl_put_id(w, "source_id", s->source);
    fl_put_id(w, "arrival_id", s->arrival);
    fl_put_lot_ref(v, "lot", lot_of(v, s->lot));
    fl_put_place_ref(v, "place", s->place);
    fl_put_at(w, "came_at", s->at_s);
    fl_put_on(v, "came_on", s->at_s);
    fl_json_put_number(w, "prob_prior", s->prior);
    fl_json_put_bool(w, "is_learned", s->is_learned);
    fl_put_text(w, "fact", fl_sv_from_cstr(s->fact));
    fl_json_put_number(w, "prob", s->prob);
    fl_json_put_text(w, "prob_text", fl_say_chance(s->prob, v->arena));
    put_chain(v, s->chain, s->n_chain);
    fl_json_end(w);
}

static void put_reached(const fl_view *v, const fl_trace_reached *r)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", r->lot);
    fl_put_place_ref(v, "place", r->lot->place);
    fl_json_put_number(w, "prob", r->prob);
    fl_json_put_number(w, "prob_most", r->most);
    fl_json_put_text(w, "prob_text", fl_say_chance(r->prob, v->arena));
    fl_json_put_number(w, "prob_here", r->here);
    fl_json_put_text(w, "here_text", fl_say_chance(r->here, v->arena));
    fl_json_put_number(w, "prob_now", r->chance_now);
    fl_put_text(w, "now_text",
                isnan(r->chance_now) ? FL_SV("") : fl_say_chance(r->chance_now, v->arena));
    fl_put_at(w, "since_at", r->at_s);
    fl_put_on(v, "since_on", r->at_s);
    put_link(w, r->link);
    fl_json_put_bool(w, "is_where_found", r->is_where_found);
    fl_json_put_bool(w, "is_outside", r->is_outside);
    fl_json_put_bool(w, "is_lost", r->is_lost);
    put_chain(v, r->chain, r->n_chain);
    fl_json_end(w);
}

static void put_places(const fl_view *v, const fl_trace *t)
{
    fl_json_begin_array(v->w, "places");
    for (size_t i = 0; i < t->n_places; i++) {
        const fl_trace_place *p = &t->places[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_place_ref(v, "place", p->place);
        fl_json_put_number(v->w, "prob", p->prob);
        fl_json_put_text(v->w, "prob_text", fl_say_chance(p->prob, v->arena));
        fl_json_put_int(v->w, "lots", (int64_t)p->n_lots);
        fl_json_put_bool(v->w, "is_held", p->is_held);
        fl_json_put_bool(v->w, "is_where_found", p->is_where_found);
        fl_json_put_bool(v->w, "is_occupied", p->is_occupied);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

void fl_view_trace(const fl_view *v, const char *key, const fl_trace *trace)
{
    fl_json_begin_object(v->w, key);
    put_subject(v, trace);
    put_window(v, trace);
    fl_json_begin_array(v->w, "sources");
    for (size_t i = 0; i < trace->n_sources; i++) {
        put_source(v, &trace->sources[i]);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "reached");
    for (size_t i = 0; i < trace->n_reached; i++) {
        put_reached(v, &trace->reached[i]);
    }
    fl_json_end(v->w);
    put_places(v, trace);
    fl_json_put_int(v->w, "outside", (int64_t)trace->n_outside);
    fl_json_put_int(v->w, "contacts", (int64_t)trace->n_contacts);
    fl_json_end(v->w);
}

/* ---- the outbreak ---- */

static fl_status put_events(const fl_view *v, const fl_proposal *p, fl_err *err)
{
    fl_status status = FL_OK;
    fl_json_begin_array(v->w, "events");
    for (size_t i = 0; i < p->n_events && status == FL_OK; i++) {
        fl_str text;
        fl_str_init(&text, EVENT_BYTES_MAX);
        status = fl_event_write(&p->events[i], &text, err);
        if (status == FL_OK) {
            status = fl_json_put_raw(v->w, NULL, fl_str_sv(&text), err);
        }
        fl_str_done(&text);
    }
    fl_json_end(v->w);
    return status;
}

/* What accepting it records, in words. */
static fl_sv say_records(const fl_view *v, const fl_proposal *p)
{
    fl_sv list = FL_SV("");
    for (size_t i = 0; i < p->n_events; i++) {
        list = fl_arena_printf(v->arena, "%.*s%s%s", FL_SV_ARG(list), i == 0 ? "" : ", ",
                               fl_kinds[p->events[i].kind].text);
    }
    return list.len > 0 ? fl_arena_printf(v->arena, "Records, as done now: %.*s.", FL_SV_ARG(list))
                        : FL_SV("Nothing to record: do it, that is all.");
}

static fl_status put_proposal(const fl_view *v, const fl_proposal *p, size_t number, fl_err *err)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "number", (int64_t)number);
    fl_put_word(w, "kind", "kind_text", &fl_words_proposal[p->kind]);
    fl_json_put_text(w, "text", p->text);
    fl_put_text(w, "why", p->why);
    fl_put_text(w, "not_reached", p->not_reached);
    fl_json_begin_array(w, "cautions");
    for (size_t i = 0; i < p->n_cautions; i++) {
        fl_json_put_cstr(w, NULL, p->cautions[i]);
    }
    fl_json_end(w);
    fl_put_place_ref(v, "place", p->place);
    fl_put_lot_ref(v, "lot", lot_of(v, p->lot));
    fl_put_at(w, "at", p->at_s);
    fl_put_on(v, "on", p->at_s);
    fl_json_put_text(w, "records_text", say_records(v, p));
    fl_status status = put_events(v, p, err);
    fl_json_end(w);
    return status;
}

fl_status fl_view_proposals(const fl_view *v, const char *key, const fl_proposal *proposals,
                            size_t n, fl_err *err)
{
    fl_status status = FL_OK;
    fl_json_begin_array(v->w, key);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = put_proposal(v, &proposals[i], i + 1, err);
    }
    fl_json_end(v->w);
    return status;
}

static void put_story(const fl_view *v, const fl_outbreak *o)
{
    fl_json_begin_array(v->w, "story");
    for (size_t i = 0; i < o->n_story; i++) {
        const fl_story_line *line = &o->story[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_at(v->w, "at", line->at_s);
        fl_put_on(v, "on", line->at_s);
        fl_put_word(v->w, "kind", "kind_text", &fl_words_story[line->kind]);
        fl_json_put_text(v->w, "text", line->text);
        fl_json_put_bool(v->w, "is_future", line->is_future);
        fl_put_id(v->w, "event_id", line->event);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static const char *state_word(fl_outbreak_state state)
{
    switch (state) {
    case FL_OUTBREAK_TOLERATED:
        return "tolerated";
    case FL_OUTBREAK_RETRACTED:
        return "retracted";
    case FL_OUTBREAK_OVER:
        return "over";
    case FL_OUTBREAK_OPEN:
        break;
    }
    return "open";
}

fl_status fl_view_outbreak(const fl_view *v, const char *key, const fl_outbreak *outbreak,
                           fl_err *err)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_json_put_cstr(w, "state", state_word(outbreak->state));
    fl_json_put_text(w, "state_text", fl_say_outbreak_state(v->room, outbreak, v->arena));
    fl_put_at(w, "clear_at", outbreak->clear_s);
    fl_put_on(v, "clear_on", outbreak->clear_s);
    fl_json_put_bool(w, "is_about_animals", outbreak->is_about_animals);
    fl_json_begin_array(w, "first");
    for (int i = 0; i < FL_OUTBREAK_FIRST; i++) {
        fl_json_put_cstr(w, NULL, outbreak->first[i]);
    }
    fl_json_end(w);
    fl_status status =
        fl_view_proposals(v, "proposals", outbreak->proposals, outbreak->n_proposals, err);
    put_story(v, outbreak);
    if (outbreak->is_traced) {
        fl_view_trace(v, "trace", &outbreak->trace);
    } else {
        fl_json_put_null(w, "trace");
    }
    fl_json_end(w);
    return status;
}

/* ---- what it is ---- */

static void put_rank(const fl_view *v, const fl_ident_rank *r)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "code", r->of);
    fl_json_put_cstr(w, "name", fl_say_kind_of_find(r));
    fl_json_put_bool(w, "is_harmless", r->threat == NULL);
    fl_json_put_cstr(w, "specimen", r->best.name);
    fl_json_put_cstr(w, "figure", r->best.code);
    fl_put_text(w, "stage", fl_sv_from_cstr(r->best.stage));
    fl_json_put_cstr(w, "cue", r->best.cue);
    fl_json_put_number(w, "prob", r->prob);
    fl_json_put_text(w, "prob_text", fl_say_chance(r->prob, v->arena));
    fl_json_put_int(w, "answers_for", r->n_for);
    fl_json_put_int(w, "answers_against", r->n_against);
    fl_json_end(w);
}

static void put_next(const fl_view *v, const fl_view_ident_args *args)
{
    fl_json_writer *w = v->w;
    const fl_ident_next *next = args->next;
    if (!next->has_question) {
        fl_json_put_null(w, "next");
        return;
    }
    fl_json_begin_object(w, "next");
    fl_json_put_cstr(w, "sign", fl_words_sign[next->sign].word);
    fl_json_put_cstr(w, "question", fl_words_sign[next->sign].text);
    fl_json_put_number(w, "information_bits", next->information_bits);
    fl_json_put_cstr(w, "first", args->ranks[0].of);
    fl_json_put_cstr(w, "second", args->ranks[1].of);
    fl_json_begin_array(w, "values");
    for (int i = 0; i < fl_ident_value_count(next->sign); i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "value", fl_ident_value_word(next->sign, i));
        fl_json_put_cstr(w, "text", fl_ident_value_text(next->sign, i));
        fl_json_put_number(w, "prob_first", next->prob_first[i]);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_ident(const fl_view *v, const char *key, const fl_view_ident_args *args)
{
    fl_json_writer *w = v->w;
    const fl_ident_rank *first = &args->ranks[0];
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "answers");
    for (size_t i = 0; i < args->n_answers; i++) {
        const fl_sign_answer *a = &args->answers[i];
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "sign", fl_words_sign[a->sign].word);
        fl_json_put_cstr(w, "value",
                         a->value < 0 ? "cannot_tell" : fl_ident_value_word(a->sign, a->value));
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "ranking");
    for (size_t i = 0; i < args->n_ranks; i++) {
        if (i < 3 || args->ranks[i].prob >= FL_VIEW_RANK_LEAST) {
            put_rank(v, &args->ranks[i]);
        }
    }
    fl_json_end(w);
    fl_json_put_bool(w, "is_sure", first->prob >= FL_VIEW_SURE && first->n_against == 0);
    fl_json_put_bool(w, "fits_badly", first->n_against >= FL_VIEW_AGAINST);
    put_next(v, args);
    fl_json_end(w);
}

void fl_view_signs(const fl_view *v, const char *key)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "signs");
    for (int sign = 0; sign < FL_SIGN_COUNT; sign++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "sign", fl_words_sign[sign].word);
        fl_json_put_cstr(w, "question", fl_words_sign[sign].text);
        fl_json_begin_array(w, "values");
        for (int i = 0; i < fl_ident_value_count((fl_sign)sign); i++) {
            fl_json_begin_object(w, NULL);
            fl_json_put_cstr(w, "value", fl_ident_value_word((fl_sign)sign, i));
            fl_json_put_cstr(w, "text", fl_ident_value_text((fl_sign)sign, i));
            fl_json_end(w);
        }
        fl_json_end(w);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}
