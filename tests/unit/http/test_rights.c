/* What a phone may do, asked of the whole server route by route. The table below is written from
 * docs/models/server.md ("What a device may do"), not from the program; a route that is not in it
 * fails, so that nobody adds one without saying what a phone may do there. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/app.h"
#include "http/device.h"
#include "http/rights.h"
#include "http/server.h"
#include "support/check.h"
#include "support/http.h"
#include "support/program.h"
#include "support/server.h"

#define NOW "2026-03-07T18:00:00Z"

typedef struct fixture {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s;
    fl_app writer;
    fl_app reader;
    fl_server *server;
    uint16_t port;
    char keeper[128];
    char phone[128];
    char label[FL_DEVICE_LABEL_MAX];
    fl_err err;
} fixture;

/* Reads are a device's, but for what is the keeper's alone. */
static const char *const keepers_reads[] = {"/api/v1/export", "/api/v1/backup", "/api/v1/lan",
                                            "/api/v1/pairing"};

/* Writes, each with a body that is let in or not, whatever the handler then says of it. */
static const struct {
    const char *method;
    const char *pattern;
    bool is_keepers;
} writes[] = {
    {"POST", "/api/v1/session", false}, /* for strangers too */
    {"DELETE", "/api/v1/session", false},
    {"POST", "/api/v1/events", false},
    {"POST", "/api/v1/events/batch", false}, /* each event as if it came alone: test_batch */
    {"POST", "/api/v1/photos", false},
    {"DELETE", "/api/v1/jobs/{id}", false}, /* its own: test_jobs */
    {"DELETE", "/api/v1/jobs/reading", false},
    {"PUT", "/api/v1/devices/{id}", true}, /* settings */
    {"DELETE", "/api/v1/devices/{id}", true},
    {"PUT", "/api/v1/settings/calendar", true},
    {"PUT", "/api/v1/settings/labels", true},
    {"POST", "/api/v1/lan", true},
    {"DELETE", "/api/v1/lan", true},
    {"POST", "/api/v1/pairing", true},
    {"DELETE", "/api/v1/pairing", true},
    {"POST", "/api/v1/pairing/allow", true},
    {"POST", "/api/v1/backup", true},
    {"POST", "/api/v1/verify", true},
    {"POST", "/api/v1/calendar/address", true},
    {"DELETE", "/api/v1/calendar/address", true},
    {"POST", "/api/v1/already-here", true}, /* imports */
    {"POST", "/api/v1/cards", true},
    {"POST", "/api/v1/lots/sheet", true},
    {"POST", "/api/v1/lots/sheet/undo", true},
    {"POST", "/api/v1/places/{id}/readings/preview", true},
    {"POST", "/api/v1/places/{id}/readings", true},
};

static int setup(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    static fl_paired_device all[FL_SESSIONS_MAX];
    fl_precision precision;
    fl_temp_folder(f->dir);
    fl_run_in_room(f->dir, NOW, "init", "--tz", "Z");
    fl_run_in_room(f->dir, NOW, "record", FL_SOURCE_DIR "/tests/browser/room.jsonl", "--together");
    check_ok(fl_civil_parse(FL_SV(NOW), 0, &f->now_s, &precision, &f->err), &f->err);
    const fl_clock clock = fl_clock_fixed(&f->now_s);
    check_ok(fl_app_open(f->dir, false, 0, clock, &f->writer, &f->err), &f->err);
    check_ok(fl_app_open_reader(f->dir, clock, &f->reader, &f->err), &f->err);
    const fl_server_options options = {.room_dir = f->dir,
                                       .clock = clock,
                                       .assets = fl_assets_embedded(),
                                       .routes = fl_routes_of_api(),
                                       .reader = &f->reader,
                                       .writer = &f->writer,
                                       .limits = FL_DOOR_LIMITS_USUAL};
    check_ok(fl_server_start(&options, &f->server, &f->err), &f->err);
    f->port = fl_server_listeners(f->server)->port;
    fl_test_cookie(f->server, FL_TIER_OWNER, "Sink", f->keeper);
    fl_test_cookie(f->server, FL_TIER_DEVICE, "Sink", f->phone);
    check_int(fl_devices_list(fl_server_sessions(f->server), all), 2);
    (void)snprintf(f->label, sizeof f->label, "%s", all[all[0].label[0] == '\0' ? 1 : 0].label);
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    fixture *f = *state;
    fl_server_stop(f->server);
    fl_app_close(&f->reader);
    fl_app_close(&f->writer);
    fl_remove_folder(f->dir);
    free(f);
    return 0;
}

