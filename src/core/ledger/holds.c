/* Findings and holds: what was seen, what was said of it later, and which places are held for it.
 * A hold's end may be told long after; so holds are made before the run through the lots. */
#include <assert.h>

#include "core/know/know.h"
#include "core/ledger/work.h"

#define NONE FL_LEDGER_NONE

static const fl_id no_id = {{0}};

/* What was said of one finding, gathered naming by naming. Moments are event indices, never before
 * the look; NONE: not so. */
typedef struct verdict {
    fl_finding_now *row;
    size_t look;
    size_t last_naming;  /* the identification before this one */
    size_t named_at;     /* since when it has its present name */
    size_t no_threat_at; /* since when it is named as no threat */
    size_t retracted_at;
} verdict;

static size_t earlier(size_t a, size_t b)
{
    return a < b ? a : b;
}

static bool is_named(fl_sv code)
{
    return code.len > 0;
}

static bool is_no_threat(fl_sv code)
{
    return is_named(code) && fl_know_threat_find(code) == NULL;
}

/* ---- findings ---- */

static void note_identification(fl_ledger_work *work, verdict *v, size_t at, size_t i)
{
    const fl_ev_finding_identified *said = &work->events[i].body.finding_identified;
    if (v->last_naming != NONE) {
        const fl_event *before = &work->events[v->last_naming];
        if (!fl_sv_eq(before->body.finding_identified.threat, said->threat)) {
            fl_ledger_conflict(work, FL_CONFLICT_NAMED_TWICE, i, v->last_naming, no_id,
                               v->row->place);
        }
    }
    if (!fl_sv_eq(v->row->threat, said->threat)) {
        v->named_at = at;
    }
    if (!is_no_threat(said->threat)) {
        v->no_threat_at = NONE;
    } else if (v->no_threat_at == NONE) {
        v->no_threat_at = at;
    }
    v->row->threat = said->threat;
    v->last_naming = i;
}

/* The stage of the last identification; when that tells none, the look's. */
static void note_stage(const fl_ledger_work *work, verdict *v)
{
    if (v->last_naming != NONE) {
        fl_sv stage = work->events[v->last_naming].body.finding_identified.stage;
        v->row->stage = stage.len > 0 ? stage : v->row->stage;
    }
}

/* Goes through all that was said of the finding. What was said before the look is a conflict, and
 * counts from the look on: what a thing is does not depend on when it was said. */
static void hear_namings(fl_ledger_work *work, verdict *v)
{
    const fl_ledger_refs *refs = &work->namings;
    fl_id finding = v->row->finding;
    for (size_t k = fl_ledger_refs_from(refs, finding, 0); fl_ledger_refs_is(refs, k, finding);
         k++) {
        size_t i = refs->items[k].event;
        size_t at = i > v->look ? i : v->look;
        if (i < v->look) {
            fl_ledger_conflict(work, FL_CONFLICT_FINDING_UNKNOWN, v->look, i, no_id, v->row->place);
        }
        if (work->events[i].kind == FL_KIND_FINDING_RETRACTED) {
            v->row->is_retracted = true;
            v->retracted_at = earlier(v->retracted_at, at);
        } else {
            note_identification(work, v, at, i);
        }
    }
    note_stage(work, v);
}

/* When the threat, by its present name, was first tolerated in the place; NONE. */
static size_t tolerated_at(const fl_ledger_work *work, const verdict *v)
{
    const fl_ledger_refs *refs = &work->tolerated;
    if (!is_named(v->row->threat)) {
        return NONE;
    }
    fl_id key = fl_id_derive(v->row->place, v->row->threat);
    size_t next = fl_ledger_refs_from(refs, key, v->named_at);
    if (next > 0 && fl_ledger_refs_is(refs, next - 1, key) &&
        work->events[refs->items[next - 1].event].body.tolerated_set.is_tolerated) {
        return v->named_at;
    }
    if (!fl_ledger_refs_is(refs, next, key) || refs->items[next].part == NONE) {
        return NONE;
    }
    return refs->items[refs->items[next].part].event;
}

static void add_span(fl_ledger_work *work, fl_id hold, size_t from, size_t to, size_t finding)
{
    assert(work->n_spans < work->tally.causes);
    work->spans[work->n_spans++] = (fl_ledger_span){hold, from, to, finding};
}

/* One finding: its row, and the span of its hold as far as namings and tolerance say. */
static void fold_finding(fl_ledger_work *work, const fl_ledger_ref *ref)
{
    const fl_event *event = &work->events[ref->event];
    const fl_ev_finding *seen = &event->body.look_done.findings[ref->part];
    fl_finding_now *row = &work->out->findings[work->out->n_findings];
    *row = (fl_finding_now){
        .finding = seen->finding,
        .look = event->id,
        .place = event->body.look_done.place,
        .lot = seen->lot,
        .at_s = event->at_s,
        .threat = seen->threat,
        .stage = seen->stage,
        .count = seen->count,
        .is_removed = seen->is_removed,
        .what = seen->what,
    };
    verdict v = {row, ref->event, NONE, ref->event, NONE, NONE};
    v.no_threat_at = is_no_threat(seen->threat) ? ref->event : NONE;
    hear_namings(work, &v);
    size_t end = earlier(v.retracted_at, earlier(v.no_threat_at, tolerated_at(work, &v)));
    if (end != ref->event) {
        add_span(work, fl_event_hold_of(seen->finding), ref->event, end, work->out->n_findings);
    }
    work->out->n_findings++;
}

