/* The whole program under load, killed at random moments: `serve` while one client records and
 * another asks for the day's list all the time, and `record` of a file. After each kill the room is
 * opened as the next start would: what was answered with "recorded" is there, byte for byte and in
 * its place; of the request that was under way all or nothing; `verify` finds nothing.
 *
 * FL_FAULT_ROUNDS sets the number of kills (9), FL_FAULT_SEED the diaries and the moments. A
 * failure prints the seed; the scheduler has its say as well, so that seed need not fail again. */
#define _GNU_SOURCE
#include <arpa/inet.h>
#include <errno.h>
#include <math.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "app/app.h"
#include "base/num.h"
#include "base/rng.h"
#include "support/check.h"
#include "support/diary.h"

#define EVENTS 600 /* of a room; then a new one */
#define BATCH 5
#define DELAY_MIN_MS 2.0
#define DELAY_MAX_MS 1200.0
#define NOW "2026-06-01T00:00:00Z" /* FL_DIARY_END_S */
#define WAIT_S 60
#define MANY 100

typedef enum way { WAY_SERVE = 0, WAY_SERVE_BATCH, WAY_RECORD, WAY_COUNT } way;

typedef struct room {
    fl_arena arena;
    fl_err err;
    char dir[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16]; /* all lines as a file */
    char token[128];
    uint16_t port;
    const fl_sv *lines;
    size_t present; /* lines that are in the room, from the first */
    size_t acked;   /* lines that were answered for */
    int64_t now_s;
    int64_t seed;
} room;

static int64_t setting(const char *name, int64_t otherwise)
{
    int64_t value = otherwise;
    const char *text = getenv(name);
    if (text != NULL) {
        fl_err err;
        check_ok(fl_num_parse_int(fl_sv_from_cstr(text), name, 1, INT64_MAX, &value, &err), &err);
    }
    return value;
}

static void sleep_ms(double ms)
{
    struct timespec left = {.tv_sec = (time_t)(ms / 1000.0),
                            .tv_nsec = (long)(fmod(ms, 1000.0) * 1e6)};
    while (nanosleep(&left, &left) != 0 && errno == EINTR) {
    }
}

/* ---- a room and what is in it ---- */

static void make_room(room *r, int64_t seed)
{
    fl_app app;
    (void)fl_temp_folder(r->dir);
    r->now_s = FL_DIARY_END_S;
    r->present = 0;
    r->seed = seed;
    r->lines = fl_diary((uint64_t)seed, EVENTS, &r->arena);
    check_ok(fl_app_open(r->dir, true, 60, fl_clock_fixed(&r->now_s), &app, &r->err), &r->err);
    fl_app_close(&app);
    (void)snprintf(r->path, sizeof r->path, "%s/diary.jsonl", r->dir);
    FILE *file = fopen(r->path, "wb");
    check_true(file != NULL);
    for (size_t i = 0; i < EVENTS; i++) {
        (void)fprintf(file, "%.*s\n", FL_SV_ARG(r->lines[i]));
    }
    check_int(fclose(file), 0);
}

static void complain(const room *r, const char *what)
{
    print_error("FL_FAULT_SEED=%lld: %zu lines acknowledged: %s\n", (long long)r->seed, r->acked,
                what);
    fail();
}

/* How many lines there are: what was acknowledged, or all of one request more. */
static void check_room(room *r, size_t request)
{
    fl_app app;
    fl_arena arena;
    fl_verified verified;
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_arena_init(&arena);
    fl_status status = fl_app_open(r->dir, false, 0, fl_clock_fixed(&r->now_s), &app, &r->err);
    if (status == FL_OK) {
        status = fl_store_journal_read(app.store, 0, SIZE_MAX, &arena, &rows, &count, &r->err);
        status = status == FL_OK ? fl_app_verify(&app, &verified, &r->err) : status;
        fl_app_close(&app);
    }
    if (status != FL_OK) {
        complain(r, r->err.message);
    }
    if (count != r->acked && count != r->acked + request) {
        print_error("%zu rows\n", count);
        complain(r, "another number of events is in the journal");
    }
    for (size_t i = 0; i < count; i++) {
        if (!fl_sv_eq(rows[i].bytes, r->lines[i])) {
            complain(r, "an event differs from its line");
        }
    }
    r->present = count;
    fl_arena_done(&arena);
}