/* As our own page would ask; with a body when the method has one. */
static fl_answer ask(const fixture *f, const char *cookie, const char *method, const char *path,
                     const char *body)
{
    char text[4096];
    const bool has_body = strcmp(method, "GET") != 0;
    int len = snprintf(text, sizeof text,
                       "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: %s\r\n"
                       "Sec-Fetch-Site: same-origin\r\n",
                       method, path, f->port, cookie);
    if (has_body) {
        len += snprintf(text + len, sizeof text - (size_t)len,
                        "Content-Type: application/json\r\nContent-Length: %zu\r\n", strlen(body));
    }
    len += snprintf(text + len, sizeof text - (size_t)len, "\r\n%s", has_body ? body : "");
    return fl_http_ask("127.0.0.1", f->port, text, (size_t)len);
}

static int status_of(const fixture *f, const char *cookie, const char *method, const char *path)
{
    fl_answer answer = ask(f, cookie, method, path, "{}");
    const int status = answer.status;
    fl_answer_done(&answer);
    return status;
}

/* "/api/v1/lots/{id}" with something in the place of the parameter. */
static void fill(const char *pattern, char *path, size_t max)
{
    size_t len = 0;
    bool is_inside = false;
    for (const char *at = pattern; *at != '\0' && len + 2 < max; at++) {
        if (*at == '{') {
            path[len++] = 'x';
        }
        is_inside = *at == '{' || (is_inside && *at != '}');
        if (!is_inside && *at != '}') {
            path[len++] = *at;
        }
    }
    path[len] = '\0';
}

/* -1: the route is not in the table. */
static int is_keepers(const fl_route *route)
{
    if (strcmp(route->method, "GET") == 0) {
        for (size_t i = 0; i < sizeof keepers_reads / sizeof keepers_reads[0]; i++) {
            if (strcmp(route->pattern, keepers_reads[i]) == 0) {
                return 1;
            }
        }
        return 0;
    }
    for (size_t i = 0; i < sizeof writes / sizeof writes[0]; i++) {
        if (strcmp(route->pattern, writes[i].pattern) == 0 &&
            strcmp(route->method, writes[i].method) == 0) {
            return writes[i].is_keepers ? 1 : 0;
        }
    }
    return -1;
}

static void test_every_route(void **state)
{
    fixture *f = *state;
    const fl_routes routes = fl_routes_of_api();
    int n_keepers = 0;
    for (size_t i = 0; i < routes.count; i++) {
        const fl_route *route = &routes.list[i];
        char path[256];
        const int keepers = is_keepers(route);
        fill(route->pattern, path, sizeof path);
        if (keepers < 0) {
            print_error("%s %s: say here what a phone may do\n", route->method, route->pattern);
            fail();
        }
        if (strcmp(route->method, "DELETE") == 0 && strcmp(path, "/api/v1/session") == 0) {
            continue; /* it would sign the asker out: test_sign_out */
        }
        const int phone = status_of(f, f->phone, route->method, path);
        if ((phone == 403) != (keepers == 1) || phone == 0 || phone >= 500) {
            print_error("%s %s: a phone gets %d\n", route->method, path, phone);
            fail();
        }
        if (keepers == 1) {
            n_keepers++;
            const int keeper = status_of(f, f->keeper, route->method, path);
            if (keeper == 403 || keeper == 0 || keeper >= 500) {
                print_error("%s %s: the keeper gets %d\n", route->method, path, keeper);
                fail();
            }
        }
    }
    check_int(n_keepers, (int)(sizeof keepers_reads / sizeof keepers_reads[0]) + 19);
}

/* ---- events ---- */

static fl_answer tell(const fixture *f, const char *cookie, const char *id, const char *kind,
                      const char *device, const char *body)
{
    char text[1024];
    (void)snprintf(text, sizeof text,
                   "{\"id\":\"%s\",\"kind\":\"%s\",\"occurred_at\":\"" NOW
                   "\",\"device\":\"%s\",\"body\":%s}",
                   id, kind, device, body);
    return ask(f, cookie, "POST", "/api/v1/events", text);
}

static void check_told(fl_answer answer, int status, const char *has)
{
    if (answer.status != status || strstr(answer.body, has) == NULL) {
        print_error("wanted %d with %s, got %s\n", status, has, answer.text);
        fail();
    }
    fl_answer_done(&answer);
}

#define ID(n) "00000000-0000-4000-8000-00000000000" #n
#define SOURCE(n)                                                                                  \
    "{\"source\":\"" ID(n) "\",\"name\":\"S" #n                                                    \
                           "\",\"kind\":\"nursery\",\"has_animals_with_plants\":false}"

