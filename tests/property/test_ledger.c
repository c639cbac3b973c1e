/* Random histories, plain ones and nonsense, through the ledger: what must hold of its rows
 * whatever happened, the same answers by a slow second way (unit/core/ledger/oracle.h), and the
 * promises of ledger.h: the order of recording does not matter, and rows of one lot or place can be
 * made without the rest. The rules come from docs/models/ledger.md; a failure prints the seed. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/num.h"
#include "unit/core/ledger/oracle.h"

#define HISTORIES 20000
#define FIRST_SEED 20260301u

/* ---- rows of one lot or one place ---- */

/* What to keep when two meanings are compared; NULL: all. */
typedef struct scope {
    const fl_id *lot;   /* its row, stays, and (with_conflicts) conflicts */
    const fl_id *place; /* its fills; or (with_conflicts) holds, findings, conflicts */
    bool with_conflicts;
} scope;

static bool wants_lot(const scope *s, fl_id lot)
{
    return s == NULL || (s->lot != NULL && fl_id_eq(*s->lot, lot));
}

static bool wants_fill(const scope *s, fl_id place)
{
    return s == NULL || (s->place != NULL && !s->with_conflicts && fl_id_eq(*s->place, place));
}

static bool wants_hold(const scope *s, fl_id place)
{
    return s == NULL || (s->place != NULL && s->with_conflicts && fl_id_eq(*s->place, place));
}

static bool wants_conflict(const scope *s, const fl_conflict *c)
{
    if (s == NULL) {
        return true;
    }
    if (!s->with_conflicts) {
        return false;
    }
    return s->lot != NULL ? fl_id_eq(c->lot, *s->lot)
                          : fl_id_is_none(c->lot) && fl_id_eq(c->place, *s->place);
}

/* Walks two arrays side by side over the rows in scope. */
#define SAME_ROWS(name, n_name, wanted, same)                                                      \
    do {                                                                                           \
        size_t i = 0;                                                                              \
        size_t k = 0;                                                                              \
        for (;;) {                                                                                 \
            while (i < a->n_name && !(wanted(&a->name[i]))) {                                      \
                i++;                                                                               \
            }                                                                                      \
            while (k < b->n_name && !(wanted(&b->name[k]))) {                                      \
                k++;                                                                               \
            }                                                                                      \
            if (i == a->n_name || k == b->n_name) {                                                \
                break;                                                                             \
            }                                                                                      \
            REQUIRE(same(&a->name[i], &b->name[k]));                                               \
            i++;                                                                                   \
            k++;                                                                                   \
        }                                                                                          \
        REQUIRE(i == a->n_name && k == b->n_name);                                                 \
    } while (0)

#define WANTED_LOT(row) wants_lot(s, (row)->id)
#define WANTED_STAY(row) wants_lot(s, (row)->lot)
#define WANTED_FILL(row) wants_fill(s, (row)->place)
#define WANTED_HOLD(row) wants_hold(s, (row)->place)
#define WANTED_CONFLICT(row) wants_conflict(s, (row))

static void require_same(const fl_meaning *a, const fl_meaning *b, const scope *s)
{
    SAME_ROWS(lots, n_lots, WANTED_LOT, fl_lot_same);
    SAME_ROWS(stays, n_stays, WANTED_STAY, fl_stay_same);
    SAME_ROWS(fills, n_fills, WANTED_FILL, fl_fill_same);
    SAME_ROWS(holds, n_holds, WANTED_HOLD, fl_hold_same);
    SAME_ROWS(findings, n_findings, WANTED_HOLD, fl_finding_same);
    SAME_ROWS(conflicts, n_conflicts, WANTED_CONFLICT, fl_conflict_same);
}

/* ---- what must hold of any rows ---- */

