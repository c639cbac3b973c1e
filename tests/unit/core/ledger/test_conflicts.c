/* Conflicts: every kind, its two sides, and that nothing else happens. Worked by hand from
 * docs/models/ledger.md. Conflicts of findings and holds are in test_holds.c as well. */
#include "unit/core/ledger/history.h"

static void check_lot_of(const history *h, unsigned lot, unsigned place)
{
    check_id(h->m.conflicts[0].lot, lot_id(lot));
    if (place == 0) {
        check_no_id(h->m.conflicts[0].place);
    } else {
        check_id(h->m.conflicts[0].place, place_id(place));
    }
}

static void test_born_twice(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned first = arrive(h, 100, 1, 5, BIN);
    unsigned second = arrive(h, 200, 1, 9, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_BORN_TWICE, second, first);
    check_lot_of(h, 1, 0);
    check_int(h->m.conflicts[0].at_s, 200);
    check_int(h->m.n_lots, 1);
    check_int(lot_row(h, 1)->count, 5);
    check_stay(h, 1, 0, BIN, 100, FL_TIME_OPEN);
    history_end(h);
}

/* A split into a lot that is there adds nothing to it; the plants left their lot all the same. */
static void test_split_into_another(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned there = arrive(h, 100, 2, 5, JAR);
    unsigned parted = split(h, 200, 1, 2, 3);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_BORN_TWICE, parted, there);
    check_lot_of(h, 2, 0);
    check_int(lot_row(h, 1)->count, 2);
    check_int(lot_row(h, 2)->count, 5);
    history_end(h);
}

static void test_finding_twice(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned first = find(h, 100, BIN, 1, "");
    unsigned second = find(h, 200, JAR, 1, "");
    history_fold(h);
    check_conflict(h, FL_CONFLICT_BORN_TWICE, second, first);
    check_no_id(h->m.conflicts[0].lot);
    check_id(h->m.conflicts[0].place, place_id(JAR));
    check_int(h->m.n_findings, 1);
    check_id(h->m.findings[0].place, place_id(BIN));
    check_int(h->m.n_holds, 1);
    history_end(h);
}

static void test_hold_twice(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned first = set_hold(h, 100, BIN, 1);
    unsigned second = set_hold(h, 200, JAR, 1);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_BORN_TWICE, second, first);
    check_id(h->m.conflicts[0].place, place_id(JAR));
    check_int(h->m.n_holds, 1);
    check_id(h->m.holds[0].place, place_id(BIN));
    history_end(h);
}

/* Each kind of event that is about a lot, before its birth: the birth is the later side. */
static void test_before_born(void **state)
{
    (void)state;
    for (int kind = 0; kind < 8; kind++) {
        history *h = history_with_places();
        unsigned birth = arrive(h, 100, 1, 5, BIN);
        unsigned early = kind == 0   ? move(h, 50, 1, JAR)
                         : kind == 1 ? release(h, 50, 1, ENCLOSURE)
                         : kind == 2 ? lose(h, 50, 1, 2)
                         : kind == 3 ? split(h, 50, 1, 2, 2)
                         : kind == 4 ? cut(h, 50, 1, 2, JAR)
                         : kind == 5 ? step(h, 50, 1)
                         : kind == 6 ? look(h, 50, JAR)
                                     : start_step(h, 50, 1);
        if (kind == 6) {
            h->events[early - 1].body.look_done.lots = one_id(h, lot_id(1));
        }
        history_fold(h);
        check_conflict(h, FL_CONFLICT_BEFORE_BORN, birth, early);
        check_lot_of(h, 1, 0);
        check_int(h->m.conflicts[0].at_s, 100);
        check_int(lot_row(h, 1)->count, 5);
        check_stay(h, 1, 0, BIN, 100, FL_TIME_OPEN);
        check_no_id(lot_row(h, 1)->released_by);
        history_end(h);
    }
}

/* The parted plants are there all the same, of the same kind; where they stood nobody knows. */
static void test_split_before_born(void **state)
{
    (void)state;
    history *h = history_with_places();
    split(h, 50, 1, 2, 2);
    arrive(h, 100, 1, 5, BIN);
    history_fold(h);
    const fl_lot *part = lot_row(h, 2);
    check_int(part->count, 2);
    check_id(part->plant, id_of('t', 1));
    check_no_id(part->place);
    check_false(part->is_gone);
    check_int(stay_count(h, 2), 0);
    history_end(h);
}

/* The birth was voided: the lot is not there at all. */
static void test_never_born(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned birth = arrive(h, 100, 1, 5, BIN);
    unsigned moved = move(h, 200, 1, JAR);
    void_event(h, 300, birth);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_BEFORE_BORN, moved, 0);
    check_lot_of(h, 1, 0);
    check_int(h->m.n_lots + h->m.n_stays + h->m.n_fills, 0);
    history_end(h);
}

