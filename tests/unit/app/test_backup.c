/* app/backup.h: copies that are read back, their rotation, and the way back. */
#include <stdio.h>
#include <string.h>

#include <sqlite3.h>

#include "app/backup.h"
#include "app/files.h"
#include "base/rng.h"
#include "support/keeper.h"

/* ---- rotation ---- */

/* From the rule's words, the slow way: i stays when fewer than `most` periods newer than its own
 * have a backup, and it is the newest of its own. */
static bool stays_by(const int64_t *days, size_t i, int64_t (*period)(int64_t), int most)
{
    int newer = 0;
    for (size_t k = 0; k < i; k++) {
        if (period(days[k]) == period(days[i])) {
            return false;
        }
        newer += k == 0 || period(days[k]) != period(days[k - 1]) ? 1 : 0;
    }
    return newer < most;
}

static int64_t by_day(int64_t day)
{
    return day;
}

/* Weeks by ISO 8601 begin on Monday; fl_civil_weekday is tested on its own. */
static int64_t by_week(int64_t day)
{
    return day - fl_civil_weekday(day * FL_DAY_S, 0);
}

static int64_t by_month(int64_t day)
{
    const fl_civil date = fl_civil_from_utc(day * FL_DAY_S, 0);
    return date.year * 100 + date.month;
}

static void test_rotation_follows_its_words(void **state)
{
    (void)state;
    enum { N = 300 };
    int64_t days[N];
    bool keep[N];
    for (uint64_t seed = 1; seed <= 40; seed++) {
        fl_rng rng = {seed};
        int64_t day = 20000 + (int64_t)fl_rng_below(&rng, 1000);
        for (size_t i = 0; i < N; i++) {
            days[i] = day;
            day -= (int64_t)fl_rng_below(&rng, 1 + seed % 5); /* several a day, or gaps */
        }
        fl_backup_keep(days, N, keep);
        for (size_t i = 0; i < N; i++) {
            bool wanted = stays_by(days, i, by_day, 7) || stays_by(days, i, by_week, 4) ||
                          stays_by(days, i, by_month, 12);
            if (keep[i] != wanted) {
                fail_msg("seed %llu, backup %zu", (unsigned long long)seed, i);
            }
        }
    }
    fl_backup_keep(days, 0, keep); /* nothing to keep is fine */
}

/* A year of daily backups, rotated each day: what stays by counting it out on a calendar. The last
 * is of Sunday 2027-02-28: 7 days 22 to 28 February; the Sundays 28, 21, 14, 7 February; the last
 * days of March 2026 to January 2027, and 28 February. */
static void test_a_year_of_daily_backups(void **state)
{
    (void)state;
    int64_t held[40];
    bool keep[40];
    size_t n = 0;
    const int64_t first = fl_civil_days(2026, 2, 1);
    const int64_t last = fl_civil_days(2027, 2, 28);
    for (int64_t day = first; day <= last; day++) {
        size_t kept = 0;
        memmove(&held[1], held, n * sizeof held[0]);
        held[0] = day;
        n++;
        fl_backup_keep(held, n, keep);
        for (size_t i = 0; i < n; i++) {
            if (keep[i]) {
                held[kept++] = held[i];
            }
        }
        n = kept;
        check_true(n <= 7 + 4 + 12);
    }
    const int64_t wanted[] = {
        last,
        last - 1,
        last - 2,
        last - 3,
        last - 4,
        last - 5,
        last - 6,
        fl_civil_days(2027, 2, 21),
        fl_civil_days(2027, 2, 14),
        fl_civil_days(2027, 2, 7),
        fl_civil_days(2027, 1, 31),
        fl_civil_days(2026, 12, 31),
        fl_civil_days(2026, 11, 30),
        fl_civil_days(2026, 10, 31),
        fl_civil_days(2026, 9, 30),
        fl_civil_days(2026, 8, 31),
        fl_civil_days(2026, 7, 31),
        fl_civil_days(2026, 6, 30),
        fl_civil_days(2026, 5, 31),
        fl_civil_days(2026, 4, 30),
        fl_civil_days(2026, 3, 31),
    };
    check_int(n, sizeof wanted / sizeof wanted[0]);
    for (size_t i = 0; i < n; i++) {
        check_int(held[i], wanted[i]);
    }
}

