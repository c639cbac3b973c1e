/* The journal: what goes in comes out byte for byte, in both orders, and nothing goes in half. */
#include <stdio.h>
#include <string.h>

#include <sqlite3.h>

#include "base/limits.h"
#include "support/room.h"

static bool same(fl_sv a, fl_sv b)
{
    return a.len == b.len && memcmp(a.ptr, b.ptr, a.len) == 0;
}

static int setup(void **state)
{
    static fl_test_room room;
    fl_test_room_init(&room);
    *state = &room;
    return 0;
}

static int teardown(void **state)
{
    fl_test_room_done(*state);
    return 0;
}

static void test_append_and_get(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 5000);
    /* any bytes come back, also ones a careless text column would change */
    event.bytes = (fl_sv){"{\"\xc3\xa4\xf0\x9f\x90\xb8\xff\0\r\n\"}", 15};
    fl_test_record(room, &event);
    fl_test_room_reopen(room);
    fl_sv bytes = {0};
    check_ok(fl_store_journal_get(room->store, fl_test_id(1), &room->arena, &bytes, &room->err),
             &room->err);
    check_true(same(bytes, event.bytes));
    fl_status status =
        fl_store_journal_get(room->store, fl_test_id(2), &room->arena, &bytes, &room->err);
    check_int(status, FL_ENOTFOUND);
    check_contains(room->err.message, "00000000-0000-0000-0000-000000000002");
    check_true(same(bytes, event.bytes)); /* untouched */
}

