/* The question, made whole; then backwards and forwards over one walk. */
#include "app/trace.h"

#include <string.h>

#include "app/trace_walk.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_suspect[FL_SUSPECT_COUNT] = {FL_SUSPECT_LIST(FL_WORD_ENTRY)};
#undef FL_WORD_ENTRY

/* The disease whose links stand for an untested death: both have the same. */
#define UNTESTED_DISEASE "chytrid_bd"

/* ---- what is asked ---- */

static fl_status take_finding(const fl_trace_question *q, fl_trace *out, fl_err *err)
{
    out->finding = q->finding;
    out->place = q->finding->place;
    out->found_s = q->finding->at_s;
    if (q->finding->is_retracted) {
        return fl_fail(err, FL_EINVAL, "the finding was taken back: there is nothing to trace");
    }
    out->threat = q->threat != NULL ? q->threat : fl_know_threat_find(q->finding->threat);
    if (out->threat == NULL && q->finding->threat.len > 0) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\" is harmless: there is nothing to trace",
                       FL_SV_ARG(q->finding->threat));
    }
    if (out->threat == NULL) {
        return fl_fail(err, FL_EINVAL,
                       "the finding has no name yet: name it (identify helps), or give a threat");
    }
    return FL_OK;
}

/* The disease of an event about animals: the test's; or that of a positive test there since. */
static void disease_of(const fl_room *room, fl_trace *out)
{
    const fl_ev_animal_noted *a = &out->animal->body.animal_noted;
    out->threat = fl_know_threat_find(a->threat);
    for (size_t i = 0; i < room->n_events && out->threat == NULL; i++) {
        const fl_event *e = &room->events[i];
        const fl_ev_animal_noted *later = &e->body.animal_noted;
        if (e->kind == FL_KIND_ANIMAL_NOTED && e->at_s >= out->animal->at_s &&
            fl_id_eq(later->place, a->place) && later->is_positive) {
            out->threat = fl_know_threat_find(later->threat);
        }
    }
    if (out->threat == NULL) {
        out->threat = fl_know_threat_find(FL_SV(UNTESTED_DISEASE));
        out->is_threat_assumed = true;
    }
}

static fl_status take_animal(const fl_room *room, const fl_trace_question *q, fl_trace *out,
                             fl_err *err)
{
    const fl_ev_animal_noted *a = &q->animal->body.animal_noted;
    if (q->animal->kind != FL_KIND_ANIMAL_NOTED) {
        return fl_fail(err, FL_EINVAL, "the event is not about an animal");
    }
    out->animal = q->animal;
    out->place = a->place;
    out->found_s = q->animal->at_s;
    if (a->what == FL_ANIMAL_TESTED && a->sampled_s != INT64_MIN) {
        out->found_s = a->sampled_s;
    }
    out->threat = q->threat;
    if (out->threat == NULL) {
        disease_of(room, out);
    }
    return FL_OK;
}

static fl_status take_subject(const fl_room *room, const fl_trace_question *q, fl_trace *out,
                              fl_err *err)
{
    out->stage = -1;
    if (q->finding != NULL) {
        return take_finding(q, out, err);
    }
    if (q->animal != NULL) {
        return take_animal(room, q, out, err);
    }
    if (q->lot == NULL && fl_id_is_none(q->place)) {
        return fl_fail(err, FL_EINVAL, "nothing to trace: give a finding, a lot or a place");
    }
    if (q->threat == NULL) {
        return fl_fail(err, FL_EINVAL, "no threat: nothing was found there, so say what to trace");
    }
    out->threat = q->threat;
    out->lot = q->lot;
    out->found_s = q->to_s == FL_TIME_OPEN ? room->now_s : q->to_s;
    out->place = q->place;
    if (q->lot != NULL) {
        const fl_stay *stay = fl_meaning_stay_at(&room->meaning, q->lot->id, out->found_s);
        out->place = stay != NULL ? stay->place : q->lot->place;
    }
    return FL_OK;
}

/* Since when the subject is taken to have had it, where neither a person nor its stage says. */
static int64_t usual_from(const fl_room *room, const fl_trace *out)
{
    int64_t days_s = (int64_t)FL_TRACE_ANIMAL_DAYS * FL_DAY_S;
    if (out->lot != NULL) {
        return out->lot->born_s;
    }
    const fl_fill *fill = fl_meaning_fill_at(&room->meaning, out->place, out->found_s);
    bool is_about_animals = out->threat->class == FL_CLASS_PATHOGEN;
    if (fill != NULL && !is_about_animals) {
        return fill->from_s;
    }
    return out->found_s - days_s;
}

