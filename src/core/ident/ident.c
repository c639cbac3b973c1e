/* Naive Bayes over the tables. Each call joins specimens and signs once (50 x 20 cells), so that
 * nothing has to be kept between calls. */
#include "core/ident/ident.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "data/sign_values.h"
#include "data/signs.h"
#include "data/specimens.h"

_Static_assert(fl_rows_specimens_count <= FL_SPECIMENS_MAX, "FL_SPECIMENS_MAX is too small");

#define ANSWERS_MAX (FL_SIGN_COUNT * 4)

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_sign[FL_SIGN_COUNT] = {FL_SIGN_LIST(FL_WORD_ENTRY)};

/* ---- the tables ---- */

/* The rows of a sign stand together (csv2c checks it): the first of them. */
static size_t first_value(fl_sign sign)
{
    size_t i = 0;
    while (i < fl_rows_sign_values_count &&
           strcmp(fl_rows_sign_values[i].sign, fl_words_sign[sign].word) != 0) {
        i++;
    }
    return i;
}

int fl_ident_value_count(fl_sign sign)
{
    int count = 0;
    for (size_t i = first_value(sign);
         i < fl_rows_sign_values_count &&
         strcmp(fl_rows_sign_values[i].sign, fl_words_sign[sign].word) == 0;
         i++) {
        count++;
    }
    return count;
}

const char *fl_ident_value_word(fl_sign sign, int value)
{
    assert(value >= 0 && value < fl_ident_value_count(sign));
    return fl_rows_sign_values[first_value(sign) + (size_t)value].value;
}

const char *fl_ident_value_text(fl_sign sign, int value)
{
    assert(value >= 0 && value < fl_ident_value_count(sign));
    return fl_rows_sign_values[first_value(sign) + (size_t)value].text;
}

int fl_ident_value_find(fl_sign sign, fl_sv word)
{
    if (fl_sv_eq_cstr(word, "cannot_tell")) {
        return FL_SIGN_CANNOT_TELL;
    }
    for (int i = 0; i < fl_ident_value_count(sign); i++) {
        if (fl_sv_eq_cstr(word, fl_ident_value_word(sign, i))) {
            return i;
        }
    }
    return -2;
}

size_t fl_ident_specimen_count(void)
{
    return fl_rows_specimens_count;
}

static fl_grade grade_of(const char *word)
{
    return strcmp(word, "measured") == 0   ? FL_GRADE_MEASURED
           : strcmp(word, "practice") == 0 ? FL_GRADE_PRACTICE
                                           : FL_GRADE_ASSUMED;
}

fl_specimen fl_ident_specimen_at(size_t index)
{
    assert(index < fl_rows_specimens_count);
    const struct fl_row_specimens *row = &fl_rows_specimens[index];
    return (fl_specimen){.code = row->code,
                         .of = row->of,
                         .stage = row->stage,
                         .name = row->name,
                         .cue = row->cue,
                         .share = row->share,
                         .grade = grade_of(row->grade),
                         .source = row->source,
                         .threat = fl_know_threat_find(fl_sv_from_cstr(row->of))};
}

/* ---- likelihoods ---- */

static bool is_listed(const char *list, const char *word)
{
    fl_sv rest = fl_sv_from_cstr(list);
    while (rest.len > 0) {
        if (fl_sv_eq_cstr(fl_sv_split(&rest, '|'), word)) {
            return true;
        }
    }
    return false;
}

/* The specimen's row for the sign, else that of "any", else NULL. */
static const struct fl_row_signs *row_of(size_t specimen, fl_sign sign)
{
    const struct fl_row_signs *any = NULL;
    for (size_t i = 0; i < fl_rows_signs_count; i++) {
        const struct fl_row_signs *row = &fl_rows_signs[i];
        if (strcmp(row->sign, fl_words_sign[sign].word) != 0) {
            continue;
        }
        if (strcmp(row->specimen, fl_rows_specimens[specimen].code) == 0) {
            return row;
        }
        if (strcmp(row->specimen, "any") == 0) {
            any = row;
        }
    }
    return any;
}

static double strength(const struct fl_row_signs *row, const char *word)
{
    if (is_listed(row->usual, word)) {
        return FL_IDENT_USUAL;
    }
    return is_listed(row->sometimes, word) ? FL_IDENT_SOMETIMES : FL_IDENT_AGAINST;
}

/* P(answer | specimen) for all answers of a sign. */
typedef struct answer_probs {
    int n;
    double prob[FL_SIGN_VALUES_MAX];
    bool is_against[FL_SIGN_VALUES_MAX];
} answer_probs;

