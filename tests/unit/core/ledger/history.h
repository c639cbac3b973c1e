/* Small histories for tests of the ledger: events are added one by one, folded, and the rows
 * checked. Ids are made from a letter and a number, so that a failed check can be read: lot 'l',
 * place 'p', finding 'f', hold 'h', event 'e' (numbered from 1 as they are added). */
#ifndef FL_TESTS_LEDGER_HISTORY_H
#define FL_TESTS_LEDGER_HISTORY_H

#include <string.h>

#include "base/alloc.h"
#include "base/arena.h"
#include "core/ledger/ledger.h"
#include "support/check.h"

#define HISTORY_MAX 64

/* Places of every test; their kinds are told by history_with_places. */
enum { BENCH = 1, BIN, BIN_2, ENCLOSURE, OUTSIDE, JAR };

typedef struct history {
    fl_event events[HISTORY_MAX];
    size_t count;
    fl_arena arena;
    fl_meaning m; /* after history_fold */
} history;

static inline fl_id id_of(char letter, unsigned number)
{
    fl_id id = {{0}};
    id.b[0] = (uint8_t)letter;
    id.b[14] = (uint8_t)(number >> 8);
    id.b[15] = (uint8_t)number;
    return id;
}

static inline fl_id lot_id(unsigned n)
{
    return id_of('l', n);
}
static inline fl_id place_id(unsigned n)
{
    return id_of('p', n);
}
static inline fl_id finding_id(unsigned n)
{
    return id_of('f', n);
}
static inline fl_id hold_id(unsigned n)
{
    return id_of('h', n);
}
static inline fl_id event_id(unsigned n)
{
    return id_of('e', n);
}

/* ---- adding events; each gives its number ---- */

static inline fl_event *add(history *h, fl_kind kind, int64_t at_s)
{
    assert_true(h->count < HISTORY_MAX);
    fl_event *event = &h->events[h->count++];
    memset(event, 0, sizeof *event);
    event->id = event_id((unsigned)h->count);
    event->kind = kind;
    event->at_s = at_s;
    return event;
}

static inline unsigned number_of(const history *h)
{
    return (unsigned)h->count;
}

static inline fl_id_list one_id(history *h, fl_id id)
{
    fl_id *copy = FL_ARENA_NEW(&h->arena, fl_id);
    *copy = id;
    return (fl_id_list){copy, 1};
}

static inline unsigned define_place(history *h, int64_t at_s, unsigned place, fl_place_kind kind)
{
    fl_event *e = add(h, FL_KIND_PLACE_SET, at_s);
    e->body.place_set.place = place_id(place);
    e->body.place_set.kind = kind;
    return number_of(h);
}

static inline unsigned arrive(history *h, int64_t at_s, unsigned lot, int64_t count, unsigned place)
{
    fl_event *e = add(h, FL_KIND_LOT_ARRIVED, at_s);
    e->body.lot_arrived = (fl_ev_lot_arrived){
        .lot = lot_id(lot),
        .arrival = id_of('a', 1),
        .source = id_of('s', 1),
        .plant = id_of('t', 1),
        .name = FL_SV("button fern"),
        .count = count,
        .form = FL_FORM_POTTED,
        .use = FL_USE_AMPHIBIAN,
        .place = place_id(place),
        .label_active = FL_SV("imidacloprid"),
        .cost = 3.5,
    };
    return number_of(h);
}

static inline unsigned cut(history *h, int64_t at_s, unsigned mother, unsigned lot, unsigned place)
{
    fl_event *e = add(h, FL_KIND_LOT_CUT, at_s);
    e->body.lot_cut = (fl_ev_lot_cut){
        .mother = lot_id(mother),
        .lot = lot_id(lot),
        .count = 3,
        .form = FL_FORM_UNROOTED_CUTTING,
        .use = FL_USE_STOCK,
        .place = place_id(place),
    };
    return number_of(h);
}

static inline unsigned split(history *h, int64_t at_s, unsigned lot, unsigned new_lot,
                             int64_t count)
{
    fl_event *e = add(h, FL_KIND_LOT_SPLIT, at_s);
    e->body.lot_split = (fl_ev_lot_split){lot_id(lot), lot_id(new_lot), count};
    return number_of(h);
}

