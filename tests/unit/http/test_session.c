/* http/session.h and http/secret.h. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "http/session.h"
#include "support/check.h"

typedef struct fixture {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s;
    fl_sessions *sessions;
    fl_arena arena;
    fl_err err;
} fixture;

static void open_sessions(fixture *f)
{
    check_ok(fl_sessions_open(f->dir, fl_clock_fixed(&f->now_s), &f->sessions, &f->err), &f->err);
}

static int setup(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    f->now_s = 1700000000;
    fl_arena_init(&f->arena);
    fl_temp_folder(f->dir);
    open_sessions(f);
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    fixture *f = *state;
    fl_sessions_close(f->sessions);
    fl_arena_done(&f->arena);
    fl_remove_folder(f->dir);
    free(f);
    return 0;
}

static char *path_of(const fixture *f, const char *name)
{
    static char path[FL_TEMP_PATH_MAX + 64];
    (void)snprintf(path, sizeof path, "%s/%s", f->dir, name);
    return path;
}

static char *read_file(const char *path)
{
    static char text[65536];
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    size_t len = fread(text, 1, sizeof text - 1, file);
    text[len] = '\0';
    (void)fclose(file);
    return text;
}

static fl_who who(fixture *f, const char *headers)
{
    fl_request request;
    fl_sv text = fl_arena_printf(&f->arena, "GET / HTTP/1.1\r\n%s\r\n", headers);
    check_ok(fl_head_parse(text, &request, &f->err), &f->err);
    return fl_sessions_who(f->sessions, &request);
}

/* Signs in; returns the header line that the browser then sends. */
static const char *sign_in(fixture *f, fl_tier tier, fl_sv name)
{
    char key[FL_SECRET_TEXT_MAX];
    fl_sv cookie = {NULL, 0};
    fl_tier got = FL_TIER_NONE;
    (void)fl_sessions_new_key(f->sessions, tier, FL_KEY_LIFE_S, key);
    check_ok(fl_sessions_redeem(f->sessions, fl_sv_from_cstr(key), name, &f->arena, &cookie, &got,
                                &f->err),
             &f->err);
    check_int(got, tier);
    fl_sv rest = cookie;
    fl_sv pair = fl_sv_split(&rest, ';');
    return fl_arena_printf(&f->arena, "Cookie: other=1; %.*s; x=y\r\n", FL_SV_ARG(pair)).ptr;
}

static void test_key_works_once(void **state)
{
    fixture *f = *state;
    char key[FL_SECRET_TEXT_MAX];
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    fl_sv name = FL_SV("");
    (void)fl_sessions_new_key(f->sessions, FL_TIER_OWNER, FL_KEY_LIFE_S, key);
    check_int(strlen(key), 64);
    check_int(
        fl_sessions_redeem(f->sessions, FL_SV("wrong"), name, &f->arena, &cookie, &tier, &f->err),
        FL_EAUTH);
    check_ok(fl_sessions_redeem(f->sessions, fl_sv_from_cstr(key), name, &f->arena, &cookie, &tier,
                                &f->err),
             &f->err);
    check_int(fl_sessions_redeem(f->sessions, fl_sv_from_cstr(key), name, &f->arena, &cookie, &tier,
                                 &f->err),
              FL_EAUTH);
    check_status(&f->err, FL_EAUTH);
}

static void test_key_lives_a_minute(void **state)
{
    fixture *f = *state;
    char key[FL_SECRET_TEXT_MAX];
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    for (int late = 0; late < 2; late++) {
        (void)fl_sessions_new_key(f->sessions, FL_TIER_OWNER, FL_KEY_LIFE_S, key);
        f->now_s += FL_KEY_LIFE_S + late;
        fl_status status = fl_sessions_redeem(f->sessions, fl_sv_from_cstr(key), FL_SV("a"),
                                              &f->arena, &cookie, &tier, &f->err);
        check_int(status, late ? FL_EAUTH : FL_OK);
    }
}

/* An empty key must not match the empty places of the table. */
static void test_no_key_is_no_key(void **state)
{
    fixture *f = *state;
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    char zeros[65] = {0};
    memset(zeros, '0', 64);
    check_int(
        fl_sessions_redeem(f->sessions, FL_SV(""), FL_SV(""), &f->arena, &cookie, &tier, &f->err),
        FL_EAUTH);
    check_int(fl_sessions_redeem(f->sessions, fl_sv_from_cstr(zeros), FL_SV(""), &f->arena, &cookie,
                                 &tier, &f->err),
              FL_EAUTH);
}

