/* Settings: set, replaced, read back; what a name may be. */
#include <string.h>

#include "support/room.h"

static void test_put_and_get(void **state)
{
    (void)state;
    fl_test_room room;
    fl_test_room_init(&room);
    fl_sv value = FL_SV("before");
    check_int(
        fl_store_setting_get(room.store, FL_SV("tz_offset_min"), &room.arena, &value, &room.err),
        FL_ENOTFOUND);
    check_contains(room.err.message, "tz_offset_min");
    check_sv(value, "before");
    check_ok(fl_store_setting_put(room.store, FL_SV("tz_offset_min"), FL_SV("60"), &room.err),
             &room.err);
    check_ok(fl_store_setting_put(room.store, FL_SV("note"), FL_SV(""), &room.err), &room.err);
    check_ok(fl_store_setting_put(room.store, FL_SV("tz_offset_min"), FL_SV("-90"), &room.err),
             &room.err);
    fl_test_room_reopen(&room);
    check_ok(
        fl_store_setting_get(room.store, FL_SV("tz_offset_min"), &room.arena, &value, &room.err),
        &room.err);
    check_sv(value, "-90");
    check_ok(fl_store_setting_get(room.store, FL_SV("note"), &room.arena, &value, &room.err),
             &room.err);
    check_sv(value, "");
    fl_test_room_done(&room);
}

static void test_inside_a_transaction(void **state)
{
    (void)state;
    fl_test_room room;
    fl_test_room_init(&room);
    check_ok(fl_store_begin(room.store, &room.err), &room.err);
    check_ok(fl_store_setting_put(room.store, FL_SV("a"), FL_SV("1"), &room.err), &room.err);
    fl_store_rollback(room.store);
    fl_sv value = {0};
    check_int(fl_store_setting_get(room.store, FL_SV("a"), &room.arena, &value, &room.err),
              FL_ENOTFOUND);
    fl_test_room_done(&room);
}

static void test_names(void **state)
{
    (void)state;
    fl_test_room room;
    fl_test_room_init(&room);
    char name[201];
    memset(name, 'n', sizeof name);
    check_int(fl_store_setting_put(room.store, (fl_sv){0}, FL_SV("1"), &room.err), FL_EINVAL);
    check_int(fl_store_setting_put(room.store, (fl_sv){name, 201}, FL_SV("1"), &room.err),
              FL_EINVAL);
    check_ok(fl_store_setting_put(room.store, (fl_sv){name, 200}, FL_SV("1"), &room.err),
             &room.err);
    fl_store *reader = NULL;
    check_ok(fl_store_open_reader(room.dir, &reader, &room.err), &room.err);
    check_int(fl_store_setting_put(reader, FL_SV("a"), FL_SV("1"), &room.err), FL_EFORBIDDEN);
    fl_store_close(reader);
    fl_test_room_done(&room);
}

/* What a room has from the moment it appears; a room that is there keeps what it has. */
static void test_from_the_beginning(void **state)
{
    (void)state;
    char dir[FL_TEMP_PATH_MAX];
    fl_store *store = NULL;
    fl_arena arena;
    fl_err err;
    fl_sv value = {0};
    fl_arena_init(&arena);
    fl_temp_folder(dir);
    for (int i = 0; i < 2; i++) {
        fl_sv given = i == 0 ? FL_SV("60") : FL_SV("120");
        check_ok(fl_store_open_new(dir, FL_SV("tz_offset_min"), given, &store, &err), &err);
        check_ok(fl_store_setting_get(store, FL_SV("tz_offset_min"), &arena, &value, &err), &err);
        check_sv(value, "60");
        fl_store_close(store);
    }
    fl_arena_done(&arena);
    fl_remove_folder(dir);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_put_and_get),
    cmocka_unit_test(test_inside_a_transaction),
    cmocka_unit_test(test_names),
    cmocka_unit_test(test_from_the_beginning),
};
FL_TEST_MAIN(tests)