static inline unsigned move(history *h, int64_t at_s, unsigned lot, unsigned to)
{
    fl_event *e = add(h, FL_KIND_LOT_MOVED, at_s);
    e->body.lot_moved = (fl_ev_lot_moved){one_id(h, lot_id(lot)), place_id(to)};
    return number_of(h);
}

static inline unsigned release(history *h, int64_t at_s, unsigned lot, unsigned to)
{
    fl_event *e = add(h, FL_KIND_LOT_RELEASED, at_s);
    e->body.lot_released.lot = lot_id(lot);
    e->body.lot_released.to = place_id(to);
    return number_of(h);
}

static inline unsigned lose(history *h, int64_t at_s, unsigned lot, int64_t count)
{
    fl_event *e = add(h, FL_KIND_LOT_LOST, at_s);
    e->body.lot_lost.lot = lot_id(lot);
    e->body.lot_lost.count = count;
    return number_of(h);
}

static inline unsigned clean(history *h, int64_t at_s, unsigned place)
{
    fl_event *e = add(h, FL_KIND_PLACE_CLEANED, at_s);
    e->body.place_cleaned.place = place_id(place);
    return number_of(h);
}

static inline unsigned look(history *h, int64_t at_s, unsigned place)
{
    fl_event *e = add(h, FL_KIND_LOOK_DONE, at_s);
    e->body.look_done.place = place_id(place);
    return number_of(h);
}

/* A look with one finding; threat "" when it is not named. */
static inline unsigned find(history *h, int64_t at_s, unsigned place, unsigned finding,
                            const char *threat)
{
    unsigned number = look(h, at_s, place);
    fl_ev_finding *seen = FL_ARENA_NEW(&h->arena, fl_ev_finding);
    seen->finding = finding_id(finding);
    seen->threat = fl_sv_from_cstr(threat);
    seen->stage = FL_SV("adult");
    seen->count = 2;
    seen->what = FL_SV("small and pale");
    h->events[number - 1].body.look_done.findings = seen;
    h->events[number - 1].body.look_done.n_findings = 1;
    return number;
}

static inline unsigned identify(history *h, int64_t at_s, unsigned finding, const char *threat)
{
    fl_event *e = add(h, FL_KIND_FINDING_IDENTIFIED, at_s);
    e->body.finding_identified.finding = finding_id(finding);
    e->body.finding_identified.threat = fl_sv_from_cstr(threat);
    return number_of(h);
}

static inline unsigned retract(history *h, int64_t at_s, unsigned finding)
{
    fl_event *e = add(h, FL_KIND_FINDING_RETRACTED, at_s);
    e->body.finding_retracted.finding = finding_id(finding);
    return number_of(h);
}

static inline unsigned tolerate(history *h, int64_t at_s, unsigned place, const char *threat,
                                bool is_tolerated)
{
    fl_event *e = add(h, FL_KIND_TOLERATED_SET, at_s);
    e->body.tolerated_set =
        (fl_ev_tolerated_set){place_id(place), fl_sv_from_cstr(threat), is_tolerated};
    return number_of(h);
}

static inline unsigned animal(history *h, int64_t at_s, unsigned place, fl_animal_event what,
                              bool is_positive)
{
    fl_event *e = add(h, FL_KIND_ANIMAL_NOTED, at_s);
    e->body.animal_noted.place = place_id(place);
    e->body.animal_noted.what = what;
    e->body.animal_noted.animal = FL_SV("the larger frog");
    e->body.animal_noted.is_positive = is_positive;
    return number_of(h);
}

static inline unsigned set_hold(history *h, int64_t at_s, unsigned place, unsigned hold)
{
    fl_event *e = add(h, FL_KIND_HOLD_SET, at_s);
    e->body.hold_set = (fl_ev_hold_set){hold_id(hold), place_id(place), FL_SV("wait and see")};
    return number_of(h);
}

static inline unsigned lift(history *h, int64_t at_s, fl_id hold)
{
    fl_event *e = add(h, FL_KIND_HOLD_LIFTED, at_s);
    e->body.hold_lifted.hold = hold;
    return number_of(h);
}

static inline unsigned step(history *h, int64_t at_s, unsigned lot)
{
    fl_ev_step *done = FL_ARENA_NEW(&h->arena, fl_ev_step);
    done->lots = one_id(h, lot_id(lot));
    fl_event *e = add(h, FL_KIND_STEP_DONE, at_s);
    e->body.step_done.steps = done;
    e->body.step_done.n_steps = 1;
    return number_of(h);
}

