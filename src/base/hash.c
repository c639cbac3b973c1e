/* SHA-256 by libsodium. */
#include "base/hash.h"

#include <assert.h>
#include <string.h>

#include <sodium.h>

_Static_assert(FL_HASH_BYTES == crypto_hash_sha256_BYTES, "a hash is one SHA-256");

fl_hash fl_hash_of(const void *data, size_t len)
{
    assert(data != NULL || len == 0);
    fl_hash hash;
    crypto_hash_sha256(hash.b, data, len);
    return hash;
}

fl_hash fl_hash_link(fl_hash previous, const void *data, size_t len)
{
    assert(data != NULL || len == 0);
    fl_hash hash;
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    crypto_hash_sha256_update(&state, previous.b, sizeof previous.b);
    crypto_hash_sha256_update(&state, data, len);
    crypto_hash_sha256_final(&state, hash.b);
    return hash;
}

const char *fl_hash_format(char *buffer, fl_hash hash)
{
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < FL_HASH_BYTES; i++) {
        buffer[2 * i] = digits[hash.b[i] >> 4];
        buffer[2 * i + 1] = digits[hash.b[i] & 15];
    }
    buffer[2 * FL_HASH_BYTES] = '\0';
    return buffer;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

bool fl_hash_parse(const char *hex, size_t len, fl_hash *out)
{
    fl_hash hash = {{0}};
    if (len != 2 * (size_t)FL_HASH_BYTES) {
        return false;
    }
    for (size_t i = 0; i < FL_HASH_BYTES; i++) {
        int high = hex_digit(hex[2 * i]);
        int low = hex_digit(hex[2 * i + 1]);
        if (high < 0 || low < 0) {
            return false;
        }
        hash.b[i] = (uint8_t)(high << 4 | low);
    }
    *out = hash;
    return true;
}

bool fl_hash_eq_secret(fl_hash a, fl_hash b)
{
    return sodium_memcmp(a.b, b.b, sizeof a.b) == 0;
}
