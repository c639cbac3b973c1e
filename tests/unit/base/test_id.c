/* base/id.h and base/hash.h. */
#include <ctype.h>
#include <string.h>

#include "base/hash.h"
#include "base/id.h"
#include "support/check.h"

static fl_id id_of(const char *text)
{
    fl_id id = {{0}};
    fl_err err = {0};
    check_ok(fl_id_parse(fl_sv_from_cstr(text), &id, &err), &err);
    return id;
}

static void check_hash(fl_hash hash, const char *want)
{
    char buffer[FL_HASH_TEXT_MAX];
    check_str(fl_hash_format(buffer, hash), want);
}

/* NIST, "SHA-256" example values for FIPS 180-4 (one block, two blocks), and the empty message. */
static void test_sha256(void **state)
{
    (void)state;
    check_hash(fl_hash_of("abc", 3),
               "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    check_hash(fl_hash_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 56),
               "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    check_hash(fl_hash_of(NULL, 0),
               "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void test_hash_link(void **state)
{
    (void)state;
    fl_hash previous = fl_hash_of("abc", 3);
    unsigned char whole[FL_HASH_BYTES + 4];
    memcpy(whole, previous.b, FL_HASH_BYTES);
    memcpy(whole + FL_HASH_BYTES, "next", 4);
    fl_hash got = fl_hash_link(previous, "next", 4);
    fl_hash want = fl_hash_of(whole, sizeof whole);
    check_int(memcmp(got.b, want.b, FL_HASH_BYTES), 0);
    fl_hash unlike = fl_hash_link(previous, NULL, 0);
    check_true(memcmp(got.b, unlike.b, FL_HASH_BYTES) != 0);
}

static void test_hash_secret(void **state)
{
    (void)state;
    fl_hash a = fl_hash_of("abc", 3);
    check_true(fl_hash_eq_secret(a, fl_hash_of("abc", 3)));
    for (size_t i = 0; i < FL_HASH_BYTES; i++) {
        fl_hash b = a;
        b.b[i] = (uint8_t)(b.b[i] ^ 1u);
        check_false(fl_hash_eq_secret(a, b));
    }
}

/* The examples of RFC 9562, appendix A.3 (version 4) and section 4 (canonical form). */
static void test_uuid_text(void **state)
{
    (void)state;
    char buffer[FL_ID_TEXT_MAX];
    fl_id id = id_of("919108f7-52d1-4320-9bac-f847db4148a8");
    check_int(id.b[0], 0x91);
    check_int(id.b[15], 0xa8);
    check_str(fl_id_format(buffer, id), "919108f7-52d1-4320-9bac-f847db4148a8");
    check_true(fl_id_eq(id, id_of("919108F7-52D1-4320-9BAC-F847DB4148A8")));
    check_str(fl_id_format(buffer, id_of("f81d4fae-7dec-11d0-a765-00a0c91e6bf6")),
              "f81d4fae-7dec-11d0-a765-00a0c91e6bf6");
}

static void test_uuid_refuses(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      "f81d4fae7dec11d0a76500a0c91e6bf6",
                                      "f81d4fae-7dec-11d0-a765-00a0c91e6bf",
                                      "f81d4fae-7dec-11d0-a765-00a0c91e6bf61",
                                      "g81d4fae-7dec-11d0-a765-00a0c91e6bf6",
                                      "f81d4fae-7dec-11d0-a765_00a0c91e6bf6",
                                      "{81d4fae-7dec-11d0-a765-00a0c91e6bf}",
                                      "f81d4fae-7dec-11d0a-765-00a0c91e6bf6"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fl_id id = {{9}};
        fl_err err = {0};
        check_int(fl_id_parse(fl_sv_from_cstr(bad[i]), &id, &err), FL_EFORMAT);
        check_status(&err, FL_EFORMAT);
        check_contains(err.message, bad[i]);
        check_int(id.b[0], 9);
    }
}

static void test_id_order(void **state)
{
    (void)state;
    fl_id none = {{0}};
    fl_id low = {{1}};
    fl_id high = {{0xff}};
    check_true(fl_id_is_none(none));
    check_false(fl_id_is_none(low));
    check_int(fl_id_compare(low, high), -1);
    check_int(fl_id_compare(high, low), 1);
    check_int(fl_id_compare(low, low), 0);
}

static void check_version(fl_id id, int version)
{
    check_int(id.b[6] >> 4, version);
    check_int(id.b[8] >> 6, 2); /* RFC 9562, 4.1: variant 10 */
}

static void test_random_and_derived(void **state)
{
    (void)state;
    fl_id a = fl_id_random();
    fl_id b = fl_id_random();
    check_false(fl_id_eq(a, b));
    check_version(a, 4);
    fl_id derived = fl_id_derive(a, FL_SV("bench"));
    check_version(derived, 8);
    check_true(fl_id_eq(derived, fl_id_derive(a, FL_SV("bench"))));
    check_false(fl_id_eq(derived, fl_id_derive(a, FL_SV("bench2"))));
    check_false(fl_id_eq(derived, fl_id_derive(b, FL_SV("bench"))));
    check_false(fl_id_eq(derived, fl_id_derive(a, FL_SV(""))));
    /* stored data leans on this value: it may not change */
    char buffer[FL_ID_TEXT_MAX];
    check_str(fl_id_format(buffer, fl_id_derive((fl_id){{0}}, FL_SV("x"))),
              "e3334163-81d4-8a5a-83dd-56f28c2bc537");
}

/* Every wrong symbol and every swap of unlike neighbours is noticed. */
static void test_code_check_symbol(void **state)
{
    (void)state;
    static const char alphabet[] = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";
    for (uint8_t n = 0; n < 40; n++) {
        char code[FL_CODE_TEXT_MAX];
        char wrong[FL_CODE_TEXT_MAX];
        fl_id_code(code, (fl_id){{n, 1}});
        check_int(strlen(code), 6);
        check_true(fl_id_code_is_valid(fl_sv_from_cstr(code)));
        for (size_t i = 0; i < 6; i++) {
            check_true(strchr(alphabet, code[i]) != NULL);
            for (const char *other = alphabet; *other != '\0'; other++) {
                memcpy(wrong, code, sizeof wrong);
                wrong[i] = *other;
                check_int(fl_id_code_is_valid(fl_sv_from_cstr(wrong)), *other == code[i]);
            }
        }
        for (size_t i = 0; i + 1 < 5; i++) {
            memcpy(wrong, code, sizeof wrong);
            wrong[i] = code[i + 1];
            wrong[i + 1] = code[i];
            check_int(fl_id_code_is_valid(fl_sv_from_cstr(wrong)), code[i] == code[i + 1]);
        }
    }
}

static void test_code_text(void **state)
{
    (void)state;
    char code[FL_CODE_TEXT_MAX];
    fl_id_code(code, (fl_id){{3}});
    check_str(code, "9YUPU6"); /* printed labels lean on this value: it may not change */
    for (char *at = code; *at != '\0'; at++) {
        *at = (char)tolower((unsigned char)*at);
    }
    check_true(fl_id_code_is_valid(fl_sv_from_cstr(code)));
    check_false(fl_id_code_is_valid(FL_SV("")));
    check_false(fl_id_code_is_valid(FL_SV("22222")));
    check_true(fl_id_code_is_valid(FL_SV("222222")));
    check_false(fl_id_code_is_valid(FL_SV("2222222")));
    check_false(fl_id_code_is_valid(FL_SV("22O222")));
    check_false(fl_id_code_is_valid(FL_SV("22222\xc3")));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sha256),
    cmocka_unit_test(test_hash_link),
    cmocka_unit_test(test_hash_secret),
    cmocka_unit_test(test_uuid_text),
    cmocka_unit_test(test_uuid_refuses),
    cmocka_unit_test(test_id_order),
    cmocka_unit_test(test_random_and_derived),
    cmocka_unit_test(test_code_check_symbol),
    cmocka_unit_test(test_code_text),
};
FL_TEST_MAIN(tests)
