/* A room's life: made whole or not at all, refused in plain words, one writer, readers that see one
 * moment. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

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

static int mode_of(const char *path)
{
    struct stat info;
    check_int(stat(path, &info), 0);
    return (int)(info.st_mode & 0777);
}

static void write_file(const char *path, const char *bytes, size_t len)
{
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    check_int(fwrite(bytes, 1, len, file), len);
    check_int(fclose(file), 0);
}

static void outside(const char *file, const char *sql)
{
    sqlite3 *db = NULL;
    check_int(sqlite3_open(file, &db), SQLITE_OK);
    check_int(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    check_int(sqlite3_close(db), SQLITE_OK);
}

static void test_no_room(void **state)
{
    fl_test_room *room = *state;
    char dir[FL_TEMP_PATH_MAX + 16];
    (void)snprintf(dir, sizeof dir, "%s/none", room->dir);
    fl_store *store = NULL;
    check_int(fl_store_open(dir, false, &store, &room->err), FL_ENOTFOUND);
    check_contains(room->err.message, dir);
    check_contains(room->err.message, "fernlock --room");
    check_int(fl_store_open_reader(dir, &store, &room->err), FL_ENOTFOUND);
    check_int(access(dir, F_OK), -1); /* nothing was made */
    check_int(fl_store_open("", true, &store, &room->err), FL_EINVAL);
    check_true(store == NULL);
}

static void test_made_private(void **state)
{
    fl_test_room *room = *state;
    char dir[FL_TEMP_PATH_MAX + 16];
    char file[FL_TEMP_PATH_MAX + 48];
    (void)snprintf(dir, sizeof dir, "%s/a/b/", room->dir);
    mode_t before = umask(0); /* the worst one */
    fl_store *store = NULL;
    check_ok(fl_store_open(dir, true, &store, &room->err), &room->err);
    check_ok(fl_store_setting_put(store, FL_SV("a"), FL_SV("1"), &room->err), &room->err);
    check_int(mode_of(dir), 0700);
    check_str(fl_store_file(store), (snprintf(file, sizeof file, "%sroom.sqlite", dir), file));
    check_int(mode_of(file), 0600);
    (void)snprintf(file, sizeof file, "%sroom.sqlite-wal", dir);
    check_int(mode_of(file), 0600);
    fl_store_close(store);
    umask(before);
    check_int(access(file, F_OK), -1); /* the log is written back when the last one closes */
    (void)snprintf(file, sizeof file, "%sroom.sqlite.part-1", dir);
    check_int(access(file, F_OK), -1);
}

static int64_t number(fl_store *store, const char *sql)
{
    int64_t value = -1;
    fl_err err;
    check_ok(fl_db_number(store, sql, &value, &err), &err);
    return value;
}

/* SQLite's documentation, pragma.html and c3ref/c_dbconfig_defensive.html: 2 is FULL, 1 is on. */
static void test_safety_switches(void **state)
{
    fl_test_room *room = *state;
    check_int(number(room->store, "PRAGMA foreign_keys"), 1);
    check_int(number(room->store, "PRAGMA synchronous"), 2);
    check_int(number(room->store, "PRAGMA trusted_schema"), 0);
    check_int(number(room->store, "PRAGMA busy_timeout"), 5000);
    check_int(number(room->store, "PRAGMA cell_size_check"), 1);
    check_int(number(room->store, "PRAGMA application_id"), 0x464c4b31);
    check_int(number(room->store, "PRAGMA user_version"), 1);
    check_int(number(room->store, "SELECT journal_mode = 'wal' FROM pragma_journal_mode"), 1);
    int is_on = -1;
    sqlite3_db_config(room->store->db, SQLITE_DBCONFIG_DEFENSIVE, -1, &is_on);
    check_int(is_on, 1);
    sqlite3_db_config(room->store->db, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, -1, &is_on);
    check_int(is_on, 0);
    /* a memo put relaxes the waiting for the disk, and sets it back */
    check_ok(fl_store_memo_put(room->store, fl_hash_of("a", 1), FL_SV("1"), &room->err),
             &room->err);
    check_int(number(room->store, "PRAGMA synchronous"), 2);
    check_int(number(room->store, "PRAGMA busy_timeout"), 5000);
    check_ok(fl_store_check(room->store, &room->err), &room->err);
}

