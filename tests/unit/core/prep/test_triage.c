/* At the door. There is no published rule for what a plant is worth: what is checked here is the
 * arithmetic that core/prep/triage.h states, worked by hand, and the order in which it decides. */
#include <math.h>

#include "core/prep/triage.h"
#include "support/check.h"

/* 42 days in half a bin, one in four that something is found: 6 x 0.5 x 1.25 = 3.75 bin-weeks; a
 * tip of it 28 days, one in ten: 4 x 0.5 x 1.1 = 2.2. */
static fl_triage_input usual(double price)
{
    return (fl_triage_input){.whole = {.is_there = true, .days = 42, .prob_find = 0.25},
                             .tip = {.is_there = true, .days = 28, .prob_find = 0.10},
                             .bin_share = 0.5,
                             .price = price,
                             .is_claim_open = true,
                             .worth = fl_triage_worth_usual()};
}

static fl_triage weigh(fl_triage_input in)
{
    fl_triage out;
    fl_triage_weigh(&in, &out);
    return out;
}

static void check_lean(fl_triage t, fl_triage_way way, fl_triage_why why)
{
    check_str(fl_words_triage_way[t.leans].word, fl_words_triage_way[way].word);
    check_str(fl_words_triage_why[t.why].word, fl_words_triage_why[why].word);
}

static void test_the_arithmetic(void **state)
{
    (void)state;
    fl_triage t = weigh(usual(8.0));
    check_close(t.option[FL_TRIAGE_KEEP].bin_weeks, 3.75, 1e-12, 0);
    check_close(t.option[FL_TRIAGE_TIP].bin_weeks, 2.2, 1e-12, 0);
    check_close(t.option[FL_TRIAGE_KEEP].worth, 16.0 - 3.75, 1e-12, 0);
    check_close(t.option[FL_TRIAGE_TIP].worth, 8.0 - 2.2, 1e-12, 0);
    check_close(t.option[FL_TRIAGE_RETURN].worth, 8.0, 0, 0);
    check_close(t.option[FL_TRIAGE_REFUSE].worth, 0.0, 0, 0);
    check_lean(t, FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
}

/* Kept is worth 2p - 3.75 and sent back p: the same at 3.75. A draw is kept. */
static void test_price_against_room(void **state)
{
    (void)state;
    check_lean(weigh(usual(3.76)), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
    check_lean(weigh(usual(3.75)), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
    check_lean(weigh(usual(3.74)), FL_TRIAGE_RETURN, FL_TRIAGE_ROOM_DEAR);
    /* nobody takes it back: kept is worth more than nothing from 1.875 on, a tip from 2.2 */
    fl_triage_input shut = usual(1.88);
    shut.is_claim_open = false;
    check_lean(weigh(shut), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
    shut.price = 1.87;
    check_lean(weigh(shut), FL_TRIAGE_REFUSE, FL_TRIAGE_ROOM_DEAR);
    check_false(weigh(shut).option[FL_TRIAGE_RETURN].is_there);
    /* where room is dear a tip is what is left: 2p - 37.5 against p - 2.2 against 0 */
    shut.price = 5.0;
    shut.whole.days = 420;
    check_lean(weigh(shut), FL_TRIAGE_TIP, FL_TRIAGE_TIP_SOONER);
    /* the keeper's own figure: where a bin-week costs nothing, everything is kept */
    shut.worth.bin_week = 0.0;
    check_lean(weigh(shut), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
}

/* A gift has no price that says what it is worth. */
static void test_without_a_price(void **state)
{
    (void)state;
    const double prices[] = {(double)NAN, 0.0};
    for (size_t i = 0; i < 2; i++) {
        fl_triage_input in = usual(prices[i]);
        fl_triage t = weigh(in);
        check_lean(t, FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
        check_true(isnan(t.option[FL_TRIAGE_KEEP].worth));
        check_true(isnan(t.option[FL_TRIAGE_RETURN].worth));
        check_true(isnan(t.option[FL_TRIAGE_REFUSE].worth));
        /* a tip of at most half the room that saves at least two bin-weeks */
        in.whole.days = 7 * 8; /* 8 x 0.5 x 1.25 = 5 */
        in.tip.days = 28;      /* 2.2 */
        check_lean(weigh(in), FL_TRIAGE_TIP, FL_TRIAGE_TIP_SOONER);
        in.tip.days = 35; /* 2.75: more than half of 5 */
        check_lean(weigh(in), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
        in.whole.days = 21; /* 1.875 against 0.55: less than half, saves 1.3 */
        in.tip.days = 7;
        check_lean(weigh(in), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
    }
}

/* What the evening's plan says weighs before any price. */
static void test_what_leads_nowhere(void **state)
{
    (void)state;
    fl_triage_input in = usual(100.0);
    in.verdict = FL_PREP_NOT_FOR_THERE;
    check_lean(weigh(in), FL_TRIAGE_RETURN, FL_TRIAGE_NOT_FOR_THERE);
    in.is_claim_open = false;
    check_lean(weigh(in), FL_TRIAGE_REFUSE, FL_TRIAGE_NOT_FOR_THERE);
    in = usual(100.0);
    in.verdict = FL_PREP_CLEAN_TIP;
    check_lean(weigh(in), FL_TRIAGE_TIP, FL_TRIAGE_TIP_ONLY);
    in.tip.is_there = false; /* and there is none */
    check_lean(weigh(in), FL_TRIAGE_KEEP, FL_TRIAGE_WORTH_IT);
    in = usual(100.0);
    in.whole.days = (double)NAN;
    check_lean(weigh(in), FL_TRIAGE_RETURN, FL_TRIAGE_ROOM_DEAR); /* a tip: 97.8, back: 100 */
    in.is_claim_open = false;
    check_lean(weigh(in), FL_TRIAGE_TIP, FL_TRIAGE_TIP_OPENS);
    in.tip.is_there = false;
    check_lean(weigh(in), FL_TRIAGE_REFUSE, FL_TRIAGE_NEVER_OPENS);
    check_true(isnan(weigh(in).option[FL_TRIAGE_KEEP].bin_weeks));
    in.is_claim_open = true;
    check_lean(weigh(in), FL_TRIAGE_RETURN, FL_TRIAGE_NEVER_OPENS);
}

/* Longer, dearer to hold, likelier to be found: never leans from sending back to keeping. */
static void test_orderings(void **state)
{
    (void)state;
    for (int i = 0; i < 400; i++) {
        fl_triage_input in = usual(0.25 * (1 + i % 40));
        in.whole.days = 7.0 * (1 + i / 40);
        fl_triage_input worse[3] = {in, in, in};
        worse[0].whole.days += 7.0;
        worse[1].whole.prob_find = 0.75;
        worse[2].worth.bin_week = 2.0;
        for (int k = 0; k < 3; k++) {
            check_true(weigh(worse[k]).option[FL_TRIAGE_KEEP].worth <
                       weigh(in).option[FL_TRIAGE_KEEP].worth);
            if (weigh(in).leans == FL_TRIAGE_RETURN) {
                check_int(weigh(worse[k]).leans, FL_TRIAGE_RETURN);
            }
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_arithmetic),  cmocka_unit_test(test_price_against_room),
    cmocka_unit_test(test_without_a_price), cmocka_unit_test(test_what_leads_nowhere),
    cmocka_unit_test(test_orderings),
};
FL_TEST_MAIN(tests)
