/* A small history walked by core/clear/network, with all that it told, for tests. Built on the
 * ledger's test histories (tests/unit/core/ledger/history.h). */
#ifndef FL_TESTS_CLEAR_WALKED_H
#define FL_TESTS_CLEAR_WALKED_H

#include <math.h>

#include "core/clear/network.h"
#include "unit/core/ledger/history.h"

#define WALKED_MAX 4096

typedef struct walked {
    fl_network network;
    fl_defs defs;
    const history *h;
    int64_t now_s; /* until when the walk goes; the last event's when not set */
    fl_happening told[WALKED_MAX];
    size_t n_told;
} walked;

static inline fl_status note_happening(void *context, const fl_happening *happening, fl_err *err)
{
    walked *w = context;
    (void)err;
    assert_true(w->n_told < WALKED_MAX);
    w->told[w->n_told++] = *happening;
    return FL_OK;
}

/* Room for the walk of a folded history: memory is exactly what the contract asks for, so that the
 * sanitizer sees more. Freed by walked_end. */
static inline walked *walked_new(history *h)
{
    walked *w = fl_alloc(1, sizeof *w);
    w->h = h;
    w->now_s = h->events[h->count - 1].at_s;
    size_t n = fl_defs_bound(h->events, h->count);
    w->defs = (fl_defs){.sources = {FL_ARENA_ARRAY(&h->arena, const fl_event *, n), 0},
                        .plants = {FL_ARENA_ARRAY(&h->arena, const fl_event *, n), 0},
                        .places = {FL_ARENA_ARRAY(&h->arena, const fl_event *, n), 0},
                        .bottles = {FL_ARENA_ARRAY(&h->arena, const fl_event *, n), 0}};
    fl_defs_fold(h->events, h->count, &w->defs);
    size_t cap = h->m.n_lots + h->m.n_fills + h->m.n_stays;
    w->network = (fl_network){.carriers = fl_alloc(cap, sizeof(fl_carrier)),
                              .cap_carriers = cap,
                              .roots = fl_alloc(cap, sizeof(fl_root)),
                              .cap_roots = cap,
                              .lot_carrier = fl_alloc(h->m.n_lots, sizeof(size_t))};
    return w;
}

static inline void walked_run(walked *w, fl_carriage carriage, fl_happening_sink sink,
                              void *context)
{
    fl_err err = {0};
    fl_network_input input = {.events = w->h->events,
                              .n_events = w->h->count,
                              .meaning = &w->h->m,
                              .defs = &w->defs,
                              .carriage = carriage,
                              .now_s = w->now_s};
    input.scratch = fl_alloc(1, fl_network_scratch_bytes(&w->h->m, &w->defs));
    check_ok(fl_network_walk(&input, sink, context, &w->network, &err), &err);
    fl_alloc_free(input.scratch);
}

/* Walks a folded history and notes all that is told. */
static inline walked *walk_as(history *h, fl_carriage carriage)
{
    walked *w = walked_new(h);
    walked_run(w, carriage, note_happening, w);
    return w;
}

static inline walked *walk(history *h, fl_carriage carriage)
{
    history_fold(h);
    return walk_as(h, carriage);
}

/* Mobile threats until a moment after the last event. */
static inline walked *walk_until(history *h, int64_t now_s)
{
    history_fold(h);
    walked *w = walked_new(h);
    w->now_s = now_s;
    walked_run(w, FL_CARRIAGE_POOL, note_happening, w);
    return w;
}

static inline void walked_end(walked *w)
{
    fl_alloc_free(w->network.carriers);
    fl_alloc_free(w->network.roots);
    fl_alloc_free(w->network.lot_carrier);
    fl_alloc_free(w);
}

/* Where a lot is at the end. */
static inline size_t carrier_of_lot(const walked *w, unsigned lot)
{
    const fl_lot *row = lot_row(w->h, lot);
    return w->network.lot_carrier[row - w->h->m.lots];
}

/* Where a lot was right after the n-th thing told (n = n_told: at the end). */
static inline size_t carrier_at_told(const walked *w, unsigned lot, size_t n)
{
    size_t carrier = FL_NO_INDEX;
    size_t index = (size_t)(lot_row(w->h, lot) - w->h->m.lots);
    for (size_t i = 0; i < n && i < w->n_told; i++) {
        if (w->told[i].kind == FL_HAP_STAND && w->told[i].lot == index) {
            carrier = w->told[i].carrier;
        }
    }
    return carrier;
}

/* How often this was told; carrier and other FL_NO_INDEX: any; event 0: any. */
static inline size_t told_times(const walked *w, fl_hap_kind kind, size_t carrier, size_t other,
                                unsigned event)
{
    size_t n = 0;
    for (size_t i = 0; i < w->n_told; i++) {
        const fl_happening *t = &w->told[i];
        bool is_it = t->kind == kind && (carrier == FL_NO_INDEX || t->carrier == carrier) &&
                     (event == 0 || fl_id_eq(t->event->id, event_id(event)));
        if (kind == FL_HAP_TRANSFER && other != FL_NO_INDEX) {
            is_it = is_it && t->other == other;
        }
        n += is_it ? 1 : 0;
    }
    return n;
}

/* The first transfer from one carrier to another over a link; NULL. */
static inline const fl_happening *transfer_told(const walked *w, size_t from, size_t to,
                                                fl_link link)
{
    for (size_t i = 0; i < w->n_told; i++) {
        const fl_happening *t = &w->told[i];
        if (t->kind == FL_HAP_TRANSFER && t->other == from && t->carrier == to && t->link == link) {
            return t;
        }
    }
    return NULL;
}

/* Days for which an open bench linked one carrier to another, as first told; 0 when never. */
static inline double days_beside(const walked *w, size_t from, size_t to)
{
    const fl_happening *told = transfer_told(w, from, to, FL_LINK_OPEN_BENCH);
    return told != NULL ? told->days : 0.0;
}

static inline bool is_linked(const walked *w, size_t from, size_t to, fl_link link)
{
    return transfer_told(w, from, to, link) != NULL;
}

#endif
