/* Lots and stays: births, what is inherited, counts, moves, ends. The wanted rows follow from the
 * contract in event/meaning.h and the rules in docs/models/ledger.md, worked by hand. */
#include "unit/core/ledger/history.h"

static void test_empty(void **state)
{
    (void)state;
    fl_meaning m = {0};
    fl_ledger_bound bound = fl_ledger_bound_of(NULL, 0);
    check_int(bound.lots + bound.stays + bound.fills + bound.holds + bound.findings, 0);
    check_int(bound.conflicts + bound.scratch_bytes, 0);
    m.n_lots = 7;
    fl_ledger_fold(NULL, 0, NULL, &m);
    check_int(m.n_lots, 0);
    check_true(fl_meaning_lot(&m, lot_id(1)) == NULL);
    check_true(fl_meaning_stay_at(&m, lot_id(1), 0) == NULL);
    check_true(fl_meaning_fill_at(&m, place_id(1), 0) == NULL);
    check_false(fl_meaning_is_held(&m, place_id(1), 0));
}

static void test_arrived(void **state)
{
    (void)state;
    history *h = history_with_places();
    unsigned birth = arrive(h, 100, 1, 5, BENCH);
    h->events[birth - 1].precision = FL_PRECISION_DAY;
    history_fold(h);
    const fl_lot *lot = lot_row(h, 1);
    check_id(lot->born_by, event_id(birth));
    check_int(lot->origin, FL_KIND_LOT_ARRIVED);
    check_int(lot->born_s, 100);
    check_int(lot->precision, FL_PRECISION_DAY);
    check_no_id(lot->mother);
    check_id(lot->arrival, id_of('a', 1));
    check_id(lot->source, id_of('s', 1));
    check_id(lot->plant, id_of('t', 1));
    check_sv(lot->name, "button fern");
    check_int(lot->form, FL_FORM_POTTED);
    check_int(lot->use, FL_USE_AMPHIBIAN);
    check_sv(lot->label_active, "imidacloprid");
    check_int(lot->count_born, 5);
    check_int(lot->count, 5);
    check_id(lot->place, place_id(BENCH));
    check_false(lot->is_gone);
    check_no_id(lot->released_by);
    check_stay(h, 1, 0, BENCH, 100, FL_TIME_OPEN);
    check_id(stay_row(h, 1, 0)->from_event, event_id(birth));
    check_no_id(stay_row(h, 1, 0)->to_event);
    check_no_conflict(h);
    history_end(h);
}

static void test_already_here(void **state)
{
    (void)state;
    history *h = history_with_places();
    fl_event *e = add(h, FL_KIND_LOT_ALREADY_HERE, 50);
    e->body.lot_already_here = (fl_ev_lot_already_here){
        .lot = lot_id(1),
        .plant = id_of('t', 2),
        .name = FL_SV("moss on the back wall"),
        .count = 1,
        .form = FL_FORM_MOSS_CLUMP,
        .use = FL_USE_REPTILE,
        .place = place_id(ENCLOSURE),
    };
    history_fold(h);
    const fl_lot *lot = lot_row(h, 1);
    check_int(lot->origin, FL_KIND_LOT_ALREADY_HERE);
    check_no_id(lot->arrival);
    check_no_id(lot->source);
    check_id(lot->plant, id_of('t', 2));
    check_sv(lot->name, "moss on the back wall");
    check_int(lot->form, FL_FORM_MOSS_CLUMP);
    check_int(lot->use, FL_USE_REPTILE);
    check_stay(h, 1, 0, ENCLOSURE, 50, FL_TIME_OPEN);
    history_end(h);
}

static void test_moves(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    unsigned first = move(h, 200, 1, BIN);
    move(h, 300, 1, BIN); /* within the place: nothing */
    unsigned second = move(h, 400, 1, JAR);
    history_fold(h);
    check_int(h->m.n_stays, 3);
    check_stay(h, 1, 0, BENCH, 100, 200);
    check_id(stay_row(h, 1, 0)->to_event, event_id(first));
    check_stay(h, 1, 1, BIN, 200, 400);
    check_id(stay_row(h, 1, 1)->from_event, event_id(first));
    check_id(stay_row(h, 1, 1)->to_event, event_id(second));
    check_stay(h, 1, 2, JAR, 400, FL_TIME_OPEN);
    check_id(lot_row(h, 1)->place, place_id(JAR));
    check_no_conflict(h);
    history_end(h);
}

