/* Answers and their fixed headers (web security rules: docs/models/server.md). */
#include "http/reply.h"

#include <assert.h>

#include "base/hash.h"

static const struct {
    const char *name;
    const char *value;
} fixed[] = {
    {"Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
     "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
     "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"X-Frame-Options", "DENY"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
};
#define FIXED_COUNT (sizeof fixed / sizeof fixed[0])

void fl_reply_add(fl_reply *reply, const char *name, fl_sv value)
{
    assert(reply->n_extra < FL_REPLY_EXTRAS_MAX);
    reply->extra[reply->n_extra] = (fl_header){fl_sv_from_cstr(name), value};
    reply->n_extra++;
}

fl_reply fl_reply_json(int status, fl_json_writer *w, fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, FL_REPLY_BYTES_MAX);
    fl_json_write(w, false, &text);
    fl_json_writer_free(w);
    fl_reply reply = {.status = status,
                      .content_type = FL_REPLY_JSON,
                      .body = fl_arena_copy_sv(arena, fl_str_sv(&text))};
    fl_str_done(&text);
    return reply;
}

void fl_reply_headers(const fl_reply *reply, fl_arena *arena, fl_header **out, size_t *count)
{
    fl_header *list = FL_ARENA_ARRAY(arena, fl_header, FIXED_COUNT + 2 + FL_REPLY_EXTRAS_MAX);
    size_t n = 0;
    for (size_t i = 0; i < FIXED_COUNT; i++) {
        list[n++] = (fl_header){fl_sv_from_cstr(fixed[i].name), fl_sv_from_cstr(fixed[i].value)};
    }
    list[n++] = (fl_header){FL_SV("Cache-Control"),
                            fl_sv_from_cstr(reply->cache == NULL ? "no-store" : reply->cache)};
    if (reply->content_type != NULL) {
        list[n++] = (fl_header){FL_SV("Content-Type"), fl_sv_from_cstr(reply->content_type)};
    }
    for (size_t i = 0; i < reply->n_extra; i++) {
        list[n++] = reply->extra[i];
    }
    *out = list;
    *count = n;
}

/* Weak comparison (RFC 9110 section 8.8.3.2): "W/" in front of a tag does not count. */
static bool has_tag(fl_sv list, fl_sv tag)
{
    if (fl_sv_eq_cstr(list, "*")) {
        return true;
    }
    while (list.len > 0) {
        fl_sv one = fl_sv_trim(fl_sv_split(&list, ','));
        if (one.len > 2 && one.ptr[0] == 'W' && one.ptr[1] == '/') {
            one = (fl_sv){one.ptr + 2, one.len - 2};
        }
        if (fl_sv_eq(one, tag)) {
            return true;
        }
    }
    return false;
}

void fl_reply_set_tag(fl_reply *reply, fl_sv tag, const fl_request *request, fl_arena *arena)
{
    fl_sv quoted = fl_arena_printf(arena, "\"%.*s\"", FL_SV_ARG(tag));
    fl_reply_add(reply, "ETag", quoted);
    if (has_tag(fl_request_value(request, "If-None-Match"), quoted)) {
        reply->status = 304;
        reply->content_type = NULL;
        reply->body = (fl_sv){NULL, 0};
    }
}

bool fl_reply_has_tag(const fl_reply *reply)
{
    for (size_t i = 0; i < reply->n_extra; i++) {
        if (fl_sv_eq_cstr(reply->extra[i].name, "ETag")) {
            return true;
        }
    }
    return false;
}

void fl_reply_tag(fl_reply *reply, const fl_request *request, fl_arena *arena)
{
    char hex[FL_HASH_TEXT_MAX];
    if (reply->status == 200) {
        (void)fl_hash_format(hex, fl_hash_of(reply->body.ptr, reply->body.len));
        fl_reply_set_tag(reply, (fl_sv){hex, 32}, request, arena);
    }
}

void fl_reply_write(const fl_reply *reply, bool is_head, fl_arena *arena, fl_str *out)
{
    fl_header *header = NULL;
    size_t n = 0;
    fl_reply_headers(reply, arena, &header, &n);
    fl_str_appendf(out, "HTTP/1.1 %d %s\r\n", reply->status, fl_reply_reason(reply->status));
    for (size_t i = 0; i < n; i++) {
        fl_str_append(out, header[i].name);
        fl_str_append_cstr(out, ": ");
        fl_str_append(out, header[i].value);
        fl_str_append_cstr(out, "\r\n");
    }
    fl_str_appendf(out, "Connection: close\r\nContent-Length: %zu\r\n\r\n", reply->body.len);
    if (!is_head) {
        fl_str_append(out, reply->body);
    }
}

const char *fl_reply_reason(int status)
{
    static const struct {
        int status;
        const char *reason;
    } reasons[] = {
        {200, "OK"},
        {201, "Created"},
        {204, "No Content"},
        {303, "See Other"},
        {304, "Not Modified"},
        {400, "Bad Request"},
        {401, "Unauthorized"},
        {403, "Forbidden"},
        {404, "Not Found"},
        {405, "Method Not Allowed"},
        {408, "Request Timeout"},
        {409, "Conflict"},
        {411, "Length Required"},
        {413, "Content Too Large"},
        {415, "Unsupported Media Type"},
        {421, "Misdirected Request"},
        {422, "Unprocessable Content"},
        {431, "Request Header Fields Too Large"},
        {500, "Internal Server Error"},
        {503, "Service Unavailable"},
    };
    for (size_t i = 0; i < sizeof reasons / sizeof reasons[0]; i++) {
        if (reasons[i].status == status) {
            return reasons[i].reason;
        }
    }
    return "Answer";
}
