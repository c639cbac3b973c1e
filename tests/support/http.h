/* A raw HTTP client for tests: bytes as written, one connection a request, every wait bounded. */
#ifndef FL_TESTS_SUPPORT_HTTP_H
#define FL_TESTS_SUPPORT_HTTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FL_HTTP_WAIT_S 20

typedef struct fl_answer {
    int status; /* 0: the server closed the connection without an answer */
    char *text; /* owned, terminated: everything that came */
    size_t len;
    char *body; /* inside text; NULL without an answer */
    size_t body_len;
} fl_answer;

/* A connection to a numeric IPv4 or IPv6 address; fails the test when there is none. */
int fl_http_connect(const char *address, uint16_t port);
/* Sends what it can; a closed connection is no failure. */
void fl_http_send(int fd, const char *bytes, size_t len);
/* Reads until the server closes, and closes. Fails the test after FL_HTTP_WAIT_S. */
fl_answer fl_http_finish(int fd);
/* Connects, sends, reads. */
fl_answer fl_http_ask(const char *address, uint16_t port, const char *bytes, size_t len);
void fl_answer_done(fl_answer *answer);

/* The value of a header (the first of that name, any case) copied into value[max]; false when it is
 * not there. */
bool fl_answer_header(const fl_answer *answer, const char *name, char *value, size_t max);

#endif
