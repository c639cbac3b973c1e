/* What is proposed after a find, and what never is. That nothing harms animals in an occupied
 * enclosure is checked over every threat; the rest on rooms small enough for paper. */
#include <math.h>
#include <string.h>

#include "json/event_codec.h"
#include "support/shelf.h"

static const fl_id NONE = {{0}};

static fl_id into_bin(fl_shelf *s, int day, fl_id source, int bin)
{
    fl_keeper_day(&s->k, day, 0);
    fl_id lot = fl_shelf_buy(s, source, fl_keeper_id(&s->k));
    fl_keeper_day(&s->k, day, 1);
    fl_keeper_move(&s->k, lot, s->bin[bin]);
    return lot;
}

static bool has_word(fl_sv text, const char *word)
{
    size_t len = strlen(word);
    for (size_t i = 0; i + len <= text.len; i++) {
        if (memcmp(text.ptr + i, word, len) == 0) {
            return true;
        }
    }
    return false;
}

/* ---- the first screen ---- */

static void test_first_five_lines(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    (void)into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 9, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "", "", NONE)); /* before it has a name */
    check_str(s.o.first[0], "Close the lid.");
    check_str(s.o.first[1], "Open nothing else.");
    check_contains(s.o.first[2], "Wash your hands");
    check_contains(s.o.first[3], "Mark it");
    check_contains(s.o.first[4], "photo");
    check_false(s.o.is_traced);
    check_int(s.o.state, FL_OUTBREAK_OPEN);
    check_int(s.o.n_proposals, 1); /* find out what it is; the place is on hold already */
    check_int(s.o.proposals[0].kind, FL_PROPOSE_NAME);
    check_int(s.o.proposals[0].n_events, 0);
    fl_shelf_done(&s);
}

/* ---- a quarantine bin ---- */

/* Thrips in a bin: what the survival table says of each treatment. Eggs are in the leaf and pupae
 * in the mix, so a rinse reaches larvae and adults only (pests.md 1.5: thrips egg S, pupa P). */
static void test_thrips_in_a_bin(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 12, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "western_flower_thrips", "larva", a));
    check_true(s.o.is_traced);
    const fl_proposal *treat = fl_shelf_proposal(&s, FL_PROPOSE_TREAT, s.bin[1]);
    check_true(treat != NULL);
    check_true(has_word(treat->text, "Strip off the old mix")); /* pupae are in it */
    check_true(has_word(treat->not_reached, "Lives through it: egg."));
    check_true(has_word(treat->not_reached, "larva, adult, pupa") ||
               has_word(treat->not_reached, "larva, pupa, adult"));
    check_int(treat->n_events, 1);
    check_int(treat->events[0].kind, FL_KIND_STEP_DONE);
    check_int(treat->events[0].body.step_done.n_steps, 3);
    /* soap and hot water do nothing that was shown against thrips on plants: not proposed */
    check_int(fl_shelf_count(&s, FL_PROPOSE_TREAT), 1);
    /* cards: yellow and blue show adults; potato and bait do not */
    check_int(fl_shelf_count(&s, FL_PROPOSE_CARD), 2);
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_CLEAN, s.bin[1]) != NULL);
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_TOOLS, NONE) != NULL);
    check_int(fl_shelf_count(&s, FL_PROPOSE_DISCARD), 1); /* the lot it was found on */
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_DISCARD, NONE)->events[0].body.lot_lost.count == 1);
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_TOLERATE, NONE) == NULL); /* not in quarantine */
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_HOLD, s.bin[1]) == NULL); /* held by the find */
    check_int(fl_shelf_count(&s, FL_PROPOSE_VET), 0);
    fl_shelf_done(&s);
}

/* Looks: five days on, and when what was an egg is a larva: 99.4 degree-days above 6.35 C (Li et
 * al. 2011, share of the whole) at 22 C are 6.35 days, so on day 7. */