/* The words of RFC 6265bis: HttpOnly, SameSite, Path; no Domain, so that no other host gets it. */
static void test_cookie_text(void **state)
{
    fixture *f = *state;
    char key[FL_SECRET_TEXT_MAX];
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    (void)fl_sessions_new_key(f->sessions, FL_TIER_DEVICE, 120, key);
    check_ok(fl_sessions_redeem(f->sessions, fl_sv_from_cstr(key), FL_SV(""), &f->arena, &cookie,
                                &tier, &f->err),
             &f->err);
    const char *name = fl_sessions_cookie_name(f->sessions);
    check_int(strncmp(name, "fernlock_", 9), 0);
    check_int(strlen(name), 17);
    check_int(strncmp(cookie.ptr, name, strlen(name)), 0);
    check_contains(cookie.ptr, "; Max-Age=2592000; Path=/; HttpOnly; SameSite=Strict");
    check_true(strstr(cookie.ptr, key) == NULL);
    check_true(strstr(cookie.ptr, "Secure") == NULL); /* over http it would be dropped */
    check_true(strstr(cookie.ptr, "Domain") == NULL);
}

static void test_who(void **state)
{
    fixture *f = *state;
    check_int(who(f, "").tier, FL_TIER_NONE);
    check_false(who(f, "").has_cookie);
    const char *phone = sign_in(f, FL_TIER_DEVICE, FL_SV("my phone"));
    const char *laptop = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    check_int(who(f, phone).tier, FL_TIER_DEVICE);
    check_int(who(f, laptop).tier, FL_TIER_OWNER);
    check_true(who(f, laptop).has_cookie);
    check_false(who(f, laptop).is_bearer);
    check_true(who(f, phone).session != who(f, laptop).session);
    check_int(who(f, "Cookie: a=b\r\n").tier, FL_TIER_NONE);
    check_true(who(f, "Cookie: a=b\r\n").has_cookie);
    /* a cookie of the same name that another program set does not lock the keeper out */
    fl_sv tossed = fl_arena_printf(&f->arena, "Cookie: %s=evil; %s",
                                   fl_sessions_cookie_name(f->sessions), laptop + 8);
    check_int(who(f, tossed.ptr).tier, FL_TIER_OWNER);
}

static void test_token(void **state)
{
    fixture *f = *state;
    char *token = read_file(path_of(f, FL_TOKEN_FILE));
    check_int(strlen(token), 64);
    fl_sv good = fl_arena_printf(&f->arena, "Authorization: Bearer %s\r\n", token);
    fl_who got = who(f, good.ptr);
    check_int(got.tier, FL_TIER_OWNER);
    check_true(got.is_bearer);
    check_false(got.has_false_bearer);
    static const char *const forms[] = {
        "Authorization: Bearer\r\n",   "Authorization: Bearer \r\n",
        "Authorization: Bearer x\r\n", "Authorization: Basic %s\r\n",
        "Authorization: %s\r\n",       "Authorization: Bearer %s0\r\n"};
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        char header[256];
        const char *at = strstr(forms[i], "%s");
        (void)snprintf(header, sizeof header, "%.*s%s%s",
                       (int)(at == NULL ? strlen(forms[i]) : (size_t)(at - forms[i])), forms[i],
                       at == NULL ? "" : token, at == NULL ? "" : at + 2);
        check_int(who(f, header).tier, FL_TIER_NONE);
        check_true(who(f, header).has_false_bearer);
    }
}

static void test_end(void **state)
{
    fixture *f = *state;
    fl_sv cookie = {NULL, 0};
    const char *laptop = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    const char *other = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    int number = who(f, laptop).session;
    check_ok(fl_sessions_end(f->sessions, number, &f->arena, &cookie, &f->err), &f->err);
    check_contains(cookie.ptr, "=; Max-Age=0; Path=/");
    check_int(who(f, laptop).tier, FL_TIER_NONE);
    check_int(who(f, other).tier, FL_TIER_OWNER);
    check_int(fl_sessions_end(f->sessions, number, &f->arena, &cookie, &f->err), FL_ENOTFOUND);
    check_int(fl_sessions_end(f->sessions, -1, &f->arena, &cookie, &f->err), FL_ENOTFOUND);
}

static void test_idle_session_ends(void **state)
{
    fixture *f = *state;
    const char *laptop = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    f->now_s += FL_SESSION_IDLE_S;
    check_int(who(f, laptop).tier, FL_TIER_OWNER); /* and is fresh again */
    f->now_s += FL_SESSION_IDLE_S;
    check_int(who(f, laptop).tier, FL_TIER_OWNER);
    f->now_s += FL_SESSION_IDLE_S + 1;
    check_int(who(f, laptop).tier, FL_TIER_NONE);
}

