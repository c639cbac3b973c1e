/* http/route.h, reply.h and problem.h. */
#include <stdlib.h>
#include <string.h>

#include "http/problem.h"
#include "http/route.h"
#include "support/check.h"
#include "support/source_file.h"

static fl_status nothing(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)x;
    (void)app;
    (void)err;
    return FL_OK;
}

static const fl_route list[] = {
    {"GET", "/api/v1/lots", FL_TIER_DEVICE, FL_LANE_READ, false, nothing},
    {"GET", "/api/v1/lots/{id}", FL_TIER_DEVICE, FL_LANE_READ, false, nothing},
    {"GET", "/api/v1/lots/{id}/gate/{use}", FL_TIER_DEVICE, FL_LANE_READ, false, nothing},
    {"POST", "/api/v1/lots", FL_TIER_DEVICE, FL_LANE_WRITE, false, nothing},
    {"PUT", "/api/v1/only", FL_TIER_DEVICE, FL_LANE_WRITE, false, nothing},
};
static const fl_routes routes = {list, sizeof list / sizeof list[0]};

/* The index of the route; -1 - match otherwise. */
static int find(const char *line, fl_sv param[FL_ROUTE_PARAMS_MAX], fl_arena *arena, fl_sv *allow)
{
    fl_err err = {0};
    fl_request request;
    const fl_route *route = NULL;
    fl_sv text = fl_arena_printf(arena, "%s HTTP/1.1\r\n\r\n", line);
    check_ok(fl_head_parse(text, &request, &err), &err);
    fl_match match = fl_routes_find(routes, &request, arena, &route, param, allow);
    return match == FL_MATCH_FOUND ? (int)(route - list) : -1 - (int)match;
}

static void test_find(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        int want;
    } cases[] = {
        {"GET /api/v1/lots", 0},
        {"HEAD /api/v1/lots", 0},
        {"GET /api/v1/lots?a=b", 0},
        {"POST /api/v1/lots", 3},
        {"GET /api/v1/lots/x", 1},
        {"GET /api/v1/lots/x/gate/stock", 2},
        {"GET /", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/lots/", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1//lots", -1 - FL_MATCH_NO_PATH},
        {"GET //api/v1/lots", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/lots/x/", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/lots//gate/x", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/LOTS", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/lot%73", -1 - FL_MATCH_NO_PATH},
        {"GET /api/v1/x/../lots", -1 - FL_MATCH_NO_PATH},
        {"DELETE /api/v1/lots", -1 - FL_MATCH_NO_METHOD},
        {"get /api/v1/lots", -1 - FL_MATCH_NO_METHOD}, /* RFC 9110 section 9.1: case-sensitive */
        {"GET /api/v1/lots/%2", -1 - FL_MATCH_BAD_TEXT},
        {"GET /api/v1/lots/%zz", -1 - FL_MATCH_BAD_TEXT},
        {"GET /api/v1/lots/%00", -1 - FL_MATCH_BAD_TEXT},
        {"GET /api/v1/lots/a%0Ab", -1 - FL_MATCH_BAD_TEXT},
        {"GET /api/v1/lots/..%2f", -1 - FL_MATCH_BAD_TEXT},
    };
    fl_arena arena;
    fl_arena_init(&arena);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_sv param[FL_ROUTE_PARAMS_MAX] = {{NULL, 0}};
        fl_sv allow = {NULL, 0};
        int got = find(cases[i].line, param, &arena, &allow);
        if (got != cases[i].want) {
            print_error("%s\n", cases[i].line);
        }
        check_int(got, cases[i].want);
    }
    fl_arena_done(&arena);
}

static void test_params_and_allow(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_sv param[FL_ROUTE_PARAMS_MAX] = {{NULL, 0}};
    fl_sv allow = {NULL, 0};
    check_int(find("GET /api/v1/lots/a%20b%C3%A9+/gate/%7e", param, &arena, &allow), 2);
    check_sv(param[0], "a b\xc3\xa9+"); /* RFC 3986: a plus in a path is a plus */
    check_sv(param[1], "~");
    check_int(find("PATCH /api/v1/lots", param, &arena, &allow), -1 - FL_MATCH_NO_METHOD);
    check_sv(allow, "GET, HEAD, POST");
    check_int(find("GET /api/v1/only", param, &arena, &allow), -1 - FL_MATCH_NO_METHOD);
    check_sv(allow, "PUT");
    fl_arena_done(&arena);
}

/* What a person's calendar and a label's code ask for: they only read, and each has its own rule
 * (a secret address; a code leads to a page that asks for a session). */
