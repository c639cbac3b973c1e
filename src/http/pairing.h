/* Pairing a phone: the computer shows a key as a QR code and six digits; the phone brings the key
 * (or the digits, typed) and a name; the keeper compares the digits on both screens and allows it;
 * the phone then fetches its session. One offer at a time; a key works once, for two minutes, and
 * what was claimed must be allowed within two more. Plain state without memory or sockets; it
 * belongs to the server's own thread. */
#ifndef FL_HTTP_PAIRING_H
#define FL_HTTP_PAIRING_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/hash.h"
#include "base/sv.h"
#include "http/secret.h"
#include "http/session.h"

#define FL_PAIR_LIFE_S 120
#define FL_PAIR_KEY_DIGITS 32 /* hex: 128 bits */
#define FL_PAIR_KEY_MAX (FL_PAIR_KEY_DIGITS + 1)
#define FL_PAIR_CODE_MAX 7    /* six digits */
#define FL_PAIR_WRONG_CODES 5 /* then the offer is void: a million codes cannot be tried */

typedef enum fl_pair_state {
    FL_PAIR_NONE = 0, /* nothing is offered */
    FL_PAIR_OFFERED,  /* the key is shown; no phone has come */
    FL_PAIR_ASKING,   /* a phone has come, and waits for the keeper */
    FL_PAIR_ALLOWED,  /* the keeper has allowed it; the phone has not fetched its session yet */
    FL_PAIR_JOINED,   /* it has */
    FL_PAIR_REFUSED,  /* the keeper has said no */
    FL_PAIR_EXPIRED,  /* nobody came, or nobody allowed it, in time */
    FL_PAIR_BLOCKED,  /* too many wrong codes */
    FL_PAIR_STATE_COUNT
} fl_pair_state;

/* "offered", "asking" and so on, for the API. */
extern const char *const fl_pair_words[FL_PAIR_STATE_COUNT];

typedef struct fl_pairing {
    fl_pair_state state;
    fl_hash key;   /* of the key that is shown */
    fl_hash claim; /* of the secret that the phone was given */
    char code[FL_PAIR_CODE_MAX];
    char name[FL_SESSION_NAME_MAX]; /* what the phone calls itself */
    bool is_typed;                  /* it brought the digits, not the key */
    int n_wrong;
    int64_t until_s;
} fl_pairing;

/* A new offer in the place of any other. The key, terminated, into key[FL_PAIR_KEY_MAX]: it cannot
 * be asked for again. */
void fl_pairing_offer(fl_pairing *pairing, int64_t now_s, char *key);

/* The state at this moment: an offer or a claim that is too old has expired. */
fl_pair_state fl_pairing_state(fl_pairing *pairing, int64_t now_s);

/* The phone's first step: it brings the key or, is_typed, the six digits (blanks between are fine),
 * and its name. claim[FL_SECRET_TEXT_MAX] is what it shows from then on. FL_EAUTH: unknown, spent,
 * too old, or a wrong code. */
fl_status fl_pairing_claim(fl_pairing *pairing, int64_t now_s, fl_sv secret, bool is_typed,
                           fl_sv name, char *claim, fl_err *err) FL_MUST_USE;

/* The keeper's answer. FL_ENOTFOUND: no phone asks. */
fl_status fl_pairing_allow(fl_pairing *pairing, int64_t now_s, fl_err *err) FL_MUST_USE;
/* Ends the offer: a phone that asks is refused. */
void fl_pairing_end(fl_pairing *pairing, int64_t now_s);

/* What a phone with this claim is to be told: FL_PAIR_ASKING, FL_PAIR_ALLOWED (it gets its
 * session now; the caller says so with fl_pairing_join), FL_PAIR_REFUSED, FL_PAIR_EXPIRED;
 * FL_PAIR_NONE when the claim is unknown or spent. */
fl_pair_state fl_pairing_of_claim(fl_pairing *pairing, int64_t now_s, fl_sv claim);
void fl_pairing_join(fl_pairing *pairing);

#endif
