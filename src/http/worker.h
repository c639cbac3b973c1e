/* A thread beside the server's: a queue of jobs, done one after the other in the order they came.
 * Whoever puts a job in is told through a file descriptor when some are done. There are four: one
 * reads the room and computes, one reads what asks no chances, one writes, one does long work that
 * nobody waits for (jobs.h). */
#ifndef FL_HTTP_WORKER_H
#define FL_HTTP_WORKER_H

#include "base/err.h"

typedef struct fl_job {
    void (*run)(struct fl_job *job); /* on the worker's thread */
    void *context;
    struct fl_job *next; /* the queue's */
} fl_job;

typedef struct fl_worker fl_worker;

/* Starts the thread. After each job it writes the byte 'j' to wake_fd. FL_EIO. */
fl_status fl_worker_start(int wake_fd, fl_worker **out, fl_err *err) FL_MUST_USE;

/* Queues a job, which stays the caller's and must live until it is taken back. */
void fl_worker_put(fl_worker *worker, fl_job *job);

/* A job that is done; NULL when there is none. */
fl_job *fl_worker_take(fl_worker *worker);

/* Does what is queued, and ends the thread; jobs can still be taken. */
void fl_worker_finish(fl_worker *worker);

void fl_worker_free(fl_worker *worker); /* NULL is fine; after fl_worker_finish */

#endif