/* Many lots in one event, one of them named twice. */
static void test_move_of_many(void **state)
{
    (void)state;
    fl_id ids[] = {lot_id(1), lot_id(2), lot_id(1)};
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    arrive(h, 100, 2, 1, BENCH);
    fl_event *e = add(h, FL_KIND_LOT_MOVED, 200);
    e->body.lot_moved = (fl_ev_lot_moved){{ids, 3}, place_id(BIN)};
    history_fold(h);
    check_int(h->m.n_stays, 4);
    check_stay(h, 1, 1, BIN, 200, FL_TIME_OPEN);
    check_stay(h, 2, 1, BIN, 200, FL_TIME_OPEN);
    check_no_conflict(h);
    history_end(h);
}

/* Told by dates only: arrival and move share the noon; the bench left no stay. */
static void test_same_second(void **state)
{
    (void)state;
    history *h = history_with_places();
    move(h, 100, 1, BIN);
    arrive(h, 100, 1, 5, BENCH);
    history_fold(h);
    check_int(h->m.n_stays, 1);
    check_stay(h, 1, 0, BIN, 100, FL_TIME_OPEN);
    check_no_conflict(h);
    history_end(h);
}

static void test_release(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned to_stock = release(h, 200, 1, BIN); /* stays where it is, as stock */
    history_fold(h);
    check_int(h->m.n_stays, 1);
    check_stay(h, 1, 0, BIN, 100, FL_TIME_OPEN);
    check_id(lot_row(h, 1)->released_by, event_id(to_stock));
    meaning_free(&h->m);
    unsigned to_enclosure = release(h, 300, 1, ENCLOSURE);
    h->events[h->count - 1].id = event_id(to_enclosure);
    history_fold(h);
    check_stay(h, 1, 0, BIN, 100, 300);
    check_stay(h, 1, 1, ENCLOSURE, 300, FL_TIME_OPEN);
    check_id(lot_row(h, 1)->released_by, event_id(to_enclosure));
    check_false(lot_row(h, 1)->is_gone);
    check_no_conflict(h);
    history_end(h);
}

static void test_outside(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned sold = release(h, 200, 1, OUTSIDE);
    arrive(h, 100, 2, 5, BIN);
    unsigned thrown = move(h, 300, 2, OUTSIDE);
    history_fold(h);
    check_int(h->m.n_stays, 2);
    check_stay(h, 1, 0, BIN, 100, 200);
    check_id(stay_row(h, 1, 0)->to_event, event_id(sold));
    check_true(lot_row(h, 1)->is_gone);
    check_no_id(lot_row(h, 1)->place);
    check_int(lot_row(h, 1)->count, 5); /* what went out */
    check_id(lot_row(h, 1)->released_by, event_id(sold));
    check_stay(h, 2, 0, BIN, 100, 300);
    check_id(stay_row(h, 2, 0)->to_event, event_id(thrown));
    check_true(lot_row(h, 2)->is_gone);
    check_no_id(lot_row(h, 2)->released_by);
    check_no_conflict(h);
    history_end(h);
}

/* The last definition of a place says what it is, also when it was told later. */
static void test_place_redefined(void **state)
{
    (void)state;
    history *h = history_with_places();
    define_place(h, 900, JAR, FL_PLACE_OUTSIDE);
    define_place(h, 900, OUTSIDE, FL_PLACE_BENCH);
    arrive(h, 100, 1, 5, BIN);
    move(h, 200, 1, JAR);
    arrive(h, 100, 2, 5, BIN);
    move(h, 200, 2, OUTSIDE);
    history_fold(h);
    check_true(lot_row(h, 1)->is_gone);
    check_false(lot_row(h, 2)->is_gone);
    check_stay(h, 2, 1, OUTSIDE, 200, FL_TIME_OPEN);
    history_end(h);
}