static void test_looks_are_moved_forward(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    (void)into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 12, 0);
    int64_t found_s = s.k.now_s;
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "western_flower_thrips", "larva", NONE));
    int n_looks = 0;
    bool has_five = false;
    bool has_seven = false;
    for (size_t i = 0; i < s.o.n_proposals; i++) {
        if (s.o.proposals[i].kind == FL_PROPOSE_LOOK) {
            n_looks++;
            has_five = has_five || s.o.proposals[i].at_s == found_s + 5 * FL_DAY_S;
            has_seven = has_seven || s.o.proposals[i].at_s == found_s + 7 * FL_DAY_S;
            check_int(s.o.proposals[i].n_events, 0);
        }
    }
    check_int(n_looks, 2);
    check_true(has_five && has_seven);
    fl_shelf_done(&s);
}

/* Mealybugs: soap thins crawlers, hot water is published for mealybugs at 49 C and 10 minutes
 * (Middleton & Diepenbrock 2022), and potted plants stood that (Hara et al. 2010); a delicate plant
 * gets neither, and a moss no rinse. */
static void test_treatments_fit_the_plant(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id tough = fl_shelf_named(&s, s.bin[1], "the fig", "Ficus pumila");
    fl_keeper_day(&s.k, 20, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "citrus_mealybug", "adult", tough));
    bool has_soap = false;
    bool has_heat = false;
    for (size_t i = 0; i < s.o.n_proposals; i++) {
        const fl_proposal *p = &s.o.proposals[i];
        if (p->kind != FL_PROPOSE_TREAT) {
            continue;
        }
        const fl_ev_step *step = &p->events[0].body.step_done.steps[0];
        has_soap = has_soap || step->agent == FL_AGENT_SOAP;
        if (step->agent == FL_AGENT_SOAP) {
            check_true(has_word(p->not_reached, "Only thinned out: egg")); /* by the rinse */
            check_true(p->n_cautions > 1);
        }
        if (step->agent == FL_AGENT_HOT_WATER) {
            has_heat = true;
            check_close(step->temp_c, 49.0, 0.0, 0.0);
            check_close(step->minutes, 10.0, 0.0, 0.0);
            check_true(has_word(p->not_reached, "never count on none"));
            check_true(p->n_cautions > 1);
        }
    }
    check_true(has_soap && has_heat);
    fl_keeper_day(&s.k, 21, 0);
    fl_event moss = {.kind = FL_KIND_LOT_ARRIVED};
    moss.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(&s.k),
                                                .arrival = fl_keeper_id(&s.k),
                                                .source = s.shop,
                                                .name = FL_SV("a clump of moss"),
                                                .count = 1,
                                                .form = FL_FORM_MOSS_CLUMP,
                                                .use = FL_USE_PLANTS_ONLY,
                                                .place = s.bin[2],
                                                .cost = (double)NAN};
    fl_keeper_record(&s.k, &moss);
    fl_keeper_day(&s.k, 30, 0);
    fl_shelf_outbreak(
        &s, fl_shelf_find(&s, s.bin[2], "citrus_mealybug", "adult", moss.body.lot_arrived.lot));
    check_int(fl_shelf_count(&s, FL_PROPOSE_TREAT), 1); /* no bath: by hand, nothing to record */
    check_true(has_word(fl_shelf_proposal(&s, FL_PROPOSE_TREAT, NONE)->text, "by hand"));
    check_int(fl_shelf_proposal(&s, FL_PROPOSE_TREAT, NONE)->n_events, 0);
    check_int(fl_shelf_count(&s, FL_PROPOSE_DISCARD), 1);
    fl_shelf_done(&s);
}

/* Root-knot nematodes are out of reach: throwing the plant out is the usual answer, and says so. */
static void test_out_of_reach_says_discard(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 30, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "root_knot_nematode", "female", a));
    check_true(has_word(fl_shelf_proposal(&s, FL_PROPOSE_DISCARD, NONE)->why, "usual answer"));
    for (size_t i = 0; i < s.o.n_proposals; i++) { /* nothing to take off by hand, either */
        check_false(s.o.proposals[i].kind == FL_PROPOSE_TREAT &&
                    has_word(s.o.proposals[i].text, "by hand"));
    }
    fl_shelf_done(&s);
}

