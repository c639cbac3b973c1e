/* The look plan on whole rooms: it agrees with the gate's own date, saves looks without moving it,
 * prices a missed one. What-ifs are in test_whatif.c. */
#include <math.h>
#include <string.h>

#include "unit/app/looks_stage.h"

static fl_looks_plan plan_of(stage *s, const fl_looks_options *options)
{
    fl_looks_plan plan;
    check_ok(fl_looks_make_plan(s->looks, options, &plan, &s->k.err), &s->k.err);
    return plan;
}

static int64_t release_of(stage *s, const fl_looks_options *options)
{
    int64_t release_s = 0;
    check_ok(fl_looks_release(s->looks, options, &release_s, &s->k.err), &s->k.err);
    return release_s;
}

/* The first round day that is not before the gate's own date. The gate walks the same copies with
 * code of its own (app/forecast, app/guard, core/gate). */
static int64_t round_day_from(const fl_gate_report *r, int64_t at_s)
{
    for (int k = 1; k <= r->forecast.n; k++) {
        if (r->forecast.at_s[k] >= at_s) {
            return r->forecast.at_s[k];
        }
    }
    return FL_GATE_NEVER;
}

static void test_agrees_with_the_gate(void **unused)
{
    (void)unused;
    static const fl_use uses[] = {FL_USE_PLANTS_ONLY, FL_USE_REPTILE, FL_USE_AMPHIBIAN};
    for (size_t i = 0; i < 3; i++) {
        for (int weeks = 0; weeks <= 2; weeks += 2) {
            stage s;
            set_stage(&s, uses[i], i == 1 ? 20.0 : 23.0, FL_EFFORT_CAREFUL);
            hang(&s, FL_DEVICE_YELLOW_CARD);
            for (int w = 0; w < weeks; w++) {
                fl_keeper_day(&s.k, 5 + 7 * w, 0);
                fl_keeper_look(&s.k, s.bin, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
            }
            fl_keeper_day(&s.k, 7 * weeks + 1, 0);
            open_looks(&s);
            const fl_gate_report *r = fl_looks_report(s.looks);
            fl_looks_options usual = fl_looks_usual(s.looks);
            check_int(usual.devices, CARD);
            fl_looks_plan plan = plan_of(&s, &usual);
            /* What the gate waits for by time and looks alone. */
            int64_t want = r->answer.conditions[FL_CONDITION_CHANCE].earliest_s;
            static const fl_condition_kind ours[] = {FL_CONDITION_GUARD, FL_CONDITION_LEAST_DAYS};
            for (size_t c = 0; c < 2; c++) {
                int64_t at_s = r->answer.conditions[ours[c]].earliest_s;
                want = at_s > want ? at_s : want;
            }
            print_message("use %d, after %d looks: release in %.0f days, %d looks\n", (int)uses[i],
                          weeks, days_from_now(&s, plan.release_s), plan.n_looks);
            check_true(want != FL_GATE_NEVER);
            check_int(plan.release_s, round_day_from(r, want));
            check_int(release_of(&s, &usual), plan.release_s);
            strike_stage(&s);
        }
    }
}

/* Fewer looks where they would not move the date; never two within five days; the last one on the
 * day of release. */
static void test_saves_looks(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_USE_PLANTS_ONLY, 23.0, FL_EFFORT_CAREFUL);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    fl_looks_plan plan = plan_of(&s, &usual);
    int n = 0;
    int weeks = 0;
    int64_t last_s = 0;
    for (int k = 0; k < plan.n_days; k++) {
        const fl_looks_day *day = &plan.days[k];
        weeks += day->at_s <= plan.release_s;
        if (!day->is_look) {
            continue;
        }
        n++;
        check_true(day->at_s - last_s >= 5 * FL_DAY_S);
        last_s = day->at_s;
        /* leaving it out is a price: above the ceiling, or a look more would not be in the plan */
        check_true(day->load_changed > 1.0);
        check_true(day->missed_s >= plan.release_s);
    }
    check_int(n, plan.n_looks);
    check_int(last_s, plan.release_s);
    check_true(plan.n_looks <= weeks);
    /* with half the looks it takes longer, or cannot be done */
    fl_looks_options few = usual;
    few.n_looks = 1;
    fl_looks_plan one = plan_of(&s, &few);
    check_true(one.release_s > plan.release_s);
    check_true(one.release_s == FL_GATE_NEVER || one.n_looks == 1);
    strike_stage(&s);
}