/* ---- the program ---- */

static pid_t start(const room *r, way how, int out)
{
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        char *serve[] = {strdup("fernlock"), strdup("--room"), strdup(r->dir),
                         strdup("--now"),    strdup(NOW),      strdup("serve"),
                         strdup("--port"),   strdup("0"),      NULL};
        char *record[] = {strdup("fernlock"), strdup("--room"), strdup(r->dir),  strdup("--now"),
                          strdup(NOW),        strdup("record"), strdup(r->path), NULL};
        (void)dup2(out, STDOUT_FILENO);
        (void)execv(FL_BINARY, how == WAY_RECORD ? record : serve);
        _exit(127);
    }
    return child;
}

/* Reads what the server says until it names its port. */
static uint16_t port_of(FILE *said)
{
    static const char mark[] = "http://127.0.0.1:";
    char line[600];
    while (fgets(line, sizeof line, said) != NULL) {
        const char *at = strstr(line, mark);
        if (at != NULL) {
            return (uint16_t)strtoul(at + sizeof mark - 1, NULL, 10);
        }
    }
    return 0;
}

/* The token, which the server writes before it listens. */
static void read_token(room *r)
{
    char path[FL_TEMP_PATH_MAX + 16];
    (void)snprintf(path, sizeof path, "%s/server-token", r->dir);
    FILE *file = fopen(path, "rb");
    check_true(file != NULL && fgets(r->token, sizeof r->token, file) != NULL);
    r->token[strcspn(r->token, "\r\n")] = '\0';
    check_int(fclose(file), 0);
}

/* One request on a connection of its own; the answer's status, 0 when there was none. */
static int ask(const room *r, const char *method, const char *path, fl_sv body)
{
    char head[600];
    char answer[64] = "";
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons(r->port)};
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int len = snprintf(head, sizeof head,
                       "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nAuthorization: Bearer %s\r\n"
                       "Connection: close\r\nContent-Type: application/json\r\n"
                       "Content-Length: %zu\r\n\r\n",
                       method, path, r->port, r->token, body.len);
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    check_true(fd >= 0 && len < (int)sizeof head);
    bool is_sent =
        connect(fd, (struct sockaddr *)&to, sizeof to) == 0 &&
        send(fd, head, (size_t)len, MSG_NOSIGNAL) == len &&
        (body.len == 0 || send(fd, body.ptr, body.len, MSG_NOSIGNAL) == (ssize_t)body.len);
    size_t got = 0;
    ssize_t n = is_sent ? 1 : 0;
    while (n > 0) { /* to the end, though only the beginning counts */
        char block[4096];
        n = recv(fd, block, sizeof block, 0);
        for (ssize_t i = 0; i < n && got < sizeof answer - 1; i++) {
            answer[got++] = block[i];
        }
    }
    (void)close(fd);
    return got < 12 ? 0 : (int)strtol(answer + 9, NULL, 10);
}

/* A client that asks all the time, until nobody answers. */
static pid_t start_asking(const room *r)
{
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        (void)alarm(WAIT_S);
        while (ask(r, "GET", "/api/v1/today", (fl_sv){0}) != 0) {
        }
        _exit(0);
    }
    return child;
}

static pid_t start_killer(pid_t victim, double delay_ms)
{
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        sleep_ms(delay_ms);
        (void)kill(victim, SIGKILL);
        _exit(0);
    }
    return child;
}

static fl_sv batch_of(room *r, size_t from, size_t n)
{
    fl_sv text = fl_arena_printf(&r->arena, "{\"events\":[");
    for (size_t i = 0; i < n; i++) {
        text = fl_arena_printf(&r->arena, "%.*s%s%.*s", FL_SV_ARG(text), i == 0 ? "" : ",",
                               FL_SV_ARG(r->lines[from + i]));
    }
    return fl_arena_printf(&r->arena, "%.*s]}", FL_SV_ARG(text));
}

