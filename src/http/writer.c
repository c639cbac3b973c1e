/* A queue of jobs and its thread. */
#define _GNU_SOURCE
#include "http/writer.h"

#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"

typedef struct job_list {
    fl_job *first;
    fl_job *last;
} job_list;

struct fl_writer {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t has_work;
    job_list waiting;
    job_list done;
    bool is_ending;
    int wake_fd;
};

static void push(job_list *list, fl_job *job)
{
    job->next = NULL;
    if (list->last == NULL) {
        list->first = job;
    } else {
        list->last->next = job;
    }
    list->last = job;
}

static fl_job *pop(job_list *list)
{
    fl_job *job = list->first;
    if (job != NULL) {
        list->first = job->next;
        list->last = job->next == NULL ? NULL : list->last;
    }
    return job;
}

/* The next job; NULL when the thread is to end and nothing is left. */
static fl_job *wait_for_job(fl_writer *writer)
{
    (void)pthread_mutex_lock(&writer->lock);
    while (writer->waiting.first == NULL && !writer->is_ending) {
        (void)pthread_cond_wait(&writer->has_work, &writer->lock);
    }
    fl_job *job = pop(&writer->waiting);
    (void)pthread_mutex_unlock(&writer->lock);
    return job;
}

static void *work(void *context)
{
    fl_writer *writer = context;
    for (fl_job *job = wait_for_job(writer); job != NULL; job = wait_for_job(writer)) {
        job->run(job);
        (void)pthread_mutex_lock(&writer->lock);
        push(&writer->done, job);
        (void)pthread_mutex_unlock(&writer->lock);
        ssize_t put = write(writer->wake_fd, "j", 1); /* a full pipe wakes just as well */
        (void)put;
    }
    return NULL;
}

fl_status fl_writer_start(int wake_fd, fl_writer **out, fl_err *err)
{
    fl_writer *writer = fl_alloc(1, sizeof *writer);
    writer->wake_fd = wake_fd;
    (void)pthread_mutex_init(&writer->lock, NULL);
    (void)pthread_cond_init(&writer->has_work, NULL);
    int cause = pthread_create(&writer->thread, NULL, work, writer);
    if (cause != 0) {
        fl_writer_free(writer);
        return fl_fail(err, FL_EIO, "the writer's thread: %s", strerror(cause));
    }
    *out = writer;
    return FL_OK;
}

void fl_writer_put(fl_writer *writer, fl_job *job)
{
    (void)pthread_mutex_lock(&writer->lock);
    push(&writer->waiting, job);
    (void)pthread_cond_signal(&writer->has_work);
    (void)pthread_mutex_unlock(&writer->lock);
}

fl_job *fl_writer_take(fl_writer *writer)
{
    (void)pthread_mutex_lock(&writer->lock);
    fl_job *job = pop(&writer->done);
    (void)pthread_mutex_unlock(&writer->lock);
    return job;
}

void fl_writer_finish(fl_writer *writer)
{
    (void)pthread_mutex_lock(&writer->lock);
    writer->is_ending = true;
    (void)pthread_cond_signal(&writer->has_work);
    (void)pthread_mutex_unlock(&writer->lock);
    (void)pthread_join(writer->thread, NULL);
}

void fl_writer_free(fl_writer *writer)
{
    if (writer != NULL) {
        (void)pthread_mutex_destroy(&writer->lock);
        (void)pthread_cond_destroy(&writer->has_work);
        fl_alloc_free(writer);
    }
}
