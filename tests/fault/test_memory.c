/* The n-th allocation fails, for every n until none fails, in every command of the main job:
 * once, or from then on. Every allocation of the process counts, those of SQLite, jansson,
 * libzip and the C library too; under sanitizers ours, jansson's and SQLite's. The program ends
 * by itself with one plain line, or does its work all the same; the room is whole either way
 * (support/job.h).
 *
 * FL_FAULT_EVERY sets the stride: 1 tries every n, as docs/reliability.md tells; without it a
 * few dozen of each command are tried. */
#include <stdlib.h>

#include "base/num.h"
#include "support/check.h"
#include "support/job.h"

#define N_MAX 10000000
#define TRIES 8 /* of each command, without FL_FAULT_EVERY */

/* How many allocations the command has. */
static uint64_t allocations(fl_job *job, size_t step)
{
    (void)fl_job_try(job, step, (fl_trip){.kinds = FL_TRIP_MEMORY, .n = UINT64_MAX});
    return job->n_operations;
}

static uint64_t stride(uint64_t count)
{
    const char *text = getenv("FL_FAULT_EVERY");
    int64_t value = (int64_t)(count / TRIES) + 1;
    fl_err err;
    if (text != NULL) {
        check_ok(fl_num_parse_int(fl_sv_from_cstr(text), "FL_FAULT_EVERY", 1, N_MAX, &value, &err),
                 &err);
    }
    return (uint64_t)value;
}

static uint64_t sweep(fl_job *job, size_t step, bool is_lasting)
{
    uint64_t count = allocations(job, step);
    uint64_t every = stride(count);
    uint64_t fired = 0;
    check_true(count > 100); /* else they are not counted */
    for (uint64_t n = 1 + (step * 37 + is_lasting * 11) % every; n <= count; n += every) {
        fl_trip trip = {.kinds = FL_TRIP_MEMORY, .n = n, .is_lasting = is_lasting};
        fired += fl_job_try(job, step, trip).has_fired;
    }
    return fired;
}

static void test_every_allocation(void **state)
{
    (void)state;
    fl_trip_install();
    fl_job job;
    fl_job_init(&job);
    uint64_t fired = 0;
    for (size_t step = 0; step < job.n_steps; step++) {
        uint64_t before = fired;
        fired += sweep(&job, step, false);
        fired += sweep(&job, step, true);
        if (getenv("FL_FAULT_EVERY") != NULL) {
            print_message("%s: %llu\n", fl_job_name(step), (unsigned long long)(fired - before));
        }
    }
    print_message("%llu allocations failed in %zu commands\n", (unsigned long long)fired,
                  job.n_steps);
    check_int(job.n_wrong, 0);
    check_true(fired >= 2 * job.n_steps);
    fl_job_done(&job);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_allocation),
};
FL_TEST_MAIN(tests)