static void test_order_of_recording(void **state)
{
    fl_test_room *room = *state;
    int64_t last = -1;
    check_ok(fl_store_journal_last(room->store, &last, &room->err), &room->err);
    check_int(last, 0);
    for (uint64_t i = 1; i <= 40; i++) {
        fl_test_event event = fl_test_arrived(&room->arena, 1000 - i, i, (int64_t)(5000 - i));
        fl_test_record(room, &event);
    }
    check_ok(fl_store_journal_last(room->store, &last, &room->err), &room->err);
    check_int(last, 40);
    fl_journal_row *rows = NULL;
    size_t count = 0;
    check_ok(
        fl_store_journal_read(room->store, 0, SIZE_MAX, &room->arena, &rows, &count, &room->err),
        &room->err);
    check_int(count, 40);
    for (size_t i = 0; i < count; i++) {
        check_int(rows[i].position, i + 1);
        check_true(fl_id_eq(rows[i].id, fl_test_id(999 - i)));
        check_int(rows[i].recorded_s, 1700000000);
    }
    check_ok(fl_store_journal_read(room->store, 38, 1, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 1);
    check_int(rows[0].position, 39);
    check_ok(fl_store_journal_read(room->store, 40, 5, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 0);
    check_ok(fl_store_journal_read(room->store, 0, 0, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 0);
}

/* design.md section 3: order is by moment, then rank of the kind, then id. */
static void test_order_of_occurrence(void **state)
{
    fl_test_room *room = *state;
    fl_id lot = fl_test_id(100);
    fl_id other = fl_test_id(101);
    fl_test_event made[] = {
        fl_test_moved(&room->arena, 7, &lot, 8100, 900),
        fl_test_moved(&room->arena, 2, &lot, 8100, 500), /* same moment as the arrival: after it */
        fl_test_arrived(&room->arena, 9, 100, 500),
        fl_test_moved(&room->arena, 1, &lot, 8100, 500),
        fl_test_moved(&room->arena, 3, &other, 8101, 100),
        fl_test_moved(&room->arena, 4, &lot, 8101, -100), /* before 1970 */
    };
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        fl_test_record(room, &made[i]);
    }
    fl_journal_row *rows = NULL;
    size_t count = 0;
    check_ok(fl_store_events_of(room->store, &lot, 1, &room->arena, &rows, &count, &room->err),
             &room->err);
    static const uint64_t want[] = {4, 9, 1, 2, 7};
    check_int(count, 5);
    for (size_t i = 0; i < count; i++) {
        check_true(fl_id_eq(rows[i].id, fl_test_id(want[i])));
    }
    check_true(same(rows[1].bytes, made[2].bytes));
    /* several ids, repeated and unknown ones: each event once */
    fl_id many[] = {lot, fl_test_id(8101), fl_test_id(555), lot, fl_test_id(8001)};
    check_ok(fl_store_events_of(room->store, many, 5, &room->arena, &rows, &count, &room->err),
             &room->err);
    static const uint64_t want_many[] = {4, 3, 9, 1, 2, 7};
    check_int(count, 6);
    for (size_t i = 0; i < count; i++) {
        check_true(fl_id_eq(rows[i].id, fl_test_id(want_many[i])));
    }
    check_ok(fl_store_events_of(room->store, NULL, 0, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 0);
    fl_id unknown = fl_test_id(777);
    check_ok(fl_store_events_of(room->store, &unknown, 1, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 0);
}

static void test_entities(void **state)
{
    fl_test_room *room = *state;
    fl_test_event first = fl_test_arrived(&room->arena, 1, 103, 500);
    fl_test_event second = fl_test_arrived(&room->arena, 2, 101, 400);
    fl_test_record(room, &first);
    fl_test_record(room, &second);
    fl_id *ids = NULL;
    size_t count = 0;
    check_ok(fl_store_entities(room->store, FL_ENTITY_LOT, &room->arena, &ids, &count, &room->err),
             &room->err);
    check_int(count, 2);
    check_true(fl_id_eq(ids[0], fl_test_id(103)));
    check_true(fl_id_eq(ids[1], fl_test_id(101)));
    check_ok(fl_store_entities(room->store, FL_ENTITY_HOLD, &room->arena, &ids, &count, &room->err),
             &room->err);
    check_int(count, 0);
    check_ok(
        fl_store_entities(room->store, FL_ENTITY_EVENT, &room->arena, &ids, &count, &room->err),
        &room->err);
    check_int(count, 2);
    check_true(fl_id_eq(ids[1], fl_test_id(2)));
    static const struct {
        fl_entity entity;
        uint64_t id;
        bool exists;
    } cases[] = {
        {FL_ENTITY_LOT, 103, true},    {FL_ENTITY_LOT, 8002, false},
        {FL_ENTITY_PLACE, 103, false}, {FL_ENTITY_SOURCE, 8002, false}, /* only mentioned */
        {FL_ENTITY_EVENT, 1, true},    {FL_ENTITY_EVENT, 103, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bool exists = !cases[i].exists;
        check_ok(fl_store_entity_exists(room->store, cases[i].entity, fl_test_id(cases[i].id),
                                        &exists, &room->err),
                 &room->err);
        check_int(exists, cases[i].exists);
    }
}

static void test_facts_of(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_record(room, &event);
    fl_fact *facts = NULL;
    size_t count = 0;
    check_ok(
        fl_store_facts_of(room->store, fl_test_id(1), &room->arena, &facts, &count, &room->err),
        &room->err);
    check_int(count, event.n_facts);
    for (size_t i = 0; i < count; i++) {
        size_t hits = 0;
        for (size_t j = 0; j < event.n_facts; j++) {
            hits += fl_id_eq(facts[i].id, event.facts[j].id) &&
                    facts[i].entity == event.facts[j].entity &&
                    facts[i].is_definition == event.facts[j].is_definition;
        }
        check_int(hits, 1);
    }
    check_true(facts[0].is_definition);
    check_ok(
        fl_store_facts_of(room->store, fl_test_id(9), &room->arena, &facts, &count, &room->err),
        &room->err);
    check_int(count, 0);
}

static void test_voidings(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 5, 100, 500);
    fl_test_event voids = fl_test_voided(&room->arena, 3, 5, 600);
    fl_test_event again = fl_test_voided(&room->arena, 2, 5, 600);
    fl_test_record(room, &event);
    fl_test_record(room, &voids);
    fl_test_record(room, &again);
    fl_voiding *rows = NULL;
    size_t count = 0;
    check_ok(fl_store_voidings(room->store, &room->arena, &rows, &count, &room->err), &room->err);
    check_int(count, 2);
    check_true(fl_id_eq(rows[0].event, fl_test_id(5)) && fl_id_eq(rows[0].by, fl_test_id(3)));
    check_true(fl_id_eq(rows[1].event, fl_test_id(5)) && fl_id_eq(rows[1].by, fl_test_id(2)));
}

static void test_refusals(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    check_int(fl_test_append(room->store, &event, &room->err), FL_EINVAL); /* no transaction */
    fl_test_record(room, &event);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_int(fl_test_append(room->store, &event, &room->err), FL_ECONFLICT);
    check_contains(room->err.message, "00000000-0000-0000-0000-000000000001");
    fl_test_event nameless = fl_test_arrived(&room->arena, 0, 100, 500);
    check_int(fl_test_append(room->store, &nameless, &room->err), FL_EINVAL);
    fl_test_event empty = fl_test_arrived(&room->arena, 2, 100, 500);
    empty.bytes.len = 1;
    check_int(fl_test_append(room->store, &empty, &room->err), FL_EINVAL);
    fl_test_event large = fl_test_arrived(&room->arena, 3, 100, 500);
    large.bytes.ptr = fl_arena_alloc(&room->arena, FL_EVENT_BYTES_MAX + 1, 1);
    large.bytes.len = FL_EVENT_BYTES_MAX + 1;
    check_int(fl_test_append(room->store, &large, &room->err), FL_ETOOBIG);
    large.bytes.len = FL_EVENT_BYTES_MAX;
    check_ok(fl_test_append(room->store, &large, &room->err), &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
}

/* An append that fails half-way leaves nothing of itself, and all that the transaction had. */
static void test_append_is_whole(void **state)
{
    fl_test_room *room = *state;
    fl_test_event good = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_event bad = fl_test_arrived(&room->arena, 2, 101, 500);
    bad.facts[bad.n_facts] = bad.facts[0]; /* the same mention twice: refused by the file's key */
    bad.n_facts++;
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, &good, &room->err), &room->err);
    check_int(fl_test_append(room->store, &bad, &room->err), FL_EINVAL);
    bad.n_facts--;
    bad.facts[bad.n_facts - 1].id = (fl_id){{0}}; /* a mention of nothing */
    check_int(fl_test_append(room->store, &bad, &room->err), FL_EINVAL);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    fl_journal_row *rows = NULL;
    size_t count = 0;
    check_ok(fl_store_journal_read(room->store, 0, 10, &room->arena, &rows, &count, &room->err),
             &room->err);
    check_int(count, 1);
    bool exists = true;
    check_ok(
        fl_store_entity_exists(room->store, FL_ENTITY_LOT, fl_test_id(101), &exists, &room->err),
        &room->err);
    check_false(exists);
    check_ok(fl_store_check(room->store, &room->err), &room->err);
}

static void test_rollback(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, &event, &room->err), &room->err);
    fl_store_rollback(room->store);
    fl_store_rollback(room->store); /* harmless */
    check_int(fl_store_commit(room->store, &room->err), FL_EINVAL);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, &event, &room->err), &room->err);
    check_int(fl_store_begin(room->store, &room->err), FL_EINVAL); /* not nested */
    check_int(fl_store_begin_read(room->store, &room->err), FL_EINVAL);
    fl_test_room_reopen(room); /* closing rolls back */
    int64_t last = -1;
    check_ok(fl_store_journal_last(room->store, &last, &room->err), &room->err);
    check_int(last, 0);
}

