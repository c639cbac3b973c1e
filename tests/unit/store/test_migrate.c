/* Migrations: each once and whole, the old file kept, a newer one refused. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "store/db.h"
#include "store/file.h"
#include "store/migrate.h"
#include "support/room.h"

/* A made-up history of layouts; the last two are for the failing case. */
static fl_migration good_at(size_t index)
{
    static const fl_migration list[] = {
        {"001_a.sql", {"CREATE TABLE a (x);\nINSERT INTO a VALUES (1); -- done\n", 51}},
        {"002_b.sql", {"ALTER TABLE a ADD COLUMN y; UPDATE a SET y = x + 1;", 51}},
        {"003_c.sql", {"INSERT INTO a VALUES (5, 6)", 27}},
    };
    return list[index];
}

static fl_migration bad_at(size_t index)
{
    fl_migration bad = {"003_c.sql",
                        FL_SV("INSERT INTO a VALUES (7, 8); INSERT INTO nothing VALUES (1);")};
    return index == 2 ? bad : good_at(index);
}

typedef struct bench {
    char dir[FL_TEMP_PATH_MAX];
    fl_str file;
    fl_store *store;
    fl_err err;
} bench;

static int setup(void **state)
{
    static bench b;
    b = (bench){0};
    fl_temp_folder(b.dir);
    check_ok(fl_file_join(b.dir, "x.sqlite", &b.file, &b.err), &b.err);
    FILE *file = fopen(b.file.ptr, "wb");
    check_true(file != NULL);
    check_int(fclose(file), 0);
    check_ok(fl_db_open(b.file.ptr, FL_DB_PLAIN, &b.store, &b.err), &b.err);
    *state = &b;
    return 0;
}

static int teardown(void **state)
{
    bench *b = *state;
    fl_store_close(b->store);
    fl_str_done(&b->file);
    fl_remove_folder(b->dir);
    return 0;
}

static int64_t number(bench *b, const char *sql)
{
    int64_t value = -1;
    check_ok(fl_db_number(b->store, sql, &value, &b->err), &b->err);
    return value;
}

static bool has_backup(bench *b, const char *suffix)
{
    char path[FL_TEMP_PATH_MAX + 48];
    (void)snprintf(path, sizeof path, "%s%s", b->file.ptr, suffix);
    return access(path, F_OK) == 0;
}

static fl_status migrate(bench *b, size_t count, fl_migration (*at)(size_t))
{
    return fl_migrate(b->store, (fl_migration_list){count, at}, &b->err);
}

static void test_from_nothing(void **state)
{
    bench *b = *state;
    check_ok(migrate(b, 3, good_at), &b->err);
    check_int(number(b, "PRAGMA user_version"), 3);
    check_int(number(b, "PRAGMA application_id"), FL_DB_APPLICATION_ID);
    check_int(number(b, "SELECT sum(x * 100 + y) FROM a"), 102 + 506);
    check_false(has_backup(b, ".before-001")); /* there was nothing to keep */
    check_ok(migrate(b, 3, good_at), &b->err); /* again: nothing happens */
    check_int(number(b, "SELECT count(*) FROM a"), 2);
}

static void test_step_by_step(void **state)
{
    bench *b = *state;
    check_ok(migrate(b, 1, good_at), &b->err);
    check_int(number(b, "PRAGMA user_version"), 1);
    check_ok(migrate(b, 2, good_at), &b->err);
    check_true(has_backup(b, ".before-002"));
    check_ok(migrate(b, 3, good_at), &b->err);
    check_true(has_backup(b, ".before-003"));
    check_int(number(b, "SELECT sum(x * 100 + y) FROM a"), 102 + 506);
    fl_store *old = NULL; /* what was kept is the old file, whole */
    char path[FL_TEMP_PATH_MAX + 48];
    (void)snprintf(path, sizeof path, "%s.before-002", b->file.ptr);
    check_ok(fl_db_open(path, FL_DB_READ, &old, &b->err), &b->err);
    int64_t value = -1;
    check_ok(fl_db_number(old, "PRAGMA user_version", &value, &b->err), &b->err);
    check_int(value, 1);
    check_ok(fl_db_number(old, "SELECT x FROM a", &value, &b->err), &b->err);
    check_int(value, 1);
    fl_store_close(old);
}

