/* Inside src/http only: one request that was let in, from its first byte of body to its answer. It
 * knows nothing of the HTTP library; server.c feeds it and sends its reply. */
#ifndef FL_HTTP_SERVING_H
#define FL_HTTP_SERVING_H

#include "base/str.h"
#include "http/assets.h"
#include "http/route.h"
#include "http/worker.h"

/* What a serving needs of its server. */
typedef struct fl_serving_context {
    const fl_routes *routes;
    const fl_assets *assets;
    fl_sessions *sessions;
    struct fl_alarm *alarm;     /* NULL: none */
    struct fl_pairing *pairing; /* the loop's */
    struct fl_lan *lan;         /* the loop's */
    struct fl_jobs *jobs;
    fl_snapshot *snapshot[FL_LANE_COUNT]; /* of the reading lanes; else NULL */
    struct fl_app *app[FL_LANE_COUNT];    /* by lane; NULL for FL_LANE_LOOP */
} fl_serving_context;

typedef struct fl_serving {
    fl_exchange x;
    fl_str body;
    const fl_route *route; /* NULL: the reply stands already */
    fl_lane lane;          /* of the route, or the glance beside it */
    struct fl_app *app;    /* for the handler */
    const char *what;      /* of a job: the route's word */
    fl_job job;            /* its place in a worker's queue */
    fl_err err;            /* why it failed, for the log */
} fl_serving;

/* Finds the route, or makes the reply at once: a file, a page, a problem. The request must outlive
 * the serving. */
fl_serving *fl_serving_new(const fl_serving_context *context, const fl_request *request,
                           const fl_who *who);
void fl_serving_free(fl_serving *serving); /* NULL is fine */

/* The next piece of the body; ignored when the reply stands already. */
void fl_serving_take_body(fl_serving *serving, fl_sv piece);

/* An exchange whose answer stands already: what the asker of a job is told at once. */
fl_serving *fl_serving_answered(const fl_request *request, const fl_who *who);

/* Whom the handler's work tells how far it is (fl_app_watch). */
void fl_serving_watch(fl_serving *serving, const struct fl_progress *progress);

/* Where the handler belongs; FL_LANE_LOOP when the reply stands already. */
fl_lane fl_serving_lane(const fl_serving *serving);

/* Runs the handler, once the body is whole; afterwards serving->x.reply stands. */
void fl_serving_run(fl_serving *serving);

#endif
