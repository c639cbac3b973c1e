/* The main job as commands of the program, from making the room to checking it, each run in a
 * child of the test (the same code, without exec) so that something may be let fail in it:
 * support/trip.h. A command begins from a folder that is always the same, and its ids and its
 * clock are fixed. */
#ifndef FL_TESTS_SUPPORT_JOB_H
#define FL_TESTS_SUPPORT_JOB_H

#include <stddef.h>

#include "base/hash.h"
#include "support/check.h"
#include "support/trip.h"

#define FL_JOB_STEPS_MAX 24

typedef struct fl_job {
    char base[FL_TEMP_PATH_MAX]; /* BASE/before/N: the folder before step N; BASE/now: at work */
    uint64_t n_wrong;            /* runs that left something wrong; each is told */
    uint64_t n_operations;       /* of the armed kinds in the command tried last */
    size_t n_steps;              /* the commands of the job */
    size_t events[FL_JOB_STEPS_MAX]; /* in the room before step N; [n_steps] at the end */
    fl_hash sums[FL_JOB_STEPS_MAX];  /* of all those events' bytes */
} fl_job;

/* What became of one command. */
typedef struct fl_job_end {
    bool has_fired; /* the fault */
    int code;       /* of the program; -1: ended by a signal */
    int signal;     /* then that */
    char said[512]; /* the beginning of what it said on standard error */
} fl_job_end;

/* Runs the whole job undisturbed and keeps what was before each step. fl_trip_install first. */
void fl_job_init(fl_job *job);
void fl_job_done(fl_job *job);
const char *fl_job_name(size_t step);

/* Step `step` from its beginning, with a fault; then looks at everything it left: it ended by
 * itself with an exit code and one plain line, or did its work; the room is whole and holds
 * what was there before, and if the work was acknowledged all of it, else all or none; files it
 * wrote are whole or not there; and the same command given again, undisturbed, does its work.
 * What is not so is told, with step and fault, and counted in n_wrong. */
fl_job_end fl_job_try(fl_job *job, size_t step, fl_trip trip);
/* The same with no file allowed to grow beyond so many bytes, which other libraries feel too. */
fl_job_end fl_job_try_small(fl_job *job, size_t step, size_t file_bytes_max);

#endif
