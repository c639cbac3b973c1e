/* What the tests of the network and of the spread both write into a history. */
#ifndef FL_TESTS_CLEAR_SMALL_H
#define FL_TESTS_CLEAR_SMALL_H

#include "unit/core/ledger/history.h"

#define HOUR ((int64_t)FL_HOUR_S)
#define DAY ((int64_t)FL_DAY_S)
#define NONE FL_NO_INDEX

static inline fl_event *event_at(history *h, unsigned number)
{
    return &h->events[number - 1];
}

/* A lot of a purchase: arrival and source by number; two plants. */
static inline unsigned buy(history *h, int64_t at_s, unsigned lot, unsigned arrival,
                           unsigned source, unsigned place)
{
    unsigned number = arrive(h, at_s, lot, 2, place);
    event_at(h, number)->body.lot_arrived.arrival = id_of('a', arrival);
    event_at(h, number)->body.lot_arrived.source = id_of('s', source);
    return number;
}

static inline unsigned look_whole(history *h, int64_t at_s, unsigned place, fl_effort effort,
                                  fl_hands hands)
{
    unsigned number = look(h, at_s, place);
    event_at(h, number)->body.look_done.frac_examined = 1.0;
    event_at(h, number)->body.look_done.effort = effort;
    event_at(h, number)->body.look_done.hands = hands;
    return number;
}

/* The finding of a `find`, to be changed. */
static inline fl_ev_finding *finding_at(history *h, unsigned number)
{
    fl_ev_finding *seen = FL_ARENA_NEW(&h->arena, fl_ev_finding);
    *seen = event_at(h, number)->body.look_done.findings[0];
    event_at(h, number)->body.look_done.findings = seen;
    return seen;
}

/* One threat found at a careful look at the whole place; what was seen was taken away. */
static inline unsigned find_one(history *h, int64_t at_s, unsigned place, unsigned finding,
                                const char *threat, const char *stage)
{
    unsigned number = find(h, at_s, place, finding, threat);
    event_at(h, number)->body.look_done.frac_examined = 1.0;
    event_at(h, number)->body.look_done.effort = FL_EFFORT_CAREFUL;
    fl_ev_finding *seen = finding_at(h, number);
    seen->count = 1;
    seen->is_removed = true;
    seen->stage = fl_sv_from_cstr(stage);
    return number;
}

static inline void list_lot(history *h, unsigned number, unsigned lot)
{
    event_at(h, number)->body.look_done.lots = one_id(h, lot_id(lot));
}

/* One step on some lots. */
static inline unsigned step_on(history *h, int64_t at_s, const unsigned *lots, size_t n,
                               fl_step kind, const char *tub)
{
    fl_id *ids = FL_ARENA_ARRAY(&h->arena, fl_id, n);
    for (size_t i = 0; i < n; i++) {
        ids[i] = lot_id(lots[i]);
    }
    unsigned number = step(h, at_s, lots[0]);
    fl_ev_step *done = FL_ARENA_NEW(&h->arena, fl_ev_step);
    *done = (fl_ev_step){.lots = {ids, n}, .step = kind, .tub = fl_sv_from_cstr(tub)};
    event_at(h, number)->body.step_done.steps = done;
    return number;
}

#endif