static inline unsigned start_step(history *h, int64_t at_s, unsigned lot)
{
    fl_event *e = add(h, FL_KIND_STEP_STARTED, at_s);
    e->body.step_started.run = id_of('r', 1);
    e->body.step_started.step.lots = one_id(h, lot_id(lot));
    return number_of(h);
}

static inline unsigned void_event(history *h, int64_t at_s, unsigned event)
{
    fl_event *e = add(h, FL_KIND_EVENT_VOIDED, at_s);
    e->body.event_voided.event = event_id(event);
    return number_of(h);
}

/* ---- folding ---- */

static inline history *history_begin(void)
{
    history *h = fl_alloc(1, sizeof *h);
    fl_arena_init(&h->arena);
    return h;
}

/* With the places of the enum above; they are events 1 to 6, at 0 s. */
static inline history *history_with_places(void)
{
    static const fl_place_kind kinds[] = {FL_PLACE_BENCH,     FL_PLACE_BIN,     FL_PLACE_BIN,
                                          FL_PLACE_ENCLOSURE, FL_PLACE_OUTSIDE, FL_PLACE_JAR};
    history *h = history_begin();
    for (unsigned i = 0; i < 6; i++) {
        define_place(h, 0, BENCH + i, kinds[i]);
    }
    return h;
}

/* Insertion sort: another way than the ledger's. */
static inline void sort_events(fl_event *events, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        for (size_t k = i; k > 0 && fl_event_compare(&events[k - 1], &events[k]) > 0; k--) {
            fl_event kept = events[k];
            events[k] = events[k - 1];
            events[k - 1] = kept;
        }
    }
}

/* Folds sorted events into new memory: exactly as many rows and bytes as the bound says, so that
 * the sanitizer sees one too many. The caller frees with meaning_free. */
static inline fl_meaning meaning_fold(const fl_event *events, size_t count)
{
    fl_ledger_bound bound = fl_ledger_bound_of(events, count);
    fl_meaning m = {
        .lots = fl_alloc(bound.lots, sizeof(fl_lot)),
        .stays = fl_alloc(bound.stays, sizeof(fl_stay)),
        .fills = fl_alloc(bound.fills, sizeof(fl_fill)),
        .holds = fl_alloc(bound.holds, sizeof(fl_hold)),
        .findings = fl_alloc(bound.findings, sizeof(fl_finding_now)),
        .conflicts = fl_alloc(bound.conflicts, sizeof(fl_conflict)),
    };
    void *scratch = fl_alloc(bound.scratch_bytes, 1);
    fl_ledger_fold(events, count, scratch, &m);
    fl_alloc_free(scratch);
    assert_true(m.n_lots <= bound.lots && m.n_stays <= bound.stays && m.n_fills <= bound.fills);
    assert_true(m.n_holds <= bound.holds && m.n_findings <= bound.findings);
    assert_true(m.n_conflicts <= bound.conflicts);
    return m;
}

static inline void meaning_free(fl_meaning *m)
{
    fl_alloc_free(m->lots);
    fl_alloc_free(m->stays);
    fl_alloc_free(m->fills);
    fl_alloc_free(m->holds);
    fl_alloc_free(m->findings);
    fl_alloc_free(m->conflicts);
}

/* Leaves the live events, sorted: what the fold takes. Gives how many. */
static inline size_t events_settle(fl_event *events, size_t count)
{
    bool *is_live = fl_alloc(count, sizeof *is_live);
    size_t *scratch = fl_alloc(2 * count, sizeof *scratch);
    fl_ledger_mark_live(events, count, is_live, scratch);
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (is_live[i]) {
            events[kept++] = events[i];
        }
    }
    fl_alloc_free(scratch);
    fl_alloc_free(is_live);
    sort_events(events, kept);
    return kept;
}

static inline void history_fold(history *h)
{
    h->count = events_settle(h->events, h->count);
    h->m = meaning_fold(h->events, h->count);
}

static inline void history_end(history *h)
{
    meaning_free(&h->m);
    fl_arena_done(&h->arena);
    fl_alloc_free(h);
}

/* ---- checking rows ---- */

#define check_id(got, want) check_true(fl_id_eq((got), (want)))
#define check_no_id(got) check_true(fl_id_is_none(got))

