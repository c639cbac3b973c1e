/* A server for tests, with handlers of its own and no room. */
#define _GNU_SOURCE
#include "support/server.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define TEXT_MAX 65536
#define LOG_MAX ((size_t)1 << 20)

/* gzip -9n of "hello, fern\n" */
static const unsigned char hello[] = {
    0x1f, 0x8b, 0x08, 0x00, 0x00, 0x00, 0x00, 0x00, 0x02, 0x03, 0xcb, 0x48, 0xcd, 0xc9, 0xc9, 0xd7,
    0x51, 0x48, 0x4b, 0x2d, 0xca, 0xe3, 0x02, 0x00, 0xb1, 0x02, 0xaa, 0x55, 0x0c, 0x00, 0x00, 0x00};
static const fl_web_asset files[] = {
    {"/index.html", hello, hello + sizeof hello, "bbbb", "text/html; charset=utf-8"},
    {"/main.js", hello, hello + sizeof hello, "cccc", "text/javascript; charset=utf-8"},
};

/* ---- handlers of the test ---- */

static fl_status reply_text(fl_exchange *x, fl_sv text)
{
    x->reply = (fl_reply){
        .status = 200, .content_type = "text/plain", .body = fl_arena_copy_sv(&x->arena, text)};
    return FL_OK;
}

static fl_status read_it(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    return reply_text(x, FL_SV("read"));
}

static fl_status echo(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    return reply_text(x, x->body);
}

static fl_status slow_write(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    const struct timespec wait = {.tv_nsec = 300 * 1000000};
    (void)nanosleep(&wait, NULL);
    return reply_text(x, FL_SV("written"));
}

static fl_status break_down(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)x;
    (void)app;
    return fl_fail(err, FL_EIO, "the disk is full");
}

static fl_status big(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    const size_t len = (size_t)4 << 20;
    char *bytes = fl_arena_alloc(&x->arena, len + 1, 1);
    memset(bytes, 'b', len);
    return reply_text(x, (fl_sv){bytes, len});
}

static const fl_route routes[] = {
    {"GET", "/api/v1/thing", FL_TIER_DEVICE, FL_LANE_READ, false, read_it},
    {"POST", "/api/v1/thing", FL_TIER_DEVICE, FL_LANE_WRITE, false, echo},
    {"PUT", "/api/v1/thing", FL_TIER_DEVICE, FL_LANE_LOOP, false, echo},
    {"DELETE", "/api/v1/thing", FL_TIER_DEVICE, FL_LANE_WRITE, false, echo},
    {"POST", "/api/v1/slow", FL_TIER_DEVICE, FL_LANE_WRITE, false, slow_write},
    {"POST", "/api/v1/owner", FL_TIER_OWNER, FL_LANE_READ, false, echo},
    {"GET", "/api/v1/broken", FL_TIER_DEVICE, FL_LANE_READ, false, break_down},
    {"GET", "/api/v1/big", FL_TIER_DEVICE, FL_LANE_READ, false, big},
};

/* ---- the server ---- */

static void keep_log(void *context, const char *line)
{
    fl_test_server *f = context;
    int put = snprintf(f->log + f->log_len, LOG_MAX - f->log_len, "%s\n", line);
    check_true(put > 0 && (size_t)put < LOG_MAX - f->log_len);
    f->log_len += (size_t)put;
}

void fl_test_cookie(fl_server *server, fl_tier tier, const char *name, char *out)
{
    char key[FL_SECRET_TEXT_MAX];
    fl_arena arena;
    fl_err err;
    fl_sv cookie = {NULL, 0};
    fl_tier got = FL_TIER_NONE;
    fl_arena_init(&arena);
    fl_sessions *sessions = fl_server_sessions(server);
    (void)fl_sessions_new_key(sessions, tier, 60, key);
    check_ok(fl_sessions_redeem(sessions, fl_sv_from_cstr(key), fl_sv_from_cstr(name), &arena,
                                &cookie, &got, &err),
             &err);
    fl_sv pair = fl_sv_split(&cookie, ';');
    (void)snprintf(out, FL_TEST_COOKIE_MAX, "%.*s", FL_SV_ARG(pair));
    fl_arena_done(&arena);
}

