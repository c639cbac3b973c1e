/* A plant turns out to have had a pesticide: who carries it now. What is inside a plant goes with
 * every cutting, division and split that was taken after it got there, and with nothing else: no
 * bench, tub or tool passes it on. Who eats or touches such a plant is what matters, so each is
 * judged for the place where it stands. */
#ifndef FL_APP_OUTBREAK_RESIDUE_H
#define FL_APP_OUTBREAK_RESIDUE_H

#include "app/gate.h"
#include "app/outbreak.h"

/* One lot that was treated, or that came of one. */
typedef struct fl_residue_lot {
    const fl_lot *lot;
    const fl_lot *from; /* the lot it was cut or split from; NULL: the treated one */
    int64_t at_s;       /* when it was treated, or taken */
    fl_id event;        /* that did it */
    unsigned uses;      /* that are asked for: the enclosure's, else the lot's own */
    fl_residue_verdict verdict;
    bool is_with_animals; /* it stands in an occupied enclosure */
    bool is_outside;      /* it left the room: somebody has it */
    bool is_lost;
} fl_residue_lot;

typedef struct fl_residue_trace {
    const fl_lot *treated;
    fl_sv active; /* as it was told; of several the first systemic, else the last */
    bool is_systemic;
    bool is_listed;       /* in data/actives.csv; what is not is taken for systemic */
    bool is_by_label;     /* its label or seller named it; else a step */
    int64_t at_s;         /* treated; by its label: came home */
    fl_residue_lot *lots; /* the treated lot first, then by time */
    size_t n_lots;
    size_t n_outside;
    fl_proposal *proposals; /* as of an outbreak: each acceptable by itself */
    size_t n_proposals;
} fl_residue_trace;

/* True when a pesticide was put on the lot, or on one it came of before it was taken. */
bool fl_residue_trace_has(const fl_room *room, const fl_lot *lot);

/* Traces from the lot that was treated (the lot itself, or the one it came of) to all that came of
 * it. Arrays and texts in the arena. FL_EINVAL when no pesticide is on record for it. */
fl_status fl_residue_trace_ask(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                               fl_residue_trace *out, fl_err *err) FL_MUST_USE;

#endif
