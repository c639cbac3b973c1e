/* `fernlock record` killed at random moments while it records 1,000 events, and the same way in
 * under a disk that loses power. After each: every line that was acknowledged is in the journal,
 * byte for byte and in its place, at most one more is, and `verify` finds nothing. Recording the
 * same file again completes it: what is there is "already recorded".
 *
 * FL_FAULT_SECONDS sets how long the kills go on (20; what is left then is recorded in one go),
 * FL_FAULT_ROOMS how many rooms there are (1), FL_FAULT_SEED the diaries and the moments. A failure
 * prints the seed; the scheduler has its say as well, so the same seed need not fail again. */
#define _GNU_SOURCE
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "app/app.h"
#include "base/limits.h"
#include "base/num.h"
#include "base/rng.h"
#include "json/event_codec.h"
#include "store/db.h"
#include "support/check.h"
#include "support/diary.h"
#include "support/powercut.h"

#define EVENTS 1000
#define DELAY_MIN_MS 1.0
#define DELAY_MAX_MS 800.0
#define NOW "2026-06-01T00:00:00Z" /* FL_DIARY_END_S */

/* ---- what both tests look at ---- */

typedef struct trial {
    fl_arena arena;
    fl_err err;
    char dir[FL_TEMP_PATH_MAX];
    const fl_sv *lines;
    size_t n_lines;
    size_t acked; /* so many lines from the first were acknowledged */
    int64_t now_s;
    char seed[32];
} trial;

static int64_t setting(const char *name, int64_t otherwise)
{
    int64_t value = otherwise;
    const char *text = getenv(name);
    if (text != NULL) {
        fl_err err;
        check_ok(fl_num_parse_int(fl_sv_from_cstr(text), name, 1, INT64_MAX, &value, &err), &err);
    }
    return value;
}

static void complain(const trial *t, const char *what)
{
    print_error("FL_FAULT_SEED=%s: after %zu lines acknowledged: %s\n", t->seed, t->acked, what);
    fail();
}

/* The journal holds the first n lines, n being what was acknowledged or one more. */
static void check_rows(trial *t, const fl_journal_row *rows, size_t count)
{
    if (count < t->acked || count > t->acked + 1) {
        print_error("%zu rows\n", count);
        complain(t, "another number of events is in the journal");
    }
    for (size_t i = 0; i < count; i++) {
        if (!fl_sv_eq(rows[i].bytes, t->lines[i])) {
            print_error("row %zu: %.*s\n", i + 1, FL_SV_ARG(rows[i].bytes));
            complain(t, "an event differs from its line");
        }
    }
}

/* Opens the room as the next start of the program would, and looks at all of it. Returns how many
 * lines are there. */
static size_t check_room(trial *t)
{
    fl_app app;
    fl_arena arena;
    fl_verified verified;
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_arena_init(&arena);
    fl_status status = fl_app_open(t->dir, false, 0, fl_clock_fixed(&t->now_s), &app, &t->err);
    if (status != FL_OK) {
        complain(t, t->err.message);
    }
    status = fl_store_journal_read(app.store, 0, SIZE_MAX, &arena, &rows, &count, &t->err);
    if (status == FL_OK) {
        check_rows(t, rows, count);
        status = fl_app_verify(&app, &verified, &t->err);
    }
    if (status != FL_OK) {
        complain(t, t->err.message);
    }
    check_int(verified.n_events, count);
    fl_app_close(&app);
    fl_arena_done(&arena);
    return count;
}

static void make_room(trial *t)
{
    fl_app app;
    (void)fl_temp_folder(t->dir);
    t->now_s = FL_DIARY_END_S;
    t->acked = 0;
    check_ok(fl_app_open(t->dir, true, 60, fl_clock_fixed(&t->now_s), &app, &t->err), &t->err);
    fl_app_close(&app);
}

/* ---- killing ---- */

static void write_lines(const trial *t, char *path, size_t size)
{
    (void)snprintf(path, size, "%s/diary.jsonl", t->dir);
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    for (size_t i = 0; i < t->n_lines; i++) {
        (void)fprintf(file, "%.*s\n", FL_SV_ARG(t->lines[i]));
    }
    check_int(fclose(file), 0);
}

