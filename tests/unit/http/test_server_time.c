/* The whole server over time, by raw sockets on loopback: slow clients, crowds, writes that take
 * long, stopping, what is logged, and which addresses it starts at. The figures are those of
 * docs/models/server.md, with shorter deadlines. */
#define _GNU_SOURCE
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "support/server.h"

/* ---- time ---- */

static int64_t now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* A client that sends a byte now and then is ended at the deadline, whatever it sends, and others
 * are served meanwhile. */
static void check_slow_head(const fl_test_server *f, const char *address)
{
    int fd = fl_http_connect(address, f->port);
    int silent = fl_http_connect(address, f->port);
    const int64_t start = now_ms();
    static const char head[] = "GET / HTTP/1.1\r\nHost: 127.0.0.1";
    for (size_t i = 0; i < 8; i++) {
        fl_http_send(fd, head + i, 1);
        fl_test_check_status(f, address, "GET / HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\n\r\n", 200);
        const struct timespec wait = {.tv_nsec = 50 * 1000000};
        (void)nanosleep(&wait, NULL);
    }
    fl_answer answer = fl_http_finish(fd);
    check_int(answer.status, 408);
    fl_test_check_headers(&answer, "408");
    check_true(now_ms() - start < 5000);
    fl_answer_done(&answer);
    answer = fl_http_finish(silent); /* who never said a word gets no word */
    check_int(answer.status, 0);
    check_int(answer.len, 0);
    fl_answer_done(&answer);
}

static void test_slow_head(void **state)
{
    (void)state;
    fl_door_limits limits = FL_DOOR_LIMITS_USUAL;
    limits.head_ms = 600;
    fl_test_server *f = fl_test_server_start(limits);
    for (int a = 0; fl_test_address(f, a) != NULL; a++) {
        check_slow_head(f, fl_test_address(f, a));
    }
    fl_test_server_stop(f);
}

static void test_slow_body(void **state)
{
    (void)state;
    fl_door_limits limits = FL_DOOR_LIMITS_USUAL;
    limits.request_ms = 600;
    fl_test_server *f = fl_test_server_start(limits);
    const int64_t start = now_ms();
    fl_answer answer = fl_test_post(f, 1000, 10); /* the rest never comes */
    check_int(answer.status, 0);
    check_true(now_ms() - start >= 500 && now_ms() - start < 5000);
    fl_answer_done(&answer);
    fl_test_check_status(f, "127.0.0.1", "GET / HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\n\r\n", 200);
    fl_test_server_stop(f);
}

/* A head that comes in pieces is one head. */
static void test_head_in_pieces(void **state)
{
    fl_test_server *f = *state;
    char head[256];
    int len = snprintf(head, sizeof head, "GET / HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", f->port);
    int fd = fl_http_connect("127.0.0.1", f->port);
    for (int i = 0; i < len; i++) {
        fl_http_send(fd, head + i, 1);
        const struct timespec wait = {.tv_nsec = 2 * 1000000};
        (void)nanosleep(&wait, NULL);
    }
    fl_answer answer = fl_http_finish(fd);
    check_int(answer.status, 200);
    check_str(answer.body, "hello, fern\n");
    fl_answer_done(&answer);
}

/* One address cannot take all places: another is served while it holds all that it may. */
static void test_connection_cap(void **state)
{
    (void)state;
    fl_door_limits limits = FL_DOOR_LIMITS_USUAL;
    limits.per_address = 5;
    fl_test_server *f = fl_test_server_start(limits);
    int held[5];
    static const char request[] = "GET / HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\n\r\n";
    for (int i = 0; i < 5; i++) {
        held[i] = fl_http_connect("127.0.0.1", f->port);
    }
    check_int(fl_test_status_of(f, "127.0.0.1", request), 0); /* closed at once */
    if (f->has_ipv6) {
        fl_test_check_status(f, "::1", request, 200);
    }
    for (int i = 0; i < 5; i++) {
        (void)close(held[i]);
    }
    int status = 0;
    for (int tries = 0; tries < 200 && status != 200; tries++) {
        status = fl_test_status_of(f, "127.0.0.1", request);
    }
    check_int(status, 200);
    fl_test_server_stop(f);
}