/* Runs SQL on the file behind the store's back; the result code. */
static int tamper(const fl_test_room *room, const char *sql)
{
    sqlite3 *db = NULL;
    check_int(sqlite3_open(room->file, &db), SQLITE_OK);
    int rc = sqlite3_exec(db, sql, NULL, NULL, NULL);
    check_int(sqlite3_close(db), SQLITE_OK);
    return rc;
}

/* Even another program cannot change the journal without taking its guards away. */
static void test_append_only(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_event voids = fl_test_voided(&room->arena, 3, 1, 600);
    fl_test_record(room, &event);
    fl_test_record(room, &voids);
    static const char *const attempts[] = {
        "DELETE FROM journal", "UPDATE journal SET at_s = 0",
        "DELETE FROM fact",    "UPDATE fact SET position = 2",
        "DELETE FROM voiding", "UPDATE voiding SET position = 1",
    };
    for (size_t i = 0; i < sizeof attempts / sizeof attempts[0]; i++) {
        check_int(tamper(room, attempts[i]) & 0xff, SQLITE_CONSTRAINT);
    }
}

static void test_changed_bytes_are_noticed(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_record(room, &event);
    check_int(tamper(room, "DROP TRIGGER journal_keeps_values;"
                           "UPDATE journal SET canonical = replace(canonical, '500', '501')"),
              SQLITE_OK);
    fl_sv bytes = {0};
    check_int(fl_store_journal_get(room->store, fl_test_id(1), &room->arena, &bytes, &room->err),
              FL_ECORRUPT);
    check_contains(room->err.message, "fernlock restore");
    fl_journal_row *rows = NULL;
    size_t count = 0;
    check_int(fl_store_journal_read(room->store, 0, 9, &room->arena, &rows, &count, &room->err),
              FL_ECORRUPT);
    fl_id lot = fl_test_id(100);
    check_int(fl_store_events_of(room->store, &lot, 1, &room->arena, &rows, &count, &room->err),
              FL_ECORRUPT);
    check_true(rows == NULL);
}