/* Leaf litter can be boiled, plants cannot. */
static void test_material_is_heated(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_event litter = {.kind = FL_KIND_LOT_ARRIVED};
    litter.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(&s.k),
                                                  .arrival = fl_keeper_id(&s.k),
                                                  .source = s.shop,
                                                  .name = FL_SV("oak leaves"),
                                                  .count = 1,
                                                  .form = FL_FORM_LEAF_LITTER,
                                                  .use = FL_USE_PLANTS_ONLY,
                                                  .place = s.bin[3],
                                                  .cost = (double)NAN};
    fl_keeper_record(&s.k, &litter);
    fl_keeper_day(&s.k, 10, 0);
    fl_shelf_outbreak(&s,
                      fl_shelf_find(&s, s.bin[3], "slug", "juvenile", litter.body.lot_arrived.lot));
    const fl_proposal *p = fl_shelf_proposal(&s, FL_PROPOSE_TREAT, s.bin[3]);
    check_true(p != NULL);
    check_int(p->events[0].body.step_done.steps[0].step, FL_STEP_BOIL);
    fl_shelf_done(&s);
}

/* ---- acceptable by itself ---- */

/* Every proposal with an event is recorded as it stands, from the struct and from its JSON, and a
 * second acceptance of the same answer changes nothing. */
static void test_each_is_acceptable_by_itself(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_keeper_day(&s.k, 0, 0);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = fl_shelf_buy(&s, s.shop, arrival);
    fl_id b = fl_shelf_buy(&s, s.shop, arrival);
    fl_keeper_day(&s.k, 0, 1);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_move(&s.k, b, s.bin[2]);
    fl_keeper_day(&s.k, 10, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "citrus_mealybug", "nymph", a));
    size_t n_recorded = 0;
    for (size_t i = 0; i < s.o.n_proposals; i++) {
        const fl_proposal *p = &s.o.proposals[i];
        check_true(p->text.len > 0);
        for (size_t k = 0; k < p->n_events; k++) {
            fl_str text;
            fl_recorded what;
            fl_str_init(&text, 65536);
            check_ok(fl_event_write(&p->events[k], &text, &s.k.err), &s.k.err);
            check_ok(fl_app_record(&s.k.app, fl_str_sv(&text), &what, &s.k.err), &s.k.err);
            check_int(what, FL_RECORDED_NEW);
            check_ok(fl_app_record(&s.k.app, fl_str_sv(&text), &what, &s.k.err), &s.k.err);
            check_int(what, FL_RECORDED_ALREADY);
            fl_str_done(&text);
            n_recorded++;
        }
    }
    check_true(n_recorded >= 5); /* hold, treatments, cleaning, discard … */
    fl_keeper_ask(&s.k);
    check_true(fl_meaning_is_held(&s.k.room.meaning, s.bin[2], s.k.now_s));
    check_true(fl_keeper_lot(&s.k, a)->is_gone);
    fl_keeper_verify(&s.k);
    fl_shelf_done(&s);
}

/* ---- animals ---- */

static bool harms_animals(const fl_proposal *p)
{
    for (size_t i = 0; i < p->n_events; i++) {
        const fl_event *e = &p->events[i];
        if (e->kind == FL_KIND_CARD_SET || e->kind == FL_KIND_PLACE_CLEANED ||
            e->kind == FL_KIND_STEP_DONE || e->kind == FL_KIND_STEP_STARTED) {
            return true;
        }
    }
    return false;
}

/* Over every threat that can be seen: with animals in, nothing is hung, laid, sprayed, dipped,
 * heated or cleaned there; what is done is done by hand, or outside it. */
