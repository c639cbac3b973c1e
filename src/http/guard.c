/* The checks of guard.h. Each returns the first thing wrong; fl_guard_check is their order. */
#include "http/guard.h"

#include <assert.h>
#include <string.h>

#include "base/num.h"
#include "base/shown.h"

#define HTTP_PORT 80

/* ---- names ---- */

static void put_name(fl_site *site, fl_sv name)
{
    assert(site->n_names < FL_SITE_NAMES_MAX && name.len < FL_SITE_NAME_BYTES_MAX);
    memcpy(site->name[site->n_names], name.ptr, name.len);
    site->name[site->n_names][name.len] = '\0';
    site->n_names++;
}

fl_site fl_site_of_loopback(uint16_t port)
{
    fl_site site = {.port = port};
    put_name(&site, FL_SV("127.0.0.1"));
    put_name(&site, FL_SV("localhost"));
    put_name(&site, FL_SV("localhost."));
    put_name(&site, FL_SV("[::1]"));
    return site;
}

static bool is_host_char(char c, bool is_ipv6)
{
    bool is_digit = c >= '0' && c <= '9';
    bool is_hex = is_digit || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
    bool is_letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    return is_ipv6 ? is_hex || c == ':' || c == '.' : is_digit || is_letter || c == '-' || c == '.';
}

static bool has_two_colons(fl_sv name)
{
    size_t count = 0;
    for (size_t i = 0; i < name.len; i++) {
        count += name.ptr[i] == ':' ? 1 : 0;
    }
    return count >= 2;
}

fl_status fl_site_add(fl_site *site, fl_sv name, fl_err *err)
{
    char text[FL_SITE_NAME_BYTES_MAX];
    bool is_ipv6 = has_two_colons(name);
    bool is_good = name.len > 0 && name.len < FL_SITE_NAME_BYTES_MAX - 2;
    for (size_t i = 0; i < name.len && is_good; i++) {
        is_good = is_host_char(name.ptr[i], is_ipv6);
    }
    if (!is_good) {
        return fl_fail(err, FL_EINVAL, "name \"%.*s\": give a host name or a numeric address",
                       FL_SHOWN(name));
    }
    if (site->n_names == FL_SITE_NAMES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "more than %d names", FL_SITE_NAMES_MAX);
    }
    size_t len = 0;
    if (is_ipv6) {
        text[len++] = '[';
    }
    memcpy(text + len, name.ptr, name.len);
    len += name.len;
    if (is_ipv6) {
        text[len++] = ']';
    }
    put_name(site, (fl_sv){text, len});
    return FL_OK;
}

/* "NAME:PORT" in its parts; a port that is left out is 80. False when it is not of that form. */
static bool split_authority(fl_sv authority, fl_sv *name, int64_t *port)
{
    size_t end = 0;
    bool is_ipv6 = authority.len > 0 && authority.ptr[0] == '[';
    const char *stop =
        authority.len == 0 ? NULL : memchr(authority.ptr, is_ipv6 ? ']' : ':', authority.len);
    if (stop == NULL) {
        end = authority.len;
    } else {
        end = (size_t)(stop - authority.ptr) + (is_ipv6 ? 1 : 0);
    }
    *name = (fl_sv){authority.ptr, end};
    *port = HTTP_PORT;
    if (end == authority.len) {
        return end > 0;
    }
    fl_sv digits = {authority.ptr + end + 1, authority.len - end - 1};
    return authority.ptr[end] == ':' && digits.len > 0 && digits.ptr[0] >= '1' &&
           digits.ptr[0] <= '9' &&
           fl_num_parse_int(digits, "port", 1, UINT16_MAX, port, NULL) == FL_OK;
}

bool fl_site_has(const fl_site *site, fl_sv authority)
{
    fl_sv name = {NULL, 0};
    int64_t port = 0;
    if (!split_authority(authority, &name, &port) || port != site->port) {
        return false;
    }
    for (size_t i = 0; i < site->n_names; i++) {
        if (fl_sv_eq_nocase(name, fl_sv_from_cstr(site->name[i]))) {
            return true;
        }
    }
    return false;
}

