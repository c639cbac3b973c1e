/* The combining rules of design section 4 on whole rooms: what is one risk and what is several,
 * what goes with a plant that moves, what a colony hides, and what a purchase teaches. */
#include <math.h>
#include <string.h>

#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})
#define CARD (1U << FL_DEVICE_YELLOW_CARD)

typedef struct stage {
    fl_keeper k;
    fl_id store, nursery, bench, bin_1, bin_2, outside;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->nursery = fl_keeper_source(&s->k, "a nursery", FL_SOURCE_NURSERY, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 22.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 22.0);
    s->outside = fl_keeper_place(&s->k, "outside", FL_PLACE_OUTSIDE, 0, 21.0);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
}

static fl_id potted(stage *s, fl_id source, fl_id arrival)
{
    return fl_keeper_arrive(&s->k, source, arrival, s->bench, FL_FORM_POTTED, FL_USE_PLANTS_ONLY,
                            1);
}

/* Six lots of one purchase share one root for each mobile pest: the bin's chance is that of one
 * purchase, not 1 - (1 - p)^6. */
static void test_six_lots_are_one_purchase(void **state)
{
    (void)state;
    stage s;
    fl_id lots[6];
    fl_place_total total;
    set_stage(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    for (int i = 0; i < 6; i++) {
        lots[i] = potted(&s, s.store, arrival);
        fl_keeper_move(&s.k, lots[i], s.bin_1);
    }
    fl_keeper_day(&s.k, 1, 0);
    fl_keeper_ask(&s.k);
    double prior = fl_know_prior_of(fl_know_threat_find(FL_SV("fungus_gnat")),
                                    FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED)
                       .prob;
    for (int i = 0; i < 6; i++) {
        double chance = fl_keeper_chance(&s.k, lots[i], "fungus_gnat").chance;
        /* a little above the prior: the room's own hazard of six openings is in it */
        check_true(chance >= prior && chance < prior + 0.01);
    }
    check_ok(fl_gate_place_total(s.k.chances, &s.k.room, s.bin_1, &total, &s.k.err), &s.k.err);
    check_str(total.worst->code, "fungus_gnat");
    check_close(total.worst_chance, fl_keeper_chance(&s.k, lots[0], "fungus_gnat").chance, 1e-12,
                0.0);
    strike_stage(&s);
}

/* Two purchases in one bin are two ways in: 1 - (1 - p)(1 - q). */
static void test_two_purchases_are_two_roots(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id a = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, a, s.bin_1);
    fl_keeper_day(&s.k, 0, 3);
    fl_id b = potted(&s, s.nursery, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, b, s.bin_1);
    fl_keeper_day(&s.k, 0, 4);
    fl_keeper_ask(&s.k);
    const fl_threat *thrips = fl_know_threat_find(FL_SV("western_flower_thrips"));
    double p = fl_know_prior_of(thrips, FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED).prob;
    double q = fl_know_prior_of(thrips, FL_SOURCE_NURSERY, FL_FORM_POTTED).prob;
    double want = 1.0 - (1.0 - p) * (1.0 - q);
    check_close(fl_keeper_chance(&s.k, a, thrips->code).chance, want, 0.02, 0.0);
    check_close(fl_keeper_chance(&s.k, b, thrips->code).chance, want, 0.02, 0.0);
    strike_stage(&s);
}

/* A lot that moves carries its root; what it left behind stays there too. */
static void test_a_moved_lot_carries_its_root(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = potted(&s, s.store, arrival);
    fl_id b = potted(&s, s.store, arrival);
    fl_keeper_move(&s.k, a, s.bin_1);
    fl_keeper_move(&s.k, b, s.bin_1);
    for (int week = 1; week <= 3; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
    }
    fl_keeper_ask(&s.k);
    double before = fl_keeper_chance(&s.k, a, "fungus_gnat").chance;
    fl_keeper_day(&s.k, 22, 0);
    fl_keeper_move(&s.k, a, s.bin_2);
    fl_keeper_ask(&s.k);
    check_close(fl_keeper_chance(&s.k, a, "fungus_gnat").chance, before, 0.05, 0.0);
    check_close(fl_keeper_chance(&s.k, b, "fungus_gnat").chance, before, 0.05, 0.0);
    /* Looks at the one are no longer looks at the other. */
    fl_keeper_day(&s.k, 28, 0);
    fl_keeper_look(&s.k, s.bin_2, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_chance(&s.k, a, "fungus_gnat").chance < 0.9 * before);
    check_true(fl_keeper_chance(&s.k, b, "fungus_gnat").chance > 0.95 * before);
    strike_stage(&s);
}

/* A sedentary threat stays on its lot: the neighbour in the bin has only its own. */
static void test_a_sedentary_threat_stays_on_its_lot(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = potted(&s, s.store, arrival);
    fl_id own = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_keeper_move(&s.k, a, s.bin_1);
    fl_keeper_ask(&s.k);
    const fl_threat *root = fl_know_threat_find(FL_SV("root_mealybug"));
    double p = fl_know_prior_of(root, FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED).prob;
    check_close(fl_keeper_chance(&s.k, a, root->code).chance, p, 1e-9, 0.0);
    check_close(fl_keeper_chance(&s.k, own, root->code).chance,
                p * fl_know_already_here_factor(root), 1e-9, 0.0);
    strike_stage(&s);
}