static void test_nothing_harms_animals(void **state)
{
    (void)state;
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        fl_shelf s;
        if (threat->n_stages == 0) {
            continue;
        }
        fl_shelf_init(&s);
        fl_id tank = fl_shelf_tank(&s, "frog room", 1U << FL_USE_AMPHIBIAN);
        fl_id plant = fl_keeper_already_here(&s.k, tank, 1);
        fl_keeper_day(&s.k, 30, 0);
        fl_shelf_outbreak(&s, fl_shelf_find(&s, tank, threat->code,
                                            threat->stage[threat->n_stages - 1].name, plant));
        for (size_t k = 0; k < s.o.n_proposals; k++) {
            const fl_proposal *p = &s.o.proposals[k];
            if (fl_id_eq(p->place, tank) || p->kind == FL_PROPOSE_TREAT) {
                check_false(harms_animals(p));
            }
            check_true(p->kind != FL_PROPOSE_CARD && p->kind != FL_PROPOSE_CLEAN);
        }
        if (threat->class == FL_CLASS_PEST) {
            const fl_proposal *by_hand = fl_shelf_proposal(&s, FL_PROPOSE_TREAT, tank);
            check_true(by_hand != NULL && by_hand->n_events == 0);
            check_true(has_word(by_hand->text, "by hand"));
        }
        fl_shelf_done(&s);
    }
}

/* In a planted enclosure a plant can be taken out into a clean empty bin, and a mild pest lived
 * with; ants, which mob frogs, are not offered to be lived with. */
static void test_move_out_or_live_with_it(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id tank = fl_shelf_tank(&s, "frog room", 1U << FL_USE_AMPHIBIAN);
    fl_id plant = fl_keeper_already_here(&s.k, tank, 1);
    fl_keeper_day(&s.k, 30, 0);
    fl_id seen = fl_shelf_find(&s, tank, "fungus_gnat", "adult", plant);
    fl_shelf_outbreak(&s, seen);
    const fl_proposal *out = fl_shelf_proposal(&s, FL_PROPOSE_MOVE, NONE);
    check_true(out != NULL && out->n_events == 1);
    check_true(fl_id_eq(out->events[0].body.lot_moved.to, s.bin[1]));
    const fl_proposal *stay = fl_shelf_proposal(&s, FL_PROPOSE_TOLERATE, tank);
    check_true(stay != NULL);
    check_true(has_word(stay->why, "travels with every plant"));
    fl_keeper_day(&s.k, 30, 1);
    fl_shelf_accept(&s, stay);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.state, FL_OUTBREAK_TOLERATED);
    check_int(fl_shelf_count(&s, FL_PROPOSE_TOLERATE), 0);
    check_int(fl_shelf_count(&s, FL_PROPOSE_TREAT), 0);
    check_false(fl_meaning_is_held(&s.k.room.meaning, tank, s.k.now_s));
    check_true(fl_shelf_line(&s, FL_STORY_TOLERATED).text.len > 0);
    fl_keeper_day(&s.k, 31, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, tank, "ants", "worker", plant));
    check_int(fl_shelf_count(&s, FL_PROPOSE_TOLERATE), 0);
    fl_shelf_done(&s);
}

/* An ill animal is a vet's: the first lines and the first proposal say so, and no proposal treats
 * anything. */
