/* Plans for the tests of the run sheet, and a check of a sheet against the rules, written from the
 * rules alone and apart from the program's own reckoning. */
#ifndef FL_TESTS_EVENING_H
#define FL_TESTS_EVENING_H

#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/bench/bench.h"
#include "support/check.h"

typedef struct evening {
    fl_bench_plan plan;
    fl_bench_lot lots[FL_BENCH_LOTS_MAX];
    fl_bench_step steps[FL_BENCH_LOTS_MAX][FL_BENCH_STEPS_MAX];
} evening;

/* What random plans look like. */
typedef struct evening_kind {
    int n_lots;
    int n_purchases;
    int n_risks; /* levels of risk, one a purchase; 0: each purchase its own */
    int n_tubs;
    int n_steps; /* of each lot, exactly; 0: the usual evening of strip, rinse, dip … */
} evening_kind;

static int evening_between(fl_rng *rng, int low, int high)
{
    return low + (int)fl_rng_below(rng, (uint64_t)(high - low + 1));
}

/* Any kind of step, with short times so that everything collides with everything. */
static fl_bench_step evening_step(fl_rng *rng, int n_tubs)
{
    fl_bench_step st = {.name = FL_SV("step"), .out_s = -1};
    int kind = evening_between(rng, 0, 3);
    st.hands_s = evening_between(rng, 1, 6) * 10;
    if (kind == 0 || n_tubs == 0) {
        return st;
    }
    st.unattended_s = evening_between(rng, 1, 12) * 10;
    st.needs_tub = kind != 3;
    st.may_overrun = kind == 2 || (kind == 3 && evening_between(rng, 0, 1) == 1);
    st.out_s = kind == 3 && st.may_overrun ? 0 : evening_between(rng, 1, 3) * 10;
    return st;
}

/* strip, rinse, dip, neutralise (a soak that may run long), rinse, drain, pot up */
static size_t evening_usual(fl_bench_step *steps, fl_rng *rng)
{
    const fl_bench_step usual[] = {
        {FL_SV("strip"), evening_between(rng, 60, 300), 0, -1, false, false},
        {FL_SV("rinse"), evening_between(rng, 30, 90), 0, -1, false, false},
        {FL_SV("dip"), evening_between(rng, 15, 30), 120, 15, true, false},
        {FL_SV("neutralise"), 15, evening_between(rng, 120, 300), 15, true, true},
        {FL_SV("rinse"), evening_between(rng, 30, 60), 0, -1, false, false},
        {FL_SV("drain"), 0, 600, 0, false, true},
        {FL_SV("pot up"), evening_between(rng, 60, 240), 0, -1, false, false},
    };
    memcpy(steps, usual, sizeof usual);
    return sizeof usual / sizeof usual[0];
}

static void evening_random(evening *e, const evening_kind *kind, fl_rng *rng)
{
    static const char *const purchase[] = {"a", "b", "c", "d", "e", "f"};
    memset(e, 0, sizeof *e);
    int risk[6];
    for (int i = 0; i < 6; i++) {
        risk[i] = kind->n_risks == 0 ? i : evening_between(rng, 0, kind->n_risks - 1);
    }
    for (int i = 0; i < kind->n_lots; i++) {
        int p = evening_between(rng, 0, kind->n_purchases - 1);
        size_t n = (size_t)kind->n_steps;
        if (n == 0) {
            n = evening_usual(e->steps[i], rng);
        } else {
            for (size_t k = 0; k < n; k++) {
                e->steps[i][k] = evening_step(rng, kind->n_tubs);
            }
        }
        e->lots[i] = (fl_bench_lot){.name = FL_SV("lot"),
                                    .purchase = fl_sv_from_cstr(purchase[p]),
                                    .risk = risk[p],
                                    .is_established = risk[p] == 0 && kind->n_risks > 2,
                                    .steps = e->steps[i],
                                    .n_steps = n};
    }
    e->plan = (fl_bench_plan){.lots = e->lots,
                              .n_lots = (size_t)kind->n_lots,
                              .n_tubs = kind->n_tubs,
                              .chores = fl_bench_chores_usual()};
    if (kind->n_steps != 0) {
        /* chores of the size of the steps, so that washing and disinfecting compete with them */
        e->plan.chores.hand_wash_s = evening_between(rng, 0, 3) * 10;
        e->plan.chores.tub_hands_s = evening_between(rng, 0, 3) * 10;
        e->plan.chores.tub_contact_s = evening_between(rng, 0, 10) * 10;
    }
}

