/* The outbreak's story: what happened to the plants and places it touched, in order of time, to the
 * all-clear or to the day it is expected. */
#include <stdlib.h>
#include <string.h>

#include "app/outbreak_work.h"

typedef struct teller {
    fl_outbreak_work *w;
    fl_story_line *lines;
    size_t n, cap;
    int64_t found_s;
    int64_t end_s; /* nothing after it is part of the story */
} teller;

static void tell(teller *t, int64_t at_s, fl_story_kind kind, const fl_event *event, fl_sv text)
{
    if (t->n == t->cap) {
        size_t cap = t->cap == 0 ? 64 : 2 * t->cap;
        fl_story_line *lines = FL_ARENA_ARRAY(t->w->arena, fl_story_line, cap);
        if (t->n > 0) {
            memcpy(lines, t->lines, t->n * sizeof lines[0]);
        }
        t->lines = lines;
        t->cap = cap;
    }
    fl_story_line *line = &t->lines[t->n++];
    *line = (fl_story_line){.at_s = at_s, .kind = kind, .text = text};
    if (event != NULL) {
        line->event = event->id;
    }
}

static fl_sv place_name(const teller *t, fl_id place)
{
    return fl_room_place_name(t->w->room, place);
}

static fl_sv lot_name(const teller *t, fl_id id)
{
    const fl_lot *lot = fl_meaning_lot(&t->w->room->meaning, id);
    return lot != NULL ? fl_room_lot_name(t->w->room, lot) : FL_SV("a plant");
}

/* ---- what is touched ---- */

static bool is_touched_place(const teller *t, fl_id place)
{
    if (fl_id_eq(place, t->w->place_id)) {
        return true;
    }
    for (size_t i = 0; i < t->w->out->trace.n_places; i++) {
        const fl_trace_place *p = &t->w->out->trace.places[i];
        if (fl_id_eq(p->place, place) && p->prob >= FL_OUTBREAK_LEAST) {
            return true;
        }
    }
    return false;
}

static bool is_touched_lot(const teller *t, fl_id lot)
{
    for (size_t i = 0; i < t->w->out->trace.n_reached; i++) {
        const fl_trace_reached *r = &t->w->out->trace.reached[i];
        if (fl_id_eq(r->lot->id, lot) && r->prob >= FL_OUTBREAK_LEAST) {
            return true;
        }
    }
    return t->w->finding != NULL && fl_id_eq(t->w->finding->lot, lot);
}

/* ---- before the find ---- */

static fl_sv link_text(fl_link link)
{
    return link == FL_LINK_COUNT ? FL_SV("came") : fl_sv_from_cstr(fl_words_link[link].text);
}

static void tell_source(teller *t)
{
    const fl_trace *trace = &t->w->out->trace;
    if (trace->n_sources == 0) {
        return;
    }
    const fl_trace_source *s = &trace->sources[0];
    int64_t at_s = s->at_s != INT64_MIN ? s->at_s
                   : trace->has_window  ? trace->window_middle_s
                                        : trace->from_s;
    tell(t, at_s, FL_STORY_CAME, NULL,
         fl_arena_printf(t->w->arena, "Most likely it came with %.*s.", FL_SV_ARG(s->what)));
    for (size_t i = 1; i < s->n_chain; i++) {
        const fl_trace_contact *c = &s->chain[i];
        tell(t, c->at_s, FL_STORY_CONTACT, NULL,
             fl_arena_printf(t->w->arena, "From %.*s to %.*s: %.*s.",
                             FL_SV_ARG(place_name(t, c->from_place)),
                             FL_SV_ARG(place_name(t, c->to_place)), FL_SV_ARG(link_text(c->link))));
    }
}

#define REACHED_TOLD 12

static void tell_reached(teller *t)
{
    const fl_trace *trace = &t->w->out->trace;
    size_t told = 0;
    for (size_t i = 0; i < trace->n_reached && told < REACHED_TOLD; i++) {
        const fl_trace_reached *r = &trace->reached[i];
        if (r->is_where_found || r->prob < FL_OUTBREAK_LEAST || r->at_s == INT64_MIN) {
            continue;
        }
        told++;
        fl_sv name = fl_room_lot_name(t->w->room, r->lot);
        tell(t, r->at_s, FL_STORY_CONTACT, NULL,
             r->link == FL_LINK_COUNT
                 ? fl_arena_printf(t->w->arena, "It could have got onto %.*s.", FL_SV_ARG(name))
                 : fl_arena_printf(t->w->arena, "It could have got onto %.*s: %.*s.",
                                   FL_SV_ARG(name), FL_SV_ARG(link_text(r->link))));
    }
}