static void require_stays(const fl_meaning *m)
{
    for (size_t i = 0; i < m->n_stays; i++) {
        const fl_stay *stay = &m->stays[i];
        const fl_lot *lot = fl_meaning_lot(m, stay->lot);
        bool is_last = i + 1 == m->n_stays || !fl_id_eq(stay[1].lot, stay->lot);
        REQUIRE(lot != NULL);
        REQUIRE(stay->from_s < stay->to_s);
        REQUIRE(lot == NULL || stay->from_s >= lot->born_s);
        REQUIRE(fl_id_is_none(stay->to_event) == (stay->to_s == FL_TIME_OPEN));
        /* a lot leaves a place for another one: its stays follow each other without a gap */
        REQUIRE(is_last || stay->to_s == stay[1].from_s);
        REQUIRE(i == 0 || fl_id_compare(stay[-1].lot, stay->lot) <= 0);
        bool stands_here = lot != NULL && !lot->is_gone && fl_id_eq(lot->place, stay->place);
        REQUIRE(stay->to_s != FL_TIME_OPEN || (is_last && stands_here));
    }
}

static void require_lots(const fl_meaning *m)
{
    for (size_t i = 0; i < m->n_lots; i++) {
        const fl_lot *lot = &m->lots[i];
        const fl_stay *now = fl_meaning_stay_at(m, lot->id, FL_TIME_OPEN - 1);
        REQUIRE(i == 0 || fl_id_compare(lot[-1].id, lot->id) < 0);
        REQUIRE(lot->count >= 0 && lot->count <= lot->count_born);
        REQUIRE(lot->is_gone || lot->count > 0);
        REQUIRE(fl_id_is_none(lot->place) == (now == NULL));
        REQUIRE(now == NULL || fl_id_eq(now->place, lot->place));
        REQUIRE(!lot->is_gone || now == NULL);
        const fl_lot *up = lot;
        for (size_t steps = 0; up != NULL && !fl_id_is_none(up->mother); steps++) {
            REQUIRE(steps <= m->n_lots); /* the line of mothers ends */
            up = fl_meaning_lot(m, up->mother);
        }
    }
}

/* How much of a stay the fills of its place cover, in seconds. */
static int64_t covered_s(const fl_meaning *m, const fl_stay *stay)
{
    int64_t sum_s = 0;
    for (size_t i = 0; i < m->n_fills; i++) {
        const fl_fill *fill = &m->fills[i];
        int64_t from_s = fill->from_s > stay->from_s ? fill->from_s : stay->from_s;
        int64_t to_s = fill->to_s < stay->to_s ? fill->to_s : stay->to_s;
        if (fl_id_eq(fill->place, stay->place) && from_s < to_s) {
            sum_s += to_s - from_s;
        }
    }
    return sum_s;
}

static void require_fill(const oracle *o, const fl_fill *fill)
{
    bool is_begun_by_stay = false;
    bool lasts_through = false;
    for (size_t i = 0; i < o->m->n_stays; i++) {
        const fl_stay *stay = &o->m->stays[i];
        if (fl_id_eq(stay->place, fill->place)) {
            is_begun_by_stay = is_begun_by_stay || (stay->from_s == fill->from_s &&
                                                    fl_id_eq(stay->from_event, fill->from_event));
            lasts_through =
                lasts_through || (stay->from_s < fill->from_s && fill->from_s < stay->to_s);
        }
    }
    REQUIRE(fill->began_with_lots ? lasts_through : is_begun_by_stay && !lasts_through);
    for (size_t i = 0; i < o->count; i++) {
        const fl_event *e = &o->events[i];
        if (e->kind == FL_KIND_PLACE_CLEANED &&
            fl_id_eq(e->body.place_cleaned.place, fill->place)) {
            REQUIRE(e->at_s <= fill->from_s || e->at_s >= fill->to_s);
        }
    }
}

