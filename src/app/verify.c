/* Rebuilds everything that is derived, beside what is stored, and compares exactly. */
#include <string.h>

#include "app/app.h"
#include "app/fold.h"
#include "base/limits.h"
#include "json/event_codec.h"

typedef struct check {
    fl_app *app;
    fl_arena arena;
    fl_verified *out;
    fl_err *err;
} check;

/* ---- journal and facts ---- */

static bool same_fact(const fl_fact *a, const fl_fact *b)
{
    return a->entity == b->entity && fl_id_eq(a->id, b->id) && a->is_definition == b->is_definition;
}

static bool holds_fact(const fl_fact *facts, size_t count, const fl_fact *wanted)
{
    for (size_t i = 0; i < count; i++) {
        if (same_fact(&facts[i], wanted)) {
            return true;
        }
    }
    return false;
}

static fl_status check_event(check *c, const fl_journal_row *row)
{
    fl_event event;
    fl_str again;
    fl_fact facts[2 * FL_LIST_MAX];
    fl_fact *stored = NULL;
    size_t n_facts = 0;
    size_t n_stored = 0;
    fl_str_init(&again, FL_EVENT_BYTES_MAX);
    fl_status status =
        fl_event_read(row->bytes, c->app->tz_offset_min, &c->arena, &event, &again, c->err);
    if (status == FL_OK && !fl_sv_eq(fl_str_sv(&again), row->bytes)) {
        status = fl_fail(c->err, FL_ECORRUPT, "event %lld of the journal is not in canonical form",
                         (long long)row->position);
    }
    fl_str_done(&again);
    if (status == FL_OK) {
        status = fl_event_facts(&event, facts, sizeof facts / sizeof facts[0], &n_facts, c->err);
    }
    if (status == FL_OK) {
        status = fl_store_facts_of(c->app->store, row->id, &c->arena, &stored, &n_stored, c->err);
    }
    for (size_t i = 0; i < n_facts && status == FL_OK; i++) {
        if (n_facts != n_stored || !holds_fact(stored, n_stored, &facts[i])) {
            status =
                fl_fail(c->err, FL_ECORRUPT, "the facts of event %lld are not those of its text",
                        (long long)row->position);
        }
    }
    c->out->n_events++;
    c->out->n_facts += (int64_t)n_facts;
    return status;
}

/* ---- live tables ---- */

static bool same_lot(const fl_lot *a, const fl_lot *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->born_by, b->born_by) && a->origin == b->origin &&
           a->born_s == b->born_s && a->precision == b->precision &&
           fl_id_eq(a->mother, b->mother) && fl_id_eq(a->arrival, b->arrival) &&
           fl_id_eq(a->source, b->source) && fl_id_eq(a->plant, b->plant) &&
           fl_sv_eq(a->name, b->name) && a->form == b->form && a->use == b->use &&
           fl_sv_eq(a->label_active, b->label_active) && a->is_label_clean == b->is_label_clean &&
           a->count_born == b->count_born && a->count == b->count && fl_id_eq(a->place, b->place) &&
           a->is_gone == b->is_gone && fl_id_eq(a->released_by, b->released_by);
}

static bool same_stay(const fl_stay *a, const fl_stay *b)
{
    return fl_id_eq(a->lot, b->lot) && fl_id_eq(a->place, b->place) && a->from_s == b->from_s &&
           a->to_s == b->to_s && fl_id_eq(a->from_event, b->from_event) &&
           fl_id_eq(a->to_event, b->to_event);
}

static bool same_fill(const fl_fill *a, const fl_fill *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->place, b->place) && a->from_s == b->from_s &&
           a->to_s == b->to_s && fl_id_eq(a->from_event, b->from_event) &&
           fl_id_eq(a->to_event, b->to_event) && a->began_with_lots == b->began_with_lots;
}

static bool same_hold(const fl_hold *a, const fl_hold *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->place, b->place) && a->cause == b->cause &&
           fl_id_eq(a->from_event, b->from_event) && fl_id_eq(a->finding, b->finding) &&
           a->from_s == b->from_s && a->to_s == b->to_s && fl_id_eq(a->to_event, b->to_event) &&
           fl_sv_eq(a->why, b->why);
}

