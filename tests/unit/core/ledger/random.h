/* Random histories for the property test of the ledger: few lots, places, findings and holds, so
 * that events meet; few moments, so that seconds are shared; plain ones and nonsense ones. Ids are
 * those of history.h. */
#ifndef FL_TESTS_LEDGER_RANDOM_H
#define FL_TESTS_LEDGER_RANDOM_H

#include <stdio.h>

#include "base/rng.h"
#include "unit/core/ledger/history.h"

#define RANDOM_MAX 72
#define RANDOM_LOTS 8   /* numbers 1 to 8 */
#define RANDOM_PLACES 6 /* the enum of history.h */
#define RANDOM_FINDINGS 4
#define RANDOM_HOLDS 3
#define RANDOM_LIST 3

typedef struct random_history {
    fl_rng rng;
    bool is_plain; /* births come early, ids of lots are not used twice */
    unsigned n_born;
    size_t count;
    fl_event events[RANDOM_MAX];
    fl_id ids[RANDOM_MAX][RANDOM_LIST];
    fl_ev_finding findings[RANDOM_MAX][RANDOM_LIST];
    fl_ev_step steps[RANDOM_MAX];
} random_history;

/* The history that is being tried: printed before a failed claim ends the test. */
static uint64_t seed_now;

static inline void require(bool claim, const char *what, const char *file, int line)
{
    if (!claim) {
        printf("seed %llu: ", (unsigned long long)seed_now);
    }
    fl_check_true(claim, what, file, line);
}
#define REQUIRE(claim) require((claim), #claim, __FILE__, __LINE__)

static const char *const random_threats[] = {"", "fungus_gnat", "thrips_that_nobody_knows",
                                             "springtail", "chytrid_bd"};

static inline unsigned below(random_history *r, unsigned bound)
{
    return (unsigned)fl_rng_below(&r->rng, bound);
}

static inline fl_id some_lot(random_history *r)
{
    return lot_id(1 + below(r, r->is_plain && r->n_born > 0 ? r->n_born : RANDOM_LOTS));
}

static inline fl_id some_place(random_history *r)
{
    return place_id(1 + below(r, RANDOM_PLACES));
}

static inline fl_id some_finding(random_history *r)
{
    return finding_id(1 + below(r, RANDOM_FINDINGS));
}

static inline fl_sv some_threat(random_history *r)
{
    return fl_sv_from_cstr(random_threats[below(r, 5)]);
}

/* A hold of the keeper, of a finding, or of the last animal event so far. */
static inline fl_id some_hold(random_history *r)
{
    unsigned what = below(r, 6);
    if (what < 3) {
        return fl_id_derive(some_finding(r), FL_SV("hold"));
    }
    for (size_t i = r->count; what == 3 && i-- > 0;) {
        if (r->events[i].kind == FL_KIND_ANIMAL_NOTED) {
            return fl_id_derive(r->events[i].id, FL_SV("hold"));
        }
    }
    return hold_id(1 + below(r, RANDOM_HOLDS));
}

static inline fl_id new_lot(random_history *r)
{
    return r->is_plain && r->n_born < RANDOM_LOTS ? lot_id(++r->n_born) : some_lot(r);
}

static inline fl_id_list some_lots(random_history *r, size_t at)
{
    size_t n = below(r, RANDOM_LIST + 1);
    for (size_t i = 0; i < n; i++) {
        r->ids[at][i] = some_lot(r);
    }
    return (fl_id_list){r->ids[at], n};
}

