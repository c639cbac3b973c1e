/* http/jobs.h, asked of the whole server: work that a request asked for and does not wait for
 * ("Prefer: respond-async", RFC 7240 section 4.1: 202, Location, Preference-Applied). The clocks of
 * the apps stop where a test wants them to, so that a job is under way for as long as it takes. */
#define _GNU_SOURCE
#include <dirent.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/app.h"
#include "http/jobs.h"
#include "http/server.h"
#include "support/check.h"
#include "support/http.h"
#include "support/program.h"
#include "support/server.h"

#define NOW "2026-03-07T18:00:00Z"

/* A clock that whoever reads it may have to wait for. */
typedef struct gate {
    pthread_mutex_t lock;
    pthread_cond_t moved;
    bool is_shut;
    bool is_reached; /* somebody waits */
    int64_t now_s;
} gate;

static int64_t gate_now_s(void *context)
{
    gate *g = context;
    (void)pthread_mutex_lock(&g->lock);
    while (g->is_shut) {
        g->is_reached = true;
        (void)pthread_cond_broadcast(&g->moved);
        (void)pthread_cond_wait(&g->moved, &g->lock);
    }
    const int64_t now_s = g->now_s;
    (void)pthread_mutex_unlock(&g->lock);
    return now_s;
}

static void shut(gate *g)
{
    (void)pthread_mutex_lock(&g->lock);
    g->is_shut = true;
    g->is_reached = false;
    (void)pthread_mutex_unlock(&g->lock);
}

static void open_up(gate *g)
{
    (void)pthread_mutex_lock(&g->lock);
    g->is_shut = false;
    (void)pthread_cond_broadcast(&g->moved);
    (void)pthread_mutex_unlock(&g->lock);
}

static void wait_until_reached(gate *g)
{
    (void)pthread_mutex_lock(&g->lock);
    while (!g->is_reached) {
        (void)pthread_cond_wait(&g->moved, &g->lock);
    }
    (void)pthread_mutex_unlock(&g->lock);
}

static void gate_init(gate *g, int64_t now_s)
{
    *g = (gate){.now_s = now_s};
    (void)pthread_mutex_init(&g->lock, NULL);
    (void)pthread_cond_init(&g->moved, NULL);
}

static fl_clock clock_of(gate *g)
{
    return (fl_clock){.now_utc_s = gate_now_s, .context = g};
}

typedef struct fixture {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s; /* the server's: what is forgotten when */
    gate jobs;
    gate reading;
    fl_app writer;
    fl_app reader;
    fl_app jobber;
    fl_server *server;
    uint16_t port;
    char keeper[FL_TEST_COOKIE_MAX];
    char phone[FL_TEST_COOKIE_MAX];
    fl_err err;
} fixture;

static int setup(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    fl_precision precision;
    fl_temp_folder(f->dir);
    fl_run_in_room(f->dir, NOW, "init", "--tz", "Z");
    fl_run_in_room(f->dir, NOW, "record", FL_SOURCE_DIR "/tests/browser/room.jsonl", "--together");
    check_ok(fl_civil_parse(FL_SV(NOW), 0, &f->now_s, &precision, &f->err), &f->err);
    gate_init(&f->jobs, f->now_s);
    gate_init(&f->reading, f->now_s);
    const fl_clock clock = fl_clock_fixed(&f->now_s);
    check_ok(fl_app_open(f->dir, false, 0, clock, &f->writer, &f->err), &f->err);
    check_ok(fl_app_open_reader(f->dir, clock_of(&f->reading), &f->reader, &f->err), &f->err);
    check_ok(fl_app_open(f->dir, false, 0, clock_of(&f->jobs), &f->jobber, &f->err), &f->err);
    const fl_server_options options = {.room_dir = f->dir,
                                       .clock = clock,
                                       .assets = fl_assets_embedded(),
                                       .routes = fl_routes_of_api(),
                                       .reader = &f->reader,
                                       .writer = &f->writer,
                                       .jobber = &f->jobber,
                                       .limits = FL_DOOR_LIMITS_USUAL};
    check_ok(fl_server_start(&options, &f->server, &f->err), &f->err);
    f->port = fl_server_listeners(f->server)->port;
    fl_test_cookie(f->server, FL_TIER_OWNER, "Laptop", f->keeper);
    fl_test_cookie(f->server, FL_TIER_DEVICE, "Phone", f->phone);
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    fixture *f = *state;
    open_up(&f->jobs);
    open_up(&f->reading);
    fl_server_stop(f->server);
    fl_app_close(&f->reader);
    fl_app_close(&f->jobber);
    fl_app_close(&f->writer);
    fl_remove_folder(f->dir);
    free(f);
    return 0;
}

