/* The steps of pairing. */
#include "http/pairing.h"

#include <stdio.h>
#include <string.h>

#include "base/id.h"
#include "http/session_table.h"

const char *const fl_pair_words[FL_PAIR_STATE_COUNT] = {"none",   "offered", "asking",  "allowed",
                                                        "joined", "refused", "expired", "blocked"};

#define CODE_BYTES 6 /* of a random UUID, before its fixed bits: 48 bits for 20 */
#define CODE_COUNT 1000000U

static fl_hash hash_of(fl_sv text)
{
    return fl_hash_of(text.ptr, text.len);
}

static void make_code(char *code)
{
    const fl_id random = fl_id_random();
    uint64_t value = 0;
    for (size_t i = 0; i < CODE_BYTES; i++) {
        value = value << 8 | random.b[i];
    }
    (void)snprintf(code, FL_PAIR_CODE_MAX, "%06u", (unsigned)(value % CODE_COUNT));
}

void fl_pairing_offer(fl_pairing *pairing, int64_t now_s, char *key)
{
    char secret[FL_SECRET_TEXT_MAX];
    (void)snprintf(key, FL_PAIR_KEY_MAX, "%.*s", FL_PAIR_KEY_DIGITS, fl_secret_make(secret));
    *pairing = (fl_pairing){.state = FL_PAIR_OFFERED,
                            .key = hash_of(fl_sv_from_cstr(key)),
                            .until_s = now_s + FL_PAIR_LIFE_S};
    make_code(pairing->code);
}

fl_pair_state fl_pairing_state(fl_pairing *pairing, int64_t now_s)
{
    const bool is_open = pairing->state == FL_PAIR_OFFERED || pairing->state == FL_PAIR_ASKING ||
                         pairing->state == FL_PAIR_ALLOWED;
    if (is_open && now_s > pairing->until_s) {
        pairing->state = FL_PAIR_EXPIRED;
    }
    return pairing->state;
}

/* The digits of what was typed, compared without telling how many were right. */
static bool is_code(const fl_pairing *pairing, fl_sv typed)
{
    char digits[FL_PAIR_CODE_MAX] = "";
    size_t n = 0;
    for (size_t i = 0; i < typed.len; i++) {
        const char c = typed.ptr[i];
        if (c == ' ' || c == '-') {
            continue;
        }
        if (c < '0' || c > '9' || n == FL_PAIR_CODE_MAX - 1) {
            return false;
        }
        digits[n++] = c;
    }
    return n == FL_PAIR_CODE_MAX - 1 && fl_hash_eq_secret(hash_of(fl_sv_from_cstr(digits)),
                                                          hash_of(fl_sv_from_cstr(pairing->code)));
}

static fl_status refuse_code(fl_pairing *pairing, fl_err *err)
{
    pairing->n_wrong++;
    if (pairing->n_wrong >= FL_PAIR_WRONG_CODES) {
        pairing->state = FL_PAIR_BLOCKED;
    }
    return fl_fail(err, FL_EAUTH, "these are not the six digits that the computer shows");
}

fl_status fl_pairing_claim(fl_pairing *pairing, int64_t now_s, fl_sv secret, bool is_typed,
                           fl_sv name, char *claim, fl_err *err)
{
    if (fl_pairing_state(pairing, now_s) != FL_PAIR_OFFERED) {
        return fl_fail(err, FL_EAUTH, "no phone is awaited now");
    }
    if (is_typed && !is_code(pairing, secret)) {
        return refuse_code(pairing, err);
    }
    if (!is_typed && !fl_hash_eq_secret(hash_of(secret), pairing->key)) {
        return fl_fail(err, FL_EAUTH, "this key is unknown, spent or too old");
    }
    pairing->state = FL_PAIR_ASKING;
    pairing->is_typed = is_typed;
    pairing->until_s = now_s + FL_PAIR_LIFE_S;
    pairing->claim = hash_of(fl_sv_from_cstr(fl_secret_make(claim)));
    fl_session_copy_name(pairing->name, sizeof pairing->name, fl_sv_trim(name));
    if (pairing->name[0] == '\0') {
        (void)snprintf(pairing->name, sizeof pairing->name, "phone");
    }
    return FL_OK;
}

fl_status fl_pairing_allow(fl_pairing *pairing, int64_t now_s, fl_err *err)
{
    if (fl_pairing_state(pairing, now_s) != FL_PAIR_ASKING) {
        return fl_fail(err, FL_ENOTFOUND, "no phone asks to be let in: make a new code");
    }
    pairing->state = FL_PAIR_ALLOWED;
    return FL_OK;
}

void fl_pairing_end(fl_pairing *pairing, int64_t now_s)
{
    switch ((int)fl_pairing_state(pairing, now_s)) {
    case FL_PAIR_ASKING:
    case FL_PAIR_ALLOWED:
        pairing->state = FL_PAIR_REFUSED;
        break;
    case FL_PAIR_REFUSED: /* the phone may not have heard it yet */
        break;
    default:
        pairing->state = FL_PAIR_NONE;
        break;
    }
}

fl_pair_state fl_pairing_of_claim(fl_pairing *pairing, int64_t now_s, fl_sv claim)
{
    const fl_pair_state state = fl_pairing_state(pairing, now_s);
    const bool is_known = state == FL_PAIR_ASKING || state == FL_PAIR_ALLOWED ||
                          state == FL_PAIR_REFUSED || state == FL_PAIR_EXPIRED;
    return is_known && fl_hash_eq_secret(hash_of(claim), pairing->claim) ? state : FL_PAIR_NONE;
}

void fl_pairing_join(fl_pairing *pairing)
{
    pairing->state = FL_PAIR_JOINED;
}
