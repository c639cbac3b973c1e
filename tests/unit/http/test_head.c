/* http/head.h. The grammar is that of RFC 9112 (HTTP/1.1) and RFC 9110 (semantics); section numbers
 * stand beside the checks. */
#include <stdio.h>
#include <string.h>

#include "http/head.h"
#include "support/check.h"

static fl_status parse(const char *text, fl_request *request, fl_err *err)
{
    *err = (fl_err){.code = FL_OK};
    check_int(fl_head_length(fl_sv_from_cstr(text)), strlen(text));
    return fl_head_parse(fl_sv_from_cstr(text), request, err);
}

/* The example of RFC 9112 section 2.1 has this form. */
static void test_plain(void **state)
{
    (void)state;
    fl_request r;
    fl_err err;
    check_ok(parse("GET /where?q=now&x=&q=2 HTTP/1.1\r\nHost: www.example.org\r\n"
                   "Accept:text/html\r\nX-Empty:\r\nx-pad: \t a b \t\r\n\r\n",
                   &r, &err),
             &err);
    check_sv(r.method, "GET");
    check_sv(r.path, "/where");
    check_sv(r.query, "q=now&x=&q=2");
    check_int(r.authority.len, 0);
    check_int(r.n_headers, 4);
    check_sv(fl_request_value(&r, "hOST"), "www.example.org");
    check_sv(fl_request_value(&r, "Accept"), "text/html");
    check_sv(fl_request_value(&r, "X-Pad"), "a b");
    check_true(fl_request_header(&r, "X-Empty") != NULL);
    check_int(fl_request_value(&r, "X-Empty").len, 0);
    check_true(fl_request_header(&r, "Cookie") == NULL);
    fl_sv value = {NULL, 0};
    check_true(fl_request_query(&r, "q", &value));
    check_sv(value, "now");
    check_true(fl_request_query(&r, "x", &value));
    check_int(value.len, 0);
    check_false(fl_request_query(&r, "y", &value));
}

/* RFC 9112 section 3.2.2: the absolute form. */
static void test_absolute_form(void **state)
{
    (void)state;
    fl_request r;
    fl_err err;
    check_ok(parse("GET http://www.example.org/pub/a?b HTTP/1.1\r\n\r\n", &r, &err), &err);
    check_sv(r.authority, "www.example.org");
    check_sv(r.path, "/pub/a");
    check_sv(r.query, "b");
    check_ok(parse("GET HTTP://u@h:1/ HTTP/1.0\r\n\r\n", &r, &err), &err);
    check_sv(r.authority, "u@h:1");
}

static void test_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "\r\n\r\n",
        " GET / HTTP/1.1\r\n\r\n",
        "GET / HTTP/1.1\r\nHost a\r\n\r\n",
        "GET  / HTTP/1.1\r\n\r\n", /* section 3: single spaces */
        "GET /  HTTP/1.1\r\n\r\n",
        "GET / a HTTP/1.1\r\n\r\n",
        "GET /\r\n\r\n", /* HTTP/0.9 */
        "GET / HTTP/2.0\r\n\r\n",
        "GET / http/1.1\r\n\r\n", /* section 2.3: case-sensitive */
        "GET / HTTP/1.1 \r\n\r\n",
        "G@T / HTTP/1.1\r\n\r\n", /* RFC 9110 section 5.6.2: tokens */
        "GET * HTTP/1.1\r\n\r\n",
        "CONNECT a:1 HTTP/1.1\r\n\r\n",
        "GET http://a HTTP/1.1\r\n\r\n",
        "GET http:///a HTTP/1.1\r\n\r\n",
        "GET https://a/ HTTP/1.1\r\n\r\n", /* there is no TLS here */
        "GET ftp://a/ HTTP/1.1\r\n\r\n",
        "GET /a#b HTTP/1.1\r\n\r\n", /* section 3.2: no fragment */
        "GET /\xc3\xa9 HTTP/1.1\r\n\r\n",
        "GET /\x7f HTTP/1.1\r\n\r\n",
        "GET / HTTP/1.1\r\nHost : a\r\n\r\n",   /* section 5.1: no space before the colon */
        "GET / HTTP/1.1\r\nA: b\r\n c\r\n\r\n", /* section 5.2: no folding */
        "GET / HTTP/1.1\r\n: b\r\n\r\n",
        "GET / HTTP/1.1\r\nA: b\x01\r\n\r\n",   /* RFC 9110 section 5.5 */
        "GET / HTTP/1.1\r\nA: b\rC: d\r\n\r\n", /* section 2.2: a bare CR */
        "GET / HTTP/1.1\r\nA: b\nC: d\r\n\r\n",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fl_request r = {.n_headers = 77};
        fl_err err;
        fl_status status = parse(bad[i], &r, &err);
        if (status != FL_EFORMAT) {
            print_error("taken: %s\n", bad[i]);
        }
        check_status(&err, FL_EFORMAT);
        check_int(r.n_headers, 77); /* untouched */
    }
}

