/* http/assets.h. The packed file was made by gzip itself: printf 'hello, fern\n' | gzip -9n. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "http/assets.h"
#include "support/check.h"

static const unsigned char hello[] = {
    0x1f, 0x8b, 0x08, 0x00, 0x00, 0x00, 0x00, 0x00, 0x02, 0x03, 0xcb, 0x48, 0xcd, 0xc9, 0xc9, 0xd7,
    0x51, 0x48, 0x4b, 0x2d, 0xca, 0xe3, 0x02, 0x00, 0xb1, 0x02, 0xaa, 0x55, 0x0c, 0x00, 0x00, 0x00};

static const fl_web_asset list[] = {
    {"/chunk-AB12CD34.js", hello, hello + sizeof hello, "aaaa", "text/javascript; charset=utf-8"},
    {"/index.html", hello, hello + sizeof hello, "bbbb", "text/html; charset=utf-8"},
    {"/main.js", hello, hello + sizeof hello, "cccc", "text/javascript; charset=utf-8"},
};
static const fl_assets built_in = {.list = list, .count = 3};

static fl_reply ask(const fl_assets *assets, const char *path, const char *headers, fl_arena *arena)
{
    fl_err err = {0};
    fl_request *request = FL_ARENA_NEW(arena, fl_request);
    fl_sv text = fl_arena_printf(arena, "GET %s HTTP/1.1\r\n%s\r\n", path, headers);
    check_ok(fl_head_parse(text, request, &err), &err);
    return fl_assets_reply(assets, request, arena);
}

static fl_sv header_of(const fl_reply *reply, const char *name)
{
    for (size_t i = 0; i < reply->n_extra; i++) {
        if (fl_sv_eq_cstr(reply->extra[i].name, name)) {
            return reply->extra[i].value;
        }
    }
    return (fl_sv){NULL, 0};
}

static void test_packed_and_plain(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_reply reply = ask(&built_in, "/main.js", "Accept-Encoding: br, gzip\r\n", &arena);
    check_int(reply.status, 200);
    check_str(reply.content_type, "text/javascript; charset=utf-8");
    check_str(reply.cache, "no-cache");
    check_sv(header_of(&reply, "Content-Encoding"), "gzip");
    check_sv(header_of(&reply, "Vary"), "Accept-Encoding");
    check_sv(header_of(&reply, "ETag"), "\"cccc-gzip\"");
    check_int(reply.body.len, sizeof hello);
    reply = ask(&built_in, "/main.js", "", &arena);
    check_sv(reply.body, "hello, fern\n");
    check_int(header_of(&reply, "Content-Encoding").len, 0);
    check_sv(header_of(&reply, "ETag"), "\"cccc\""); /* another form, another strong tag */
    reply = ask(&built_in, "/main.js", "If-None-Match: \"cccc\"\r\n", &arena);
    check_int(reply.status, 304);
    reply = ask(&built_in, "/main.js", "Accept-Encoding: gzip\r\nIf-None-Match: \"cccc-gzip\"\r\n",
                &arena);
    check_int(reply.status, 304);
    fl_arena_done(&arena);
}

static void test_which_file(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    static const char *const screens[] = {"/", "/today", "/lots/AB12CD", "/a/b/", "/index.html"};
    for (size_t i = 0; i < sizeof screens / sizeof screens[0]; i++) {
        fl_reply reply = ask(&built_in, screens[i], "", &arena);
        check_int(reply.status, 200);
        check_sv(header_of(&reply, "ETag"), "\"bbbb\"");
        check_str(reply.cache, "no-cache");
    }
    static const char *const none[] = {"/nothing.js", "/main.js/x.js", "/../main.js",
                                       "/MAIN.JS",    "/main%2ejs.x",  "//main.js"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        check_int(ask(&built_in, none[i], "", &arena).status, 404);
    }
    fl_reply kept = ask(&built_in, "/chunk-AB12CD34.js", "", &arena);
    check_str(kept.cache, "public, max-age=31536000, immutable");
    const fl_assets empty = {.list = list, .count = 0};
    fl_reply reply = ask(&empty, "/", "", &arena);
    check_int(reply.status, 404);
    check_contains(reply.body.ptr, "built without its interface");
    fl_arena_done(&arena);
}

/* A damaged file is an error, not half an answer. */
static void test_damaged(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    for (size_t i = 0; i < sizeof hello; i++) {
        unsigned char bytes[sizeof hello];
        memcpy(bytes, hello, sizeof hello);
        bytes[i] = (unsigned char)(bytes[i] ^ 0x10u);
        const fl_web_asset one = {"/index.html", bytes, bytes + sizeof bytes, "x", "text/html"};
        const fl_assets assets = {.list = &one, .count = 1};
        fl_reply reply = ask(&assets, "/", "", &arena);
        const bool is_whole = reply.status == 200 && fl_sv_eq_cstr(reply.body, "hello, fern\n");
        check_true(is_whole || reply.status == 500);
        /* RFC 1952: time, flags and system (4 to 9) do not count, nor the bits that fill the last
         * byte of the stream (23) */
        check_int(is_whole, (i >= 4 && i <= 9) || i == 23);
    }
    fl_arena_done(&arena);
}

