/* The run sheet: worked cases, the rules on random evenings, how near the bound, and what is
 * refused. There is no outside reference: the rules are the design's, checked by a reader of sheets
 * that was written apart (evening.h). */
#include <math.h>

#include "unit/core/bench/evening.h"

static void *work;
static evening e;
static fl_bench_sheet sheet;

static void scheduled(size_t effort)
{
    fl_err err;
    fl_err_clear(&err);
    check_ok(fl_bench_schedule(&e.plan, effort, work, &sheet, &err), &err);
    evening_check(&e, &sheet);
}

static fl_bench_step hands(const char *name, int s)
{
    return (fl_bench_step){fl_sv_from_cstr(name), s, 0, -1, false, false};
}

static fl_bench_step dip(int in_s, int stands_s, int out_s)
{
    return (fl_bench_step){FL_SV("dip"), in_s, stands_s, out_s, true, false};
}

static void plan_of(int n_lots, int n_tubs)
{
    memset(&e, 0, sizeof e);
    for (int i = 0; i < n_lots; i++) {
        e.lots[i] = (fl_bench_lot){
            .name = FL_SV("lot"), .purchase = FL_SV("a"), .steps = e.steps[i], .n_steps = 1};
    }
    e.plan = (fl_bench_plan){.lots = e.lots, .n_lots = (size_t)n_lots, .n_tubs = n_tubs};
}

/* Two dips of 10 + 100 + 10 in two tubs: in, in, wait, out, out. By hand: 0-10, 10-20, 110-120,
 * 120-130. In one tub: one after the other, 240. */
static void test_two_dips(void **state)
{
    (void)state;
    plan_of(2, 2);
    e.steps[0][0] = dip(10, 100, 10);
    e.steps[1][0] = dip(10, 100, 10);
    scheduled(0);
    check_int(sheet.finish_s, 130);
    check_true(sheet.is_optimal);
    e.plan.n_tubs = 1;
    scheduled(0);
    check_int(sheet.finish_s, 240);
    check_true(sheet.is_optimal);
}

/* A strip of 120 does not fit into a dip of 100 and does into one of 120: by hand 260 and 140. */
static void test_fills_the_wait(void **state)
{
    (void)state;
    plan_of(2, 1);
    e.steps[0][0] = dip(10, 100, 10);
    e.steps[1][0] = hands("strip", 120);
    scheduled(0);
    check_int(sheet.finish_s, 240);
    e.steps[0][0] = dip(10, 120, 10);
    scheduled(0);
    check_int(sheet.finish_s, 140);
    /* a soak may run long: 10, 120, 10 without waiting */
    e.steps[0][0] = (fl_bench_step){FL_SV("soak"), 10, 100, 10, true, true};
    scheduled(0);
    check_int(sheet.finish_s, 140);
}

/* The second dip is begun late so that it is not taken out late: outs of 30 would meet. By hand:
 * in 0-10, in 30-40, out 110-140, out 140-170. */
static void test_dip_waits_to_begin(void **state)
{
    (void)state;
    plan_of(2, 2);
    e.steps[0][0] = dip(10, 100, 30);
    e.steps[1][0] = dip(10, 100, 30);
    scheduled(0);
    check_int(sheet.finish_s, 170);
    check_true(sheet.is_optimal);
}

/* Clean before suspect costs the overlap: 120 + 120 rather than 130. Washing in between: 60. */
static void test_rank_and_wash(void **state)
{
    (void)state;
    plan_of(2, 2);
    e.steps[0][0] = dip(10, 100, 10);
    e.steps[1][0] = dip(10, 100, 10);
    e.lots[0].risk = 2.0;
    e.lots[0].purchase = FL_SV("b");
    e.lots[1].risk = 1.0;
    e.plan.chores.hand_wash_s = 60;
    scheduled(0);
    check_int(sheet.finish_s, 300);
    check_int(sheet.items[0].lot, 1);
    /* established comes first whatever its risk */
    e.lots[0].is_established = true;
    scheduled(0);
    check_int(sheet.finish_s, 300);
    check_int(sheet.items[0].lot, 0);
}