static void require_fills(const oracle *o)
{
    const fl_meaning *m = o->m;
    for (size_t i = 0; i < m->n_fills; i++) {
        const fl_fill *fill = &m->fills[i];
        bool is_next = i > 0 && fl_id_eq(fill[-1].place, fill->place);
        REQUIRE(i == 0 || fl_id_compare(fill[-1].place, fill->place) <= 0);
        REQUIRE(fill->from_s < fill->to_s);
        REQUIRE(!is_next || fill[-1].to_s <= fill->from_s);
        REQUIRE(fl_id_is_none(fill->to_event) == (fill->to_s == FL_TIME_OPEN));
        fl_sv name = {(const char *)fill->from_event.b, 16};
        REQUIRE(fl_id_eq(fill->id, fl_id_derive(fill->place, name)));
        require_fill(o, fill);
    }
    for (size_t i = 0; i < m->n_stays; i++) {
        REQUIRE(covered_s(m, &m->stays[i]) == m->stays[i].to_s - m->stays[i].from_s);
    }
}

static size_t index_of(const oracle *o, fl_id event)
{
    for (size_t i = 0; i < o->count; i++) {
        if (fl_id_eq(o->events[i].id, event)) {
            return i;
        }
    }
    return NEVER;
}

static int compare_conflicts(const fl_conflict *a, const fl_conflict *b)
{
    int order = (a->at_s > b->at_s) - (a->at_s < b->at_s);
    order = order != 0 ? order : fl_id_compare(a->event, b->event);
    order = order != 0 ? order : (int)a->kind - (int)b->kind;
    order = order != 0 ? order : fl_id_compare(a->other, b->other);
    order = order != 0 ? order : fl_id_compare(a->lot, b->lot);
    return order != 0 ? order : fl_id_compare(a->place, b->place);
}

static void require_conflicts(const oracle *o)
{
    for (size_t k = 0; k < o->m->n_conflicts; k++) {
        const fl_conflict *c = &o->m->conflicts[k];
        size_t i = index_of(o, c->event);
        REQUIRE(i != NEVER && c->at_s == o->events[i].at_s);
        size_t other = index_of(o, c->other);
        bool is_lone = c->kind == FL_CONFLICT_BEFORE_BORN && fl_id_is_none(c->other);
        REQUIRE(is_lone || (other != NEVER && other <= i));
        REQUIRE(!is_lone || fl_meaning_lot(o->m, c->lot) == NULL);
        REQUIRE(!fl_id_is_none(c->lot) || !fl_id_is_none(c->place));
        REQUIRE(k == 0 || compare_conflicts(&c[-1], c) < 0);
    }
}

/* ---- the second way ---- */

static void require_wanted_holds(const oracle *o, const oracle_holds *wanted)
{
    REQUIRE(wanted->count == o->m->n_holds);
    for (size_t k = 0; k < o->m->n_holds; k++) {
        const fl_hold *got = &o->m->holds[k];
        size_t w = 0;
        while (w < wanted->count && !fl_id_eq(wanted->hold[w].id, got->id)) {
            w++;
        }
        REQUIRE(w < wanted->count);
        const oracle_hold *want = &wanted->hold[w];
        REQUIRE(fl_id_eq(got->place, want->place));
        REQUIRE(fl_id_eq(got->from_event, o->events[want->from].id));
        REQUIRE(got->from_s == o->events[want->from].at_s);
        int64_t to_s = want->to != NEVER ? o->events[want->to].at_s : FL_TIME_OPEN;
        fl_id to_event = want->to != NEVER ? o->events[want->to].id : (fl_id){{0}};
        REQUIRE(got->to_s == to_s && fl_id_eq(got->to_event, to_event));
        REQUIRE(got->from_s <= got->to_s);
    }
}

static bool is_held_slowly(const fl_meaning *m, fl_id place, int64_t at_s)
{
    for (size_t i = 0; i < m->n_holds; i++) {
        if (fl_id_eq(m->holds[i].place, place) && m->holds[i].from_s <= at_s &&
            at_s < m->holds[i].to_s) {
            return true;
        }
    }
    return false;
}

