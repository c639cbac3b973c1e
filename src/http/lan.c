/* Interfaces and the network's socket. */
#define _GNU_SOURCE
#include "http/lan.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

bool fl_lan_is_virtual(const char *interface)
{
    static const char *const begins[] = {
        "docker",  "br-",  "veth", "virbr", "vmnet", "vboxnet", "podman",    "lxc", "lxd",   "cni",
        "flannel", "cali", "tun",  "tap",   "wg",    "zt",      "tailscale", "ppp", "dummy", "ifb"};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        if (strncmp(interface, begins[i], strlen(begins[i])) == 0) {
            return true;
        }
    }
    return false;
}

bool fl_lan_is_private(const char *address)
{
    struct in_addr v4;
    struct in6_addr v6;
    if (inet_pton(AF_INET, address, &v4) == 1) {
        const uint32_t host = ntohl(v4.s_addr);
        return host >> 24 == 10 || host >> 20 == (172U << 4 | 1U) ||
               host >> 16 == (192U << 8 | 168U) || host >> 16 == (169U << 8 | 254U);
    }
    return inet_pton(AF_INET6, address, &v6) == 1 && (v6.s6_addr[0] & 0xfeU) == 0xfcU;
}

static bool is_wireless(const char *interface)
{
    char path[64 + FL_LAN_INTERFACE_MAX];
    (void)snprintf(path, sizeof path, "/sys/class/net/%s/wireless", interface);
    return access(path, F_OK) == 0 || strncmp(interface, "wl", 2) == 0;
}

/* False for what no phone is led to: loopback, other families, link-local and public IPv6. */
static bool read_one(const struct ifaddrs *one, fl_lan_address *out)
{
    const bool is_up = (one->ifa_flags & IFF_UP) != 0 && (one->ifa_flags & IFF_LOOPBACK) == 0;
    const void *bytes = NULL;
    if (one->ifa_addr == NULL || !is_up || fl_lan_is_virtual(one->ifa_name) ||
        strlen(one->ifa_name) >= FL_LAN_INTERFACE_MAX) {
        return false;
    }
    const int family = one->ifa_addr->sa_family;
    if (family == AF_INET) {
        bytes = &((const struct sockaddr_in *)(const void *)one->ifa_addr)->sin_addr;
    } else if (family == AF_INET6) {
        bytes = &((const struct sockaddr_in6 *)(const void *)one->ifa_addr)->sin6_addr;
    }
    if (bytes == NULL || inet_ntop(family, bytes, out->text, sizeof out->text) == NULL) {
        return false;
    }
    (void)snprintf(out->interface, sizeof out->interface, "%s", one->ifa_name);
    out->is_wireless = is_wireless(one->ifa_name);
    out->is_private = fl_lan_is_private(out->text);
    return family == AF_INET || out->is_private;
}

static int by_likelihood(const void *a, const void *b)
{
    const fl_lan_address *one = a;
    const fl_lan_address *other = b;
    if (one->is_private != other->is_private) {
        return one->is_private ? -1 : 1;
    }
    if (one->is_wireless != other->is_wireless) {
        return one->is_wireless ? -1 : 1;
    }
    const bool is_v6 = strchr(one->text, ':') != NULL;
    const bool is_other_v6 = strchr(other->text, ':') != NULL;
    return is_v6 != is_other_v6 ? (is_v6 ? 1 : -1) : strcmp(one->text, other->text);
}

size_t fl_lan_addresses(fl_lan_address *out)
{
    struct ifaddrs *all = NULL;
    size_t count = 0;
    if (getifaddrs(&all) != 0) {
        return 0;
    }
    for (const struct ifaddrs *one = all; one != NULL && count < FL_LAN_ADDRESSES_MAX;
         one = one->ifa_next) {
        fl_lan_address found = {.text = ""};
        if (read_one(one, &found)) {
            out[count++] = found;
        }
    }
    freeifaddrs(all);
    if (count > 1) {
        qsort(out, count, sizeof out[0], by_likelihood);
    }
    return count;
}

static void tell(const fl_lan *lan, bool is_open, const char *address)
{
    char line[FL_ADDRESS_TEXT_MAX + 128];
    if (lan->log != NULL) {
        (void)snprintf(line, sizeof line, "%s the network: %s, port %u%s",
                       is_open ? "open to" : "closed to", address, lan->listeners->port,
                       is_open ? ", without encryption" : "");
        lan->log(lan->log_context, line);
    }
}

fl_status fl_lan_open(fl_lan *lan, const char *address, fl_err *err)
{
    fl_site site = lan->closed;
    fl_status status = fl_listen_add_lan(lan->listeners, address, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_site_add(&site, fl_sv_from_cstr(lan->listeners->lan), err);
    if (status != FL_OK) {
        fl_lan_close(lan);
        return status;
    }
    *lan->site = site;
    tell(lan, true, lan->listeners->lan);
    return FL_OK;
}

void fl_lan_close(fl_lan *lan)
{
    char was[FL_ADDRESS_TEXT_MAX];
    (void)memcpy(was, lan->listeners->lan, sizeof was);
    *lan->site = lan->closed;
    fl_listen_drop_lan(lan->listeners);
    if (was[0] != '\0') {
        tell(lan, false, was);
    }
}

fl_sv fl_lan_origin(const fl_lan *lan, fl_arena *arena)
{
    const char *address = lan == NULL ? "" : lan->listeners->lan;
    if (address[0] == '\0') {
        return FL_SV("");
    }
    const bool is_v6 = strchr(address, ':') != NULL;
    return fl_arena_printf(arena, "http://%s%s%s:%u", is_v6 ? "[" : "", address, is_v6 ? "]" : "",
                           lan->listeners->port);
}
