/* Any text as the target of a GET, path and query: it is routed, its parameters are decoded, and
 * the room answers, with 2xx, 3xx or 4xx and JSON that is JSON. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/serve.h"

#define TARGET_MAX 2000

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    char head[TARGET_MAX + 100];
    if (len == 0 || len > TARGET_MAX || memchr(bytes, '\n', len) != NULL) {
        return 0;
    }
    int n = snprintf(head, sizeof head, "GET %.*s HTTP/1.1\r\nHost: 127.0.0.1:8462\r\n\r\n",
                     (int)len, (const char *)bytes);
    fl_fuzz_serve((fl_sv){head, (size_t)n}, FL_SV(""));
    return 0;
}
