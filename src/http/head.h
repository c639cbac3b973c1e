/* The head of an HTTP request (request line and headers), read strictly: RFC 9112 without the
 * liberties it leaves to servers. What this reader accepts has one meaning only, and everything
 * behind it (guard, routes, handlers) uses what it read. It judges no value. */
#ifndef FL_HTTP_HEAD_H
#define FL_HTTP_HEAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_HEAD_BYTES_MAX ((size_t)16384) /* request line, headers and the empty line */
#define FL_HEADERS_MAX 100

typedef struct fl_header {
    fl_sv name;
    fl_sv value; /* without white space at both ends */
} fl_header;

/* All texts are views into the bytes that were read. */
typedef struct fl_request {
    fl_sv method;
    fl_sv authority; /* of an absolute-form target ("http://HOST/…"); empty otherwise */
    fl_sv path;      /* as sent, still percent-encoded; begins with '/' */
    fl_sv query;     /* as sent, without '?' */
    fl_header header[FL_HEADERS_MAX];
    size_t n_headers;
} fl_request;

/* Where the head ends: the number of bytes up to and with the empty line; 0 while it is not whole.
 * Bytes after it are body. */
size_t fl_head_length(fl_sv bytes);

/* True when the bytes so far can no longer become a head that fl_head_parse accepts: a line that
 * does not end in CRLF, or a control character. */
bool fl_head_is_hopeless(fl_sv bytes);

/* Reads a whole head (fl_head_length bytes). FL_EFORMAT: not well-formed, or a version other than
 * HTTP/1.0 and 1.1; FL_ETOOBIG: more than FL_HEADERS_MAX headers. */
fl_status fl_head_parse(fl_sv bytes, fl_request *out, fl_err *err) FL_MUST_USE;

/* The first header of this name (any case); NULL when there is none. */
const fl_header *fl_request_header(const fl_request *request, const char *name);

/* Its value; empty when there is none. */
fl_sv fl_request_value(const fl_request *request, const char *name);

/* How many headers have this name. */
size_t fl_request_count(const fl_request *request, const char *name);

/* The raw value of `name` in the query ("a=1&b=2"); false when it is not there. */
bool fl_request_query(const fl_request *request, const char *name, fl_sv *value);

#endif
