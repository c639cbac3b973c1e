/* Findings and holds, worked by hand from the rules in docs/models/ledger.md. The derived ids are
 * checked against a SHA-256 computed with Python's hashlib. */
#include "core/know/know.h"
#include "unit/core/ledger/history.h"

#define THREAT "fungus_gnat"
#define OTHER_THREAT "chytrid_bd"
#define LOOK_ALIKE "springtail"

static const fl_hold *only_hold(const history *h)
{
    check_int(h->m.n_holds, 1);
    return &h->m.holds[0];
}

/* The one hold lasts from `from` to the event `end` (0: it lasts). */
static void check_hold_ends(const history *h, int64_t from_s, unsigned end)
{
    const fl_hold *hold = only_hold(h);
    check_int(hold->from_s, from_s);
    if (end == 0) {
        check_int(hold->to_s, FL_TIME_OPEN);
        check_no_id(hold->to_event);
        return;
    }
    check_id(hold->to_event, event_id(end));
    check_true(hold->to_s < FL_TIME_OPEN);
}

static void test_words_are_what_they_seem(void **state)
{
    (void)state;
    check_true(fl_know_threat_find(FL_SV(THREAT)) != NULL);
    check_true(fl_know_threat_find(FL_SV(OTHER_THREAT)) != NULL);
    check_true(fl_know_threat_find(FL_SV(LOOK_ALIKE)) == NULL);
}

static void test_by_keeper(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned set = set_hold(h, 100, BIN, 1);
    unsigned lifted = lift(h, 200, hold_id(1));
    lift(h, 300, hold_id(1)); /* it is over already: both agree */
    history_fold(h);
    const fl_hold *hold = only_hold(h);
    check_id(hold->id, hold_id(1));
    check_id(hold->place, place_id(BIN));
    check_int(hold->cause, FL_HOLD_BY_KEEPER);
    check_id(hold->from_event, event_id(set));
    check_no_id(hold->finding);
    check_int(hold->to_s, 200);
    check_id(hold->to_event, event_id(lifted));
    check_sv(hold->why, "wait and see");
    check_false(fl_meaning_is_held(&h->m, place_id(BIN), 99));
    check_true(fl_meaning_is_held(&h->m, place_id(BIN), 100));
    check_true(fl_meaning_is_held(&h->m, place_id(BIN), 199));
    check_false(fl_meaning_is_held(&h->m, place_id(BIN), 200));
    check_false(fl_meaning_is_held(&h->m, place_id(JAR), 150));
    check_no_conflict(h);
    history_end(h);
}

/* A short hold that began later hides no long one. */
static void test_is_held_by_any(void **state)
{
    (void)state;
    history *h = history_with_places();
    set_hold(h, 100, BIN, 1);
    set_hold(h, 200, BIN, 2);
    lift(h, 300, hold_id(2));
    lift(h, 500, hold_id(1));
    history_fold(h);
    check_true(fl_meaning_is_held(&h->m, place_id(BIN), 400));
    check_false(fl_meaning_is_held(&h->m, place_id(BIN), 500));
    history_end(h);
}

static void test_by_finding(void **state)
{
    (void)state;
    char text[FL_ID_TEXT_MAX];
    history *h = history_with_places();
    unsigned seen = find(h, 100, BIN, 1, "");
    history_fold(h);
    const fl_hold *hold = only_hold(h);
    check_int(hold->cause, FL_HOLD_BY_FINDING);
    check_id(hold->place, place_id(BIN));
    check_id(hold->from_event, event_id(seen));
    check_id(hold->finding, finding_id(1));
    check_sv(hold->why, "small and pale");
    check_str(fl_id_format(text, hold->id), "72c644b4-45bd-8785-8b30-3ff069aa660c");
    check_hold_ends(h, 100, 0);
    const fl_finding_now *row = &h->m.findings[0];
    check_int(h->m.n_findings, 1);
    check_id(row->finding, finding_id(1));
    check_id(row->look, event_id(seen));
    check_id(row->place, place_id(BIN));
    check_no_id(row->lot);
    check_int(row->at_s, 100);
    check_sv(row->threat, "");
    check_sv(row->stage, "adult");
    check_int(row->count, 2);
    check_false(row->is_removed);
    check_false(row->is_retracted);
    check_sv(row->what, "small and pale");
    history_end(h);
}

static void test_finding_lifted(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, THREAT);
    unsigned lifted = lift(h, 200, fl_id_derive(finding_id(1), FL_SV("hold")));
    history_fold(h);
    check_hold_ends(h, 100, lifted);
    check_no_conflict(h);
    history_end(h);
}

