/* The network: which addresses this machine has there, and opening and closing the one that
 * phones come to. The keeper names an address, at the start (--lan) or in the browser; never all
 * at once. */
#ifndef FL_HTTP_LAN_H
#define FL_HTTP_LAN_H

#include "base/arena.h"
#include "http/guard.h"
#include "http/listen.h"

#define FL_LAN_ADDRESSES_MAX 16
#define FL_LAN_INTERFACE_MAX 16

typedef struct fl_lan_address {
    char text[FL_ADDRESS_TEXT_MAX];
    char interface[FL_LAN_INTERFACE_MAX];
    bool is_wireless;
    bool is_private; /* of a range that routers keep at home (RFC 1918, RFC 4193, RFC 3927) */
} fl_lan_address;

/* True for names that container, virtual machine and tunnel software gives to its interfaces: no
 * phone reaches them. */
bool fl_lan_is_virtual(const char *interface);

/* True for an address of a home's range, given as text. */
bool fl_lan_is_private(const char *address);

/* The addresses of this machine's interfaces that are up, without loopback, virtual ones and what
 * needs a scope; wireless before wired, private before public. Returns how many (at most
 * FL_LAN_ADDRESSES_MAX). */
size_t fl_lan_addresses(fl_lan_address *out);

/* What a server hands to the handlers on its own thread. */
typedef struct fl_lan {
    fl_listeners *listeners;
    fl_site *site;                                /* the names it answers to now */
    fl_site closed;                               /* those without the network's address */
    void (*log)(void *context, const char *line); /* NULL: none */
    void *log_context;
} fl_lan;

/* Listens at this address too, in the place of any other; errors of fl_listen_add_lan leave it
 * as it was. The terminal is told. */
fl_status fl_lan_open(fl_lan *lan, const char *address, fl_err *err) FL_MUST_USE;
void fl_lan_close(fl_lan *lan);

/* "http://192.0.2.20:8462"; empty while the network is closed, and for NULL. In the
 * arena. */
fl_sv fl_lan_origin(const fl_lan *lan, fl_arena *arena);

#endif