static void require_moment(oracle *o, const oracle_holds *wanted, int64_t at_s)
{
    oracle_run(o, wanted, at_s);
    for (unsigned lot = 1; lot <= RANDOM_LOTS; lot++) {
        const fl_stay *stay = fl_meaning_stay_at(o->m, lot_id(lot), at_s);
        unsigned place = stay != NULL ? number_in(stay->place) : NOWHERE;
        REQUIRE(place == o->lots[lot].place);
    }
    for (unsigned place = 1; place <= RANDOM_PLACES; place++) {
        bool is_held = fl_meaning_is_held(o->m, place_id(place), at_s);
        REQUIRE(is_held == is_held_slowly(o->m, place_id(place), at_s));
    }
}

static void require_oracle(oracle *o)
{
    oracle_holds wanted = want_holds(o);
    require_wanted_holds(o, &wanted);
    for (int64_t at_s = -5; at_s <= 395; at_s += 50) {
        require_moment(o, &wanted, at_s);
    }
    require_moment(o, &wanted, 145);
    oracle_run(o, &wanted, FL_TIME_OPEN);
    for (unsigned lot = 1; lot <= RANDOM_LOTS; lot++) {
        const fl_lot *row = fl_meaning_lot(o->m, lot_id(lot));
        REQUIRE((row != NULL) == o->lots[lot].is_born);
        if (row != NULL) {
            REQUIRE(row->count == o->lots[lot].count);
            REQUIRE(row->is_gone == o->lots[lot].is_gone);
        }
    }
}

/* ---- balance ---- */

/* What the events say was taken from the lot, less those that found no such lot. */
static int64_t taken_from(const oracle *o, unsigned lot, bool *is_exact)
{
    int64_t sum = 0;
    for (size_t i = 0; i < o->count; i++) {
        const fl_event *e = &o->events[i];
        bool is_split = e->kind == FL_KIND_LOT_SPLIT && mother_of(e) == lot;
        bool is_lost = e->kind == FL_KIND_LOT_LOST && number_in(e->body.lot_lost.lot) == lot;
        if ((is_split || is_lost) && !o->did_nothing[i]) {
            int64_t count = is_split ? e->body.lot_split.count : e->body.lot_lost.count;
            sum += count < 0 ? 0 : count;
            *is_exact = *is_exact && !o->took_too_many[i];
        }
    }
    return sum;
}

/* Born = there (or outside) + lost + split away. */
static void require_balance(const oracle *o)
{
    for (size_t i = 0; i < o->m->n_lots; i++) {
        const fl_lot *row = &o->m->lots[i];
        bool is_exact = true;
        int64_t taken = taken_from(o, number_in(row->id), &is_exact);
        REQUIRE(is_exact ? row->count_born == row->count + taken
                         : row->count == 0 && taken > row->count_born);
    }
}

/* ---- what rows depend on ---- */

typedef bool kept_lots[RANDOM_LOTS + 1];

/* The lot and the lots it descends from, by first births. */
static void add_line(const oracle *o, unsigned lot, kept_lots kept)
{
    while (lot != 0 && !kept[lot]) {
        kept[lot] = true;
        size_t birth = first_birth(o, lot);
        lot = birth != NEVER ? mother_of(&o->events[birth]) : 0;
    }
}

typedef struct mentions {
    fl_fact facts[4 * RANDOM_LIST + 8];
    size_t count;
} mentions;

static mentions mentions_of(const fl_event *e)
{
    mentions all;
    check_int(
        fl_event_facts(e, all.facts, sizeof all.facts / sizeof all.facts[0], &all.count, NULL),
        FL_OK);
    return all;
}

static bool does_mention(const fl_event *e, fl_entity entity, fl_id id)
{
    mentions all = mentions_of(e);
    for (size_t i = 0; i < all.count; i++) {
        if (all.facts[i].entity == entity && fl_id_eq(all.facts[i].id, id)) {
            return true;
        }
    }
    return false;
}