static bool is_outside_the_api(const fl_route *route)
{
    static const char *const known[] = {"/feed/{token}/calendar.ics", "/l/{code}", "/L/{code}"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (strcmp(route->pattern, known[i]) == 0) {
            return strcmp(route->method, "GET") == 0 && route->lane == FL_LANE_READ;
        }
    }
    return false;
}

/* Every other route of the program lies below /api/v1/, where the guard asks for a session. */
static void test_api_table(void **state)
{
    (void)state;
    fl_routes api = fl_routes_of_api();
    check_true(api.count > 0);
    for (size_t i = 0; i < api.count; i++) {
        const fl_route *route = &api.list[i];
        const bool is_sign_in =
            strcmp(route->method, "POST") == 0 && strcmp(route->pattern, "/api/v1/session") == 0;
        if (is_outside_the_api(route)) {
            continue;
        }
        check_int(strncmp(route->pattern, "/api/v1/", 8), 0);
        check_int(route->tier == FL_TIER_NONE, is_sign_in);
        /* GET never changes state: it gets an app that cannot write */
        check_true(strcmp(route->method, "GET") != 0 || route->lane != FL_LANE_WRITE);
    }
}

static bool has_route(fl_sv method, fl_sv pattern)
{
    const fl_routes api = fl_routes_of_api();
    for (size_t i = 0; i < api.count; i++) {
        if (fl_sv_eq_nocase(method, fl_sv_from_cstr(api.list[i].method)) &&
            fl_sv_eq_cstr(pattern, api.list[i].pattern)) {
            return true;
        }
    }
    return false;
}

/* api/openapi.yaml is the contract: the same operations, no more and no fewer. There a path stands
 * at two blanks and a method at four. */
static void test_api_is_described(void **state)
{
    (void)state;
    char *text = fl_source_file("api/openapi.yaml");
    fl_sv rest = fl_sv_from_cstr(text);
    fl_sv path = FL_SV("");
    size_t n_described = 0;
    while (rest.len > 0) {
        fl_sv line = fl_sv_split(&rest, '\n');
        const bool is_entry = line.len > 4 && line.ptr[line.len - 1] == ':';
        if (is_entry && strncmp(line.ptr, "  /", 3) == 0) {
            path = (fl_sv){line.ptr + 2, line.len - 3};
        } else if (is_entry && path.len > 0 && strncmp(line.ptr, "    ", 4) == 0 &&
                   line.ptr[4] != ' ') {
            fl_sv method = {line.ptr + 4, line.len - 5};
            if (!has_route(method, path)) {
                print_error("described, not served: %.*s %.*s\n", FL_SV_ARG(method),
                            FL_SV_ARG(path));
                fail();
            }
            n_described++;
        } else if (line.len > 0 && line.ptr[0] != ' ') {
            path = FL_SV("");
        }
    }
    check_int(n_described, fl_routes_of_api().count);
    free(text);
}

static fl_sv header_of(const fl_reply *reply, const char *name, fl_arena *arena)
{
    fl_header *header = NULL;
    size_t n = 0;
    fl_sv found = {NULL, 0};
    fl_reply_headers(reply, arena, &header, &n);
    for (size_t i = 0; i < n; i++) {
        if (fl_sv_eq_cstr(header[i].name, name)) {
            check_int(found.len, 0); /* once */
            found = header[i].value;
        }
    }
    return found;
}

/* RFC 9457: the members, and the type as a reference that this server answers. */
static void test_problem(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    for (int p = FL_PROBLEM_NONE + 1; p < FL_PROBLEM_COUNT; p++) {
        fl_err err = {0};
        fl_json_doc *doc = NULL;
        fl_reply page;
        int64_t status = 0;
        fl_reply reply = fl_problem_reply((fl_problem)p, NULL, &arena);
        check_sv(header_of(&reply, "Content-Type", &arena), "application/problem+json");
        check_sv(header_of(&reply, "Cache-Control", &arena), "no-store");
        check_ok(fl_json_parse(reply.body, &doc, &err), &err);
        const fl_json_value *root = fl_json_root(doc);
        check_true(fl_json_int(fl_json_get(root, "status"), &status));
        check_int(status, reply.status);
        check_true(fl_json_text(fl_json_get(root, "title")).len > 0);
        check_true(fl_json_text(fl_json_get(root, "detail")).len > 0);
        fl_sv type = fl_json_text(fl_json_get(root, "type"));
        check_int(strncmp(type.ptr, "/problems/", 10), 0);
        check_true(fl_problem_explain((fl_sv){type.ptr + 10, type.len - 10}, &arena, &page));
        check_int(page.status, 200);
        check_contains(page.body.ptr, fl_problems[p].title);
        check_true(strcmp(fl_reply_reason(reply.status), "Answer") != 0);
        fl_json_free(doc);
    }
    fl_reply challenge = fl_problem_reply(FL_PROBLEM_NO_SESSION, NULL, &arena);
    check_sv(header_of(&challenge, "WWW-Authenticate", &arena), "Bearer realm=\"fernlock\"");
    fl_reply page;
    check_false(fl_problem_explain(FL_SV("nothing"), &arena, &page));
    fl_arena_done(&arena);
}