static void test_after_gone(void **state)
{
    (void)state;
    for (int kind = 0; kind < 6; kind++) {
        history *h = history_with_places();
        arrive(h, 100, 1, 5, BIN);
        unsigned last = lose(h, 200, 1, 5);
        unsigned late = kind == 0   ? move(h, 300, 1, JAR)
                        : kind == 1 ? release(h, 300, 1, ENCLOSURE)
                        : kind == 2 ? lose(h, 300, 1, 1)
                        : kind == 3 ? cut(h, 300, 1, 2, JAR)
                        : kind == 4 ? step(h, 300, 1)
                                    : split(h, 300, 1, 2, 1);
        history_fold(h);
        check_conflict(h, FL_CONFLICT_AFTER_GONE, late, last);
        check_lot_of(h, 1, 0);
        check_true(lot_row(h, 1)->is_gone);
        check_int(lot_row(h, 1)->count, 0);
        check_stay(h, 1, 0, BIN, 100, 200);
        check_int(stay_count(h, 1), 1);
        history_end(h);
    }
}

static void test_two_places(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    unsigned one = move(h, 200, 1, BIN);
    unsigned two = move(h, 200, 1, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_TWO_PLACES, two, one);
    check_lot_of(h, 1, JAR);
    check_stay(h, 1, 0, BENCH, 100, 200);
    check_stay(h, 1, 1, JAR, 200, FL_TIME_OPEN);
    check_int(h->m.n_stays, 2);
    history_end(h);
}

/* Also when one of the two is the place where it stood; not when both say the same. */
static void test_two_places_one_old(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned stays = move(h, 200, 1, BIN);
    unsigned leaves = move(h, 200, 1, JAR);
    arrive(h, 100, 2, 5, BENCH);
    move(h, 200, 2, JAR);
    move(h, 200, 2, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_TWO_PLACES, leaves, stays);
    check_lot_of(h, 1, JAR);
    history_end(h);
}

static void test_too_many_lost(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned birth = arrive(h, 100, 1, 5, BIN);
    unsigned lost = lose(h, 200, 1, 6);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_TOO_MANY, lost, birth);
    check_lot_of(h, 1, 0);
    check_int(lot_row(h, 1)->count, 0);
    check_true(lot_row(h, 1)->is_gone);
    history_end(h);
}

/* The other side is what last took plants; the parted plants are as many as was said. */
static void test_too_many_split(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned lost = lose(h, 200, 1, 3);
    unsigned parted = split(h, 300, 1, 2, 4);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_TOO_MANY, parted, lost);
    check_true(lot_row(h, 1)->is_gone);
    check_int(lot_row(h, 2)->count, 4);
    check_stay(h, 2, 0, BIN, 300, FL_TIME_OPEN);
    history_end(h);
}

static void test_not_there(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    unsigned moved = move(h, 200, 1, BIN);
    arrive(h, 100, 2, 5, JAR);
    unsigned seen = look(h, 300, JAR);
    fl_id ids[] = {lot_id(2), lot_id(1), lot_id(1)};
    h->events[seen - 1].body.look_done.lots = (fl_id_list){ids, 3};
    history_fold(h);
    check_conflict(h, FL_CONFLICT_NOT_THERE, seen, moved);
    check_lot_of(h, 1, JAR);
    history_end(h);
}

/* A finding on a lot that stood elsewhere; the finding itself is kept. */
static void test_finding_not_there(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned birth = arrive(h, 100, 1, 5, BIN);
    unsigned seen = find(h, 300, JAR, 1, "");
    fl_ev_finding on_lot = *h->events[seen - 1].body.look_done.findings;
    on_lot.lot = lot_id(1);
    h->events[seen - 1].body.look_done.findings = &on_lot;
    history_fold(h);
    check_conflict(h, FL_CONFLICT_NOT_THERE, seen, birth);
    check_id(h->m.findings[0].lot, lot_id(1));
    check_int(h->m.n_holds, 1);
    history_end(h);
}

static void test_released_twice_outside(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned sold = release(h, 200, 1, OUTSIDE);
    unsigned again = release(h, 300, 1, ENCLOSURE);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_RELEASED_TWICE, again, sold);
    check_lot_of(h, 1, 0);
    check_true(lot_row(h, 1)->is_gone);
    check_id(lot_row(h, 1)->released_by, event_id(sold));
    history_end(h);
}

/* Two devices told the same release. */
static void test_released_twice_same_place(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned once = release(h, 200, 1, ENCLOSURE);
    unsigned twice = release(h, 210, 1, ENCLOSURE);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_RELEASED_TWICE, twice, once);
    check_lot_of(h, 1, ENCLOSURE);
    check_stay(h, 1, 1, ENCLOSURE, 200, FL_TIME_OPEN);
    check_id(lot_row(h, 1)->released_by, event_id(twice));
    history_end(h);
}

static void test_released_twice_one_second(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned one = release(h, 200, 1, ENCLOSURE);
    unsigned two = release(h, 200, 1, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_RELEASED_TWICE, two, one);
    check_lot_of(h, 1, JAR);
    check_stay(h, 1, 1, JAR, 200, FL_TIME_OPEN);
    history_end(h);
}

