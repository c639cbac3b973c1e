/* Identities: UUIDs made by the client, and the short codes people read from a label. */
#ifndef FL_BASE_ID_H
#define FL_BASE_ID_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_ID_TEXT_MAX 37
#define FL_CODE_TEXT_MAX 8

typedef struct fl_id {
    uint8_t b[16]; /* all zero: none */
} fl_id;

bool fl_id_is_none(fl_id id);
bool fl_id_eq(fl_id a, fl_id b);
/* Byte order: -1, 0, 1. */
int fl_id_compare(fl_id a, fl_id b);

/* Reads the canonical form (8-4-4-4-12 hex digits, either case). FL_EFORMAT names the value. */
fl_status fl_id_parse(fl_sv text, fl_id *out, fl_err *err) FL_MUST_USE;

/* Lower-case canonical form into buffer[FL_ID_TEXT_MAX]; returns buffer. */
const char *fl_id_format(char *buffer, fl_id id);

/* A new random UUID (version 4), from the system's generator. */
fl_id fl_id_random(void);

/* The UUID that always belongs to this parent and this name (version 8 bits set over a SHA-256 of
 * both): used where an event implies a thing that has no id of its own. */
fl_id fl_id_derive(fl_id parent, fl_sv name);

/* The short code of an id: 5 symbols and a check symbol of the alphabet
 * "23456789ABCDEFGHJKMNPQRSTUVWXYZ" (no 0, O, 1, I, L), terminated, into buffer[FL_CODE_TEXT_MAX].
 */
const char *fl_id_code(char *buffer, fl_id id);

/* True when the text (either case) is a well-formed code with a right check symbol. */
bool fl_id_code_is_valid(fl_sv text);

#endif
