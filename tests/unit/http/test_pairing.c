/* http/pairing.h, http/device.h, http/lan.h. What pairing must do is written in
 * docs/models/server.md ("Letting a phone in"): a key of 128 bits that works once for two
 * minutes, six digits to compare or to type, five wrong ones at most. Private ranges: RFC 1918,
 * RFC 4193, RFC 3927. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "http/device.h"
#include "http/lan.h"
#include "http/pairing.h"
#include "http/session_table.h"
#include "support/check.h"

#define NOW 1700000000

typedef struct fixture {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s;
    fl_sessions *sessions;
    fl_pairing pairing;
    char key[FL_PAIR_KEY_MAX];
    char claim[FL_SECRET_TEXT_MAX];
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
    f->now_s = NOW;
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

static fl_status claim(fixture *f, const char *secret, bool is_typed)
{
    return fl_pairing_claim(&f->pairing, f->now_s, fl_sv_from_cstr(secret), is_typed,
                            FL_SV("Sink phone"), f->claim, &f->err);
}

static fl_pair_state of_claim(fixture *f)
{
    return fl_pairing_of_claim(&f->pairing, f->now_s, fl_sv_from_cstr(f->claim));
}

static void test_a_phone_is_let_in(void **state)
{
    fixture *f = *state;
    check_int(fl_pairing_state(&f->pairing, NOW), FL_PAIR_NONE);
    fl_pairing_offer(&f->pairing, NOW, f->key);
    check_int(strlen(f->key), 32); /* 128 bits in hex */
    check_int(strspn(f->key, "0123456789abcdef"), 32);
    check_int(strspn(f->pairing.code, "0123456789"), 6);
    check_int(claim(f, "0123456789abcdef0123456789abcdef", false), FL_EAUTH);
    check_int(claim(f, "", false), FL_EAUTH);
    check_ok(claim(f, f->key, false), &f->err);
    check_str(f->pairing.name, "Sink phone");
    check_false(f->pairing.is_typed);
    check_int(of_claim(f), FL_PAIR_ASKING);
    check_int(fl_pairing_of_claim(&f->pairing, NOW, FL_SV("x")), FL_PAIR_NONE);
    char other[FL_SECRET_TEXT_MAX];
    check_int(fl_pairing_claim(&f->pairing, NOW, fl_sv_from_cstr(f->key), false, FL_SV("thief"),
                               other, &f->err),
              FL_EAUTH); /* once */
    check_ok(fl_pairing_allow(&f->pairing, NOW, &f->err), &f->err);
    check_int(of_claim(f), FL_PAIR_ALLOWED);
    fl_pairing_join(&f->pairing);
    check_int(of_claim(f), FL_PAIR_NONE); /* the claim is spent too */
    check_int(fl_pairing_allow(&f->pairing, NOW, &f->err), FL_ENOTFOUND);
}

static void test_two_minutes(void **state)
{
    fixture *f = *state;
    for (int late = 0; late < 2; late++) {
        fl_pairing_offer(&f->pairing, f->now_s, f->key);
        f->now_s += 120 + late;
        check_int(claim(f, f->key, false), late ? FL_EAUTH : FL_OK);
        check_int(fl_pairing_state(&f->pairing, f->now_s), late ? FL_PAIR_EXPIRED : FL_PAIR_ASKING);
    }
    fl_pairing_offer(&f->pairing, f->now_s, f->key);
    check_ok(claim(f, f->key, false), &f->err);
    f->now_s += 121; /* nobody allowed it */
    check_int(fl_pairing_allow(&f->pairing, f->now_s, &f->err), FL_ENOTFOUND);
    check_int(of_claim(f), FL_PAIR_EXPIRED);
    fl_pairing_offer(&f->pairing, f->now_s, f->key);
    check_ok(claim(f, f->key, false), &f->err);
    check_ok(fl_pairing_allow(&f->pairing, f->now_s, &f->err), &f->err);
    f->now_s += 121; /* nobody fetched it */
    check_int(of_claim(f), FL_PAIR_EXPIRED);
}

