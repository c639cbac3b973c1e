/* The sockets that wait for connections: this computer's own two addresses, and one address of the
 * network when the keeper names it. Never all addresses at once. */
#ifndef FL_HTTP_LISTEN_H
#define FL_HTTP_LISTEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"

#define FL_LISTENERS_MAX 3
#define FL_ADDRESS_TEXT_MAX 48

typedef struct fl_listeners {
    int socket[FL_LISTENERS_MAX];
    size_t count;
    uint16_t port;                 /* the same for all */
    bool has_ipv6;                 /* [::1] is among them: this machine has it */
    char lan[FL_ADDRESS_TEXT_MAX]; /* the network address in its plain form; empty: none */
} fl_listeners;

/* Binds 127.0.0.1, [::1] where the machine has it, and `lan` (a numeric address of this machine;
 * NULL: none), all at `port` (0: the kernel picks one). FL_EINVAL: `lan` is no single numeric
 * address; FL_EBUSY: the port is in use; FL_EIO. */
fl_status fl_listen(uint16_t port, const char *lan, fl_listeners *out, fl_err *err) FL_MUST_USE;

/* Listens at a network address too, in the place of any other: FL_EINVAL, FL_EBUSY, FL_EIO, and it
 * is as it was. */
fl_status fl_listen_add_lan(fl_listeners *listeners, const char *lan, fl_err *err) FL_MUST_USE;
/* No network address any more; fine when there is none. */
void fl_listen_drop_lan(fl_listeners *listeners);

void fl_listen_done(fl_listeners *listeners);

#endif
