/* cli/cmd_serve.c: the built program serves a room, says where, and ends when it is told to. */
#define _GNU_SOURCE
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "json/json.h"
#include "support/check.h"
#include "support/http.h"
#include "support/program.h"

#define WAIT_MS 30000
#define OUT_MAX 8192
#define WORDS_MAX 16

typedef struct served {
    char dir[FL_TEMP_PATH_MAX];
    char room[FL_TEMP_PATH_MAX + 8];
    pid_t child;
    int out; /* what it says */
    char said[OUT_MAX];
    char url[256];
    char key[128];
    uint16_t port;
} served;

static void make_room(served *s)
{
    fl_temp_folder(s->dir);
    (void)snprintf(s->room, sizeof s->room, "%s/room", s->dir);
    const char *const words[] = {"--room", s->room, "init", "--tz", "Z", NULL};
    fl_run done = fl_run_program(words, NULL);
    check_int(done.code, 0);
    fl_run_done(&done);
}

/* Starts `fernlock --room R serve --port 0 …` with its folder of programs first in PATH. */
static void start(served *s, const char *const *more)
{
    int ends[2];
    check_int(pipe(ends), 0);
    s->child = fork();
    check_true(s->child >= 0);
    if (s->child == 0) {
        char *argv[WORDS_MAX] = {strdup("fernlock"), strdup("--room"), s->room,
                                 strdup("serve"),    strdup("--port"), strdup("0")};
        for (size_t i = 0; more[i] != NULL && i + 7 < WORDS_MAX; i++) {
            argv[i + 6] = strdup(more[i]);
        }
        char path[4096];
        (void)snprintf(path, sizeof path, "%s:%s", s->dir, getenv("PATH"));
        (void)setenv("PATH", path, 1);
        (void)dup2(ends[1], STDOUT_FILENO);
        (void)close(ends[0]);
        (void)close(ends[1]);
        (void)alarm(60); /* it cannot outlive a broken test */
        (void)execv(FL_BINARY, argv);
        _exit(127);
    }
    (void)close(ends[1]);
    s->out = ends[0];
}

/* Reads until `text` was said. */
static void wait_for(served *s, const char *text)
{
    size_t len = strlen(s->said);
    while (strstr(s->said, text) == NULL) {
        struct pollfd ready = {.fd = s->out, .events = POLLIN};
        check_int(poll(&ready, 1, WAIT_MS), 1);
        ssize_t got = read(s->out, s->said + len, sizeof s->said - 1 - len);
        if (got <= 0) {
            print_error("it ended, having said: %s\n", s->said);
            fail();
        }
        len += (size_t)got;
        s->said[len] = '\0';
    }
}

static void copy_text(const fl_json_value *root, const char *name, char *out, size_t max)
{
    fl_sv text = fl_json_text(fl_json_get(root, name));
    check_true(text.len > 0 && text.len < max);
    memcpy(out, text.ptr, text.len);
    out[text.len] = '\0';
}

/* What it said with --json. */
static void read_said(served *s)
{
    fl_json_doc *doc = NULL;
    fl_err err = {0};
    int64_t port = 0;
    wait_for(s, "\n");
    check_ok(fl_json_parse(fl_sv_trim(fl_sv_from_cstr(s->said)), &doc, &err), &err);
    check_true(fl_json_int(fl_json_get(fl_json_root(doc), "port"), &port));
    s->port = (uint16_t)port;
    copy_text(fl_json_root(doc), "sign_in_url", s->url, sizeof s->url);
    (void)snprintf(s->key, sizeof s->key, "%s", strstr(s->url, "/#k=") + 4);
    fl_json_free(doc);
}

static void stop(served *s, int signal_number)
{
    int status = 0;
    int tries = 0;
    check_int(kill(s->child, signal_number), 0);
    while (waitpid(s->child, &status, WNOHANG) == 0) {
        check_true(tries++ < WAIT_MS / 10);
        (void)poll(NULL, 0, 10);
    }
    check_true(WIFEXITED(status));
    check_int(WEXITSTATUS(status), 0);
    (void)close(s->out);
    fl_remove_folder(s->dir);
}

static int sign_in(const served *s, const char *key)
{
    char text[1024];
    int len = snprintf(text, sizeof text,
                       "POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                       "Origin: http://127.0.0.1:%u\r\nContent-Type: application/json\r\n"
                       "Content-Length: %zu\r\n\r\n{\"key\":\"%s\"}",
                       s->port, s->port, strlen(key) + 10, key);
    fl_answer answer = fl_http_ask("127.0.0.1", s->port, text, (size_t)len);
    int status = answer.status;
    fl_answer_done(&answer);
    return status;
}