static void test_typed_digits(void **state)
{
    fixture *f = *state;
    char spaced[16];
    fl_pairing_offer(&f->pairing, NOW, f->key);
    (void)snprintf(spaced, sizeof spaced, "%.3s %s", f->pairing.code, f->pairing.code + 3);
    check_int(claim(f, f->pairing.code, false), FL_EAUTH); /* the digits are no key */
    check_int(claim(f, f->key, true), FL_EAUTH);           /* and the key no digits: wrong, once */
    check_ok(claim(f, spaced, true), &f->err);
    check_true(f->pairing.is_typed);
}

static void test_wrong_digits(void **state)
{
    fixture *f = *state;
    char wrong[FL_PAIR_CODE_MAX];
    for (int n = 4; n <= 5; n++) {
        fl_pairing_offer(&f->pairing, NOW, f->key);
        (void)snprintf(wrong, sizeof wrong, "%s", f->pairing.code);
        wrong[5] = wrong[5] == '9' ? '0' : (char)(wrong[5] + 1);
        for (int i = 0; i < n; i++) {
            check_int(claim(f, wrong, true), FL_EAUTH);
        }
        check_int(claim(f, f->pairing.code, true), n == 4 ? FL_OK : FL_EAUTH);
        check_int(fl_pairing_state(&f->pairing, NOW), n == 4 ? FL_PAIR_ASKING : FL_PAIR_BLOCKED);
    }
    check_int(claim(f, f->key, false), FL_EAUTH); /* blocked is blocked */
    fl_pairing_offer(&f->pairing, NOW, f->key);
    char bad[][12] = {"", "12345", "1234567", "12345x", "      "};
    for (size_t i = 0; i < 4; i++) {
        check_int(claim(f, bad[i], true), FL_EAUTH);
    }
}

static void test_refused_and_replaced(void **state)
{
    fixture *f = *state;
    char old[FL_PAIR_KEY_MAX];
    fl_pairing_offer(&f->pairing, NOW, old);
    fl_pairing_offer(&f->pairing, NOW, f->key); /* one at a time */
    check_true(strcmp(old, f->key) != 0);
    check_int(claim(f, old, false), FL_EAUTH);
    check_ok(claim(f, f->key, false), &f->err);
    fl_pairing_end(&f->pairing, NOW);
    check_int(of_claim(f), FL_PAIR_REFUSED);
    fl_pairing_end(&f->pairing, NOW); /* the phone still hears it */
    check_int(of_claim(f), FL_PAIR_REFUSED);
    check_int(fl_pairing_allow(&f->pairing, NOW, &f->err), FL_ENOTFOUND);
    fl_pairing_offer(&f->pairing, NOW, f->key);
    fl_pairing_end(&f->pairing, NOW);
    check_int(fl_pairing_state(&f->pairing, NOW), FL_PAIR_NONE);
    check_int(claim(f, f->key, false), FL_EAUTH);
}

/* ---- devices ---- */

static fl_who who(fixture *f, const char *cookie)
{
    fl_request request;
    fl_sv text = fl_arena_printf(&f->arena, "GET / HTTP/1.1\r\nCookie: %s\r\n\r\n", cookie);
    check_ok(fl_head_parse(text, &request, &f->err), &f->err);
    return fl_sessions_who(f->sessions, &request);
}

static const char *admit(fixture *f, fl_sv name)
{
    fl_sv cookie = {NULL, 0};
    check_ok(fl_sessions_admit(f->sessions, name, &f->arena, &cookie, &f->err), &f->err);
    return fl_arena_copy_sv(&f->arena, fl_sv_split(&cookie, ';')).ptr;
}

static void test_devices_are_listed(void **state)
{
    fixture *f = *state;
    static fl_paired_device all[FL_SESSIONS_MAX];
    check_int(fl_devices_list(f->sessions, all), 0);
    const char *first = admit(f, FL_SV("Sink phone"));
    f->now_s += 60;
    (void)admit(f, FL_SV(""));
    check_int(fl_devices_list(f->sessions, all), 2);
    check_str(all[1].name, "Sink phone");
    check_int(all[1].made_s, NOW);
    check_int(all[1].seen_s, NOW);
    check_int(all[1].ends_s, NOW + 30 * 86400);
    check_int(all[1].tier, FL_TIER_DEVICE);
    check_int(strncmp(all[1].label, "Sink phone ", 11), 0);
    check_int(strlen(all[1].label), 11 + 6);
    check_int(strncmp(all[0].label, "phone ", 6), 0); /* it told no name */
    check_int(strlen(all[0].id), 16);
    f->now_s += 60;
    check_int(who(f, first).tier, FL_TIER_DEVICE); /* used: now the latest */
    check_int(fl_devices_list(f->sessions, all), 2);
    check_str(all[0].name, "Sink phone");
    check_int(all[0].seen_s, NOW + 120);
    fl_paired_device one;
    check_true(fl_devices_of(f->sessions, who(f, first).session, &one));
    check_str(one.id, all[0].id);
    check_false(fl_devices_of(f->sessions, -1, &one));
    f->now_s += 30 * 86400 + 1; /* both idle: they cannot come in, and are not listed */
    check_int(fl_devices_list(f->sessions, all), 0);
}

