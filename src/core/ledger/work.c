/* The tools of the fold: sorting in place, sorted references, conflicts, and the lists by which
 * events are looked up. */
#include "core/ledger/work.h"

#include <assert.h>
#include <string.h>

#define ROW_BYTES_MAX 512

/* ---- sorting ---- */

typedef struct heap {
    unsigned char *rows;
    size_t size; /* bytes a row */
    fl_ledger_compare compare;
    const void *context;
} heap;

static int compare_at(const heap *h, size_t a, size_t b)
{
    return h->compare(h->rows + a * h->size, h->rows + b * h->size, h->context);
}

static void swap_at(const heap *h, size_t a, size_t b)
{
    unsigned char kept[ROW_BYTES_MAX];
    memcpy(kept, h->rows + a * h->size, h->size);
    memcpy(h->rows + a * h->size, h->rows + b * h->size, h->size);
    memcpy(h->rows + b * h->size, kept, h->size);
}

/* Lets row `top` sink to where it belongs among the first `count`. */
static void sink(const heap *h, size_t top, size_t count)
{
    for (size_t child = 2 * top + 1; child < count; child = 2 * top + 1) {
        if (child + 1 < count && compare_at(h, child, child + 1) < 0) {
            child++;
        }
        if (compare_at(h, top, child) >= 0) {
            return;
        }
        swap_at(h, top, child);
        top = child;
    }
}

/* The C library's qsort may allocate, which core must not. */
void fl_ledger_sort(void *rows, size_t count, size_t size, fl_ledger_compare compare,
                    const void *context)
{
    heap h = {rows, size, compare, context};
    assert(size <= ROW_BYTES_MAX);
    for (size_t top = count / 2; top-- > 0;) {
        sink(&h, top, count);
    }
    for (size_t end = count; end-- > 1;) {
        swap_at(&h, 0, end);
        sink(&h, 0, end);
    }
}

int fl_ledger_compare_size(size_t a, size_t b)
{
    return (a > b) - (a < b);
}