/* ---- the checks ---- */

static fl_problem check_host(const fl_site *site, const fl_request *request)
{
    fl_sv host = fl_request_value(request, "Host");
    if (fl_request_count(request, "Host") != 1 || !fl_site_has(site, host)) {
        return FL_PROBLEM_WRONG_HOST;
    }
    if (request->authority.len > 0 && !fl_sv_eq_nocase(request->authority, host)) {
        return FL_PROBLEM_WRONG_HOST; /* two names for one request */
    }
    return FL_PROBLEM_NONE;
}

static fl_problem check_repeats(const fl_request *request)
{
    static const char *const once[] = {
        "Origin",          "Sec-Fetch-Site", "Content-Type",   "Authorization",   "Cookie",
        "Idempotency-Key", "If-None-Match",  "X-Requested-By", "Accept-Encoding",
    };
    for (size_t i = 0; i < sizeof once / sizeof once[0]; i++) {
        if (fl_request_count(request, once[i]) > 1) {
            return FL_PROBLEM_REPEATED;
        }
    }
    return FL_PROBLEM_NONE;
}

bool fl_method_is_safe(fl_sv method)
{
    return fl_sv_eq_cstr(method, "GET") || fl_sv_eq_cstr(method, "HEAD") ||
           fl_sv_eq_cstr(method, "OPTIONS");
}

/* One Content-Length in digits, or none; never a Transfer-Encoding. The library behind us takes
 * two lengths that differ, and a length beside an encoding. */
static fl_problem check_framing(const fl_request *request)
{
    size_t n_lengths = fl_request_count(request, "Content-Length");
    size_t n_encodings = fl_request_count(request, "Transfer-Encoding");
    fl_sv text = fl_request_value(request, "Content-Length");
    int64_t length = 0;
    if (n_encodings > 0) {
        return n_lengths > 0 ? FL_PROBLEM_UNCLEAR_LENGTH : FL_PROBLEM_NO_LENGTH;
    }
    if (n_lengths == 0) {
        return FL_PROBLEM_NONE;
    }
    if (n_lengths > 1 || text.len == 0 || text.ptr[0] < '0' || text.ptr[0] > '9' ||
        fl_num_parse_int(text, "length", 0, INT64_MAX, &length, NULL) != FL_OK) {
        return FL_PROBLEM_UNCLEAR_LENGTH;
    }
    return length > 0 && fl_method_is_safe(request->method) ? FL_PROBLEM_UNCLEAR_LENGTH
                                                            : FL_PROBLEM_NONE;
}

static bool is_below(fl_sv path, const char *prefix)
{
    size_t len = strlen(prefix);
    return path.len >= len && memcmp(path.ptr, prefix, len) == 0;
}

bool fl_guard_needs_session(const fl_request *request)
{
    bool is_sign_in =
        fl_sv_eq_cstr(request->method, "POST") && fl_sv_eq_cstr(request->path, "/api/v1/session");
    return is_below(request->path, "/api/") && !is_sign_in;
}

static fl_problem check_session(const fl_request *request, const fl_who *who)
{
    if (!fl_guard_needs_session(request)) {
        return FL_PROBLEM_NONE;
    }
    return who->has_false_bearer || who->tier == FL_TIER_NONE ? FL_PROBLEM_NO_SESSION
                                                              : FL_PROBLEM_NONE;
}

/* "http://NAME:PORT" with the name and port of the Host, which the list of names has accepted. */
static bool is_own_origin(const fl_request *request, fl_sv origin)
{
    static const char scheme[] = "http://";
    fl_sv host = fl_request_value(request, "Host");
    fl_sv name = {NULL, 0};
    fl_sv own_name = {NULL, 0};
    int64_t port = 0;
    int64_t own_port = 0;
    if (!is_below(origin, scheme)) {
        return false;
    }
    fl_sv authority = {origin.ptr + strlen(scheme), origin.len - strlen(scheme)};
    return split_authority(authority, &name, &port) &&
           split_authority(host, &own_name, &own_port) && port == own_port &&
           fl_sv_eq_nocase(name, own_name);
}

