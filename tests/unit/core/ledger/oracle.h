/* A second, slow way to the same answers, for the property test: plain loops over all events and
 * tables by number instead of sorted references, and holds straight from the rules as
 * docs/models/ledger.md words them. Knows the ids of history.h. Events are live and sorted. */
#ifndef FL_TESTS_LEDGER_ORACLE_H
#define FL_TESTS_LEDGER_ORACLE_H

#include "core/know/know.h"
#include "unit/core/ledger/random.h"

#define NOWHERE 0
#define NEVER SIZE_MAX

typedef struct oracle_lot {
    bool is_born, is_gone;
    unsigned place;
    int64_t count;
    size_t gone_event, count_event;
} oracle_lot;

typedef struct oracle {
    const fl_event *events;
    size_t count;
    const fl_meaning *m; /* to look conflicts up in */
    oracle_lot lots[RANDOM_LOTS + 1];
    bool did_nothing[RANDOM_MAX]; /* a split or loss of a lot that was not there */
    bool took_too_many[RANDOM_MAX];
} oracle;

static inline unsigned number_in(fl_id id)
{
    return (unsigned)id.b[14] << 8 | id.b[15];
}

/* ---- births ---- */

static inline bool is_birth(const fl_event *e)
{
    return fl_kinds[e->kind].rank == 1;
}

static inline unsigned child_of(const fl_event *e)
{
    return e->kind == FL_KIND_LOT_ARRIVED        ? number_in(e->body.lot_arrived.lot)
           : e->kind == FL_KIND_LOT_ALREADY_HERE ? number_in(e->body.lot_already_here.lot)
           : e->kind == FL_KIND_LOT_CUT          ? number_in(e->body.lot_cut.lot)
                                                 : number_in(e->body.lot_split.new_lot);
}

/* 0: none. */
static inline unsigned mother_of(const fl_event *e)
{
    return e->kind == FL_KIND_LOT_CUT     ? number_in(e->body.lot_cut.mother)
           : e->kind == FL_KIND_LOT_SPLIT ? number_in(e->body.lot_split.lot)
                                          : 0;
}

static inline size_t first_birth(const oracle *o, unsigned lot)
{
    for (size_t i = 0; i < o->count; i++) {
        if (is_birth(&o->events[i]) && child_of(&o->events[i]) == lot) {
            return i;
        }
    }
    return NEVER;
}

/* The mother's first birth when it is another one of this second; else NEVER. */
static inline size_t awaited(const oracle *o, size_t i)
{
    unsigned mother = mother_of(&o->events[i]);
    size_t birth = mother != 0 ? first_birth(o, mother) : NEVER;
    bool is_now = birth != NEVER && birth != i && o->events[birth].at_s == o->events[i].at_s;
    return is_now ? birth : NEVER;
}

/* True when this birth is the earliest of some that await each other in a circle. */
static inline bool is_first_of_circle(const oracle *o, size_t i)
{
    size_t first = i;
    size_t k = awaited(o, i);
    for (size_t steps = 0; k != NEVER && k != i && steps < o->count; steps++) {
        first = k < first ? k : first;
        k = awaited(o, k);
    }
    return k == i && first == i;
}

static inline size_t generation(const oracle *o, size_t i)
{
    size_t n = 0;
    while (awaited(o, i) != NEVER && !is_first_of_circle(o, i)) {
        i = awaited(o, i);
        n++;
    }
    return n;
}

/* ---- holds, by the words of the rules ---- */

static inline bool is_tolerated_at(const oracle *o, fl_id place, fl_sv threat, size_t i)
{
    bool is_tolerated = false;
    for (size_t k = 0; k <= i && k < o->count; k++) {
        const fl_ev_tolerated_set *set = &o->events[k].body.tolerated_set;
        if (o->events[k].kind == FL_KIND_TOLERATED_SET && fl_id_eq(set->place, place) &&
            fl_sv_eq(set->threat, threat)) {
            is_tolerated = set->is_tolerated;
        }
    }
    return is_tolerated;
}

static inline bool is_harmless(fl_sv code)
{
    return code.len > 0 && fl_know_threat_find(code) == NULL;
}

typedef struct oracle_names {
    fl_sv code[RANDOM_MAX + 1];
    size_t at[RANDOM_MAX + 1];
    size_t count;
    size_t retracted; /* NEVER */
} oracle_names;

