/* The guard: who may ask for what, judged from the head of a request alone, before anything else
 * looks at it. Pure functions; no socket, clock or memory. docs/models/server.md says in plain
 * words what is guarded and why; the order of the checks is the order of that page. */
#ifndef FL_HTTP_GUARD_H
#define FL_HTTP_GUARD_H

#include <stdbool.h>
#include <stdint.h>

#include "http/head.h"
#include "http/problem.h"

#define FL_SITE_NAMES_MAX 16
#define FL_SITE_NAME_BYTES_MAX 256
#define FL_BODY_BYTES_MAX ((uint64_t)1 << 20)  /* JSON */
#define FL_CSV_BYTES_MAX ((uint64_t)64 << 20)  /* text/csv, streamed */
#define FL_IMAGE_BYTES_MAX ((uint64_t)2 << 20) /* image/jpeg */

/* The names this server answers to, always with its port. */
typedef struct fl_site {
    char name[FL_SITE_NAMES_MAX][FL_SITE_NAME_BYTES_MAX]; /* IPv6 in brackets */
    size_t n_names;
    uint16_t port;
} fl_site;

/* 127.0.0.1, localhost, "localhost." and [::1]. */
fl_site fl_site_of_loopback(uint16_t port);

/* One more name: a numeric address (IPv6 without brackets is put into them) or a host name.
 * FL_EINVAL: neither; FL_ETOOBIG: too many. */
fl_status fl_site_add(fl_site *site, fl_sv name, fl_err *err) FL_MUST_USE;

/* True when "NAME:PORT" (the port may be left out when it is 80) is one of the site's, exactly but
 * for the case of letters. */
bool fl_site_has(const fl_site *site, fl_sv authority);

/* What a caller may do; each tier may do what those before it may. */
typedef enum fl_tier {
    FL_TIER_NONE = 0, /* not signed in */
    FL_TIER_DEVICE,   /* a paired phone: reads, and records events */
    FL_TIER_OWNER     /* the keeper at the computer, and programs with the token */
} fl_tier;

/* Who is asking: what the sessions made of the request's credentials. */
typedef struct fl_who {
    fl_tier tier;
    bool is_bearer;        /* the tier comes from a valid token in Authorization */
    bool has_cookie;       /* there is a Cookie header, whatever is in it */
    bool has_false_bearer; /* there is an Authorization header that is not the token */
    int session;           /* number of the session, for signing out; -1: none */
} fl_who;

/* True for GET, HEAD and OPTIONS. */
bool fl_method_is_safe(fl_sv method);

/* True for everything that needs a session: /api/ but for signing in. */
bool fl_guard_needs_session(const fl_request *request);

/* FL_PROBLEM_NONE, or why the request is refused. Checks, in this order: the Host, repeated
 * headers, the framing of the body, the session, where a write (or a read of the API) comes from,
 * the body's kind, its size. */
fl_problem fl_guard_check(const fl_site *site, const fl_request *request, const fl_who *who);

/* The length of the body by its header; 0 when there is none. Call after fl_guard_check. */
uint64_t fl_guard_body_length(const fl_request *request);

/* True when a refusal should be a page: a browser that navigates. */
bool fl_guard_wants_page(const fl_request *request);

#endif
