/* The door: accepts connections, waits for the whole head of each request, has it judged, and hands
 * on only what was let in. What is refused is answered here, with the same headers as everything
 * else, so that the HTTP library never sees it.
 *
 * A connection carries one request: nothing can hide behind a first one. Heads are looked at in the
 * socket's own buffer (MSG_PEEK) and stay there for the library. Everything has a deadline: the
 * head, the request as a whole, and what a refused client still sends. One thread owns a door. */
#ifndef FL_HTTP_DOOR_H
#define FL_HTTP_DOOR_H

#include <stdint.h>
#include <sys/select.h>
#include <sys/socket.h>

#include "http/guard.h"
#include "http/head.h"
#include "http/listen.h"

#define FL_CONNECTIONS_MAX 128

/* A request that was let in: its head, which the views of `request` point into. */
typedef struct fl_inbound {
    fl_request request;
    fl_who who;
    int fd;
    bool is_taken; /* the connection has had its request */
    char *bytes;   /* owned */
} fl_inbound;

void fl_inbound_free(fl_inbound *inbound); /* NULL is fine */

typedef struct fl_door_limits {
    int head_ms;     /* from the connection to the end of the head */
    int request_ms;  /* from there to the end of the answer */
    int drain_ms;    /* for what a refused client still sends */
    int connections; /* at most FL_CONNECTIONS_MAX */
    int per_address; /* at the same time from one address */
} fl_door_limits;

#define FL_DOOR_LIMITS_USUAL                                                                       \
    ((fl_door_limits){.head_ms = 10000,                                                            \
                      .request_ms = 60000,                                                         \
                      .drain_ms = 2000,                                                            \
                      .connections = FL_CONNECTIONS_MAX,                                           \
                      .per_address = 48})

/* The other side of the door. */
typedef struct fl_door_host {
    /* Judges a head; fills *who. */
    fl_problem (*judge)(void *context, const fl_request *request, fl_who *who);
    /* Takes a connection that was let in: its socket and the inbound are the taker's. When the
     * socket is closed, fl_door_left must be told. */
    void (*admit)(void *context, fl_inbound *inbound, const struct sockaddr *address,
                  socklen_t address_len);
    /* One line about a refusal, for the log; no header, query or secret is in it. */
    void (*log)(void *context, const char *line);
    void *context;
} fl_door_host;

typedef struct fl_door fl_door;

/* The listeners stay the caller's and must outlive the door; it may open and close some between two
 * rounds. */
fl_door *fl_door_new(const fl_listeners *listeners, const fl_door_limits *limits,
                     const fl_door_host *host);
void fl_door_free(fl_door *door); /* NULL is fine; closes what was not handed on */

/* Adds the sockets that the door waits for; returns after how many ms it wants to be attended at
 * the latest. */
int fl_door_prepare(fl_door *door, fd_set *readable, int *max_fd);

/* Accepts, looks, hands on, refuses, ends what is too slow. Never blocks. */
void fl_door_attend(fl_door *door, const fd_set *readable);

/* True while connections that were handed on are open. */
bool fl_door_has_guests(const fl_door *door);

/* The socket of a connection that was handed on is about to be closed. */
void fl_door_left(fl_door *door, int fd);

#endif