static void test_kinds(void **state)
{
    fixture *f = *state;
    static const char *const keepers[] = {"room_set", "knowledge_set", "readings_imported",
                                          "history_told"};
    for (size_t i = 0; i < sizeof keepers / sizeof keepers[0]; i++) {
        check_told(tell(f, f->phone, ID(1), keepers[i], f->label, "{}"), 403, "at the computer");
        fl_answer answer = tell(f, f->keeper, ID(1), keepers[i], "laptop", "{\"x\":1}");
        check_int(answer.status, 400); /* let in: the schema refuses it */
        fl_answer_done(&answer);
    }
    int n = 0;
    for (int kind = 0; kind < FL_KIND_COUNT; kind++) {
        n += fl_rights_of_kind((fl_kind)kind) == FL_TIER_OWNER ? 1 : 0;
    }
    check_int(n, (int)(sizeof keepers / sizeof keepers[0]));
    check_told(tell(f, f->phone, ID(1), "source_set", f->label, SOURCE(2)), 201, "recorded");
    check_told(tell(f, f->phone, ID(1), "source_set", f->label, SOURCE(2)), 200, "already");
    check_told(tell(f, f->phone, ID(1), "no_such", f->label, "{}"), 400, "no_such");
}

/* A phone takes back what it told, and may do so again and again; not what others told. */
static void test_undo(void **state)
{
    fixture *f = *state;
    check_told(tell(f, f->phone, ID(1), "source_set", f->label, SOURCE(2)), 201, "recorded");
    check_told(tell(f, f->keeper, ID(3), "source_set", "laptop", SOURCE(4)), 201, "recorded");
    check_told(tell(f, f->phone, ID(5), "event_voided", f->label, "{\"event\":\"" ID(1) "\"}"), 201,
               "recorded");
    check_told(tell(f, f->phone, ID(6), "event_voided", f->label, "{\"event\":\"" ID(5) "\"}"), 201,
               "recorded"); /* it counts again */
    check_told(tell(f, f->phone, ID(7), "event_voided", f->label, "{\"event\":\"" ID(3) "\"}"), 403,
               "recorded by laptop");
    check_told(tell(f, f->phone, ID(7), "event_voided", "laptop", "{\"event\":\"" ID(3) "\"}"), 403,
               "recorded by laptop"); /* what it says of itself does not count */
    check_told(tell(f, f->phone, ID(7), "event_voided", f->label, "{\"event\":\"" ID(9) "\"}"), 404,
               "there is no");
    check_told(tell(f, f->keeper, ID(7), "event_voided", "laptop", "{\"event\":\"" ID(1) "\"}"),
               201, "recorded"); /* the keeper may take back anything */
}

/* A batch is no way round: each of its events is judged as if it came alone, and none is kept. */
static void test_batch(void **state)
{
    fixture *f = *state;
    char body[2048];
    static const char batch[] = "{\"events\":[{\"id\":\"" ID(
        1) "\",\"kind\":\"source_set\",\"occurred_at\":\"" NOW "\","
           "\"body\":" SOURCE(2) "},{\"id\":\"" ID(3) "\",\"kind\":\"%s\",\"occurred_at\":\"" NOW
                                                      "\",\"body\":%s}]}";
    check_told(tell(f, f->keeper, ID(5), "source_set", "laptop", SOURCE(6)), 201, "recorded");
    (void)snprintf(body, sizeof body, batch, "event_voided", "{\"event\":\"" ID(5) "\"}");
    check_told(ask(f, f->phone, "POST", "/api/v1/events/batch", body), 403, "recorded by laptop");
    (void)snprintf(body, sizeof body, batch, "room_set", "{\"name\":\"mine\"}");
    check_told(ask(f, f->phone, "POST", "/api/v1/events/batch", body), 403, "at the computer");
    (void)snprintf(body, sizeof body, batch, "source_set", SOURCE(4));
    check_told(ask(f, f->phone, "POST", "/api/v1/events/batch", body), 201, "recorded");
}

static void test_sign_out(void **state)
{
    fixture *f = *state;
    check_int(status_of(f, f->phone, "GET", "/api/v1/session"), 200);
    check_int(status_of(f, f->phone, "DELETE", "/api/v1/session"), 204);
    check_int(status_of(f, f->phone, "GET", "/api/v1/session"), 401);
}

/* ---- pairing by HTTP ---- */

/* The value of a text member, which is a word here. */
static void member(const fl_answer *answer, const char *key, char *out, size_t max)
{
    char what[32];
    (void)snprintf(what, sizeof what, "\"%s\":\"", key);
    const char *at = strstr(answer->body, what);
    check_true(at != NULL);
    at += strlen(what);
    (void)snprintf(out, max, "%.*s", (int)strcspn(at, "\""), at);
}

