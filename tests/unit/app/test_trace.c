/* Tracing small rooms where the answer is known on paper. Shares of links are data/links.csv
 * (assumed, decision 0002): what is checked is that they are multiplied along the right chain. */
#include <math.h>
#include <string.h>

#include "app/trace.h"
#include "support/shelf.h"

static const fl_id NONE = {{0}};

/* One purchase of two lots goes into two bins; mites are found in one. The purchase brought them,
 * almost surely; so the other bin has what came with it, just as surely; a third bin, of another
 * purchase on another day, has nothing. */
static void test_two_bins_of_one_purchase(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_keeper_move(&s.k, a, s.bin[3]);
    fl_keeper_day(&s.k, 3, 0);
    fl_id b = fl_shelf_buy(&s, s.other_shop, arrival);
    fl_id c = fl_shelf_buy(&s, s.other_shop, arrival);
    fl_keeper_day(&s.k, 3, 2);
    fl_keeper_move(&s.k, b, s.bin[1]);
    fl_keeper_move(&s.k, c, s.bin[2]);
    fl_keeper_day(&s.k, 12, 0);
    fl_shelf_trace(&s, fl_shelf_find(&s, s.bin[1], "twospotted_spider_mite", "young", NONE));

    check_true(s.t.n_sources >= 1);
    check_int(s.t.sources[0].kind, FL_SUSPECT_PURCHASE);
    check_true(fl_id_eq(s.t.sources[0].arrival, arrival));
    check_true(s.t.sources[0].prob > 0.98);
    check_sv(s.t.sources[0].what, "the purchase from Garden Hall");
    check_int(s.t.sources[0].n_chain, 2); /* came to the bench; was moved to bin 1 */
    check_int(s.t.sources[0].chain[0].link, FL_LINK_COUNT);
    check_true(fl_id_eq(s.t.sources[0].chain[0].to_place, s.bench));
    check_int(s.t.sources[0].chain[1].link, FL_LINK_MOVE);
    check_true(fl_id_eq(s.t.sources[0].chain[1].from_place, s.bench));
    check_true(fl_id_eq(s.t.sources[0].chain[1].to_place, s.bin[1]));

    check_true(s.t.has_window && !s.t.window.is_bound);
    check_true(s.t.is_older_possible); /* they may have come as they are */
    check_true(fl_shelf_reached(&s, b).is_where_found);
    check_close(fl_shelf_reached(&s, b).prob, 1.0, 0.0, 0.02);
    check_close(fl_shelf_reached(&s, c).prob, s.t.sources[0].prob, 0.0, 0.02);
    check_false(fl_shelf_reached(&s, c).is_where_found);
    check_true(!fl_shelf_is_reached(&s, a));
    check_true(fl_shelf_place(&s, s.bin[1]).is_held && fl_shelf_place(&s, s.bin[1]).is_where_found);
    check_false(fl_shelf_place(&s, s.bin[2]).is_held);
    check_true(!fl_shelf_is_place_reached(&s, s.bin[3]));
    fl_shelf_done(&s);
}

/* A week later another purchase is rinsed in the same tub on one evening: what is in its bin came
 * over the tub with the table's share, and only for a threat that the tub can carry. */
static void test_a_shared_tub_is_a_link(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id old_arrival = fl_keeper_id(&s.k);
    fl_id a = fl_shelf_buy(&s, s.shop, old_arrival);
    fl_id b = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    /* not on one bench: each goes into its bin at once, the tub comes later */
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_move(&s.k, b, s.bin[2]);
    fl_keeper_day(&s.k, 10, 0);
    const fl_id both[2] = {a, b};
    fl_keeper_step(&s.k, both, 2, FL_STEP_SOAK, FL_AGENT_NONE, "blue tub");
    fl_keeper_day(&s.k, 20, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "aphid", "nymph", NONE);
    fl_shelf_trace(&s, seen);
    const fl_trace_reached other = fl_shelf_reached(&s, b);
    check_int(s.t.sources[0].kind, FL_SUSPECT_PURCHASE);
    /* Either it came with a's purchase and over bench and tub to b, or with b's and to a. */
    double over = fl_shelf_share("aphid", FL_LINK_SHARED_TUB);
    double bench = 1.0 - pow(1.0 - fl_shelf_share("aphid", FL_LINK_OPEN_BENCH), 1.0 / 24.0);
    check_true(other.prob >= fmax(over, bench) * 0.9);
    check_true(other.most >= other.prob);
    fl_shelf_done(&s);
}

