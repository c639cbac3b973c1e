/* One lot whole. */
#include <stdlib.h>

#include "app/card_told.h"
#include "view/put.h"

/* ---- the way through the airlock ---- */

typedef enum way { WAY_DONE, WAY_NOW, WAY_AHEAD, WAY_SKIPPED } way;
static const char *const way_words[] = {"done", "now", "ahead", "skipped"};

/* How far the phases before the gate are: home, cleaned, quarantine, quiet enough. */
static void ways_of(fl_phase phase, bool is_open, bool was_released, way out[4])
{
    int now = 4; /* all done */
    switch (phase) {
    case FL_PHASE_ARRIVED:
        now = 1;
        break;
    case FL_PHASE_CLEANED:
        now = 2;
        break;
    case FL_PHASE_QUARANTINE:
        now = is_open ? 3 : 2;
        break;
    case FL_PHASE_HELD:
        now = was_released ? 4 : 2;
        break;
    case FL_PHASE_ESTABLISHED:
    case FL_PHASE_GONE:
    case FL_PHASE_COUNT:
        break;
    }
    for (int i = 0; i < 4; i++) {
        out[i] = i < now ? WAY_DONE : i == now ? WAY_NOW : WAY_AHEAD;
    }
    if (phase == FL_PHASE_GONE && !was_released) {
        out[3] = WAY_SKIPPED;
    }
}

static void put_stage(const fl_view *v, const char *stage, way how, int64_t at_s, fl_sv text)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "stage", stage);
    fl_json_put_cstr(w, "state", way_words[how]);
    fl_put_on(v, "on", at_s);
    fl_put_text(w, "text", text);
    fl_json_end(w);
}

/* The first stay off the bench. */
static const fl_stay *first_quarantine(const fl_view *v, const fl_lot *lot)
{
    for (size_t i = 0; i < v->room->meaning.n_stays; i++) {
        const fl_stay *stay = &v->room->meaning.stays[i];
        const fl_ev_place_set *place = fl_defs_place(&v->room->defs, stay->place);
        if (fl_id_eq(stay->lot, lot->id) && place != NULL && place->kind != FL_PLACE_BENCH) {
            return stay;
        }
    }
    return NULL;
}

static bool was_done_to(const fl_view *v, const fl_ev_step *step, const fl_lot *lot, int64_t at_s)
{
    for (int depth = 0; lot != NULL && depth < 32; depth++) {
        if (fl_ids_have(&step->lots, lot->id)) {
            return true;
        }
        if (lot->origin != FL_KIND_LOT_SPLIT || at_s > lot->born_s) {
            return false;
        }
        lot = fl_meaning_lot(&v->room->meaning, lot->mother);
    }
    return false;
}

/* When the last step of the lot was done; INT64_MIN: none. */
static int64_t last_step_at(const fl_view *v, const fl_lot *lot)
{
    int64_t last = INT64_MIN;
    for (size_t i = 0; i < v->room->n_events; i++) {
        const fl_event *event = &v->room->events[i];
        size_t n = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n; k++) {
            if (was_done_to(v, &event->body.step_done.steps[k], lot, event->at_s)) {
                last = event->at_s;
            }
        }
    }
    return last;
}

static fl_sv cleaned_text(const fl_view *v, const fl_lot *lot, unsigned needed)
{
    unsigned missing = needed & ~fl_steps_done(v->room, lot);
    if (needed == 0) {
        return FL_SV("nothing is called for");
    }
    if (missing == 0) {
        return FL_SV("");
    }
    fl_sv steps = fl_say_steps(missing, v->arena);
    return fl_arena_printf(v->arena, "still to do: %.*s", FL_SV_ARG(steps));
}

static fl_sv quiet_text(const fl_view *v, const fl_lot *lot, const fl_gate_report *report)
{
    fl_sv use = fl_say_uses(1U << lot->use, v->arena);
    if (report == NULL) {
        return fl_arena_printf(v->arena, "for %.*s", FL_SV_ARG(use));
    }
    fl_sv when = fl_say_when(v->room, report->answer.earliest_s, v->arena);
    return fl_arena_printf(v->arena, "for %.*s, %.*s", FL_SV_ARG(use), FL_SV_ARG(when));
}