static void test_an_ill_animal_is_a_vets(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id tank = fl_shelf_tank(&s, "frog room", 1U << FL_USE_AMPHIBIAN);
    fl_id plant = fl_keeper_already_here(&s.k, tank, 1);
    fl_keeper_day(&s.k, 10, 0);
    fl_id cutting = fl_keeper_cut(&s.k, plant, s.bin[1], 2);
    fl_keeper_day(&s.k, 20, 0);
    fl_id ill = fl_shelf_animal(&s, tank, FL_ANIMAL_ILL, "", false, INT64_MIN);
    fl_shelf_outbreak_animal(&s, ill);
    check_true(s.o.is_about_animals && s.t.is_threat_assumed);
    check_contains(s.o.first[3], "vet");
    check_int(s.o.proposals[0].kind, FL_PROPOSE_VET);
    check_int(fl_shelf_count(&s, FL_PROPOSE_TREAT), 0);
    check_int(fl_shelf_count(&s, FL_PROPOSE_CARD), 0);
    check_int(fl_shelf_count(&s, FL_PROPOSE_CLEAN), 0);
    check_true(fl_shelf_proposal(&s, FL_PROPOSE_HOLD, s.bin[1]) != NULL);
    const fl_proposal *tools = fl_shelf_proposal(&s, FL_PROPOSE_TOOLS, NONE);
    check_true(tools != NULL && tools->n_events == 0 && tools->n_cautions > 2);
    check_true(has_word(tools->text, "away from every animal"));
    check_true(fl_shelf_is_reached(&s, cutting));
    check_int(s.o.clear_s, FL_GATE_NEVER); /* no date: a vet's word */
    fl_shelf_done(&s);
}

/* A frog among the plants is kept, asked about and never released. */
static void test_a_stowaway_frog(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    (void)into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 3, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "stowaway_frog", "frog", NONE));
    const fl_proposal *p = fl_shelf_proposal(&s, FL_PROPOSE_VET, NONE);
    check_true(p != NULL && has_word(p->text, "Never release it"));
    check_int(fl_shelf_count(&s, FL_PROPOSE_TREAT), 0);
    check_int(fl_shelf_count(&s, FL_PROPOSE_CARD), 0);
    fl_shelf_done(&s);
}

/* ---- the story ---- */

/* Two plants of a purchase in two bins; something is found in one, the other is held by a proposal.
 * While it is open nothing is said of lifting; taken back, the find's own hold is gone by itself
 * and lifting the other is proposed: one event, after which nothing is left. A hold that the keeper
 * set for a reason of their own is not touched. */
static void test_holds_are_lifted_after(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id arrival = fl_keeper_id(&s.k);
    fl_id a = fl_shelf_buy(&s, s.shop, arrival);
    fl_id b = fl_shelf_buy(&s, s.shop, arrival);
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, a, s.bin[1]);
    fl_keeper_move(&s.k, b, s.bin[2]);
    fl_keeper_day(&s.k, 14, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "western_flower_thrips", "larva", a);
    fl_keeper_day(&s.k, 14, 1);
    fl_shelf_outbreak(&s, seen);
    check_int(fl_shelf_count(&s, FL_PROPOSE_LIFT), 0);
    fl_shelf_accept(&s, fl_shelf_proposal(&s, FL_PROPOSE_HOLD, s.bin[2]));
    fl_event own = {.kind = FL_KIND_HOLD_SET};
    own.body.hold_set = (fl_ev_hold_set){
        .hold = fl_keeper_id(&s.k), .place = s.bin[3], .why = FL_SV("the lid is cracked")};
    fl_keeper_record(&s.k, &own);
    fl_keeper_day(&s.k, 15, 0);
    fl_event back = {.kind = FL_KIND_FINDING_RETRACTED};
    back.body.finding_retracted.finding = seen;
    fl_keeper_record(&s.k, &back);
    fl_keeper_day(&s.k, 15, 1);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.n_proposals, 1);
    const fl_proposal *lift = fl_shelf_proposal(&s, FL_PROPOSE_LIFT, s.bin[2]);
    check_true(lift != NULL && lift->n_events == 1);
    fl_shelf_accept(&s, lift);
    fl_keeper_day(&s.k, 15, 2);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.n_proposals, 0);
    check_false(fl_meaning_is_held(&s.k.room.meaning, s.bin[2], s.k.now_s));
    check_true(fl_meaning_is_held(&s.k.room.meaning, s.bin[3], s.k.now_s));
    fl_keeper_verify(&s.k);
    fl_shelf_done(&s);
}

/* Came, found, held, treated, cleaned, looked at, lifted, all clear: in order, with the day it is
 * expected until it is there. */