/* The bench aside: the same tub is the only link, so its share is the answer. Roots do not stand
 * on one bench, because the second purchase comes a week later. */
static void test_the_tub_alone(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id first = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, first, s.bin[1]);
    fl_keeper_day(&s.k, 7, 0);
    fl_id lab = fl_keeper_source(&s.k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    fl_id second = fl_shelf_buy(&s, lab, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 7, 1);
    fl_keeper_move(&s.k, second, s.bin[2]);
    fl_keeper_day(&s.k, 9, 0);
    const fl_id both[2] = {first, second};
    fl_keeper_step(&s.k, both, 2, FL_STEP_SOAK, FL_AGENT_NONE, "blue tub");
    fl_keeper_day(&s.k, 15, 0);
    fl_shelf_trace(&s, fl_shelf_find(&s, s.bin[1], "twospotted_spider_mite", "young", NONE));
    double tub = fl_shelf_share("twospotted_spider_mite", FL_LINK_SHARED_TUB);
    /* P(second has it) = P(came with the first) x tub + P(came with the second) x 1 */
    double by_first = 0.0;
    double by_second = 0.0;
    for (size_t i = 0; i < s.t.n_sources; i++) {
        const fl_trace_source *from = &s.t.sources[i];
        by_first += fl_id_eq(from->lot, first) || from->kind == FL_SUSPECT_ROOM ? from->prob : 0.0;
        by_second += fl_id_eq(from->lot, second) ? from->prob : 0.0;
    }
    check_true(by_first > by_second); /* the tub passes a part only */
    check_close(fl_shelf_reached(&s, second).prob, by_first * tub + by_second, 0.01, 1e-6);
    check_int(fl_shelf_reached(&s, second).link, FL_LINK_SHARED_TUB);
    fl_shelf_done(&s);
}

/* A move that is told late (dated between two others) changes the answer to the next question. */
static void test_a_late_move_counts(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 5, 0);
    fl_id b = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 5, 1);
    fl_keeper_move(&s.k, b, s.bin[2]);
    fl_keeper_day(&s.k, 20, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "western_flower_thrips", "larva", NONE);
    fl_shelf_trace(&s, seen);
    check_true(!fl_shelf_is_reached(&s, b));
    /* told a week later: on day 8 a had stood in bin 2 for three days */
    fl_keeper_day(&s.k, 8, 0);
    fl_keeper_move(&s.k, a, s.bin[2]);
    fl_keeper_day(&s.k, 11, 0);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 27, 0);
    fl_shelf_trace(&s, seen);
    check_true(fl_shelf_is_reached(&s, b));
    check_close(fl_shelf_reached(&s, b).prob, 1.0, 0.0, 0.02); /* one pool: both have it */
    fl_shelf_done(&s);
}

/* What a cleaned bin keeps is the leftover share of the table. */
static void test_a_cleaned_bin_keeps_a_leftover(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 14, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "citrus_mealybug", "nymph", NONE);
    fl_keeper_day(&s.k, 14, 1);
    fl_keeper_move(&s.k, a, s.bin[3]);
    fl_keeper_day(&s.k, 14, 2);
    fl_keeper_clean(&s.k, s.bin[1]);
    fl_keeper_day(&s.k, 16, 0);
    fl_id b = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 16, 1);
    fl_keeper_move(&s.k, b, s.bin[1]);
    fl_keeper_day(&s.k, 17, 0);
    fl_shelf_trace(&s, seen);
    double left = fl_shelf_share("citrus_mealybug", FL_LINK_LEFTOVER);
    check_close(fl_shelf_reached(&s, b).prob, left, 0.05, 0.0);
    check_int(fl_shelf_reached(&s, b).link, FL_LINK_LEFTOVER);
    check_close(fl_shelf_reached(&s, a).prob, 1.0, 0.0, 0.02);
    check_true(fl_shelf_is_place_reached(&s, s.bin[3]));
    check_close(fl_shelf_place(&s, s.bin[1]).prob, left, 0.05, 0.0);
    fl_shelf_done(&s);
}