static void test_check_finds_missing_rows(void **state)
{
    fl_test_room *room = *state;
    for (uint64_t i = 1; i <= 3; i++) {
        fl_test_event event = fl_test_arrived(&room->arena, i, 100 + i, 500);
        fl_test_record(room, &event);
    }
    check_ok(fl_store_check(room->store, &room->err), &room->err);
    /* foreign keys are off for this outsider: the facts stay behind */
    check_int(
        tamper(room, "DROP TRIGGER journal_keeps_rows; DELETE FROM journal WHERE position = 2"),
        SQLITE_OK);
    check_int(fl_store_check(room->store, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "fact");
    check_int(tamper(room, "DROP TRIGGER fact_keeps_rows; DELETE FROM fact WHERE position = 2"),
              SQLITE_OK);
    check_int(fl_store_check(room->store, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "rows are missing");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_append_and_get, setup, teardown),
    cmocka_unit_test_setup_teardown(test_order_of_recording, setup, teardown),
    cmocka_unit_test_setup_teardown(test_order_of_occurrence, setup, teardown),
    cmocka_unit_test_setup_teardown(test_entities, setup, teardown),
    cmocka_unit_test_setup_teardown(test_facts_of, setup, teardown),
    cmocka_unit_test_setup_teardown(test_voidings, setup, teardown),
    cmocka_unit_test_setup_teardown(test_refusals, setup, teardown),
    cmocka_unit_test_setup_teardown(test_append_is_whole, setup, teardown),
    cmocka_unit_test_setup_teardown(test_rollback, setup, teardown),
    cmocka_unit_test_setup_teardown(test_append_only, setup, teardown),
    cmocka_unit_test_setup_teardown(test_changed_bytes_are_noticed, setup, teardown),
    cmocka_unit_test_setup_teardown(test_check_finds_missing_rows, setup, teardown),
};
FL_TEST_MAIN(tests)
