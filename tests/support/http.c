/* The raw client. */
#define _GNU_SOURCE
#include "support/http.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include "support/check.h"

#define ANSWER_BYTES_MAX ((size_t)8 << 20)

int fl_http_connect(const char *address, uint16_t port)
{
    struct sockaddr_in v4 = {.sin_family = AF_INET, .sin_port = htons(port)};
    struct sockaddr_in6 v6 = {.sin6_family = AF_INET6, .sin6_port = htons(port)};
    const bool is_v4 = inet_pton(AF_INET, address, &v4.sin_addr) == 1;
    check_true(is_v4 || inet_pton(AF_INET6, address, &v6.sin6_addr) == 1);
    const struct timeval wait = {.tv_sec = FL_HTTP_WAIT_S};
    int fd = socket(is_v4 ? AF_INET : AF_INET6, SOCK_STREAM, 0);
    check_true(fd >= 0);
    check_int(setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait), 0);
    check_int(setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &wait, sizeof wait), 0);
    int result = is_v4 ? connect(fd, (struct sockaddr *)&v4, sizeof v4)
                       : connect(fd, (struct sockaddr *)&v6, sizeof v6);
    check_int(result, 0);
    return fd;
}

void fl_http_send(int fd, const char *bytes, size_t len)
{
    while (len > 0) {
        ssize_t put = send(fd, bytes, len, MSG_NOSIGNAL);
        if (put <= 0) {
            return; /* the server has answered and closed: the answer tells */
        }
        bytes += put;
        len -= (size_t)put;
    }
}

static void parse(fl_answer *answer)
{
    if (answer->len < 13 || strncmp(answer->text, "HTTP/1.1 ", 9) != 0) {
        return;
    }
    char *end = strstr(answer->text, "\r\n\r\n");
    check_true(end != NULL);
    answer->status =
        (answer->text[9] - '0') * 100 + (answer->text[10] - '0') * 10 + (answer->text[11] - '0');
    answer->body = end + 4;
    answer->body_len = answer->len - (size_t)(answer->body - answer->text);
}

fl_answer fl_http_finish(int fd)
{
    fl_answer answer = {.text = malloc(ANSWER_BYTES_MAX)};
    check_true(answer.text != NULL);
    ssize_t got = 1;
    while (got > 0 && answer.len < ANSWER_BYTES_MAX - 1) {
        got = recv(fd, answer.text + answer.len, ANSWER_BYTES_MAX - 1 - answer.len, 0);
        answer.len += got > 0 ? (size_t)got : 0;
    }
    if (got < 0 && errno != ECONNRESET) {
        print_error("no end of the answer within %d s: %s\n", FL_HTTP_WAIT_S, strerror(errno));
        fail();
    }
    (void)close(fd);
    answer.text[answer.len] = '\0';
    parse(&answer);
    return answer;
}

fl_answer fl_http_ask(const char *address, uint16_t port, const char *bytes, size_t len)
{
    int fd = fl_http_connect(address, port);
    fl_http_send(fd, bytes, len);
    return fl_http_finish(fd);
}

void fl_answer_done(fl_answer *answer)
{
    free(answer->text);
    *answer = (fl_answer){.status = 0};
}

bool fl_answer_header(const fl_answer *answer, const char *name, char *value, size_t max)
{
    const size_t len = strlen(name);
    const char *line = answer->body == NULL ? NULL : strstr(answer->text, "\r\n");
    while (line != NULL && line + 2 < answer->body - 2) {
        line += 2;
        const char *end = strstr(line, "\r\n");
        if (strncasecmp(line, name, len) == 0 && line[len] == ':') {
            const char *begin = line + len + 1;
            begin += *begin == ' ' ? 1 : 0;
            check_true((size_t)(end - begin) < max);
            memcpy(value, begin, (size_t)(end - begin));
            value[end - begin] = '\0';
            return true;
        }
        line = end;
    }
    return false;
}