/* Cuttings that were given away: somebody has to be told. Gnats do not ride an unrooted cutting. */
static void test_people_who_got_cuttings(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 10, 0);
    fl_id given = fl_keeper_cut(&s.k, a, s.outside, 2);
    fl_keeper_day(&s.k, 20, 0);
    fl_id mite = fl_shelf_find(&s, s.bin[1], "twospotted_spider_mite", "adult", NONE);
    fl_shelf_trace(&s, mite);
    check_int(s.t.n_outside, 1);
    check_true(fl_shelf_reached(&s, given).is_outside);
    check_close(fl_shelf_reached(&s, given).prob,
                fl_shelf_share("twospotted_spider_mite", FL_LINK_CUTTING), 0.05, 0.0);
    fl_id gnat = fl_shelf_find(&s, s.bin[1], "fungus_gnat", "larva", NONE);
    fl_shelf_trace(&s, gnat);
    check_int(s.t.n_outside, 0);
    fl_shelf_done(&s);
}

/* "Already here", "the mix" and "the room" are candidates. */
static void test_other_ways_in(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id old = fl_keeper_already_here(&s.k, s.bin[1], 3);
    fl_keeper_day(&s.k, 5, 0);
    fl_keeper_step(&s.k, &old, 1, FL_STEP_POT_UP, FL_AGENT_NONE, "");
    fl_keeper_day(&s.k, 30, 0);
    fl_shelf_trace(&s, fl_shelf_find(&s, s.bin[1], "fungus_gnat", "larva", NONE));
    bool has_old = false;
    bool has_mix = false;
    bool has_room = false;
    double sum = 0.0;
    for (size_t i = 0; i < s.t.n_sources; i++) {
        has_old = has_old || s.t.sources[i].kind == FL_SUSPECT_ALREADY_HERE;
        has_mix = has_mix || s.t.sources[i].kind == FL_SUSPECT_MIX;
        has_room = has_room || s.t.sources[i].kind == FL_SUSPECT_ROOM;
        sum += s.t.sources[i].prob;
    }
    check_true(has_old && has_mix);
    check_true(has_room || sum > 0.99); /* the room may be below what is listed */
    check_close(sum, 1.0, 0.0, 0.01);
    fl_shelf_done(&s);
}

/* Links by name. On paper: thrips. p and q come on one day, stand two hours on one bench and go
 * into bins 1 and 2: q has what p brought with 1 - (1 - f)^(2/24), f the share of a day on one
 * bench. A week later a third purchase goes into bin 3; the round goes from bin 1 to bin 3 with
 * hands that were not cleaned: the third has it with the share of a tool. What was looked at with
 * clean hands only has nothing. */
static void test_bench_and_hands(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id p = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_id q = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, p, s.bin[1]);
    fl_keeper_move(&s.k, q, s.bin[2]);
    fl_keeper_day(&s.k, 7, 0);
    fl_id r = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 7, 1);
    fl_keeper_move(&s.k, r, s.bin[3]);
    fl_keeper_day(&s.k, 8, 0);
    fl_id t = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 8, 1);
    fl_keeper_move(&s.k, t, s.bin[4]);
    fl_keeper_day(&s.k, 10, 0);
    (void)fl_keeper_look(&s.k, s.bin[1], FL_EFFORT_GLANCE, 0, NULL, NONE);
    fl_keeper_day(&s.k, 10, 1);
    fl_event look = {.kind = FL_KIND_LOOK_DONE};
    look.body.look_done = (fl_ev_look_done){.place = s.bin[3],
                                            .effort = FL_EFFORT_GLANCE,
                                            .frac_examined = 1.0,
                                            .hands = FL_HANDS_NOT_CLEANED};
    fl_keeper_record(&s.k, &look);
    fl_keeper_day(&s.k, 10, 2);
    (void)fl_keeper_look(&s.k, s.bin[4], FL_EFFORT_GLANCE, 0, NULL, NONE); /* clean hands */
    fl_keeper_day(&s.k, 12, 0);
    fl_keeper_ask(&s.k);
    const fl_trace_question from_p = {.lot = fl_keeper_lot(&s.k, p),
                                      .threat = fl_know_threat_find(FL_SV("western_flower_thrips")),
                                      .from_s = FL_KEEPER_START_S,
                                      .to_s = FL_TIME_OPEN};
    check_ok(fl_trace_ask(&s.k.room, s.k.chances, &from_p, &s.arena, &s.t, &s.k.err), &s.k.err);
    double day = fl_shelf_share("western_flower_thrips", FL_LINK_OPEN_BENCH);
    check_close(fl_shelf_reached(&s, q).prob, 1.0 - pow(1.0 - day, 2.0 / 24.0), 1e-6, 0.0);
    check_int(fl_shelf_reached(&s, q).n_chain, 2); /* over the bench, then into its bin */
    check_int(fl_shelf_reached(&s, q).chain[0].link, FL_LINK_OPEN_BENCH);
    check_int(fl_shelf_reached(&s, q).link, FL_LINK_MOVE);
    check_close(fl_shelf_reached(&s, r).prob,
                fl_shelf_share("western_flower_thrips", FL_LINK_SHARED_TOOL), 1e-9, 0.0);
    check_int(fl_shelf_reached(&s, r).link, FL_LINK_SHARED_TOOL);
    check_false(fl_shelf_is_reached(&s, t));
    fl_shelf_done(&s);
}