/* ---- making and reading back ---- */

typedef struct rig {
    fl_keeper k;
    fl_arena arena;
    fl_err err;
    fl_id source, bench, bin;
} rig;

static void rig_init(rig *r)
{
    memset(r, 0, sizeof *r);
    fl_keeper_init(&r->k);
    fl_arena_init(&r->arena);
    r->source = fl_keeper_source(&r->k, "corner shop", FL_SOURCE_CHAIN_STORE, false);
    r->bench = fl_keeper_place(&r->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    r->bin = fl_keeper_place(&r->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
}

static void rig_done(rig *r)
{
    fl_arena_done(&r->arena);
    fl_keeper_done(&r->k);
}

static fl_id arrive(rig *r)
{
    return fl_keeper_arrive(&r->k, r->source, fl_keeper_id(&r->k), r->bench, FL_FORM_POTTED,
                            FL_USE_STOCK, 3);
}

static const char *in_room(rig *r, const char *name)
{
    return fl_files_join(&r->arena, r->k.dir, name);
}

static int64_t journal_last(fl_app *app, fl_err *err)
{
    int64_t last = 0;
    check_ok(fl_store_journal_last(app->store, &last, err), err);
    return last;
}

static void test_backup_and_restore(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_backup_made made;
    fl_restored restored;
    fl_backup_state how;
    arrive(&r);
    check_ok(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), &r.err);
    check_str(made.file, in_room(&r, "backups/room-2026-03-02.sqlite"));
    check_int(made.holds.n_lots, 1);
    check_int(made.holds.n_events, journal_last(&r.k.app, &r.err));
    check_int(made.n_kept, 1);
    check_true(made.bytes > 4096);
    check_ok(fl_app_backup_state(&r.k.app, &r.arena, &how, &r.err), &r.err);
    check_str(how.newest, made.file);
    check_int(how.newest_day, fl_civil_days(2026, 3, 2));
    check_int(how.failed_s, 0);

    arrive(&r); /* after the backup: gone when it is restored, but kept beside */
    int64_t with_both = journal_last(&r.k.app, &r.err);
    fl_app_close(&r.k.app);
    fl_clock clock = fl_clock_fixed(&r.k.now_s);
    check_ok(fl_app_restore(made.file, r.k.dir, clock, &r.arena, &restored, &r.err), &r.err);
    check_int(restored.holds.n_lots, 1);
    check_true(fl_files_exist(restored.kept.ptr));
    check_ok(fl_app_open(r.k.dir, false, 0, clock, &r.k.app, &r.err), &r.err);
    check_int(journal_last(&r.k.app, &r.err), with_both - 1);
    check_int(r.k.app.tz_offset_min, 60);

    fl_restored back; /* and the old one comes back the same way */
    fl_app_close(&r.k.app);
    check_ok(fl_app_restore(restored.kept.ptr, r.k.dir, clock, &r.arena, &back, &r.err), &r.err);
    check_int(back.holds.n_lots, 2);
    check_ok(fl_app_open(r.k.dir, false, 0, clock, &r.k.app, &r.err), &r.err);
    check_int(journal_last(&r.k.app, &r.err), with_both);
    rig_done(&r);
}

/* A server has the room open for reading and writing, a backup is made by another connection. */
static void test_online(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_app second = {0};
    fl_app reader = {0};
    fl_backup_made made;
    fl_clock clock = fl_clock_fixed(&r.k.now_s);
    check_ok(fl_app_open_reader(r.k.dir, clock, &reader, &r.err), &r.err);
    check_ok(fl_store_begin_read(reader.store, &r.err), &r.err);
    check_ok(fl_app_open(r.k.dir, false, 0, clock, &second, &r.err), &r.err);
    arrive(&r);
    check_ok(fl_app_backup(&second, NULL, &r.arena, &made, &r.err), &r.err);
    check_int(made.holds.n_lots, 1);
    arrive(&r); /* the room goes on */
    check_status(
        (check_int(fl_app_restore(made.file, r.k.dir, clock, &r.arena, &(fl_restored){0}, &r.err),
                   FL_EBUSY),
         &r.err),
        FL_EBUSY);
    fl_err_clear(&r.err);
    fl_app_close(&second);
    fl_store_rollback(reader.store);
    fl_app_close(&reader);
    fl_keeper_verify(&r.k);
    rig_done(&r);
}

static void test_daily(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_backup_made made;
    const char **names = NULL;
    size_t n = 0;
    bool is_made = false;
    for (int day = 0; day < 60; day++) {
        fl_keeper_day(&r.k, day, 0);
        check_ok(fl_app_backup_due(&r.k.app, &r.arena, &is_made, &made, &r.err), &r.err);
        check_true(is_made);
        r.k.now_s += 10 * (int64_t)FL_HOUR_S; /* 23:00 in the room: the same day */
        check_ok(fl_app_backup_due(&r.k.app, &r.arena, &is_made, &made, &r.err), &r.err);
        check_false(is_made);
    }
    /* the last is of Thursday 2026-04-30: the days 24 to 30 April, the Sundays 26 (among them), 19
     * and 12 April, and 31 March */
    check_ok(fl_files_list(in_room(&r, "backups"), &r.arena, &names, &n, &r.err), &r.err);
    check_int(n, 7 + 2 + 1);
    check_str(names[0], "room-2026-03-31.sqlite");
    check_str(names[1], "room-2026-04-12.sqlite");
    check_str(names[2], "room-2026-04-19.sqlite");
    check_str(names[3], "room-2026-04-24.sqlite");
    check_str(names[n - 1], "room-2026-04-30.sqlite");
    r.k.now_s += 2 * (int64_t)FL_HOUR_S; /* 01:00 of the next day there, 00:00 UTC of it */
    check_ok(fl_app_backup_due(&r.k.app, &r.arena, &is_made, &made, &r.err), &r.err);
    check_true(is_made);
    check_str(made.file, in_room(&r, "backups/room-2026-05-01.sqlite"));
    rig_done(&r);
}

static void test_foreign_files_are_left(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_backup_made made;
    static const char *const foreign[] = {"room-2020-01-01.sqlite.bak", "room-2020-13-01.sqlite",
                                          "room-2020-01-01-1.sqlite",   "Room-2020-01-01.sqlite",
                                          "room-2020-01-01-x.sqlite",   "notes.txt"};
    check_ok(fl_files_make_folder(in_room(&r, "backups"), &r.err), &r.err);
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++) {
        const char *path = fl_files_join(&r.arena, in_room(&r, "backups"), foreign[i]);
        check_ok(fl_files_write(path, FL_SV("mine"), false, &r.err), &r.err);
    }
    for (int i = 0; i < 3; i++) {
        check_ok(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), &r.err);
    }
    check_str(made.file, in_room(&r, "backups/room-2026-03-02-3.sqlite"));
    check_int(made.n_kept, 1); /* of one day the newest stays */
    check_int(made.n_removed, 1);
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++) {
        check_true(fl_files_exist(fl_files_join(&r.arena, in_room(&r, "backups"), foreign[i])));
    }
    rig_done(&r);
}