static inline oracle_names names_of(const oracle *o, size_t look, const fl_ev_finding *seen)
{
    oracle_names n = {.code = {seen->threat}, .at = {look}, .count = 1, .retracted = NEVER};
    for (size_t i = 0; i < o->count; i++) {
        const fl_event *e = &o->events[i];
        size_t at = i > look ? i : look;
        if (e->kind == FL_KIND_FINDING_IDENTIFIED &&
            fl_id_eq(e->body.finding_identified.finding, seen->finding)) {
            n.code[n.count] = e->body.finding_identified.threat;
            n.at[n.count++] = at;
        } else if (e->kind == FL_KIND_FINDING_RETRACTED && n.retracted == NEVER &&
                   fl_id_eq(e->body.finding_retracted.finding, seen->finding)) {
            n.retracted = at;
        }
    }
    return n;
}

/* Since when the finding is no cause any more, lifts aside; NEVER. */
static inline size_t cause_ends(const oracle *o, fl_id place, const oracle_names *n)
{
    size_t end = n->retracted;
    size_t k = n->count - 1;
    fl_sv last = n->code[k];
    if (is_harmless(last)) {
        while (k > 0 && is_harmless(n->code[k - 1])) {
            k--;
        }
        return n->at[k] < end ? n->at[k] : end;
    }
    while (k > 0 && fl_sv_eq(n->code[k - 1], last)) {
        k--;
    }
    for (size_t i = n->at[k]; last.len > 0 && i < o->count; i++) {
        if (is_tolerated_at(o, place, last, i)) {
            return i < end ? i : end;
        }
    }
    return end;
}

static inline size_t lift_of(const oracle *o, fl_id hold, size_t from)
{
    for (size_t i = 0; i < o->count; i++) {
        if (o->events[i].kind == FL_KIND_HOLD_LIFTED && o->events[i].at_s >= o->events[from].at_s &&
            fl_id_eq(o->events[i].body.hold_lifted.hold, hold)) {
            return i;
        }
    }
    return NEVER;
}

/* A hold as the rules want it. */
typedef struct oracle_hold {
    fl_id id, place;
    size_t from, to;
} oracle_hold;

typedef struct oracle_holds {
    oracle_hold hold[RANDOM_MAX * RANDOM_LIST];
    size_t count;
} oracle_holds;

/* The first with an id counts; events are gone through in order. */
static inline void want_hold(oracle_holds *all, oracle_hold hold)
{
    for (size_t i = 0; i < all->count; i++) {
        if (fl_id_eq(all->hold[i].id, hold.id)) {
            return;
        }
    }
    all->hold[all->count++] = hold;
}

static inline size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

static inline void want_holds_of_look(const oracle *o, size_t i, bool is_known[], oracle_holds *all)
{
    const fl_ev_look_done *look = &o->events[i].body.look_done;
    for (size_t f = 0; f < look->n_findings; f++) {
        const fl_ev_finding *seen = &look->findings[f];
        if (is_known[number_in(seen->finding)]) {
            continue;
        }
        is_known[number_in(seen->finding)] = true;
        oracle_names names = names_of(o, i, seen);
        size_t end = cause_ends(o, look->place, &names);
        fl_id id = fl_id_derive(seen->finding, FL_SV("hold"));
        if (end > i) {
            want_hold(all, (oracle_hold){id, look->place, i, least(end, lift_of(o, id, i))});
        }
    }
}

static inline oracle_holds want_holds(const oracle *o)
{
    oracle_holds all = {.count = 0};
    bool is_known[RANDOM_FINDINGS + 1] = {false};
    for (size_t i = 0; i < o->count; i++) {
        const fl_event *e = &o->events[i];
        const fl_ev_animal_noted *noted = &e->body.animal_noted;
        if (e->kind == FL_KIND_LOOK_DONE) {
            want_holds_of_look(o, i, is_known, &all);
        } else if (e->kind == FL_KIND_HOLD_SET) {
            fl_id id = e->body.hold_set.hold;
            want_hold(&all, (oracle_hold){id, e->body.hold_set.place, i, lift_of(o, id, i)});
        } else if (e->kind == FL_KIND_ANIMAL_NOTED &&
                   (noted->what == FL_ANIMAL_ILL || noted->what == FL_ANIMAL_DIED ||
                    (noted->what == FL_ANIMAL_TESTED && noted->is_positive))) {
            fl_id id = fl_id_derive(e->id, FL_SV("hold"));
            want_hold(&all, (oracle_hold){id, noted->place, i, lift_of(o, id, i)});
        }
    }
    return all;
}