static answer_probs probs_of(size_t specimen, fl_sign sign)
{
    const struct fl_row_signs *row = row_of(specimen, sign);
    answer_probs probs = {.n = fl_ident_value_count(sign)};
    double sum = 0.0;
    assert(probs.n > 0 && probs.n <= FL_SIGN_VALUES_MAX); /* a test goes through all signs */
    for (int i = 0; i < probs.n; i++) {
        const char *word = fl_ident_value_word(sign, i);
        probs.prob[i] = row == NULL ? 1.0 : strength(row, word);
        probs.is_against[i] =
            row != NULL && !is_listed(row->usual, word) && !is_listed(row->sometimes, word);
        sum += probs.prob[i];
    }
    for (int i = 0; i < probs.n; i++) {
        probs.prob[i] /= sum;
    }
    return probs;
}

double fl_ident_likelihood(size_t specimen, fl_sign sign, int value)
{
    assert(specimen < fl_rows_specimens_count);
    answer_probs probs = probs_of(specimen, sign);
    assert(value >= 0 && value < probs.n);
    return probs.prob[value];
}

/* ---- ranking ---- */

typedef struct belief {
    double prob[FL_SPECIMENS_MAX]; /* sums to 1 */
    int n_for[FL_SPECIMENS_MAX];
    int n_against[FL_SPECIMENS_MAX];
    bool is_asked[FL_SIGN_COUNT];
} belief;

static fl_status check_answers(const fl_sign_answer *answers, size_t n, const double *prior,
                               fl_err *err)
{
    if (n > ANSWERS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu answers: at most %d", n, ANSWERS_MAX);
    }
    for (size_t i = 0; i < n; i++) {
        if ((int)answers[i].sign < 0 || answers[i].sign >= FL_SIGN_COUNT) {
            return fl_fail(err, FL_EDOMAIN, "sign %d: give 0 to %d", (int)answers[i].sign,
                           FL_SIGN_COUNT - 1);
        }
        int last = fl_ident_value_count(answers[i].sign) - 1;
        if (answers[i].value < FL_SIGN_CANNOT_TELL || answers[i].value > last) {
            return fl_fail(err, FL_EDOMAIN, "answer %d to \"%s\": give 0 to %d, or -1",
                           answers[i].value, fl_words_sign[answers[i].sign].word, last);
        }
    }
    for (size_t i = 0; prior != NULL && i < fl_know_threat_count(); i++) {
        if (!(prior[i] >= 0.0 && prior[i] <= 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "prior %g of %s: give 0 to 1", prior[i],
                           fl_know_threat(i)->code);
        }
    }
    return FL_OK;
}

static double prior_of(const fl_specimen *specimen, const double *prior)
{
    if (specimen->threat == NULL) {
        return specimen->share;
    }
    if (prior == NULL) {
        return specimen->share * specimen->threat->prior;
    }
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        if (fl_know_threat(i) == specimen->threat) {
            return specimen->share * prior[i];
        }
    }
    return 0.0;
}

static fl_status believe(const fl_sign_answer *answers, size_t n, const double *prior, belief *out,
                         fl_err *err)
{
    double sum = 0.0;
    fl_status status = check_answers(answers, n, prior, err);
    if (status != FL_OK) {
        return status;
    }
    *out = (belief){0};
    for (size_t s = 0; s < fl_rows_specimens_count; s++) {
        const fl_specimen specimen = fl_ident_specimen_at(s);
        out->prob[s] = prior_of(&specimen, prior);
    }
    for (size_t i = 0; i < n; i++) {
        bool is_first = !out->is_asked[answers[i].sign];
        out->is_asked[answers[i].sign] = true;
        for (size_t s = 0; is_first && answers[i].value >= 0 && s < fl_rows_specimens_count; s++) {
            const answer_probs probs = probs_of(s, answers[i].sign);
            out->prob[s] *= probs.prob[answers[i].value];
            out->n_against[s] += probs.is_against[answers[i].value] ? 1 : 0;
            out->n_for[s] += probs.is_against[answers[i].value] ? 0 : 1;
        }
    }
    for (size_t s = 0; s < fl_rows_specimens_count; s++) {
        sum += out->prob[s];
    }
    if (!(sum > 0.0)) { /* only when every prior is 0, and look-alikes have one */
        return fl_fail(err, FL_EDOMAIN, "nothing is possible under these priors");
    }
    for (size_t s = 0; s < fl_rows_specimens_count; s++) {
        out->prob[s] /= sum;
    }
    return FL_OK;
}

