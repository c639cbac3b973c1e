/* The list of jobs, and what each tells. One lock for all of it: it is held for a few words. */
#include "http/jobs.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "base/id.h"
#include "base/shown.h"
#include "http/serving.h"

#define OUT_MAX (2 * FL_JOBS_MAX) /* with what was cancelled and waits to be let go */

/* What is told and asked, of a job or of the reading. */
typedef struct talk {
    fl_jobs *jobs;
    int session;
    fl_tier tier;
    int64_t started_s;
    bool has_work;
    fl_work work;
    int64_t done, total;
    bool is_cancelling;
    fl_progress progress;
} talk;

struct fl_long_job {
    talk talk;
    char id[FL_ID_TEXT_MAX];
    fl_job_state state;
    int64_t ended_s;
    int n_held;        /* answers that are being sent */
    bool is_out;       /* with the worker: in its queue, or run */
    bool is_forgotten; /* freed as soon as neither is */
    fl_serving *serving;
};

struct fl_jobs {
    pthread_mutex_t lock;
    fl_clock clock;
    fl_long_job *list[FL_JOBS_MAX]; /* the oldest first */
    size_t n;
    int n_out; /* with the worker; more than n where some were cancelled and forgotten there */
    talk reading;
    bool is_reading;
};

static void lock(fl_jobs *jobs)
{
    (void)pthread_mutex_lock(&jobs->lock);
}

static void unlock(fl_jobs *jobs)
{
    (void)pthread_mutex_unlock(&jobs->lock);
}

static int64_t now_s(const fl_jobs *jobs)
{
    return jobs->clock.now_utc_s(jobs->clock.context);
}

/* ---- telling ---- */

static bool on_step(void *context, fl_work work, int64_t done, int64_t total)
{
    talk *t = context;
    lock(t->jobs);
    t->has_work = true;
    t->work = work;
    t->done = done;
    t->total = total;
    const bool goes_on = !t->is_cancelling;
    unlock(t->jobs);
    return goes_on;
}

static void begin_talk(talk *t, fl_jobs *jobs, const fl_who *who)
{
    *t = (talk){.jobs = jobs,
                .session = who->session,
                .tier = who->tier,
                .started_s = now_s(jobs),
                .progress = {.step = on_step, .context = t}};
}

static bool is_own(const talk *t, const fl_who *who)
{
    return t->session == who->session && t->tier == who->tier;
}

static bool may_see(const talk *t, const fl_who *who)
{
    return who->tier >= FL_TIER_OWNER || is_own(t, who);
}

static fl_job_told told_of(const talk *t, const fl_who *who)
{
    return (fl_job_told){.is_own = is_own(t, who),
                         .started_s = t->started_s,
                         .has_work = t->has_work,
                         .work = t->work,
                         .done = t->done,
                         .total = t->total,
                         .is_cancelling = t->is_cancelling};
}

/* ---- life ---- */

fl_jobs *fl_jobs_new(fl_clock clock)
{
    fl_jobs *jobs = fl_alloc(1, sizeof *jobs);
    jobs->clock = clock;
    (void)pthread_mutex_init(&jobs->lock, NULL);
    begin_talk(&jobs->reading, jobs, &(fl_who){.session = -1});
    return jobs;
}

static void free_job(fl_long_job *job)
{
    fl_serving_free(job->serving);
    fl_alloc_free(job);
}

static void free_if_idle(fl_long_job *job)
{
    if (job->is_forgotten && !job->is_out && job->n_held == 0) {
        free_job(job);
    }
}

void fl_jobs_free(fl_jobs *jobs)
{
    if (jobs != NULL) {
        for (size_t i = 0; i < jobs->n; i++) {
            free_job(jobs->list[i]);
        }
        (void)pthread_mutex_destroy(&jobs->lock);
        fl_alloc_free(jobs);
    }
}

static bool has_ended(const fl_long_job *job)
{
    return job->state >= FL_JOB_DONE;
}

/* Takes the i-th off the list, and frees it unless its answer is being sent. Under the lock. */
static void forget(fl_jobs *jobs, size_t i)
{
    fl_long_job *job = jobs->list[i];
    for (size_t k = i + 1; k < jobs->n; k++) {
        jobs->list[k - 1] = jobs->list[k];
    }
    jobs->n--;
    job->is_forgotten = true;
    free_if_idle(job);
}

/* Under the lock. */
static void forget_old(fl_jobs *jobs)
{
    const int64_t now = now_s(jobs);
    for (size_t i = jobs->n; i > 0; i--) {
        const fl_long_job *job = jobs->list[i - 1];
        if (has_ended(job) && (now - job->ended_s >= FL_JOB_KEPT_S || now < job->ended_s)) {
            forget(jobs, i - 1);
        }
    }
}

/* ---- taking one ---- */

