/* http/guard.h, without sockets. What is right comes from docs/models/server.md and the standards
 * named beside the checks; test_server.c asks the same of a running server. */
#include <stdio.h>
#include <string.h>

#include "http/guard.h"
#include "support/check.h"

#define PORT 8462
#define TEXT_MAX 2048

static const fl_who nobody = {.tier = FL_TIER_NONE, .session = -1};
static const fl_who keeper = {.tier = FL_TIER_OWNER, .has_cookie = true, .session = 1};
static const fl_who phone = {.tier = FL_TIER_DEVICE, .has_cookie = true, .session = 2};
static const fl_who program = {.tier = FL_TIER_OWNER, .is_bearer = true, .session = -1};

/* The verdict on "LINE" with these header lines (each with its CRLF). */
static fl_problem judge_at(const fl_site *site, const char *line, const char *headers, fl_who who)
{
    char text[TEXT_MAX];
    fl_request request;
    fl_err err = {0};
    int len = snprintf(text, sizeof text, "%s HTTP/1.1\r\n%s\r\n", line, headers);
    check_true(len > 0 && (size_t)len < sizeof text);
    check_ok(fl_head_parse(fl_sv_from_cstr(text), &request, &err), &err);
    return fl_guard_check(site, &request, &who);
}

static fl_problem judge(const char *line, const char *headers, fl_who who)
{
    fl_site site = fl_site_of_loopback(PORT);
    return judge_at(&site, line, headers, who);
}

static void check_problem(fl_problem got, fl_problem want, const char *what)
{
    if (got != want) {
        print_error("%s: got %s, want %s\n", what, fl_problems[got].name, fl_problems[want].name);
        fail();
    }
}

static void test_names(void **state)
{
    (void)state;
    static const struct {
        const char *authority;
        bool is_ours;
    } cases[] = {
        {"127.0.0.1:8462", true},
        {"localhost:8462", true},
        {"LocalHost:8462", true},
        {"localhost.:8462", true},
        {"[::1]:8462", true},
        {"127.0.0.1", false}, /* no port is port 80 */
        {"127.0.0.1:", false},
        {"127.0.0.1:8463", false},
        {"127.0.0.1:08462", false},
        {"127.0.0.1:+8462", false},
        {"127.0.0.1:8462:8462", false},
        {"127.0.0.1:84620", false},
        {"127.0.0.1.:8462", false},
        {"localhost..:8462", false},
        {"evil.example:8462", false},
        {"localhost.evil.example:8462", false},
        {"evil.example@localhost:8462", false},
        {"2130706433:8462", false}, /* 127.0.0.1 as one number, in hex, octal, short */
        {"0x7f000001:8462", false},
        {"0177.0.0.1:8462", false},
        {"127.1:8462", false},
        {"[::ffff:127.0.0.1]:8462", false},
        {"[0:0:0:0:0:0:0:1]:8462", false},
        {"[::1", false},
        {"[::1]8462", false},
        {"::1:8462", false},
        {"0.0.0.0:8462", false},
        {"", false},
        {":8462", false},
    };
    fl_site site = fl_site_of_loopback(PORT);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bool got = fl_site_has(&site, fl_sv_from_cstr(cases[i].authority));
        if (got != cases[i].is_ours) {
            print_error("Host %s\n", cases[i].authority);
        }
        check_int(got, cases[i].is_ours);
    }
}

/* RFC 9110 section 4.2.1: the port of http is 80. */
static void test_default_port(void **state)
{
    (void)state;
    fl_site site = fl_site_of_loopback(80);
    check_true(fl_site_has(&site, FL_SV("localhost")));
    check_true(fl_site_has(&site, FL_SV("localhost:80")));
    check_true(fl_site_has(&site, FL_SV("[::1]")));
    check_problem(judge_at(&site, "POST /api/v1/events",
                           "Host: localhost:80\r\nOrigin: http://localhost\r\n"
                           "Content-Type: application/json\r\n",
                           keeper),
                  FL_PROBLEM_NONE, "origins leave the usual port out");
}