static bool ranks_before(const fl_ident_rank *a, const fl_ident_rank *b)
{
    if (a->prob > b->prob || a->prob < b->prob) {
        return a->prob > b->prob;
    }
    return strcmp(a->of, b->of) < 0;
}

/* The rows of one threat stand together in specimens.csv; the list is short: insertion. */
static size_t rank_all(const belief *b, fl_ident_rank *rank)
{
    size_t n = 0;
    size_t at[FL_SPECIMENS_MAX]; /* specimen -> entry, before sorting */
    for (size_t s = 0; s < fl_rows_specimens_count; s++) {
        const fl_specimen specimen = fl_ident_specimen_at(s);
        at[s] = n;
        for (size_t k = 0; k < n; k++) {
            at[s] = strcmp(rank[k].of, specimen.of) == 0 ? k : at[s];
        }
        fl_ident_rank *entry = &rank[at[s]];
        if (at[s] == n) {
            *entry = (fl_ident_rank){.of = specimen.of, .threat = specimen.threat};
            entry->prob_best = -1.0;
            n++;
        }
        entry->prob += b->prob[s];
        if (b->prob[s] > entry->prob_best) {
            entry->best = specimen;
            entry->prob_best = b->prob[s];
            entry->n_for = b->n_for[s];
            entry->n_against = b->n_against[s];
        }
    }
    for (size_t i = 1; i < n; i++) {
        for (size_t k = i; k > 0 && ranks_before(&rank[k], &rank[k - 1]); k--) {
            const fl_ident_rank spare = rank[k];
            rank[k] = rank[k - 1];
            rank[k - 1] = spare;
        }
    }
    return n;
}

fl_status fl_ident_ranking(const fl_sign_answer *answers, size_t n, const double *prior,
                           fl_ident_rank *rank, size_t *count, fl_err *err)
{
    belief b;
    fl_status status = believe(answers, n, prior, &b, err);
    if (status == FL_OK) {
        *count = rank_all(&b, rank);
    }
    return status;
}

/* ---- the next question ---- */

static double plog2(double p)
{
    return p > 0.0 ? p * log2(p) : 0.0;
}

/* P(answer, threat) over the specimens of one threat or look-alike: joint[n values]. */
static void joint_of(const belief *b, const char *of, fl_sign sign, double *joint)
{
    for (int v = 0; v < FL_SIGN_VALUES_MAX; v++) {
        joint[v] = 0.0;
    }
    for (size_t s = 0; s < fl_rows_specimens_count; s++) {
        if (strcmp(fl_rows_specimens[s].of, of) != 0) {
            continue;
        }
        const answer_probs probs = probs_of(s, sign);
        for (int v = 0; v < probs.n; v++) {
            joint[v] += b->prob[s] * probs.prob[v];
        }
    }
}

/* I(answer; which of the two), in bits: H(which) - sum_v P(v) H(which | v). */
static double information(const belief *b, const fl_ident_rank *rank, fl_sign sign,
                          double *prob_first)
{
    double first[FL_SIGN_VALUES_MAX];
    double second[FL_SIGN_VALUES_MAX];
    double all = rank[0].prob + rank[1].prob;
    joint_of(b, rank[0].of, sign, first);
    joint_of(b, rank[1].of, sign, second);
    double bits = -plog2(rank[0].prob / all) - plog2(rank[1].prob / all);
    for (int v = 0; v < fl_ident_value_count(sign); v++) {
        double p = (first[v] + second[v]) / all;
        prob_first[v] = first[v] / (first[v] + second[v]);
        bits += p * (plog2(prob_first[v]) + plog2(1.0 - prob_first[v]));
    }
    return fmax(bits, 0.0);
}

fl_status fl_ident_next_question(const fl_sign_answer *answers, size_t n, const double *prior,
                                 fl_ident_next *out, fl_err *err)
{
    belief b;
    fl_ident_rank rank[FL_SPECIMENS_MAX];
    fl_ident_next best = {.has_question = false};
    fl_status status = believe(answers, n, prior, &b, err);
    if (status != FL_OK) {
        return status;
    }
    (void)rank_all(&b, rank);
    for (int sign = 0; sign < FL_SIGN_COUNT && rank[1].prob > 0.0; sign++) {
        double prob_first[FL_SIGN_VALUES_MAX] = {0};
        if (b.is_asked[sign]) {
            continue;
        }
        double bits = information(&b, rank, (fl_sign)sign, prob_first);
        if (bits > best.information_bits + 1e-12) {
            best.has_question = true;
            best.sign = (fl_sign)sign;
            best.information_bits = bits;
            memcpy(best.prob_first, prob_first, sizeof prob_first);
        }
    }
    *out = best;
    return FL_OK;
}
