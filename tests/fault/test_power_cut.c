/* The power goes at the n-th write, truncation, sync or removal, n = 1, 2, 3 … until the scenario
 * ends without it; or that operation fails. Nothing acknowledged may be lost, no event may be there
 * in half, and a failing disk gives a clean error and an intact room.
 *
 * What a disk may do is after SQLite's own documentation: "Atomic Commit In SQLite", Hardware
 * Assumptions (writes reorder until a sync, sectors are lost singly), and "How SQLite Is Tested",
 * Anomaly Testing (the n-th operation fails, for every n). */
#include <stdio.h>

#include "store/db.h"
#include "support/check.h"
#include "support/history.h"
#include "support/powercut.h"

#define FIRST_PART 2 /* transactions before the room is closed and opened again */
#define ALL 4
#define N_MAX 100000 /* far more operations than the scenario has */

typedef struct run {
    char dir[FL_TEMP_PATH_MAX];
    bool should_retry; /* try a failing step once more */
    bool is_made;      /* opening the new room was acknowledged */
    uint64_t acked;
    fl_store *store;
    fl_err err;
} run;

/* An error of a failing disk is FL_EIO, never "damaged" and never a success. */
static bool is_clean(fl_status status)
{
    return status == FL_OK || status == FL_EIO;
}

static fl_status open_once(run *r)
{
    fl_status status = fl_store_open(r->dir, true, &r->store, &r->err);
    if (status == FL_OK) {
        r->is_made = true;
        /* small, so that logs are written back in the middle of the scenario */
        status = fl_db_run(r->store, FL_SV("PRAGMA wal_autocheckpoint = 6"), &r->err);
    }
    return status;
}

static bool open_room(run *r)
{
    fl_status status = open_once(r);
    check_true(is_clean(status));
    if (status != FL_OK && r->should_retry) {
        fl_store_close(r->store);
        r->store = NULL;
        status = open_once(r);
    }
    return status == FL_OK;
}

static bool record(run *r, uint64_t t)
{
    fl_status status = fl_history_record(r->store, t, &r->err);
    check_true(is_clean(status));
    if (status != FL_OK && r->should_retry) {
        status = fl_history_record(r->store, t, &r->err);
        check_true(is_clean(status)); /* in particular not "recorded already" */
    }
    if (status == FL_OK) {
        r->acked = t;
        status = fl_history_memo(r->store, t, &r->err);
        check_true(is_clean(status));
        status = FL_OK; /* a memo may fail */
    }
    return status == FL_OK;
}

/* Makes a room, records, closes, opens, records, closes; stops at what fails. */
static bool scenario(run *r)
{
    bool is_done = open_room(r);
    for (uint64_t t = 1; t <= FIRST_PART && is_done; t++) {
        is_done = record(r, t);
    }
    fl_store_close(r->store);
    r->store = NULL;
    is_done = is_done && open_room(r);
    for (uint64_t t = FIRST_PART + 1; t <= ALL && is_done; t++) {
        is_done = record(r, t);
    }
    fl_store_close(r->store);
    r->store = NULL;
    return is_done;
}

/* The next start of the program: all is there, and work goes on. */
static void check_after(run *r, const char *what, uint64_t n)
{
    uint64_t present = 0;
    fl_status status = fl_store_open(r->dir, !r->is_made, &r->store, &r->err);
    if (status == FL_OK) {
        status = fl_history_check(r->store, r->acked, &present, &r->err);
    }
    if (status == FL_OK) {
        status = fl_history_record(r->store, present + 1, &r->err);
    }
    if (status == FL_OK) {
        r->acked = present + 1;
        status = fl_history_check(r->store, r->acked, &present, &r->err);
    }
    if (status != FL_OK) {
        print_error("%s at operation %llu, %llu acknowledged: ", what, (unsigned long long)n,
                    (unsigned long long)r->acked);
    }
    check_ok(status, &r->err);
    fl_store_close(r->store);
    r->store = NULL;
}

static void begin(run *r, fl_fault fault, uint64_t n)
{
    *r = (run){.store = NULL};
    fl_temp_folder(r->dir);
    fl_powercut_arm(fault, n);
}

static void end(run *r)
{
    fl_powercut_restart(FL_LEFTOVER_ALL, 0);
    fl_remove_folder(r->dir);
}

/* Every n until the scenario is through; how many there were. */
static uint64_t cut_everywhere(fl_leftover leftover)
{
    for (uint64_t n = 1; n < N_MAX; n++) {
        run r;
        begin(&r, FL_FAULT_POWER, n);
        bool is_done = scenario(&r);
        bool has_fired = fl_powercut_has_fired();
        check_true(is_done || has_fired);
        fl_powercut_restart(leftover, n);
        check_after(&r, "power cut", n);
        /* and a second cut, right after the recovery was acknowledged */
        fl_powercut_restart(leftover, n + N_MAX);
        check_after(&r, "second power cut after one", n);
        end(&r);
        if (!has_fired) {
            return n;
        }
    }
    fail();
    return 0;
}

static void test_power_cut(void **state)
{
    (void)state;
    fl_powercut_install();
    static const char *const names[FL_LEFTOVER_COUNT] = {"nothing", "some sectors", "all"};
    for (int leftover = 0; leftover < FL_LEFTOVER_COUNT; leftover++) {
        uint64_t n = cut_everywhere((fl_leftover)leftover);
        print_message("of what was not synced, %s is left: %llu cuts\n", names[leftover],
                      (unsigned long long)(n - 1));
        check_true(n > 100); /* the scenario has that many operations, or the disk is not used */
    }
    fl_powercut_remove();
}

/* One operation fails: the step fails cleanly, and the next attempt works. */
static void test_one_error(void **state)
{
    (void)state;
    fl_powercut_install();
    static const fl_fault faults[] = {FL_FAULT_ERROR_ONCE, FL_FAULT_FULL_ONCE};
    for (size_t i = 0; i < 2; i++) {
        bool has_fired = true;
        for (uint64_t n = 1; has_fired; n++) {
            check_true(n < N_MAX);
            run r;
            begin(&r, faults[i], n);
            r.should_retry = true;
            bool is_done = scenario(&r);
            has_fired = fl_powercut_has_fired();
            fl_powercut_arm(FL_FAULT_NONE, 0);
            check_ok(is_done ? FL_OK : r.err.code, &r.err);
            check_int(r.acked, ALL);
            check_after(&r, "one error", n);
            end(&r);
        }
    }
    fl_powercut_remove();
}

/* The disk fails from some moment on, is repaired, and then loses power: what was acknowledged is
 * there in both cases. */
static void test_failing_disk(void **state)
{
    (void)state;
    fl_powercut_install();
    bool has_fired = true;
    for (uint64_t n = 1; has_fired; n++) {
        check_true(n < N_MAX);
        run r;
        begin(&r, FL_FAULT_ERROR_ON, n);
        (void)scenario(&r);
        has_fired = fl_powercut_has_fired();
        fl_powercut_arm(FL_FAULT_NONE, 0);
        check_after(&r, "failing disk", n);
        fl_powercut_restart(FL_LEFTOVER_NONE, n);
        check_after(&r, "power cut after a failing disk", n);
        end(&r);
    }
    fl_powercut_remove();
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_power_cut),
    cmocka_unit_test(test_one_error),
    cmocka_unit_test(test_failing_disk),
};
FL_TEST_MAIN(tests)