static void sleep_ms(double ms)
{
    struct timespec left = {.tv_sec = (time_t)(ms / 1000.0),
                            .tv_nsec = (long)(fmod(ms, 1000.0) * 1e6)};
    while (nanosleep(&left, &left) != 0 && errno == EINTR) {
    }
}

static _Noreturn void become_recorder(const char *dir, const char *path, bool is_together,
                                      FILE *out)
{
    char *argv[] = {strdup("fernlock"), strdup("--room"),     strdup(dir),
                    strdup("--now"),    strdup(NOW),          strdup("record"),
                    strdup(path),       strdup("--together"), NULL};
    argv[7] = is_together ? argv[7] : NULL;
    (void)dup2(fileno(out), STDOUT_FILENO);
    (void)execv(FL_BINARY, argv);
    _exit(127);
}

/* How many lines, from the first, the output acknowledges; a line without its end does not count.
 * Those of lines up to `before` must say that they were there. */
static size_t count_acks(FILE *out, size_t before)
{
    char line[400];
    size_t acked = 0;
    rewind(out);
    while (fgets(line, sizeof line, out) != NULL && strchr(line, '\n') != NULL) {
        unsigned long number = 0;
        char word[16] = "";
        if (sscanf(line, "line %lu: %15s", &number, word) != 2) {
            break; /* the summary */
        }
        check_int(number, acked + 1);
        check_str(word, number <= before ? "already" : "recorded");
        acked = number;
    }
    return acked;
}

/* One run of the program, killed after delay_ms unless it is done before; delay_ms 0: undisturbed,
 * all lines in one transaction. True when killed. */
static bool run_and_kill(trial *t, const char *path, size_t present, double delay_ms)
{
    FILE *out = tmpfile();
    int status = 0;
    check_true(out != NULL);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        become_recorder(t->dir, path, delay_ms <= 0.0, out);
    }
    if (delay_ms > 0.0) {
        sleep_ms(delay_ms);
        check_int(kill(child, SIGKILL), 0);
    }
    check_int(waitpid(child, &status, 0), child);
    bool was_killed = WIFSIGNALED(status);
    check_true(was_killed || WEXITSTATUS(status) == 0);
    size_t acked = count_acks(out, present);
    check_true(was_killed || acked == t->n_lines);
    t->acked = acked > present ? acked : present;
    (void)fclose(out);
    return was_killed;
}

/* Equally often in each order of magnitude, from starting up to well into the work. */
static double some_delay_ms(fl_rng *rng)
{
    return DELAY_MIN_MS * pow(DELAY_MAX_MS / DELAY_MIN_MS, fl_rng_uniform(rng));
}

/* Kills until all lines are there or the time is over, then once undisturbed. Returns the kills. */
static int64_t kill_through(trial *t, fl_rng *rng, time_t until)
{
    char path[FL_TEMP_PATH_MAX + 16];
    size_t present = 0;
    int64_t kills = 0;
    make_room(t);
    write_lines(t, path, sizeof path);
    while (present < t->n_lines && time(NULL) < until) {
        kills += run_and_kill(t, path, present, some_delay_ms(rng));
        present = check_room(t);
    }
    check_false(run_and_kill(t, path, present, 0.0));
    check_int(check_room(t), t->n_lines);
    fl_remove_folder(t->dir);
    return kills;
}

static void test_killed_while_recording(void **state)
{
    (void)state;
    trial t = {.n_lines = EVENTS};
    int64_t seed = setting("FL_FAULT_SEED", (int64_t)time(NULL));
    int64_t rooms = setting("FL_FAULT_ROOMS", 1);
    int64_t seconds = setting("FL_FAULT_SECONDS", 20);
    fl_rng rng = {(uint64_t)seed};
    (void)snprintf(t.seed, sizeof t.seed, "%lld", (long long)seed);
    fl_arena_init(&t.arena);
    for (int64_t i = 0; i < rooms; i++) {
        t.lines = fl_diary((uint64_t)(seed + i), EVENTS, &t.arena);
        int64_t kills = kill_through(&t, &rng, time(NULL) + (time_t)seconds);
        print_message("%lld kills, seed %s\n", (long long)kills, t.seed);
        check_true(kills >= 10); /* else the delays are wrong, and this tests little */
    }
    fl_arena_done(&t.arena);
}

