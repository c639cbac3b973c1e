/* UUIDs (RFC 9562) and short codes for labels. */
#include "base/id.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include "base/hash.h"
#include "base/shown.h"

#define CODE_SYMBOLS 31 /* a prime, so that the weighted sum below finds every single slip */
#define CODE_LEN 5

static const char code_alphabet[] = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";
_Static_assert(sizeof code_alphabet == CODE_SYMBOLS + 1, "31 symbols");

bool fl_id_is_none(fl_id id)
{
    return fl_id_eq(id, (fl_id){{0}});
}

bool fl_id_eq(fl_id a, fl_id b)
{
    return memcmp(a.b, b.b, sizeof a.b) == 0;
}

int fl_id_compare(fl_id a, fl_id b)
{
    int order = memcmp(a.b, b.b, sizeof a.b);
    return (order > 0) - (order < 0);
}

static int hex_value(char c)
{
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    if (c >= 'A' && c <= 'F') {
        return c - 'A' + 10;
    }
    return -1;
}

static bool is_dash_position(size_t i)
{
    return i == 8 || i == 13 || i == 18 || i == 23;
}

/* True and *out set when the text has the 8-4-4-4-12 form. */
static bool read_uuid(fl_sv text, fl_id *out)
{
    fl_id id = {{0}};
    size_t digit = 0;
    if (text.len != FL_ID_TEXT_MAX - 1) {
        return false;
    }
    for (size_t i = 0; i < text.len; i++) {
        if (is_dash_position(i)) {
            if (text.ptr[i] != '-') {
                return false;
            }
            continue;
        }
        int value = hex_value(text.ptr[i]);
        if (value < 0) {
            return false;
        }
        id.b[digit / 2] = (uint8_t)(id.b[digit / 2] * 16 + value);
        digit++;
    }
    *out = id;
    return true;
}

fl_status fl_id_parse(fl_sv text, fl_id *out, fl_err *err)
{
    if (!read_uuid(text, out)) {
        return fl_fail(err, FL_EFORMAT, "id \"%.*s\": give a UUID, 8-4-4-4-12 hex digits",
                       FL_SHOWN(text));
    }
    return FL_OK;
}

const char *fl_id_format(char *buffer, fl_id id)
{
    static const char digits[] = "0123456789abcdef";
    size_t digit = 0;
    for (size_t i = 0; i < FL_ID_TEXT_MAX - 1; i++) {
        if (is_dash_position(i)) {
            buffer[i] = '-';
            continue;
        }
        unsigned byte = id.b[digit / 2];
        buffer[i] = digits[digit % 2 == 0 ? byte >> 4 : byte & 15u];
        digit++;
    }
    buffer[FL_ID_TEXT_MAX - 1] = '\0';
    return buffer;
}

static void set_version(fl_id *id, unsigned version)
{
    id->b[6] = (uint8_t)((id->b[6] & 0x0fu) | (version << 4));
    id->b[8] = (uint8_t)((id->b[8] & 0x3fu) | 0x80u); /* the variant of RFC 9562 */
}

fl_id fl_id_random(void)
{
    fl_id id;
    if (sodium_init() < 0) {
        (void)fputs("fernlock: the system gives no random numbers\n", stderr);
        _Exit(3);
    }
    randombytes_buf(id.b, sizeof id.b);
    set_version(&id, 4);
    return id;
}

fl_id fl_id_derive(fl_id parent, fl_sv name)
{
    crypto_hash_sha256_state state;
    uint8_t hash[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_init(&state);
    crypto_hash_sha256_update(&state, parent.b, sizeof parent.b);
    crypto_hash_sha256_update(&state, (const unsigned char *)name.ptr, name.len);
    crypto_hash_sha256_final(&state, hash);
    fl_id id;
    memcpy(id.b, hash, sizeof id.b);
    set_version(&id, 8);
    return id;
}

/* The sum of (i + 1) * symbol[i], modulo a prime: any one wrong symbol and any two neighbours
 * swapped change it. */
static unsigned check_symbol(const unsigned *symbols)
{
    unsigned sum = 0;
    for (unsigned i = 0; i < CODE_LEN; i++) {
        sum += (i + 1) * symbols[i];
    }
    return sum % CODE_SYMBOLS;
}

const char *fl_id_code(char *buffer, fl_id id)
{
    /* hashed, because the first bytes of an id need not be evenly spread */
    fl_hash hash = fl_hash_of(id.b, sizeof id.b);
    uint64_t number = 0;
    for (size_t i = 0; i < 8; i++) {
        number = number << 8 | hash.b[i];
    }
    unsigned symbols[CODE_LEN];
    for (size_t i = 0; i < CODE_LEN; i++) {
        symbols[i] = (unsigned)(number % CODE_SYMBOLS);
        number /= CODE_SYMBOLS;
        buffer[i] = code_alphabet[symbols[i]];
    }
    buffer[CODE_LEN] = code_alphabet[check_symbol(symbols)];
    buffer[CODE_LEN + 1] = '\0';
    return buffer;
}

/* The value of a symbol in either case; CODE_SYMBOLS when it is none. */
static unsigned symbol_value(char c)
{
    char upper = (c >= 'a' && c <= 'z') ? (char)(c - 'a' + 'A') : c;
    for (unsigned i = 0; i < CODE_SYMBOLS; i++) {
        if (code_alphabet[i] == upper) {
            return i;
        }
    }
    return CODE_SYMBOLS;
}

bool fl_id_code_is_valid(fl_sv text)
{
    unsigned symbols[CODE_LEN + 1];
    if (text.len != CODE_LEN + 1) {
        return false;
    }
    for (size_t i = 0; i < text.len; i++) {
        symbols[i] = symbol_value(text.ptr[i]);
        if (symbols[i] == CODE_SYMBOLS) {
            return false;
        }
    }
    return symbols[CODE_LEN] == check_symbol(symbols);
}
