/* An answer: status, headers, body. Every answer of the server, whoever writes it, carries the
 * headers of fl_reply_headers; there is no other way out. */
#ifndef FL_HTTP_REPLY_H
#define FL_HTTP_REPLY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/str.h"
#include "http/head.h"
#include "json/json.h"

#define FL_REPLY_JSON "application/json"
#define FL_REPLY_EXTRAS_MAX 8
#define FL_REPLY_BYTES_MAX ((size_t)64 << 20)

typedef struct fl_reply {
    int status;               /* HTTP status; 0: no answer yet */
    const char *content_type; /* NULL: no body */
    fl_sv body;               /* lives as long as the arena it was made in, or for ever */
    const char *cache;        /* Cache-Control; NULL: no-store */
    fl_header extra[FL_REPLY_EXTRAS_MAX];
    size_t n_extra;
} fl_reply;

/* Adds a header; asserts that there is room. The texts must live as long as the reply. */
void fl_reply_add(fl_reply *reply, const char *name, fl_sv value);

/* An answer with the finished value of the writer, which is freed. */
fl_reply fl_reply_json(int status, fl_json_writer *w, fl_arena *arena);

/* All headers but Content-Length, Date and Connection, in the arena: the fixed ones of
 * docs/models/server.md, then the reply's own. */
void fl_reply_headers(const fl_reply *reply, fl_arena *arena, fl_header **out, size_t *count);

/* Gives the reply an ETag made of its body, and turns it into 304 when the request has that tag.
 * Only for 200. */
void fl_reply_tag(fl_reply *reply, const fl_request *request, fl_arena *arena);

/* Sets the ETag (the text between the quotes) and turns the reply into 304 when the request's
 * If-None-Match has it, or is "*". */
void fl_reply_set_tag(fl_reply *reply, fl_sv tag, const fl_request *request, fl_arena *arena);

/* True when it has an ETag. */
bool fl_reply_has_tag(const fl_reply *reply);

/* The whole answer as bytes, with Connection: close; without its body when is_head. */
void fl_reply_write(const fl_reply *reply, bool is_head, fl_arena *arena, fl_str *out);

/* The reason phrase of a status this server uses ("Not Found"). */
const char *fl_reply_reason(int status);

#endif
