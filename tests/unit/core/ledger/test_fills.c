/* Fills: the life of a place from clean to clean, worked by hand from the comment in
 * event/meaning.h. The derived id is checked against a SHA-256 computed with Python's hashlib. */
#include "unit/core/ledger/history.h"

static void test_first_stay_begins(void **state)
{
    (void)state;
    char text[FL_ID_TEXT_MAX];
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BENCH);
    unsigned moved = move(h, 200, 1, BIN);
    history_fold(h);
    check_int(moved, 8);
    check_fill(h, BENCH, 0, 100, FL_TIME_OPEN, false);
    check_fill(h, BIN, 0, 200, FL_TIME_OPEN, false);
    check_id(fill_row(h, BIN, 0)->from_event, event_id(moved));
    check_no_id(fill_row(h, BIN, 0)->to_event);
    /* SHA-256 of place 2 and event 8, by hashlib */
    check_str(fl_id_format(text, fill_row(h, BIN, 0)->id), "19fc66bf-f314-89ab-9d0d-131d30a07c1d");
    check_int(h->m.n_fills, 2);
    history_end(h);
}

/* The fill outlasts its lots: it ends when the bin is clean, not when it is empty. */
static void test_empty_until_cleaned(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    move(h, 200, 1, JAR);
    arrive(h, 300, 2, 5, BIN);
    move(h, 400, 2, JAR);
    unsigned cleaned = clean(h, 500, BIN);
    arrive(h, 600, 3, 5, BIN);
    history_fold(h);
    check_fill(h, BIN, 0, 100, 500, false);
    check_id(fill_row(h, BIN, 0)->to_event, event_id(cleaned));
    check_fill(h, BIN, 1, 600, FL_TIME_OPEN, false);
    check_int(fill_count(h, BIN), 2);
    history_end(h);
}

static void test_lots_stay_through(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned cleaned = clean(h, 200, BIN);
    move(h, 300, 1, JAR);
    clean(h, 400, BIN);
    history_fold(h);
    check_fill(h, BIN, 0, 100, 200, false);
    check_fill(h, BIN, 1, 200, 400, true);
    check_id(fill_row(h, BIN, 1)->from_event, event_id(cleaned));
    check_int(fill_count(h, BIN), 2);
    /* cleaning a bin does not touch its lots */
    check_stay(h, 1, 0, BIN, 100, 300);
    history_end(h);
}

/* A lot that came first and stays longest is still in, though a later one has left. */
static void test_longest_counts(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    arrive(h, 200, 2, 5, BIN);
    move(h, 300, 2, JAR);
    clean(h, 400, BIN);
    history_fold(h);
    check_fill(h, BIN, 1, 400, FL_TIME_OPEN, true);
    history_end(h);
}

static void test_cleaning_nothing(void **state)
{
    (void)state;
    history *h = history_with_places();
    clean(h, 100, BIN);
    arrive(h, 200, 1, 5, BIN);
    move(h, 300, 1, JAR);
    clean(h, 400, BIN);
    clean(h, 500, BIN);
    clean(h, 600, 77);
    history_fold(h);
    check_fill(h, BIN, 0, 200, 400, false);
    check_int(fill_count(h, BIN), 1);
    check_int(h->m.n_fills, 2);
    check_no_conflict(h);
    history_end(h);
}

/* Dates only: out, clean and in again share a noon. What left has left before, what came came
 * after, whatever the order of kinds. */
static void test_second_of_the_cleaning(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    move(h, 200, 1, JAR);
    clean(h, 200, BIN);
    arrive(h, 200, 2, 5, BIN);
    history_fold(h);
    check_fill(h, BIN, 0, 100, 200, false);
    check_fill(h, BIN, 1, 200, FL_TIME_OPEN, false);
    check_int(h->m.n_fills, 3); /* and the jar's */
    history_end(h);
}

static void test_cleaned_twice_in_one_second(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    unsigned first = clean(h, 200, BIN);
    clean(h, 200, BIN);
    history_fold(h);
    check_fill(h, BIN, 0, 100, 200, false);
    check_fill(h, BIN, 1, 200, FL_TIME_OPEN, true);
    check_id(fill_row(h, BIN, 1)->from_event, event_id(first));
    check_int(h->m.n_fills, 2);
    history_end(h);
}

/* Two lots come in one second by two events: the first in canonical order began the fill. */
static void test_begun_by_the_first(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 2, 5, BENCH);
    arrive(h, 200, 1, 5, BENCH);
    unsigned moved = move(h, 200, 2, BIN);
    unsigned later = move(h, 200, 1, BIN);
    history_fold(h);
    check_true(later > moved);
    check_id(fill_row(h, BIN, 0)->from_event, event_id(moved));
    history_end(h);
}

static void test_enclosures_too(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    release(h, 200, 1, ENCLOSURE);
    arrive(h, 100, 2, 5, BIN);
    release(h, 200, 2, OUTSIDE);
    history_fold(h);
    check_fill(h, ENCLOSURE, 0, 200, FL_TIME_OPEN, false);
    check_int(fill_count(h, OUTSIDE), 0);
    history_end(h);
}

static void test_lookup(void **state)
{
    (void)state;
    history *h = history_with_places();
    arrive(h, 100, 1, 5, BIN);
    clean(h, 200, BIN);
    move(h, 300, 1, JAR);
    clean(h, 400, BIN);
    history_fold(h);
    check_true(fl_meaning_fill_at(&h->m, place_id(BIN), 99) == NULL);
    check_int(fl_meaning_fill_at(&h->m, place_id(BIN), 100)->from_s, 100);
    check_int(fl_meaning_fill_at(&h->m, place_id(BIN), 200)->from_s, 200);
    check_int(fl_meaning_fill_at(&h->m, place_id(BIN), 399)->from_s, 200);
    check_true(fl_meaning_fill_at(&h->m, place_id(BIN), 400) == NULL);
    check_true(fl_meaning_fill_at(&h->m, place_id(BENCH), 300) == NULL);
    history_end(h);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_first_stay_begins),
    cmocka_unit_test(test_empty_until_cleaned),
    cmocka_unit_test(test_lots_stay_through),
    cmocka_unit_test(test_longest_counts),
    cmocka_unit_test(test_cleaning_nothing),
    cmocka_unit_test(test_second_of_the_cleaning),
    cmocka_unit_test(test_cleaned_twice_in_one_second),
    cmocka_unit_test(test_begun_by_the_first),
    cmocka_unit_test(test_enclosures_too),
    cmocka_unit_test(test_lookup),
};
FL_TEST_MAIN(tests)