/* One tub, two purchases: 120, disinfect 20, stands 50, 120; the wash goes on while it stands. */
static void test_tub_between_purchases(void **state)
{
    (void)state;
    plan_of(2, 1);
    e.steps[0][0] = dip(10, 100, 10);
    e.steps[1][0] = dip(10, 100, 10);
    e.lots[1].purchase = FL_SV("b");
    e.plan.chores.hand_wash_s = 30;
    e.plan.chores.tub_hands_s = 20;
    e.plan.chores.tub_contact_s = 50;
    scheduled(0);
    check_int(sheet.finish_s, 120 + 20 + 50 + 120 + 20); /* and once more at the end */
    check_true(sheet.is_optimal);
    e.plan.n_tubs = 2; /* no disinfecting in between; hands go a, b, a, b with a wash each time */
    scheduled(0);
    check_true(sheet.finish_s < 330);
}

/* The end: waste, water, tubs, tools, sink; then the disinfectant stands while hands are washed. */
static void test_closing(void **state)
{
    (void)state;
    plan_of(1, 1);
    e.steps[0][0] = dip(10, 100, 10);
    e.plan.chores = fl_bench_chores_usual();
    scheduled(0);
    const fl_bench_chores *c = &e.plan.chores;
    check_int(sheet.finish_s, 120 + c->bag_waste_s + c->pour_away_s + c->tub_hands_s + c->tools_s +
                                  c->sink_s + c->contact_s);
    check_true(c->contact_s >= 600); /* WHO 2014: wiped surfaces, 10 minutes and more */
    check_int(sheet.n_items, 8);
    for (size_t i = 0; i < sheet.n_items; i++) {
        check_true(fl_bench_item_name(&e.plan, &sheet.items[i]).len > 0);
    }
    check_sv(fl_bench_item_name(&e.plan, &sheet.items[0]), "dip");
    e.steps[0][0] = hands("strip", 10); /* no tub was used: none is disinfected */
    scheduled(0);
    check_int(sheet.n_items, 7);
    /* a long drain can end after everything else */
    e.steps[0][1] = (fl_bench_step){FL_SV("drain"), 0, 7200, -1, false, true};
    e.lots[0].n_steps = 2;
    scheduled(0);
    check_int(sheet.finish_s, 7210);
}

static void test_random_evenings(void **state)
{
    (void)state;
    fl_rng rng = {20261125u};
    for (int i = 0; i < 150; i++) {
        evening_kind kind = {.n_lots = evening_between(&rng, 1, 6),
                             .n_purchases = evening_between(&rng, 1, 4),
                             .n_risks = evening_between(&rng, 1, 3),
                             .n_tubs = evening_between(&rng, 1, 3),
                             .n_steps = evening_between(&rng, 1, 4)};
        evening_random(&e, &kind, &rng);
        scheduled(3000);
    }
}

/* More effort, a tub more or a chore less never makes the evening longer than its own bound says;
 * and the same plan gives the same sheet. */
static void test_repeatable(void **state)
{
    (void)state;
    fl_rng rng = {7u};
    evening_kind kind = {.n_lots = 8, .n_purchases = 2, .n_risks = 2, .n_tubs = 2};
    evening_random(&e, &kind, &rng);
    scheduled(20000);
    fl_bench_sheet first = sheet;
    scheduled(20000);
    check_int(sheet.finish_s, first.finish_s);
    check_int(sheet.n_items, first.n_items);
    for (size_t i = 0; i < sheet.n_items; i++) {
        check_int(sheet.items[i].start_s, first.items[i].start_s);
        check_int(sheet.items[i].lot, first.items[i].lot);
    }
    scheduled(100000);
    check_true(sheet.finish_s <= first.finish_s && sheet.bound_s <= first.finish_s);
}

/* True in a build whose speed says something. */
static bool is_fast_build(void)
{
#if defined(__OPTIMIZE__) && !defined(__SANITIZE_ADDRESS__)
#if defined(__has_feature)
#if __has_feature(address_sanitizer)
    return false;
#endif
#endif
    return true;
#else
    return false;
#endif
}

/* What one sheet may cost: some tenths of a second to one (bench/runsheet.c measures that). */
#define LOOKED_AT_MOST 20000000

/* Up to 12 lots: every evening is within 10 % of its stated bound, at a bounded cost. The seed is
 * that of bench/runsheet.c, which makes 1,000 of them. */
