/* Decoding, voiding, sorting and folding. qsort with the canonical order, which is total. */
#include "app/fold.h"

#include <math.h>
#include <stdlib.h>

#include "json/event_codec.h"

static int compare_events(const void *a, const void *b)
{
    return fl_event_compare(a, b);
}

/* The minutes of a timed step that does not tell them: from its start to its end, as the journal
 * has them. */
static void tell_minutes(fl_event *done, const fl_event *started, fl_arena *arena)
{
    fl_ev_step_done *body = &done->body.step_done;
    fl_ev_step *steps = FL_ARENA_ARRAY(arena, fl_ev_step, body->n_steps);
    for (size_t i = 0; i < body->n_steps; i++) {
        steps[i] = body->steps[i];
        if (isnan(steps[i].minutes)) {
            steps[i].minutes = (double)(done->at_s - started->at_s) / 60.0;
        }
    }
    body->steps = steps;
}

static void tell_all_minutes(fl_history *h, fl_arena *arena)
{
    for (size_t i = 0; i < h->n_events; i++) {
        if (h->events[i].kind != FL_KIND_STEP_DONE ||
            fl_id_is_none(h->events[i].body.step_done.run)) {
            continue;
        }
        for (size_t k = i; k > 0; k--) { /* a start stands before its end */
            const fl_event *e = &h->events[k - 1];
            if (e->kind == FL_KIND_STEP_STARTED &&
                fl_id_eq(e->body.step_started.run, h->events[i].body.step_done.run)) {
                tell_minutes(&h->events[i], e, arena);
                break;
            }
        }
    }
}

static bool is_in_order(const fl_event *all, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        if (fl_event_compare(&all[i - 1], &all[i]) > 0) {
            return false;
        }
    }
    return true;
}

/* Puts all[n] into live and voided, both sorted. */
static void separate(fl_event *all, size_t n, fl_arena *arena, fl_history *out)
{
    bool *is_live = FL_ARENA_ARRAY(arena, bool, n);
    if (!is_in_order(all, n)) { /* it is, after one event more */
        qsort(all, n, sizeof all[0], compare_events);
    }
    fl_ledger_mark_live(all, n, is_live, FL_ARENA_ARRAY(arena, size_t, 2 * n));
    *out = (fl_history){.events = FL_ARENA_ARRAY(arena, fl_event, n),
                        .voided = FL_ARENA_ARRAY(arena, fl_event, n)};
    for (size_t i = 0; i < n; i++) {
        if (is_live[i]) {
            out->events[out->n_events++] = all[i];
        } else {
            out->voided[out->n_voided++] = all[i];
        }
    }
    tell_all_minutes(out, arena);
}

fl_status fl_history_decode(const fl_journal_row *row, int tz_offset_min, fl_arena *arena,
                            fl_event *out, fl_err *err)
{
    fl_err inner = {0};
    fl_status status = fl_event_decode(row->bytes, tz_offset_min, arena, out, &inner);
    return status == FL_OK
               ? FL_OK
               : fl_fail(err, FL_ECORRUPT, "event %lld of the journal cannot be read: %s",
                         (long long)row->position, inner.message);
}

fl_status fl_history_of_rows(const fl_journal_row *rows, size_t n_rows, int tz_offset_min,
                             fl_arena *arena, fl_history *out, fl_err *err)
{
    fl_event *all = FL_ARENA_ARRAY(arena, fl_event, n_rows);
    fl_status status = FL_OK;
    for (size_t i = 0; i < n_rows && status == FL_OK; i++) {
        status = fl_history_decode(&rows[i], tz_offset_min, arena, &all[i], err);
    }
    if (status == FL_OK) {
        separate(all, n_rows, arena, out);
    }
    return status;
}

void fl_history_of_events(const fl_event *events, size_t n_events, fl_arena *arena, fl_history *out)
{
    fl_event *all = FL_ARENA_ARRAY(arena, fl_event, n_events);
    for (size_t i = 0; i < n_events; i++) {
        all[i] = events[i];
    }
    separate(all, n_events, arena, out);
}

void fl_history_fold(const fl_history *history, fl_arena *arena, fl_meaning *out)
{
    fl_ledger_bound bound = fl_ledger_bound_of(history->events, history->n_events);
    *out = (fl_meaning){.lots = FL_ARENA_ARRAY(arena, fl_lot, bound.lots),
                        .stays = FL_ARENA_ARRAY(arena, fl_stay, bound.stays),
                        .fills = FL_ARENA_ARRAY(arena, fl_fill, bound.fills),
                        .holds = FL_ARENA_ARRAY(arena, fl_hold, bound.holds),
                        .findings = FL_ARENA_ARRAY(arena, fl_finding_now, bound.findings),
                        .conflicts = FL_ARENA_ARRAY(arena, fl_conflict, bound.conflicts)};
    void *scratch = fl_arena_alloc(arena, bound.scratch_bytes, 1);
    fl_ledger_fold(history->events, history->n_events, scratch, out);
}

void fl_history_defs(const fl_history *history, fl_arena *arena, fl_defs *out)
{
    size_t n = fl_defs_bound(history->events, history->n_events);
    *out = (fl_defs){.sources = {FL_ARENA_ARRAY(arena, const fl_event *, n), 0},
                     .plants = {FL_ARENA_ARRAY(arena, const fl_event *, n), 0},
                     .places = {FL_ARENA_ARRAY(arena, const fl_event *, n), 0},
                     .bottles = {FL_ARENA_ARRAY(arena, const fl_event *, n), 0}};
    fl_defs_fold(history->events, history->n_events, out);
}
