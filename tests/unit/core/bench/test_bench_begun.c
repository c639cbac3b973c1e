/* An evening that has begun: worked cases by hand, and random evenings that are cut in the middle
 * and planned again from there. What was feasible before the cut is feasible after it, so the rest
 * may not take longer than the first sheet said (but for what a shorter search leaves). */
#include "unit/core/bench/evening.h"

static evening e;
static evening rest;
static fl_bench_begun begun;
static fl_bench_sheet sheet;
static fl_bench_sheet again;
static void *work;

static void schedule(const evening *of, fl_bench_sheet *out)
{
    fl_err err = {0};
    check_ok(fl_bench_schedule(&of->plan, 0, work, out, &err), &err);
    check_true(out->bound_s <= out->finish_s);
}

static const fl_bench_item *item_of(const fl_bench_sheet *of, int lot, int step)
{
    for (size_t i = 0; i < of->n_items; i++) {
        const fl_bench_item *it = &of->items[i];
        if (it->job == FL_BENCH_STEP && it->lot == lot && it->step == step) {
            return it;
        }
    }
    static const fl_bench_item none = {.start_s = -1};
    fail();
    return &none;
}

/* No chores but a hand wash of 60 s. */
static void clear(int n_lots, int n_tubs)
{
    memset(&rest, 0, sizeof rest);
    memset(&begun, 0, sizeof begun);
    for (int i = 0; i < n_lots; i++) {
        rest.lots[i] = (fl_bench_lot){.name = FL_SV("lot"),
                                      .purchase = FL_SV("a"),
                                      .steps = rest.steps[i],
                                      .n_steps = 1,
                                      .tub = -1};
    }
    rest.plan = (fl_bench_plan){.lots = rest.lots,
                                .n_lots = (size_t)n_lots,
                                .n_tubs = n_tubs,
                                .chores = {.hand_wash_s = 60},
                                .begun = &begun};
}

static fl_bench_step dip(int unattended_s)
{
    return (fl_bench_step){FL_SV("dip"), 0, unattended_s, 30, true, false};
}

static void run_dip(int lot, int unattended_s, int ran_s, int tub)
{
    rest.steps[lot][0] = dip(unattended_s);
    rest.lots[lot].is_running = true;
    rest.lots[lot].ran_s = ran_s;
    rest.lots[lot].tub = tub;
}

/* A dip of 300 s has stood for 200: it comes out in 100. 80 s of stripping fit before it, 120 do
 * not. */
static void test_out_on_the_second(void **state)
{
    (void)state;
    for (int strip_s = 80; strip_s <= 120; strip_s += 40) {
        clear(2, 1);
        run_dip(0, 300, 200, 0);
        begun.tub_purchase[0] = begun.hands_purchase = FL_SV("a");
        rest.steps[1][0] = (fl_bench_step){FL_SV("strip"), strip_s, 0, -1, false, true};
        schedule(&rest, &again);
        check_int(item_of(&again, 0, 0)->start_s, -200);
        check_int(item_of(&again, 0, 0)->out_from_s, 100);
        check_int(item_of(&again, 1, 0)->start_s, strip_s == 80 ? 0 : 130);
        check_int(again.finish_s, strip_s == 80 ? 130 : 250);
        check_true(again.is_optimal);
    }
}

/* 20 s over time: out at once. Two at the same second: the second waits for hands, 30 s. */
static void test_late(void **state)
{
    (void)state;
    clear(1, 1);
    run_dip(0, 300, 320, 0);
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->out_from_s, 0);
    clear(2, 2);
    run_dip(0, 300, 250, 0);
    run_dip(1, 300, 250, 1);
    schedule(&rest, &again);
    int first = item_of(&again, 0, 0)->out_from_s;
    int second = item_of(&again, 1, 0)->out_from_s;
    check_int(first < second ? first : second, 50);
    check_int(first < second ? second : first, 80);
}

/* Hands have another purchase's dirt on them and 40 s are left: the wash of 60 s comes first. */
static void test_wash_before_taking_out(void **state)
{
    (void)state;
    clear(1, 1);
    run_dip(0, 300, 260, 0);
    begun.hands_purchase = FL_SV("b");
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->out_from_s, 60);
    rest.lots[0].ran_s = 200; /* with 100 s left it is on the second */
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->out_from_s, 100);
}