/* ---- events ---- */

static void tell_look(teller *t, const fl_event *e)
{
    const fl_ev_look_done *look = &e->body.look_done;
    size_t n_found = 0;
    if (!is_touched_place(t, look->place)) {
        return;
    }
    for (size_t i = 0; i < t->w->room->meaning.n_findings; i++) {
        const fl_finding_now *f = &t->w->room->meaning.findings[i];
        bool is_own = t->w->finding != NULL && fl_id_eq(f->finding, t->w->finding->finding);
        if (!fl_id_eq(f->look, e->id)) {
            continue;
        }
        n_found++;
        bool is_same = t->w->threat != NULL && fl_sv_eq_cstr(f->threat, t->w->threat->code);
        if (is_own || (is_same && !f->is_retracted)) {
            fl_sv name =
                is_own && t->w->threat == NULL ? FL_SV("Something") : fl_outbreak_threat_name(t->w);
            tell(t, e->at_s, FL_STORY_FOUND, e,
                 fl_arena_printf(t->w->arena, "%.*s%s%.*s seen in %.*s%s.", FL_SV_ARG(name),
                                 f->stage.len > 0 ? ", " : "", FL_SV_ARG(f->stage),
                                 FL_SV_ARG(place_name(t, look->place)),
                                 f->is_removed ? ", and taken away" : ""));
        }
    }
    if (n_found == 0 && e->at_s > t->found_s) {
        tell(t, e->at_s, FL_STORY_LOOK, e,
             fl_arena_printf(t->w->arena, "%.*s was looked at: nothing was found.",
                             FL_SV_ARG(place_name(t, look->place))));
    }
}

static void tell_naming(teller *t, const fl_event *e)
{
    if (t->w->finding == NULL) {
        return;
    }
    if (e->kind == FL_KIND_FINDING_IDENTIFIED &&
        fl_id_eq(e->body.finding_identified.finding, t->w->finding->finding)) {
        const fl_threat *threat = fl_know_threat_find(e->body.finding_identified.threat);
        fl_sv name =
            threat != NULL ? fl_sv_from_cstr(threat->name) : e->body.finding_identified.threat;
        tell(t, e->at_s, FL_STORY_NAMED, e,
             fl_arena_printf(t->w->arena, "It was named: %.*s%s.", FL_SV_ARG(name),
                             threat == NULL ? ", which is harmless" : ""));
    }
    if (e->kind == FL_KIND_FINDING_RETRACTED &&
        fl_id_eq(e->body.finding_retracted.finding, t->w->finding->finding)) {
        tell(t, e->at_s, FL_STORY_RETRACTED, e,
             FL_SV("It was taken back: nothing was there. What was done since stays done."));
    }
}

static void tell_animal(teller *t, const fl_event *e)
{
    const fl_ev_animal_noted *a = &e->body.animal_noted;
    const fl_threat *threat = fl_know_threat_find(a->threat);
    if (!is_touched_place(t, a->place) ||
        (t->w->animal == NULL && (threat == NULL || threat != t->w->threat))) {
        return;
    }
    if (a->what != FL_ANIMAL_TESTED && !fl_animal_is_unwell(a)) {
        return; /* a trial of residues */
    }
    fl_sv who = a->animal.len > 0 ? a->animal : FL_SV("An animal");
    fl_sv where = place_name(t, a->place);
    if (a->what == FL_ANIMAL_TESTED) {
        tell(t, e->at_s, FL_STORY_ANIMAL, e,
             fl_arena_printf(t->w->arena, "%.*s in %.*s was tested for %s: %s.", FL_SV_ARG(who),
                             FL_SV_ARG(where), threat != NULL ? threat->name : "a disease",
                             a->is_positive ? "positive" : "negative"));
        return;
    }
    tell(t, e->at_s, FL_STORY_ANIMAL, e,
         fl_arena_printf(t->w->arena, "%.*s in %.*s %s.", FL_SV_ARG(who), FL_SV_ARG(where),
                         a->what == FL_ANIMAL_DIED ? "died" : "fell ill"));
}