/* What was always here, or grew here, did not come through the airlock: an empty array. */
static void put_airlock(const fl_view *v, const fl_lot *lot, const fl_prep_plan *plan,
                        const fl_gate_report *report)
{
    way ways[4];
    fl_phase phase = fl_phase_of(v->room, lot);
    const fl_stay *stay = first_quarantine(v, lot);
    bool was_released = !fl_id_is_none(lot->released_by);
    bool has_way = lot->origin == FL_KIND_LOT_ARRIVED || lot->origin == FL_KIND_LOT_SPLIT;
    fl_json_begin_array(v->w, "airlock");
    if (has_way) {
        ways_of(phase, report != NULL && report->answer.is_open, was_released, ways);
        put_stage(v, "home", ways[0], lot->born_s, fl_room_source_name(v->room, lot->source));
        put_stage(v, "cleaned", ways[1], last_step_at(v, lot),
                  cleaned_text(v, lot, fl_prep_called_for(plan)));
        put_stage(v, "quarantine", ways[2], stay != NULL ? stay->from_s : INT64_MIN,
                  stay != NULL ? fl_room_place_name(v->room, stay->place)
                               : FL_SV("no place chosen yet"));
        put_stage(v, "quiet", ways[3], report != NULL ? report->answer.earliest_s : INT64_MIN,
                  quiet_text(v, lot, report));
    }
    fl_json_end(v->w);
}

/* ---- what happened to it ---- */

static void put_stays(const fl_view *v, const fl_lot *lot)
{
    fl_json_begin_array(v->w, "stays");
    for (size_t i = 0; i < v->room->meaning.n_stays; i++) {
        const fl_stay *stay = &v->room->meaning.stays[i];
        if (!fl_id_eq(stay->lot, lot->id)) {
            continue;
        }
        fl_json_begin_object(v->w, NULL);
        fl_put_place_ref(v, "place", stay->place);
        fl_put_at(v->w, "from_at", stay->from_s);
        fl_put_on(v, "from_on", stay->from_s);
        fl_put_at(v->w, "to_at", stay->to_s);
        fl_put_on(v, "to_on", stay->to_s);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_step(const fl_view *v, const fl_event *event, const fl_ev_step *step)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "event_id", event->id);
    fl_put_at(w, "at", event->at_s);
    fl_put_on(v, "on", event->at_s);
    fl_put_word(w, "step", "step_text", &fl_words_step[step->step]);
    fl_put_word(w, "agent", "agent_text", &fl_words_agent[step->agent]);
    fl_json_put_number(w, "dose_mg_per_l", step->dose_mg_per_l);
    fl_json_put_number(w, "pct", step->pct);
    fl_json_put_number(w, "temp_c", step->temp_c);
    fl_json_put_number(w, "minutes", step->minutes);
    fl_put_text(w, "tub", step->tub);
    fl_put_text(w, "product", step->product);
    fl_json_end(w);
}

static void put_steps(const fl_view *v, const fl_lot *lot)
{
    fl_json_begin_array(v->w, "steps");
    for (size_t i = 0; i < v->room->n_events; i++) {
        const fl_event *event = &v->room->events[i];
        size_t n = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n; k++) {
            if (was_done_to(v, &event->body.step_done.steps[k], lot, event->at_s)) {
                put_step(v, event, &event->body.step_done.steps[k]);
            }
        }
    }
    fl_json_end(v->w);
}

/* Newest first. */
static void put_looks(const fl_view *v, const fl_lot *lot)
{
    fl_json_begin_array(v->w, "looks");
    for (size_t i = v->room->n_events; i > 0; i--) {
        const fl_event *event = &v->room->events[i - 1];
        const fl_ev_look_done *look = &event->body.look_done;
        if (event->kind != FL_KIND_LOOK_DONE) {
            continue;
        }
        const fl_stay *stay = fl_meaning_stay_at(&v->room->meaning, lot->id, event->at_s);
        if (stay != NULL && fl_id_eq(stay->place, look->place) &&
            (look->lots.count == 0 || fl_ids_have(&look->lots, lot->id))) {
            fl_put_look(v, event);
        }
    }
    fl_json_end(v->w);
}

/* On it, or in its place while it stood there; newest first. */
static void put_findings(const fl_view *v, const fl_lot *lot)
{
    fl_json_begin_array(v->w, "findings");
    for (size_t i = v->room->meaning.n_findings; i > 0; i--) {
        const fl_finding_now *f = &v->room->meaning.findings[i - 1];
        const fl_stay *stay = fl_meaning_stay_at(&v->room->meaning, lot->id, f->at_s);
        if (fl_id_eq(f->lot, lot->id) || (stay != NULL && fl_id_eq(stay->place, f->place))) {
            fl_put_finding(v, f);
        }
    }
    fl_json_end(v->w);
}