/* By the mentions that the journal keeps of the event. */
static bool mentions_lot(const fl_event *e, const kept_lots kept)
{
    for (unsigned lot = 1; lot <= RANDOM_LOTS; lot++) {
        if (kept[lot] && does_mention(e, FL_ENTITY_LOT, lot_id(lot))) {
            return true;
        }
    }
    return false;
}

static bool is_about_holds(const fl_event *e)
{
    return e->kind == FL_KIND_LOOK_DONE || fl_kinds[e->kind].rank == 6 ||
           fl_kinds[e->kind].rank == 7;
}

static void fold_some(const oracle *o, const bool keep[], const scope *s)
{
    fl_event *some = fl_alloc(o->count, sizeof *some);
    size_t n = 0;
    for (size_t i = 0; i < o->count; i++) {
        if (keep[i]) {
            some[n++] = o->events[i];
        }
    }
    fl_meaning m = meaning_fold(some, n);
    require_same(o->m, &m, s);
    meaning_free(&m);
    fl_alloc_free(some);
}

static void require_lot_alone(const oracle *o, unsigned lot)
{
    bool keep[RANDOM_MAX] = {false};
    kept_lots kept = {false};
    fl_id id = lot_id(lot);
    add_line(o, lot, kept);
    for (size_t i = 0; i < o->count; i++) {
        keep[i] = o->events[i].kind == FL_KIND_PLACE_SET || mentions_lot(&o->events[i], kept);
    }
    fold_some(o, keep, &(scope){.lot = &id});
    for (size_t i = 0; i < o->count; i++) {
        keep[i] = keep[i] || is_about_holds(&o->events[i]);
    }
    fold_some(o, keep, &(scope){.lot = &id, .with_conflicts = true});
}

/* True when this event of the place tells of the finding, or causes the hold. */
static bool does_tell_of(const fl_event *e, fl_entity entity, fl_id id)
{
    if (does_mention(e, entity, id)) {
        return true;
    }
    mentions all = mentions_of(e);
    for (size_t i = 0; entity == FL_ENTITY_HOLD && i < all.count; i++) {
        if (all.facts[i].entity == FL_ENTITY_FINDING &&
            fl_id_eq(fl_id_derive(all.facts[i].id, FL_SV("hold")), id)) {
            return true;
        }
    }
    return entity == FL_ENTITY_HOLD && fl_id_eq(fl_id_derive(e->id, FL_SV("hold")), id);
}

/* True when the event mentions the place, or a finding of its looks, or one of its holds. */
static bool is_of_place(const oracle *o, const fl_event *e, unsigned place)
{
    mentions all = mentions_of(e);
    if (does_mention(e, FL_ENTITY_PLACE, place_id(place))) {
        return true;
    }
    for (size_t i = 0; i < all.count; i++) {
        fl_entity entity = all.facts[i].entity;
        for (size_t k = 0; k < o->count; k++) {
            if ((entity == FL_ENTITY_FINDING || entity == FL_ENTITY_HOLD) &&
                does_mention(&o->events[k], FL_ENTITY_PLACE, place_id(place)) &&
                does_tell_of(&o->events[k], entity, all.facts[i].id)) {
                return true;
            }
        }
    }
    return false;
}

/* The lots that an event puts into the place, be it for no time; those split from them, in any
 * number of steps; and the lines of all these. */
static void add_lots_of_place(const oracle *o, unsigned place, kept_lots kept)
{
    kept_lots put_there = {false};
    for (size_t n = 0; n <= RANDOM_LOTS; n++) {
        for (size_t i = 0; i < o->count; i++) {
            const fl_event *e = &o->events[i];
            bool is_there = does_mention(e, FL_ENTITY_PLACE, place_id(place));
            for (unsigned lot = 1; is_there && lot <= RANDOM_LOTS; lot++) {
                put_there[lot] = put_there[lot] || does_mention(e, FL_ENTITY_LOT, lot_id(lot));
            }
            if (e->kind == FL_KIND_LOT_SPLIT && put_there[mother_of(e)]) {
                put_there[child_of(e)] = true;
            }
        }
    }
    for (unsigned lot = 1; lot <= RANDOM_LOTS; lot++) {
        if (put_there[lot]) {
            add_line(o, lot, kept);
        }
    }
}