static void fold_findings(fl_ledger_work *work)
{
    const fl_ledger_refs *refs = &work->findings;
    size_t first = 0;
    for (size_t k = 0; k < refs->count; k++) {
        const fl_ledger_ref *ref = &refs->items[k];
        if (k == 0 || !fl_id_eq(refs->items[first].key, ref->key)) {
            first = k;
            fold_finding(work, ref);
        } else {
            fl_ledger_conflict(work, FL_CONFLICT_BORN_TWICE, ref->event, refs->items[first].event,
                               no_id, work->events[ref->event].body.look_done.place);
        }
    }
}

/* ---- holds ---- */

/* The spans that do not come from findings. */
static void add_other_spans(fl_ledger_work *work)
{
    for (size_t i = 0; i < work->n_events; i++) {
        const fl_event *event = &work->events[i];
        if (event->kind == FL_KIND_HOLD_SET) {
            add_span(work, event->body.hold_set.hold, i, NONE, NONE);
        } else if (event->kind == FL_KIND_ANIMAL_NOTED &&
                   fl_animal_is_unwell(&event->body.animal_noted)) {
            add_span(work, fl_event_hold_of(event->id), i, NONE, NONE);
        }
    }
}

static int compare_spans(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_ledger_span *left = a;
    const fl_ledger_span *right = b;
    int order = fl_id_compare(left->key, right->key);
    if (order == 0) {
        order = fl_ledger_compare_size(left->from, right->from);
    }
    return order != 0 ? order : fl_ledger_compare_size(left->to, right->to);
}

static fl_id place_of(const fl_event *event)
{
    if (event->kind == FL_KIND_LOOK_DONE) {
        return event->body.look_done.place;
    }
    return event->kind == FL_KIND_HOLD_SET ? event->body.hold_set.place
                                           : event->body.animal_noted.place;
}

/* Ends the span at its first lift. A lift before it lifted nothing, and is a conflict; setting and
 * lifting in one second come in the order of ids, which says nothing: then it was set first. */
static void hear_lifts(fl_ledger_work *work, fl_ledger_span *span)
{
    const fl_ledger_refs *refs = &work->lifts;
    for (size_t k = fl_ledger_refs_from(refs, span->key, 0); fl_ledger_refs_is(refs, k, span->key);
         k++) {
        if (work->events[refs->items[k].event].at_s >= work->events[span->from].at_s) {
            span->to = earlier(span->to, refs->items[k].event);
            return;
        }
        fl_ledger_conflict(work, FL_CONFLICT_HOLD_NOT_SET, span->from, refs->items[k].event, no_id,
                           place_of(&work->events[span->from]));
    }
}

static void write_hold(fl_ledger_work *work, const fl_ledger_span *span)
{
    const fl_event *event = &work->events[span->from];
    fl_hold hold = {
        .id = span->key,
        .place = place_of(event),
        .cause = FL_HOLD_BY_KEEPER,
        .from_event = event->id,
        .from_s = event->at_s,
        .to_s = FL_TIME_OPEN,
    };
    if (span->finding != NONE) {
        hold.cause = FL_HOLD_BY_FINDING;
        hold.finding = work->out->findings[span->finding].finding;
        hold.why = work->out->findings[span->finding].what;
    } else if (event->kind == FL_KIND_ANIMAL_NOTED) {
        hold.cause = FL_HOLD_BY_ANIMAL;
        hold.why = event->body.animal_noted.animal;
    } else {
        hold.why = event->body.hold_set.why;
    }
    if (span->to != NONE) {
        hold.to_s = work->events[span->to].at_s;
        hold.to_event = work->events[span->to].id;
    }
    work->out->holds[work->out->n_holds++] = hold;
}

/* Sorted by place, each span also knows the latest end up to itself: see fl_ledger_held_by. */
static void order_by_place(fl_ledger_work *work)
{
    for (size_t k = 0; k < work->n_spans; k++) {
        work->spans[k].key = place_of(&work->events[work->spans[k].from]);
    }
    fl_ledger_sort(work->spans, work->n_spans, sizeof work->spans[0], compare_spans, NULL);
    for (size_t k = 0; k < work->n_spans; k++) {
        fl_ledger_span *span = &work->spans[k];
        span->finding = span->to;
        if (k > 0 && fl_id_eq(span[-1].key, span->key) && span[-1].finding > span->to) {
            span->finding = span[-1].finding;
        }
    }
}

void fl_ledger_fold_holds(fl_ledger_work *work)
{
    fold_findings(work);
    add_other_spans(work);
    fl_ledger_sort(work->spans, work->n_spans, sizeof work->spans[0], compare_spans, NULL);
    size_t kept = 0;
    for (size_t k = 0; k < work->n_spans; k++) {
        fl_ledger_span span = work->spans[k];
        if (kept > 0 && fl_id_eq(work->spans[kept - 1].key, span.key)) {
            fl_ledger_conflict(work, FL_CONFLICT_BORN_TWICE, span.from, work->spans[kept - 1].from,
                               no_id, place_of(&work->events[span.from]));
            continue;
        }
        hear_lifts(work, &span);
        write_hold(work, &span);
        work->spans[kept++] = span;
    }
    work->n_spans = kept;
    order_by_place(work);
}

/* The latest ends never fall along a place's spans, and rise above `event` first at the earliest
 * span that lasts beyond it. */
size_t fl_ledger_held_by(const fl_ledger_work *work, fl_id place, size_t event)
{
    size_t low = 0;
    size_t high = work->n_spans;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        const fl_ledger_span *span = &work->spans[middle];
        int order = fl_id_compare(span->key, place);
        if (order < 0 || (order == 0 && span->finding <= event)) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool is_held = low < work->n_spans && fl_id_eq(work->spans[low].key, place) &&
                   work->spans[low].from < event;
    return is_held ? work->spans[low].from : NONE;
}