/* What came with it on a history card: told by another, by time. */
static fl_status put_told(const fl_view *v, const fl_lot *lot, fl_err *err)
{
    fl_card_line *lines = NULL;
    size_t count = 0;
    fl_status status = fl_card_told(v->room, lot, v->arena, &lines, &count, err);
    fl_json_begin_array(v->w, "told");
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_put_on(v, "on", lines[i].at_s);
        fl_json_put_text(v->w, "text", lines[i].text);
        fl_json_put_bool(v->w, "is_mother", lines[i].is_mother);
        fl_json_put_text(v->w, "teller", lines[i].teller);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    return status;
}

static void put_conflicts(const fl_view *v, const fl_lot *lot)
{
    fl_json_begin_array(v->w, "conflicts");
    for (size_t i = 0; i < v->room->meaning.n_conflicts; i++) {
        if (fl_id_eq(v->room->meaning.conflicts[i].lot, lot->id)) {
            fl_put_conflict(v, &v->room->meaning.conflicts[i]);
        }
    }
    fl_json_end(v->w);
}

static void put_lineage(const fl_view *v, const fl_lot *lot)
{
    const fl_meaning *m = &v->room->meaning;
    fl_put_lot_ref(v, "mother", fl_id_is_none(lot->mother) ? NULL : fl_meaning_lot(m, lot->mother));
    fl_json_begin_array(v->w, "offspring");
    for (size_t i = 0; i < m->n_lots; i++) {
        if (!fl_id_is_none(m->lots[i].mother) && fl_id_eq(m->lots[i].mother, lot->id)) {
            fl_put_lot_ref(v, NULL, &m->lots[i]);
        }
    }
    fl_json_end(v->w);
}

/* The answer it was released with stands beside what would be said now. */
static fl_status put_release(const fl_view *v, const fl_lot *lot, fl_err *err)
{
    for (size_t i = 0; i < v->room->n_events; i++) {
        const fl_event *event = &v->room->events[i];
        const fl_ev_lot_released *released = &event->body.lot_released;
        if (event->kind != FL_KIND_LOT_RELEASED || !fl_id_eq(event->id, lot->released_by)) {
            continue;
        }
        fl_status status = FL_OK;
        fl_json_begin_object(v->w, "release");
        fl_put_id(v->w, "event_id", event->id);
        fl_put_at(v->w, "at", event->at_s);
        fl_put_on(v, "on", event->at_s);
        fl_put_place_ref(v, "to", released->to);
        fl_json_put_bool(v->w, "is_against_gate", released->is_against_gate);
        fl_put_text(v->w, "knowledge_sha256", released->knowledge);
        if (released->answer_json.len > 0) {
            status = fl_json_put_raw(v->w, "answer_then", released->answer_json, err);
        } else {
            fl_json_put_null(v->w, "answer_then");
        }
        fl_json_end(v->w);
        return status;
    }
    fl_json_put_null(v->w, "release");
    return FL_OK;
}

/* ---- chances ---- */