/* Stock first, an enclosure later; or out again, and back in: each release is one of its own. */
static void test_released_often(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    release(h, 200, 1, BIN_2);
    release(h, 300, 1, ENCLOSURE);
    move(h, 400, 1, BIN);
    release(h, 500, 1, ENCLOSURE);
    move(h, 600, 1, BIN);
    move(h, 700, 1, ENCLOSURE);
    release(h, 800, 1, ENCLOSURE);
    history_fold(h);
    check_no_conflict(h);
    check_int(h->m.n_stays, 7);
    history_end(h);
}

static void test_hold_not_set(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned lifted = lift(h, 100, hold_id(1));
    unsigned set = set_hold(h, 200, BIN, 1);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_HOLD_NOT_SET, set, lifted);
    check_no_id(h->m.conflicts[0].lot);
    check_id(h->m.conflicts[0].place, place_id(BIN));
    check_int(h->m.holds[0].to_s, FL_TIME_OPEN);
    history_end(h);
}

static void test_left_held(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned seen = find(h, 200, BIN, 1, "");
    set_hold(h, 250, BIN, 1);
    move(h, 260, 1, BIN); /* within the place: nothing */
    unsigned left = move(h, 300, 1, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_LEFT_HELD, left, seen); /* of two holds, the earlier */
    check_lot_of(h, 1, BIN);
    check_stay(h, 1, 1, JAR, 300, FL_TIME_OPEN); /* it happened all the same */
    history_end(h);
}

static void test_released_from_held(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    set_hold(h, 150, BIN, 2);
    lift(h, 180, hold_id(2));
    unsigned set = set_hold(h, 200, BIN, 1);
    unsigned out = release(h, 300, 1, OUTSIDE);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_LEFT_HELD, out, set);
    check_true(lot_row(h, 1)->is_gone);
    history_end(h);
}

static void test_cut_from_held(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned set = set_hold(h, 200, BIN, 1);
    cut(h, 250, 1, 2, BIN); /* stays in the bin */
    unsigned taken = cut(h, 300, 1, 3, JAR);
    history_fold(h);
    check_conflict(h, FL_CONFLICT_LEFT_HELD, taken, set);
    check_lot_of(h, 3, BIN);
    history_end(h);
}

/* Before the hold, after it, dead, in the second of the find (a move comes before a look). */
static void test_not_left_held(void **state)
{
    (void)state;
    history *h = history_with_places();
    for (unsigned lot = 1; lot <= 5; lot++) {
        arrive(h, 100, lot, 5, BIN);
    }
    move(h, 150, 1, JAR);
    move(h, 200, 2, JAR);
    find(h, 200, BIN, 1, "");
    lose(h, 250, 3, 5);
    lift(h, 300, fl_id_derive(finding_id(1), FL_SV("hold")));
    release(h, 300, 4, ENCLOSURE); /* a release comes after a lift */
    move(h, 400, 5, JAR);
    history_fold(h);
    check_no_conflict(h);
    history_end(h);
}

/* Sorted by (moment, event, kind, other), whatever was found first. */
static void test_order(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 2, 5, BIN);
    arrive(h, 100, 1, 5, BIN);
    move(h, 300, 7, JAR);
    lose(h, 200, 2, 9);
    lose(h, 200, 1, 9);
    set_hold(h, 250, BIN, 1);
    lift(h, 240, hold_id(1));
    history_fold(h);
    check_int(h->m.n_conflicts, 4);
    check_int(h->m.conflicts[0].at_s, 200);
    check_int(h->m.conflicts[1].at_s, 200);
    check_true(fl_id_compare(h->m.conflicts[0].event, h->m.conflicts[1].event) < 0);
    check_int(h->m.conflicts[2].kind, FL_CONFLICT_HOLD_NOT_SET);
    check_int(h->m.conflicts[3].kind, FL_CONFLICT_BEFORE_BORN);
    history_end(h);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_born_twice),
    cmocka_unit_test(test_split_into_another),
    cmocka_unit_test(test_finding_twice),
    cmocka_unit_test(test_hold_twice),
    cmocka_unit_test(test_before_born),
    cmocka_unit_test(test_split_before_born),
    cmocka_unit_test(test_never_born),
    cmocka_unit_test(test_after_gone),
    cmocka_unit_test(test_two_places),
    cmocka_unit_test(test_two_places_one_old),
    cmocka_unit_test(test_too_many_lost),
    cmocka_unit_test(test_too_many_split),
    cmocka_unit_test(test_not_there),
    cmocka_unit_test(test_finding_not_there),
    cmocka_unit_test(test_released_twice_outside),
    cmocka_unit_test(test_released_twice_same_place),
    cmocka_unit_test(test_released_twice_one_second),
    cmocka_unit_test(test_released_often),
    cmocka_unit_test(test_hold_not_set),
    cmocka_unit_test(test_left_held),
    cmocka_unit_test(test_released_from_held),
    cmocka_unit_test(test_cut_from_held),
    cmocka_unit_test(test_not_left_held),
    cmocka_unit_test(test_order),
};
FL_TEST_MAIN(tests)