/* The connection that brought the request is gone before the job is: its texts are copied. */
static void keep_request(fl_serving *serving)
{
    fl_exchange *x = &serving->x;
    fl_request *own = FL_ARENA_NEW(&x->arena, fl_request);
    *own = *x->request;
    own->method = fl_arena_copy_sv(&x->arena, own->method);
    own->authority = fl_arena_copy_sv(&x->arena, own->authority);
    own->path = fl_arena_copy_sv(&x->arena, own->path);
    own->query = fl_arena_copy_sv(&x->arena, own->query);
    for (size_t i = 0; i < own->n_headers; i++) {
        own->header[i].name = fl_arena_copy_sv(&x->arena, own->header[i].name);
        own->header[i].value = fl_arena_copy_sv(&x->arena, own->header[i].value);
    }
    for (size_t i = 0; i < FL_ROUTE_PARAMS_MAX; i++) {
        x->param[i] = fl_arena_copy_sv(&x->arena, x->param[i]);
    }
    x->request = own;
}

/* What has ended makes way: the asker's own of the same sort first, then the oldest. Under the
 * lock; false when all are under way. */
static bool make_way(fl_jobs *jobs, const fl_serving *serving)
{
    forget_old(jobs);
    for (size_t i = jobs->n; i > 0; i--) {
        const fl_long_job *job = jobs->list[i - 1];
        if (has_ended(job) && is_own(&job->talk, &serving->x.who) &&
            strcmp(job->serving->what, serving->what) == 0) {
            forget(jobs, i - 1);
        }
    }
    for (size_t i = 0; i < jobs->n && jobs->n == FL_JOBS_MAX; i++) {
        if (has_ended(jobs->list[i])) {
            forget(jobs, i);
        }
    }
    return jobs->n < FL_JOBS_MAX && jobs->n_out < OUT_MAX;
}

static void tell_job(const fl_long_job *job, const fl_who *who, fl_job_told *out)
{
    *out = told_of(&job->talk, who);
    (void)snprintf(out->id, sizeof out->id, "%s", job->id);
    out->what = job->serving->what;
    out->state = job->state;
    out->problem_status = job->state == FL_JOB_FAILED ? job->serving->x.reply.status : 0;
}

fl_status fl_jobs_take(fl_jobs *jobs, fl_serving *serving, void (*run)(fl_job *job),
                       fl_job_told *out, fl_err *err)
{
    lock(jobs);
    if (!make_way(jobs, serving)) {
        unlock(jobs);
        return fl_fail(err, FL_EBUSY, "%d long jobs are under way: wait for one, or cancel it",
                       FL_JOBS_MAX);
    }
    fl_long_job *job = fl_alloc(1, sizeof *job);
    keep_request(serving);
    job->serving = serving;
    (void)fl_id_format(job->id, fl_id_random());
    begin_talk(&job->talk, jobs, &serving->x.who);
    serving->job = (fl_job){.run = run, .context = job};
    jobs->list[jobs->n++] = job;
    job->is_out = true;
    jobs->n_out++;
    tell_job(job, &serving->x.who, out);
    unlock(jobs);
    return FL_OK;
}

/* ---- running ---- */

void fl_jobs_run(fl_long_job *job)
{
    fl_jobs *jobs = job->talk.jobs;
    fl_serving *serving = job->serving;
    lock(jobs);
    const bool is_wanted = !job->talk.is_cancelling;
    job->state = is_wanted ? FL_JOB_RUNNING : FL_JOB_CANCELLED;
    unlock(jobs);
    if (!is_wanted) {
        (void)fl_progress_fail(&serving->err);
        return;
    }
    fl_serving_watch(serving, &job->talk.progress);
    fl_serving_run(serving);
    fl_serving_watch(serving, NULL);
    fl_snapshot_drop(serving->x.snapshot); /* the next may be hours away */
    fl_str_done(&serving->body);           /* a logger's file may have 64 MB */
    fl_str_init(&serving->body, 0);
}

void fl_jobs_ended(fl_long_job *job, void (*log)(void *context, const fl_serving *serving),
                   void *context)
{
    fl_jobs *jobs = job->talk.jobs;
    const fl_serving *serving = job->serving;
    log(context, serving);
    lock(jobs);
    job->is_out = false;
    jobs->n_out--;
    if (!has_ended(job)) {
        job->ended_s = now_s(jobs);
        job->state = serving->err.code == FL_ECANCELLED ? FL_JOB_CANCELLED
                     : serving->x.reply.status < 400    ? FL_JOB_DONE
                                                        : FL_JOB_FAILED;
    }
    free_if_idle(job);
    unlock(jobs);
}

/* One that has not begun is over at once; the worker lets it go later. Under the lock. */
static void stop(const fl_jobs *jobs, fl_long_job *job)
{
    job->talk.is_cancelling = true;
    if (job->state == FL_JOB_WAITING) {
        job->state = FL_JOB_CANCELLED;
        job->ended_s = now_s(jobs);
    }
}