/* A tub that another purchase was in is disinfected first; one whose contact runs is waited for. */
static void test_tubs_as_they_are(void **state)
{
    (void)state;
    clear(1, 1);
    rest.plan.chores.tub_hands_s = 50;
    rest.plan.chores.tub_contact_s = 600;
    rest.steps[0][0] = (fl_bench_step){FL_SV("soak"), 10, 90, 10, true, true};
    begun.tub_purchase[0] = FL_SV("b");
    schedule(&rest, &again); /* 50 + 600; a wash (60) runs beside the contact */
    check_int(item_of(&again, 0, 0)->start_s, 650);
    begun.tub_purchase[0] = FL_SV("");
    begun.tub_ready_s[0] = 240;
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->start_s, 240);
    begun.tub_ready_s[0] = 0;
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->start_s, 0);
    begun.tub_purchase[0] = FL_SV("a"); /* its own */
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->start_s, 0);
}

/* A cleaner lot that came in late does not break what is running: hands never go back, so it is
 * handled with the most suspect that was touched, after a wash. */
static void test_a_cleaner_lot_comes_late(void **state)
{
    (void)state;
    clear(2, 2);
    run_dip(0, 300, 0, 0);
    rest.lots[0].risk = 5.0;
    rest.lots[1].purchase = FL_SV("b");
    rest.lots[1].risk = 1.0;
    rest.steps[1][0] = (fl_bench_step){FL_SV("strip"), 100, 0, -1, false, true};
    begun.has_touched = true;
    begun.risk = 5.0;
    begun.hands_purchase = FL_SV("a");
    schedule(&rest, &again);
    check_int(item_of(&again, 0, 0)->out_from_s, 300);
    check_int(item_of(&again, 1, 0)->start_s, 60);
}

/* Nothing but closing up is left. */
static void test_only_closing(void **state)
{
    (void)state;
    clear(0, 2);
    rest.plan.chores = fl_bench_chores_usual();
    begun.tub_purchase[0] = FL_SV("a");
    schedule(&rest, &again);
    const fl_bench_chores *c = &rest.plan.chores;
    check_int(again.finish_s, c->bag_waste_s + c->pour_away_s + 2 * c->tub_hands_s + c->tools_s +
                                  c->sink_s + c->contact_s);
}

/* ---- cut and planned again ---- */

static bool is_cleaner_than_touched(const fl_bench_lot *lot)
{
    return !begun.has_touched || begun.is_established != lot->is_established
               ? !begun.has_touched || begun.is_established
               : lot->risk > begun.risk;
}

static void touch(const fl_bench_lot *lot)
{
    if (is_cleaner_than_touched(lot)) {
        begun.has_touched = true;
        begun.is_established = lot->is_established;
        begun.risk = lot->risk;
    }
}

/* The rest of the evening at `cut_s`, a second at which hands are free. */
static void cut(int cut_s)
{
    int last_hands_s = -1;
    memset(&rest, 0, sizeof rest);
    memset(&begun, 0, sizeof begun);
    rest.plan = e.plan;
    rest.plan.lots = rest.lots;
    rest.plan.n_lots = 0;
    rest.plan.begun = &begun;
    for (int lot = 0; lot < (int)e.plan.n_lots; lot++) {
        fl_bench_lot *to = &rest.lots[rest.plan.n_lots];
        *to = e.lots[lot];
        to->steps = rest.steps[rest.plan.n_lots];
        to->n_steps = 0;
        to->tub = -1;
        for (int k = 0; k < (int)e.lots[lot].n_steps; k++) {
            const fl_bench_item *it = item_of(&sheet, lot, k);
            if (it->start_s < cut_s) {
                touch(&e.lots[lot]);
            }
            if (it->end_s <= cut_s && it->start_s < cut_s) {
                continue;
            }
            fl_bench_step *step = &rest.steps[rest.plan.n_lots][to->n_steps++];
            *step = e.steps[lot][k];
            if (it->start_s < cut_s) {
                check_true(it->hands_until_s <= cut_s && it->out_from_s >= cut_s);
                to->is_running = true;
                to->ran_s = cut_s - it->hands_until_s;
                to->tub = it->tub;
            }
        }
        if (to->n_steps > 0) {
            rest.plan.n_lots++;
        }
    }
    for (size_t i = 0; i < sheet.n_items; i++) { /* by time */
        const fl_bench_item *it = &sheet.items[i];
        if (it->start_s >= cut_s) {
            continue;
        }
        if (it->job == FL_BENCH_DISINFECT_TUB) {
            begun.tub_purchase[it->tub] = FL_SV("");
            begun.tub_ready_s[it->tub] = it->end_s > cut_s ? it->end_s - cut_s : 0;
        } else if (it->job == FL_BENCH_STEP && it->tub >= 0) {
            begun.tub_purchase[it->tub] = e.lots[it->lot].purchase;
        }
        int hands_s =
            it->out_from_s < it->end_s && it->end_s <= cut_s ? it->out_from_s : it->start_s;
        if (it->job == FL_BENCH_STEP && hands_s >= last_hands_s && hands_s < cut_s) {
            last_hands_s = hands_s;
            begun.hands_purchase = e.lots[it->lot].purchase;
        }
    }
}

