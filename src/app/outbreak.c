/* The frame: traces where there is something to trace, then plans and tells. */
#include "app/outbreak.h"

#include <math.h>
#include <string.h>

#include "app/outbreak_work.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_proposal[FL_PROPOSAL_COUNT] = {FL_PROPOSAL_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_story[FL_STORY_COUNT] = {FL_STORY_LIST(FL_WORD_ENTRY)};
#undef FL_WORD_ENTRY

/* Common practice, no source. */
const char *const fl_outbreak_first_plants[FL_OUTBREAK_FIRST] = {
    "Close the lid.", "Open nothing else.", "Wash your hands.", "Mark it, so that nobody opens it.",
    "Take a photo of what you saw, as close as you can."};
const char *const fl_outbreak_first_animals[FL_OUTBREAK_FIRST] = {
    "Close it. Nothing leaves it: no plant, no water, no tool.", "Open nothing else.",
    "Wash your hands, and keep a set of tools for it alone.",
    "Call your vet. Ask how to keep a body or a sample before you touch it.",
    "Write down what you saw and when, and take a photo."};

/* ---- making proposals ---- */

fl_proposal *fl_outbreak_propose(fl_outbreak_work *w, fl_proposal_kind kind)
{
    if (w->n == FL_PROPOSALS_MAX) {
        return NULL;
    }
    fl_proposal *p = &w->proposals[w->n++];
    *p = (fl_proposal){.kind = kind, .at_s = INT64_MIN};
    return p;
}

fl_event *fl_outbreak_event(const fl_outbreak_work *w, fl_proposal *proposal, fl_kind kind)
{
    char place[FL_ID_TEXT_MAX];
    char lot[FL_ID_TEXT_MAX];
    fl_event *event = FL_ARENA_NEW(w->arena, fl_event);
    fl_sv name =
        fl_arena_printf(w->arena, "%s %zu %s %s %lld", fl_words_proposal[proposal->kind].word, w->n,
                        fl_id_format(place, proposal->place), fl_id_format(lot, proposal->lot),
                        (long long)w->room->now_s);
    *event = (fl_event){.id = fl_id_derive(w->cause, name), .kind = kind, .at_s = w->room->now_s};
    proposal->events = event;
    proposal->n_events = 1;
    return event;
}

size_t fl_outbreak_lots_there(const fl_outbreak_work *w, const fl_lot ***out)
{
    const fl_meaning *m = &w->room->meaning;
    size_t n = 0;
    *out = FL_ARENA_ARRAY(w->arena, const fl_lot *, m->n_lots + 1);
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < m->n_lots; i++) {
            const fl_lot *lot = &m->lots[i];
            bool is_own = w->finding != NULL && fl_id_eq(lot->id, w->finding->lot);
            if (!lot->is_gone && fl_id_eq(lot->place, w->place_id) && is_own == (pass == 0)) {
                (*out)[n++] = lot;
            }
        }
    }
    return n;
}

/* With its code where another lot has the same name. */
fl_sv fl_outbreak_lot_name(const fl_outbreak_work *w, const fl_lot *lot)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv name = fl_room_lot_name(w->room, lot);
    for (size_t i = 0; i < w->room->meaning.n_lots; i++) {
        const fl_lot *other = &w->room->meaning.lots[i];
        if (other != lot && fl_sv_eq_nocase(fl_room_lot_name(w->room, other), name)) {
            return fl_arena_printf(w->arena, "%.*s (%s)", FL_SV_ARG(name),
                                   fl_id_code(code, lot->id));
        }
    }
    return name;
}

fl_sv fl_outbreak_threat_name(const fl_outbreak_work *w)
{
    return w->threat != NULL ? fl_sv_from_cstr(w->threat->name) : FL_SV("what was seen");
}

/* ---- the state ---- */

static bool is_tolerated(const fl_outbreak_work *w)
{
    bool is_so = false;
    for (size_t i = 0; i < w->room->n_events && w->threat != NULL; i++) {
        const fl_event *e = &w->room->events[i];
        if (e->kind == FL_KIND_TOLERATED_SET &&
            fl_id_eq(e->body.tolerated_set.place, w->place_id) &&
            fl_sv_eq_cstr(e->body.tolerated_set.threat, w->threat->code)) {
            is_so = e->body.tolerated_set.is_tolerated;
        }
    }
    return is_so;
}

/* The last end of a hold that this cause began; FL_TIME_OPEN while one lasts; INT64_MIN: none. */
static int64_t hold_ended(const fl_outbreak_work *w)
{
    int64_t end_s = INT64_MIN;
    for (size_t i = 0; i < w->room->meaning.n_holds; i++) {
        const fl_hold *hold = &w->room->meaning.holds[i];
        bool is_ours = w->finding != NULL ? fl_id_eq(hold->finding, w->finding->finding)
                                          : fl_id_eq(hold->from_event, w->animal->id);
        if (is_ours) {
            end_s = hold->to_s > end_s ? hold->to_s : end_s;
        }
    }
    return end_s;
}

bool fl_outbreak_is_quiet(const fl_outbreak_work *w)
{
    for (size_t i = 0; i < w->out->trace.n_reached; i++) {
        const fl_trace_reached *r = &w->out->trace.reached[i];
        if (!r->lot->is_gone && r->prob >= FL_OUTBREAK_LEAST &&
            !(r->chance_now <= FL_OUTBREAK_CLEAR)) { /* not asked counts as not quiet */
            return false;
        }
    }
    return true;
}

