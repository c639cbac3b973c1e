/* The local web server: door, guard, routes and files in one thread, and a writer beside it. The
 * only user of libmicrohttpd, which reads bodies and sends answers; it listens to no socket itself
 * and sees no request that the guard did not let in. Start reading http here. */
#ifndef FL_HTTP_SERVER_H
#define FL_HTTP_SERVER_H

#include "base/clock.h"
#include "base/err.h"
#include "http/assets.h"
#include "http/door.h"
#include "http/route.h"
#include "http/session.h"

typedef struct fl_server fl_server;

typedef struct fl_server_options {
    const char *room_dir; /* where the token and the sessions are kept */
    fl_clock clock;       /* for keys and sessions */
    uint16_t port;        /* 0: the kernel picks one */
    const char *lan;      /* a numeric address of this machine to listen at too; NULL */
    fl_sv host_names;     /* more names it answers to, with commas between them; may be empty */
    fl_assets assets;     /* the interface */
    fl_routes routes;     /* the API */
    struct fl_app
        *glancer;          /* a second reader, for what asks no chances; NULL: the reader does it */
    struct fl_app *reader; /* for handlers on the server's thread; may be NULL in tests */
    struct fl_alarm *alarm; /* told to handlers; NULL: none */
    struct fl_app *writer;  /* for handlers on the writer's thread; another connection */
    struct fl_app *jobber;  /* a third that can write, for long work nobody waits for; NULL: it is
                               waited for */
    fl_door_limits limits;  /* FL_DOOR_LIMITS_USUAL */
    /* Done on the writer's thread with its app, once at the start and then every so often; NULL:
     * none. */
    void (*chore)(void *context, struct fl_app *writer);
    void *chore_context;
    int chore_every_s;
    void (*log)(void *context, const char *line); /* NULL: none; called on the server's thread */
    void *log_context;
} fl_server_options;

/* Binds, reads the secrets and starts both threads. Everything that the options point to must live
 * until fl_server_stop. Errors of fl_listen, fl_sessions_open and fl_site_add; FL_EIO. */
fl_status fl_server_start(const fl_server_options *options, fl_server **out,
                          fl_err *err) FL_MUST_USE;

/* The sockets it listens at: its port, and what is open. */
const fl_listeners *fl_server_listeners(const fl_server *server);

fl_sessions *fl_server_sessions(fl_server *server);

/* Ends both threads after the request and the write that are under way, and frees everything. NULL
 * is fine. */
void fl_server_stop(fl_server *server);

#endif