fl_test_server *fl_test_server_start(fl_door_limits limits)
{
    fl_test_server *f = calloc(1, sizeof *f);
    char path[FL_TEMP_PATH_MAX + 32];
    f->log = calloc(1, LOG_MAX);
    fl_temp_folder(f->dir);
    const fl_server_options options = {.room_dir = f->dir,
                                       .clock = fl_clock_system(),
                                       .lan = "127.0.0.2",
                                       .host_names = FL_SV(FL_TEST_NAME ", other.lan"),
                                       .assets = {.list = files, .count = 2},
                                       .routes = {routes, sizeof routes / sizeof routes[0]},
                                       .limits = limits,
                                       .log = keep_log,
                                       .log_context = f};
    check_ok(fl_server_start(&options, &f->server, &f->err), &f->err);
    f->port = fl_server_listeners(f->server)->port;
    f->has_ipv6 = fl_server_listeners(f->server)->has_ipv6;
    (void)snprintf(path, sizeof path, "%s/" FL_TOKEN_FILE, f->dir);
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    check_true(fgets(f->token, sizeof f->token, file) != NULL);
    (void)fclose(file);
    fl_test_cookie(f->server, FL_TIER_OWNER, "test", f->cookie);
    fl_test_cookie(f->server, FL_TIER_DEVICE, "test", f->phone);
    return f;
}

void fl_test_server_stop(fl_test_server *f)
{
    fl_server_stop(f->server);
    fl_remove_folder(f->dir);
    free(f->log);
    free(f);
}

int fl_test_server_setup(void **state)
{
    *state = fl_test_server_start(FL_DOOR_LIMITS_USUAL);
    return 0;
}

int fl_test_server_teardown(void **state)
{
    fl_test_server_stop(*state);
    return 0;
}

/* The addresses to ask at, by number; NULL after the last. */
const char *fl_test_address(const fl_test_server *f, int i)
{
    static const char *const addresses[] = {"127.0.0.1", "127.0.0.2", "::1"};
    return i < (f->has_ipv6 ? 3 : 2) ? addresses[i] : NULL;
}

/* Asks with the text of a format; {P} in it stands for the port. */
fl_answer fl_test_ask_at(const fl_test_server *f, const char *address, const char *text)
{
    static char request[TEXT_MAX];
    size_t len = 0;
    for (const char *at = text; *at != '\0';) {
        if (strncmp(at, "{P}", 3) == 0) {
            len += (size_t)snprintf(request + len, sizeof request - len, "%u", f->port);
            at += 3;
        } else {
            request[len++] = *at++;
        }
        check_true(len < sizeof request - 8);
    }
    return fl_http_ask(address, f->port, request, len);
}

fl_answer fl_test_ask(const fl_test_server *f, const char *text)
{
    return fl_test_ask_at(f, "127.0.0.1", text);
}

int fl_test_status_of(const fl_test_server *f, const char *address, const char *text)
{
    fl_answer answer = fl_test_ask_at(f, address, text);
    int status = answer.status;
    fl_answer_done(&answer);
    return status;
}

void fl_test_check_status(const fl_test_server *f, const char *address, const char *text, int want)
{
    int got = fl_test_status_of(f, address, text);
    if (got != want) {
        print_error("at %s: got %d, want %d:\n%s\n", address, got, want, text);
        fail();
    }
}

/* ---- the fixed headers ---- */

/* Copied from docs/models/server.md, which is the promise. */
const char *const fl_test_fixed_headers[FL_TEST_FIXED_HEADERS][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src "
     "'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
     "base-uri 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"X-Frame-Options", "DENY"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Connection", "close"},
};

void fl_test_check_headers(const fl_answer *answer, const char *what)
{
    char value[1024];
    for (size_t i = 0; i < FL_TEST_FIXED_HEADERS; i++) {
        if (!fl_answer_header(answer, fl_test_fixed_headers[i][0], value, sizeof value)) {
            print_error("%s: no %s in %d\n", what, fl_test_fixed_headers[i][0], answer->status);
            fail();
        }
        check_str(value, fl_test_fixed_headers[i][1]);
    }
    check_true(fl_answer_header(answer, "Cache-Control", value, sizeof value));
    check_true(strcasestr(answer->text, "access-control-") == NULL); /* no CORS, ever */
}

fl_answer fl_test_post(const fl_test_server *f, size_t said, size_t sent)
{
    char head[1024];
    int len = snprintf(head, sizeof head,
                       "POST /api/v1/thing HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                       "Authorization: Bearer %s\r\nContent-Type: application/json\r\n"
                       "Content-Length: %zu\r\n\r\n",
                       f->port, f->token, said);
    char *body = malloc(sent + 1);
    check_true(body != NULL);
    memset(body, 'z', sent);
    int fd = fl_http_connect("127.0.0.1", f->port);
    fl_http_send(fd, head, (size_t)len);
    fl_http_send(fd, body, sent);
    free(body);
    return fl_http_finish(fd);
}
