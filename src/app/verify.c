/* Rebuilds everything that is derived, beside what is stored, and compares exactly. */
#include <stdlib.h>
#include <string.h>

#include "app/app.h"
#include "app/fold.h"
#include "base/limits.h"
#include "json/event_codec.h"

typedef struct check {
    fl_app *app;
    fl_arena arena;
    fl_verified *out;
    fl_hash *named; /* blobs that events name, sorted once all are known */
    size_t n_named;
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

/* The bytes that an event names, of a photo or of readings, are there. Whether they are whole is
 * seen when each blob is read. */
static fl_status check_blob_of(check *c, const fl_event *event)
{
    char id[FL_ID_TEXT_MAX];
    bool is_there = false;
    const fl_sv blob = fl_event_blob(event);
    fl_status status = fl_app_has_blob(c->app, blob, &is_there, c->err);
    if (status == FL_OK && blob.len > 0 && !is_there) {
        status = fl_fail(c->err, FL_ECORRUPT,
                         "the photo or readings %.*s of event %s are not in the room file: restore "
                         "a backup that has them",
                         FL_SV_ARG(blob), fl_id_format(id, event->id));
    }
    if (status == FL_OK && is_there && fl_hash_parse(blob.ptr, blob.len, &c->named[c->n_named])) {
        c->n_named++;
    }
    return status;
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
    if (status == FL_OK) {
        status = check_blob_of(c, &event);
    }
    c->out->n_events++;
    c->out->n_facts += (int64_t)n_facts;
    return status;
}

/* ---- live tables ---- */

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
    COMPARE_ROWS(c, live, made, lots, n_lots, fl_lot_same, "lots");
    COMPARE_ROWS(c, live, made, stays, n_stays, fl_stay_same, "stays");
    COMPARE_ROWS(c, live, made, fills, n_fills, fl_fill_same, "fills");
    COMPARE_ROWS(c, live, made, holds, n_holds, fl_hold_same, "holds");
    COMPARE_ROWS(c, live, made, findings, n_findings, fl_finding_same, "findings");
    COMPARE_ROWS(c, live, made, conflicts, n_conflicts, fl_conflict_same, "conflicts");
    return FL_OK;
}

static int compare_hashes(const void *left, const void *right)
{
    return memcmp(left, right, sizeof(fl_hash));
}

/* Bytes that came, and their event never did: counted, not complained of. */
static void count_orphans(check *c, const fl_hash *blobs, size_t count)
{
    if (c->n_named > 1) {
        qsort(c->named, c->n_named, sizeof c->named[0], compare_hashes);
    }
    for (size_t i = 0; i < count; i++) {
        c->out->n_orphans += c->n_named == 0 || bsearch(&blobs[i], c->named, c->n_named,
                                                        sizeof c->named[0], compare_hashes) == NULL;
    }
}

/* Reading one checks its hash. */
static fl_status check_blobs(check *c, const fl_hash *blobs, size_t count)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        fl_arena arena;
        fl_sv bytes;
        fl_arena_init(&arena);
        status =
            fl_progress_step(c->app->progress, FL_WORK_BLOBS, (int64_t)i, (int64_t)count, c->err);
        if (status == FL_OK) {
            status = fl_store_blob_get(c->app->store, blobs[i], &arena, &bytes, c->err);
        }
        fl_arena_done(&arena);
    }
    return status;
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
    c->named = FL_ARENA_ARRAY(&c->arena, fl_hash, count);
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        status =
            fl_progress_tick(c->app->progress, FL_WORK_EVENTS, (int64_t)i, (int64_t)count, c->err);
        if (status == FL_OK) {
            status = check_event(c, &rows[i]);
        }
    }
    if (status == FL_OK) {
        status = fl_progress_step(c->app->progress, FL_WORK_COMPARE, 0, 0, c->err);
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
    if (status == FL_OK) {
        count_orphans(c, blobs, n_blobs);
        status = check_blobs(c, blobs, n_blobs);
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