static fl_id divide(fl_shelf *s, fl_id mother, fl_id to)
{
    fl_id lot = fl_keeper_id(&s->k);
    fl_event event = {.kind = FL_KIND_LOT_CUT};
    event.body.lot_cut = (fl_ev_lot_cut){.mother = mother,
                                         .lot = lot,
                                         .count = 1,
                                         .form = FL_FORM_POTTED,
                                         .use = FL_USE_STOCK,
                                         .place = to};
    fl_keeper_record(&s->k, &event);
    return lot;
}

/* Leaf litter from outdoors goes into an enclosure where an old plant stands; a slug is seen there
 * three weeks later. The litter is a candidate of its own, as material, before what was already
 * there. A division that left since is reached, and one that left before the litter came has it by
 * the old plant only; an unrooted cutting takes what can ride (data/stages.csv). */
static void test_material(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id tank =
        fl_keeper_place(&s.k, "window case", FL_PLACE_ENCLOSURE, 1U << FL_USE_PLANTS_ONLY, 22.0);
    fl_id woods = fl_keeper_source(&s.k, "the woods", FL_SOURCE_OUTDOORS, false);
    fl_id old = fl_keeper_already_here(&s.k, tank, 2);
    fl_keeper_day(&s.k, 2, 0);
    fl_id before = divide(&s, old, s.bin[1]);
    fl_keeper_day(&s.k, 5, 0);
    fl_id litter = fl_keeper_arrive(&s.k, woods, fl_keeper_id(&s.k), tank, FL_FORM_LEAF_LITTER,
                                    FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 20, 0);
    fl_id after = divide(&s, old, s.bin[2]);
    fl_id cutting = fl_keeper_cut(&s.k, old, s.bin[3], 1);
    fl_keeper_day(&s.k, 26, 0);
    fl_shelf_trace(&s, fl_shelf_find(&s, tank, "slug", "adult", NONE));
    check_int(s.t.sources[0].kind, FL_SUSPECT_MATERIAL);
    check_true(fl_id_eq(s.t.sources[0].lot, litter));
    check_true(s.t.sources[0].prob > 0.5);
    check_true(fl_shelf_reached(&s, after).prob > 0.5);
    check_int(fl_shelf_reached(&s, after).link, FL_LINK_DIVISION);
    double ride = fl_shelf_share("slug", FL_LINK_CUTTING);
    check_true(ride < 0.5);
    check_close(fl_shelf_reached(&s, cutting).prob, ride * fl_shelf_reached(&s, after).prob, 1e-9,
                0.0);
    check_true(!fl_shelf_is_reached(&s, before) ||
               fl_shelf_reached(&s, before).prob <= 1.01 - s.t.sources[0].prob);
    fl_shelf_done(&s);
}

/* An adult gives only a bound: at least its shortest development ago, however it is asked. */
static void test_an_adult_gives_a_bound(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 40, 0);
    fl_shelf_trace(&s, fl_shelf_find(&s, s.bin[1], "fungus_gnat", "adult", NONE));
    check_true(s.t.has_window && s.t.window.is_bound && s.t.is_older_possible);
    check_true(s.t.window_to_s < s.t.found_s);                 /* no adults come in with the pot */
    check_true(s.t.window_to_s > s.t.found_s - 10 * FL_DAY_S); /* but late pupae do */
    fl_shelf_done(&s);
}

