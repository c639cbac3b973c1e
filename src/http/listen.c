/* Binding addresses. */
#define _GNU_SOURCE
#include "http/listen.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define BACKLOG 64
#define PORT_TRIES 20

typedef union address {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
} address;

static address loopback_v4(uint16_t port)
{
    address at = {.v4 = {.sin_family = AF_INET, .sin_port = htons(port)}};
    at.v4.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    return at;
}

static address loopback_v6(uint16_t port)
{
    return (address){.v6 = {.sin6_family = AF_INET6,
                            .sin6_port = htons(port),
                            .sin6_addr = IN6ADDR_LOOPBACK_INIT}};
}

/* A single address that a machine can have; not "any", a group, or one that needs a scope. */
static bool read_address(const char *text, uint16_t port, address *out)
{
    address at = {.v4 = {.sin_family = AF_INET, .sin_port = htons(port)}};
    if (inet_pton(AF_INET, text, &at.v4.sin_addr) == 1) {
        uint32_t host = ntohl(at.v4.sin_addr.s_addr);
        *out = at;
        return host != INADDR_ANY && host != INADDR_BROADCAST && !IN_MULTICAST(host);
    }
    at = (address){.v6 = {.sin6_family = AF_INET6, .sin6_port = htons(port)}};
    if (inet_pton(AF_INET6, text, &at.v6.sin6_addr) == 1) {
        *out = at;
        return !IN6_IS_ADDR_UNSPECIFIED(&at.v6.sin6_addr) &&
               !IN6_IS_ADDR_MULTICAST(&at.v6.sin6_addr) && !IN6_IS_ADDR_LINKLOCAL(&at.v6.sin6_addr);
    }
    return false;
}

static void write_address(const address *at, char *text)
{
    const void *bytes = at->any.sa_family == AF_INET ? (const void *)&at->v4.sin_addr
                                                     : (const void *)&at->v6.sin6_addr;
    if (inet_ntop(at->any.sa_family, bytes, text, FL_ADDRESS_TEXT_MAX) == NULL) {
        text[0] = '\0';
    }
}

static fl_status fail(const address *at, int cause, fl_err *err)
{
    char text[FL_ADDRESS_TEXT_MAX];
    write_address(at, text);
    int port = ntohs(at->any.sa_family == AF_INET ? at->v4.sin_port : at->v6.sin6_port);
    if (cause == EADDRINUSE) {
        return fl_fail(err, FL_EBUSY, "%s port %d: in use: give another with --port, or 0", text,
                       port);
    }
    if (cause == EADDRNOTAVAIL) {
        return fl_fail(err, FL_EINVAL, "%s: not an address of this machine", text);
    }
    return fl_fail(err, FL_EIO, "%s port %d: %s", text, port, strerror(cause));
}

/* A listening socket that never blocks; -1 and errno otherwise. */
static int open_socket(const address *at)
{
    const int yes = 1;
    const bool is_v6 = at->any.sa_family == AF_INET6;
    const socklen_t len = is_v6 ? sizeof at->v6 : sizeof at->v4;
    int fd = socket(at->any.sa_family, SOCK_STREAM, 0);
    if (fd < 0) {
        return -1;
    }
    bool is_ready = fcntl(fd, F_SETFD, FD_CLOEXEC) == 0 && fcntl(fd, F_SETFL, O_NONBLOCK) == 0 &&
                    setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) == 0 &&
                    (!is_v6 || setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &yes, sizeof yes) == 0) &&
                    bind(fd, &at->any, len) == 0 && listen(fd, BACKLOG) == 0;
    if (!is_ready) {
        int cause = errno;
        (void)close(fd);
        errno = cause;
        return -1;
    }
    return fd;
}

static fl_status add(fl_listeners *listeners, const address *at, fl_err *err)
{
    int fd = open_socket(at);
    if (fd < 0) {
        return fail(at, errno, err);
    }
    listeners->socket[listeners->count] = fd;
    listeners->count++;
    return FL_OK;
}

static fl_status read_port(int fd, uint16_t *port, fl_err *err)
{
    struct sockaddr_in at = {.sin_port = 0};
    socklen_t len = sizeof at;
    if (getsockname(fd, (struct sockaddr *)&at, &len) != 0) {
        return fl_fail(err, FL_EIO, "the port of a socket: %s", strerror(errno));
    }
    *port = ntohs(at.sin_port);
    return FL_OK;
}

static bool is_without_ipv6(int cause)
{
    return cause == EAFNOSUPPORT || cause == EADDRNOTAVAIL || cause == EPROTONOSUPPORT;
}

fl_status fl_listen_add_lan(fl_listeners *listeners, const char *lan, fl_err *err)
{
    address at;
    char text[FL_ADDRESS_TEXT_MAX] = "";
    if (!read_address(lan, listeners->port, &at)) {
        return fl_fail(err, FL_EINVAL,
                       "--lan %.60s: give one numeric address of this machine, such as 192.0.2.20",
                       lan);
    }
    write_address(&at, text);
    if (strcmp(text, listeners->lan) == 0) {
        return FL_OK; /* it is open already */
    }
    int fd = open_socket(&at);
    if (fd < 0) {
        return fail(&at, errno, err);
    }
    fl_listen_drop_lan(listeners);
    listeners->socket[listeners->count++] = fd;
    (void)memcpy(listeners->lan, text, sizeof text);
    return FL_OK;
}

void fl_listen_drop_lan(fl_listeners *listeners)
{
    if (listeners->lan[0] != '\0') { /* it is the last one */
        listeners->count--;
        (void)close(listeners->socket[listeners->count]);
        listeners->lan[0] = '\0';
    }
}

/* All at one port; the caller closes what was opened before an error. */
static fl_status open_all(uint16_t port, const char *lan, fl_listeners *out, fl_err *err)
{
    address at = loopback_v4(port);
    fl_status status = add(out, &at, err);
    if (status == FL_OK) {
        status = read_port(out->socket[0], &out->port, err);
    }
    if (status != FL_OK) {
        return status;
    }
    at = loopback_v6(out->port);
    int fd = open_socket(&at);
    if (fd >= 0) {
        out->socket[out->count++] = fd;
        out->has_ipv6 = true;
    } else if (!is_without_ipv6(errno)) {
        return fail(&at, errno, err);
    }
    return lan == NULL ? FL_OK : fl_listen_add_lan(out, lan, err);
}

fl_status fl_listen(uint16_t port, const char *lan, fl_listeners *out, fl_err *err)
{
    fl_status status = FL_EBUSY;
    const int tries = port == 0 ? PORT_TRIES : 1; /* a free port of one address may be taken at
                                                     another */
    for (int i = 0; i < tries && status == FL_EBUSY; i++) {
        fl_listeners made = {.count = 0};
        status = open_all(port, lan, &made, err);
        if (status == FL_OK) {
            *out = made;
        } else {
            fl_listen_done(&made);
        }
    }
    return status;
}

void fl_listen_done(fl_listeners *listeners)
{
    for (size_t i = 0; i < listeners->count; i++) {
        (void)close(listeners->socket[i]);
    }
    listeners->count = 0;
}