static inline void fill_birth(random_history *r, fl_event *e)
{
    int64_t count = (int64_t)below(r, 7) - (r->is_plain ? -1 : 1);
    if (e->kind == FL_KIND_LOT_ARRIVED) {
        e->body.lot_arrived = (fl_ev_lot_arrived){
            .lot = new_lot(r),
            .arrival = id_of('a', below(r, 3)),
            .source = id_of('s', below(r, 3)),
            .plant = id_of('t', below(r, 3)),
            .count = count,
            .form = (fl_form)below(r, FL_FORM_COUNT),
            .place = some_place(r),
            .is_label_clean = below(r, 2) == 1,
        };
    } else if (e->kind == FL_KIND_LOT_ALREADY_HERE) {
        e->body.lot_already_here = (fl_ev_lot_already_here){
            .lot = new_lot(r),
            .plant = id_of('t', below(r, 3)),
            .count = count,
            .place = some_place(r),
        };
    } else if (e->kind == FL_KIND_LOT_CUT) {
        e->body.lot_cut = (fl_ev_lot_cut){
            .mother = some_lot(r),
            .lot = new_lot(r),
            .count = count,
            .form = below(r, 2) ? FL_FORM_BARE_ROOT : FL_FORM_UNROOTED_CUTTING,
            .place = some_place(r),
        };
    } else {
        e->body.lot_split = (fl_ev_lot_split){some_lot(r), new_lot(r), count / 2};
    }
}

static inline void fill_look(random_history *r, fl_event *e, size_t at)
{
    e->body.look_done.place = some_place(r);
    e->body.look_done.lots = some_lots(r, at);
    e->body.look_done.findings = r->findings[at];
    e->body.look_done.n_findings = below(r, RANDOM_LIST);
    for (size_t i = 0; i < e->body.look_done.n_findings; i++) {
        r->findings[at][i] = (fl_ev_finding){
            .finding = some_finding(r),
            .lot = below(r, 2) ? some_lot(r) : (fl_id){{0}},
            .threat = some_threat(r),
            .stage = below(r, 2) ? FL_SV("larva") : FL_SV(""),
            .count = 1 + below(r, 3),
        };
    }
}

static inline void fill_finding(random_history *r, fl_event *e)
{
    if (e->kind == FL_KIND_FINDING_IDENTIFIED) {
        e->body.finding_identified =
            (fl_ev_finding_identified){some_finding(r), some_threat(r), FL_SV("")};
    } else if (e->kind == FL_KIND_FINDING_RETRACTED) {
        e->body.finding_retracted.finding = some_finding(r);
    } else if (e->kind == FL_KIND_TOLERATED_SET) {
        e->body.tolerated_set =
            (fl_ev_tolerated_set){some_place(r), some_threat(r), below(r, 2) == 1};
    } else if (e->kind == FL_KIND_ANIMAL_NOTED) {
        e->body.animal_noted.place = some_place(r);
        e->body.animal_noted.what = (fl_animal_event)below(r, FL_ANIMAL_COUNT);
        e->body.animal_noted.is_positive = below(r, 2) == 1;
    } else if (e->kind == FL_KIND_HOLD_SET) {
        e->body.hold_set.hold = hold_id(1 + below(r, RANDOM_HOLDS));
        e->body.hold_set.place = some_place(r);
    } else if (e->kind == FL_KIND_HOLD_LIFTED) {
        e->body.hold_lifted.hold = some_hold(r);
    }
}

static inline void fill_body(random_history *r, fl_event *e, size_t at)
{
    if (fl_kinds[e->kind].rank == 1) {
        fill_birth(r, e);
    } else if (e->kind == FL_KIND_PLACE_SET) {
        e->body.place_set.place = some_place(r);
        e->body.place_set.kind = (fl_place_kind)below(r, FL_PLACE_COUNT);
    } else if (e->kind == FL_KIND_PLACE_CLEANED) {
        e->body.place_cleaned.place = some_place(r);
    } else if (e->kind == FL_KIND_LOT_MOVED) {
        e->body.lot_moved = (fl_ev_lot_moved){some_lots(r, at), some_place(r)};
    } else if (e->kind == FL_KIND_LOT_RELEASED) {
        e->body.lot_released.lot = some_lot(r);
        e->body.lot_released.to = some_place(r);
    } else if (e->kind == FL_KIND_LOT_LOST) {
        e->body.lot_lost.lot = some_lot(r);
        e->body.lot_lost.count = 1 + below(r, 4);
    } else if (e->kind == FL_KIND_STEP_DONE) {
        r->steps[at].lots = some_lots(r, at);
        e->body.step_done.steps = &r->steps[at];
        e->body.step_done.n_steps = 1;
    } else if (e->kind == FL_KIND_LOOK_DONE) {
        fill_look(r, e, at);
    } else if (e->kind == FL_KIND_EVENT_VOIDED) {
        /* only what was recorded before, as the journal has it */
        e->body.event_voided.event = event_id(1 + below(r, (unsigned)r->count));
    } else {
        fill_finding(r, e);
    }
}

