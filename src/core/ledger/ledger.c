/* The fold: counts what there is, lays out the working memory, runs the parts in their order and
 * sorts the rows. */
#include "core/ledger/ledger.h"

#include <assert.h>

#include "core/ledger/work.h"

/* ---- how much of everything ---- */

/* Conflicts a mention of a lot may raise: being there or not, two places, a hold. */
#define CONFLICTS_A_MOVE 2

static size_t lots_in_steps(const fl_ev_step *steps, size_t n_steps)
{
    size_t n = 0;
    for (size_t i = 0; i < n_steps; i++) {
        n += steps[i].lots.count;
    }
    return n;
}

static void tally_look(fl_ledger_tally *tally, const fl_ev_look_done *look)
{
    tally->findings += look->n_findings;
    tally->causes += look->n_findings;
    /* of a finding: its id, its hold's id, its lot */
    tally->conflicts += look->lots.count + 3 * look->n_findings;
}

static void tally_lots(fl_ledger_tally *tally, const fl_event *event)
{
    if (event->kind == FL_KIND_LOT_ARRIVED || event->kind == FL_KIND_LOT_ALREADY_HERE ||
        event->kind == FL_KIND_LOT_CUT || event->kind == FL_KIND_LOT_SPLIT) {
        tally->births++;
        tally->entries++;
        tally->conflicts += 2; /* the newborn, its mother */
    } else if (event->kind == FL_KIND_LOT_MOVED) {
        tally->entries += event->body.lot_moved.lots.count;
        tally->conflicts += CONFLICTS_A_MOVE * event->body.lot_moved.lots.count;
    } else if (event->kind == FL_KIND_LOT_RELEASED) {
        tally->entries++;
        tally->conflicts += CONFLICTS_A_MOVE;
    } else if (event->kind == FL_KIND_LOT_LOST) {
        tally->conflicts++;
    } else if (event->kind == FL_KIND_STEP_STARTED) {
        tally->conflicts += lots_in_steps(&event->body.step_started.step, 1);
    } else if (event->kind == FL_KIND_STEP_DONE) {
        const fl_ev_step_done *body = &event->body.step_done;
        tally->conflicts += lots_in_steps(body->steps, body->n_steps);
    }
}

static void tally_rest(fl_ledger_tally *tally, const fl_event *event)
{
    if (event->kind == FL_KIND_PLACE_SET) {
        tally->places++;
    } else if (event->kind == FL_KIND_PLACE_CLEANED) {
        tally->cleanings++;
    } else if (event->kind == FL_KIND_LOOK_DONE) {
        tally_look(tally, &event->body.look_done);
    } else if (event->kind == FL_KIND_FINDING_IDENTIFIED ||
               event->kind == FL_KIND_FINDING_RETRACTED) {
        tally->namings++;
        tally->conflicts += 2; /* before its look; another name */
    } else if (event->kind == FL_KIND_HOLD_LIFTED) {
        tally->lifts++;
        tally->conflicts++;
    } else if (event->kind == FL_KIND_TOLERATED_SET) {
        tally->tolerated++;
    } else if (event->kind == FL_KIND_HOLD_SET || event->kind == FL_KIND_ANIMAL_NOTED) {
        tally->causes++;
        tally->conflicts++;
    }
}

static fl_ledger_tally count_all(const fl_event *events, size_t n_events)
{
    fl_ledger_tally tally = {0};
    for (size_t i = 0; i < n_events; i++) {
        tally_lots(&tally, &events[i]);
        tally_rest(&tally, &events[i]);
    }
    return tally;
}

static size_t count_refs(const fl_ledger_tally *tally)
{
    return tally->places + 2 * tally->births + tally->findings + tally->namings + tally->lifts +
           tally->tolerated + tally->cleanings + tally->entries;
}

fl_ledger_bound fl_ledger_bound_of(const fl_event *events, size_t n_events)
{
    fl_ledger_tally tally = count_all(events, n_events);
    return (fl_ledger_bound){
        .lots = tally.births,
        .stays = tally.entries,
        .fills = tally.entries + tally.cleanings,
        .holds = tally.causes,
        .findings = tally.findings,
        .conflicts = tally.conflicts,
        .scratch_bytes = count_refs(&tally) * sizeof(fl_ledger_ref) +
                         tally.births * sizeof(fl_ledger_lot) +
                         tally.causes * sizeof(fl_ledger_span),
    };
}

/* ---- working memory ---- */