/* The room with the finding named as asked: what it would mean, without a new event. */
static const fl_room *named(const fl_room *room, fl_trace *out, fl_arena *arena)
{
    if (out->finding == NULL || fl_sv_eq_cstr(out->finding->threat, out->threat->code)) {
        return room;
    }
    fl_room *copy = FL_ARENA_NEW(arena, fl_room);
    *copy = *room; /* a view: the arena inside is the original's */
    copy->meaning.findings = FL_ARENA_ARRAY(arena, fl_finding_now, room->meaning.n_findings);
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        fl_finding_now *f = &copy->meaning.findings[i];
        *f = room->meaning.findings[i];
        if (fl_id_eq(f->finding, out->finding->finding)) {
            f->threat = fl_sv_from_cstr(out->threat->code);
            out->finding = f;
        }
    }
    return copy;
}

/* ---- asking ---- */

/* Ways in before the time asked about are left out, where one is. */
static void drop_before(fl_trace *out, int64_t from_s)
{
    size_t kept = 0;
    for (size_t i = 0; i < out->n_sources; i++) {
        if (out->sources[i].at_s == INT64_MIN || out->sources[i].at_s >= from_s) {
            out->sources[kept++] = out->sources[i];
        }
    }
    out->n_sources = kept;
}

fl_status fl_trace_ask(const fl_room *room, fl_chances *chances, const fl_trace_question *question,
                       fl_arena *arena, fl_trace *out, fl_err *err)
{
    fl_trace t = {.to_s = question->to_s == FL_TIME_OPEN ? room->now_s : question->to_s};
    double *likelihood = NULL;
    int64_t start_h = 0;
    fl_status status = take_subject(room, question, &t, err);
    if (status != FL_OK) {
        return status;
    }
    t.to_s = t.to_s < t.found_s ? t.found_s : t.to_s;
    t.from_s = question->from_s != INT64_MIN ? question->from_s : usual_from(room, &t);
    fl_trace_walk w = {.room = named(room, &t, arena),
                       .chances = chances,
                       .arena = arena,
                       .threat = t.threat,
                       .carriage = t.threat->is_mobile ? FL_CARRIAGE_POOL : FL_CARRIAGE_LOT,
                       .has_stages = t.finding != NULL && t.threat->n_stages > 0,
                       .until_s = t.to_s};
    w.finding = t.finding;
    status = fl_trace_walk_run(&w, err);
    if (status == FL_OK) {
        t.stage = w.is_caught ? w.stage : -1;
        status = fl_trace_back_window(&w, &t, &likelihood, &start_h, err);
    }
    if (status == FL_OK && t.has_window && question->from_s == INT64_MIN) {
        t.from_s = t.window_from_s;
    }
    if (status == FL_OK) {
        status = fl_trace_back_sources(&w, &t, err);
    }
    if (status == FL_OK && question->from_s != INT64_MIN) {
        drop_before(&t, question->from_s);
    }
    if (status == FL_OK) {
        status = fl_trace_forward(&w, likelihood, start_h, &t, err);
    }
    if (status == FL_OK) {
        *out = t;
    }
    return status;
}

/* ---- what a person meant ---- */

static bool is_named(fl_id id, fl_sv text)
{
    char uuid[FL_ID_TEXT_MAX];
    char code[FL_CODE_TEXT_MAX];
    return fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_format(uuid, id))) ||
           fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_code(code, id)));
}

const fl_finding_now *fl_trace_find_finding(const fl_room *room, fl_sv text)
{
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        if (is_named(room->meaning.findings[i].finding, text)) {
            return &room->meaning.findings[i];
        }
    }
    return NULL;
}

const fl_event *fl_trace_find_animal(const fl_room *room, fl_sv text)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *e = &room->events[i];
        if (e->kind == FL_KIND_ANIMAL_NOTED && is_named(e->id, text)) {
            return e;
        }
    }
    return NULL;
}