static bool is_listed(const fl_sv *list, size_t n, fl_sv text)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_sv_eq(list[i], text)) {
            return true;
        }
    }
    return false;
}

static fl_sv joined(const teller *t, const fl_sv *list, size_t n)
{
    fl_sv text = FL_SV("");
    for (size_t i = 0; i < n; i++) {
        const char *between = i == 0 ? "" : i + 1 == n ? " and " : ", ";
        text = fl_arena_printf(t->w->arena, "%.*s%s%.*s", FL_SV_ARG(text), between,
                               FL_SV_ARG(list[i]));
    }
    return text;
}

static fl_sv step_text(const teller *t, const fl_ev_step *s)
{
    if (s->agent == FL_AGENT_NONE) {
        return fl_sv_from_cstr(fl_words_step[s->step].text);
    }
    return fl_arena_printf(t->w->arena, "%s in %s", fl_words_step[s->step].text,
                           fl_words_agent[s->agent].text);
}

#define STEP_NAMES_MAX 24

/* One line an event: the lots it touched, the steps in their order. */
static void tell_steps(teller *t, const fl_event *e)
{
    fl_sv lots[STEP_NAMES_MAX];
    fl_sv steps[STEP_NAMES_MAX];
    size_t n_lots = 0;
    size_t n_steps = 0;
    for (size_t i = 0; i < e->body.step_done.n_steps; i++) {
        const fl_ev_step *s = &e->body.step_done.steps[i];
        bool is_touched = false;
        for (size_t k = 0; k < s->lots.count; k++) {
            if (!is_touched_lot(t, s->lots.ids[k])) {
                continue;
            }
            is_touched = true;
            fl_sv name = lot_name(t, s->lots.ids[k]);
            if (n_lots < STEP_NAMES_MAX && !is_listed(lots, n_lots, name)) {
                lots[n_lots++] = name;
            }
        }
        fl_sv text = step_text(t, s);
        if (is_touched && n_steps < STEP_NAMES_MAX && !is_listed(steps, n_steps, text)) {
            steps[n_steps++] = text;
        }
    }
    if (n_steps > 0) {
        tell(t, e->at_s, FL_STORY_STEP, e,
             fl_arena_printf(t->w->arena, "%.*s: %.*s.", FL_SV_ARG(joined(t, lots, n_lots)),
                             FL_SV_ARG(joined(t, steps, n_steps))));
    }
}

static void tell_leaving(teller *t, const fl_event *e)
{
    bool is_lost = e->kind == FL_KIND_LOT_LOST;
    fl_id lot = is_lost ? e->body.lot_lost.lot : e->body.lot_released.lot;
    if (!is_touched_lot(t, lot)) {
        return;
    }
    if (is_lost) {
        tell(t, e->at_s, FL_STORY_LEFT, e,
             fl_arena_printf(t->w->arena, "%lld of %.*s lost%s%.*s.",
                             (long long)e->body.lot_lost.count, FL_SV_ARG(lot_name(t, lot)),
                             e->body.lot_lost.why.len > 0 ? ": " : "",
                             FL_SV_ARG(e->body.lot_lost.why)));
        return;
    }
    tell(t, e->at_s, FL_STORY_LEFT, e,
         fl_arena_printf(t->w->arena, "%.*s was released into %.*s.", FL_SV_ARG(lot_name(t, lot)),
                         FL_SV_ARG(place_name(t, e->body.lot_released.to))));
}

