/* From a request to a reply. */
#include "http/call.h"

#include <string.h>

#include "base/alloc.h"
#include "http/problem.h"

static bool is_below(fl_sv path, const char *prefix)
{
    size_t len = strlen(prefix);
    return path.len >= len && memcmp(path.ptr, prefix, len) == 0;
}

/* Everything that is no route: the pages that explain problems, and the interface. */
static void reply_with_page(fl_call *call, const fl_call_context *context)
{
    static const char problems[] = "/problems/";
    const fl_request *request = call->x.request;
    const size_t len = sizeof problems - 1;
    if (!fl_sv_eq_cstr(request->method, "GET") && !fl_sv_eq_cstr(request->method, "HEAD")) {
        call->x.reply = fl_problem_reply(FL_PROBLEM_METHOD, NULL, &call->x.arena);
        fl_reply_add(&call->x.reply, "Allow", FL_SV("GET, HEAD"));
        return;
    }
    if (is_below(request->path, "/api/")) {
        call->x.reply = fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, &call->x.arena);
        return;
    }
    if (is_below(request->path, problems)) {
        fl_sv name = {request->path.ptr + len, request->path.len - len};
        if (!fl_problem_explain(name, &call->x.arena, &call->x.reply)) {
            call->x.reply = fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, &call->x.arena);
        }
        return;
    }
    call->x.reply = fl_assets_reply(context->assets, request, &call->x.arena);
}

/* Sets the route, or the reply that says why there is none. */
static void find_route(fl_call *call, const fl_call_context *context)
{
    fl_sv allow = {NULL, 0};
    const fl_route *route = NULL;
    fl_exchange *x = &call->x;
    switch (fl_routes_find(*context->routes, x->request, &x->arena, &route, x->param, &allow)) {
    case FL_MATCH_NO_PATH:
        reply_with_page(call, context);
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
    call->route = route;
    call->app = route->lane == FL_LANE_WRITE ? context->writer : context->reader;
}

fl_call *fl_call_new(const fl_call_context *context, const fl_request *request, const fl_who *who)
{
    fl_call *call = fl_alloc(1, sizeof *call);
    call->x.request = request;
    call->x.who = *who;
    call->x.sessions = context->sessions;
    fl_arena_init(&call->x.arena);
    fl_str_init(&call->body, (size_t)fl_guard_body_length(request));
    find_route(call, context);
    return call;
}

void fl_call_free(fl_call *call)
{
    if (call != NULL) {
        fl_arena_done(&call->x.arena);
        fl_str_done(&call->body);
        fl_alloc_free(call);
    }
}

void fl_call_take_body(fl_call *call, fl_sv piece)
{
    if (call->route != NULL) {
        fl_str_append(&call->body, piece);
    }
}

bool fl_call_is_write(const fl_call *call)
{
    return call->route != NULL && call->route->lane == FL_LANE_WRITE;
}

void fl_call_run(fl_call *call)
{
    fl_err err = {0};
    if (call->route == NULL) {
        return;
    }
    call->x.body = fl_str_sv(&call->body);
    fl_status status = call->route->fn(&call->x, call->app, &err);
    if (call->x.reply.status == 0) {
        if (status == FL_OK) {
            status = fl_fail(&err, FL_EIO, "the handler gave no answer");
        }
        call->x.reply = fl_problem_reply_err(&err, &call->x.arena);
    }
    if (fl_sv_eq_cstr(fl_sv_from_cstr(call->route->method), "GET")) {
        fl_reply_tag(&call->x.reply, call->x.request, &call->x.arena);
    }
    call->route = NULL; /* once */
}