static void test_retracted(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, THREAT);
    unsigned back = retract(h, 200, 1);
    retract(h, 300, 1);
    history_fold(h);
    check_true(h->m.findings[0].is_retracted);
    check_hold_ends(h, 100, back);
    check_no_conflict(h);
    history_end(h);
}

static void test_identified_as_no_threat(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, "");
    unsigned named = identify(h, 200, 1, LOOK_ALIKE);
    h->events[h->count - 1].body.finding_identified.stage = FL_SV("any");
    history_fold(h);
    check_hold_ends(h, 100, named);
    check_sv(h->m.findings[0].threat, LOOK_ALIKE);
    check_sv(h->m.findings[0].stage, "any");
    check_no_conflict(h);
    history_end(h);
}

/* Named at the look as something harmless: there never was a hold. */
static void test_harmless_from_the_start(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, LOOK_ALIKE);
    history_fold(h);
    check_int(h->m.n_holds, 0);
    check_int(h->m.n_findings, 1);
    history_end(h);
}

/* The last naming counts, from the look on: what was thought harmless for a while was not. */
static void test_threat_after_all(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, "");
    unsigned first = identify(h, 200, 1, LOOK_ALIKE);
    unsigned last = identify(h, 300, 1, THREAT);
    history_fold(h);
    check_hold_ends(h, 100, 0);
    check_sv(h->m.findings[0].threat, THREAT);
    check_sv(h->m.findings[0].stage, "adult"); /* the last naming tells none: the look's */
    const fl_conflict *c = check_conflict(h, FL_CONFLICT_NAMED_TWICE, last, first);
    check_id(c->place, place_id(BIN));
    check_no_id(c->lot);
    check_int(c->at_s, 300);
    history_end(h);
}

/* Threat, harmless, harmless by another word: over since the first harmless one of the last run. */
static void test_harmless_after_all(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, THREAT);
    unsigned named = identify(h, 200, 1, LOOK_ALIKE);
    identify(h, 300, 1, "perlite");
    history_fold(h);
    check_hold_ends(h, 100, named);
    history_end(h);
}

/* Naming twice by the same word is no conflict; nor is naming what the look had named otherwise. */
static void test_same_name_again(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, OTHER_THREAT);
    identify(h, 200, 1, THREAT);
    identify(h, 300, 1, THREAT);
    history_fold(h);
    check_no_conflict(h);
    check_hold_ends(h, 100, 0);
    history_end(h);
}

static void test_named_before_the_look(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned named = identify(h, 50, 1, LOOK_ALIKE);
    unsigned seen = find(h, 100, BIN, 1, "");
    history_fold(h);
    check_int(h->m.n_holds, 0);
    check_sv(h->m.findings[0].threat, LOOK_ALIKE);
    check_conflict(h, FL_CONFLICT_FINDING_UNKNOWN, seen, named);
    check_id(h->m.conflicts[0].place, place_id(BIN));
    history_end(h);
}

static void test_retracted_before_the_look(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned back = retract(h, 50, 1);
    unsigned seen = find(h, 100, BIN, 1, "");
    history_fold(h);
    check_int(h->m.n_holds, 0);
    check_true(h->m.findings[0].is_retracted);
    check_conflict(h, FL_CONFLICT_FINDING_UNKNOWN, seen, back);
    history_end(h);
}

/* The look was voided: what was said of it is about nothing, and contradicts nothing. */
static void test_about_nothing(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned seen = find(h, 100, BIN, 1, "");
    identify(h, 200, 1, THREAT);
    identify(h, 250, 1, LOOK_ALIKE);
    retract(h, 300, 1);
    lift(h, 400, fl_id_derive(finding_id(1), FL_SV("hold")));
    void_event(h, 500, seen);
    history_fold(h);
    check_int(h->m.n_findings, 0);
    check_int(h->m.n_holds, 0);
    check_no_conflict(h);
    history_end(h);
}

static void test_tolerated(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, THREAT);
    tolerate(h, 150, JAR, THREAT, true);       /* elsewhere */
    tolerate(h, 160, BIN, OTHER_THREAT, true); /* another */
    tolerate(h, 170, BIN, THREAT, false);
    unsigned lived_with = tolerate(h, 200, BIN, THREAT, true);
    tolerate(h, 300, BIN, THREAT, false); /* an ended hold stays ended */
    history_fold(h);
    check_hold_ends(h, 100, lived_with);
    check_no_conflict(h);
    history_end(h);
}

static void test_tolerated_before(void **state)
{
    (void)state;
    history *h = history_with_places();
    tolerate(h, 50, BIN, THREAT, true);
    find(h, 100, BIN, 1, THREAT); /* no hold */
    tolerate(h, 150, BIN, THREAT, false);
    find(h, 200, BIN, 2, THREAT); /* a hold */
    history_fold(h);
    check_id(only_hold(h)->finding, finding_id(2));
    check_hold_ends(h, 200, 0);
    check_int(h->m.n_findings, 2);
    history_end(h);
}