static void test_devices_survive_a_restart(void **state)
{
    fixture *f = *state;
    static fl_paired_device before[FL_SESSIONS_MAX];
    static fl_paired_device after[FL_SESSIONS_MAX];
    const char *cookie = admit(f, FL_SV("Sink phone"));
    check_int(fl_devices_list(f->sessions, before), 1);
    check_ok(fl_devices_rename(f->sessions, fl_sv_from_cstr(before[0].id), FL_SV(" Old phone "),
                               &f->err),
             &f->err);
    fl_sessions_close(f->sessions);
    open_sessions(f);
    check_int(fl_devices_list(f->sessions, after), 1);
    check_str(after[0].name, "Old phone");
    check_str(after[0].label, before[0].label); /* the journal's name of it stays */
    check_str(after[0].id, before[0].id);
    check_int(after[0].made_s, NOW);
    check_int(who(f, cookie).tier, FL_TIER_DEVICE);
}

static void test_devices_are_sent_away(void **state)
{
    fixture *f = *state;
    static fl_paired_device all[FL_SESSIONS_MAX];
    int number = 0;
    const char *one = admit(f, FL_SV("a"));
    f->now_s++;
    const char *other = admit(f, FL_SV("b"));
    check_int(fl_devices_list(f->sessions, all), 2);
    const int was = who(f, other).session;
    check_ok(fl_devices_revoke(f->sessions, fl_sv_from_cstr(all[0].id), &number, &f->err), &f->err);
    check_int(number, was);
    check_int(who(f, other).tier, FL_TIER_NONE);
    check_int(who(f, one).tier, FL_TIER_DEVICE);
    check_int(fl_devices_revoke(f->sessions, fl_sv_from_cstr(all[0].id), &number, &f->err),
              FL_ENOTFOUND);
    check_int(fl_devices_rename(f->sessions, FL_SV(""), FL_SV("x"), &f->err), FL_ENOTFOUND);
    check_int(fl_devices_rename(f->sessions, fl_sv_from_cstr(all[1].id), FL_SV(" \n"), &f->err),
              FL_EINVAL);
    fl_sessions_close(f->sessions); /* also after a restart */
    open_sessions(f);
    check_int(who(f, other).tier, FL_TIER_NONE);
    check_int(who(f, one).tier, FL_TIER_DEVICE);
}

/* A name is cut between characters, so that what is answered stays UTF-8. */
static void test_long_names(void **state)
{
    (void)state;
    char out[8];
    fl_session_copy_name(out, sizeof out, FL_SV("abcdef\xc3\xa9"));
    check_str(out, "abcdef");
    fl_session_copy_name(out, sizeof out, FL_SV("abcde\xc3\xa9x"));
    check_str(out, "abcde\xc3\xa9");
    fl_session_copy_name(out, sizeof out, FL_SV("abcd\xf0\x9f\x8c\xbf"));
    check_str(out, "abcd");
    fl_session_copy_name(out, sizeof out, FL_SV("a\tb\x7f\n"));
    check_str(out, "ab");
    fl_session_copy_name(out, sizeof out, FL_SV(""));
    check_str(out, "");
}

/* ---- the network ---- */

