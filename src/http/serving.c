/* From a request to a reply. */
#include "http/serving.h"

#include <string.h>

#include "app/app.h"
#include "base/alloc.h"
#include "http/jobs.h"
#include "http/lan.h"
#include "http/problem.h"

static bool is_below(fl_sv path, const char *prefix)
{
    size_t len = strlen(prefix);
    return path.len >= len && memcmp(path.ptr, prefix, len) == 0;
}

/* What asks no chances is read beside what does, where there is a second reader. */
static fl_lane lane_of(const fl_exchange *x, const fl_route *route,
                       const fl_serving_context *context)
{
    fl_sv plain = FL_SV("");
    const bool is_glance =
        route->lane == FL_LANE_GLANCE ||
        (route->lane == FL_LANE_READ && fl_request_query(x->request, "plain", &plain) &&
         fl_sv_eq(plain, FL_SV("true")));
    if (!is_glance) {
        return route->lane;
    }
    return context->app[FL_LANE_GLANCE] != NULL ? FL_LANE_GLANCE : FL_LANE_READ;
}

/* "Prefer: respond-async" (RFC 7240), alone or among others, on a route that may be long. */
static bool wants_job(const fl_exchange *x, const fl_route *route,
                      const fl_serving_context *context)
{
    fl_sv rest = fl_request_value(x->request, "Prefer");
    const bool is_long = fl_route_job(route) != NULL;
    while (is_long && context->app[FL_LANE_JOB] != NULL && rest.len > 0) {
        if (fl_sv_eq_cstr(fl_sv_trim(fl_sv_split(&rest, ',')), "respond-async")) {
            return true;
        }
    }
    return false;
}

/* Everything that is no route: the pages that explain problems, and the interface. */
static void reply_with_page(fl_serving *serving, const fl_serving_context *context)
{
    static const char problems[] = "/problems/";
    const fl_request *request = serving->x.request;
    const size_t len = sizeof problems - 1;
    if (!fl_sv_eq_cstr(request->method, "GET") && !fl_sv_eq_cstr(request->method, "HEAD")) {
        serving->x.reply = fl_problem_reply(FL_PROBLEM_METHOD, NULL, &serving->x.arena);
        fl_reply_add(&serving->x.reply, "Allow", FL_SV("GET, HEAD"));
        return;
    }
    if (is_below(request->path, "/api/")) {
        serving->x.reply = fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, &serving->x.arena);
        return;
    }
    if (is_below(request->path, problems)) {
        fl_sv name = {request->path.ptr + len, request->path.len - len};
        if (!fl_problem_explain(name, &serving->x.arena, &serving->x.reply)) {
            serving->x.reply = fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, &serving->x.arena);
        }
        return;
    }
    serving->x.reply = fl_assets_reply(context->assets, request, &serving->x.arena);
}

/* Sets the route, or the reply that says why there is none. */
static void find_route(fl_serving *serving, const fl_serving_context *context)
{
    fl_sv allow = {NULL, 0};
    const fl_route *route = NULL;
    fl_exchange *x = &serving->x;
    switch (fl_routes_find(*context->routes, x->request, &x->arena, &route, x->param, &allow)) {
    case FL_MATCH_NO_PATH:
        reply_with_page(serving, context);
        return;
    case FL_MATCH_NO_METHOD:
        x->reply = fl_problem_reply(FL_PROBLEM_METHOD, NULL, &x->arena);
        fl_reply_add(&x->reply, "Allow", allow);
        return;
    case FL_MATCH_BAD_TEXT:
        x->reply =
            fl_problem_reply(FL_PROBLEM_MALFORMED, "The address is not well encoded.", &x->arena);
        return;
    case FL_MATCH_FOUND:
    default:
        break;
    }
    if (route->tier > x->who.tier) {
        x->reply = fl_problem_reply(FL_PROBLEM_NOT_ALLOWED, NULL, &x->arena);
        return;
    }
    serving->route = route;
    serving->what = fl_route_job(route);
    serving->lane =
        wants_job(&serving->x, route, context) ? FL_LANE_JOB : lane_of(&serving->x, route, context);
    serving->app = context->app[serving->lane];
    serving->x.snapshot = context->snapshot[serving->lane];
}