static void test_refusals(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_backup_made made = {.n_kept = 77};
    fl_restored restored = {.holds = {.n_lots = 77}};
    const char *file = in_room(&r, "copy.sqlite");
    check_ok(fl_app_backup(&r.k.app, file, &r.arena, &made, &r.err), &r.err);
    check_int(made.n_kept, 0);
    made.n_kept = 77;
    check_int(fl_app_backup(&r.k.app, file, &r.arena, &made, &r.err), FL_ECONFLICT);
    check_status(&r.err, FL_ECONFLICT);
    check_int(made.n_kept, 77);
    fl_err_clear(&r.err);
    fl_clock clock = fl_clock_fixed(&r.k.now_s);
    const char *other = in_room(&r, "other");
    check_int(fl_app_restore(in_room(&r, "none"), other, clock, &r.arena, &restored, &r.err),
              FL_ENOTFOUND);
    check_status(&r.err, FL_ENOTFOUND);
    check_false(fl_files_exist(other));
    fl_err_clear(&r.err);
    check_ok(fl_files_write(in_room(&r, "text"), FL_SV("not a room"), false, &r.err), &r.err);
    check_int(fl_app_restore(in_room(&r, "text"), r.k.dir, clock, &r.arena, &restored, &r.err),
              FL_ECORRUPT);
    check_int(restored.holds.n_lots, 77);
    fl_keeper_verify(&r.k);
    rig_done(&r);
}

