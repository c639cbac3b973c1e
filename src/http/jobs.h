/* Inside src/http only: long work that a request asked for and does not wait for.
 *
 * A request with "Prefer: respond-async" (RFC 7240, section 4.1) whose route is one of the long
 * ones (fl_route_job) is answered with 202 and a job at once; its handler runs on a thread of its
 * own, with an app of its own, while everybody else is answered. The job tells how far it is, can
 * be cancelled, and afterwards holds the answer that the request would have had.
 *
 * Beside the jobs stands the reading: what the reading lane works on just now, which is long in a
 * large room when it is first computed. It too tells how far it is and can be cancelled.
 *
 * Kept in memory only: FL_JOBS_MAX at a time; what has ended is forgotten after FL_JOB_KEPT_S, when
 * the place is needed, or when its browser says so. A job is seen by the session that asked for it,
 * and by the keeper. Safe to use from several threads; jobs are taken and forgotten on the server's
 * own. */
#ifndef FL_HTTP_JOBS_H
#define FL_HTTP_JOBS_H

#include "base/clock.h"
#include "base/progress.h"
#include "http/guard.h"
#include "http/reply.h"
#include "http/worker.h"

#define FL_JOBS_MAX 8
#define FL_JOB_KEPT_S 900

struct fl_serving;

typedef struct fl_jobs fl_jobs;
typedef struct fl_long_job fl_long_job;

typedef enum fl_job_state {
    FL_JOB_WAITING = 0,
    FL_JOB_RUNNING,
    FL_JOB_DONE,
    FL_JOB_FAILED,
    FL_JOB_CANCELLED
} fl_job_state;

/* What a job is, at one moment. */
typedef struct fl_job_told {
    char id[40];
    const char *what; /* fl_route_job */
    bool is_own;      /* the asker's */
    fl_job_state state;
    int64_t started_s;
    bool has_work; /* it told something of itself */
    fl_work work;
    int64_t done, total; /* of this work; total 0: not known */
    bool is_cancelling;  /* it was asked to stop, and has not yet */
    int problem_status;  /* of the answer it holds, when it failed; 0 */
} fl_job_told;

fl_jobs *fl_jobs_new(fl_clock clock);
void fl_jobs_free(fl_jobs *jobs); /* NULL is fine; when nothing runs any more */

/* Takes over a request whose body is whole: serving->job is then ready for a worker, and the
 * request's texts are the job's own. `run` is what the worker calls. FL_EBUSY: too many are under
 * way; the serving stays the caller's. */
fl_status fl_jobs_take(fl_jobs *jobs, struct fl_serving *serving, void (*run)(fl_job *job),
                       fl_job_told *out, fl_err *err) FL_MUST_USE;

/* On the job's thread: runs the handler, unless it was cancelled while it waited. */
void fl_jobs_run(fl_long_job *job);
/* Back on the server's thread: the worker has let it go. `log` is told what it was. */
void fl_jobs_ended(fl_long_job *job, void (*log)(void *context, const struct fl_serving *serving),
                   void *context);

/* Those that the asker may see, the newest first, into told[FL_JOBS_MAX]; how many. */
size_t fl_jobs_list(fl_jobs *jobs, const fl_who *who, fl_job_told *told);
/* One of them. FL_ENOTFOUND: there is none of that id that the asker may see. */
fl_status fl_jobs_find(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_job_told *out,
                       fl_err *err) FL_MUST_USE;
/* Asks one to stop; one that has ended is forgotten. FL_ENOTFOUND. */
fl_status fl_jobs_cancel(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_err *err) FL_MUST_USE;
/* The answer of one that has ended; it is kept until fl_jobs_release. FL_ENOTFOUND; FL_ECONFLICT:
 * it has not ended. */
fl_status fl_jobs_hold(fl_jobs *jobs, const fl_who *who, fl_sv id, fl_long_job **out,
                       fl_reply *reply, fl_err *err) FL_MUST_USE;
void fl_jobs_release(fl_long_job *job); /* NULL is fine */

/* Asks all of them and the reading to stop: the server ends. */
void fl_jobs_stop(fl_jobs *jobs);

/* ---- the reading ---- */

/* Whom the reading lane's app tells (fl_app_watch). */
const fl_progress *fl_jobs_reading(fl_jobs *jobs);
void fl_jobs_reading_begin(fl_jobs *jobs, const fl_who *who);
void fl_jobs_reading_end(fl_jobs *jobs);
/* What it works on; false when it rests. */
bool fl_jobs_reading_told(fl_jobs *jobs, const fl_who *who, fl_job_told *out);
/* Asks it to stop. FL_ENOTFOUND: it rests; FL_EFORBIDDEN: another asked for it. */
fl_status fl_jobs_reading_cancel(fl_jobs *jobs, const fl_who *who, fl_err *err) FL_MUST_USE;

#endif