static void test_sessions_survive_a_restart(void **state)
{
    fixture *f = *state;
    const char *phone = sign_in(f, FL_TIER_DEVICE, FL_SV("sink\nphone"));
    char name[32];
    (void)snprintf(name, sizeof name, "%s", fl_sessions_cookie_name(f->sessions));
    fl_sessions_close(f->sessions);
    open_sessions(f);
    check_str(fl_sessions_cookie_name(f->sessions), name);
    check_int(who(f, phone).tier, FL_TIER_DEVICE);
    /* what is kept cannot be used to sign in */
    char *kept = read_file(path_of(f, FL_SESSIONS_FILE));
    check_contains(kept, "sinkphone");
    const char *value = strchr(strstr(phone, "fernlock_"), '=') + 1;
    char secret[65] = {0};
    memcpy(secret, value, 64);
    check_true(strstr(kept, secret) == NULL);
    fl_sessions_close(f->sessions);
    check_int(unlink(path_of(f, FL_SESSIONS_FILE)), 0);
    open_sessions(f);
    check_int(who(f, phone).tier, FL_TIER_NONE);
}

static void test_oldest_session_makes_room(void **state)
{
    fixture *f = *state;
    const char *first = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    f->now_s++;
    const char *second = sign_in(f, FL_TIER_OWNER, FL_SV(""));
    for (int i = 2; i < FL_SESSIONS_MAX; i++) {
        f->now_s++;
        (void)sign_in(f, FL_TIER_OWNER, FL_SV(""));
    }
    f->now_s++;
    check_int(who(f, first).tier, FL_TIER_OWNER); /* used: the second is now the oldest */
    (void)sign_in(f, FL_TIER_OWNER, FL_SV(""));
    check_int(who(f, first).tier, FL_TIER_OWNER);
    check_int(who(f, second).tier, FL_TIER_NONE);
}

static void check_mode(const char *path)
{
    struct stat info;
    check_int(stat(path, &info), 0);
    check_int(info.st_mode & 0777, 0600);
}

static void test_files_are_private(void **state)
{
    fixture *f = *state;
    (void)sign_in(f, FL_TIER_OWNER, FL_SV(""));
    check_mode(path_of(f, FL_TOKEN_FILE));
    check_mode(path_of(f, FL_SESSIONS_FILE));
    check_int(chmod(path_of(f, FL_TOKEN_FILE), 0640), 0);
    fl_sessions *again = NULL;
    check_int(fl_sessions_open(f->dir, fl_clock_fixed(&f->now_s), &again, &f->err), FL_EFORBIDDEN);
    check_contains(f->err.message, "chmod 600");
    check_true(again == NULL);
}

static void write_file(const char *path, const char *text)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    check_true(file >= 0);
    check_int(write(file, text, strlen(text)), (int64_t)strlen(text));
    (void)close(file);
}

static void test_damaged_files(void **state)
{
    fixture *f = *state;
    fl_sessions *again = NULL;
    static const char *const bad[] = {"", "something else\n", "fernlock sessions 1\nabc\n",
                                      "fernlock sessions 1\n\n"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        write_file(path_of(f, FL_SESSIONS_FILE), bad[i]);
        check_int(fl_sessions_open(f->dir, fl_clock_fixed(&f->now_s), &again, &f->err), FL_EFORMAT);
        check_contains(f->err.message, "delete it");
    }
    check_int(unlink(path_of(f, FL_SESSIONS_FILE)), 0);
    write_file(path_of(f, FL_TOKEN_FILE), "short");
    check_int(fl_sessions_open(f->dir, fl_clock_fixed(&f->now_s), &again, &f->err), FL_EFORMAT);
    check_int(unlink(path_of(f, FL_TOKEN_FILE)), 0);
    check_int(symlink("/etc/hostname", path_of(f, FL_TOKEN_FILE)), 0);
    check_true(fl_sessions_open(f->dir, fl_clock_fixed(&f->now_s), &again, &f->err) != FL_OK);
    check_int(unlink(path_of(f, FL_TOKEN_FILE)), 0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_key_works_once, setup, teardown),
    cmocka_unit_test_setup_teardown(test_key_lives_a_minute, setup, teardown),
    cmocka_unit_test_setup_teardown(test_no_key_is_no_key, setup, teardown),
    cmocka_unit_test_setup_teardown(test_cookie_text, setup, teardown),
    cmocka_unit_test_setup_teardown(test_who, setup, teardown),
    cmocka_unit_test_setup_teardown(test_token, setup, teardown),
    cmocka_unit_test_setup_teardown(test_end, setup, teardown),
    cmocka_unit_test_setup_teardown(test_idle_session_ends, setup, teardown),
    cmocka_unit_test_setup_teardown(test_sessions_survive_a_restart, setup, teardown),
    cmocka_unit_test_setup_teardown(test_oldest_session_makes_room, setup, teardown),
    cmocka_unit_test_setup_teardown(test_files_are_private, setup, teardown),
    cmocka_unit_test_setup_teardown(test_damaged_files, setup, teardown),
};
FL_TEST_MAIN(tests)
