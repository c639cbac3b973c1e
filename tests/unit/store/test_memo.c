/* The memo: kept by link, never wrong, never in the way. */
#include <string.h>

#include <sqlite3.h>

#include "store/db.h"
#include "support/room.h"

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

static fl_status get(fl_test_room *room, const char *name, fl_sv *value)
{
    return fl_store_memo_get(room->store, fl_hash_of(name, strlen(name)), &room->arena, value,
                             &room->err);
}

static fl_status put(fl_test_room *room, const char *name, fl_sv value)
{
    return fl_store_memo_put(room->store, fl_hash_of(name, strlen(name)), value, &room->err);
}

static void test_put_get_clear(void **state)
{
    fl_test_room *room = *state;
    fl_sv value = FL_SV("before");
    check_int(get(room, "a", &value), FL_ENOTFOUND);
    check_sv(value, "before");
    check_ok(put(room, "a", (fl_sv){"\0\x01\xff state", 9}), &room->err);
    check_ok(put(room, "b", (fl_sv){0}), &room->err); /* an empty state is a state */
    check_ok(get(room, "a", &value), &room->err);
    check_int(value.len, 9);
    check_int(memcmp(value.ptr, "\0\x01\xff state", 9), 0);
    check_ok(get(room, "b", &value), &room->err);
    check_int(value.len, 0);
    int64_t links = 0;
    int64_t bytes = 0;
    check_ok(fl_store_memo_size(room->store, &links, &bytes, &room->err), &room->err);
    check_int(links, 2);
    check_int(bytes, 9);
    check_ok(put(room, "a", (fl_sv){"\0\x01\xff state", 9}), &room->err); /* again: the same */
    check_ok(fl_store_memo_clear(room->store, &room->err), &room->err);
    check_int(get(room, "a", &value), FL_ENOTFOUND);
    check_ok(fl_store_memo_size(room->store, &links, &bytes, &room->err), &room->err);
    check_int(links, 0);
    check_int(bytes, 0);
}

static void test_inside_a_transaction(void **state)
{
    fl_test_room *room = *state;
    fl_sv value;
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(put(room, "a", FL_SV("1")), &room->err);
    check_ok(get(room, "a", &value), &room->err);
    fl_store_rollback(room->store);
    check_int(get(room, "a", &value), FL_ENOTFOUND);
}

static void test_put_all(void **state)
{
    fl_test_room *room = *state;
    fl_memo memos[] = {{fl_hash_of("a", 1), FL_SV("1")},
                       {fl_hash_of("b", 1), FL_SV("2")},
                       {fl_hash_of("a", 1), FL_SV("1")}};
    check_ok(fl_store_memo_put_all(room->store, memos, 3, &room->err), &room->err);
    check_ok(fl_store_memo_put_all(room->store, NULL, 0, &room->err), &room->err);
    fl_sv value;
    check_ok(get(room, "a", &value), &room->err);
    check_sv(value, "1");
    check_ok(get(room, "b", &value), &room->err);
    check_sv(value, "2");
    /* all or none: the disk is full at some of them */
    static char large[3][60000];
    fl_memo many[3];
    for (int i = 0; i < 3; i++) {
        many[i] = (fl_memo){fl_hash_of(&i, sizeof i), {large[i], sizeof large[i]}};
    }
    int64_t before = 0;
    int64_t after = 0;
    int64_t bytes = 0;
    check_ok(fl_store_memo_size(room->store, &before, &bytes, &room->err), &room->err);
    check_ok(fl_db_run(room->store, FL_SV("PRAGMA max_page_count = 50"), &room->err), &room->err);
    check_int(fl_store_memo_put_all(room->store, many, 3, &room->err), FL_EIO);
    check_ok(fl_store_memo_size(room->store, &after, &bytes, &room->err), &room->err);
    check_int(after, before);
    check_ok(fl_store_begin(room->store, &room->err), &room->err); /* none is left open */
    fl_store_rollback(room->store);
}

/* A state that is not what was put is no state, and can be put again. */
static void test_damaged_state(void **state)
{
    fl_test_room *room = *state;
    check_ok(put(room, "a", FL_SV("good")), &room->err);
    sqlite3 *db = NULL;
    check_int(sqlite3_open(room->file, &db), SQLITE_OK);
    check_int(sqlite3_exec(db, "UPDATE memo SET state = x'00'", NULL, NULL, NULL), SQLITE_OK);
    check_int(sqlite3_close(db), SQLITE_OK);
    fl_sv value;
    check_int(get(room, "a", &value), FL_ENOTFOUND);
    check_ok(put(room, "a", FL_SV("good")), &room->err);
    check_ok(get(room, "a", &value), &room->err);
    check_sv(value, "good");
}

/* While another process writes, a put gives up soon; afterwards writing is as durable as before. */
static void test_gives_up_soon(void **state)
{
    fl_test_room *room = *state;
    fl_store *other = NULL;
    check_ok(fl_store_open(room->dir, false, &other, &room->err), &room->err);
    check_ok(fl_store_begin(other, &room->err), &room->err);
    check_int(put(room, "a", FL_SV("1")), FL_EBUSY); /* with the usual 5 s the test would drag */
    fl_store_rollback(other);
    fl_store_close(other);
    check_ok(put(room, "a", FL_SV("1")), &room->err);
    fl_store *reader = NULL;
    check_ok(fl_store_open_reader(room->dir, &reader, &room->err), &room->err);
    check_int(fl_store_memo_put(reader, fl_hash_of("b", 1), FL_SV("1"), &room->err), FL_EFORBIDDEN);
    check_int(fl_store_memo_clear(reader, &room->err), FL_EFORBIDDEN);
    fl_sv value;
    check_ok(fl_store_memo_get(reader, fl_hash_of("a", 1), &room->arena, &value, &room->err),
             &room->err);
    check_sv(value, "1");
    fl_store_close(reader);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_put_get_clear, setup, teardown),
    cmocka_unit_test_setup_teardown(test_inside_a_transaction, setup, teardown),
    cmocka_unit_test_setup_teardown(test_put_all, setup, teardown),
    cmocka_unit_test_setup_teardown(test_damaged_state, setup, teardown),
    cmocka_unit_test_setup_teardown(test_gives_up_soon, setup, teardown),
};
FL_TEST_MAIN(tests)