fl_serving *fl_serving_new(const fl_serving_context *context, const fl_request *request,
                           const fl_who *who)
{
    fl_serving *serving = fl_alloc(1, sizeof *serving);
    serving->x.request = request;
    serving->x.who = *who;
    serving->x.sessions = context->sessions;
    serving->x.assets = context->assets;
    serving->x.alarm = context->alarm;
    serving->x.pairing = context->pairing;
    serving->x.lan = context->lan;
    serving->x.jobs = context->jobs;
    fl_arena_init(&serving->x.arena);
    serving->x.lan_origin = fl_lan_origin(context->lan, &serving->x.arena);
    fl_str_init(&serving->body, (size_t)fl_guard_body_length(request));
    find_route(serving, context);
    return serving;
}

fl_serving *fl_serving_answered(const fl_request *request, const fl_who *who)
{
    fl_serving *serving = fl_alloc(1, sizeof *serving);
    serving->x.request = request;
    serving->x.who = *who;
    fl_arena_init(&serving->x.arena);
    fl_str_init(&serving->body, 0);
    return serving;
}

void fl_serving_watch(fl_serving *serving, const fl_progress *progress)
{
    fl_app_watch(serving->app, progress);
}

void fl_serving_free(fl_serving *serving)
{
    if (serving != NULL) {
        fl_jobs_release(serving->x.held);
        fl_arena_done(&serving->x.arena);
        fl_str_done(&serving->body);
        fl_alloc_free(serving);
    }
}

void fl_serving_take_body(fl_serving *serving, fl_sv piece)
{
    if (serving->route != NULL) {
        fl_str_append(&serving->body, piece);
    }
}

fl_lane fl_serving_lane(const fl_serving *serving)
{
    return serving->route == NULL ? FL_LANE_LOOP : serving->lane;
}

/* An answer that was kept; true when there was one. */
static bool recall(fl_serving *serving, fl_sv target)
{
    fl_sv body = {NULL, 0};
    if (!serving->route->is_kept ||
        !fl_snapshot_recall(serving->x.snapshot, serving->app, target, &body)) {
        return false;
    }
    serving->x.reply = (fl_reply){.status = 200,
                                  .content_type = FL_REPLY_JSON,
                                  .body = fl_arena_copy_sv(&serving->x.arena, body)};
    return true;
}

static void run_handler(fl_serving *serving)
{
    fl_exchange *x = &serving->x;
    fl_status status = serving->route->fn(x, serving->app, &serving->err);
    if (x->reply.status == 0) {
        if (status == FL_OK) {
            (void)fl_fail(&serving->err, FL_EIO, "the handler gave no answer");
        }
        x->reply = fl_problem_reply_err(&serving->err, &x->arena);
    }
}

void fl_serving_run(fl_serving *serving)
{
    fl_exchange *x = &serving->x;
    if (serving->route == NULL) {
        return;
    }
    x->body = fl_str_sv(&serving->body);
    const fl_sv target = fl_arena_printf(&x->arena, "%.*s?%.*s", FL_SV_ARG(x->request->path),
                                         FL_SV_ARG(x->request->query));
    if (!recall(serving, target)) {
        run_handler(serving);
        if (serving->route->is_kept && x->reply.status == 200) {
            fl_snapshot_keep(x->snapshot, target, x->reply.body);
        }
    }
    if (strcmp(serving->route->method, "GET") == 0 && !fl_reply_has_tag(&x->reply)) {
        fl_reply_tag(&x->reply, x->request, &x->arena);
    }
    serving->route = NULL; /* once */
}