/* The colony rule: a soap dip late in a colony's life kills what is seen and leaves the eggs that
 * the colony had laid; a quiet look right after it must not read as nearly clear. */
static void test_a_dip_late_in_a_colonys_life(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_keeper_day(&s.k, 30, 0);
    fl_keeper_ask(&s.k);
    double before = fl_keeper_chance(&s.k, lot, "citrus_mealybug").chance;
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_DIP, FL_AGENT_SOAP, "");
    fl_keeper_day(&s.k, 30, 1);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    fl_keeper_ask(&s.k);
    double after = fl_keeper_chance(&s.k, lot, "citrus_mealybug").chance;
    check_true(after > 0.5 * before);
    /* When the eggs have had time to become what is seen, looks tell again. */
    for (int week = 1; week <= 10; week++) {
        fl_keeper_day(&s.k, 30 + 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    }
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_chance(&s.k, lot, "citrus_mealybug").chance < 0.25 * after);
    strike_stage(&s);
}

/* Waiting alone never lowers a chance (design 4.12). */
static void test_waiting_alone_changes_nothing(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_ask(&s.k);
    double before = fl_keeper_chance(&s.k, lot, "western_flower_thrips").chance;
    fl_keeper_day(&s.k, 120, 0);
    fl_keeper_ask(&s.k);
    check_close(fl_keeper_chance(&s.k, lot, "western_flower_thrips").chance, before, 1e-12, 0.0);
    strike_stage(&s);
}

/* A finding raises what other purchases of that source are thought to carry; the purchase itself is
 * left out of its own prior, and a quiet, well-watched purchase lowers the others'. */
static void test_leave_one_out(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id a = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, a, s.bin_1);
    fl_keeper_day(&s.k, 1, 0);
    fl_id b = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, b, s.bin_2);
    fl_keeper_ask(&s.k);
    double table = fl_keeper_chance(&s.k, b, "fungus_gnat").prior;
    check_close(table, 0.30, 1e-3, 0.0); /* one other purchase that has hardly been looked at */
    fl_keeper_day(&s.k, 14, 0);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, "fungus_gnat", a);
    fl_keeper_ask(&s.k);
    fl_lot_chance other = fl_keeper_chance(&s.k, b, "fungus_gnat");
    /* One infested purchase, surely this one. The kind's mean is Beta(3, 7), which a find would
     * raise to 4/11; sources differ (k ~ Gamma(2, rate 0.1)), so the find says more of this one:
     * (1 - c) 4/11 + c with c = E(1 / (k + 1)) = 0.07985 (test_kind.c, by hand). */
    check_close(other.prior, (1.0 - 0.07985) * 4.0 / 11.0 + 0.07985, 0.01, 0.0);
    check_true(other.is_learned);
    fl_keeper_day(&s.k, 15, 0);
    fl_id c = potted(&s, s.nursery, fl_keeper_id(&s.k));
    fl_keeper_ask(&s.k);
    check_close(fl_keeper_chance(&s.k, c, "fungus_gnat").prior, 0.21, 1e-9,
                0.0); /* another kind of source */
    fl_id bazaar = fl_keeper_source(&s.k, "bazaar", FL_SOURCE_CHAIN_STORE, false);
    fl_id d = potted(&s, bazaar, fl_keeper_id(&s.k));
    fl_keeper_ask(&s.k);
    /* a source of the same kind leans on it: as the kind's mean, 4/11 and a little less */
    double fresh = fl_keeper_chance(&s.k, d, "fungus_gnat").prior;
    check_true(fresh < 4.0 / 11.0 + 1e-3 && fresh > 0.35);
    strike_stage(&s);
}

/* A quiet record teaches as much as the looks could have seen. */
static void test_quiet_purchases_lower_the_source(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id a = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, a, s.bin_1);
    for (int week = 1; week <= 10; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
    }
    fl_id b = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_ask(&s.k);
    fl_lot_chance next = fl_keeper_chance(&s.k, b, "fungus_gnat");
    /* less than a purchase surely clean would: (m - E t^2) / (1 - m), E t^2 as above */
    double square = 0.3 * ((1.0 - 0.07985) * 4.0 / 11.0 + 0.07985);
    check_true(next.prior < 0.295 && next.prior > (0.3 - square) / 0.7);
    strike_stage(&s);
}