static void test_not_a_room(void **state)
{
    fl_test_room *room = *state;
    fl_store *store = NULL;
    char dir[FL_TEMP_PATH_MAX + 16];
    char file[FL_TEMP_PATH_MAX + 48];
    (void)snprintf(dir, sizeof dir, "%s/other", room->dir);
    (void)snprintf(file, sizeof file, "%s/room.sqlite", dir);
    check_int(mkdir(dir, 0700), 0);
    outside(file, "CREATE TABLE cats (name)");
    check_int(fl_store_open(dir, true, &store, &room->err), FL_EFORMAT);
    check_contains(room->err.message, "not a room");
    check_int(fl_store_open_reader(dir, &store, &room->err), FL_EFORMAT);
    write_file(file, "", 0); /* ours is never empty: something was lost */
    check_int(fl_store_open(dir, true, &store, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "fernlock restore");
    char noise[5000];
    memset(noise, 'x', sizeof noise);
    write_file(file, noise, sizeof noise);
    check_int(fl_store_open(dir, true, &store, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "fernlock restore");
    check_int(unlink(file), 0);
    check_int(mkdir(file, 0700), 0); /* a folder of that name */
    check_int(fl_store_open(dir, true, &store, &room->err), FL_EIO);
    check_true(store == NULL);
}

/* The log of a room whose data base is gone is not taken for that of a new room. */
static void test_orphan_log(void **state)
{
    fl_test_room *room = *state;
    fl_store *store = NULL;
    char dir[FL_TEMP_PATH_MAX + 16];
    char file[FL_TEMP_PATH_MAX + 48];
    (void)snprintf(dir, sizeof dir, "%s/other", room->dir);
    (void)snprintf(file, sizeof file, "%s/room.sqlite-wal", dir);
    check_int(mkdir(dir, 0700), 0);
    write_file(file, "log", 3);
    check_int(fl_store_open(dir, true, &store, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "room.sqlite is missing");
    check_true(store == NULL);
}

static void test_newer_room(void **state)
{
    fl_test_room *room = *state;
    fl_store *store = NULL;
    outside(room->file, "PRAGMA user_version = 9");
    check_int(fl_store_open(room->dir, true, &store, &room->err), FL_EINVAL);
    check_contains(room->err.message, "newer fernlock");
    check_contains(room->err.message, "version 9");
    check_int(fl_store_open_reader(room->dir, &store, &room->err), FL_EINVAL);
    check_contains(room->err.message, "version 9");
    outside(room->file, "PRAGMA user_version = 0"); /* a reader cannot bring it up */
    check_int(fl_store_open_reader(room->dir, &store, &room->err), FL_EINVAL);
    check_contains(room->err.message, "open it for writing");
    check_true(store == NULL);
    outside(room->file, "PRAGMA user_version = 1");
}

static size_t count_events(fl_store *store, fl_test_room *room)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    check_ok(fl_store_journal_read(store, 0, 100, &room->arena, &rows, &count, &room->err),
             &room->err);
    return count;
}

static void test_reader_sees_one_moment(void **state)
{
    fl_test_room *room = *state;
    fl_store *reader = NULL;
    fl_test_event first = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_event second = fl_test_arrived(&room->arena, 2, 101, 500);
    check_ok(fl_store_open_reader(room->dir, &reader, &room->err), &room->err);
    check_ok(fl_store_begin_read(reader, &room->err), &room->err);
    fl_test_record(room, &first); /* after the snapshot began, before its first question */
    check_int(count_events(reader, room), 0);
    check_ok(fl_store_commit(reader, &room->err), &room->err);
    check_int(count_events(reader, room), 1);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, &second, &room->err), &room->err);
    check_int(count_events(reader, room), 1); /* not committed */
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    check_int(count_events(reader, room), 2);
    check_int(fl_store_begin(reader, &room->err), FL_EFORBIDDEN);
    check_contains(room->err.message, "reading only");
    check_int(fl_test_append(reader, &second, &room->err), FL_EFORBIDDEN);
    check_ok(fl_store_check(reader, &room->err), &room->err);
    fl_store_close(reader);
}

/* In the child: holds the room for writing until its pipe is closed. */
static _Noreturn void hold_room(const char *dir, int ready, int until)
{
    fl_store *store = NULL;
    char byte = '!';
    if (fl_store_open(dir, false, &store, NULL) == FL_OK && fl_store_begin(store, NULL) == FL_OK) {
        byte = 'k';
    }
    ssize_t done = write(ready, &byte, 1);
    done += read(until, &byte, 1);
    _exit(done == 1 ? 0 : 1);
}