/* ---- power cuts ---- */

#define CUT_EVENTS 50
#define CUT_FIRST 35 /* recorded before the room is closed and opened again */
#define CUT_STRIDE 53

static bool record_some(trial *t, size_t from, size_t to)
{
    fl_app app;
    fl_status status = fl_app_open(t->dir, true, 60, fl_clock_fixed(&t->now_s), &app, &t->err);
    if (status != FL_OK) {
        return false;
    }
    /* small, so that the log is written back in the middle of the work */
    status = fl_db_run(app.store, FL_SV("PRAGMA wal_autocheckpoint = 8"), &t->err);
    for (size_t i = from; i < to && status == FL_OK; i++) {
        fl_recorded what = FL_RECORDED_ALREADY;
        status = fl_app_record(&app, t->lines[i], &what, &t->err);
        t->acked = status == FL_OK ? i + 1 : t->acked;
    }
    fl_app_close(&app);
    return status == FL_OK;
}

/* All lines; false when the power went before. */
static bool record_all(trial *t)
{
    return record_some(t, 0, CUT_FIRST) && record_some(t, CUT_FIRST, t->n_lines);
}

/* The next start of the program, and the rest of the lines. */
static void check_after_cut(trial *t)
{
    size_t present = check_room(t);
    fl_app app;
    check_ok(fl_app_open(t->dir, false, 0, fl_clock_fixed(&t->now_s), &app, &t->err), &t->err);
    for (size_t i = 0; i < t->n_lines; i++) {
        fl_recorded what = FL_RECORDED_NEW;
        check_ok(fl_app_record(&app, t->lines[i], &what, &t->err), &t->err);
        check_int(what, i < present ? FL_RECORDED_ALREADY : FL_RECORDED_NEW);
    }
    fl_app_close(&app);
    t->acked = t->n_lines;
    check_int(check_room(t), t->n_lines);
}

/* The power goes at every CUT_STRIDE-th operation; returns how many cuts there were. */
static uint64_t cut_often(trial *t, fl_leftover leftover)
{
    uint64_t cuts = 0;
    bool has_fired = true;
    for (uint64_t n = 1 + (uint64_t)leftover * 7; has_fired; n += CUT_STRIDE) {
        fl_powercut_arm(FL_FAULT_NONE, 0);
        make_room(t); /* making it is tests/fault/test_power_cut's; here it is there */
        fl_powercut_arm(FL_FAULT_POWER, n);
        bool is_done = record_all(t);
        has_fired = fl_powercut_has_fired();
        check_true(is_done || has_fired);
        fl_powercut_restart(leftover, n);
        check_after_cut(t);
        cuts += has_fired;
        fl_powercut_restart(FL_LEFTOVER_ALL, 0);
        fl_remove_folder(t->dir);
    }
    return cuts;
}

static void test_power_cut(void **state)
{
    (void)state;
    static const char *const names[FL_LEFTOVER_COUNT] = {"nothing", "some sectors", "all"};
    trial t = {.n_lines = CUT_EVENTS, .seed = "1"};
    fl_arena_init(&t.arena);
    t.lines = fl_diary(1, CUT_EVENTS, &t.arena);
    fl_powercut_install();
    for (int leftover = 0; leftover < FL_LEFTOVER_COUNT; leftover++) {
        uint64_t cuts = cut_often(&t, (fl_leftover)leftover);
        print_message("of what was not synced, %s is left: %llu cuts\n", names[leftover],
                      (unsigned long long)cuts);
        check_true(cuts >= 10); /* else the disk is not used */
    }
    fl_powercut_remove();
    fl_arena_done(&t.arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_killed_while_recording),
    cmocka_unit_test(test_power_cut),
};
FL_TEST_MAIN(tests)