/* More clients than places: they wait in the kernel's queue and are all served. */
static void test_full_house(void **state)
{
    (void)state;
    fl_door_limits limits = FL_DOOR_LIMITS_USUAL;
    limits.connections = 2;
    limits.per_address = 2;
    limits.head_ms = 300;
    fl_test_server *f = fl_test_server_start(limits);
    int held[2] = {fl_http_connect("127.0.0.1", f->port), fl_http_connect("127.0.0.1", f->port)};
    fl_test_check_status(f, "127.0.0.1", "GET / HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\n\r\n", 200);
    (void)close(held[0]);
    (void)close(held[1]);
    fl_test_server_stop(f);
}

/* ---- the writer ---- */

typedef struct asker {
    const fl_test_server *f;
    int status;
} asker;

static void *ask_slow(void *context)
{
    asker *one = context;
    char text[1024];
    (void)snprintf(text, sizeof text,
                   "POST /api/v1/slow HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                   "Authorization: Bearer %s\r\nContent-Type: application/json\r\n"
                   "Content-Length: 0\r\n\r\n",
                   one->f->port, one->f->token);
    fl_answer answer = fl_http_ask("127.0.0.1", one->f->port, text, strlen(text));
    one->status = answer.status;
    fl_answer_done(&answer);
    return NULL;
}

/* While a write takes its time, reads go on. */
static void test_reads_beside_writes(void **state)
{
    fl_test_server *f = *state;
    enum { N = 3 };
    pthread_t threads[N];
    asker askers[N];
    const int64_t start = now_ms();
    for (int i = 0; i < N; i++) {
        askers[i] = (asker){.f = f};
        check_int(pthread_create(&threads[i], NULL, ask_slow, &askers[i]), 0);
    }
    int n_reads = 0;
    while (now_ms() - start < 600) {
        fl_test_check_status(f, "127.0.0.1", "GET / HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\n\r\n", 200);
        n_reads++;
    }
    check_true(n_reads >= 10);
    for (int i = 0; i < N; i++) {
        check_int(pthread_join(threads[i], NULL), 0);
        check_int(askers[i].status, 200);
    }
    check_true(now_ms() - start >= 850); /* three of 300 ms, one after the other */
}

/* Stopping waits for the writes that were taken, and their answers still go out. */
static void test_stop_during_write(void **state)
{
    (void)state;
    fl_test_server *f = fl_test_server_start(FL_DOOR_LIMITS_USUAL);
    pthread_t thread;
    asker one = {.f = f};
    check_int(pthread_create(&thread, NULL, ask_slow, &one), 0);
    const struct timespec wait = {.tv_nsec = 100 * 1000000};
    (void)nanosleep(&wait, NULL);
    fl_server_stop(f->server);
    check_int(pthread_join(thread, NULL), 0);
    check_int(one.status, 200);
    fl_remove_folder(f->dir);
    free(f->log);
    free(f);
}

/* A client that leaves while its write is under way harms nobody. */
static void test_client_leaves(void **state)
{
    fl_test_server *f = *state;
    char text[1024];
    (void)snprintf(text, sizeof text,
                   "POST /api/v1/slow HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                   "Authorization: Bearer %s\r\nContent-Type: application/json\r\n"
                   "Content-Length: 0\r\n\r\n",
                   f->port, f->token);
    int fd = fl_http_connect("127.0.0.1", f->port);
    fl_http_send(fd, text, strlen(text));
    const struct timespec wait = {.tv_nsec = 50 * 1000000};
    (void)nanosleep(&wait, NULL);
    (void)close(fd);
    asker one = {.f = f};
    (void)ask_slow(&one);
    check_int(one.status, 200);
}

/* ---- what is said ---- */

