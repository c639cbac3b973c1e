/* SHA-256, for content names, ETags and memo keys. libsodium is included in hash.c and id.c only.
 */
#ifndef FL_BASE_HASH_H
#define FL_BASE_HASH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FL_HASH_BYTES 32
#define FL_HASH_TEXT_MAX 65

typedef struct fl_hash {
    uint8_t b[FL_HASH_BYTES];
} fl_hash;

/* The SHA-256 of a whole. */
fl_hash fl_hash_of(const void *data, size_t len);

/* The SHA-256 of previous || data: one link of a chain. */
fl_hash fl_hash_link(fl_hash previous, const void *data, size_t len);

/* Lower-case hex, terminated, into buffer[FL_HASH_TEXT_MAX]; returns buffer. */
const char *fl_hash_format(char *buffer, fl_hash hash);

/* Reads 64 lower-case hex digits; false, and *out as it was, when it is anything else. */
bool fl_hash_parse(const char *hex, size_t len, fl_hash *out);

/* True when both are the same. Takes the same time whatever they hold, so that the time of an
 * answer tells nothing about a secret; hash what was handed in first, then compare hashes. */
bool fl_hash_eq_secret(fl_hash a, fl_hash b);

#endif
