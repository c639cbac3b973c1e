/* Any bytes as the body of a POST or DELETE: "METHOD TARGET\n" and then the body, handed to the
 * handler as JSON (or as text/csv where the target takes that). Whatever comes, the answer is 2xx
 * or 4xx, and the room verifies. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/serve.h"

#define LINE_MAX 1000

static const char *kind_of(fl_sv line)
{
    bool is_csv = memmem(line.ptr, line.len, "/readings", 9) != NULL ||
                  memmem(line.ptr, line.len, "/sheet?", 7) != NULL;
    return is_csv ? "text/csv" : "application/json";
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    const uint8_t *end = len > 0 ? memchr(bytes, '\n', len) : NULL;
    if (end == NULL || end - bytes > LINE_MAX) {
        return 0;
    }
    const fl_sv line = {(const char *)bytes, (size_t)(end - bytes)};
    const size_t body_len = len - line.len - 1;
    char *body = fl_fuzz_exact(end + 1, body_len);
    char head[LINE_MAX + 400];
    int n = snprintf(head, sizeof head,
                     "%.*s HTTP/1.1\r\nHost: 127.0.0.1:8462\r\nContent-Type: %s\r\n"
                     "Content-Length: %zu\r\n%s\r\n",
                     (int)line.len, line.ptr, kind_of(line), body_len,
                     memmem(line.ptr, line.len, "/readings?", 10) != NULL
                         ? "Idempotency-Key: 01020304-0506-4708-890a-0b0c0d0e0f10\r\n"
                         : "");
    fl_fuzz_serve((fl_sv){head, (size_t)n}, (fl_sv){body, body_len});
    free(body);
    return 0;
}
