/* A running server for tests, at a free port of 127.0.0.1, [::1] where there is one, and 127.0.0.2
 * as its --lan address, with a few routes of its own below /api/v1/:
 *     GET thing            "read"
 *     POST, DELETE thing   the body, by the writer       PUT thing   the body, by the loop
 *     POST slow            "written", after 300 ms, by the writer
 *     POST owner           the body, for the owner only
 *     GET broken           500                           GET big     4 MiB
 * and the files /index.html and /main.js, both "hello, fern\n". */
#ifndef FL_TESTS_SUPPORT_SERVER_H
#define FL_TESTS_SUPPORT_SERVER_H

#include "http/server.h"
#include "support/check.h"
#include "support/http.h"

#define FL_TEST_COOKIE_MAX 128
#define FL_TEST_NAME "bench.lan" /* of --host-name; "other.lan" is another */

typedef struct fl_test_server {
    char dir[FL_TEMP_PATH_MAX];
    fl_server *server;
    uint16_t port;
    bool has_ipv6;
    char token[FL_SECRET_TEXT_MAX];
    char cookie[FL_TEST_COOKIE_MAX]; /* "name=value" of the keeper's session */
    char phone[FL_TEST_COOKIE_MAX];
    char *log; /* everything the server said */
    size_t log_len;
    fl_err err;
} fl_test_server;

fl_test_server *fl_test_server_start(fl_door_limits limits);
void fl_test_server_stop(fl_test_server *f);
/* For cmocka: *state is a server with the usual limits. */
int fl_test_server_setup(void **state);
int fl_test_server_teardown(void **state);

/* A new session of that tier and name: its cookie, "name=value", into out[FL_TEST_COOKIE_MAX]. */
void fl_test_cookie(fl_server *server, fl_tier tier, const char *name, char *out);

/* The addresses to ask at, by number; NULL after the last. */
const char *fl_test_address(const fl_test_server *f, int i);

/* Asks with a text; {P} in it stands for the port. The second asks at 127.0.0.1. */
fl_answer fl_test_ask_at(const fl_test_server *f, const char *address, const char *text);
fl_answer fl_test_ask(const fl_test_server *f, const char *text);
int fl_test_status_of(const fl_test_server *f, const char *address, const char *text);
void fl_test_check_status(const fl_test_server *f, const char *address, const char *text, int want);
/* POST /api/v1/thing with the token: a Content-Length of `said`, and `sent` bytes. */
fl_answer fl_test_post(const fl_test_server *f, size_t said, size_t sent);

/* The headers that every answer has, and that an answer has them and none of CORS. */
#define FL_TEST_FIXED_HEADERS 7
extern const char *const fl_test_fixed_headers[FL_TEST_FIXED_HEADERS][2];
void fl_test_check_headers(const fl_answer *answer, const char *what);

#endif
