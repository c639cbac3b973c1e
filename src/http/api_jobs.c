/* Long work under way (http/jobs.h): how far it is, cancelling it, and what came of it. */
#include "base/civil.h"
#include "http/api.h"
#include "http/jobs.h"

static const char *const states[] = {"waiting", "running", "done", "failed", "cancelled"};

static void put_work(fl_json_writer *w, const fl_job_told *told)
{
    if (told->has_work) {
        fl_json_put_cstr(w, "work", fl_work_word(told->work));
        fl_json_put_cstr(w, "work_text", fl_work_text(told->work));
        fl_json_put_cstr(w, "unit_text", fl_work_unit(told->work));
    } else {
        fl_json_put_null(w, "work");
        fl_json_put_cstr(w, "work_text", "");
        fl_json_put_cstr(w, "unit_text", "");
    }
    fl_json_put_int(w, "done", told->has_work ? told->done : 0);
    fl_json_put_int(w, "total", told->has_work ? told->total : 0);
    fl_json_put_bool(w, "is_cancelling", told->is_cancelling);
    fl_json_put_bool(w, "is_own", told->is_own);
}

void fl_api_put_job(fl_json_writer *w, const fl_job_told *told)
{
    char text[FL_CIVIL_TEXT_MAX];
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "id", told->id);
    fl_json_put_cstr(w, "what", told->what);
    fl_json_put_cstr(w, "state", states[told->state]);
    fl_json_put_cstr(w, "started_at", fl_civil_format_utc(text, told->started_s));
    put_work(w, told);
    if (told->problem_status > 0) {
        fl_json_put_int(w, "problem_status", told->problem_status);
    } else {
        fl_json_put_null(w, "problem_status");
    }
    fl_json_end(w);
}

static void reply_with(fl_exchange *x, const fl_job_told *told)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_api_put_job(w, told);
    x->reply = fl_reply_json(200, w, &x->arena);
}

fl_status fl_api_jobs(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_job_told reading;
    fl_job_told *told = FL_ARENA_ARRAY(&x->arena, fl_job_told, FL_JOBS_MAX);
    (void)app;
    (void)err;
    const size_t n = fl_jobs_list(x->jobs, &x->who, told);
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "jobs");
    for (size_t i = 0; i < n; i++) {
        fl_api_put_job(w, &told[i]);
    }
    fl_json_end(w);
    if (fl_jobs_reading_told(x->jobs, &x->who, &reading)) {
        fl_json_begin_object(w, "reading");
        put_work(w, &reading);
        fl_json_end(w);
    } else {
        fl_json_put_null(w, "reading");
    }
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}

fl_status fl_api_job(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_job_told told;
    (void)app;
    const fl_status status = fl_jobs_find(x->jobs, &x->who, x->param[0], &told, err);
    if (status == FL_OK) {
        reply_with(x, &told);
    }
    return status;
}

fl_status fl_api_job_result(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    return fl_jobs_hold(x->jobs, &x->who, x->param[0], &x->held, &x->reply, err);
}

fl_status fl_api_job_cancel(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    const fl_status status = fl_jobs_cancel(x->jobs, &x->who, x->param[0], err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
    }
    return status;
}

fl_status fl_api_reading_cancel(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    const fl_status status = fl_jobs_reading_cancel(x->jobs, &x->who, err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
    }
    return status;
}