/* Not named at the look; later named as what is tolerated there: over from the naming on. */
static void test_named_as_tolerated(void **state)
{
    (void)state;
    history *h = history_with_places();
    tolerate(h, 50, BIN, THREAT, true);
    find(h, 100, BIN, 1, "");
    unsigned named = identify(h, 200, 1, THREAT);
    history_fold(h);
    check_hold_ends(h, 100, named);
    history_end(h);
}

/* Tolerated for a while, and no more when it got its name. */
static void test_named_after_toleration(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, "");
    tolerate(h, 150, BIN, THREAT, true);
    tolerate(h, 180, BIN, THREAT, false);
    identify(h, 200, 1, THREAT);
    history_fold(h);
    check_hold_ends(h, 100, 0);
    history_end(h);
}

/* Of several ends the first counts. */
static void test_first_end(void **state)
{
    (void)state;
    history *h = history_with_places();
    find(h, 100, BIN, 1, "");
    retract(h, 400, 1);
    unsigned lifted = lift(h, 200, fl_id_derive(finding_id(1), FL_SV("hold")));
    identify(h, 300, 1, LOOK_ALIKE);
    history_fold(h);
    check_hold_ends(h, 100, lifted);
    history_end(h);
}

static void test_by_animal(void **state)
{
    (void)state;
    char text[FL_ID_TEXT_MAX];
    history *h = history_with_places();
    unsigned ill = animal(h, 100, ENCLOSURE, FL_ANIMAL_ILL, false);
    animal(h, 200, ENCLOSURE, FL_ANIMAL_DIED, false);
    animal(h, 300, ENCLOSURE, FL_ANIMAL_TESTED, false); /* negative: no hold */
    animal(h, 400, ENCLOSURE, FL_ANIMAL_TESTED, true);
    unsigned lifted = lift(h, 500, fl_id_derive(event_id(ill), FL_SV("hold")));
    history_fold(h);
    check_int(h->m.n_holds, 3);
    const fl_hold *hold = &h->m.holds[0];
    check_int(ill, 7);
    check_str(fl_id_format(text, hold->id), "297ced07-298f-8c0d-a87a-3a403825aa90");
    check_int(hold->cause, FL_HOLD_BY_ANIMAL);
    check_id(hold->place, place_id(ENCLOSURE));
    check_sv(hold->why, "the larger frog");
    check_id(hold->to_event, event_id(lifted));
    check_int(h->m.holds[1].from_s, 200);
    check_int(h->m.holds[1].to_s, FL_TIME_OPEN);
    check_int(h->m.holds[2].from_s, 400);
    check_no_conflict(h);
    history_end(h);
}

/* Set and lifted by dates only: set first, whatever the ids; kept, and covers no moment. */
static void test_hold_of_one_second(void **state)
{
    (void)state;
    history *h = history_with_places();
    lift(h, 100, hold_id(1));
    set_hold(h, 100, BIN, 1);
    set_hold(h, 100, BIN, 2);
    unsigned lifted = lift(h, 100, hold_id(2));
    arrive(h, 50, 1, 5, BIN);
    release(h, 100, 1, ENCLOSURE);
    history_fold(h);
    check_int(h->m.n_holds, 2);
    check_int(h->m.holds[0].to_s, 100);
    check_id(h->m.holds[1].to_event, event_id(lifted));
    check_false(fl_meaning_is_held(&h->m, place_id(BIN), 100));
    check_no_conflict(h);
    history_end(h);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_words_are_what_they_seem),
    cmocka_unit_test(test_by_keeper),
    cmocka_unit_test(test_is_held_by_any),
    cmocka_unit_test(test_by_finding),
    cmocka_unit_test(test_finding_lifted),
    cmocka_unit_test(test_retracted),
    cmocka_unit_test(test_identified_as_no_threat),
    cmocka_unit_test(test_harmless_from_the_start),
    cmocka_unit_test(test_threat_after_all),
    cmocka_unit_test(test_harmless_after_all),
    cmocka_unit_test(test_same_name_again),
    cmocka_unit_test(test_named_before_the_look),
    cmocka_unit_test(test_retracted_before_the_look),
    cmocka_unit_test(test_about_nothing),
    cmocka_unit_test(test_tolerated),
    cmocka_unit_test(test_tolerated_before),
    cmocka_unit_test(test_named_as_tolerated),
    cmocka_unit_test(test_named_after_toleration),
    cmocka_unit_test(test_first_end),
    cmocka_unit_test(test_by_animal),
    cmocka_unit_test(test_hold_of_one_second),
};
FL_TEST_MAIN(tests)