/* RFC 9110 section 12.5.3. */
static void test_takes_gzip(void **state)
{
    (void)state;
    static const struct {
        const char *header;
        bool want;
    } cases[] = {
        {"", false},
        {"gzip", true},
        {"GZIP", true},
        {"compress;q=0.5, gzip;q=1.0", true},
        {"gzip;q=1.0, identity; q=0.5, *;q=0", true},
        {"gzip;q=0", false},
        {"gzip; q=0.000", false},
        {"*", true},
        {"*;q=0", false},
        {"gzip;q=0, *", false},
        {"br, deflate", false},
        {"identity", false},
        {"xgzip", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        if (fl_assets_takes_gzip(fl_sv_from_cstr(cases[i].header)) != cases[i].want) {
            print_error("Accept-Encoding: %s\n", cases[i].header);
            fail();
        }
    }
}

static void test_hashed_names(void **state)
{
    (void)state;
    check_true(fl_assets_is_hashed(FL_SV("/chunk-AB12CD34.js")));
    check_true(fl_assets_is_hashed(FL_SV("/assets/main-ZZZZ2345.css")));
    check_false(fl_assets_is_hashed(FL_SV("/main.js")));
    check_false(fl_assets_is_hashed(FL_SV("/chunk-ab12cd34.js")));
    check_false(fl_assets_is_hashed(FL_SV("/chunk-AB12CD3.js")));
    check_false(fl_assets_is_hashed(FL_SV("/chunkAB12CD345.js")));
    check_false(fl_assets_is_hashed(FL_SV("/chunk-AB12CD34")));
    check_false(fl_assets_is_hashed(FL_SV("-AB12CD34.js/x")));
    check_false(fl_assets_is_hashed(FL_SV("/.js")));
    check_false(fl_assets_is_hashed(FL_SV("")));
}

static void write_file(const char *dir, const char *name, const char *text)
{
    char path[FL_TEMP_PATH_MAX + 64];
    (void)snprintf(path, sizeof path, "%s/%s", dir, name);
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    (void)fputs(text, file);
    (void)fclose(file);
}

static void test_folder(void **state)
{
    (void)state;
    char outer[FL_TEMP_PATH_MAX];
    char dir[FL_TEMP_PATH_MAX + 32];
    char sub[FL_TEMP_PATH_MAX + 64];
    char link[FL_TEMP_PATH_MAX + 64];
    fl_arena arena;
    fl_arena_init(&arena);
    fl_temp_folder(outer);
    (void)snprintf(dir, sizeof dir, "%s/ui", outer);
    (void)snprintf(sub, sizeof sub, "%s/sub", dir);
    (void)snprintf(link, sizeof link, "%s/link.txt", dir);
    check_int(mkdir(dir, 0700), 0);
    check_int(mkdir(sub, 0700), 0);
    write_file(outer, "secret.txt", "outside");
    write_file(dir, "index.html", "<p>one");
    write_file(dir, ".hidden.txt", "hidden");
    write_file(sub, "a.js", "let a;");
    check_int(symlink("../secret.txt", link), 0);
    const fl_assets assets = {.list = list, .count = 3, .ui_dir = dir};
    fl_reply reply = ask(&assets, "/today", "", &arena);
    check_sv(reply.body, "<p>one");
    check_str(reply.content_type, "text/html; charset=utf-8");
    fl_sv tag = header_of(&reply, "ETag");
    write_file(dir, "index.html", "<p>two");
    reply = ask(&assets, "/", "", &arena);
    check_sv(reply.body, "<p>two"); /* fresh each time */
    check_false(fl_sv_eq(tag, header_of(&reply, "ETag")));
    reply = ask(&assets, "/sub/a.js", "", &arena);
    check_sv(reply.body, "let a;");
    check_str(reply.content_type, "text/javascript; charset=utf-8");
    static const char *const none[] = {
        "/main.js",       "/../secret.txt", "/sub/../../secret.txt", "/.hidden.txt", "/link.txt",
        "/sub/a.js/x.js", "//index.html",   "/%2e%2e/secret.txt",    "/sub.d"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        check_int(ask(&assets, none[i], "", &arena).status, 404);
    }
    fl_remove_folder(outer);
    fl_arena_done(&arena);
}

/* The table that the build made, whatever is in it: sorted, and every file unpacks. */
static void test_embedded(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_assets embedded = fl_assets_embedded();
    for (size_t i = 0; i < embedded.count; i++) {
        const fl_web_asset *one = &embedded.list[i];
        check_true(i == 0 || strcmp(embedded.list[i - 1].path, one->path) < 0);
        check_int(ask(&embedded, one->path, "", &arena).status, 200);
        check_int(ask(&embedded, one->path, "Accept-Encoding: gzip\r\n", &arena).status, 200);
    }
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_packed_and_plain), cmocka_unit_test(test_which_file),
    cmocka_unit_test(test_damaged),          cmocka_unit_test(test_takes_gzip),
    cmocka_unit_test(test_hashed_names),     cmocka_unit_test(test_folder),
    cmocka_unit_test(test_embedded),
};
FL_TEST_MAIN(tests)
