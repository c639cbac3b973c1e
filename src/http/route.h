/* Which handler answers which address: a table, and the search in it. A handler is thin: it reads
 * what it was asked, makes one call of app or view, and writes the answer. */
#ifndef FL_HTTP_ROUTE_H
#define FL_HTTP_ROUTE_H

#include "base/arena.h"
#include "base/err.h"
#include "http/assets.h"
#include "http/guard.h"
#include "http/reply.h"
#include "http/session.h"
#include "http/snapshot.h"

#define FL_ROUTE_PARAMS_MAX 2

struct fl_app;

/* One request on its way to an answer. */
typedef struct fl_exchange {
    const fl_request *request;
    fl_who who;
    fl_sv body;                       /* whole; empty when there is none */
    fl_sv param[FL_ROUTE_PARAMS_MAX]; /* what stood in the place of "{…}", decoded */
    fl_sessions *sessions;            /* for FL_LANE_LOOP */
    const fl_assets *assets;          /* likewise */
    struct fl_alarm *alarm;           /* of the computer that serves; NULL: none */
    fl_snapshot *snapshot;            /* of the reading lane it is in: the room as last computed */
    struct fl_pairing *pairing;       /* for FL_LANE_LOOP */
    struct fl_lan *lan;               /* likewise */
    struct fl_jobs *jobs;             /* long work, of this server */
    struct fl_long_job *held;         /* whose answer this is; NULL */
    fl_sv lan_origin;                 /* "http://192.0.2.20:8462"; empty: the network is closed */
    fl_arena arena;                   /* lives until the answer is sent */
    fl_reply reply;                   /* what the handler makes; status 0 until then */
} fl_exchange;

/* Fills x->reply. On an error the server answers with the problem of `err`, unless the handler
 * already made a reply of its own. `app` belongs to the thread that runs the handler; NULL in
 * FL_LANE_LOOP. */
typedef fl_status (*fl_handler)(fl_exchange *x, struct fl_app *app, fl_err *err);

/* Where a handler runs: one after the other in each lane. */
typedef enum fl_lane {
    FL_LANE_LOOP = 0, /* on the server's own thread, without an app: signing in, files */
    FL_LANE_READ,     /* on the reader's thread, with an app that cannot write */
    FL_LANE_GLANCE,   /* on a second one: what asks no chances, and so never waits for them; here
                         belongs also what is asked for with plain=true */
    FL_LANE_WRITE,    /* on the writer's thread */
    FL_LANE_JOB,      /* on a thread of its own: long work that nobody waits for (jobs.h) */
    FL_LANE_COUNT
} fl_lane;

typedef struct fl_route {
    const char *method;
    const char *pattern; /* "/api/v1/lots/{id}": a segment in braces takes any text */
    fl_tier tier;        /* the least that may ask */
    fl_lane lane;
    bool is_kept; /* an answer from x->snapshot, given again for a minute if nothing changed */
    fl_handler fn;
} fl_route;

typedef struct fl_routes {
    const fl_route *list;
    size_t count;
} fl_routes;

/* The table of the program. */
fl_routes fl_routes_of_api(void);

/* The word of the job that a route may be ("backup"), when it is asked for with "Prefer:
 * respond-async" (jobs.h); NULL: it is always waited for. */
const char *fl_route_job(const fl_route *route);

typedef enum fl_match {
    FL_MATCH_FOUND = 0,
    FL_MATCH_NO_PATH,   /* nothing is at this path */
    FL_MATCH_NO_METHOD, /* something is, for other methods */
    FL_MATCH_BAD_TEXT   /* a parameter that is not well encoded, or not UTF-8 text */
} fl_match;

/* Finds the route of a request (HEAD finds that of GET) and its parameters (in the arena). With
 * FL_MATCH_NO_METHOD *allow is the text of the Allow header. */
fl_match fl_routes_find(fl_routes routes, const fl_request *request, fl_arena *arena,
                        const fl_route **out, fl_sv param[FL_ROUTE_PARAMS_MAX], fl_sv *allow);

/* Decodes %XX; FL_EFORMAT when that is cut or not hex, or gives a control character or a slash. */
fl_status fl_percent_decode(fl_sv text, fl_arena *arena, fl_sv *out, fl_err *err) FL_MUST_USE;

#endif