/* Records on from what is there, until nobody answers. */
static void record_by_server(room *r, size_t request)
{
    r->acked = r->present;
    while (r->acked + request <= EVENTS) {
        fl_sv body = request == 1 ? r->lines[r->acked] : batch_of(r, r->acked, request);
        int status = ask(r, "POST", request == 1 ? "/api/v1/events" : "/api/v1/events/batch", body);
        if (status != 201) {
            check_int(status, 0); /* nothing but the kill stops it */
            return;
        }
        r->acked += request;
    }
}

static void await(pid_t child)
{
    int status = 0;
    check_int(waitpid(child, &status, 0), child);
}

/* Acknowledged lines of `record`'s output. */
static void count_acks(room *r, FILE *said)
{
    char line[400];
    unsigned long number = 0;
    r->acked = 0;
    while (fgets(line, sizeof line, said) != NULL && strchr(line, '\n') != NULL &&
           sscanf(line, "line %lu:", &number) == 1) {
        check_int(number, r->acked + 1);
        r->acked = number;
    }
    r->acked = r->acked < r->present ? r->present : r->acked;
}

/* One round; how many lines were acknowledged. */
static size_t run_and_kill(room *r, way how, double delay_ms)
{
    int out[2];
    size_t before = r->present;
    size_t request = how == WAY_SERVE_BATCH ? BATCH : 1;
    check_int(pipe(out), 0);
    pid_t program = start(r, how, out[1]);
    (void)close(out[1]);
    FILE *said = fdopen(out[0], "rb");
    check_true(said != NULL);
    if (how == WAY_RECORD) {
        pid_t killer = start_killer(program, delay_ms);
        count_acks(r, said);
        await(killer);
    } else {
        r->port = port_of(said);
        check_true(r->port != 0);
        read_token(r);
        pid_t asking = start_asking(r);
        pid_t killer = start_killer(program, delay_ms);
        record_by_server(r, request);
        await(killer);
        await(asking);
    }
    (void)fclose(said);
    await(program);
    check_room(r, request);
    return r->acked - before;
}

static void test_killed_under_load(void **state)
{
    (void)state;
    int64_t rounds = setting("FL_FAULT_ROUNDS", 9);
    int64_t seed = setting("FL_FAULT_SEED", (int64_t)time(NULL));
    fl_rng rng = {(uint64_t)seed};
    size_t all = 0;
    size_t ways[WAY_COUNT] = {0};
    room r = {.present = EVENTS};
    bool is_made = false;
    fl_arena_init(&r.arena);
    for (int64_t i = 0; i < rounds; i++) {
        if (r.present + BATCH > EVENTS) {
            if (is_made) {
                fl_remove_folder(r.dir);
            }
            fl_arena_done(&r.arena);
            make_room(&r, seed + i);
            is_made = true;
        }
        way how = (way)(i % WAY_COUNT);
        /* equally often in each order of magnitude, from the first request to well into the work */
        double delay_ms = DELAY_MIN_MS * pow(DELAY_MAX_MS / DELAY_MIN_MS, fl_rng_uniform(&rng));
        size_t acked = run_and_kill(&r, how, delay_ms);
        ways[how] += acked;
        all += acked;
    }
    fl_remove_folder(r.dir);
    fl_arena_done(&r.arena);
    print_message(
        "%lld kills, %zu events acknowledged (one by one %zu, in batches %zu, from a file "
        "%zu), seed %lld\n",
        (long long)rounds, all, ways[WAY_SERVE], ways[WAY_SERVE_BATCH], ways[WAY_RECORD],
        (long long)seed);
    if (rounds >= MANY) { /* few may by chance all come too early */
        check_true(ways[WAY_SERVE] > 0 && ways[WAY_SERVE_BATCH] > 0 && ways[WAY_RECORD] > 0);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_killed_under_load),
};
FL_TEST_MAIN(tests)