static void test_pairing(void **state)
{
    fixture *f = *state;
    char url[128];
    char code[16];
    char body[256];
    char claim[80];
    char cookie[256];
    check_told(ask(f, f->keeper, "POST", "/api/v1/pairing", "{}"), 400, "network is closed");
    check_told(ask(f, f->keeper, "POST", "/api/v1/lan", "{\"address\":\"127.0.0.2\"}"), 200,
               "\"is_open\":true");
    fl_answer answer = ask(f, f->keeper, "POST", "/api/v1/pairing", "{}");
    check_int(answer.status, 201);
    member(&answer, "url", url, sizeof url);
    member(&answer, "code", code, sizeof code);
    fl_answer_done(&answer);
    (void)snprintf(body, sizeof body, "http://127.0.0.2:%u/p#", f->port);
    check_int(strncmp(url, body, strlen(body)), 0);
    (void)snprintf(body, sizeof body, "{\"key\":\"%s\",\"name\":\"Anna's\"}", strchr(url, '#') + 1);
    answer = ask(f, "", "POST", "/api/v1/session", body); /* the phone: no session yet */
    check_int(answer.status, 202);
    check_contains(answer.body, code);
    member(&answer, "claim", claim, sizeof claim);
    check_false(fl_answer_header(&answer, "Set-Cookie", cookie, sizeof cookie));
    fl_answer_done(&answer);
    check_told(ask(f, "", "POST", "/api/v1/session", body), 401, "pairing-over"); /* once */
    (void)snprintf(body, sizeof body, "{\"claim\":\"%s\"}", claim);
    check_told(ask(f, "", "POST", "/api/v1/session", body), 202, "asking");
    check_told(ask(f, f->keeper, "GET", "/api/v1/pairing", ""), 200, "Anna's");
    check_told(ask(f, f->keeper, "POST", "/api/v1/pairing/allow", "{}"), 200, "allowed");
    answer = ask(f, "", "POST", "/api/v1/session", body);
    check_int(answer.status, 201);
    check_contains(answer.body, "\"tier\":\"device\",\"device\":\"Anna's ");
    check_true(fl_answer_header(&answer, "Set-Cookie", cookie, sizeof cookie));
    fl_answer_done(&answer);
    check_told(ask(f, "", "POST", "/api/v1/session", body), 401, "pairing-over");
    check_told(ask(f, f->keeper, "GET", "/api/v1/pairing", ""), 200, "joined");
    check_told(ask(f, f->keeper, "GET", "/api/v1/devices", ""), 200, "Anna's");
    *strchr(cookie, ';') = '\0';
    check_int(status_of(f, cookie, "GET", "/api/v1/today"), 200);
    check_int(status_of(f, f->keeper, "DELETE", "/api/v1/lan"), 200);
    answer = ask(f, "", "POST", "/api/v1/session", "{\"code\":\"123456\"}");
    check_int(answer.status, 401);
    fl_answer_done(&answer);
}

/* Sent away by the keeper: the very next request is a stranger's. */
static void test_revoked_at_once(void **state)
{
    fixture *f = *state;
    static fl_paired_device all[FL_SESSIONS_MAX];
    char path[64];
    const size_t count = fl_devices_list(fl_server_sessions(f->server), all);
    check_int(status_of(f, f->phone, "GET", "/api/v1/today"), 200);
    for (size_t i = 0; i < count; i++) {
        if (all[i].tier == FL_TIER_DEVICE) {
            (void)snprintf(path, sizeof path, "/api/v1/devices/%s", all[i].id);
            check_int(status_of(f, f->keeper, "DELETE", path), 204);
            check_int(status_of(f, f->keeper, "DELETE", path), 404);
        }
    }
    check_int(status_of(f, f->phone, "GET", "/api/v1/today"), 401);
    check_told(tell(f, f->phone, ID(1), "source_set", f->label, SOURCE(2)), 401, "sign-in");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_every_route, setup, teardown),
    cmocka_unit_test_setup_teardown(test_kinds, setup, teardown),
    cmocka_unit_test_setup_teardown(test_undo, setup, teardown),
    cmocka_unit_test_setup_teardown(test_batch, setup, teardown),
    cmocka_unit_test_setup_teardown(test_sign_out, setup, teardown),
    cmocka_unit_test_setup_teardown(test_pairing, setup, teardown),
    cmocka_unit_test_setup_teardown(test_revoked_at_once, setup, teardown),
};
FL_TEST_MAIN(tests)