static void check_again(int cut_s)
{
    static evening_hands hands[2 * FL_BENCH_ITEMS_MAX];
    size_t n = 0;
    for (int lot = 0; lot < (int)rest.plan.n_lots; lot++) {
        for (int k = 0; k < (int)rest.lots[lot].n_steps; k++) {
            const fl_bench_item *it = item_of(&again, lot, k);
            const fl_bench_step *st = &rest.steps[lot][k];
            int stood_s = it->out_from_s - it->hands_until_s;
            check_true(rest.lots[lot].is_running && k == 0 ? it->start_s <= 0 : it->start_s >= 0);
            check_true(stood_s >= st->unattended_s);
            if (!st->may_overrun && st->unattended_s > 0) {
                check_int(stood_s, st->unattended_s);
            }
        }
    }
    for (size_t i = 0; i < again.n_items; i++) {
        const fl_bench_item *it = &again.items[i];
        if (it->start_s >= 0 && it->hands_until_s > it->start_s) {
            hands[n++] = (evening_hands){it->start_s, it->hands_until_s, it};
        }
        if (it->end_s > it->out_from_s) {
            hands[n++] = (evening_hands){it->out_from_s, it->end_s, it};
        }
    }
    qsort(hands, n, sizeof hands[0], evening_by_time);
    for (size_t i = 1; i < n; i++) {
        check_true(hands[i - 1].to_s <= hands[i].from_s);
    }
    check_true(again.finish_s <= (sheet.finish_s - cut_s) * 21 / 20);
}

static void test_cut_and_planned_again(void **state)
{
    (void)state;
    fl_rng rng = {20261126u};
    int n_cuts = 0;
    for (int i = 0; i < 12; i++) {
        evening_kind kind = {.n_lots = evening_between(&rng, 2, 6),
                             .n_purchases = evening_between(&rng, 1, 3),
                             .n_risks = evening_between(&rng, 1, 3),
                             .n_tubs = evening_between(&rng, 1, 3)};
        evening_random(&e, &kind, &rng);
        schedule(&e, &sheet);
        evening_check(&e, &sheet);
        for (int k = 0; k < 8; k++) {
            size_t at = (size_t)evening_between(&rng, 0, (int)sheet.n_items - 1);
            const fl_bench_item *it = &sheet.items[at];
            bool is_free = it->job == FL_BENCH_STEP;
            int cut_s = it->hands_until_s;
            for (size_t m = 0; m < sheet.n_items; m++) { /* no hands on anything across the cut */
                const fl_bench_item *o = &sheet.items[m];
                is_free = is_free && !(o->start_s < cut_s && cut_s < o->hands_until_s) &&
                          !(o->out_from_s < cut_s && cut_s < o->end_s) &&
                          (o->job <= FL_BENCH_DISINFECT_TUB || o->start_s >= cut_s);
            }
            if (is_free) {
                n_cuts++;
                cut(cut_s);
                schedule(&rest, &again);
                check_again(cut_s);
            }
        }
    }
    check_true(n_cuts >= 20);
}

static int set_up(void **state)
{
    (void)state;
    work = malloc(fl_bench_work_bytes());
    return work == NULL;
}

static int tear_down(void **state)
{
    (void)state;
    free(work);
    return 0;
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_out_on_the_second),        cmocka_unit_test(test_late),
    cmocka_unit_test(test_wash_before_taking_out),   cmocka_unit_test(test_tubs_as_they_are),
    cmocka_unit_test(test_a_cleaner_lot_comes_late), cmocka_unit_test(test_only_closing),
    cmocka_unit_test(test_cut_and_planned_again),
};

int main(void)
{
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