/* A row that is not there fails the test; an empty one is returned only to please the compiler. */
static inline const fl_lot *lot_row(const history *h, unsigned lot)
{
    static const fl_lot empty;
    const fl_lot *row = fl_meaning_lot(&h->m, lot_id(lot));
    fl_check_true(row != NULL, "there is such a lot", __FILE__, __LINE__);
    return row != NULL ? row : &empty;
}

static inline size_t stay_count(const history *h, unsigned lot)
{
    size_t n = 0;
    for (size_t i = 0; i < h->m.n_stays; i++) {
        n += fl_id_eq(h->m.stays[i].lot, lot_id(lot));
    }
    return n;
}

static inline size_t fill_count(const history *h, unsigned place)
{
    size_t n = 0;
    for (size_t i = 0; i < h->m.n_fills; i++) {
        n += fl_id_eq(h->m.fills[i].place, place_id(place));
    }
    return n;
}

/* The n-th stay of a lot, from 0. */
static inline const fl_stay *stay_row(const history *h, unsigned lot, size_t n)
{
    static const fl_stay empty;
    fl_check_true(n < stay_count(h, lot), "there is such a stay", __FILE__, __LINE__);
    for (size_t i = 0; i < h->m.n_stays; i++) {
        if (fl_id_eq(h->m.stays[i].lot, lot_id(lot)) && n-- == 0) {
            return &h->m.stays[i];
        }
    }
    return &empty;
}

/* The n-th fill of a place, from 0. */
static inline const fl_fill *fill_row(const history *h, unsigned place, size_t n)
{
    static const fl_fill empty;
    fl_check_true(n < fill_count(h, place), "there is such a fill", __FILE__, __LINE__);
    for (size_t i = 0; i < h->m.n_fills; i++) {
        if (fl_id_eq(h->m.fills[i].place, place_id(place)) && n-- == 0) {
            return &h->m.fills[i];
        }
    }
    return &empty;
}

#define check_stay(h, lot, n, place, from_s, to_s)                                                 \
    check_stay_at((h), (lot), (n), (place), (from_s), (to_s), __FILE__, __LINE__)
static inline void check_stay_at(const history *h, unsigned lot, size_t n, unsigned place,
                                 int64_t from_s, int64_t to_s, const char *file, int line)
{
    const fl_stay *stay = stay_row(h, lot, n);
    fl_check_true(fl_id_eq(stay->place, place_id(place)), "the stay's place", file, line);
    fl_check_int(stay->from_s, from_s, "stay from_s", file, line);
    fl_check_int(stay->to_s, to_s, "stay to_s", file, line);
}

#define check_fill(h, place, n, from_s, to_s, with_lots)                                           \
    check_fill_at((h), (place), (n), (from_s), (to_s), (with_lots), __FILE__, __LINE__)
static inline void check_fill_at(const history *h, unsigned place, size_t n, int64_t from_s,
                                 int64_t to_s, bool with_lots, const char *file, int line)
{
    const fl_fill *fill = fill_row(h, place, n);
    fl_check_int(fill->from_s, from_s, "fill from_s", file, line);
    fl_check_int(fill->to_s, to_s, "fill to_s", file, line);
    fl_check_int(fill->began_with_lots, with_lots, "fill began_with_lots", file, line);
}

/* There is exactly one conflict: of this kind, of these two events (other 0: none). */
#define check_conflict(h, kind, event, other)                                                      \
    check_conflict_at((h), (kind), (event), (other), __FILE__, __LINE__)
static inline const fl_conflict *check_conflict_at(const history *h, fl_conflict_kind kind,
                                                   unsigned event, unsigned other, const char *file,
                                                   int line)
{
    fl_check_int((int64_t)h->m.n_conflicts, 1, "number of conflicts", file, line);
    const fl_conflict *conflict = &h->m.conflicts[0];
    fl_check_sv(fl_sv_from_cstr(fl_words_conflict[conflict->kind].word),
                fl_words_conflict[kind].word, "kind of conflict", file, line);
    fl_check_true(fl_id_eq(conflict->event, event_id(event)), "the later event", file, line);
    fl_id wanted = other != 0 ? event_id(other) : (fl_id){{0}};
    fl_check_true(fl_id_eq(conflict->other, wanted), "the other event", file, line);
    return conflict;
}

#define check_no_conflict(h) check_int((h)->m.n_conflicts, 0)

#endif