/* A find without a name is traced when a threat is given, and says so when not. */
static void test_unnamed_retracted_harmless(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 9, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "", "", NONE);
    fl_keeper_ask(&s.k);
    fl_trace_question q = {
        .finding = fl_shelf_finding(&s, seen), .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_true(fl_trace_ask(&s.k.room, NULL, &q, &s.arena, &s.t, &s.k.err) == FL_EINVAL);
    check_contains(s.k.err.message, "no name yet");
    q.threat = fl_know_threat_find(FL_SV("aphid"));
    check_ok(fl_trace_ask(&s.k.room, NULL, &q, &s.arena, &s.t, &s.k.err), &s.k.err);
    check_true(s.t.n_sources >= 1 && s.t.sources[0].kind == FL_SUSPECT_PURCHASE);
    check_true(isnan(s.t.reached[0].chance_now));
    check_sv(s.k.room.meaning.findings[0].threat, ""); /* nothing was changed */

    fl_event named = {.kind = FL_KIND_FINDING_IDENTIFIED};
    named.body.finding_identified =
        (fl_ev_finding_identified){.finding = seen, .threat = FL_SV("springtail")};
    fl_keeper_record(&s.k, &named);
    fl_keeper_ask(&s.k);
    q = (fl_trace_question){
        .finding = fl_shelf_finding(&s, seen), .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_true(fl_trace_ask(&s.k.room, NULL, &q, &s.arena, &s.t, &s.k.err) == FL_EINVAL);
    check_contains(s.k.err.message, "harmless");

    fl_event gone = {.kind = FL_KIND_FINDING_RETRACTED};
    gone.body.finding_retracted = (fl_ev_finding_retracted){.finding = seen, .why = FL_SV("dust")};
    fl_keeper_record(&s.k, &gone);
    fl_keeper_ask(&s.k);
    q.finding = fl_shelf_finding(&s, seen);
    check_true(fl_trace_ask(&s.k.room, NULL, &q, &s.arena, &s.t, &s.k.err) == FL_EINVAL);
    check_contains(s.k.err.message, "taken back");
    fl_shelf_done(&s);
}

static void test_subjects_by_name(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_trace_question q;
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 9, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "aphid", "nymph", NONE);
    char code[FL_CODE_TEXT_MAX];
    fl_keeper_ask(&s.k);
    const fl_room *room = &s.k.room;
    fl_err *err = &s.k.err;
    check_ok(fl_trace_find_subject(room, fl_sv_from_cstr(fl_id_code(code, seen)), NULL, &q, err),
             err);
    check_true(q.finding != NULL && fl_id_eq(q.finding->finding, seen));
    check_ok(fl_trace_find_subject(room, FL_SV("bin 1"), NULL, &q, err), err);
    check_true(q.finding != NULL && fl_id_eq(q.finding->finding, seen));
    check_ok(fl_trace_find_subject(room, FL_SV("bin 2"), NULL, &q, err), err);
    check_true(q.finding == NULL && fl_id_eq(q.place, s.bin[2]));
    check_ok(fl_trace_find_subject(room, FL_SV("a plant"), NULL, &q, err), err);
    check_true(q.lot != NULL && fl_id_eq(q.lot->id, a));
    check_true(fl_trace_find_subject(room, FL_SV("attic"), NULL, &q, err) == FL_ENOTFOUND);
    check_contains(err->message, "attic");
    q = (fl_trace_question){.place = s.bin[2], .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_true(fl_trace_ask(room, NULL, &q, &s.arena, &s.t, err) == FL_EINVAL);
    check_contains(err->message, "no threat");
    q = (fl_trace_question){.from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_true(fl_trace_ask(room, NULL, &q, &s.arena, &s.t, err) == FL_EINVAL);
    fl_shelf_done(&s);
}

/* From a lot, without a find: what could have brought a threat to it, and whom it could reach. */
static void test_a_lot_and_a_threat(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_day(&s.k, 10, 0);
    fl_id b = fl_shelf_buy(&s, s.other_shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 10, 1);
    fl_keeper_move(&s.k, b, s.bin[1]);
    fl_keeper_day(&s.k, 20, 0);
    fl_keeper_ask(&s.k);
    fl_trace_question q = {.lot = fl_keeper_lot(&s.k, a),
                           .threat = fl_know_threat_find(FL_SV("aphid")),
                           .from_s = INT64_MIN,
                           .to_s = FL_TIME_OPEN};
    check_ok(fl_trace_ask(&s.k.room, s.k.chances, &q, &s.arena, &s.t, &s.k.err), &s.k.err);
    check_int(s.t.n_sources, 2); /* both purchases are in its pool */
    /* chain store 0.05, nursery 0.05 x 0.7: 1 to 0.7 */
    check_close(s.t.sources[0].prob, 1.0 / 1.7, 1e-6, 0.0);
    check_sv(s.t.sources[0].what, "the purchase from Garden Hall");
    check_true(fl_shelf_is_reached(&s, b) && fl_shelf_reached(&s, b).prob > 0.999);
    /* until day 5 there was no other */
    q.to_s = FL_KEEPER_START_S + 5 * FL_DAY_S;
    check_ok(fl_trace_ask(&s.k.room, s.k.chances, &q, &s.arena, &s.t, &s.k.err), &s.k.err);
    check_int(s.t.n_sources, 1);
    check_true(!fl_shelf_is_reached(&s, b));
    fl_shelf_done(&s);
}

/* A sedentary threat stays on its lot: a neighbour in the bin is not reached, a division is. */
static void test_a_sedentary_threat(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = fl_shelf_buy(&s, s.shop, arrival);
    fl_id b = fl_shelf_buy(&s, s.shop, arrival);
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_move(&s.k, b, s.bin[1]);
    fl_keeper_day(&s.k, 10, 0);
    fl_event cut = {.kind = FL_KIND_LOT_CUT};
    fl_id division = fl_keeper_id(&s.k);
    cut.body.lot_cut = (fl_ev_lot_cut){.mother = a,
                                       .lot = division,
                                       .count = 1,
                                       .form = FL_FORM_BARE_ROOT,
                                       .use = FL_USE_STOCK,
                                       .place = s.bin[2]};
    fl_keeper_record(&s.k, &cut);
    fl_keeper_day(&s.k, 30, 0);
    fl_ev_finding finding = {.finding = fl_keeper_id(&s.k),
                             .lot = a,
                             .threat = FL_SV("root_mealybug"),
                             .stage = FL_SV("nymph"),
                             .count = 1};
    fl_event look = {.kind = FL_KIND_LOOK_DONE};
    look.body.look_done = (fl_ev_look_done){.place = s.bin[1],
                                            .effort = FL_EFFORT_ROOTS,
                                            .frac_examined = 1.0,
                                            .hands = FL_HANDS_CLEANED,
                                            .findings = &finding,
                                            .n_findings = 1};
    fl_keeper_record(&s.k, &look);
    fl_shelf_trace(&s, finding.finding);
    check_true(fl_shelf_reached(&s, division).prob > 0.9);
    check_int(fl_shelf_reached(&s, division).link, FL_LINK_DIVISION);
    check_true(fl_shelf_is_place_reached(&s, s.bin[2]));
    check_true(!fl_shelf_is_reached(&s, b) || !fl_shelf_reached(&s, b).is_where_found);
    fl_shelf_done(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_two_bins_of_one_purchase),
    cmocka_unit_test(test_a_shared_tub_is_a_link),
    cmocka_unit_test(test_the_tub_alone),
    cmocka_unit_test(test_a_late_move_counts),
    cmocka_unit_test(test_a_cleaned_bin_keeps_a_leftover),
    cmocka_unit_test(test_people_who_got_cuttings),
    cmocka_unit_test(test_other_ways_in),
    cmocka_unit_test(test_bench_and_hands),
    cmocka_unit_test(test_material),
    cmocka_unit_test(test_an_adult_gives_a_bound),
    cmocka_unit_test(test_unnamed_retracted_harmless),
    cmocka_unit_test(test_subjects_by_name),
    cmocka_unit_test(test_a_lot_and_a_threat),
    cmocka_unit_test(test_a_sedentary_threat),
};
FL_TEST_MAIN(tests)