/* Any evening of the usual steps, of 1 to 12 lots; in half of them all purchases are equally
 * suspect, which is where washes and tubs collide most. */
static inline evening_kind evening_any(evening *e, fl_rng *rng)
{
    bool is_equal = evening_between(rng, 0, 1) == 1;
    int n_lots = evening_between(rng, 1, 12);
    int n_purchases = evening_between(rng, 1, 4);
    int n_risks = is_equal ? 1 : evening_between(rng, 0, 4);
    evening_kind kind = {.n_lots = n_lots,
                         .n_purchases = n_purchases,
                         .n_risks = n_risks,
                         .n_tubs = evening_between(rng, 1, 3)};
    evening_random(e, &kind, rng);
    return kind;
}

/* ---- the rules ---- */

typedef struct evening_hands {
    int from_s;
    int to_s;
    const fl_bench_item *item;
} evening_hands;

static int evening_by_time(const void *a, const void *b)
{
    const evening_hands *x = a;
    const evening_hands *y = b;
    if (x->from_s != y->from_s) {
        return x->from_s < y->from_s ? -1 : 1;
    }
    return x->to_s < y->to_s ? -1 : x->to_s > y->to_s ? 1 : 0;
}

/* Each step once, in its lot's order, with its own times; a dip to the second. */
static void evening_check_steps(const evening *e, const fl_bench_sheet *sheet)
{
    for (int lot = 0; lot < (int)e->plan.n_lots; lot++) {
        int free_s = 0;
        for (int step = 0; step < (int)e->plan.lots[lot].n_steps; step++) {
            const fl_bench_item *found = NULL;
            for (size_t i = 0; i < sheet->n_items; i++) {
                const fl_bench_item *it = &sheet->items[i];
                if (it->job == FL_BENCH_STEP && it->lot == lot && it->step == step) {
                    check_true(found == NULL);
                    found = it;
                }
            }
            check_true(found != NULL);
            if (found == NULL) {
                return;
            }
            const fl_bench_step *st = &e->plan.lots[lot].steps[step];
            int out_s = st->out_s >= 0                                                ? st->out_s
                        : st->unattended_s > 0 && (st->needs_tub || !st->may_overrun) ? 30
                                                                                      : 0;
            check_true(found->start_s >= free_s);
            int stood_s = found->out_from_s - found->hands_until_s;
            int worked_s = found->hands_until_s - found->start_s + found->end_s - found->out_from_s;
            check_int(worked_s, st->hands_s + out_s);
            check_true(stood_s >= st->unattended_s);
            if (!st->may_overrun) {
                check_int(stood_s, st->unattended_s);
            }
            check_true((found->tub >= 0) == st->needs_tub && found->tub < e->plan.n_tubs);
            free_s = found->end_s;
        }
    }
}

/* The purchase an item's hands touch: a lot's; a tub's last user's when it is disinfected; none. */
static fl_sv evening_purchase(const evening *e, const fl_bench_sheet *sheet,
                              const fl_bench_item *item)
{
    fl_sv purchase = {NULL, 0};
    if (item->job == FL_BENCH_STEP) {
        return e->plan.lots[item->lot].purchase;
    }
    int latest_s = -1;
    for (size_t i = 0; item->job == FL_BENCH_DISINFECT_TUB && i < sheet->n_items; i++) {
        const fl_bench_item *it = &sheet->items[i];
        if (it->job == FL_BENCH_STEP && it->tub == item->tub && it->end_s <= item->start_s &&
            it->end_s > latest_s) {
            latest_s = it->end_s;
            purchase = e->plan.lots[it->lot].purchase;
        }
    }
    return purchase;
}

/* a is handled before b: established first, then the cleaner */
static bool evening_is_cleaner(const fl_bench_lot *a, const fl_bench_lot *b)
{
    return a->is_established != b->is_established ? a->is_established : a->risk < b->risk;
}