static void test_added_names(void **state)
{
    (void)state;
    fl_site site = fl_site_of_loopback(PORT);
    fl_err err = {0};
    check_ok(fl_site_add(&site, FL_SV("192.0.2.20"), &err), &err);
    check_ok(fl_site_add(&site, FL_SV("fd00::2"), &err), &err);
    check_ok(fl_site_add(&site, FL_SV("Bench.lan"), &err), &err);
    check_true(fl_site_has(&site, FL_SV("192.0.2.20:8462")));
    check_true(fl_site_has(&site, FL_SV("[fd00::2]:8462")));
    check_true(fl_site_has(&site, FL_SV("bench.LAN:8462")));
    check_true(fl_site_has(&site, FL_SV("localhost:8462")));
    check_false(fl_site_has(&site, FL_SV("fd00::2:8462")));
    static const char *const bad[] = {"", "a b", "a/b", "http://a", "a:8462", "[::1]", "a*", "ä"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        err = (fl_err){.code = FL_OK};
        check_int(fl_site_add(&site, fl_sv_from_cstr(bad[i]), &err), FL_EINVAL);
        check_status(&err, FL_EINVAL);
    }
    while (site.n_names < FL_SITE_NAMES_MAX) {
        check_ok(fl_site_add(&site, FL_SV("more"), &err), &err);
    }
    check_int(fl_site_add(&site, FL_SV("evenmore"), &err), FL_ETOOBIG);
}

static void test_host(void **state)
{
    (void)state;
    check_problem(judge("GET /", "Host: 127.0.0.1:8462\r\n", nobody), FL_PROBLEM_NONE, "own");
    check_problem(judge("GET /", "", nobody), FL_PROBLEM_WRONG_HOST, "none");
    check_problem(judge("GET /", "Host:\r\n", nobody), FL_PROBLEM_WRONG_HOST, "empty");
    check_problem(judge("GET /", "Host: 127.0.0.1:8462\r\nHost: 127.0.0.1:8462\r\n", nobody),
                  FL_PROBLEM_WRONG_HOST, "two");
    check_problem(judge("GET /", "Host: evil.example:8462\r\n", program), FL_PROBLEM_WRONG_HOST,
                  "a token does not open the door to names");
    check_problem(judge("GET http://127.0.0.1:8462/", "Host: 127.0.0.1:8462\r\n", nobody),
                  FL_PROBLEM_NONE, "absolute form, own name");
    check_problem(judge("GET http://evil.example/", "Host: 127.0.0.1:8462\r\n", nobody),
                  FL_PROBLEM_WRONG_HOST, "absolute form, foreign name");
    check_problem(judge("GET http://127.0.0.1:8462/", "Host: evil.example\r\n", nobody),
                  FL_PROBLEM_WRONG_HOST, "absolute form, foreign Host");
    check_problem(judge("GET http://localhost:8462/", "Host: 127.0.0.1:8462\r\n", nobody),
                  FL_PROBLEM_WRONG_HOST, "two names of ours");
    /* what a page of a rebound name sends: both are the attacker's */
    check_problem(judge("POST /api/v1/session",
                        "Host: evil.example:8462\r\nOrigin: http://evil.example:8462\r\n"
                        "Sec-Fetch-Site: same-origin\r\nContent-Type: application/json\r\n",
                        nobody),
                  FL_PROBLEM_WRONG_HOST, "Origin and Host agree");
}

#define HOST "Host: 127.0.0.1:8462\r\n"
#define JSON "Content-Type: application/json\r\n"
#define OWN "Origin: http://127.0.0.1:8462\r\n"

static void test_session(void **state)
{
    (void)state;
    check_problem(judge("GET /api/v1/today", HOST, nobody), FL_PROBLEM_NO_SESSION, "reading");
    check_problem(judge("GET /api/", HOST, nobody), FL_PROBLEM_NO_SESSION, "no such route");
    check_problem(judge("GET /api/v1/today", HOST, phone), FL_PROBLEM_NONE, "a phone");
    check_problem(judge("GET /api/v1/session", HOST, nobody), FL_PROBLEM_NO_SESSION, "GET session");
    check_problem(judge("DELETE /api/v1/session", HOST OWN JSON, nobody), FL_PROBLEM_NO_SESSION,
                  "signing out");
    check_problem(judge("POST /api/v1/session", HOST OWN JSON, nobody), FL_PROBLEM_NONE,
                  "signing in");
    check_problem(judge("POST /api/v1/session/", HOST OWN JSON, nobody), FL_PROBLEM_NO_SESSION,
                  "not quite signing in");
    check_problem(judge("GET /today", HOST, nobody), FL_PROBLEM_NONE, "a screen");
    fl_who false_bearer = keeper;
    false_bearer.has_false_bearer = true;
    check_problem(judge("GET /api/v1/today", HOST, false_bearer), FL_PROBLEM_NO_SESSION,
                  "a good cookie does not mend a wrong token");
}