/* Where a request comes from, by what browsers say about it and pages cannot change. */
static fl_problem check_source(const fl_request *request, const fl_who *who)
{
    const fl_header *site = fl_request_header(request, "Sec-Fetch-Site");
    const fl_header *origin = fl_request_header(request, "Origin");
    bool is_safe = fl_method_is_safe(request->method);
    if (is_safe && !is_below(request->path, "/api/")) {
        return FL_PROBLEM_NONE; /* the interface itself holds no data, and links may lead to it */
    }
    if (site != NULL && !fl_sv_eq_cstr(site->value, "same-origin") &&
        !(is_safe && fl_sv_eq_cstr(site->value, "none"))) {
        return FL_PROBLEM_CROSS_SITE;
    }
    if (origin != NULL && !is_own_origin(request, origin->value)) {
        return FL_PROBLEM_CROSS_SITE; /* also "null" */
    }
    if (!is_safe && site == NULL && origin == NULL && (!who->is_bearer || who->has_cookie)) {
        return FL_PROBLEM_CROSS_SITE; /* no browser that we know, and no program with the token */
    }
    return FL_PROBLEM_NONE;
}

static bool is_media_type(const fl_request *request, const char *type)
{
    fl_sv rest = fl_request_value(request, "Content-Type");
    return fl_sv_eq_nocase(fl_sv_trim(fl_sv_split(&rest, ';')), fl_sv_from_cstr(type));
}

/* The most that a body of this kind may have; 0: no such body is taken. What a form could send
 * needs a header that only our own pages can add. */
static uint64_t body_bytes_max(const fl_request *request)
{
    bool has_mark = fl_request_header(request, "X-Requested-By") != NULL;
    if (is_media_type(request, "application/json")) {
        return FL_BODY_BYTES_MAX;
    }
    if (is_media_type(request, "text/csv") && has_mark) {
        return FL_CSV_BYTES_MAX;
    }
    return is_media_type(request, "image/jpeg") && has_mark ? FL_IMAGE_BYTES_MAX : 0;
}

/* A kind of body that no form and no plain cross-site request can send. */
static fl_problem check_media_type(const fl_request *request)
{
    return fl_method_is_safe(request->method) || body_bytes_max(request) > 0
               ? FL_PROBLEM_NONE
               : FL_PROBLEM_MEDIA_TYPE;
}

uint64_t fl_guard_body_length(const fl_request *request)
{
    int64_t length = 0;
    fl_sv text = fl_request_value(request, "Content-Length");
    if (fl_num_parse_int(text, "length", 0, INT64_MAX, &length, NULL) != FL_OK) {
        return 0;
    }
    return (uint64_t)length;
}

static fl_problem check_size(const fl_request *request)
{
    uint64_t max = body_bytes_max(request);
    return !fl_method_is_safe(request->method) && fl_guard_body_length(request) > max
               ? FL_PROBLEM_BODY_TOO_BIG
               : FL_PROBLEM_NONE;
}

fl_problem fl_guard_check(const fl_site *site, const fl_request *request, const fl_who *who)
{
    fl_problem found = check_host(site, request);
    if (found == FL_PROBLEM_NONE) {
        found = check_repeats(request);
    }
    if (found == FL_PROBLEM_NONE) {
        found = check_framing(request);
    }
    if (found == FL_PROBLEM_NONE) {
        found = check_session(request, who);
    }
    if (found == FL_PROBLEM_NONE) {
        found = check_source(request, who);
    }
    if (found == FL_PROBLEM_NONE) {
        found = check_media_type(request);
    }
    return found == FL_PROBLEM_NONE ? check_size(request) : found;
}

bool fl_guard_wants_page(const fl_request *request)
{
    fl_sv rest = fl_request_value(request, "Accept");
    while (rest.len > 0 && fl_sv_eq_cstr(request->method, "GET")) {
        fl_sv one = fl_sv_split(&rest, ',');
        if (fl_sv_eq_nocase(fl_sv_trim(fl_sv_split(&one, ';')), FL_SV("text/html"))) {
            return true;
        }
    }
    return false;
}
