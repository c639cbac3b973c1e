/* Copies out of a room in use, and back into its place. */
#define _GNU_SOURCE
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

typedef struct path {
    char text[FL_TEMP_PATH_MAX + 48];
} path;

static path in_room(const fl_test_room *room, const char *name)
{
    path made;
    (void)snprintf(made.text, sizeof made.text, "%s/%s", room->dir, name);
    return made;
}

static bool is_there(path p)
{
    return access(p.text, F_OK) == 0;
}

static void record(fl_test_room *room, uint64_t event)
{
    fl_test_event made = fl_test_arrived(&room->arena, event, 100 + event, 500);
    fl_test_record(room, &made);
}

static int64_t last_of(fl_store *store)
{
    fl_err err;
    int64_t last = -1;
    check_ok(fl_store_journal_last(store, &last, &err), &err);
    return last;
}

static void test_backup(void **state)
{
    fl_test_room *room = *state;
    path copy = in_room(room, "copy.sqlite");
    record(room, 1);
    check_ok(fl_store_backup(room->store, copy.text, &room->err), &room->err);
    record(room, 2); /* the room goes on */
    struct stat info;
    check_int(stat(copy.text, &info), 0);
    check_int(info.st_mode & 0777, 0600);
    check_false(is_there(in_room(room, "copy.sqlite-wal")));
    check_false(is_there(in_room(room, "copy.sqlite-shm")));
    check_false(is_there(in_room(room, "copy.sqlite.part-1")));
    /* SQLite's file format (fileformat2.html section 1.3): bytes 18 and 19 are 1 for a rollback
     * journal, 2 for WAL; the application id stands at 68 */
    unsigned char header[100];
    FILE *file = fopen(copy.text, "rb");
    check_true(file != NULL);
    check_int(fread(header, 1, sizeof header, file), sizeof header);
    check_int(fclose(file), 0);
    check_int(header[18], 1);
    check_int(header[19], 1);
    check_int(memcmp(header + 68, "FLK1", 4), 0);
    check_int(fl_store_backup(room->store, copy.text, &room->err), FL_ECONFLICT);
    check_contains(room->err.message, "copy.sqlite");
    path nowhere = in_room(room, "no/such/folder.sqlite");
    check_int(fl_store_backup(room->store, nowhere.text, &room->err), FL_EIO);
}

static void test_backup_of_one_moment(void **state)
{
    fl_test_room *room = *state;
    path copy = in_room(room, "copy.sqlite");
    record(room, 1);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_int(fl_store_backup(room->store, copy.text, &room->err), FL_EINVAL);
    fl_store_rollback(room->store);
    check_false(is_there(copy));
    /* by a reader, while the writer is in the middle of a transaction */
    fl_store *reader = NULL;
    check_ok(fl_store_open_reader(room->dir, &reader, &room->err), &room->err);
    fl_test_event open = fl_test_arrived(&room->arena, 2, 102, 500);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, &open, &room->err), &room->err);
    check_ok(fl_store_backup(reader, copy.text, &room->err), &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    fl_store_close(reader);
    path dir = in_room(room, "second");
    fl_sv kept = FL_SV("?");
    check_ok(fl_store_restore(copy.text, dir.text, &room->arena, &kept, &room->err), &room->err);
    check_int(kept.len, 0);
    fl_store *second = NULL;
    check_ok(fl_store_open(dir.text, false, &second, &room->err), &room->err);
    check_int(last_of(second), 1);
    fl_store_close(second);
}