static void tell_event(teller *t, const fl_event *e)
{
    switch ((int)e->kind) { /* the other kinds are not part of an outbreak */
    case FL_KIND_LOOK_DONE:
        tell_look(t, e);
        return;
    case FL_KIND_FINDING_IDENTIFIED:
    case FL_KIND_FINDING_RETRACTED:
        tell_naming(t, e);
        return;
    case FL_KIND_ANIMAL_NOTED:
        tell_animal(t, e);
        return;
    case FL_KIND_PLACE_CLEANED:
        if (e->at_s >= t->found_s && is_touched_place(t, e->body.place_cleaned.place)) {
            tell(t, e->at_s, FL_STORY_CLEANED, e,
                 fl_arena_printf(t->w->arena, "%.*s was cleaned.",
                                 FL_SV_ARG(place_name(t, e->body.place_cleaned.place))));
        }
        return;
    case FL_KIND_STEP_DONE:
        if (e->at_s >= t->found_s) {
            tell_steps(t, e);
        }
        return;
    case FL_KIND_LOT_LOST:
    case FL_KIND_LOT_RELEASED:
        if (e->at_s >= t->found_s) {
            tell_leaving(t, e);
        }
        return;
    case FL_KIND_TOLERATED_SET:
        if (fl_id_eq(e->body.tolerated_set.place, t->w->place_id) && t->w->threat != NULL &&
            fl_sv_eq_cstr(e->body.tolerated_set.threat, t->w->threat->code)) {
            tell(t, e->at_s, FL_STORY_TOLERATED, e,
                 e->body.tolerated_set.is_tolerated ? FL_SV("It is lived with there.")
                                                    : FL_SV("It is lived with no more."));
        }
        return;
    default:
        return;
    }
}

/* ---- holds and the end ---- */

static void tell_holds(teller *t)
{
    const fl_meaning *m = &t->w->room->meaning;
    for (size_t i = 0; i < m->n_holds; i++) {
        const fl_hold *hold = &m->holds[i];
        if (hold->from_s < t->found_s || hold->from_s > t->end_s ||
            !is_touched_place(t, hold->place)) {
            continue;
        }
        fl_sv name = place_name(t, hold->place);
        tell(t, hold->from_s, FL_STORY_HOLD, NULL,
             fl_arena_printf(t->w->arena, "%.*s is on hold from here on.", FL_SV_ARG(name)));
        if (hold->to_s <= t->end_s && hold->to_s != FL_TIME_OPEN) {
            tell(t, hold->to_s, FL_STORY_HOLD, NULL,
                 fl_arena_printf(t->w->arena, "The hold on %.*s ended.", FL_SV_ARG(name)));
        }
    }
}

static void tell_end(teller *t)
{
    const fl_outbreak *o = t->w->out;
    if (o->state == FL_OUTBREAK_OVER) {
        tell(t, o->clear_s, FL_STORY_CLEAR, NULL, FL_SV("All clear."));
        return;
    }
    if (o->state != FL_OUTBREAK_OPEN || o->clear_s == FL_GATE_NEVER) {
        return;
    }
    tell(t, o->clear_s, FL_STORY_CLEAR, NULL,
         FL_SV("All clear, if every look until then finds nothing and the hold is lifted."));
    t->lines[t->n - 1].is_future = true;
}

/* By time, then in the order of the kinds: what came before what was found. */
static int compare_lines(const void *a, const void *b)
{
    const fl_story_line *x = a;
    const fl_story_line *y = b;
    if (x->at_s != y->at_s) {
        return x->at_s < y->at_s ? -1 : 1;
    }
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    return fl_sv_compare(x->text, y->text);
}

fl_status fl_outbreak_tell_story(fl_outbreak_work *w, fl_err *err)
{
    teller t = {.w = w};
    (void)err; /* nothing fails today */
    t.found_s = w->finding != NULL ? w->finding->at_s : w->animal->at_s;
    if (w->out->is_traced) {
        tell_source(&t);
        tell_reached(&t);
    }
    bool is_ended = w->out->state == FL_OUTBREAK_RETRACTED || w->out->state == FL_OUTBREAK_OVER;
    t.end_s = is_ended ? w->out->clear_s : FL_TIME_OPEN;
    for (size_t i = 0; i < w->room->n_events && w->room->events[i].at_s <= t.end_s; i++) {
        tell_event(&t, &w->room->events[i]);
    }
    tell_holds(&t);
    tell_end(&t);
    if (t.n > 0) {
        qsort(t.lines, t.n, sizeof t.lines[0], compare_lines);
    }
    w->out->story = t.lines;
    w->out->n_story = t.n;
    return FL_OK;
}
