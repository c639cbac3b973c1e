/* Photos and batches: only under their own hash, once, and checked when they are read. */
#include <string.h>

#include <sqlite3.h>

#include "base/alloc.h"
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

static void test_put_and_get(void **state)
{
    fl_test_room *room = *state;
    /* FIPS 180-4 examples (NIST, SHA256.pdf): SHA-256 of "abc" */
    static const fl_hash abc = {{0xba, 0x78, 0x16, 0xbf, 0x8f, 0x01, 0xcf, 0xea, 0x41, 0x41, 0x40,
                                 0xde, 0x5d, 0xae, 0x22, 0x23, 0xb0, 0x03, 0x61, 0xa3, 0x96, 0x17,
                                 0x7a, 0x9c, 0xb4, 0x10, 0xff, 0x61, 0xf2, 0x00, 0x15, 0xad}};
    fl_sv bytes = FL_SV("before");
    check_int(fl_store_blob_get(room->store, abc, &room->arena, &bytes, &room->err), FL_ENOTFOUND);
    check_contains(room->err.message, "ba7816bf8f01cfea");
    check_sv(bytes, "before");
    bool exists = true;
    check_ok(fl_store_blob_exists(room->store, abc, &exists, &room->err), &room->err);
    check_false(exists);
    check_ok(fl_store_blob_put(room->store, abc, FL_SV("abc"), &room->err), &room->err);
    check_ok(fl_store_blob_put(room->store, abc, FL_SV("abc"), &room->err), &room->err);
    check_ok(fl_store_blob_put(room->store, fl_hash_of("", 0), (fl_sv){0}, &room->err), &room->err);
    fl_test_room_reopen(room);
    check_ok(fl_store_blob_get(room->store, abc, &room->arena, &bytes, &room->err), &room->err);
    check_sv(bytes, "abc");
    check_ok(fl_store_blob_exists(room->store, abc, &exists, &room->err), &room->err);
    check_true(exists);
    check_ok(fl_store_blob_get(room->store, fl_hash_of("", 0), &room->arena, &bytes, &room->err),
             &room->err);
    check_int(bytes.len, 0);
    fl_hash *hashes = NULL;
    size_t count = 0;
    check_ok(fl_store_blobs(room->store, &room->arena, &hashes, &count, &room->err), &room->err);
    check_int(count, 2);
    check_int(memcmp(hashes[0].b, abc.b, sizeof abc.b), 0);
}

static void test_refusals(void **state)
{
    fl_test_room *room = *state;
    fl_hash hash = fl_hash_of("abc", 3);
    check_int(fl_store_blob_put(room->store, hash, FL_SV("abd"), &room->err), FL_EINVAL);
    check_contains(room->err.message, "ba7816bf8f01cfea");
    bool exists = true;
    check_ok(fl_store_blob_exists(room->store, hash, &exists, &room->err), &room->err);
    check_false(exists);
    size_t len = (size_t)FL_STORE_BLOB_BYTES_MAX + 1;
    char *large = fl_alloc(len, 1);
    check_int(
        fl_store_blob_put(room->store, fl_hash_of(large, len), (fl_sv){large, len}, &room->err),
        FL_ETOOBIG);
    fl_alloc_free(large);
    fl_store *reader = NULL;
    check_ok(fl_store_open_reader(room->dir, &reader, &room->err), &room->err);
    check_int(fl_store_blob_put(reader, hash, FL_SV("abc"), &room->err), FL_EFORBIDDEN);
    fl_store_close(reader);
}

/* Larger than any page: spans many of them. */
static void test_large(void **state)
{
    fl_test_room *room = *state;
    size_t len = 3000001;
    char *photo = fl_alloc(len, 1);
    for (size_t i = 0; i < len; i++) {
        photo[i] = (char)(i * 2654435761u >> 13);
    }
    fl_hash hash = fl_hash_of(photo, len);
    check_ok(fl_store_blob_put(room->store, hash, (fl_sv){photo, len}, &room->err), &room->err);
    fl_sv bytes;
    check_ok(fl_store_blob_get(room->store, hash, &room->arena, &bytes, &room->err), &room->err);
    check_int(bytes.len, len);
    check_int(memcmp(bytes.ptr, photo, len), 0);
    fl_alloc_free(photo);
}

static void test_damaged(void **state)
{
    fl_test_room *room = *state;
    fl_hash hash = fl_hash_of("abc", 3);
    check_ok(fl_store_blob_put(room->store, hash, FL_SV("abc"), &room->err), &room->err);
    sqlite3 *db = NULL;
    check_int(sqlite3_open(room->file, &db), SQLITE_OK);
    static const char change[] = "UPDATE blob SET content = x'616264'";
    check_int(sqlite3_exec(db, change, NULL, NULL, NULL), SQLITE_CONSTRAINT); /* guarded */
    check_int(sqlite3_exec(db, "DELETE FROM blob", NULL, NULL, NULL), SQLITE_CONSTRAINT);
    check_int(sqlite3_exec(db, "DROP TRIGGER blob_keeps_values", NULL, NULL, NULL), SQLITE_OK);
    check_int(sqlite3_exec(db, change, NULL, NULL, NULL), SQLITE_OK);
    check_int(sqlite3_close(db), SQLITE_OK);
    fl_sv bytes = FL_SV("before");
    check_int(fl_store_blob_get(room->store, hash, &room->arena, &bytes, &room->err), FL_ECORRUPT);
    check_sv(bytes, "before");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_put_and_get, setup, teardown),
    cmocka_unit_test_setup_teardown(test_refusals, setup, teardown),
    cmocka_unit_test_setup_teardown(test_large, setup, teardown),
    cmocka_unit_test_setup_teardown(test_damaged, setup, teardown),
};
FL_TEST_MAIN(tests)