/* Pinned orderings, not dates (design 4.13). */
static void test_orderings(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_USE_AMPHIBIAN, 20.0, FL_EFFORT_CAREFUL);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    fl_looks_options other = usual;
    int64_t date = release_of(&s, &usual);
    check_true(date != FL_GATE_NEVER);
    other.temp_c = 17.0;
    check_true(release_of(&s, &other) > date); /* colder is later */
    other.temp_c = 25.0;
    check_true(release_of(&s, &other) <= date);
    other = usual;
    other.every_days = 14;
    check_true(release_of(&s, &other) > date);
    other = usual;
    other.every_days = 5;
    check_true(release_of(&s, &other) <= date);
    other = usual;
    other.effort = FL_EFFORT_GLANCE;
    check_true(release_of(&s, &other) > date); /* careful sooner than glance */
    other = usual;
    other.devices = CARD;
    check_true(release_of(&s, &other) <= date);
    strike_stage(&s);
}

/* Today counts when it is a round day and the last look is long enough ago. */
static void test_today_is_a_day(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_USE_PLANTS_ONLY, 23.0, FL_EFFORT_CAREFUL);
    fl_keeper_day(&s.k, 5, 0); /* a Saturday */
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    fl_looks_plan plan = plan_of(&s, &usual);
    check_int(plan.days[0].at_s, s.k.now_s);
    /* noon there is 11 in UTC */
    check_int(plan.days[1].at_s, s.k.now_s + 7 * FL_DAY_S - FL_HOUR_S);
    check_true(plan.days[0].is_look || !isnan(plan.days[0].load_changed));
    fl_keeper_look(&s.k, s.bin, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    open_looks(&s);
    plan = plan_of(&s, &usual);
    check_false(plan.days[0].is_look); /* it has been looked at today */
    check_true(isnan(plan.days[0].load_changed));
    strike_stage(&s);
}

/* A hold is nothing that looks can lift; a find makes it later. */
static void test_a_find(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_USE_PLANTS_ONLY, 23.0, FL_EFFORT_CAREFUL);
    fl_keeper_day(&s.k, 5, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    int64_t before = release_of(&s, &usual);
    fl_keeper_look(&s.k, s.bin, FL_EFFORT_CAREFUL, 0, "western_flower_thrips", s.lot);
    fl_keeper_day(&s.k, 6, 0);
    open_looks(&s);
    fl_looks_plan plan = plan_of(&s, &usual);
    check_true(plan.release_s > before);
    check_true((plan.blocked & (1U << FL_CONDITION_HOLD)) != 0);
    strike_stage(&s);
}

static void test_refuses(void **unused)
{
    (void)unused;
    stage s;
    fl_looks_plan plan;
    fl_what_if what;
    set_stage(&s, FL_USE_PLANTS_ONLY, 23.0, FL_EFFORT_CAREFUL);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    fl_looks_options wrong = usual;
    wrong.every_days = 4;
    check_true(fl_looks_make_plan(s.looks, &wrong, &plan, &s.k.err) == FL_EDOMAIN);
    check_contains(s.k.err.message, "every 4 days");
    wrong = usual;
    wrong.temp_c = 50.0;
    check_true(fl_looks_make_plan(s.looks, &wrong, &plan, &s.k.err) == FL_EDOMAIN);
    wrong = usual;
    wrong.n_looks = 28;
    check_true(fl_looks_make_plan(s.looks, &wrong, &plan, &s.k.err) == FL_EDOMAIN);
    wrong = usual;
    wrong.effort = FL_EFFORT_COUNT;
    check_true(fl_looks_make_plan(s.looks, &wrong, &plan, &s.k.err) == FL_EDOMAIN);
    check_true(fl_looks_what_if(s.looks, &usual, FL_WHAT_IF_COUNT, &s.arena, &what, &s.k.err) ==
               FL_EINVAL);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_agrees_with_the_gate),
                                          cmocka_unit_test(test_saves_looks),
                                          cmocka_unit_test(test_orderings),
                                          cmocka_unit_test(test_today_is_a_day),
                                          cmocka_unit_test(test_a_find),
                                          cmocka_unit_test(test_refuses)};
FL_TEST_MAIN(tests)