static void test_serves_and_ends(void **state)
{
    (void)state;
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < 3; i++) {
        served s = {.child = -1};
        char file[FL_TEMP_PATH_MAX + 32];
        char kept[128] = "";
        struct stat info;
        make_room(&s);
        (void)snprintf(file, sizeof file, "%s/key", s.dir);
        start(&s, (const char *const[]){"--json", "--once-key-file", file, NULL});
        read_said(&s);
        check_int(stat(file, &info), 0);
        check_int(info.st_mode & 0777, 0600);
        FILE *in = fopen(file, "rb");
        check_true(in != NULL && fgets(kept, sizeof kept, in) != NULL);
        (void)fclose(in);
        check_str(kept, s.key);
        check_int(sign_in(&s, s.key), 201);
        check_int(sign_in(&s, s.key), 401);
        stop(&s, signals[i]);
    }
}

static void test_says_what_is_open(void **state)
{
    (void)state;
    served s = {.child = -1};
    make_room(&s);
    start(&s, (const char *const[]){"--lan", "127.0.0.2", "--host-name", "bench.lan", NULL});
    wait_for(&s, "Ctrl-C ends it.\n");
    check_contains(s.said, "127.0.0.2, port ");
    check_contains(s.said, "without encryption");
    check_contains(s.said, "this computer  http://127.0.0.1:");
    check_contains(s.said, "a phone        http://127.0.0.2:");
    char *key = strstr(s.said, "a phone");
    s.port = (uint16_t)strtol(strstr(key, "127.0.0.2:") + 10, NULL, 10);
    key = strstr(key, "/#k=") + 4;
    key[64] = '\0';
    check_int(sign_in(&s, key), 201);
    stop(&s, SIGTERM);
}

/* An opener of ours notes its words. The key must not be among them: all users can read those. */
static void test_open(void **state)
{
    (void)state;
    served s = {.child = -1};
    char opener[FL_TEMP_PATH_MAX + 32];
    char page[FL_TEMP_PATH_MAX + 64];
    char text[4096] = "";
    struct stat info;
    make_room(&s);
    (void)snprintf(opener, sizeof opener, "%s/xdg-open", s.dir);
    FILE *out = fopen(opener, "wb");
    check_true(out != NULL);
    (void)fprintf(out, "#!/bin/sh\necho \"$# $1\" >%s/new && mv %s/new %s/words\n", s.dir, s.dir,
                  s.dir);
    (void)fclose(out);
    check_int(chmod(opener, 0700), 0);
    check_int(setenv("DISPLAY", ":0", 1), 0);
    start(&s, (const char *const[]){"--json", "--open", NULL});
    read_said(&s);
    (void)snprintf(text, sizeof text, "%s/words", s.dir);
    for (int i = 0; stat(text, &info) != 0; i++) {
        check_true(i < WAIT_MS / 10);
        (void)poll(NULL, 0, 10);
    }
    FILE *in = fopen(text, "rb");
    check_true(in != NULL && fgets(text, sizeof text, in) != NULL);
    (void)fclose(in);
    check_int(strncmp(text, "1 /", 3), 0);
    check_contains(text, "/open.html\n");
    check_true(strstr(text, s.key) == NULL);
    (void)snprintf(page, sizeof page, "%s/open.html", s.room);
    check_int(stat(page, &info), 0);
    check_int(info.st_mode & 0777, 0600);
    in = fopen(page, "rb");
    check_true(in != NULL);
    text[fread(text, 1, sizeof text - 1, in)] = '\0';
    (void)fclose(in);
    check_contains(text, s.url);
    check_int(kill(s.child, SIGTERM), 0);
    for (int i = 0; stat(page, &info) == 0; i++) { /* gone with the server */
        check_true(i < WAIT_MS / 10);
        (void)poll(NULL, 0, 10);
    }
    int status = 0;
    check_int(waitpid(s.child, &status, 0), s.child);
    check_int(status, 0);
    (void)close(s.out);
    fl_remove_folder(s.dir);
}

static void test_misuse(void **state)
{
    (void)state;
    static const struct {
        const char *words[6];
        const char *has;
    } cases[] = {
        {{"serve", "--lan", "0.0.0.0"}, "one numeric address"},
        {{"serve", "--lan", "wlan0"}, "one numeric address"},
        {{"serve", "--port", "70000"}, "65535"},
        {{"serve", "--port", "0", "--host-name", "a b"}, "host name"},
    };
    served s = {.child = -1};
    make_room(&s);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *words[10] = {"--room", s.room};
        for (size_t w = 0; w < 6; w++) {
            words[w + 2] = cases[i].words[w];
        }
        fl_run done = fl_run_program(words, NULL);
        check_int(done.code, 2);
        check_contains(done.err, cases[i].has);
        fl_run_done(&done);
    }
    const char *const nowhere[] = {"--room", s.dir, "serve", NULL};
    fl_run done = fl_run_program(nowhere, NULL);
    check_int(done.code, 2);
    check_contains(done.err, "no room");
    fl_run_done(&done);
    fl_remove_folder(s.dir);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_serves_and_ends),
    cmocka_unit_test(test_says_what_is_open),
    cmocka_unit_test(test_open),
    cmocka_unit_test(test_misuse),
};
FL_TEST_MAIN(tests)