static void test_source(void **state)
{
    (void)state;
    static const struct {
        const char *headers;
        const fl_who *who;
        fl_problem want;
    } cases[] = {
        {HOST JSON OWN, &keeper, FL_PROBLEM_NONE},
        {HOST JSON "Sec-Fetch-Site: same-origin\r\n", &keeper, FL_PROBLEM_NONE},
        {HOST JSON OWN "Sec-Fetch-Site: same-origin\r\n", &keeper, FL_PROBLEM_NONE},
        {HOST JSON OWN "Sec-Fetch-Site: same-site\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON OWN "Sec-Fetch-Site: cross-site\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON OWN "Sec-Fetch-Site: none\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON OWN "Sec-Fetch-Site:\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON OWN "Sec-Fetch-Site: SAME-ORIGIN\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: null\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: null\r\nSec-Fetch-Site: same-origin\r\n", &keeper,
         FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://127.0.0.1:8463\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://127.0.0.1\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: https://127.0.0.1:8462\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://localhost:8462\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://evil.example\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://127.0.0.1:8462.evil.example\r\n", &keeper,
         FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://127.0.0.1:8462/\r\n", &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON "Origin: http://evil.example\r\n", &program, FL_PROBLEM_CROSS_SITE},
        {HOST JSON, &keeper, FL_PROBLEM_CROSS_SITE},
        {HOST JSON, &program, FL_PROBLEM_NONE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        check_problem(judge("POST /api/v1/events", cases[i].headers, *cases[i].who), cases[i].want,
                      cases[i].headers);
    }
    fl_who both = program;
    both.has_cookie = true;
    check_problem(judge("POST /api/v1/events", HOST JSON, both), FL_PROBLEM_CROSS_SITE,
                  "a token beside any cookie");
    /* reading the API from elsewhere */
    check_problem(judge("GET /api/v1/today", HOST "Sec-Fetch-Site: none\r\n", keeper),
                  FL_PROBLEM_NONE, "typed address");
    check_problem(judge("GET /api/v1/today", HOST "Sec-Fetch-Site: same-site\r\n", keeper),
                  FL_PROBLEM_CROSS_SITE, "another port of this host");
    check_problem(judge("GET /api/v1/today", HOST "Origin: http://evil.example\r\n", keeper),
                  FL_PROBLEM_CROSS_SITE, "no Sec-Fetch-Site, as on the network");
    check_problem(judge("GET /look", HOST "Sec-Fetch-Site: cross-site\r\n", nobody),
                  FL_PROBLEM_NONE, "a link that leads to a screen");
}

static void test_media_type(void **state)
{
    (void)state;
    static const struct {
        const char *headers;
        fl_problem want;
    } cases[] = {
        {HOST OWN JSON, FL_PROBLEM_NONE},
        {HOST OWN "Content-Type: APPLICATION/JSON; charset=utf-8\r\n", FL_PROBLEM_NONE},
        {HOST OWN, FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: text/plain\r\n", FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: application/x-www-form-urlencoded\r\n", FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: multipart/form-data; boundary=application/json\r\n",
         FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: text/plain;application/json\r\n", FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: application/jsonx\r\n", FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: text/csv\r\n", FL_PROBLEM_MEDIA_TYPE},
        {HOST OWN "Content-Type: text/csv\r\nX-Requested-By: fernlock\r\n", FL_PROBLEM_NONE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        check_problem(judge("POST /api/v1/events", cases[i].headers, keeper), cases[i].want,
                      cases[i].headers);
        check_problem(judge("DELETE /api/v1/session", cases[i].headers, keeper), cases[i].want,
                      cases[i].headers);
    }
}

/* RFC 9112 section 6: message body length, and request smuggling in 11.2. */
static void test_framing(void **state)
{
    (void)state;
    static const struct {
        const char *headers;
        fl_problem want;
    } cases[] = {
        {"Content-Length: 2\r\n", FL_PROBLEM_NONE},
        {"Content-Length: 1048576\r\n", FL_PROBLEM_NONE},
        {"Content-Length: 1048577\r\n", FL_PROBLEM_BODY_TOO_BIG},
        {"Content-Length: 9223372036854775807\r\n", FL_PROBLEM_BODY_TOO_BIG},
        {"Content-Length: 9223372036854775808\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 99999999999999999999999\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 2\r\nContent-Length: 2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 2\r\nContent-Length: 3\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 2, 2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: +2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: -2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 0x2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length: 2.0\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Content-Length:\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Transfer-Encoding: chunked\r\n", FL_PROBLEM_NO_LENGTH},
        {"Transfer-Encoding: xchunked\r\n", FL_PROBLEM_NO_LENGTH},
        {"Transfer-Encoding: chunked\r\nContent-Length: 2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
        {"Transfer-Encoding: identity\r\nContent-Length: 2\r\n", FL_PROBLEM_UNCLEAR_LENGTH},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char headers[512];
        (void)snprintf(headers, sizeof headers, HOST OWN JSON "%s", cases[i].headers);
        check_problem(judge("POST /api/v1/events", headers, keeper), cases[i].want,
                      cases[i].headers);
    }
    check_problem(judge("GET /", HOST "Content-Length: 0\r\n", nobody), FL_PROBLEM_NONE,
                  "an empty body");
    check_problem(judge("GET /", HOST "Content-Length: 1\r\n", nobody), FL_PROBLEM_UNCLEAR_LENGTH,
                  "a body with GET");
    check_problem(judge("GET /", HOST "Transfer-Encoding: chunked\r\n", nobody),
                  FL_PROBLEM_NO_LENGTH, "chunks with GET");
    check_problem(judge("POST /api/v1/import",
                        HOST OWN "Content-Type: text/csv\r\nX-Requested-By: fernlock\r\n"
                                 "Content-Length: 67108864\r\n",
                        keeper),
                  FL_PROBLEM_NONE, "64 MB of CSV");
    check_problem(judge("POST /api/v1/import",
                        HOST OWN "Content-Type: text/csv\r\nX-Requested-By: fernlock\r\n"
                                 "Content-Length: 67108865\r\n",
                        keeper),
                  FL_PROBLEM_BODY_TOO_BIG, "more");
}

static void test_repeats(void **state)
{
    (void)state;
    static const char *const twice[] = {
        "Origin: http://127.0.0.1:8462\r\n", "Cookie: a=b\r\n",
        "Sec-Fetch-Site: same-origin\r\n",   "Content-Type: application/json\r\n",
        "Authorization: Bearer x\r\n",       "Idempotency-Key: x\r\n"};
    for (size_t i = 0; i < sizeof twice / sizeof twice[0]; i++) {
        char headers[512];
        (void)snprintf(headers, sizeof headers, HOST "%s%s", twice[i], twice[i]);
        check_problem(judge("GET /", headers, nobody), FL_PROBLEM_REPEATED, twice[i]);
    }
}

/* A request that is wrong in every way is told the first of the order. */
static void test_order(void **state)
{
    (void)state;
    static const char *const headers[] = {
        "Host: evil.example\r\nOrigin: http://evil.example\r\nContent-Type: text/plain\r\n"
        "Content-Length: 9999999\r\n",
        HOST "Origin: http://evil.example\r\nContent-Type: text/plain\r\n"
             "Content-Length: 9999999\r\n",
        HOST OWN "Content-Type: text/plain\r\nContent-Length: 9999999\r\n",
        HOST OWN JSON "Content-Length: 9999999\r\n",
    };
    check_problem(judge("POST /api/v1/events", headers[0], nobody), FL_PROBLEM_WRONG_HOST, "421");
    check_problem(judge("POST /api/v1/events", headers[1], nobody), FL_PROBLEM_NO_SESSION, "401");
    check_problem(judge("POST /api/v1/events", headers[1], keeper), FL_PROBLEM_CROSS_SITE, "403");
    check_problem(judge("POST /api/v1/events", headers[2], keeper), FL_PROBLEM_MEDIA_TYPE, "415");
    check_problem(judge("POST /api/v1/events", headers[3], keeper), FL_PROBLEM_BODY_TOO_BIG, "413");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_names),       cmocka_unit_test(test_default_port),
    cmocka_unit_test(test_added_names), cmocka_unit_test(test_host),
    cmocka_unit_test(test_session),     cmocka_unit_test(test_source),
    cmocka_unit_test(test_media_type),  cmocka_unit_test(test_framing),
    cmocka_unit_test(test_repeats),     cmocka_unit_test(test_order),
};
FL_TEST_MAIN(tests)