static void test_restore_over_a_room(void **state)
{
    fl_test_room *room = *state;
    path copy = in_room(room, "copy.sqlite");
    record(room, 1);
    check_ok(fl_store_backup(room->store, copy.text, &room->err), &room->err);
    record(room, 2);
    fl_sv kept = {0};
    /* in use, by ourselves: refused, nothing changes */
    fl_store_set_busy_ms(room->store, 10);
    check_int(fl_store_restore(copy.text, room->dir, &room->arena, &kept, &room->err), FL_EBUSY);
    check_int(last_of(room->store), 2);
    check_false(is_there(in_room(room, "room.sqlite.part-1")));
    check_false(is_there(in_room(room, "room.sqlite.replaced-1")));
    fl_store_close(room->store);
    room->store = NULL;
    check_ok(fl_store_restore(copy.text, room->dir, &room->arena, &kept, &room->err), &room->err);
    path replaced = in_room(room, "room.sqlite.replaced-1");
    check_sv(kept, replaced.text);
    check_ok(fl_store_open(room->dir, false, &room->store, &room->err), &room->err);
    check_int(last_of(room->store), 1);
    check_ok(fl_store_check(room->store, &room->err), &room->err);
    fl_store_close(room->store);
    room->store = NULL;
    /* and the kept one is a backup, too: there and back */
    check_ok(fl_store_restore(replaced.text, room->dir, &room->arena, &kept, &room->err),
             &room->err);
    check_contains(kept.ptr, "replaced-2");
    check_ok(fl_store_open(room->dir, false, &room->store, &room->err), &room->err);
    check_int(last_of(room->store), 2);
}

/* A room that cannot be opened gives way as well, with its log; neither is lost. */
static void test_restore_over_damage(void **state)
{
    fl_test_room *room = *state;
    path copy = in_room(room, "copy.sqlite");
    path log = in_room(room, "room.sqlite-wal");
    record(room, 1);
    check_ok(fl_store_backup(room->store, copy.text, &room->err), &room->err);
    fl_store_close(room->store);
    room->store = NULL;
    check_int(truncate(room->file, 0), 0);
    FILE *file = fopen(log.text, "wb");
    check_true(file != NULL && fputs("old log", file) >= 0);
    check_int(fclose(file), 0);
    fl_sv kept = {0};
    check_ok(fl_store_restore(copy.text, room->dir, &room->arena, &kept, &room->err), &room->err);
    check_true(is_there(in_room(room, "room.sqlite.replaced-1")));
    check_true(is_there(in_room(room, "room.sqlite.replaced-1-wal")));
    check_false(is_there(log));
    check_ok(fl_store_open(room->dir, false, &room->store, &room->err), &room->err);
    check_int(last_of(room->store), 1);
}

static void test_restore_refuses(void **state)
{
    fl_test_room *room = *state;
    path copy = in_room(room, "copy.sqlite");
    path dir = in_room(room, "second");
    fl_sv kept = FL_SV("?");
    check_int(fl_store_restore(copy.text, dir.text, &room->arena, &kept, &room->err), FL_ENOTFOUND);
    check_contains(room->err.message, "copy.sqlite");
    for (uint64_t i = 1; i <= 50; i++) {
        record(room, i);
    }
    check_ok(fl_store_backup(room->store, copy.text, &room->err), &room->err);
    struct stat info;
    check_int(stat(copy.text, &info), 0);
    check_int(truncate(copy.text, info.st_size / 2), 0);
    check_int(fl_store_restore(copy.text, dir.text, &room->arena, &kept, &room->err), FL_ECORRUPT);
    check_int(truncate(copy.text, 0), 0);
    check_int(fl_store_restore(copy.text, dir.text, &room->arena, &kept, &room->err), FL_ECORRUPT);
    FILE *file = fopen(copy.text, "wb");
    check_true(file != NULL && fputs("a text file, not a data base", file) >= 0);
    check_int(fclose(file), 0);
    check_int(fl_store_restore(copy.text, dir.text, &room->arena, &kept, &room->err), FL_ECORRUPT);
    check_sv(kept, "?");
    check_false(is_there(in_room(room, "second/room.sqlite")));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_backup, setup, teardown),
    cmocka_unit_test_setup_teardown(test_backup_of_one_moment, setup, teardown),
    cmocka_unit_test_setup_teardown(test_restore_over_a_room, setup, teardown),
    cmocka_unit_test_setup_teardown(test_restore_over_damage, setup, teardown),
    cmocka_unit_test_setup_teardown(test_restore_refuses, setup, teardown),
};
FL_TEST_MAIN(tests)
