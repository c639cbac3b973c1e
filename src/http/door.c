/* The door's table of connections and its rounds. */
#define _GNU_SOURCE
#include "http/door.h"

#include <arpa/inet.h>
#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/alloc.h"
#include "http/feed.h"
#include "http/problem.h"

#define NEVER_MS INT64_MAX
#define LOG_LINE_MAX 200
#define DRAIN_BLOCK 65536
/* One quick client, answered while we accept, connects again at once: without an end to it, its
 * connections that are over pile up uncounted until it is refused as too many. */
#define ACCEPTS_A_ROUND 8
#define WAIT_MS_MAX 60000
#define SHOWN_METHOD_MAX 12
#define SHOWN_PATH_MAX 40

typedef enum visit_state {
    VISIT_FREE = 0,
    VISIT_WAITING, /* its head is not whole yet */
    VISIT_INSIDE,  /* handed on; the socket is the library's */
    VISIT_REFUSED  /* answered; what it still sends is thrown away */
} visit_state;

typedef struct visit {
    visit_state state;
    int fd;
    size_t n_peeked; /* bytes of the head seen so far */
    int64_t deadline_ms;
    struct sockaddr_storage address;
    socklen_t address_len;
} visit;

struct fl_door {
    const fl_listeners *listeners; /* the server's: the network may be opened and closed */
    fl_door_limits limits;
    fl_door_host host;
    visit visits[FL_CONNECTIONS_MAX];
    int n_visits;
    char look[FL_HEAD_BYTES_MAX + 1]; /* a head while it is looked at */
    char waste[DRAIN_BLOCK];
};

static int64_t now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

void fl_inbound_free(fl_inbound *inbound)
{
    if (inbound != NULL) {
        fl_alloc_free(inbound->bytes);
        fl_alloc_free(inbound);
    }
}

fl_door *fl_door_new(const fl_listeners *listeners, const fl_door_limits *limits,
                     const fl_door_host *host)
{
    assert(limits->connections > 0 && limits->connections <= FL_CONNECTIONS_MAX);
    fl_door *door = fl_alloc(1, sizeof *door);
    door->listeners = listeners;
    door->limits = *limits;
    door->host = *host;
    return door;
}

static void forget(fl_door *door, visit *one)
{
    assert(one->state != VISIT_FREE);
    *one = (visit){.state = VISIT_FREE, .fd = -1};
    door->n_visits--;
}

static void end(fl_door *door, visit *one)
{
    (void)close(one->fd);
    forget(door, one);
}

void fl_door_free(fl_door *door)
{
    if (door == NULL) {
        return;
    }
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        visit_state state = door->visits[i].state;
        if (state == VISIT_WAITING || state == VISIT_REFUSED) {
            end(door, &door->visits[i]);
        }
    }
    fl_alloc_free(door);
}

void fl_door_left(fl_door *door, int fd)
{
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        if (door->visits[i].state == VISIT_INSIDE && door->visits[i].fd == fd) {
            forget(door, &door->visits[i]);
            return;
        }
    }
}

bool fl_door_has_guests(const fl_door *door)
{
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        if (door->visits[i].state == VISIT_INSIDE) {
            return true;
        }
    }
    return false;
}

/* ---- refusing ---- */

/* The method and the path say enough; queries, the ends of long paths and what stands behind
 * "/feed/" may hold secrets. */
static void log_refusal(fl_door *door, const visit *one, int status, const fl_request *request)
{
    char line[LOG_LINE_MAX];
    char host[INET6_ADDRSTRLEN] = "?";
    const struct sockaddr_in *v4 = (const struct sockaddr_in *)&one->address;
    const struct sockaddr_in6 *v6 = (const struct sockaddr_in6 *)&one->address;
    const void *bytes = one->address.ss_family == AF_INET ? (const void *)&v4->sin_addr
                                                          : (const void *)&v6->sin6_addr;
    (void)inet_ntop(one->address.ss_family, bytes, host, sizeof host);
    if (request == NULL) {
        (void)snprintf(line, sizeof line, "%d from %s", status, host);
    } else {
        const bool is_secret = request->path.len > strlen(FL_FEED_PATH) &&
                               memcmp(request->path.ptr, FL_FEED_PATH, strlen(FL_FEED_PATH)) == 0;
        const size_t shown = is_secret ? strlen(FL_FEED_PATH) : SHOWN_PATH_MAX;
        const bool is_long = request->path.len > shown;
        const size_t n_method =
            request->method.len > SHOWN_METHOD_MAX ? SHOWN_METHOD_MAX : request->method.len;
        (void)snprintf(line, sizeof line, "%d %.*s %.*s%s from %s", status, (int)n_method,
                       request->method.ptr, (int)(is_long ? shown : request->path.len),
                       request->path.ptr, is_long ? "..." : "", host);
    }
    if (door->host.log != NULL) {
        door->host.log(door->host.context, line);
    }
}