static void test_lost(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    lose(h, 200, 1, 2);
    lose(h, 250, 1, -4); /* nonsense: nothing */
    history_fold(h);
    check_int(lot_row(h, 1)->count, 3);
    check_int(lot_row(h, 1)->count_born, 5);
    check_false(lot_row(h, 1)->is_gone);
    check_stay(h, 1, 0, BIN, 100, FL_TIME_OPEN);
    meaning_free(&h->m);
    unsigned last = lose(h, 300, 1, 3);
    history_fold(h);
    check_int(lot_row(h, 1)->count, 0);
    check_true(lot_row(h, 1)->is_gone);
    check_no_id(lot_row(h, 1)->place);
    check_stay(h, 1, 0, BIN, 100, 300);
    check_id(stay_row(h, 1, 0)->to_event, event_id(last));
    check_no_conflict(h);
    history_end(h);
}

static void test_split(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    h->events[h->count - 1].body.lot_arrived.is_label_clean = true;
    unsigned stock = release(h, 150, 1, BIN);
    unsigned parted = split(h, 200, 1, 2, 2);
    history_fold(h);
    const fl_lot *part = lot_row(h, 2);
    check_int(lot_row(h, 1)->count, 3);
    check_int(part->origin, FL_KIND_LOT_SPLIT);
    check_id(part->born_by, event_id(parted));
    check_id(part->mother, lot_id(1));
    check_id(part->arrival, id_of('a', 1));
    check_id(part->source, id_of('s', 1));
    check_id(part->plant, id_of('t', 1));
    check_sv(part->name, "button fern");
    check_int(part->form, FL_FORM_POTTED);
    check_int(part->use, FL_USE_AMPHIBIAN);
    check_sv(part->label_active, "imidacloprid");
    check_true(part->is_label_clean);
    check_int(part->count_born, 2);
    check_int(part->count, 2);
    check_id(part->released_by, event_id(stock));
    check_stay(h, 2, 0, BIN, 200, FL_TIME_OPEN);
    check_stay(h, 1, 1, BIN, 150, FL_TIME_OPEN);
    check_no_conflict(h);
    history_end(h);
}

/* The whole lot goes over: the old one is gone, the new one stands where it stood. */
static void test_split_of_all(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    split(h, 200, 1, 2, 5);
    history_fold(h);
    check_true(lot_row(h, 1)->is_gone);
    check_stay(h, 1, 0, BIN, 100, 200);
    check_stay(h, 2, 0, BIN, 200, FL_TIME_OPEN);
    check_no_conflict(h);
    history_end(h);
}

static void test_cut(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned taken = cut(h, 200, 1, 2, JAR);
    cut(h, 300, 1, 3, JAR);
    h->events[h->count - 1].body.lot_cut.form = FL_FORM_BARE_ROOT; /* a division */
    history_fold(h);
    const fl_lot *cutting = lot_row(h, 2);
    check_int(lot_row(h, 1)->count, 5);
    check_int(cutting->origin, FL_KIND_LOT_CUT);
    check_id(cutting->born_by, event_id(taken));
    check_id(cutting->mother, lot_id(1));
    check_no_id(cutting->arrival);
    check_id(cutting->source, id_of('s', 1));
    check_id(cutting->plant, id_of('t', 1));
    check_sv(cutting->label_active, "imidacloprid");
    check_int(cutting->form, FL_FORM_UNROOTED_CUTTING);
    check_int(cutting->use, FL_USE_STOCK);
    check_int(cutting->count, 3);
    check_stay(h, 2, 0, JAR, 200, FL_TIME_OPEN);
    check_int(lot_row(h, 3)->form, FL_FORM_BARE_ROOT);
    check_no_conflict(h);
    history_end(h);
}

/* A cutting given away at once: born, and gone. */
static void test_cut_for_outside(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    cut(h, 200, 1, 2, OUTSIDE);
    history_fold(h);
    check_true(lot_row(h, 2)->is_gone);
    check_int(lot_row(h, 2)->count, 3);
    check_int(stay_count(h, 2), 0);
    check_no_conflict(h);
    history_end(h);
}

