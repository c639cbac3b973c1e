/* What is it? From what can be seen (where, size, how it moves …) to a ranking of threats and
 * harmless look-alikes, and to the question that best tells the first two apart. Start here.
 *
 * A specimen is what a keeper may have in front of them: one visible stage of a threat, or a
 * look-alike (data/specimens.csv). data/signs.csv says how each answers each question: usually,
 * sometimes; anything else speaks against it. The answers are taken as independent given the
 * specimen (naive Bayes): a sound ranking, probabilities too sure of themselves. "Cannot tell" is
 * always an answer and moves nothing. Model card: docs/models/ident.md. */
#ifndef FL_CORE_IDENT_IDENT_H
#define FL_CORE_IDENT_IDENT_H

#include "base/err.h"
#include "core/know/know.h"

/* X(enum, word, the question). The answers to each are in data/sign_values.csv. */
#define FL_SIGN_LIST(X)                                                                            \
    X(FL_SIGN_WHERE, "where", "Where was it?")                                                     \
    X(FL_SIGN_SIZE, "size", "How large is one of them?")                                           \
    X(FL_SIGN_COLOUR, "colour", "What colour is it?")                                              \
    X(FL_SIGN_MOVES, "moves", "How does it move?")                                                 \
    X(FL_SIGN_JUMPS, "jumps", "Does it jump when touched?")                                        \
    X(FL_SIGN_FLIES, "flies", "Does it fly?")                                                      \
    X(FL_SIGN_LEGS, "legs", "How many legs?")                                                      \
    X(FL_SIGN_SHAPE, "shape", "What shape is it?")                                                 \
    X(FL_SIGN_BLACK_HEAD, "black_head", "Does it have a black head?")                              \
    X(FL_SIGN_WING_SPOTS, "wing_spots", "Pale spots on dark wings?")                               \
    X(FL_SIGN_COTTONY, "cottony", "Is there white cotton or wax?")                                 \
    X(FL_SIGN_COVER, "cover", "Is it under a cover, or in a shell?")                               \
    X(FL_SIGN_WEBBING, "webbing", "Is there fine webbing?")                                        \
    X(FL_SIGN_SLIME, "slime", "Is there slime, or a trail of it?")                                 \
    X(FL_SIGN_STICKY, "sticky", "Are the leaves below it sticky?")                                 \
    X(FL_SIGN_GALLS, "galls", "Are there knots or galls on the roots?")                            \
    X(FL_SIGN_DAMAGE, "damage", "What does the plant show?")                                       \
    X(FL_SIGN_PRESSED, "pressed", "What happens when one is pressed?")                             \
    X(FL_SIGN_PATTERN, "pattern", "How are they spread?")                                          \
    X(FL_SIGN_AFTER_DARK, "after_dark", "Was it out only after dark?")

typedef enum fl_sign {
#define FL_SIGN_ENUM(name, word, text) name,
    FL_SIGN_LIST(FL_SIGN_ENUM)
#undef FL_SIGN_ENUM
        FL_SIGN_COUNT
} fl_sign;
extern const fl_word fl_words_sign[FL_SIGN_COUNT];

#define FL_SIGN_VALUES_MAX 16
#define FL_SIGN_CANNOT_TELL (-1)
#define FL_SPECIMENS_MAX 64

/* How strongly an answer speaks, before the answers of one sign are scaled to sum to 1. Assumed:
 * a keeper with a lens errs about once in fifty. */
#define FL_IDENT_USUAL 1.0
#define FL_IDENT_SOMETIMES 0.2
#define FL_IDENT_AGAINST 0.02

/* The answers of a sign. */
int fl_ident_value_count(fl_sign sign);
/* 0 <= value < count. */
const char *fl_ident_value_word(fl_sign sign, int value);
const char *fl_ident_value_text(fl_sign sign, int value);
/* The value of a word; FL_SIGN_CANNOT_TELL for "cannot_tell"; -2 when there is no such word. */
int fl_ident_value_find(fl_sign sign, fl_sv word);

typedef struct fl_specimen {
    const char *code;  /* "fungus_gnat_larva" */
    const char *of;    /* a threat's or a look-alike's code */
    const char *stage; /* of the threat; "" for a look-alike */
    const char *name;  /* "fungus gnat, larva" */
    const char *cue;   /* one line: what tells it */
    double share;      /* see data/specimens.csv */
    fl_grade grade;
    const char *source;
    const fl_threat *threat; /* NULL for a look-alike */
} fl_specimen;

size_t fl_ident_specimen_count(void); /* <= FL_SPECIMENS_MAX */
/* index < count. */
fl_specimen fl_ident_specimen_at(size_t index);

/* One answer. The first of several to one sign counts. */
typedef struct fl_sign_answer {
    fl_sign sign;
    int value; /* 0 to the sign's count - 1, or FL_SIGN_CANNOT_TELL */
} fl_sign_answer;

/* P(a specimen gives this answer), 0 to 1; the answers of one sign sum to 1. */
double fl_ident_likelihood(size_t specimen, fl_sign sign, int value);

/* A threat or look-alike in the ranking. */
typedef struct fl_ident_rank {
    const char *of;
    const fl_threat *threat; /* NULL: harmless */
    fl_specimen best;        /* its likeliest specimen */
    double prob;             /* of all its specimens; the ranking sums to 1 */
    double prob_best;        /* of that one */
    int n_for;               /* answers that are usual or sometimes given by `best` */
    int n_against;           /* answers that speak against it */
} fl_ident_rank;

/* Ranks, the likeliest first (ties by code): rank[FL_SPECIMENS_MAX], *count.
 *   answers[n]  n at most FL_SIGN_COUNT * 4
 *   prior       [fl_know_threat_count()], 0 to 1: how likely each threat is here (a room's own
 *               chances); NULL: the tables'. Look-alikes keep their share.
 * FL_EDOMAIN for a sign, value or prior out of range; FL_ETOOBIG. */
fl_status fl_ident_ranking(const fl_sign_answer *answers, size_t n, const double *prior,
                           fl_ident_rank *rank, size_t *count, fl_err *err) FL_MUST_USE;

/* The question that best tells the first two apart. */
typedef struct fl_ident_next {
    bool has_question; /* false: every sign was asked, or nothing could move */
    fl_sign sign;
    double information_bits;               /* expected, about which of the two it is: 0 to 1 */
    double prob_first[FL_SIGN_VALUES_MAX]; /* P(the first | the first or second, this answer) */
} fl_ident_next;

/* As above; signs that were asked are left out, "cannot tell" too. Expected information (Shannon;
 * the mutual information of answer and specimen between the two, in bits). */
fl_status fl_ident_next_question(const fl_sign_answer *answers, size_t n, const double *prior,
                                 fl_ident_next *out, fl_err *err) FL_MUST_USE;

#endif