/* One pair of hands; washed between purchases; from clean to suspect and never back. */
static void evening_check_hands(const evening *e, const fl_bench_sheet *sheet)
{
    static evening_hands hands[2 * FL_BENCH_ITEMS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < sheet->n_items; i++) {
        const fl_bench_item *it = &sheet->items[i];
        hands[n++] = (evening_hands){it->start_s, it->hands_until_s, it};
        hands[n++] = (evening_hands){it->out_from_s, it->end_s, it};
    }
    for (size_t i = n; i-- > 0;) { /* what stands has no hands on it */
        if (hands[i].from_s == hands[i].to_s) {
            hands[i] = hands[--n];
        }
    }
    /* the contact times are no hands: their out part runs to end_s of zero length, gone above */
    qsort(hands, n, sizeof hands[0], evening_by_time);
    const fl_bench_lot *dirtiest = NULL;
    fl_sv last = {NULL, 0};
    for (size_t i = 0; i < n; i++) {
        check_true(i == 0 || hands[i - 1].to_s <= hands[i].from_s);
        const fl_bench_item *it = hands[i].item;
        if (it->job == FL_BENCH_WASH_HANDS) {
            check_int(hands[i].to_s - hands[i].from_s, e->plan.chores.hand_wash_s);
            last = (fl_sv){NULL, 0};
        }
        if (it->job != FL_BENCH_STEP && it->job != FL_BENCH_DISINFECT_TUB) {
            continue;
        }
        fl_sv purchase = evening_purchase(e, sheet, it);
        check_true(last.len == 0 || fl_sv_eq(last, purchase) || e->plan.chores.hand_wash_s == 0);
        last = purchase;
        if (it->job == FL_BENCH_STEP) {
            const fl_bench_lot *lot = &e->plan.lots[it->lot];
            check_false(dirtiest != NULL && evening_is_cleaner(lot, dirtiest));
            dirtiest = lot;
        }
    }
}

/* A tub holds one lot; between purchases it is disinfected and stands. */
static void evening_check_tubs(const evening *e, const fl_bench_sheet *sheet)
{
    for (int tub = 0; tub < e->plan.n_tubs; tub++) {
        const fl_bench_item *last = NULL;
        int disinfected_s = -1;
        for (size_t i = 0; i < sheet->n_items; i++) { /* items are by time */
            const fl_bench_item *it = &sheet->items[i];
            if (it->tub != tub) {
                continue;
            }
            if (it->job == FL_BENCH_DISINFECT_TUB) {
                check_true(last == NULL || it->start_s >= last->end_s);
                check_int(it->end_s - it->hands_until_s, e->plan.chores.tub_contact_s);
                disinfected_s = it->end_s;
                continue;
            }
            if (last != NULL) {
                check_true(it->start_s >= last->end_s);
                bool is_same =
                    fl_sv_eq(e->plan.lots[it->lot].purchase, e->plan.lots[last->lot].purchase);
                check_true(is_same || disinfected_s >= last->end_s);
                check_true(is_same || disinfected_s <= it->start_s);
            }
            last = it;
        }
    }
}

static void evening_check_closing(const fl_bench_sheet *sheet)
{
    static const fl_bench_job order[] = {FL_BENCH_BAG_WASTE,  FL_BENCH_POUR_AWAY,
                                         FL_BENCH_CLOSE_TUBS, FL_BENCH_CLOSE_TOOLS,
                                         FL_BENCH_CLOSE_SINK, FL_BENCH_LAST_WASH};
    bool has_tubs = false;
    int hands_end_s = 0;
    int end_s = 0;
    for (size_t i = 0; i < sheet->n_items; i++) {
        const fl_bench_item *it = &sheet->items[i];
        check_true(i == 0 || sheet->items[i - 1].start_s <= it->start_s);
        bool is_work = it->job <= FL_BENCH_DISINFECT_TUB;
        int hands_s = it->out_from_s < it->end_s ? it->end_s : it->hands_until_s;
        hands_end_s = is_work && hands_s > hands_end_s ? hands_s : hands_end_s;
        has_tubs = has_tubs || (it->job == FL_BENCH_STEP && it->tub >= 0);
        end_s = it->end_s > end_s ? it->end_s : end_s;
    }
    check_int(sheet->finish_s, end_s);
    int at_s = hands_end_s;
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
        const fl_bench_item *found = NULL;
        for (size_t i = 0; i < sheet->n_items; i++) {
            found = sheet->items[i].job == order[k] ? &sheet->items[i] : found;
        }
        if (order[k] == FL_BENCH_CLOSE_TUBS && !has_tubs) {
            check_true(found == NULL);
            continue;
        }
        check_true(found != NULL && found->start_s >= at_s);
        at_s = found != NULL ? found->end_s : at_s;
    }
}

/* Fails the test when the sheet breaks a rule, leaves a step out or reports a wrong finish. */
static void evening_check(const evening *e, const fl_bench_sheet *sheet)
{
    evening_check_steps(e, sheet);
    evening_check_hands(e, sheet);
    evening_check_tubs(e, sheet);
    evening_check_closing(sheet);
    check_true(sheet->bound_s <= sheet->finish_s);
    check_true(!sheet->is_optimal || sheet->bound_s == sheet->finish_s);
}

#endif