static void require_place_alone(const oracle *o, unsigned place)
{
    bool keep[RANDOM_MAX] = {false};
    kept_lots kept = {false};
    fl_id id = place_id(place);
    for (size_t i = 0; i < o->count; i++) {
        keep[i] = is_of_place(o, &o->events[i], place);
    }
    fold_some(o, keep, &(scope){.place = &id, .with_conflicts = true});
    add_lots_of_place(o, place, kept);
    for (size_t i = 0; i < o->count; i++) {
        const fl_event *e = &o->events[i];
        keep[i] = e->kind == FL_KIND_PLACE_SET || e->kind == FL_KIND_PLACE_CLEANED ||
                  mentions_lot(e, kept);
    }
    fold_some(o, keep, &(scope){.place = &id});
}

/* ---- all of it ---- */

static void try_history(random_history *r, uint64_t seed)
{
    static fl_event kept[RANDOM_MAX];
    random_fill(r, seed);
    memcpy(kept, r->events, sizeof kept);
    size_t live = events_settle(r->events, r->count);
    fl_meaning m = meaning_fold(r->events, live);
    oracle o = {.events = r->events, .count = live, .m = &m};
    require_lots(&m);
    require_stays(&m);
    require_fills(&o);
    require_conflicts(&o);
    require_oracle(&o);
    require_balance(&o);
    require_lot_alone(&o, 1 + below(r, RANDOM_LOTS));
    require_place_alone(&o, 1 + below(r, RANDOM_PLACES));
    random_shuffle(r, kept, r->count);
    REQUIRE(events_settle(kept, r->count) == live);
    fl_meaning late = meaning_fold(kept, live);
    require_same(&m, &late, NULL);
    meaning_free(&late);
    meaning_free(&m);
}

static uint64_t histories_wanted(void)
{
    const char *text = getenv("FL_LEDGER_HISTORIES");
    int64_t wanted = HISTORIES;
    fl_err err;
    if (text != NULL) {
        check_ok(fl_num_parse_int(fl_sv_from_cstr(text), "FL_LEDGER_HISTORIES", 1, 100000000,
                                  &wanted, &err),
                 &err);
    }
    return (uint64_t)wanted;
}

static void test_random_histories(void **state)
{
    (void)state;
    random_history *r = fl_alloc(1, sizeof *r);
    uint64_t histories = histories_wanted();
    for (uint64_t i = 0; i < histories; i++) {
        try_history(r, FIRST_SEED + i);
    }
    print_message("%llu histories, from seed %u\n", (unsigned long long)histories, FIRST_SEED);
    fl_alloc_free(r);
}

/* The random histories must not miss a kind of row or conflict, else the rest proves little. */
static void test_histories_are_rich(void **state)
{
    (void)state;
    size_t conflicts[FL_CONFLICT_COUNT] = {0};
    size_t causes[3] = {0};
    size_t refilled = 0;
    size_t split_lots = 0;
    random_history *r = fl_alloc(1, sizeof *r);
    for (uint64_t i = 0; i < 2000; i++) {
        random_fill(r, FIRST_SEED + i);
        size_t live = events_settle(r->events, r->count);
        fl_meaning m = meaning_fold(r->events, live);
        for (size_t k = 0; k < m.n_conflicts; k++) {
            conflicts[m.conflicts[k].kind]++;
        }
        for (size_t k = 0; k < m.n_holds; k++) {
            causes[m.holds[k].cause] += m.holds[k].to_s != FL_TIME_OPEN;
        }
        for (size_t k = 0; k < m.n_fills; k++) {
            refilled += m.fills[k].began_with_lots;
        }
        for (size_t k = 0; k < m.n_lots; k++) {
            split_lots += m.lots[k].origin == FL_KIND_LOT_SPLIT && m.lots[k].count > 0;
        }
        meaning_free(&m);
    }
    for (int k = 0; k < FL_CONFLICT_COUNT; k++) {
        printf("%s %zu\n", fl_words_conflict[k].word, conflicts[k]);
        check_true(conflicts[k] > 20);
    }
    check_true(causes[FL_HOLD_BY_KEEPER] > 20 && causes[FL_HOLD_BY_FINDING] > 20);
    check_true(causes[FL_HOLD_BY_ANIMAL] > 5);
    check_true(refilled > 20 && split_lots > 20);
    fl_alloc_free(r);
}