static void test_nul_is_refused(void **state)
{
    (void)state;
    static const char text[] = "GET / HTTP/1.1\r\nA: b\0c\r\n\r\n";
    fl_request r;
    fl_err err = {0};
    check_int(fl_head_parse((fl_sv){text, sizeof text - 1}, &r, &err), FL_EFORMAT);
    check_status(&err, FL_EFORMAT);
}

static void test_too_many_headers(void **state)
{
    (void)state;
    char text[4096] = "GET / HTTP/1.1\r\n";
    fl_request r;
    fl_err err;
    for (int i = 0; i < FL_HEADERS_MAX; i++) {
        (void)strncat(text, "A: b\r\n", sizeof text - strlen(text) - 1);
    }
    char more[4096];
    (void)snprintf(more, sizeof more, "%sA: b\r\n\r\n", text);
    (void)strncat(text, "\r\n", sizeof text - strlen(text) - 1);
    check_ok(parse(text, &r, &err), &err);
    check_int(fl_request_count(&r, "a"), FL_HEADERS_MAX);
    check_int(parse(more, &r, &err), FL_ETOOBIG);
    check_status(&err, FL_ETOOBIG);
}

static void test_length(void **state)
{
    (void)state;
    check_int(fl_head_length(FL_SV("")), 0);
    check_int(fl_head_length(FL_SV("\r\n\r")), 0);
    check_int(fl_head_length(FL_SV("\r\n\r\n")), 4);
    check_int(fl_head_length(FL_SV("\r\r\n\r\n")), 5);
    check_int(fl_head_length(FL_SV("GET / HTTP/1.1\r\n\r\nbody\r\n\r\n")), 18);
    check_int(fl_head_length(FL_SV("GET / HTTP/1.1\n\n")), 0);
    check_int(fl_head_length(FL_SV("GET / HTTP/1.1\r\nA: b\r\n")), 0);
}

/* Every beginning of a good head may still become one. */
static void test_hopeless(void **state)
{
    (void)state;
    static const char good[] = "GET / HTTP/1.1\r\nA: b\tc\r\n\r\n";
    for (size_t len = 0; len < sizeof good; len++) {
        check_false(fl_head_is_hopeless((fl_sv){good, len}));
    }
    check_true(fl_head_is_hopeless(FL_SV("\n")));
    check_true(fl_head_is_hopeless(FL_SV("GET / HTTP/1.1\n")));
    check_true(fl_head_is_hopeless(FL_SV("GET\rx")));
    check_true(fl_head_is_hopeless(FL_SV("\x16\x03\x01"))); /* a TLS hello: https by mistake */
    check_true(fl_head_is_hopeless((fl_sv){"a\0b", 3}));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_plain),
    cmocka_unit_test(test_absolute_form),
    cmocka_unit_test(test_refused),
    cmocka_unit_test(test_nul_is_refused),
    cmocka_unit_test(test_too_many_headers),
    cmocka_unit_test(test_length),
    cmocka_unit_test(test_hopeless),
};
FL_TEST_MAIN(tests)