static inline bool wants_held(const oracle_holds *all, unsigned place, size_t i)
{
    for (size_t k = 0; k < all->count; k++) {
        const oracle_hold *hold = &all->hold[k];
        if (number_in(hold->place) == place && hold->from < i && i < hold->to) {
            return true;
        }
    }
    return false;
}

/* ---- the run, by number ---- */

static inline bool is_outside(const oracle *o, unsigned place)
{
    bool is_out = false;
    for (size_t i = 0; i < o->count; i++) {
        if (o->events[i].kind == FL_KIND_PLACE_SET &&
            number_in(o->events[i].body.place_set.place) == place) {
            is_out = o->events[i].body.place_set.kind == FL_PLACE_OUTSIDE;
        }
    }
    return is_out;
}

static inline bool is_pair(const fl_conflict *c, fl_id later, fl_id earlier)
{
    return fl_id_eq(c->event, later) && fl_id_eq(c->other, earlier);
}

/* There is a conflict of these two events, whichever is later; with `other` NEVER, of event i. */
static inline bool has_conflict(const oracle *o, fl_conflict_kind kind, size_t i, size_t other,
                                unsigned lot)
{
    fl_id id = o->events[i].id;
    for (size_t k = 0; k < o->m->n_conflicts; k++) {
        const fl_conflict *c = &o->m->conflicts[k];
        bool is_it = other == NEVER ? fl_id_eq(c->event, id) || fl_id_eq(c->other, id)
                     : other > i    ? is_pair(c, o->events[other].id, id)
                                    : is_pair(c, id, o->events[other].id);
        if (is_it && c->kind == kind && fl_id_eq(c->lot, lot_id(lot))) {
            return true;
        }
    }
    return false;
}

/* True when the lot is there; else the conflict must say why not. */
static inline bool is_there(oracle *o, unsigned lot, size_t i)
{
    const oracle_lot *l = &o->lots[lot];
    if (!l->is_born) {
        REQUIRE(has_conflict(o, FL_CONFLICT_BEFORE_BORN, i, first_birth(o, lot), lot));
    } else if (l->is_gone) {
        bool is_again = o->events[i].kind == FL_KIND_LOT_RELEASED &&
                        o->events[l->gone_event].kind == FL_KIND_LOT_RELEASED;
        REQUIRE(has_conflict(o, is_again ? FL_CONFLICT_RELEASED_TWICE : FL_CONFLICT_AFTER_GONE, i,
                             l->gone_event, lot));
    }
    o->did_nothing[i] = !l->is_born || l->is_gone;
    return !o->did_nothing[i];
}

static inline void end_at(oracle *o, unsigned lot, size_t i)
{
    o->lots[lot].place = NOWHERE;
    o->lots[lot].is_gone = true;
    o->lots[lot].gone_event = i;
}

static inline void put(oracle *o, unsigned lot, unsigned place, size_t i)
{
    o->lots[lot].place = place;
    if (is_outside(o, place)) {
        end_at(o, lot, i);
    }
}

static inline void take(oracle *o, unsigned lot, int64_t count, size_t i)
{
    oracle_lot *l = &o->lots[lot];
    o->took_too_many[i] = count > l->count;
    REQUIRE(has_conflict(o, FL_CONFLICT_TOO_MANY, i, l->count_event, lot) == (count > l->count));
    if (count > 0) {
        l->count -= count < l->count ? count : l->count;
        l->count_event = i;
    }
    if (l->count == 0) {
        end_at(o, lot, i);
    }
}

static inline void leave(const oracle *o, const oracle_holds *holds, unsigned lot, unsigned from,
                         unsigned to, size_t i)
{
    bool is_wanted = from != NOWHERE && from != to && wants_held(holds, from, i);
    REQUIRE(has_conflict(o, FL_CONFLICT_LEFT_HELD, i, NEVER, lot) == is_wanted);
}