static void test_story_to_the_all_clear(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id a = into_bin(&s, 0, s.shop, 1);
    fl_keeper_day(&s.k, 6, 0);
    fl_id seen = fl_shelf_find(&s, s.bin[1], "aphid", "nymph", a);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.state, FL_OUTBREAK_OPEN);
    check_true(s.o.clear_s > s.k.now_s && s.o.clear_s < s.k.now_s + 60 * FL_DAY_S);
    check_true(fl_shelf_line(&s, FL_STORY_CLEAR).is_future);
    fl_story_line came = fl_shelf_line(&s, FL_STORY_CAME);
    check_true(has_word(came.text, "Corner Nursery"));
    check_int(came.at_s, FL_KEEPER_START_S);
    fl_keeper_day(&s.k, 6, 1);
    fl_keeper_step(&s.k, &a, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_day(&s.k, 6, 2);
    fl_keeper_clean(&s.k, s.bin[1]);
    for (int day = 11; day <= 81; day += 7) {
        fl_keeper_day(&s.k, day, 0);
        (void)fl_keeper_look(&s.k, s.bin[1], FL_EFFORT_CAREFUL, 0, NULL, NONE);
    }
    fl_keeper_day(&s.k, 82, 0);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.state, FL_OUTBREAK_OPEN); /* the hold lasts until the keeper lifts it */
    const fl_proposal *lift = fl_shelf_proposal(&s, FL_PROPOSE_LIFT, s.bin[1]);
    check_true(lift != NULL && lift->n_events == 1);
    check_true(fl_id_eq(lift->events[0].body.hold_lifted.hold, fl_event_hold_of(seen)));
    fl_shelf_accept(&s, lift);
    fl_keeper_day(&s.k, 82, 1);
    fl_shelf_outbreak(&s, seen);
    check_int(s.o.state, FL_OUTBREAK_OVER);
    check_int(s.o.clear_s, FL_KEEPER_START_S + 82 * FL_DAY_S);
    check_int(s.o.n_proposals, 0);
    static const fl_story_kind order[] = {FL_STORY_CAME, FL_STORY_CONTACT, FL_STORY_FOUND,
                                          FL_STORY_STEP, FL_STORY_CLEANED, FL_STORY_LOOK,
                                          FL_STORY_CLEAR};
    int64_t before_s = INT64_MIN;
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        int64_t at_s = fl_shelf_line(&s, order[i]).at_s;
        check_true(at_s >= before_s);
        before_s = at_s;
    }
    check_false(fl_shelf_line(&s, FL_STORY_CLEAR).is_future);
    for (size_t i = 1; i < s.o.n_story; i++) {
        check_true(s.o.story[i].at_s >= s.o.story[i - 1].at_s);
    }
    fl_shelf_done(&s);
}

static void test_needs_a_finding_or_an_animal(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_keeper_ask(&s.k);
    const fl_trace_question q = {.place = s.bin[1], .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_true(fl_outbreak_ask(&s.k.room, s.k.chances, &q, &s.arena, &s.o, &s.k.err) == FL_EINVAL);
    check_status(&s.k.err, FL_EINVAL);
    fl_shelf_done(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_first_five_lines),
    cmocka_unit_test(test_thrips_in_a_bin),
    cmocka_unit_test(test_looks_are_moved_forward),
    cmocka_unit_test(test_treatments_fit_the_plant),
    cmocka_unit_test(test_out_of_reach_says_discard),
    cmocka_unit_test(test_material_is_heated),
    cmocka_unit_test(test_each_is_acceptable_by_itself),
    cmocka_unit_test(test_nothing_harms_animals),
    cmocka_unit_test(test_move_out_or_live_with_it),
    cmocka_unit_test(test_an_ill_animal_is_a_vets),
    cmocka_unit_test(test_a_stowaway_frog),
    cmocka_unit_test(test_story_to_the_all_clear),
    cmocka_unit_test(test_holds_are_lifted_after),
    cmocka_unit_test(test_needs_a_finding_or_an_animal),
};
FL_TEST_MAIN(tests)