/* Three generations born in one second, the youngest with the smallest event id. */
static void test_births_of_one_second(void **state)
{
    (void)state;
    history *h = history_with_places();
    split(h, 100, 2, 3, 1);
    split(h, 100, 1, 2, 2);
    cut(h, 100, 3, 4, JAR);
    arrive(h, 100, 1, 5, BIN);
    history_fold(h);
    check_no_conflict(h);
    check_int(lot_row(h, 1)->count, 3);
    check_int(lot_row(h, 2)->count, 1);
    check_int(lot_row(h, 3)->count, 1);
    check_id(lot_row(h, 4)->source, id_of('s', 1));
    check_stay(h, 3, 0, BIN, 100, FL_TIME_OPEN);
    history_end(h);
}

/* Lots that descend from each other: the earliest birth has no mother, and the walk ends. */
static void test_circle_of_mothers(void **state)
{
    (void)state;
    history *h = history_with_places();
    split(h, 100, 3, 1, 1);
    split(h, 200, 1, 2, 1);
    split(h, 300, 2, 3, 1);
    split(h, 300, 4, 4, 1);
    cut(h, 400, 3, 5, JAR);
    history_fold(h);
    check_no_id(lot_row(h, 1)->mother);
    check_id(lot_row(h, 2)->mother, lot_id(1));
    check_id(lot_row(h, 3)->mother, lot_id(2));
    check_no_id(lot_row(h, 4)->mother);
    check_id(lot_row(h, 5)->mother, lot_id(3));
    check_no_id(lot_row(h, 1)->place);
    history_end(h);
}

/* A lot without a plant is gone from the start; a place that is none gives no stay. */
static void test_odd_births(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 0, BIN);
    arrive(h, 100, 2, -3, BIN);
    arrive(h, 100, 3, 4, BIN);
    h->events[h->count - 1].body.lot_arrived.place = (fl_id){{0}};
    move(h, 200, 3, 77); /* a place nobody defined is a place */
    history_fold(h);
    check_true(lot_row(h, 1)->is_gone);
    check_true(lot_row(h, 2)->is_gone);
    check_int(lot_row(h, 2)->count_born, 0);
    check_int(h->m.n_stays, 1);
    check_stay(h, 3, 0, 77, 200, FL_TIME_OPEN);
    history_end(h);
}

static void test_lookup(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    move(h, 200, 1, BIN);
    arrive(h, 100, 2, 5, JAR);
    lose(h, 300, 1, 5);
    history_fold(h);
    check_true(fl_meaning_lot(&h->m, lot_id(3)) == NULL);
    check_true(fl_meaning_stay_at(&h->m, lot_id(1), 99) == NULL);
    check_id(fl_meaning_stay_at(&h->m, lot_id(1), 100)->place, place_id(BENCH));
    check_id(fl_meaning_stay_at(&h->m, lot_id(1), 199)->place, place_id(BENCH));
    check_id(fl_meaning_stay_at(&h->m, lot_id(1), 200)->place, place_id(BIN));
    check_id(fl_meaning_stay_at(&h->m, lot_id(1), 299)->place, place_id(BIN));
    check_true(fl_meaning_stay_at(&h->m, lot_id(1), 300) == NULL);
    check_id(fl_meaning_stay_at(&h->m, lot_id(2), 5000)->place, place_id(JAR));
    check_true(fl_meaning_stay_at(&h->m, lot_id(3), 200) == NULL);
    history_end(h);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_empty),
    cmocka_unit_test(test_arrived),
    cmocka_unit_test(test_already_here),
    cmocka_unit_test(test_moves),
    cmocka_unit_test(test_move_of_many),
    cmocka_unit_test(test_same_second),
    cmocka_unit_test(test_release),
    cmocka_unit_test(test_outside),
    cmocka_unit_test(test_place_redefined),
    cmocka_unit_test(test_lost),
    cmocka_unit_test(test_split),
    cmocka_unit_test(test_split_of_all),
    cmocka_unit_test(test_cut),
    cmocka_unit_test(test_cut_for_outside),
    cmocka_unit_test(test_births_of_one_second),
    cmocka_unit_test(test_circle_of_mothers),
    cmocka_unit_test(test_odd_births),
    cmocka_unit_test(test_lookup),
};
FL_TEST_MAIN(tests)
