/* Inside src/http only: one request that was let in, from its first byte of body to its answer. It
 * knows nothing of the HTTP library; server.c feeds it and sends its reply. */
#ifndef FL_HTTP_CALL_H
#define FL_HTTP_CALL_H

#include "base/str.h"
#include "http/assets.h"
#include "http/route.h"
#include "http/writer.h"

/* What a call needs of its server. */
typedef struct fl_call_context {
    const fl_routes *routes;
    const fl_assets *assets;
    fl_sessions *sessions;
    struct fl_app *reader;
    struct fl_app *writer;
} fl_call_context;

typedef struct fl_call {
    fl_exchange x;
    fl_str body;
    const fl_route *route; /* NULL: the reply stands already */
    struct fl_app *app;    /* for the handler */
    fl_job job;            /* its place in the writer's queue */
} fl_call;

/* Finds the route, or makes the reply at once: a file, a page, a problem. The request must outlive
 * the call. */
fl_call *fl_call_new(const fl_call_context *context, const fl_request *request, const fl_who *who);
void fl_call_free(fl_call *call); /* NULL is fine */

/* The next piece of the body; ignored when the reply stands already. */
void fl_call_take_body(fl_call *call, fl_sv piece);

/* True when the handler belongs on the writer's thread. */
bool fl_call_is_write(const fl_call *call);

/* Runs the handler, once the body is whole; afterwards call->x.reply stands. */
void fl_call_run(fl_call *call);

#endif