static fl_status put_reasons(const fl_view *v, const fl_lot *lot, const fl_threat *threat,
                             fl_err *err)
{
    fl_reason *reasons = NULL;
    size_t n = 0;
    fl_status status = fl_chances_reasons(v->chances, lot, threat, v->arena, &reasons, &n, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_array(v->w, "reasons");
    for (size_t i = 0; i < n; i++) {
        const fl_reason *r = &reasons[i];
        fl_json_begin_object(v->w, NULL);
        fl_json_put_text(v->w, "text", fl_say_reason(r, v->arena));
        fl_json_put_text(v->w, "what", r->what);
        fl_json_put_number(v->w, "prob_prior", r->prior);
        fl_json_put_number(v->w, "prob", r->chance);
        fl_json_put_text(v->w, "chance_text", fl_say_chance(r->chance, v->arena));
        fl_put_at(v->w, "at", r->at_s);
        fl_put_on(v, "on", r->at_s);
        fl_put_text(v->w, "link",
                    r->link == FL_LINK_COUNT ? FL_SV("")
                                             : fl_sv_from_cstr(fl_words_link[r->link].word));
        fl_json_put_bool(v->w, "is_learned", r->is_learned);
        fl_put_id(v->w, "event_id", r->event);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    return FL_OK;
}

static const char *const grades[] = {[FL_GRADE_MEASURED] = "measured",
                                     [FL_GRADE_PRACTICE] = "practice",
                                     [FL_GRADE_ASSUMED] = "assumed"};

static fl_status put_chance(const fl_view *v, const fl_lot *lot, const fl_lot_chance *c,
                            fl_err *err)
{
    fl_say_threat_args args = {c->threat, c->chance, c->least, c->most, false};
    fl_begin_threat(v, NULL, &args);
    fl_json_put_number(v->w, "prob_prior", c->prior);
    fl_json_put_number(v->w, "weight", c->threat->weight[lot->use]);
    fl_json_put_bool(v->w, "is_learned", c->is_learned);
    fl_json_put_bool(v->w, "is_out_of_reach", c->is_out_of_reach);
    fl_json_put_cstr(v->w, "grade", grades[c->threat->grade]);
    fl_json_put_cstr(v->w, "look_where", c->threat->look_where);
    fl_json_put_cstr(v->w, "harm", c->threat->harm);
    fl_status status = put_reasons(v, lot, c->threat, err);
    fl_json_end(v->w);
    return status;
}

/* The likeliest first; those out of reach last. */
static int compare_chances(const void *a, const void *b)
{
    const fl_lot_chance *x = a;
    const fl_lot_chance *y = b;
    if (x->is_out_of_reach != y->is_out_of_reach) {
        return x->is_out_of_reach ? 1 : -1;
    }
    return x->chance < y->chance ? 1 : (x->chance > y->chance ? -1 : 0);
}

static fl_status put_chances(const fl_view *v, const fl_lot *lot, fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *chances = FL_ARENA_ARRAY(v->arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = FL_OK;
    if (!lot->is_gone) {
        status = fl_chances_of_lot(v->chances, lot, chances, &n, err);
    }
    if (n > 1) {
        qsort(chances, n, sizeof chances[0], compare_chances);
    }
    fl_json_begin_array(v->w, "chances");
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = put_chance(v, lot, &chances[i], err);
    }
    fl_json_end(v->w);
    return status;
}

/* How much of it to look at, while looks decide about it. */
static fl_status put_examine(const fl_view *v, const fl_lot *lot, const fl_gate_report *report,
                             fl_err *err)
{
    fl_examine examine;
    if (report == NULL) {
        fl_json_put_null(v->w, "examine");
        return FL_OK;
    }
    unsigned devices = fl_devices_in(v->room, lot->place);
    fl_status status = fl_examine_lot(report, v->room->round_effort, devices, &examine, err);
    if (status == FL_OK) {
        fl_view_examine(v, "examine", &examine);
    }
    return status;
}

/* ---- the whole ---- */

static fl_status put_lot(const fl_view *v, const fl_lot *lot, const fl_gate_report *report,
                         fl_err *err)
{
    fl_prep_plan plan;
    fl_plan_for_lot(v->room, lot, &plan);
    fl_status status = fl_put_lot_members(v, lot, report, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_int(v->w, "count_born", lot->count_born);
    fl_put_text(v->w, "label_active", lot->label_active);
    fl_json_put_bool(v->w, "is_label_clean", lot->is_label_clean);
    put_airlock(v, lot, &plan, report);
    put_lineage(v, lot);
    fl_put_family(v, lot);
    put_stays(v, lot);
    put_steps(v, lot);
    put_looks(v, lot);
    put_findings(v, lot);
    put_conflicts(v, lot);
    status = put_told(v, lot, err);
    if (status == FL_OK) {
        status = put_release(v, lot, err);
    }
    if (status == FL_OK) {
        status = put_chances(v, lot, err);
    }
    if (status == FL_OK) {
        fl_view_plan(v, "plan", lot, &plan);
        status = put_examine(v, lot, report, err);
    }
    return status;
}

fl_status fl_view_lot(const fl_view *v, const char *key, const fl_lot *lot, fl_err *err)
{
    fl_gate_report report;
    bool is_asked = !lot->is_gone;
    fl_phase phase = fl_phase_of(v->room, lot);
    bool is_question = is_asked && phase != FL_PHASE_ESTABLISHED;
    fl_status status = FL_OK;
    if (is_asked) {
        status = fl_gate_ask(v->chances, v->room, lot, 0, v->arena, &report, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_object(v->w, key);
    status = put_lot(v, lot, is_question ? &report : NULL, err);
    if (status == FL_OK && is_asked) {
        fl_view_gate(v, "gate", &report);
    } else if (status == FL_OK) {
        fl_json_put_null(v->w, "gate");
    }
    fl_json_end(v->w);
    return status;
}
