/* The one thread that writes to the room: a queue of jobs, done one after the other in the order
 * they came. Whoever puts a job in is told through a file descriptor when some are done. */
#ifndef FL_HTTP_WRITER_H
#define FL_HTTP_WRITER_H

#include "base/err.h"

typedef struct fl_job {
    void (*run)(struct fl_job *job); /* on the writer's thread */
    void *context;
    struct fl_job *next; /* the queue's */
} fl_job;

typedef struct fl_writer fl_writer;

/* Starts the thread. After each job it writes the byte 'j' to wake_fd. FL_EIO. */
fl_status fl_writer_start(int wake_fd, fl_writer **out, fl_err *err) FL_MUST_USE;

/* Queues a job, which stays the caller's and must live until it is taken back. */
void fl_writer_put(fl_writer *writer, fl_job *job);

/* A job that is done; NULL when there is none. */
fl_job *fl_writer_take(fl_writer *writer);

/* Does what is queued, and ends the thread; jobs can still be taken. */
void fl_writer_finish(fl_writer *writer);

void fl_writer_free(fl_writer *writer); /* NULL is fine; after fl_writer_finish */

#endif