static inline fl_kind some_kind(random_history *r)
{
    static const fl_kind kinds[] = {
        FL_KIND_LOT_ARRIVED,    FL_KIND_LOT_ARRIVED,        FL_KIND_LOT_ALREADY_HERE,
        FL_KIND_LOT_CUT,        FL_KIND_LOT_SPLIT,          FL_KIND_LOT_SPLIT,
        FL_KIND_PLACE_CLEANED,  FL_KIND_PLACE_CLEANED,      FL_KIND_STEP_DONE,
        FL_KIND_LOT_MOVED,      FL_KIND_LOT_MOVED,          FL_KIND_LOT_MOVED,
        FL_KIND_LOT_MOVED,      FL_KIND_LOOK_DONE,          FL_KIND_LOOK_DONE,
        FL_KIND_LOOK_DONE,      FL_KIND_FINDING_IDENTIFIED, FL_KIND_FINDING_IDENTIFIED,
        FL_KIND_TOLERATED_SET,  FL_KIND_FINDING_RETRACTED,  FL_KIND_ANIMAL_NOTED,
        FL_KIND_HOLD_SET,       FL_KIND_HOLD_LIFTED,        FL_KIND_HOLD_LIFTED,
        FL_KIND_LOT_RELEASED,   FL_KIND_LOT_RELEASED,       FL_KIND_LOT_LOST,
        FL_KIND_PHOTO_ATTACHED, FL_KIND_PLACE_SET,          FL_KIND_EVENT_VOIDED,
    };
    return kinds[below(r, sizeof kinds / sizeof kinds[0])];
}

/* Moments 0 to 390, every tenth; in plain histories what arrives does so early. One in eight is
 * only known by its day, and stands for 145. */
static inline void set_moment(random_history *r, fl_event *e)
{
    bool is_first = e->kind == FL_KIND_PLACE_SET || e->kind == FL_KIND_LOT_ARRIVED ||
                    e->kind == FL_KIND_LOT_ALREADY_HERE;
    e->at_s = 10 * (int64_t)below(r, 40);
    if (r->is_plain) {
        e->at_s = 10 * (int64_t)(is_first ? below(r, 8) : 6 + below(r, 34));
    }
    if (below(r, 8) == 0) {
        e->at_s = 145;
        e->precision = FL_PRECISION_DAY;
    }
}

/* Ids of events go with the recording only; what comes first by id is left to chance. */
static inline void random_fill(random_history *r, uint64_t seed)
{
    memset(r, 0, sizeof *r);
    r->rng.state = seed;
    seed_now = seed;
    r->is_plain = below(r, 2) == 1;
    size_t count = 1 + below(r, RANDOM_MAX);
    while (r->count < count) {
        size_t at = r->count++;
        fl_event *e = &r->events[at];
        bool is_place = at < RANDOM_PLACES && r->is_plain;
        e->kind = is_place ? FL_KIND_PLACE_SET : some_kind(r);
        e->id = event_id((unsigned)at + 1);
        set_moment(r, e);
        fill_body(r, e, at);
        if (is_place) {
            static const fl_place_kind kinds[] = {FL_PLACE_BENCH,   FL_PLACE_BIN,
                                                  FL_PLACE_BIN,     FL_PLACE_ENCLOSURE,
                                                  FL_PLACE_OUTSIDE, FL_PLACE_JAR};
            e->at_s = 0;
            e->body.place_set.place = place_id((unsigned)at + 1);
            e->body.place_set.kind = kinds[at];
        }
    }
}

static inline void random_shuffle(random_history *r, fl_event *events, size_t count)
{
    for (size_t i = count; i > 1; i--) {
        size_t k = below(r, (unsigned)i);
        fl_event kept = events[i - 1];
        events[i - 1] = events[k];
        events[k] = kept;
    }
}

#endif