/* Answers, says that nothing more will come, and lets what is still on its way run dry: closing at
 * once would make the kernel throw the answer away. */
static void answer(fl_door *door, visit *one, const fl_reply *reply, bool is_head, fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, FL_REPLY_BYTES_MAX);
    fl_reply_write(reply, is_head, arena, &text);
    (void)send(one->fd, text.ptr, text.len, MSG_NOSIGNAL | MSG_DONTWAIT);
    (void)shutdown(one->fd, SHUT_WR);
    const int any = 1;
    (void)setsockopt(one->fd, SOL_SOCKET, SO_RCVLOWAT, &any, sizeof any);
    fl_str_done(&text);
    one->state = VISIT_REFUSED;
    one->deadline_ms = now_ms() + door->limits.drain_ms;
}

/* `request` is NULL when the head could not be read. */
static void refuse(fl_door *door, visit *one, fl_problem problem, const char *detail,
                   const fl_request *request)
{
    fl_arena arena;
    fl_arena_init(&arena);
    const bool is_head = request != NULL && fl_sv_eq_cstr(request->method, "HEAD");
    fl_reply reply;
    if (problem == FL_PROBLEM_WRONG_HOST && fl_guard_wants_page(request)) {
        reply = fl_problem_page(problem, &arena);
    } else {
        reply = fl_problem_reply(problem, detail, &arena);
    }
    log_refusal(door, one, reply.status, request);
    answer(door, one, &reply, is_head, &arena);
    fl_arena_done(&arena);
}

/* ---- letting in ---- */

static void admit(fl_door *door, visit *one, fl_inbound *inbound)
{
    const int any = 1;
    (void)setsockopt(one->fd, SOL_SOCKET, SO_RCVLOWAT, &any, sizeof any);
    inbound->fd = one->fd;
    one->state = VISIT_INSIDE;
    one->deadline_ms = now_ms() + door->limits.request_ms;
    struct sockaddr_storage address = one->address;
    door->host.admit(door->host.context, inbound, (const struct sockaddr *)&address,
                     one->address_len);
}

/* A whole head: reads, judges, and lets in or refuses. */
static void judge(fl_door *door, visit *one, size_t head_len)
{
    fl_err err = {0};
    fl_inbound *inbound = fl_alloc(1, sizeof *inbound);
    inbound->bytes = fl_alloc(head_len, 1);
    memcpy(inbound->bytes, door->look, head_len);
    fl_status status = fl_head_parse((fl_sv){inbound->bytes, head_len}, &inbound->request, &err);
    if (status != FL_OK) {
        refuse(door, one, status == FL_ETOOBIG ? FL_PROBLEM_HEAD_TOO_BIG : FL_PROBLEM_MALFORMED,
               err.message, NULL);
        fl_inbound_free(inbound);
        return;
    }
    fl_problem problem = door->host.judge(door->host.context, &inbound->request, &inbound->who);
    if (problem != FL_PROBLEM_NONE) {
        refuse(door, one, problem, NULL, &inbound->request);
        fl_inbound_free(inbound);
        return;
    }
    admit(door, one, inbound);
}

/* Something came: looks at the head so far without taking it out of the socket. */
static void look(fl_door *door, visit *one)
{
    ssize_t got = recv(one->fd, door->look, sizeof door->look, MSG_PEEK | MSG_DONTWAIT);
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
        return;
    }
    if (got <= 0 || (size_t)got == one->n_peeked) { /* gone, or no more will come */
        end(door, one);
        return;
    }
    const fl_sv seen = {door->look, (size_t)got};
    const size_t head_len = fl_head_length(seen);
    one->n_peeked = seen.len;
    if (head_len > 0 && head_len <= FL_HEAD_BYTES_MAX) {
        judge(door, one, head_len);
    } else if (seen.len > FL_HEAD_BYTES_MAX) {
        refuse(door, one, FL_PROBLEM_HEAD_TOO_BIG, NULL, NULL);
    } else if (fl_head_is_hopeless(seen)) {
        refuse(door, one, FL_PROBLEM_MALFORMED, NULL, NULL);
    } else { /* wake when there is more than what was seen: it stays in the buffer */
        const int more = (int)seen.len + 1;
        (void)setsockopt(one->fd, SOL_SOCKET, SO_RCVLOWAT, &more, sizeof more);
    }
}

/* ---- accepting ---- */