static void test_near_the_bound(void **state)
{
    (void)state;
    fl_rng rng = {20261125u};
    int n_evenings = is_fast_build() ? 30 : 4;
    for (int i = 0; i < n_evenings; i++) {
        evening_kind kind = evening_any(&e, &rng);
        scheduled(0);
        if ((int64_t)sheet.finish_s * 10 > (int64_t)sheet.bound_s * 11) {
            print_error("evening %d: %d lots, %d purchases, %d risks, %d tubs: %d, bound %d\n", i,
                        kind.n_lots, kind.n_purchases, kind.n_risks, kind.n_tubs, sheet.finish_s,
                        sheet.bound_s);
        }
        check_true((int64_t)sheet.finish_s * 10 <= (int64_t)sheet.bound_s * 11);
        check_true(sheet.looked_at <= LOOKED_AT_MOST);
    }
}

/* Hard ones: several equally suspect purchases on one tub or two, from the same seed. Before the
 * bound was raised by empty sweeps and moves wandered by more than a wash, these were up to 13 %
 * off. */
static void test_near_the_bound_hard(void **state)
{
    (void)state;
    static const int hard[] = {47, 117, 153, 155, 266};
    fl_rng rng = {20261125u};
    int at = 0;
    for (size_t i = 0; i < sizeof hard / sizeof hard[0] && (is_fast_build() || i < 1); i++) {
        for (; at <= hard[i]; at++) {
            (void)evening_any(&e, &rng);
        }
        scheduled(0);
        check_true((int64_t)sheet.finish_s * 10 <= (int64_t)sheet.bound_s * 11);
        check_true(sheet.looked_at <= LOOKED_AT_MOST);
    }
}

static void refused(fl_status code, const char *says)
{
    fl_err err;
    fl_err_clear(&err);
    sheet.finish_s = -7;
    check_int(fl_bench_schedule(&e.plan, 0, work, &sheet, &err), code);
    check_status(&err, code);
    check_contains(err.message, says);
    check_int(sheet.finish_s, -7);
}

static void test_refused(void **state)
{
    (void)state;
    plan_of(0, 1);
    refused(FL_EDOMAIN, "0 lots");
    plan_of(1, 1);
    e.plan.n_lots = FL_BENCH_LOTS_MAX + 1;
    refused(FL_ETOOBIG, "25 lots");
    plan_of(1, 9);
    refused(FL_EDOMAIN, "9 tubs");
    plan_of(1, 1);
    refused(FL_EDOMAIN, "no time at all");
    e.steps[0][0] = hands("strip", -5);
    refused(FL_EDOMAIN, "strip");
    e.steps[0][0] = dip(10, 100, 0);
    refused(FL_EDOMAIN, "taken out");
    e.steps[0][0] = dip(10, 100, 10);
    e.plan.n_tubs = 0;
    refused(FL_EDOMAIN, "needs a tub");
    e.plan.n_tubs = 1;
    e.lots[0].risk = (double)NAN;
    refused(FL_EDOMAIN, "risk");
    e.lots[0].risk = 0.0;
    e.lots[0].n_steps = 0;
    refused(FL_EDOMAIN, "0 steps");
    e.lots[0].n_steps = FL_BENCH_STEPS_MAX + 1;
    refused(FL_ETOOBIG, "13 steps");
    e.lots[0].n_steps = 1;
    e.plan.chores.sink_s = -1;
    refused(FL_EDOMAIN, "chore");
}

static int set_up(void **state)
{
    (void)state;
    work = malloc(fl_bench_work_bytes());
    return work == NULL ? -1 : 0;
}

static int tear_down(void **state)
{
    (void)state;
    free(work);
    return 0;
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_two_dips),
    cmocka_unit_test(test_fills_the_wait),
    cmocka_unit_test(test_dip_waits_to_begin),
    cmocka_unit_test(test_rank_and_wash),
    cmocka_unit_test(test_tub_between_purchases),
    cmocka_unit_test(test_closing),
    cmocka_unit_test(test_random_evenings),
    cmocka_unit_test(test_repeatable),
    cmocka_unit_test(test_near_the_bound),
    cmocka_unit_test(test_near_the_bound_hard),
    cmocka_unit_test(test_refused),
};

int main(void)
{
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