/* The last finding of a place that stands: of this threat, or without a name. */
static const fl_finding_now *last_finding(const fl_room *room, fl_id place, const fl_threat *threat)
{
    for (size_t i = room->meaning.n_findings; i > 0; i--) {
        const fl_finding_now *f = &room->meaning.findings[i - 1];
        bool is_threat = f->threat.len == 0 || fl_know_threat_find(f->threat) != NULL;
        bool fits = threat == NULL || f->threat.len == 0 || fl_sv_eq_cstr(f->threat, threat->code);
        if (fl_id_eq(f->place, place) && !f->is_retracted && is_threat && fits) {
            return f;
        }
    }
    return NULL;
}

/* The last event about the animals of a place: ill, dead, or a positive test. */
static const fl_event *last_animal(const fl_room *room, fl_id place)
{
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *e = &room->events[i - 1];
        const fl_ev_animal_noted *a = &e->body.animal_noted;
        if (e->kind == FL_KIND_ANIMAL_NOTED && fl_id_eq(a->place, place) &&
            fl_animal_is_unwell(a)) {
            return e;
        }
    }
    return NULL;
}

static void subject_of_place(const fl_room *room, fl_id place, const fl_threat *threat,
                             fl_trace_question *q)
{
    bool is_disease = threat != NULL && threat->class == FL_CLASS_PATHOGEN;
    q->finding = is_disease ? NULL : last_finding(room, place, threat);
    if (q->finding == NULL && (threat == NULL || is_disease)) {
        q->animal = last_animal(room, place);
    }
    q->place = place;
}

fl_status fl_trace_find_subject(const fl_room *room, fl_sv text, const fl_threat *threat,
                                fl_trace_question *out, fl_err *err)
{
    fl_trace_question q = {.threat = threat, .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    const fl_ev_place_set *place = NULL;
    fl_err place_err = {0};
    q.finding = fl_trace_find_finding(room, text);
    q.animal = q.finding == NULL ? fl_trace_find_animal(room, text) : NULL;
    if (q.finding != NULL || q.animal != NULL) {
        *out = q;
        return FL_OK;
    }
    bool is_place = fl_room_find_place(room, text, &place, &place_err) == FL_OK;
    if (!is_place || !fl_sv_eq_nocase(place->name, text)) { /* a whole name comes first */
        fl_err lot_err = {0};
        fl_status status = fl_room_find_lot(room, text, &q.lot, &lot_err);
        if (status == FL_OK) {
            *out = q;
            return FL_OK;
        }
        if (!is_place && (status != FL_ENOTFOUND || place_err.code != FL_ENOTFOUND)) {
            const fl_err *told = status != FL_ENOTFOUND ? &lot_err : &place_err;
            return fl_fail(err, told->code, "%s", told->message);
        }
        if (!is_place) {
            return fl_fail(err, FL_ENOTFOUND,
                           "there is no finding, lot or place \"%.*s\": give a code or a name",
                           FL_SV_ARG(text));
        }
    }
    subject_of_place(room, place->place, threat, &q);
    *out = q;
    return FL_OK;
}

/* ---- what left ---- */

static bool is_in(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* Where an event puts the lot; none when it does not. */
static fl_id put_by(const fl_event *e, fl_id lot)
{
    switch ((int)e->kind) { /* the others put no lot anywhere */
    case FL_KIND_LOT_MOVED:
        return is_in(&e->body.lot_moved.lots, lot) ? e->body.lot_moved.to : (fl_id){{0}};
    case FL_KIND_LOT_RELEASED:
        return fl_id_eq(e->body.lot_released.lot, lot) ? e->body.lot_released.to : (fl_id){{0}};
    case FL_KIND_LOT_CUT:
        return fl_id_eq(e->body.lot_cut.lot, lot) ? e->body.lot_cut.place : (fl_id){{0}};
    case FL_KIND_LOT_ARRIVED:
        return fl_id_eq(e->body.lot_arrived.lot, lot) ? e->body.lot_arrived.place : (fl_id){{0}};
    default:
        return (fl_id){{0}};
    }
}

bool fl_trace_went_outside(const fl_room *room, const fl_lot *lot)
{
    for (size_t i = room->n_events; lot->is_gone && i > 0; i--) {
        fl_id place = put_by(&room->events[i - 1], lot->id);
        if (!fl_id_is_none(place)) {
            const fl_ev_place_set *set = fl_defs_place(&room->defs, place);
            return set != NULL && set->kind == FL_PLACE_OUTSIDE;
        }
    }
    return false;
}