/* ---- how long it takes (printed, not asserted) ---- */

static int by_order(const void *a, const void *b)
{
    return fl_event_compare(a, b);
}

/* A busy room: a tenth of the events are arrivals; moves, looks, cleanings, losses follow. */
static void fill_room(fl_event *events, fl_id *ids, fl_ev_finding *findings, unsigned count)
{
    fl_rng rng = {7};
    unsigned n_lots = 0;
    for (unsigned i = 0; i < count; i++) {
        fl_event *e = &events[i];
        uint64_t what = n_lots == 0 ? 0 : fl_rng_below(&rng, 10);
        unsigned place = 1 + (unsigned)fl_rng_below(&rng, 40);
        ids[i] = lot_id(1 + (unsigned)fl_rng_below(&rng, n_lots + 1));
        e->id = event_id(i);
        e->id.b[13] = (uint8_t)(i >> 16);
        e->at_s = (int64_t)i * 600;
        if (what == 0) {
            n_lots++;
            e->kind = FL_KIND_LOT_ARRIVED;
            e->body.lot_arrived.lot = lot_id(n_lots);
            e->body.lot_arrived.count = 6;
            e->body.lot_arrived.place = place_id(place);
        } else if (what < 6) {
            e->kind = FL_KIND_LOT_MOVED;
            e->body.lot_moved = (fl_ev_lot_moved){{&ids[i], 1}, place_id(place)};
        } else if (what < 8) {
            findings[i].finding = finding_id(i);
            findings[i].finding.b[13] = (uint8_t)(i >> 16);
            findings[i].threat = FL_SV("fungus_gnat");
            e->kind = FL_KIND_LOOK_DONE;
            e->body.look_done.place = place_id(place);
            e->body.look_done.findings = &findings[i];
            e->body.look_done.n_findings = what == 7;
        } else if (what == 8) {
            e->kind = FL_KIND_PLACE_CLEANED;
            e->body.place_cleaned.place = place_id(place);
        } else {
            e->kind = FL_KIND_TOLERATED_SET;
            e->body.tolerated_set =
                (fl_ev_tolerated_set){place_id(place), FL_SV("fungus_gnat"), i % 50 == 0};
        }
    }
}

static void test_time(void **state)
{
    (void)state;
    for (unsigned count = 25000; count <= 100000; count *= 2) {
        fl_event *events = fl_alloc(count, sizeof *events);
        fl_id *ids = fl_alloc(count, sizeof *ids);
        fl_ev_finding *findings = fl_alloc(count, sizeof *findings);
        fill_room(events, ids, findings, count);
        qsort(events, count, sizeof *events, by_order);
        clock_t start = clock();
        fl_meaning m = meaning_fold(events, count);
        printf("%u events: %zu lots, %zu stays, %zu fills, %zu holds, %zu conflicts in %.0f ms\n",
               count, m.n_lots, m.n_stays, m.n_fills, m.n_holds, m.n_conflicts,
               1e3 * (double)(clock() - start) / (double)CLOCKS_PER_SEC);
        check_true(m.n_stays > count / 4);
        meaning_free(&m);
        fl_alloc_free(findings);
        fl_alloc_free(ids);
        fl_alloc_free(events);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_random_histories),
    cmocka_unit_test(test_histories_are_rich),
    cmocka_unit_test(test_time),
};
FL_TEST_MAIN(tests)