static bool is_same_address(const struct sockaddr_storage *a, const struct sockaddr_storage *b)
{
    if (a->ss_family != b->ss_family) {
        return false;
    }
    if (a->ss_family == AF_INET) {
        return ((const struct sockaddr_in *)a)->sin_addr.s_addr ==
               ((const struct sockaddr_in *)b)->sin_addr.s_addr;
    }
    return memcmp(&((const struct sockaddr_in6 *)a)->sin6_addr,
                  &((const struct sockaddr_in6 *)b)->sin6_addr, sizeof(struct in6_addr)) == 0;
}

static int count_address(const fl_door *door, const struct sockaddr_storage *address)
{
    int count = 0;
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        const visit *one = &door->visits[i];
        count += one->state != VISIT_FREE && is_same_address(&one->address, address) ? 1 : 0;
    }
    return count;
}

static visit *free_visit(fl_door *door)
{
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        if (door->visits[i].state == VISIT_FREE) {
            return &door->visits[i];
        }
    }
    return NULL;
}

/* True while there may be more to accept. */
static bool accept_one(fl_door *door, int listener)
{
    visit fresh = {.state = VISIT_WAITING, .address_len = sizeof fresh.address};
    if (door->n_visits >= door->limits.connections) {
        return false;
    }
    fresh.fd = accept(listener, (struct sockaddr *)&fresh.address, &fresh.address_len);
    if (fresh.fd < 0) {
        return errno == EINTR || errno == ECONNABORTED;
    }
    visit *place = free_visit(door);
    if (place == NULL || fresh.fd >= FD_SETSIZE ||
        count_address(door, &fresh.address) >= door->limits.per_address ||
        fcntl(fresh.fd, F_SETFD, FD_CLOEXEC) != 0 || fcntl(fresh.fd, F_SETFL, O_NONBLOCK) != 0) {
        (void)close(fresh.fd);
        return true;
    }
    fresh.deadline_ms = now_ms() + door->limits.head_ms;
    *place = fresh;
    door->n_visits++;
    look(door, place); /* it is often there already */
    return true;
}

/* ---- rounds ---- */

int fl_door_prepare(fl_door *door, fd_set *readable, int *max_fd)
{
    const int64_t now = now_ms();
    int64_t first = now + WAIT_MS_MAX;
    for (size_t i = 0; i < door->listeners->count && door->n_visits < door->limits.connections;
         i++) {
        const int fd = door->listeners->socket[i];
        FD_SET(fd, readable);
        *max_fd = fd > *max_fd ? fd : *max_fd;
    }
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        const visit *one = &door->visits[i];
        if (one->state == VISIT_WAITING || one->state == VISIT_REFUSED) {
            FD_SET(one->fd, readable);
            *max_fd = one->fd > *max_fd ? one->fd : *max_fd;
        }
        if (one->state != VISIT_FREE && one->deadline_ms < first) {
            first = one->deadline_ms;
        }
    }
    return first <= now ? 0 : (int)(first - now);
}

static void drain(fl_door *door, visit *one)
{
    ssize_t got = recv(one->fd, door->waste, sizeof door->waste, MSG_DONTWAIT);
    if (got == 0 || (got < 0 && errno != EAGAIN && errno != EINTR)) {
        end(door, one);
    }
}

static void end_late(fl_door *door, visit *one)
{
    if (one->state == VISIT_WAITING && one->n_peeked > 0) {
        refuse(door, one, FL_PROBLEM_TOO_SLOW, NULL, NULL);
    } else if (one->state == VISIT_INSIDE) {
        (void)shutdown(one->fd, SHUT_RDWR); /* the library sees the end, and closes */
        one->deadline_ms = NEVER_MS;
    } else {
        end(door, one);
    }
}

void fl_door_attend(fl_door *door, const fd_set *readable)
{
    const int64_t now = now_ms();
    for (size_t i = 0; i < FL_CONNECTIONS_MAX; i++) {
        visit *one = &door->visits[i];
        if (one->state == VISIT_WAITING && FD_ISSET(one->fd, readable)) {
            look(door, one);
        } else if (one->state == VISIT_REFUSED && FD_ISSET(one->fd, readable)) {
            drain(door, one);
        }
        if (one->state != VISIT_FREE && one->deadline_ms <= now) {
            end_late(door, one);
        }
    }
    for (size_t i = 0; i < door->listeners->count; i++) {
        if (FD_ISSET(door->listeners->socket[i], readable)) {
            for (int n = 0; n < ACCEPTS_A_ROUND && accept_one(door, door->listeners->socket[i]);
                 n++) {
            }
        }
    }
}