static void test_interfaces(void **state)
{
    (void)state;
    static const char *const virtual[] = {"docker0", "br-1a2b3c",  "veth12", "virbr0",
                                          "wg0",     "tailscale0", "tun0"};
    static const char *const real[] = {"eth0", "wlan0", "enp3s0", "wlp2s0", "en0", "bridge0"};
    for (size_t i = 0; i < sizeof virtual / sizeof virtual[0]; i++) {
        check_true(fl_lan_is_virtual(virtual[i]));
    }
    for (size_t i = 0; i < sizeof real / sizeof real[0]; i++) {
        check_false(fl_lan_is_virtual(real[i]));
    }
    static const char *const home[] = {"10.0.0.1",     "10.255.255.255", "172.16.0.1",
                                       "172.31.255.1", "192.168.178.20", "169.254.3.4",
                                       "fd12:3456::1"};
    static const char *const public[] = {"172.15.0.1",   "172.32.0.1",  "192.169.0.1", "11.0.0.1",
                                         "198.51.100.1", "2001:db8::1", "fe80::1",     "x"};
    for (size_t i = 0; i < sizeof home / sizeof home[0]; i++) {
        check_true(fl_lan_is_private(home[i]));
    }
    for (size_t i = 0; i < sizeof public / sizeof public[0]; i++) {
        check_false(fl_lan_is_private(public[i]));
    }
    fl_lan_address all[FL_LAN_ADDRESSES_MAX];
    const size_t count = fl_lan_addresses(all);
    for (size_t i = 0; i < count; i++) {
        check_true(strncmp(all[i].text, "127.", 4) != 0);
        check_true(i == 0 || all[i - 1].is_private >= all[i].is_private);
    }
}

static void keep_line(void *context, const char *line)
{
    (void)snprintf(context, 200, "%s", line);
}

static void test_the_network_opens_and_closes(void **state)
{
    fixture *f = *state;
    fl_listeners listeners;
    char said[200] = "";
    check_ok(fl_listen(0, NULL, &listeners, &f->err), &f->err);
    fl_site site = fl_site_of_loopback(listeners.port);
    fl_lan lan = {.listeners = &listeners,
                  .site = &site,
                  .closed = site,
                  .log = keep_line,
                  .log_context = said};
    const size_t n = listeners.count;
    fl_sv authority = fl_arena_printf(&f->arena, "127.0.0.2:%u", listeners.port);
    check_sv(fl_lan_origin(&lan, &f->arena), "");
    static const char *const bad[] = {"",          "0.0.0.0",  "::", "evil.example",
                                      "192.0.2.1", "224.0.0.1"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        check_true(fl_lan_open(&lan, bad[i], &f->err) != FL_OK);
        check_int(listeners.count, n);
        check_int(site.n_names, lan.closed.n_names);
    }
    for (int round = 0; round < 2; round++) { /* opening twice is opening once */
        check_ok(fl_lan_open(&lan, "127.0.0.2", &f->err), &f->err);
        check_int(listeners.count, n + 1);
        check_true(fl_site_has(&site, authority));
    }
    check_contains(said, "open to the network: 127.0.0.2");
    check_ok(fl_lan_open(&lan, "127.0.0.3", &f->err), &f->err); /* one at a time */
    check_int(listeners.count, n + 1);
    check_false(fl_site_has(&site, authority));
    fl_lan_close(&lan);
    check_int(listeners.count, n);
    check_contains(said, "closed to the network: 127.0.0.3");
    check_int(site.n_names, lan.closed.n_names);
    fl_lan_close(&lan);
    check_int(listeners.count, n);
    fl_listen_done(&listeners);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_a_phone_is_let_in, setup, teardown),
    cmocka_unit_test_setup_teardown(test_two_minutes, setup, teardown),
    cmocka_unit_test_setup_teardown(test_typed_digits, setup, teardown),
    cmocka_unit_test_setup_teardown(test_wrong_digits, setup, teardown),
    cmocka_unit_test_setup_teardown(test_refused_and_replaced, setup, teardown),
    cmocka_unit_test_setup_teardown(test_devices_are_listed, setup, teardown),
    cmocka_unit_test_setup_teardown(test_devices_survive_a_restart, setup, teardown),
    cmocka_unit_test_setup_teardown(test_devices_are_sent_away, setup, teardown),
    cmocka_unit_test(test_long_names),
    cmocka_unit_test(test_interfaces),
    cmocka_unit_test_setup_teardown(test_the_network_opens_and_closes, setup, teardown),
};
FL_TEST_MAIN(tests)