static void test_log_holds_no_secret(void **state)
{
    (void)state;
    fl_test_server *f = fl_test_server_start(FL_DOOR_LIMITS_USUAL);
    char text[2048];
    (void)snprintf(text, sizeof text,
                   "POST /api/v1/thing?key=querysecret HTTP/1.1\r\nHost: evil.example\r\n"
                   "Authorization: Bearer %s\r\nCookie: %s\r\n\r\n",
                   f->token, f->cookie);
    fl_test_check_status(f, "127.0.0.1", text, 421);
    (void)snprintf(text, sizeof text,
                   "GET /calendar/0123456789012345678901234567890123456789feedsecret.ics HTTP/1.1"
                   "\r\nHost: evil.example\r\n\r\n");
    fl_test_check_status(f, "127.0.0.1", text, 421);
    (void)snprintf(text, sizeof text,
                   "GET /api/v1/broken HTTP/1.1\r\nHost: 127.0.0.1:{P}\r\nCookie: %s\r\n\r\n",
                   f->cookie);
    fl_test_check_status(f, "127.0.0.1", text, 500);
    fl_server_stop(f->server);
    check_contains(f->log, "421 POST /api/v1/thing from 127.0.0.1\n");
    check_contains(f->log, "500");
    check_true(strstr(f->log, f->token) == NULL);
    check_true(strstr(f->log, strchr(f->cookie, '=') + 1) == NULL);
    check_true(strstr(f->log, "querysecret") == NULL);
    check_true(strstr(f->log, "feedsecret") == NULL);
    check_true(strstr(f->log, "evil") == NULL);
    fl_remove_folder(f->dir);
    free(f->log);
    free(f);
}

/* ---- starting ---- */

static void test_addresses(void **state)
{
    (void)state;
    fl_test_server *f = fl_test_server_start(FL_DOOR_LIMITS_USUAL);
    static const char *const bad[] = {"0.0.0.0",   "::",      "localhost",    "bench.lan",
                                      "224.0.0.1", "ff02::1", "fe80::1",      "127.1",
                                      "",          "*",       "192.0.2.1/24", "256.1.1.1"};
    fl_server_options options = {.room_dir = f->dir,
                                 .clock = fl_clock_system(),
                                 .assets = fl_assets_embedded(),
                                 .routes = fl_routes_of_api(),
                                 .limits = FL_DOOR_LIMITS_USUAL};
    fl_server *other = NULL;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        options.lan = bad[i];
        check_int(fl_server_start(&options, &other, &f->err), FL_EINVAL);
        check_status(&f->err, FL_EINVAL);
    }
    options.lan = "203.0.113.77"; /* RFC 5737: nobody's */
    check_int(fl_server_start(&options, &other, &f->err), FL_EINVAL);
    check_contains(f->err.message, "not an address of this machine");
    options.lan = NULL;
    options.port = f->port;
    check_int(fl_server_start(&options, &other, &f->err), FL_EBUSY);
    check_contains(f->err.message, "in use");
    options.port = 0;
    options.host_names = FL_SV("good.lan,bad name");
    check_int(fl_server_start(&options, &other, &f->err), FL_EINVAL);
    check_true(other == NULL);
    fl_test_server_stop(f);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_slow_head),
    cmocka_unit_test(test_slow_body),
    cmocka_unit_test_setup_teardown(test_head_in_pieces, fl_test_server_setup,
                                    fl_test_server_teardown),
    cmocka_unit_test(test_connection_cap),
    cmocka_unit_test(test_full_house),
    cmocka_unit_test_setup_teardown(test_reads_beside_writes, fl_test_server_setup,
                                    fl_test_server_teardown),
    cmocka_unit_test(test_stop_during_write),
    cmocka_unit_test_setup_teardown(test_client_leaves, fl_test_server_setup,
                                    fl_test_server_teardown),
    cmocka_unit_test(test_log_holds_no_secret),
    cmocka_unit_test(test_addresses),
};
FL_TEST_MAIN(tests)