/* ---- a backup that cannot be read ---- */

static void run_sql(const char *file, const char *sql)
{
    sqlite3 *db = NULL;
    check_int(sqlite3_open(file, &db), SQLITE_OK);
    check_int(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    check_true(sqlite3_changes(db) > 0);
    check_int(sqlite3_close(db), SQLITE_OK);
}

/* The pages are copied faithfully, so what is wrong with the room is wrong with the copy. */
static void test_unreadable_is_told_the_same_day(void **state)
{
    (void)state;
    static const char *const damages[] = {
        "DROP TRIGGER journal_keeps_values; "
        "UPDATE journal SET canonical = replace(canonical, 'corner', 'Corner') WHERE position = 1",
        "UPDATE lot_now SET count = count + 1",
    };
    for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
        rig r;
        rig_init(&r);
        fl_backup_made made;
        fl_backup_state how;
        arrive(&r);
        fl_app_close(&r.k.app);
        run_sql(in_room(&r, "room.sqlite"), damages[i]);
        fl_clock clock = fl_clock_fixed(&r.k.now_s);
        check_ok(fl_app_open(r.k.dir, false, 0, clock, &r.k.app, &r.err), &r.err);
        check_int(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), FL_ECORRUPT);
        check_status(&r.err, FL_ECORRUPT);
        check_contains(r.err.message, "the backup cannot be read back: ");
        check_false(fl_files_exist(in_room(&r, "backups/room-2026-03-02.sqlite")));
        check_true(fl_files_exist(in_room(&r, "backups/room-2026-03-02.sqlite.unreadable")));
        check_ok(fl_app_backup_state(&r.k.app, &r.arena, &how, &r.err), &r.err);
        check_true(how.newest == NULL);
        check_int(how.failed_s, r.k.now_s);
        check_contains(how.failed_why.ptr, "cannot be read back");
        rig_done(&r);
    }
}

/* And is forgotten once one succeeds; nothing older gave way for it. */
static void test_failure_clears(void **state)
{
    (void)state;
    rig r;
    rig_init(&r);
    fl_backup_made made;
    fl_backup_state how;
    arrive(&r);
    check_ok(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), &r.err);
    fl_keeper_day(&r.k, 1, 0);
    run_sql(in_room(&r, "room.sqlite"), "UPDATE lot_now SET count = count + 1");
    check_int(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), FL_ECORRUPT);
    fl_err_clear(&r.err);
    check_true(fl_files_exist(in_room(&r, "backups/room-2026-03-02.sqlite")));
    run_sql(in_room(&r, "room.sqlite"), "UPDATE lot_now SET count = count - 1");
    check_ok(fl_app_backup(&r.k.app, NULL, &r.arena, &made, &r.err), &r.err);
    check_ok(fl_app_backup_state(&r.k.app, &r.arena, &how, &r.err), &r.err);
    check_int(how.failed_s, 0);
    check_int(how.newest_day, fl_civil_days(2026, 3, 3));
    rig_done(&r);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rotation_follows_its_words),
    cmocka_unit_test(test_a_year_of_daily_backups),
    cmocka_unit_test(test_backup_and_restore),
    cmocka_unit_test(test_online),
    cmocka_unit_test(test_daily),
    cmocka_unit_test(test_foreign_files_are_left),
    cmocka_unit_test(test_refusals),
    cmocka_unit_test(test_unreadable_is_told_the_same_day),
    cmocka_unit_test(test_failure_clears),
};
FL_TEST_MAIN(tests)
