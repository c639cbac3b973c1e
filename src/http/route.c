/* The search in a table of routes. Fixed segments are compared as sent, never decoded, so that
 * there is one spelling of each address and the guard's prefixes mean what they say. */
#include "http/route.h"

#include <string.h>

#include "base/shown.h"

#define ALLOW_BYTES_MAX 64

static int hex_value(char c)
{
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

fl_status fl_percent_decode(fl_sv text, fl_arena *arena, fl_sv *out, fl_err *err)
{
    char *decoded = fl_arena_alloc(arena, text.len + 1, 1);
    size_t len = 0;
    for (size_t i = 0; i < text.len; i++) {
        int value = (unsigned char)text.ptr[i];
        if (value == '%') {
            int high = text.len - i > 2 ? hex_value(text.ptr[i + 1]) : -1;
            int low = text.len - i > 2 ? hex_value(text.ptr[i + 2]) : -1;
            value = high < 0 || low < 0 ? 0 : high * 16 + low;
            i += 2;
        }
        if (value < 0x20 || value == 0x7f || value == '/') {
            return fl_fail(err, FL_EFORMAT, "\"%.*s\" in the address: it is not well encoded",
                           FL_SHOWN(text));
        }
        decoded[len++] = (char)value;
    }
    *out = (fl_sv){decoded, len};
    return FL_OK;
}

static bool is_param(fl_sv segment)
{
    return segment.len > 2 && segment.ptr[0] == '{' && segment.ptr[segment.len - 1] == '}';
}

/* True when the path has the pattern's form; raw parameters go to param. */
static bool fits(const char *pattern, fl_sv path, fl_sv param[FL_ROUTE_PARAMS_MAX])
{
    fl_sv rest = fl_sv_from_cstr(pattern);
    size_t n_params = 0;
    while (rest.len > 0 && path.len > 0) {
        fl_sv want = fl_sv_split(&rest, '/');
        bool is_more = path.len > 0 && memchr(path.ptr, '/', path.len) != NULL;
        fl_sv got = fl_sv_split(&path, '/');
        if (is_param(want) && got.len > 0 && n_params < FL_ROUTE_PARAMS_MAX) {
            param[n_params++] = got;
        } else if (!fl_sv_eq(want, got)) {
            return false;
        }
        if (is_more && path.len == 0) {
            return false; /* a slash at the end is another address */
        }
    }
    return rest.len == 0 && path.len == 0;
}

static bool has_method(const fl_route *route, fl_sv method)
{
    return fl_sv_eq_cstr(method, route->method) ||
           (fl_sv_eq_cstr(method, "HEAD") && strcmp(route->method, "GET") == 0);
}

/* The methods at this path, for Allow (RFC 9110 section 10.2.1). */
static fl_sv allowed(fl_routes routes, fl_sv path, fl_arena *arena)
{
    fl_sv ignored[FL_ROUTE_PARAMS_MAX];
    fl_str text;
    fl_str_init(&text, ALLOW_BYTES_MAX);
    for (size_t i = 0; i < routes.count; i++) {
        const fl_route *route = &routes.list[i];
        if (fits(route->pattern, path, ignored)) {
            fl_str_appendf(&text, "%s%s%s", text.len == 0 ? "" : ", ", route->method,
                           strcmp(route->method, "GET") == 0 ? ", HEAD" : "");
        }
    }
    fl_sv allow = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return allow;
}

fl_match fl_routes_find(fl_routes routes, const fl_request *request, fl_arena *arena,
                        const fl_route **out, fl_sv param[FL_ROUTE_PARAMS_MAX], fl_sv *allow)
{
    bool is_path_known = false;
    for (size_t i = 0; i < routes.count; i++) {
        fl_sv raw[FL_ROUTE_PARAMS_MAX] = {{NULL, 0}};
        if (!fits(routes.list[i].pattern, request->path, raw)) {
            continue;
        }
        is_path_known = true;
        if (!has_method(&routes.list[i], request->method)) {
            continue;
        }
        for (size_t p = 0; p < FL_ROUTE_PARAMS_MAX; p++) {
            if (fl_percent_decode(raw[p], arena, &param[p], NULL) != FL_OK) {
                return FL_MATCH_BAD_TEXT;
            }
        }
        *out = &routes.list[i];
        return FL_MATCH_FOUND;
    }
    if (!is_path_known) {
        return FL_MATCH_NO_PATH;
    }
    *allow = allowed(routes, request->path, arena);
    return FL_MATCH_NO_METHOD;
}
