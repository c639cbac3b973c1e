/* Asking the gate for one lot: gathers what core/gate decides on. */
#ifndef FL_APP_GATE_H
#define FL_APP_GATE_H

#include "app/chance.h"
#include "core/gate/gate.h"

/* The gate's answer with what it was decided on. Views into the room and the arena. */
typedef struct fl_gate_report {
    const fl_lot *lot;
    unsigned uses; /* asked for */
    fl_gate_answer answer;
    fl_gate_threat *threats; /* [n_threats], the largest chance first */
    size_t n_threats;
    fl_forecast forecast;
    int64_t last_way_in_s;
    int64_t last_look_s; /* INT64_MIN: none */
    fl_residue_verdict residue;
    fl_pathogen_facts pathogen;
    double ceiling;           /* of the binding use */
    bool is_mostly_judgement; /* fewer than FL_OWN_PURCHASES of the keeper's own count */
} fl_gate_report;

/* Until there are this many purchases of the keeper's own, a number is "mostly our judgement". */
#define FL_OWN_PURCHASES 20
/* Purchases of plants, source by arrival; material and splits are none. */
int fl_gate_own_purchases(const fl_room *room);

/* The gate for the lot, for a mask of uses (0: the lot's own use). The lot must be in the room and
 * not gone: else FL_EINVAL naming it. */
fl_status fl_gate_ask(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                      fl_arena *arena, fl_gate_report *out, fl_err *err) FL_MUST_USE;

/* What the gate says of this moment, without the dates of what is missing: for lists of many lots,
 * where looking ahead for each would cost ten times as much. Decided by the same conditions. */
typedef struct fl_gate_now {
    bool waits_for_look_only; /* nothing is missing but the look of the day itself */
    bool waits_for_round;     /* the chances or the guard: not before the next round day */
    int64_t not_before_s;     /* by all other conditions; FL_GATE_NEVER; now */
    double sum;               /* as in the answer */
    double ceiling;
} fl_gate_now;
fl_status fl_gate_ask_now(fl_chances *chances, const fl_room *room, const fl_lot *lot,
                          unsigned uses, fl_arena *arena, fl_gate_now *out,
                          fl_err *err) FL_MUST_USE;

/* The gate's answer about residues alone, for a mask of uses (0: the lot's own); the worst of
 * several. */
fl_residue_verdict fl_gate_residue(const fl_room *room, const fl_lot *lot, unsigned uses);

/* The uses an enclosure asks for: its own set; animals in it count as the use they are. */
unsigned fl_gate_uses_of_place(const fl_ev_place_set *place);

/* The enclosure's own running total: the chance that it holds at least one of the pests that matter
 * there, over all its lots (weighted sum is not used: a plain chance by threat, the largest roots
 * counted once), and its worst threat. */
typedef struct fl_place_total {
    double sum;             /* weighted by its strictest use */
    double any;             /* 1 - prod(1 - chance) over pests on its carrier */
    const fl_threat *worst; /* NULL when nothing stands there */
    double worst_chance;
} fl_place_total;
fl_status fl_gate_place_total(fl_chances *chances, const fl_room *room, fl_id place,
                              fl_place_total *out, fl_err *err) FL_MUST_USE;

/* The room's pace: releases in the last 365 days and the sum of the chances they were released with
 * (bad releases to be expected), from the frozen answers. */
typedef struct fl_pace {
    int n_releases;
    int n_answered;       /* those of them that carry their answer: only these are counted with */
    double expected_bad;  /* over those releases */
    double years_per_bad; /* HUGE_VAL when none is expected, or none carries its answer */
} fl_pace;
void fl_gate_pace(const fl_room *room, fl_pace *out);

#endif