static fl_answer ask_as(const fixture *f, const char *cookie, const char *method, const char *path,
                        const char *prefer)
{
    char text[2048];
    const bool has_body = strcmp(method, "GET") != 0;
    const int len =
        snprintf(text, sizeof text,
                 "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: %s\r\n"
                 "Sec-Fetch-Site: same-origin\r\n%s%s%s%s\r\n%s",
                 method, path, f->port, cookie, prefer[0] != '\0' ? "Prefer: " : "", prefer,
                 prefer[0] != '\0' ? "\r\n" : "",
                 has_body ? "Content-Type: application/json\r\nContent-Length: 2\r\n" : "",
                 has_body ? "{}" : "");
    return fl_http_ask("127.0.0.1", f->port, text, (size_t)len);
}

static int status_of(const fixture *f, const char *cookie, const char *method, const char *path)
{
    fl_answer answer = ask_as(f, cookie, method, path, "");
    const int status = answer.status;
    fl_answer_done(&answer);
    return status;
}

/* Begins a job; its address into path[80]. */
static void begin(const fixture *f, const char *method, const char *what, char *path)
{
    fl_answer answer = ask_as(f, f->keeper, method, what, "respond-async, wait=1");
    check_int(answer.status, 202);
    check_contains(answer.text, "Preference-Applied: respond-async\r\n");
    const char *at = strstr(answer.text, "Location: /api/v1/jobs/");
    check_true(at != NULL);
    (void)snprintf(path, 80, "%.*s", (int)strcspn(at + 10, "\r"), at + 10);
    fl_answer_done(&answer);
}

static void check_has(const fixture *f, const char *cookie, const char *path, int status,
                      const char *has)
{
    fl_answer answer = ask_as(f, cookie, "GET", path, "");
    check_int(answer.status, status);
    check_contains(answer.text, has);
    fl_answer_done(&answer);
}

/* Asks until the job says so: each question is one round of the server's. */
static void wait_for_state(const fixture *f, const char *path, const char *state)
{
    char wanted[40];
    (void)snprintf(wanted, sizeof wanted, "\"state\":\"%s\"", state);
    for (int i = 0; i < 100000; i++) {
        fl_answer answer = ask_as(f, f->keeper, "GET", path, "");
        const bool is_so = answer.body != NULL && strstr(answer.body, wanted) != NULL;
        fl_answer_done(&answer);
        if (is_so) {
            return;
        }
    }
    fail_msg("%s never was %s", path, state);
}