/* An unrooted cutting takes what lives on shoots and leaves what lives in the mix. */
static void test_a_cutting_takes_what_can_ride(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id mother = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, mother, s.bin_1);
    fl_keeper_day(&s.k, 3, 0);
    fl_id cutting = fl_keeper_cut(&s.k, mother, s.bin_2, 3);
    fl_keeper_ask(&s.k);
    double gnat = fl_keeper_chance(&s.k, cutting, "fungus_gnat").chance;
    double thrips = fl_keeper_chance(&s.k, cutting, "western_flower_thrips").chance;
    check_true(gnat < 0.25 * fl_keeper_chance(&s.k, mother, "fungus_gnat").chance);
    check_true(thrips > 0.4 * fl_keeper_chance(&s.k, mother, "western_flower_thrips").chance);
    check_close(fl_keeper_chance(&s.k, cutting, "root_mealybug").chance, 0.0, 0.0, 1e-12);
    strike_stage(&s);
}

/* A find holds the place, opens a new root with the after-a-find chance and closes the old ones. */
static void test_a_find_and_its_retraction(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, lot, s.bin_1);
    fl_keeper_day(&s.k, 7, 0);
    fl_id finding =
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, "western_flower_thrips", lot);
    fl_keeper_ask(&s.k);
    double found = fl_keeper_chance(&s.k, lot, "western_flower_thrips").chance;
    check_true(found > 0.5 && found < 1.0);
    check_true(fl_meaning_is_held(&s.k.room.meaning, s.bin_1, s.k.now_s));
    /* The look told about the others all the same. */
    check_true(fl_keeper_chance(&s.k, lot, "aphid").chance < 0.05);
    fl_keeper_day(&s.k, 9, 0);
    fl_event event = {.kind = FL_KIND_FINDING_RETRACTED};
    event.body.finding_retracted =
        (fl_ev_finding_retracted){.finding = finding, .why = FL_SV("it was a speck")};
    fl_keeper_record(&s.k, &event);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_chance(&s.k, lot, "western_flower_thrips").chance < 0.08);
    check_false(fl_meaning_is_held(&s.k.room.meaning, s.bin_1, s.k.now_s));
    strike_stage(&s);
}

/* Cleaning a bin ends its fill: the next begins with leftovers only, and the lots keep theirs. */
static void test_cleaning_never_cleans_lots(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, lot, s.bin_1);
    fl_keeper_day(&s.k, 10, 0);
    fl_keeper_move(&s.k, lot, s.bin_2);
    fl_keeper_clean(&s.k, s.bin_1);
    fl_keeper_day(&s.k, 11, 0);
    fl_id next = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_keeper_ask(&s.k);
    const fl_threat *mite = fl_know_threat_find(FL_SV("twospotted_spider_mite"));
    double own = 0.08 * fl_know_already_here_factor(mite);
    double left = fl_keeper_chance(&s.k, next, mite->code).chance;
    check_close(fl_keeper_chance(&s.k, lot, mite->code).chance, 0.08, 0.01, 0.0);
    check_true(left >= own && left < own + 0.03);
    strike_stage(&s);
}

/* The same numbers from the memo as from scratch, and from any order of recording. */
static void test_memo_and_order_change_nothing(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = potted(&s, s.store, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 20, 0);
    fl_keeper_day(&s.k, 14, 0);
    fl_id other = potted(&s, s.nursery, fl_keeper_id(&s.k));
    fl_keeper_move(&s.k, other, s.bin_1);
    fl_keeper_day(&s.k, 21, 0);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
    fl_keeper_day(&s.k, 7, 0);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, CARD, NULL, NO_ID);
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, lot, s.bin_1); /* entered last, happened first */
    fl_keeper_day(&s.k, 22, 0);
    fl_keeper_ask(&s.k);
    double first = fl_keeper_chance(&s.k, lot, "fungus_gnat").chance;
    fl_keeper_ask(&s.k);
    check_true(fl_chances_statistics(s.k.chances).n_memo_hits > 0);
    check_true(fl_keeper_chance(&s.k, lot, "fungus_gnat").chance == first);
    fl_chances *bare = NULL;
    check_ok(fl_chances_new(&s.k.room, NULL, &bare, &s.k.err), &s.k.err);
    fl_lot_chance all[64];
    size_t n = 0;
    check_ok(fl_chances_of_lot(bare, fl_keeper_lot(&s.k, lot), all, &n, &s.k.err), &s.k.err);
    check_true(all[0].chance == fl_keeper_chance(&s.k, lot, all[0].threat->code).chance);
    fl_chances_free(bare);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_six_lots_are_one_purchase),
    cmocka_unit_test(test_two_purchases_are_two_roots),
    cmocka_unit_test(test_a_moved_lot_carries_its_root),
    cmocka_unit_test(test_a_sedentary_threat_stays_on_its_lot),
    cmocka_unit_test(test_a_dip_late_in_a_colonys_life),
    cmocka_unit_test(test_waiting_alone_changes_nothing),
    cmocka_unit_test(test_leave_one_out),
    cmocka_unit_test(test_quiet_purchases_lower_the_source),
    cmocka_unit_test(test_a_cutting_takes_what_can_ride),
    cmocka_unit_test(test_a_find_and_its_retraction),
    cmocka_unit_test(test_cleaning_never_cleans_lots),
    cmocka_unit_test(test_memo_and_order_change_nothing)};
FL_TEST_MAIN(tests)
