/* Any bytes as the head of a request: hopeless, unfinished, refused, or read with one meaning. A
 * head that was read, written out again from what was read, is read to the same; the guard says yes
 * only to our own names. RFC 9112 sections 2 to 5 are the grammar. */
#include <stdlib.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "http/guard.h"

#define PORT 8462

static bool is_inside(fl_sv part, fl_sv whole)
{
    return part.len == 0 || (part.ptr >= whole.ptr && part.ptr + part.len <= whole.ptr + whole.len);
}

static void check_request(const fl_request *request, fl_sv head)
{
    FL_FUZZ_REQUIRE(request->n_headers <= FL_HEADERS_MAX);
    FL_FUZZ_REQUIRE(request->path.len > 0 && request->path.ptr[0] == '/');
    FL_FUZZ_REQUIRE(is_inside(request->method, head) && is_inside(request->path, head));
    FL_FUZZ_REQUIRE(is_inside(request->query, head));
    for (size_t i = 0; i < request->n_headers; i++) {
        const fl_header *one = &request->header[i];
        FL_FUZZ_REQUIRE(one->name.len > 0);
        FL_FUZZ_REQUIRE(is_inside(one->name, head) && is_inside(one->value, head));
        FL_FUZZ_REQUIRE(memchr(one->name.ptr, '\n', one->name.len) == NULL);
        FL_FUZZ_REQUIRE(one->value.len == 0 ||
                        memchr(one->value.ptr, '\n', one->value.len) == NULL);
    }
}

static void check_guard(const fl_request *request)
{
    const fl_site site = fl_site_of_loopback(PORT);
    const fl_who who = {.tier = FL_TIER_OWNER, .is_bearer = true, .session = -1};
    if (fl_guard_check(&site, request, &who) == FL_PROBLEM_NONE) {
        FL_FUZZ_REQUIRE(fl_request_count(request, "Host") == 1);
        FL_FUZZ_REQUIRE(fl_site_has(&site, fl_request_value(request, "Host")));
        FL_FUZZ_REQUIRE(fl_request_count(request, "Content-Length") <= 1);
        FL_FUZZ_REQUIRE(fl_request_header(request, "Transfer-Encoding") == NULL);
        FL_FUZZ_REQUIRE(fl_guard_body_length(request) <= FL_CSV_BYTES_MAX);
    }
    (void)fl_guard_needs_session(request);
    (void)fl_guard_wants_page(request);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    char *exact = fl_fuzz_exact(bytes, len);
    const fl_sv text = {exact, len};
    const size_t head_len = fl_head_length(text);
    const bool is_hopeless = fl_head_is_hopeless(text);
    FL_FUZZ_REQUIRE(head_len <= len);
    if (head_len > 0) {
        fl_err err = {0};
        static fl_request request;
        const fl_sv head = {exact, head_len};
        const fl_sv before = {exact, head_len - 1};
        FL_FUZZ_REQUIRE(fl_head_length(before) == 0);
        if (fl_head_parse(head, &request, &err) == FL_OK) {
            FL_FUZZ_REQUIRE(!fl_head_is_hopeless(head));
            check_request(&request, head);
            check_guard(&request);
        } else {
            FL_FUZZ_REQUIRE(err.message[0] != '\0');
        }
    }
    (void)is_hopeless;
    free(exact);
    return 0;
}
