/* A queue of jobs and its thread. */
#define _GNU_SOURCE
#include "http/worker.h"

#include <pthread.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"

typedef struct job_list {
    fl_job *first;
    fl_job *last;
} job_list;

struct fl_worker {
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
static fl_job *wait_for_job(fl_worker *worker)
{
    (void)pthread_mutex_lock(&worker->lock);
    while (worker->waiting.first == NULL && !worker->is_ending) {
        (void)pthread_cond_wait(&worker->has_work, &worker->lock);
    }
    fl_job *job = pop(&worker->waiting);
    (void)pthread_mutex_unlock(&worker->lock);
    return job;
}

static void *work(void *context)
{
    fl_worker *worker = context;
    for (fl_job *job = wait_for_job(worker); job != NULL; job = wait_for_job(worker)) {
        job->run(job);
        (void)pthread_mutex_lock(&worker->lock);
        push(&worker->done, job);
        (void)pthread_mutex_unlock(&worker->lock);
        ssize_t put = write(worker->wake_fd, "j", 1); /* a full pipe wakes just as well */
        (void)put;
    }
    return NULL;
}

fl_status fl_worker_start(int wake_fd, fl_worker **out, fl_err *err)
{
    fl_worker *worker = fl_alloc(1, sizeof *worker);
    worker->wake_fd = wake_fd;
    (void)pthread_mutex_init(&worker->lock, NULL);
    (void)pthread_cond_init(&worker->has_work, NULL);
    int cause = pthread_create(&worker->thread, NULL, work, worker);
    if (cause != 0) {
        fl_worker_free(worker);
        return fl_fail(err, FL_EIO, "a worker's thread: %s", strerror(cause));
    }
    *out = worker;
    return FL_OK;
}

void fl_worker_put(fl_worker *worker, fl_job *job)
{
    (void)pthread_mutex_lock(&worker->lock);
    push(&worker->waiting, job);
    (void)pthread_cond_signal(&worker->has_work);
    (void)pthread_mutex_unlock(&worker->lock);
}

fl_job *fl_worker_take(fl_worker *worker)
{
    (void)pthread_mutex_lock(&worker->lock);
    fl_job *job = pop(&worker->done);
    (void)pthread_mutex_unlock(&worker->lock);
    return job;
}

void fl_worker_finish(fl_worker *worker)
{
    (void)pthread_mutex_lock(&worker->lock);
    worker->is_ending = true;
    (void)pthread_cond_signal(&worker->has_work);
    (void)pthread_mutex_unlock(&worker->lock);
    (void)pthread_join(worker->thread, NULL);
}

void fl_worker_free(fl_worker *worker)
{
    if (worker != NULL) {
        (void)pthread_mutex_destroy(&worker->lock);
        (void)pthread_cond_destroy(&worker->has_work);
        fl_alloc_free(worker);
    }
}
