/* The n-th read, write, sync, opening or lock fails, for every n until none fires, in every
 * command of the main job: once, or from then on; as an error of the device, as a full disk, as
 * another process that has the file. SQLite's files and our own calls are counted together
 * (support/trip.h). And no file may grow beyond a size, for every size: a full disk that other
 * libraries feel as well.
 *
 * FL_FAULT_EVERY sets the stride: 1 tries every n, as docs/reliability.md tells; without it
 * every 53rd is tried, beginning elsewhere in each command, and either once or from then on. */
#include <stdio.h>
#include <stdlib.h>

#include "base/num.h"
#include "support/check.h"
#include "support/job.h"

#define N_MAX 100000 /* far more operations than a command has */
#define EVERY 53
#define SIZE_STEP 4096

typedef struct fault {
    const char *name;
    unsigned kinds;
    fl_trip_how how;
    uint64_t rare; /* so many times more often than the stride says: there are few */
} fault;

static const fault faults[] = {
    {"reading", FL_TRIP_READ, FL_TRIP_ERROR, 1},      {"writing", FL_TRIP_WRITE, FL_TRIP_ERROR, 1},
    {"disk full", FL_TRIP_WRITE, FL_TRIP_REFUSED, 1}, {"syncing", FL_TRIP_SYNC, FL_TRIP_ERROR, 6},
    {"opening", FL_TRIP_OPEN, FL_TRIP_ERROR, 6},      {"locking", FL_TRIP_LOCK, FL_TRIP_ERROR, 1},
    {"locked", FL_TRIP_LOCK, FL_TRIP_REFUSED, 1},
};

static uint64_t stride(void)
{
    const char *text = getenv("FL_FAULT_EVERY");
    int64_t value = EVERY;
    fl_err err;
    if (text != NULL) {
        check_ok(fl_num_parse_int(fl_sv_from_cstr(text), "FL_FAULT_EVERY", 1, N_MAX, &value, &err),
                 &err);
    }
    return (uint64_t)value;
}

/* One command with one kind of fault; how many faults fired. */
static uint64_t sweep(fl_job *job, size_t step, const fault *what, bool is_lasting, uint64_t every)
{
    uint64_t fired = 0;
    uint64_t first = 1 + (step * 5 + what->kinds + is_lasting) % every;
    for (uint64_t n = first; n < N_MAX; n += every) {
        fl_trip trip = {.kinds = what->kinds, .how = what->how, .n = n, .is_lasting = is_lasting};
        if (!fl_job_try(job, step, trip).has_fired) {
            return fired;
        }
        fired++;
    }
    fail();
    return 0;
}

static void test_every_operation(void **state)
{
    (void)state;
    uint64_t every = stride();
    fl_trip_install();
    fl_job job;
    fl_job_init(&job);
    for (size_t k = 0; k < sizeof faults / sizeof faults[0]; k++) {
        uint64_t fired = 0;
        for (size_t step = 0; step < job.n_steps; step++) {
            bool is_lasting = (step + k) % 2 == 0;
            fired += sweep(&job, step, &faults[k], is_lasting, every);
            fired += every == EVERY ? 0 : sweep(&job, step, &faults[k], !is_lasting, every);
        }
        print_message("%s: %llu faults in %zu commands\n", faults[k].name,
                      (unsigned long long)fired, job.n_steps);
        check_true(fired > 0); /* else nothing was counted */
    }
    check_int(job.n_wrong, 0);
    fl_job_done(&job);
}

static void test_every_size(void **state)
{
    (void)state;
    size_t step_bytes = SIZE_STEP * (size_t)stride();
    fl_trip_install();
    fl_job job;
    fl_job_init(&job);
    size_t failed = 0;
    for (size_t step = 0; step < job.n_steps; step++) {
        bool has_failed = true;
        for (size_t n = 1 + step; has_failed; n += step_bytes) {
            fl_job_end end = fl_job_try_small(&job, step, n);
            has_failed = end.code == 3;
            failed += has_failed;
        }
    }
    print_message("no room for %zu sizes of file\n", failed);
    check_true(failed > 0);
    check_int(job.n_wrong, 0);
    fl_job_done(&job);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_operation),
    cmocka_unit_test(test_every_size),
};
FL_TEST_MAIN(tests)
