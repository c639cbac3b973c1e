/* The strict reader of request heads. Grammar: RFC 9112 sections 2 to 5, RFC 9110 section 5. No
 * bare CR or LF, no line folding, one space between the parts of the request line. */
#include "http/head.h"

#include <assert.h>
#include <string.h>

#include "base/shown.h"

static bool is_alnum(unsigned char c)
{
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* tchar of RFC 9110 section 5.6.2 */
static bool is_token_char(unsigned char c)
{
    return is_alnum(c) || (c != '\0' && strchr("!#$%&'*+-.^_`|~", c) != NULL);
}

static bool is_token(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        if (!is_token_char((unsigned char)text.ptr[i])) {
            return false;
        }
    }
    return text.len > 0;
}

size_t fl_head_length(fl_sv bytes)
{
    const char *at = bytes.ptr;
    size_t left = bytes.len;
    while (left >= 4) {
        const char *found = memchr(at, '\r', left - 3);
        if (found == NULL) {
            return 0;
        }
        if (memcmp(found, "\r\n\r\n", 4) == 0) {
            return (size_t)(found - bytes.ptr) + 4;
        }
        left -= (size_t)(found - at) + 1;
        at = found + 1;
    }
    return 0;
}

bool fl_head_is_hopeless(fl_sv bytes)
{
    for (size_t i = 0; i < bytes.len; i++) {
        unsigned char c = (unsigned char)bytes.ptr[i];
        bool is_line_end = c == '\n' && i > 0 && bytes.ptr[i - 1] == '\r';
        bool is_control = (c < 0x20 && c != '\t' && c != '\r') || c == 0x7f;
        if (i > 0 && bytes.ptr[i - 1] == '\r' && c != '\n') {
            return true;
        }
        if (is_control && !is_line_end) {
            return true;
        }
    }
    return false;
}

/* Takes one line (without its CRLF) off the front of *rest. */
static fl_sv take_line(fl_sv *rest)
{
    const char *end = memchr(rest->ptr, '\r', rest->len);
    assert(end != NULL); /* fl_head_length found the last one */
    fl_sv line = {rest->ptr, (size_t)(end - rest->ptr)};
    rest->ptr = end + 2;
    rest->len -= line.len + 2;
    return line;
}

static bool is_visible(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        unsigned char c = (unsigned char)text.ptr[i];
        if (c <= 0x20 || c >= 0x7f || c == '#') {
            return false;
        }
    }
    return true;
}

/* "http://HOST/path" leaves "/path" in *target and HOST in *authority. */
static bool take_authority(fl_sv *target, fl_sv *authority)
{
    static const char scheme[] = "http://";
    const size_t len = sizeof scheme - 1;
    if (target->len <= len || !fl_sv_eq_nocase((fl_sv){target->ptr, len}, FL_SV("http://"))) {
        return false;
    }
    const char *begin = target->ptr + len;
    const char *slash = memchr(begin, '/', target->len - len);
    if (slash == NULL || slash == begin) {
        return false;
    }
    *authority = (fl_sv){begin, (size_t)(slash - begin)};
    target->len -= (size_t)(slash - target->ptr);
    target->ptr = slash;
    return true;
}

static fl_status read_target(fl_sv target, fl_request *out, fl_err *err)
{
    if (!is_visible(target)) {
        return fl_fail(err, FL_EFORMAT, "request target: a character that may not stand there");
    }
    if ((target.len == 0 || target.ptr[0] != '/') && !take_authority(&target, &out->authority)) {
        return fl_fail(err, FL_EFORMAT, "request target \"%.*s\": give a path that begins with /",
                       FL_SHOWN(target));
    }
    fl_sv rest = target;
    out->path = fl_sv_split(&rest, '?');
    out->query = rest;
    return FL_OK;
}

static fl_status read_request_line(fl_sv line, fl_request *out, fl_err *err)
{
    fl_sv rest = line;
    fl_sv method = fl_sv_split(&rest, ' ');
    fl_sv target = fl_sv_split(&rest, ' ');
    if (!is_token(method)) {
        return fl_fail(err, FL_EFORMAT, "request line: it does not begin with a method");
    }
    if (!fl_sv_eq_cstr(rest, "HTTP/1.1") && !fl_sv_eq_cstr(rest, "HTTP/1.0")) {
        return fl_fail(err, FL_EFORMAT, "version \"%.*s\": HTTP/1.1 and HTTP/1.0 are understood",
                       FL_SHOWN(rest));
    }
    out->method = method;
    return read_target(target, out, err);
}

static fl_status read_header(fl_sv line, fl_request *out, fl_err *err)
{
    const char *colon = memchr(line.ptr, ':', line.len);
    if (colon == NULL) {
        return fl_fail(err, FL_EFORMAT, "header line without a colon");
    }
    fl_header header = {.name = {line.ptr, (size_t)(colon - line.ptr)}};
    if (!is_token(header.name)) { /* also a folded line, and a space before the colon */
        return fl_fail(err, FL_EFORMAT, "header name \"%.*s\": letters, digits and - are names",
                       FL_SHOWN(header.name));
    }
    if (out->n_headers == FL_HEADERS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "more than %d headers", FL_HEADERS_MAX);
    }
    header.value = fl_sv_trim((fl_sv){colon + 1, line.len - header.name.len - 1});
    out->header[out->n_headers] = header;
    out->n_headers++;
    return FL_OK;
}

fl_status fl_head_parse(fl_sv bytes, fl_request *out, fl_err *err)
{
    assert(fl_head_length(bytes) == bytes.len);
    if (fl_head_is_hopeless(bytes)) {
        return fl_fail(err, FL_EFORMAT, "request head: a stray control character or line end");
    }
    fl_request request = {.n_headers = 0};
    fl_sv rest = bytes;
    fl_status status = read_request_line(take_line(&rest), &request, err);
    while (status == FL_OK && rest.len > 2) {
        status = read_header(take_line(&rest), &request, err);
    }
    if (status == FL_OK) {
        *out = request;
    }
    return status;
}

const fl_header *fl_request_header(const fl_request *request, const char *name)
{
    for (size_t i = 0; i < request->n_headers; i++) {
        if (fl_sv_eq_nocase(request->header[i].name, fl_sv_from_cstr(name))) {
            return &request->header[i];
        }
    }
    return NULL;
}

fl_sv fl_request_value(const fl_request *request, const char *name)
{
    const fl_header *header = fl_request_header(request, name);
    return header == NULL ? (fl_sv){NULL, 0} : header->value;
}

size_t fl_request_count(const fl_request *request, const char *name)
{
    size_t count = 0;
    for (size_t i = 0; i < request->n_headers; i++) {
        count += fl_sv_eq_nocase(request->header[i].name, fl_sv_from_cstr(name)) ? 1 : 0;
    }
    return count;
}

bool fl_request_query(const fl_request *request, const char *name, fl_sv *value)
{
    fl_sv rest = request->query;
    while (rest.len > 0) {
        fl_sv pair = fl_sv_split(&rest, '&');
        fl_sv key = fl_sv_split(&pair, '=');
        if (fl_sv_eq_cstr(key, name)) {
            *value = pair;
            return true;
        }
    }
    return false;
}