static int count_backups(const fixture *f)
{
    char path[FL_TEMP_PATH_MAX + 16];
    int n = 0;
    (void)snprintf(path, sizeof path, "%s/backups", f->dir);
    DIR *folder = opendir(path);
    for (struct dirent *one = folder == NULL ? NULL : readdir(folder); one != NULL;
         one = readdir(folder)) {
        n += one->d_name[0] != '.' ? 1 : 0;
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    return n;
}

static void test_a_job_to_its_end(void **state)
{
    fixture *f = *state;
    char path[80];
    char result[100];
    begin(f, "POST", "/api/v1/backup", path);
    wait_for_state(f, path, "done");
    check_int(count_backups(f), 1);
    check_has(f, f->keeper, path, 200, "\"work\":\"compare\"");
    (void)snprintf(result, sizeof result, "%s/result", path);
    check_has(f, f->keeper, result, 201, "\"file\":\"room-2026-03-07.sqlite\"");
    begin(f, "GET", "/api/v1/export", path);
    wait_for_state(f, path, "done");
    (void)snprintf(result, sizeof result, "%s/result", path);
    check_has(f, f->keeper, result, 200, "Content-Disposition: attachment; filename=\"room.zip\"");
    /* without the preference, and where it means nothing, all is as ever */
    check_int(status_of(f, f->keeper, "POST", "/api/v1/verify"), 200);
    fl_answer answer = ask_as(f, f->keeper, "GET", "/api/v1/room", "respond-async");
    check_int(answer.status, 200);
    fl_answer_done(&answer);
}

/* While it runs everybody is answered; nobody but its keeper sees it; it stops when it is told. */
static void test_cancelled_while_it_runs(void **state)
{
    fixture *f = *state;
    char path[80];
    char result[100];
    shut(&f->jobs);
    begin(f, "POST", "/api/v1/backup", path);
    (void)snprintf(result, sizeof result, "%s/result", path);
    wait_until_reached(&f->jobs);
    check_has(f, f->keeper, path, 200, "\"state\":\"running\"");
    check_has(f, f->keeper, "/api/v1/jobs", 200, "\"what\":\"backup\"");
    check_int(status_of(f, f->keeper, "GET", "/api/v1/today"), 200);
    check_int(status_of(f, f->keeper, "POST", "/api/v1/verify"), 200); /* the writer is free, too */
    check_has(f, f->keeper, result, 409, "has not ended");
    check_has(f, f->phone, "/api/v1/jobs", 200, "\"jobs\":[]");
    check_int(status_of(f, f->phone, "GET", path), 404);
    check_int(status_of(f, f->phone, "GET", result), 404);
    check_int(status_of(f, f->phone, "DELETE", path), 404);
    check_int(status_of(f, "", "GET", path), 401);
    check_has(f, f->keeper, path, 200, "\"is_cancelling\":false");
    check_int(status_of(f, f->keeper, "DELETE", path), 204);
    check_has(f, f->keeper, path, 200, "\"is_cancelling\":true");
    open_up(&f->jobs);
    wait_for_state(f, path, "cancelled");
    check_int(count_backups(f), 0);
    check_has(f, f->keeper, result, 409, "nothing was changed");
    check_has(f, f->keeper, "/api/v1/backup", 200, "\"trouble_text\":null");
    check_int(status_of(f, f->keeper, "DELETE", path), 204); /* and is forgotten */
    check_int(status_of(f, f->keeper, "GET", path), 404);
}

static void test_many(void **state)
{
    fixture *f = *state;
    char path[FL_JOBS_MAX][80];
    shut(&f->jobs);
    for (int i = 0; i < FL_JOBS_MAX; i++) {
        begin(f, "POST", "/api/v1/backup", path[i]);
    }
    fl_answer answer = ask_as(f, f->keeper, "POST", "/api/v1/backup", "respond-async");
    check_int(answer.status, 503);
    check_contains(answer.body, "8 long jobs are under way");
    fl_answer_done(&answer);
    for (int i = 1; i < FL_JOBS_MAX; i++) { /* those wait: cancelled, they never begin */
        check_has(f, f->keeper, path[i], 200, "\"state\":\"waiting\"");
        check_int(status_of(f, f->keeper, "DELETE", path[i]), 204);
    }
    open_up(&f->jobs);
    wait_for_state(f, path[FL_JOBS_MAX - 1], "cancelled");
    wait_for_state(f, path[0], "done");
    check_int(count_backups(f), 1);
    begin(f, "POST", "/api/v1/verify", path[1]); /* what has ended makes way */
    wait_for_state(f, path[1], "done");
    f->now_s += FL_JOB_KEPT_S - 1;
    check_int(status_of(f, f->keeper, "GET", path[1]), 200);
    f->now_s += 1;
    check_int(status_of(f, f->keeper, "GET", path[1]), 404);
    check_has(f, f->keeper, "/api/v1/jobs", 200, "\"jobs\":[]");
}

/* ---- what a page waits for ---- */

static void *ask_today(void *context)
{
    const fixture *f = context;
    static fl_answer answer;
    answer = ask_as(f, f->phone, "GET", "/api/v1/today", "");
    return &answer;
}

static void test_the_reading(void **state)
{
    fixture *f = *state;
    pthread_t thread;
    void *got = NULL;
    check_has(f, f->keeper, "/api/v1/jobs", 200, "\"reading\":null");
    check_int(status_of(f, f->keeper, "DELETE", "/api/v1/jobs/reading"), 404);
    shut(&f->reading);
    check_int(pthread_create(&thread, NULL, ask_today, f), 0);
    wait_until_reached(&f->reading);
    check_has(f, f->keeper, "/api/v1/jobs", 200, "\"reading\":{\"");
    check_has(f, f->keeper, "/api/v1/jobs", 200, "\"is_own\":false");
    check_has(f, f->phone, "/api/v1/jobs", 200, "\"is_own\":true");
    check_int(status_of(f, f->phone, "DELETE", "/api/v1/jobs/reading"), 204);
    open_up(&f->reading);
    check_int(pthread_join(thread, &got), 0);
    fl_answer *answer = got;
    check_int(answer->status, 409);
    check_contains(answer->body, "/problems/cancelled");
    fl_answer_done(answer);
    check_int(status_of(f, f->phone, "GET", "/api/v1/today"), 200); /* the next is another */
}

/* The server ends while a job is under way: it does not wait for the job's end. */
static void test_stopping(void **state)
{
    fixture *f = *state;
    char path[80];
    shut(&f->jobs);
    begin(f, "POST", "/api/v1/backup", path);
    begin(f, "POST", "/api/v1/verify", path);
    wait_until_reached(&f->jobs);
    check_int(status_of(f, f->keeper, "DELETE", path), 204);
    open_up(&f->jobs);
    fl_server_stop(f->server);
    f->server = NULL;
    check_true(count_backups(f) <= 1); /* it may just have been done */
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_a_job_to_its_end, setup, teardown),
    cmocka_unit_test_setup_teardown(test_cancelled_while_it_runs, setup, teardown),
    cmocka_unit_test_setup_teardown(test_many, setup, teardown),
    cmocka_unit_test_setup_teardown(test_the_reading, setup, teardown),
    cmocka_unit_test_setup_teardown(test_stopping, setup, teardown),
};
FL_TEST_MAIN(tests)