static void test_problem_of_error(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_err err = {0};
    (void)fl_fail(&err, FL_EINVAL, "/body/count: -1: give 1 to 500");
    fl_reply reply = fl_problem_reply_err(&err, &arena);
    check_int(reply.status, 400);
    check_sv(reply.body, "{\"type\":\"/problems/invalid\",\"title\":\"an argument or a field is "
                         "wrong\",\"status\":400,\"detail\":\"/body/count: -1: give 1 to 500\","
                         "\"errors\":[{\"pointer\":\"/body/count\",\"detail\":\"-1: give 1 to "
                         "500\"}]}");
    for (int code = FL_OK + 1; code < FL_STATUS_COUNT; code++) {
        (void)fl_fail(&err, (fl_status)code, "what it was");
        reply = fl_problem_reply_err(&err, &arena);
        check_int(reply.status, fl_status_http((fl_status)code));
        check_true(strstr(reply.body.ptr, "errors") == NULL);
        fl_reply page;
        check_true(
            fl_problem_explain(fl_sv_from_cstr(fl_status_name((fl_status)code)), &arena, &page));
        check_true(strcmp(fl_reply_reason(reply.status), "Answer") != 0);
    }
    fl_arena_done(&arena);
}

/* RFC 9110 section 13.1.2 (If-None-Match, weak comparison, lists, "*"). */
static void test_tag(void **state)
{
    (void)state;
    static const struct {
        const char *value;
        int status;
    } cases[] = {
        {"\"abc\"", 304},         {"W/\"abc\"", 304}, {"\"x\", \"abc\"", 304},
        {"\"x\",W/\"abc\"", 304}, {"*", 304},         {"abc", 200},
        {"\"ab\"", 200},          {"\"abcd\"", 200},  {"", 200},
    };
    fl_arena arena;
    fl_arena_init(&arena);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_err err = {0};
        fl_request request;
        fl_sv text =
            fl_arena_printf(&arena, "GET / HTTP/1.1\r\nIf-None-Match: %s\r\n\r\n", cases[i].value);
        check_ok(fl_head_parse(text, &request, &err), &err);
        fl_reply reply = {.status = 200, .content_type = "text/plain", .body = FL_SV("x")};
        fl_reply_set_tag(&reply, FL_SV("abc"), &request, &arena);
        check_int(reply.status, cases[i].status);
        check_int(reply.body.len, cases[i].status == 200 ? 1 : 0);
        check_sv(header_of(&reply, "ETag", &arena), "\"abc\"");
    }
    fl_arena_done(&arena);
}

static void test_write(void **state)
{
    (void)state;
    fl_arena arena;
    fl_str text;
    fl_arena_init(&arena);
    fl_str_init(&text, 10000);
    fl_reply reply = {.status = 404, .content_type = "text/plain", .body = FL_SV("gone")};
    fl_reply_write(&reply, false, &arena, &text);
    check_contains(text.ptr, "HTTP/1.1 404 Not Found\r\n");
    check_contains(text.ptr, "\r\nContent-Length: 4\r\n\r\ngone");
    check_contains(text.ptr, "\r\nConnection: close\r\n");
    fl_str_clear(&text);
    fl_reply_write(&reply, true, &arena, &text);
    check_contains(text.ptr, "\r\nContent-Length: 4\r\n\r\n"); /* as GET would (RFC 9110 9.3.2) */
    check_true(strstr(text.ptr, "gone") == NULL);
    fl_str_done(&text);
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_find),      cmocka_unit_test(test_params_and_allow),
    cmocka_unit_test(test_api_table), cmocka_unit_test(test_problem),
    cmocka_unit_test(test_tag),       cmocka_unit_test(test_problem_of_error),
    cmocka_unit_test(test_write),     cmocka_unit_test(test_api_is_described),
};
FL_TEST_MAIN(tests)
