/* What the copies on each carrier depend on, and no more: so that after a change only they are
 * computed anew. Works on the happenings of one walk (core/clear/network), the same for every
 * threat of its carriage; no number of a threat is used here.
 *
 * A digest of a carrier stands for all that made its copies: its own happenings and, at each
 * transfer and find, the digests of what they came from. Two carriers with equal digests have equal
 * copies, in whatever walk they stand. What is only read at the end (learned priors, the hours
 * until now) is not in it. */
#ifndef FL_CORE_CLEAR_DEPEND_H
#define FL_CORE_CLEAR_DEPEND_H

#include "core/clear/network.h"

/* 128 bits that are mixed, not hashed against an adversary: two histories of one keeper. */
typedef struct fl_digest {
    uint64_t a, b;
} fl_digest;

bool fl_digest_eq(fl_digest x, fl_digest y);
/* Takes in one more thing. */
void fl_digest_word(fl_digest *digest, uint64_t word);
void fl_digest_real(fl_digest *digest, double value);
void fl_digest_id(fl_digest *digest, fl_id id);
void fl_digest_text(fl_digest *digest, fl_sv text);
void fl_digest_other(fl_digest *digest, fl_digest other);

/* A happening as it was told. */
typedef struct fl_told {
    fl_happening happening;
    unsigned forms; /* ROOT: of the root so far */
    unsigned find;  /* LOOK after a find: the how manieth of its carrier, from 1; else 0 */
} fl_told;

/* What the digests begin with, as the caller knows it: all that a spread asks of a place (its
 * temperatures at all times), of a root (its prior by the tables, for these forms) and of a lot
 * (whether it is material). */
typedef struct fl_depend_env {
    void *context;
    fl_digest (*place)(void *context, fl_id place);
    fl_digest (*root)(void *context, const fl_root *root);
    fl_digest (*lot)(void *context, size_t lot);
} fl_depend_env;

/* The caller's storage. */
typedef struct fl_depend {
    fl_digest *carriers; /* [n_carriers]: the result */
    fl_digest *lots;     /* [n_lots] */
    fl_digest *roots;    /* [n_roots] */
    fl_digest *blames;   /* [n_marks] */
    size_t *stands_on;   /* [n_lots] */
    bool *has_find;      /* [n_carriers] */
    uint64_t *may_hold;  /* [n_carriers x fl_depend_words(n_marks)]: which roots may be there */
    size_t n_lots;
    size_t n_marks; /* the network's roots, and the looks that found something */
} fl_depend;

size_t fl_depend_words(size_t n_marks);

/* Digests of all carriers after told[n] of the network. */
void fl_depend_digest(const fl_network *network, const fl_depend_env *env, const fl_told *told,
                      size_t n, fl_depend *out);

/* How long each carrier is needed: the happenings told[i] with i < until[carrier]. In: SIZE_MAX for
 * those that are asked for, else 0; out: what these rest on as well. */
void fl_depend_close(const fl_told *told, size_t n, size_t *until);

#endif