_Static_assert(sizeof(fl_ledger_ref) % _Alignof(fl_ledger_span) == 0 &&
                   sizeof(fl_ledger_span) % _Alignof(fl_ledger_lot) == 0,
               "the parts of the scratch follow each other without gaps");

static fl_ledger_refs cut_refs(fl_ledger_ref **left, size_t count)
{
    fl_ledger_refs refs = {*left, 0};
    *left += count;
    return refs;
}

static void lay_out(fl_ledger_work *work, void *scratch)
{
    const fl_ledger_tally *tally = &work->tally;
    fl_ledger_ref *left = scratch;
    size_t n_refs = count_refs(tally);
    assert(left != NULL || n_refs + tally->causes == 0);
    if (left == NULL) {
        return;
    }
    work->spans = (fl_ledger_span *)(void *)(left + n_refs);
    work->lots = (fl_ledger_lot *)(void *)(work->spans + tally->causes);
    work->places = cut_refs(&left, tally->places);
    work->births = cut_refs(&left, tally->births);
    work->findings = cut_refs(&left, tally->findings);
    work->namings = cut_refs(&left, tally->namings);
    work->lifts = cut_refs(&left, tally->lifts);
    work->tolerated = cut_refs(&left, tally->tolerated);
    work->cleanings = cut_refs(&left, tally->cleanings);
    work->stays = cut_refs(&left, tally->entries);
    work->newborn = cut_refs(&left, tally->births);
}

/* ---- the order of rows ---- */

static int compare_stays(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_stay *left = a;
    const fl_stay *right = b;
    int order = fl_id_compare(left->lot, right->lot);
    return order != 0 ? order : fl_ledger_compare_time(left->from_s, right->from_s);
}

static int compare_holds(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_hold *left = a;
    const fl_hold *right = b;
    int order = fl_id_compare(left->place, right->place);
    if (order == 0) {
        order = fl_ledger_compare_time(left->from_s, right->from_s);
    }
    return order != 0 ? order : fl_id_compare(left->id, right->id);
}

static int compare_findings(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_finding_now *left = a;
    const fl_finding_now *right = b;
    int order = fl_ledger_compare_time(left->at_s, right->at_s);
    return order != 0 ? order : fl_id_compare(left->finding, right->finding);
}

static int compare_conflicts(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_conflict *left = a;
    const fl_conflict *right = b;
    int orders[] = {
        fl_ledger_compare_time(left->at_s, right->at_s),
        fl_id_compare(left->event, right->event),
        fl_ledger_compare_size((size_t)left->kind, (size_t)right->kind),
        fl_id_compare(left->other, right->other),
        fl_id_compare(left->lot, right->lot),
        fl_id_compare(left->place, right->place),
    };
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        if (orders[i] != 0) {
            return orders[i];
        }
    }
    return 0;
}

/* An event may name a lot twice, and so say the same conflict twice. */
static void drop_repeated(fl_meaning *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < out->n_conflicts; i++) {
        if (kept == 0 ||
            compare_conflicts(&out->conflicts[kept - 1], &out->conflicts[i], NULL) != 0) {
            out->conflicts[kept++] = out->conflicts[i];
        }
    }
    out->n_conflicts = kept;
}

/* Lots and fills are written in their order. */
static void sort_rows(fl_meaning *out)
{
    fl_ledger_sort(out->stays, out->n_stays, sizeof out->stays[0], compare_stays, NULL);
    fl_ledger_sort(out->holds, out->n_holds, sizeof out->holds[0], compare_holds, NULL);
    fl_ledger_sort(out->findings, out->n_findings, sizeof out->findings[0], compare_findings, NULL);
    fl_ledger_sort(out->conflicts, out->n_conflicts, sizeof out->conflicts[0], compare_conflicts,
                   NULL);
    drop_repeated(out);
}

void fl_ledger_fold(const fl_event *events, size_t n_events, void *scratch, fl_meaning *out)
{
    fl_ledger_work work = {
        .events = events,
        .n_events = n_events,
        .out = out,
        .tally = count_all(events, n_events),
    };
    out->n_lots = out->n_stays = out->n_fills = 0;
    out->n_holds = out->n_findings = out->n_conflicts = 0;
    lay_out(&work, scratch);
    fl_ledger_index(&work);
    fl_ledger_fold_births(&work);
    fl_ledger_fold_holds(&work);
    fl_ledger_fold_stays(&work);
    fl_ledger_fold_fills(&work);
    sort_rows(out);
}