void fl_jobs_stop(fl_jobs *jobs)
{
    lock(jobs);
    for (size_t i = 0; i < jobs->n; i++) {
        stop(jobs, jobs->list[i]);
    }
    jobs->reading.is_cancelling = true;
    unlock(jobs);
}

/* ---- asking ---- */

size_t fl_jobs_list(fl_jobs *jobs, const fl_who *who, fl_job_told *told)
{
    size_t n = 0;
    lock(jobs);
    forget_old(jobs);
    for (size_t i = jobs->n; i > 0; i--) {
        if (may_see(&jobs->list[i - 1]->talk, who)) {
            tell_job(jobs->list[i - 1], who, &told[n++]);
        }
    }
    unlock(jobs);
    return n;
}

/* The place of one in the list; jobs->n and FL_ENOTFOUND when the asker sees none. Under the
 * lock. */
static fl_status find(fl_jobs *jobs, const fl_who *who, fl_sv id, size_t *at, fl_err *err)
{
    forget_old(jobs);
    for (*at = 0; *at < jobs->n; (*at)++) {
        if (fl_sv_eq_cstr(id, jobs->list[*at]->id) && may_see(&jobs->list[*at]->talk, who)) {
            return FL_OK;
        }
    }
    return fl_fail(err, FL_ENOTFOUND,
                   "there is no job \"%.*s\": it was forgotten, or the program was started anew",
                   FL_SHOWN(id));
}

fl_status fl_jobs_find(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_job_told *out, fl_err *err)
{
    size_t at = 0;
    lock(jobs);
    const fl_status status = find(jobs, who, id, &at, err);
    if (status == FL_OK) {
        tell_job(jobs->list[at], who, out);
    }
    unlock(jobs);
    return status;
}

fl_status fl_jobs_cancel(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_err *err)
{
    size_t at = 0;
    lock(jobs);
    const fl_status status = find(jobs, who, id, &at, err);
    if (status == FL_OK && has_ended(jobs->list[at])) {
        forget(jobs, at);
    } else if (status == FL_OK) {
        stop(jobs, jobs->list[at]);
    }
    unlock(jobs);
    return status;
}

fl_status fl_jobs_hold(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_long_job **out,
                       fl_reply *reply, fl_err *err)
{
    size_t at = 0;
    lock(jobs);
    fl_status status = find(jobs, who, id, &at, err);
    fl_long_job *job = status == FL_OK ? jobs->list[at] : NULL;
    if (status == FL_OK && !has_ended(job)) {
        status = fl_fail(err, FL_ECONFLICT, "this job has not ended: ask again later");
    } else if (status == FL_OK && job->serving->x.reply.status == 0) {
        status = fl_progress_fail(err); /* before it began */
    }
    if (status == FL_OK) {
        job->n_held++;
        *out = job;
        *reply = job->serving->x.reply;
    }
    unlock(jobs);
    return status;
}

void fl_jobs_release(fl_long_job *job)
{
    if (job == NULL) {
        return;
    }
    fl_jobs *jobs = job->talk.jobs;
    lock(jobs);
    job->n_held--;
    free_if_idle(job);
    unlock(jobs);
}

/* ---- the reading ---- */

const fl_progress *fl_jobs_reading(fl_jobs *jobs)
{
    return &jobs->reading.progress;
}

void fl_jobs_reading_begin(fl_jobs *jobs, const fl_who *who)
{
    lock(jobs);
    const bool is_stopping = jobs->reading.is_cancelling && jobs->is_reading;
    begin_talk(&jobs->reading, jobs, who);
    jobs->reading.is_cancelling = is_stopping;
    jobs->is_reading = true;
    unlock(jobs);
}

void fl_jobs_reading_end(fl_jobs *jobs)
{
    lock(jobs);
    jobs->is_reading = false;
    unlock(jobs);
}

bool fl_jobs_reading_told(fl_jobs *jobs, const fl_who *who, fl_job_told *out)
{
    lock(jobs);
    const bool is_reading = jobs->is_reading;
    *out = told_of(&jobs->reading, who);
    out->what = "reading";
    out->state = FL_JOB_RUNNING;
    unlock(jobs);
    return is_reading;
}

fl_status fl_jobs_reading_cancel(fl_jobs *jobs, const fl_who *who, fl_err *err)
{
    fl_status status = FL_OK;
    lock(jobs);
    if (!jobs->is_reading) {
        status = fl_fail(err, FL_ENOTFOUND, "nothing is being worked out just now");
    } else if (!may_see(&jobs->reading, who)) {
        status = fl_fail(err, FL_EFORBIDDEN, "Another device waits for this. Cancel it there.");
    } else {
        jobs->reading.is_cancelling = true;
    }
    unlock(jobs);
    return status;
}
