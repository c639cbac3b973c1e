/* kill -9 at random moments while a child records: after each one the room opens, everything
 * acknowledged is there byte for byte, and nothing is there in half.
 *
 * FL_FAULT_ROUNDS sets the number of kills (150), FL_FAULT_SEED the moments. A failure prints the
 * seed; the scheduler has its say as well, so the same seed need not fail again. */
#define _GNU_SOURCE
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/num.h"
#include "base/rng.h"
#include "support/check.h"
#include "support/history.h"

#define EVENTS_PER_CHILD 1000
#define ROUNDS_PER_ROOM 8
#define DELAY_MIN_MS 0.2
#define DELAY_MAX_MS 250.0

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

/* The child: records on from `first`, says each transaction that was acknowledged. */
static _Noreturn void record_until_killed(const char *dir, uint64_t first, int acks)
{
    fl_err err;
    fl_store *store = NULL;
    uint64_t events = 0;
    fl_status status = fl_store_open(dir, true, &store, &err);
    for (uint64_t t = first; events < EVENTS_PER_CHILD && status == FL_OK; t++) {
        status = fl_history_record(store, t, &err);
        if (status == FL_OK && write(acks, &t, sizeof t) != (ssize_t)sizeof t) {
            _exit(3);
        }
        if (status == FL_OK) {
            status = fl_history_memo(store, t, &err);
        }
        events += fl_history_events(t);
    }
    if (status != FL_OK) {
        (void)fprintf(stderr, "child: %s\n", err.message);
        _exit(2);
    }
    fl_store_close(store);
    _exit(0);
}

/* The last number in the pipe, after its writer is gone. */
static uint64_t last_ack(int acks, uint64_t before)
{
    uint64_t last = before;
    uint64_t t = 0;
    ssize_t got = 0;
    while ((got = read(acks, &t, sizeof t)) == (ssize_t)sizeof t) {
        check_int(t, last + 1);
        last = t;
    }
    check_int(got, 0); /* writes of 8 bytes to a pipe are whole (POSIX, write: PIPE_BUF) */
    return last;
}

static void sleep_ms(double ms)
{
    struct timespec left = {.tv_sec = (time_t)(ms / 1000.0),
                            .tv_nsec = (long)(fmod(ms, 1000.0) * 1e6)};
    while (nanosleep(&left, &left) != 0 && errno == EINTR) {
    }
}

/* One child, killed after delay_ms (or done before). The last acknowledged transaction. */
static uint64_t run_and_kill(const char *dir, uint64_t done, double delay_ms, bool *was_killed)
{
    int acks[2];
    check_int(pipe(acks), 0);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        close(acks[0]);
        record_until_killed(dir, done + 1, acks[1]);
    }
    close(acks[1]);
    sleep_ms(delay_ms);
    check_int(kill(child, SIGKILL), 0);
    int status = 0;
    check_int(waitpid(child, &status, 0), child);
    *was_killed = WIFSIGNALED(status);
    check_true(WIFSIGNALED(status) || WEXITSTATUS(status) == 0);
    uint64_t last = last_ack(acks[0], done);
    close(acks[0]);
    return last;
}

/* Opens the room as the next start of the program would, and looks at all of it. */
static uint64_t check_room(const char *dir, uint64_t acked, const char *seed)
{
    fl_err err;
    fl_store *store = NULL;
    uint64_t present = 0;
    fl_status status = fl_store_open(dir, acked == 0, &store, &err);
    if (status == FL_OK) {
        status = fl_history_check(store, acked, &present, &err);
    }
    if (status != FL_OK) {
        print_error("FL_FAULT_SEED=%s: after %llu acknowledged: ", seed, (unsigned long long)acked);
    }
    check_ok(status, &err);
    fl_store_close(store);
    return present;
}

static void test_killed_while_recording(void **state)
{
    (void)state;
    int64_t rounds = setting("FL_FAULT_ROUNDS", 150);
    int64_t seed = setting("FL_FAULT_SEED", (int64_t)time(NULL));
    char seed_text[32];
    (void)snprintf(seed_text, sizeof seed_text, "%lld", (long long)seed);
    fl_rng rng = {(uint64_t)seed};
    char dir[FL_TEMP_PATH_MAX];
    uint64_t done = 0;
    uint64_t all = 0;
    int64_t kills = 0;
    for (int64_t i = 0; i < rounds; i++) {
        if (i % ROUNDS_PER_ROOM == 0) {
            fl_temp_folder(dir);
            done = 0;
        }
        /* equally often in each order of magnitude, from opening to well into the work */
        double delay_ms = DELAY_MIN_MS * pow(DELAY_MAX_MS / DELAY_MIN_MS, fl_rng_uniform(&rng));
        bool was_killed = false;
        uint64_t acked = run_and_kill(dir, done, delay_ms, &was_killed);
        all += acked - done;
        kills += was_killed;
        done = check_room(dir, acked, seed_text);
        if (i % ROUNDS_PER_ROOM == ROUNDS_PER_ROOM - 1 || i == rounds - 1) {
            fl_remove_folder(dir);
        }
    }
    print_message("%lld kills, %llu transactions acknowledged, seed %s\n", (long long)kills,
                  (unsigned long long)all, seed_text);
    check_true(kills * 2 > rounds); /* else the delays are wrong, and this tests little */
    check_true(all > (uint64_t)rounds);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_killed_while_recording),
};
FL_TEST_MAIN(tests)