int fl_ledger_compare_time(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

/* ---- references ---- */

static int compare_key_event(const fl_ledger_ref *ref, fl_id key, size_t event)
{
    int order = fl_id_compare(ref->key, key);
    return order != 0 ? order : fl_ledger_compare_size(ref->event, event);
}

static int compare_refs(const void *a, const void *b, const void *context)
{
    (void)context;
    const fl_ledger_ref *left = a;
    const fl_ledger_ref *right = b;
    int order = compare_key_event(left, right->key, right->event);
    return order != 0 ? order : fl_ledger_compare_size(left->part, right->part);
}

void fl_ledger_refs_add(fl_ledger_refs *refs, fl_id key, size_t event, size_t part)
{
    refs->items[refs->count++] = (fl_ledger_ref){key, event, part};
}

void fl_ledger_refs_sort(fl_ledger_refs *refs)
{
    fl_ledger_sort(refs->items, refs->count, sizeof refs->items[0], compare_refs, NULL);
}

size_t fl_ledger_refs_from(const fl_ledger_refs *refs, fl_id key, size_t event)
{
    size_t low = 0;
    size_t high = refs->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (compare_key_event(&refs->items[middle], key, event) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

bool fl_ledger_refs_is(const fl_ledger_refs *refs, size_t i, fl_id key)
{
    return i < refs->count && fl_id_eq(refs->items[i].key, key);
}

/* ---- conflicts ---- */

void fl_ledger_conflict(fl_ledger_work *work, fl_conflict_kind kind, size_t event, size_t other,
                        fl_id lot, fl_id place)
{
    if (other != FL_LEDGER_NONE && other > event) {
        size_t later = other;
        other = event;
        event = later;
    }
    assert(work->out->n_conflicts < work->tally.conflicts);
    work->out->conflicts[work->out->n_conflicts++] = (fl_conflict){
        .kind = kind,
        .event = work->events[event].id,
        .other = other != FL_LEDGER_NONE ? work->events[other].id : (fl_id){{0}},
        .lot = lot,
        .place = place,
        .at_s = work->events[event].at_s,
    };
}

/* ---- the lists ---- */

static void index_look(fl_ledger_work *work, size_t i)
{
    const fl_ev_look_done *look = &work->events[i].body.look_done;
    for (size_t part = 0; part < look->n_findings; part++) {
        fl_ledger_refs_add(&work->findings, look->findings[part].finding, i, part);
    }
}

/* An event of the kinds that are about findings and holds. */
static void index_finding(fl_ledger_work *work, size_t i)
{
    const fl_event *event = &work->events[i];
    if (event->kind == FL_KIND_LOOK_DONE) {
        index_look(work, i);
    } else if (event->kind == FL_KIND_FINDING_IDENTIFIED) {
        fl_ledger_refs_add(&work->namings, event->body.finding_identified.finding, i, 0);
    } else if (event->kind == FL_KIND_FINDING_RETRACTED) {
        fl_ledger_refs_add(&work->namings, event->body.finding_retracted.finding, i, 0);
    } else if (event->kind == FL_KIND_HOLD_LIFTED) {
        fl_ledger_refs_add(&work->lifts, event->body.hold_lifted.hold, i, 0);
    } else if (event->kind == FL_KIND_TOLERATED_SET) {
        const fl_ev_tolerated_set *set = &event->body.tolerated_set;
        fl_ledger_refs_add(&work->tolerated, fl_id_derive(set->place, set->threat), i, 0);
    }
}

/* An event of the kinds that are about lots and places. */
static void index_place(fl_ledger_work *work, size_t i)
{
    const fl_event *event = &work->events[i];
    if (event->kind == FL_KIND_PLACE_SET) {
        fl_ledger_refs_add(&work->places, event->body.place_set.place, i, 0);
    } else if (event->kind == FL_KIND_PLACE_CLEANED && event->body.place_cleaned.part.len == 0) {
        fl_ledger_refs_add(&work->cleanings, event->body.place_cleaned.place, i, 0);
    } else if (event->kind == FL_KIND_LOT_ARRIVED) {
        fl_ledger_refs_add(&work->births, event->body.lot_arrived.lot, i, 0);
    } else if (event->kind == FL_KIND_LOT_ALREADY_HERE) {
        fl_ledger_refs_add(&work->births, event->body.lot_already_here.lot, i, 0);
    } else if (event->kind == FL_KIND_LOT_CUT) {
        fl_ledger_refs_add(&work->births, event->body.lot_cut.lot, i, 0);
    } else if (event->kind == FL_KIND_LOT_SPLIT) {
        fl_ledger_refs_add(&work->births, event->body.lot_split.new_lot, i, 0);
    }
}

/* After sorting: from each setting to the first at or after it, of the same place and threat, that
 * tolerates. */
static void link_tolerated(fl_ledger_work *work)
{
    fl_ledger_refs *refs = &work->tolerated;
    size_t next = FL_LEDGER_NONE;
    for (size_t i = refs->count; i-- > 0;) {
        if (!fl_ledger_refs_is(refs, i + 1, refs->items[i].key)) {
            next = FL_LEDGER_NONE;
        }
        if (work->events[refs->items[i].event].body.tolerated_set.is_tolerated) {
            next = i;
        }
        refs->items[i].part = next;
    }
}

void fl_ledger_index(fl_ledger_work *work)
{
    for (size_t i = 0; i < work->n_events; i++) {
        index_finding(work, i);
        index_place(work, i);
    }
    fl_ledger_refs_sort(&work->places);
    fl_ledger_refs_sort(&work->births);
    fl_ledger_refs_sort(&work->findings);
    fl_ledger_refs_sort(&work->namings);
    fl_ledger_refs_sort(&work->lifts);
    fl_ledger_refs_sort(&work->tolerated);
    fl_ledger_refs_sort(&work->cleanings);
    link_tolerated(work);
}

bool fl_ledger_is_outside(const fl_ledger_work *work, fl_id place)
{
    size_t after = fl_ledger_refs_from(&work->places, place, FL_LEDGER_NONE);
    if (after == 0 || !fl_ledger_refs_is(&work->places, after - 1, place)) {
        return false;
    }
    const fl_event *last = &work->events[work->places.items[after - 1].event];
    return last->body.place_set.kind == FL_PLACE_OUTSIDE;
}