static bool same_finding(const fl_finding_now *a, const fl_finding_now *b)
{
    return fl_id_eq(a->finding, b->finding) && fl_id_eq(a->look, b->look) &&
           fl_id_eq(a->place, b->place) && fl_id_eq(a->lot, b->lot) && a->at_s == b->at_s &&
           fl_sv_eq(a->threat, b->threat) && fl_sv_eq(a->stage, b->stage) && a->count == b->count &&
           a->is_removed == b->is_removed && a->is_retracted == b->is_retracted &&
           fl_sv_eq(a->what, b->what);
}

static bool same_conflict(const fl_conflict *a, const fl_conflict *b)
{
    return a->kind == b->kind && fl_id_eq(a->event, b->event) && fl_id_eq(a->other, b->other) &&
           fl_id_eq(a->lot, b->lot) && fl_id_eq(a->place, b->place) && a->at_s == b->at_s;
}

/* Compares one sort of row; `name` is what the message says. */
#define COMPARE_ROWS(c, live, made, rows, n_rows, same, name)                                      \
    do {                                                                                           \
        if ((live)->n_rows != (made)->n_rows) {                                                    \
            return fl_fail((c)->err, FL_ECORRUPT,                                                  \
                           "%zu " name " are stored, the journal gives %zu", (live)->n_rows,       \
                           (made)->n_rows);                                                        \
        }                                                                                          \
        for (size_t i = 0; i < (live)->n_rows; i++) {                                              \
            if (!same(&(live)->rows[i], &(made)->rows[i])) {                                       \
                return fl_fail((c)->err, FL_ECORRUPT,                                              \
                               "row %zu of the " name " differs from the journal", i + 1);         \
            }                                                                                      \
        }                                                                                          \
    } while (0)

static fl_status compare(check *c, const fl_meaning *live, const fl_meaning *made)
{
    COMPARE_ROWS(c, live, made, lots, n_lots, same_lot, "lots");
    COMPARE_ROWS(c, live, made, stays, n_stays, same_stay, "stays");
    COMPARE_ROWS(c, live, made, fills, n_fills, same_fill, "fills");
    COMPARE_ROWS(c, live, made, holds, n_holds, same_hold, "holds");
    COMPARE_ROWS(c, live, made, findings, n_findings, same_finding, "findings");
    COMPARE_ROWS(c, live, made, conflicts, n_conflicts, same_conflict, "conflicts");
    return FL_OK;
}

static fl_status check_all(check *c)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_history history;
    fl_meaning live = {0};
    fl_meaning made = {0};
    fl_hash *blobs = NULL;
    size_t n_blobs = 0;
    fl_status status =
        fl_store_journal_read(c->app->store, 0, SIZE_MAX, &c->arena, &rows, &count, c->err);
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        status = check_event(c, &rows[i]);
    }
    if (status == FL_OK) {
        status =
            fl_history_of_rows(rows, count, c->app->tz_offset_min, &c->arena, &history, c->err);
    }
    if (status == FL_OK) {
        fl_history_fold(&history, &c->arena, &made);
        status = fl_store_meaning_read(c->app->store, &c->arena, &live, c->err);
    }
    if (status == FL_OK) {
        status = compare(c, &live, &made);
    }
    if (status == FL_OK) {
        status = fl_store_blobs(c->app->store, &c->arena, &blobs, &n_blobs, c->err);
    }
    for (size_t i = 0; i < n_blobs && status == FL_OK; i++) { /* reading one checks its hash */
        fl_arena arena;
        fl_sv bytes;
        fl_arena_init(&arena);
        status = fl_store_blob_get(c->app->store, blobs[i], &arena, &bytes, c->err);
        fl_arena_done(&arena);
    }
    c->out->n_lots = (int64_t)made.n_lots;
    c->out->n_stays = (int64_t)made.n_stays;
    c->out->n_fills = (int64_t)made.n_fills;
    c->out->n_holds = (int64_t)made.n_holds;
    c->out->n_conflicts = (int64_t)made.n_conflicts;
    return status;
}

fl_status fl_app_verify(fl_app *app, fl_verified *out, fl_err *err)
{
    fl_verified verified = {0};
    check c = {.app = app, .out = &verified, .err = err};
    fl_arena_init(&c.arena);
    fl_status status = fl_store_check(app->store, err);
    if (status == FL_OK) {
        status = fl_store_begin_read(app->store, err);
    }
    if (status == FL_OK) {
        status = check_all(&c);
        if (status == FL_OK) {
            status = fl_store_commit(app->store, err);
        } else {
            fl_store_rollback(app->store);
        }
    }
    fl_arena_done(&c.arena);
    if (status == FL_OK) {
        *out = verified;
    }
    return status;
}