static inline void run_birth(oracle *o, const oracle_holds *holds, size_t i)
{
    const fl_event *e = &o->events[i];
    unsigned lot = child_of(e);
    unsigned mother = mother_of(e);
    unsigned place = NOWHERE;
    if (first_birth(o, lot) != i) {
        REQUIRE(has_conflict(o, FL_CONFLICT_BORN_TWICE, i, first_birth(o, lot), lot));
        if (mother != 0 && is_there(o, mother, i) && e->kind == FL_KIND_LOT_SPLIT) {
            take(o, mother, e->body.lot_split.count, i);
        }
        return;
    }
    if (e->kind == FL_KIND_LOT_ARRIVED) {
        place = number_in(e->body.lot_arrived.place);
        o->lots[lot].count = e->body.lot_arrived.count;
    } else if (e->kind == FL_KIND_LOT_ALREADY_HERE) {
        place = number_in(e->body.lot_already_here.place);
        o->lots[lot].count = e->body.lot_already_here.count;
    } else if (e->kind == FL_KIND_LOT_CUT) {
        place = number_in(e->body.lot_cut.place);
        o->lots[lot].count = e->body.lot_cut.count;
        if (is_there(o, mother, i)) {
            leave(o, holds, lot, o->lots[mother].place, place, i);
        }
    } else {
        o->lots[lot].count = e->body.lot_split.count;
        if (is_there(o, mother, i)) {
            place = o->lots[mother].place;
            take(o, mother, e->body.lot_split.count, i);
        }
    }
    o->lots[lot].is_born = true;
    o->lots[lot].count_event = i;
    put(o, lot, place, i);
    if (o->lots[lot].count <= 0) {
        o->lots[lot].count = 0;
        end_at(o, lot, i);
    }
}

static inline void run_change(oracle *o, const oracle_holds *holds, size_t i)
{
    const fl_event *e = &o->events[i];
    if (e->kind == FL_KIND_LOT_MOVED) {
        unsigned to = number_in(e->body.lot_moved.to);
        for (size_t n = 0; n < e->body.lot_moved.lots.count; n++) {
            unsigned lot = number_in(e->body.lot_moved.lots.ids[n]);
            bool is_again = n > 0 && fl_id_eq(e->body.lot_moved.lots.ids[n - 1], lot_id(lot));
            is_again = is_again || (n > 1 && fl_id_eq(e->body.lot_moved.lots.ids[0], lot_id(lot)));
            if (!is_again && is_there(o, lot, i)) {
                leave(o, holds, lot, o->lots[lot].place, to, i);
                put(o, lot, to, i);
            }
        }
    } else if (e->kind == FL_KIND_LOT_RELEASED) {
        unsigned lot = number_in(e->body.lot_released.lot);
        if (is_there(o, lot, i)) {
            leave(o, holds, lot, o->lots[lot].place, number_in(e->body.lot_released.to), i);
            put(o, lot, number_in(e->body.lot_released.to), i);
        }
    } else if (e->kind == FL_KIND_LOT_LOST) {
        unsigned lot = number_in(e->body.lot_lost.lot);
        if (is_there(o, lot, i)) {
            take(o, lot, e->body.lot_lost.count, i);
        }
    }
}

/* The births of the second that begins at `first`, generation by generation. */
static inline void run_births(oracle *o, const oracle_holds *holds, size_t first)
{
    for (size_t n = 0; n <= RANDOM_LOTS; n++) {
        for (size_t i = first;
             i < o->count && is_birth(&o->events[i]) && o->events[i].at_s == o->events[first].at_s;
             i++) {
            if (generation(o, i) == n) {
                run_birth(o, holds, i);
            }
        }
    }
}

/* Where every lot is after all events up to the moment. */
static inline void oracle_run(oracle *o, const oracle_holds *holds, int64_t at_s)
{
    memset(o->lots, 0, sizeof o->lots);
    for (size_t i = 0; i < o->count && o->events[i].at_s <= at_s; i++) {
        bool is_next =
            i > 0 && is_birth(&o->events[i - 1]) && o->events[i - 1].at_s == o->events[i].at_s;
        if (!is_birth(&o->events[i])) {
            run_change(o, holds, i);
        } else if (!is_next) {
            run_births(o, holds, i);
        }
    }
}

#endif