/* The first round day on which what may be left on the lot would have shown itself. */
static fl_status shown_by(fl_outbreak_work *w, const fl_lot *lot, int64_t *out, fl_err *err)
{
    fl_forecast forecast;
    double share[FL_FORECAST_LOOKS];
    fl_status status = fl_chances_forecast(w->chances, lot, &forecast, err);
    *out = FL_GATE_NEVER;
    for (int effort = (int)w->room->round_effort;
         effort <= (int)FL_EFFORT_ROOTS && *out == FL_GATE_NEVER && status == FL_OK; effort++) {
        status = fl_chances_guard(w->chances, lot, w->threat, (fl_effort)effort, &forecast.at_s[1],
                                  forecast.n, share, err);
        for (int k = 0; k < forecast.n && status == FL_OK && *out == FL_GATE_NEVER; k++) {
            *out = share[k] >= FL_GATE_GUARD_SHARE ? forecast.at_s[k + 1] : FL_GATE_NEVER;
        }
    }
    return status;
}

#define LOTS_FORECAST 8

static fl_status expect_clear(fl_outbreak_work *w, fl_err *err)
{
    int64_t latest_s = w->room->now_s;
    int asked = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < w->out->trace.n_reached && asked < LOTS_FORECAST && status == FL_OK;
         i++) {
        const fl_trace_reached *r = &w->out->trace.reached[i];
        int64_t at_s = FL_GATE_NEVER;
        if (r->lot->is_gone || r->prob < FL_OUTBREAK_LEAST || isnan(r->chance_now)) {
            continue;
        }
        asked++;
        status = shown_by(w, r->lot, &at_s, err);
        latest_s = at_s > latest_s ? at_s : latest_s;
    }
    w->out->clear_s = asked > 0 ? latest_s : FL_GATE_NEVER;
    return status;
}

static fl_status judge(fl_outbreak_work *w, fl_err *err)
{
    fl_outbreak *o = w->out;
    int64_t ended_s = hold_ended(w);
    o->clear_s = FL_GATE_NEVER;
    if (w->finding != NULL && w->finding->is_retracted) {
        o->state = FL_OUTBREAK_RETRACTED;
        o->clear_s = ended_s == INT64_MIN ? w->finding->at_s : ended_s;
        return FL_OK;
    }
    if (is_tolerated(w)) {
        o->state = FL_OUTBREAK_TOLERATED;
        return FL_OK;
    }
    if (ended_s != FL_TIME_OPEN &&
        (!o->is_traced || o->is_about_animals || fl_outbreak_is_quiet(w))) {
        o->state = FL_OUTBREAK_OVER;
        o->clear_s = ended_s == INT64_MIN ? w->room->now_s : ended_s;
        return FL_OK;
    }
    bool has_clock = o->is_traced && w->threat->class == FL_CLASS_PEST && w->chances != NULL;
    return has_clock ? expect_clear(w, err) : FL_OK;
}

/* ---- asking ---- */

static bool is_traceable(const fl_finding_now *finding, const fl_threat *asked)
{
    if (finding == NULL) {
        return true;
    }
    return !finding->is_retracted &&
           (asked != NULL || fl_know_threat_find(finding->threat) != NULL);
}

fl_status fl_outbreak_ask(const fl_room *room, fl_chances *chances,
                          const fl_trace_question *question, fl_arena *arena, fl_outbreak *out,
                          fl_err *err)
{
    fl_outbreak o = {.state = FL_OUTBREAK_OPEN};
    fl_status status = FL_OK;
    if (question->finding == NULL && question->animal == NULL) {
        return fl_fail(err, FL_EINVAL, "an outbreak begins with a finding or with an animal");
    }
    o.is_traced = is_traceable(question->finding, question->threat);
    if (o.is_traced) {
        status = fl_trace_ask(room, chances, question, arena, &o.trace, err);
    }
    if (status != FL_OK) {
        return status;
    }
    o.is_about_animals = question->finding == NULL;
    o.first = o.is_about_animals ? fl_outbreak_first_animals : fl_outbreak_first_plants;
    fl_outbreak_work *w = FL_ARENA_NEW(arena, fl_outbreak_work);
    *w = (fl_outbreak_work){.room = room,
                            .cause = question->finding != NULL ? question->finding->finding
                                                               : question->animal->id,
                            .chances = chances,
                            .arena = arena,
                            .finding = question->finding,
                            .animal = question->animal,
                            .threat = o.is_traced ? o.trace.threat : NULL,
                            .out = &o};
    w->place_id = w->finding != NULL ? w->finding->place : w->animal->body.animal_noted.place;
    w->place = fl_defs_place(&room->defs, w->place_id);
    w->is_occupied = w->place != NULL && w->place->has_animals;
    status = judge(w, err);
    if (status == FL_OK) {
        fl_outbreak_plan(w);
        status = fl_outbreak_tell_story(w, err);
    }
    if (status == FL_OK) {
        o.proposals = FL_ARENA_ARRAY(arena, fl_proposal, w->n + 1);
        memcpy(o.proposals, w->proposals, w->n * sizeof o.proposals[0]);
        o.n_proposals = w->n;
        *out = o;
    }
    return status;
}