/* The failing step leaves nothing of itself; the steps before it stay. */
static void test_failing_step(void **state)
{
    bench *b = *state;
    check_ok(migrate(b, 1, good_at), &b->err);
    check_int(migrate(b, 3, bad_at), FL_ECORRUPT);
    check_contains(b->err.message, "nothing");
    check_int(number(b, "PRAGMA user_version"), 2);
    check_int(number(b, "SELECT count(*) FROM a"), 1);
    check_true(has_backup(b, ".before-002"));
    check_int(migrate(b, 3, bad_at), FL_ECORRUPT); /* every attempt keeps what it found */
    check_int(migrate(b, 3, bad_at), FL_ECORRUPT);
    check_true(has_backup(b, ".before-003"));
    check_true(has_backup(b, ".before-003-2"));
    check_ok(migrate(b, 3, good_at), &b->err);
    check_int(number(b, "SELECT sum(x * 100 + y) FROM a"), 102 + 506);
}

static void test_newer_file(void **state)
{
    bench *b = *state;
    check_ok(migrate(b, 3, good_at), &b->err);
    check_int(migrate(b, 2, good_at), FL_EINVAL);
    check_contains(b->err.message, "newer fernlock");
    check_ok(fl_db_run(b->store, FL_SV("PRAGMA user_version = -1"), &b->err), &b->err);
    check_int(migrate(b, 3, good_at), FL_EINVAL);
    check_int(number(b, "SELECT count(*) FROM a"), 2);
}

/* The program's own list: numbered from 001 without a gap, and it makes a sound file. */
static void test_own_list(void **state)
{
    bench *b = *state;
    fl_migration_list own = fl_migrations();
    check_true(own.count >= 1);
    for (size_t i = 0; i < own.count; i++) {
        char want[32];
        (void)snprintf(want, sizeof want, "%03zu_", i + 1);
        check_int(strncmp(own.at(i).name, want, 4), 0);
    }
    check_ok(fl_migrate(b->store, own, &b->err), &b->err);
    check_ok(fl_store_check(b->store, &b->err), &b->err);
    check_int(number(b, "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' "
                        "AND type = 'table' AND name NOT LIKE 'sqlite_%' AND strict = 0"),
              0); /* every table is STRICT */
}

/* docs/models/room-file.md names every table and every column. */
static void test_file_format_page(void **state)
{
    bench *b = *state;
    static const char sql[] =
        "SELECT t.name, c.name FROM pragma_table_list AS t JOIN pragma_table_info(t.name) AS c "
        "WHERE t.schema = 'main' AND t.type = 'table' AND t.name NOT LIKE 'sqlite_%'";
    static char page[65536];
    FILE *file = fopen(FL_SOURCE_DIR "/docs/models/room-file.md", "rb");
    check_true(file != NULL);
    size_t len = fread(page, 1, sizeof page - 1, file);
    check_int(fclose(file), 0);
    check_true(len > 1000 && len < sizeof page - 1);
    check_ok(fl_migrate(b->store, fl_migrations(), &b->err), &b->err);
    sqlite3_stmt *stmt = NULL;
    int columns = 0;
    check_int(sqlite3_prepare_v2(b->store->db, sql, -1, &stmt, NULL), SQLITE_OK);
    while (sqlite3_step(stmt) == SQLITE_ROW) {
        for (int i = 0; i < 2; i++) {
            char name[64];
            (void)snprintf(name, sizeof name, "`%s`", (const char *)sqlite3_column_text(stmt, i));
            check_contains(page, name);
        }
        columns++;
    }
    check_int(sqlite3_finalize(stmt), SQLITE_OK);
    check_true(columns > 60);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_from_nothing, setup, teardown),
    cmocka_unit_test_setup_teardown(test_step_by_step, setup, teardown),
    cmocka_unit_test_setup_teardown(test_failing_step, setup, teardown),
    cmocka_unit_test_setup_teardown(test_newer_file, setup, teardown),
    cmocka_unit_test_setup_teardown(test_own_list, setup, teardown),
    cmocka_unit_test_setup_teardown(test_file_format_page, setup, teardown),
};
FL_TEST_MAIN(tests)