static void test_held_by_another_process(void **state)
{
    fl_test_room *room = *state;
    int ready[2];
    int until[2];
    check_int(pipe(ready), 0);
    check_int(pipe(until), 0);
    fl_store_close(room->store); /* no open data base goes through a fork */
    room->store = NULL;
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        close(until[1]);
        hold_room(room->dir, ready[1], until[0]);
    }
    close(until[0]);
    char byte = 0;
    check_int(read(ready[0], &byte, 1), 1);
    check_int(byte, 'k');
    check_ok(fl_store_open(room->dir, false, &room->store, &room->err), &room->err);
    fl_store_set_busy_ms(room->store, 20);
    check_int(fl_store_begin(room->store, &room->err), FL_EBUSY);
    check_contains(room->err.message, "try again");
    check_int(fl_store_setting_put(room->store, FL_SV("a"), FL_SV("1"), &room->err), FL_EBUSY);
    check_int(count_events(room->store, room), 0); /* reading goes on */
    close(until[1]);
    int status = -1;
    check_int(waitpid(child, &status, 0), child);
    check_int(status, 0);
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    close(ready[0]);
    close(ready[1]);
}

/* In the child, as somebody without root's rights. 0: as expected. */
static int try_unwritable(const char *dir)
{
    fl_err err;
    fl_store *store = NULL;
    if (fl_store_open(dir, false, &store, &err) != FL_EIO) {
        return 1;
    }
    if (strstr(err.message, "permissions") == NULL) {
        return 2;
    }
    char sub[FL_TEMP_PATH_MAX + 16];
    (void)snprintf(sub, sizeof sub, "%s/new", dir);
    if (chmod(dir, 0500) != 0 || fl_store_open(sub, true, &store, &err) != FL_EIO) {
        return 3;
    }
    return strstr(err.message, "cannot make the folder") == NULL ? 4 : 0;
}

static void test_read_only_file(void **state)
{
    fl_test_room *room = *state;
    fl_store_close(room->store);
    room->store = NULL;
    check_int(chmod(room->file, 0400), 0);
    const uid_t nobody = 65534;
    if (geteuid() == 0) {
        check_int(chown(room->file, nobody, nobody), 0);
        check_int(chown(room->dir, nobody, nobody), 0);
    }
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        if (geteuid() == 0 && (setgid(nobody) != 0 || setuid(nobody) != 0)) {
            _exit(9);
        }
        _exit(try_unwritable(room->dir));
    }
    int status = -1;
    check_int(waitpid(child, &status, 0), child);
    check_int(WEXITSTATUS(status), 0);
    check_int(chmod(room->dir, 0700), 0);
}

/* A full disk, here as a limit on the file's pages: a clean refusal, and what was there stays. */
static void test_full(void **state)
{
    fl_test_room *room = *state;
    fl_test_event event = fl_test_arrived(&room->arena, 1, 100, 500);
    fl_test_record(room, &event);
    check_ok(fl_db_run(room->store, FL_SV("PRAGMA max_page_count = 1"), &room->err), &room->err);
    static char large[60000];
    memset(large, ' ', sizeof large);
    fl_test_event second = fl_test_arrived(&room->arena, 2, 101, 500);
    second.bytes = (fl_sv){large, sizeof large};
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_int(fl_test_append(room->store, &second, &room->err), FL_EIO);
    check_contains(room->err.message, "no room left on the disk");
    fl_store_rollback(room->store);
    check_ok(fl_store_check(room->store, &room->err), &room->err);
    check_int(count_events(room->store, room), 1);
    check_ok(fl_db_run(room->store, FL_SV("PRAGMA max_page_count = 100000"), &room->err),
             &room->err);
    fl_test_record(room, &second);
    check_int(count_events(room->store, room), 2);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_no_room, setup, teardown),
    cmocka_unit_test_setup_teardown(test_made_private, setup, teardown),
    cmocka_unit_test_setup_teardown(test_safety_switches, setup, teardown),
    cmocka_unit_test_setup_teardown(test_not_a_room, setup, teardown),
    cmocka_unit_test_setup_teardown(test_orphan_log, setup, teardown),
    cmocka_unit_test_setup_teardown(test_newer_room, setup, teardown),
    cmocka_unit_test_setup_teardown(test_reader_sees_one_moment, setup, teardown),
    cmocka_unit_test_setup_teardown(test_held_by_another_process, setup, teardown),
    cmocka_unit_test_setup_teardown(test_read_only_file, setup, teardown),
    cmocka_unit_test_setup_teardown(test_full, setup, teardown),
};
FL_TEST_MAIN(tests)
