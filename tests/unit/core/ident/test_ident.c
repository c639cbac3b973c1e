/* The identification aid: published descriptions rank first; the arithmetic is Bayes' and
 * Shannon's. */
#include <math.h>
#include <string.h>

#include "core/ident/ident.h"
#include "support/check.h"

#define ANSWERS_MAX 16

/* ---- helpers ---- */

static int sign_of(fl_sv word)
{
    return fl_word_find(fl_words_sign, FL_SIGN_COUNT, word);
}

/* Reads "where=mix_surface jumps=yes". */
static size_t read_answers(const char *text, fl_sign_answer *answers)
{
    size_t n = 0;
    fl_sv rest = fl_sv_from_cstr(text);
    while (rest.len > 0) {
        fl_sv pair = fl_sv_split(&rest, ' ');
        fl_sv word = fl_sv_split(&pair, '=');
        int sign = sign_of(word);
        check_true(sign >= 0 && n < ANSWERS_MAX);
        answers[n].sign = (fl_sign)sign;
        answers[n].value = fl_ident_value_find((fl_sign)sign, pair);
        check_true(answers[n].value >= FL_SIGN_CANNOT_TELL);
        n++;
    }
    return n;
}

static size_t rank(const char *text, fl_ident_rank *out)
{
    fl_err err = {0};
    fl_sign_answer answers[ANSWERS_MAX];
    size_t count = 0;
    size_t n = read_answers(text, answers);
    check_ok(fl_ident_ranking(answers, n, NULL, out, &count, &err), &err);
    return count;
}

static fl_ident_next next(const char *text)
{
    fl_err err = {0};
    fl_sign_answer answers[ANSWERS_MAX];
    fl_ident_next out;
    size_t n = read_answers(text, answers);
    check_ok(fl_ident_next_question(answers, n, NULL, &out, &err), &err);
    return out;
}

static double prob_of(const fl_ident_rank *ranks, size_t count, const char *of)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(ranks[i].of, of) == 0) {
            return ranks[i].prob;
        }
    }
    return NAN;
}

/* ---- the tables ---- */

static void test_tables_fit_together(void **state)
{
    (void)state;
    bool has_specimen[FL_SPECIMENS_MAX] = {false};
    double share[FL_SPECIMENS_MAX] = {0};
    check_true(fl_ident_specimen_count() <= FL_SPECIMENS_MAX);
    for (size_t i = 0; i < fl_ident_specimen_count(); i++) {
        const fl_specimen s = fl_ident_specimen_at(i);
        bool is_known_source = fl_know_source_find(fl_sv_from_cstr(s.source)) != NULL;
        fl_sv keys = fl_sv_from_cstr(s.source);
        check_true(s.share > 0.0 && s.share <= 1.0 && s.name[0] && s.cue[0]);
        while (keys.len > 0) {
            is_known_source = fl_know_source_find(fl_sv_split(&keys, '|')) != NULL;
            check_true(is_known_source);
        }
        bool is_lookalike = false;
        for (size_t k = 0; k < fl_know_lookalike_count(); k++) {
            is_lookalike = is_lookalike || strcmp(fl_know_lookalike_at(k)->code, s.of) == 0;
        }
        check_true((s.threat != NULL) != is_lookalike);
        bool has_stage = s.threat == NULL && s.stage[0] == '\0';
        for (int k = 0; s.threat != NULL && k < s.threat->n_stages; k++) {
            has_stage = has_stage || strcmp(s.threat->stage[k].name, s.stage) == 0;
        }
        check_true(has_stage);
        for (size_t k = 0; k < fl_know_threat_count(); k++) {
            if (fl_know_threat(k) == s.threat) {
                has_specimen[k] = true;
                share[k] += s.share;
            }
        }
    }
    for (size_t k = 0; k < fl_know_threat_count(); k++) { /* no disease is ever seen */
        check_true(has_specimen[k] == (fl_know_threat(k)->class != FL_CLASS_PATHOGEN));
        check_true(!has_specimen[k] || fabs(share[k] - 1.0) < 1e-9);
    }
}

static void test_answers_of_a_sign_sum_to_one(void **state)
{
    (void)state;
    for (size_t s = 0; s < fl_ident_specimen_count(); s++) {
        for (int sign = 0; sign < FL_SIGN_COUNT; sign++) {
            double sum = 0.0;
            int n = fl_ident_value_count((fl_sign)sign);
            check_true(n >= 2 && n <= FL_SIGN_VALUES_MAX);
            for (int v = 0; v < n; v++) {
                double p = fl_ident_likelihood(s, (fl_sign)sign, v);
                check_true(p > 0.0 && p < 1.0);
                sum += p;
            }
            check_close(sum, 1.0, 1e-12, 0.0);
        }
    }
}

/* Every word in the lists of signs.csv is an answer: a specimen that lists a word that is none
 * would have a sign whose strengths are all "against". */
static void test_every_row_has_its_answers(void **state)
{
    (void)state;
    fl_table rows = fl_table_read("../../data/signs.csv");
    for (size_t i = 0; i < rows.n_rows; i++) {
        int sign = sign_of(fl_sv_from_cstr(fl_table_text(&rows, i, "sign")));
        check_true(sign >= 0);
        check_true(fl_table_text(&rows, i, "usual")[0] != '\0');
        for (int part = 0; part < 2; part++) {
            fl_sv list =
                fl_sv_from_cstr(fl_table_text(&rows, i, part == 0 ? "usual" : "sometimes"));
            while (list.len > 0) {
                check_true(fl_ident_value_find((fl_sign)sign, fl_sv_split(&list, '|')) >= 0);
            }
        }
        const char *of = fl_table_text(&rows, i, "specimen");
        bool is_specimen = strcmp(of, "any") == 0;
        for (size_t s = 0; s < fl_ident_specimen_count(); s++) {
            is_specimen = is_specimen || strcmp(fl_ident_specimen_at(s).code, of) == 0;
        }
        check_true(is_specimen);
    }
    fl_table_free(&rows);
}

/* ---- published descriptions ---- */

static void test_described_specimens_rank_first(void **state)
{
    (void)state;
    fl_table rows = fl_table_read("ident_specimens.csv");
    for (size_t i = 0; i < rows.n_rows; i++) {
        fl_ident_rank ranks[FL_SPECIMENS_MAX];
        const char *answers = fl_table_text(&rows, i, "answers");
        size_t count = rank(answers, ranks);
        const char *is = fl_table_text(&rows, i, "is");
        if (strcmp(ranks[0].of, is) != 0 ||
            strcmp(ranks[0].best.stage, fl_table_text(&rows, i, "stage")) != 0) {
            fail_msg("%s: ranked %s %s (%.3f) first, %s has %.3f", answers, ranks[0].of,
                     ranks[0].best.stage, ranks[0].prob, is, prob_of(ranks, count, is));
        }
        check_int(ranks[0].n_against, 0);
    }
    fl_table_free(&rows);
}

/* Reference, look-alikes: "thrips on foliage, run, never spring; springtails on media, spring". */
static void test_jumping_tells_thrips_from_springtails(void **state)
{
    (void)state;
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    size_t n = rank("size=speck moves=runs shape=slim jumps=yes", ranks);
    check_true(prob_of(ranks, n, "springtail") > 20.0 * prob_of(ranks, n, "western_flower_thrips"));
    n = rank("size=speck moves=runs shape=slim jumps=no", ranks);
    check_true(prob_of(ranks, n, "western_flower_thrips") > prob_of(ranks, n, "springtail"));
}

/* A small dark fly at the mix: gnat or shore fly; wing spots or the shape tell them apart. */
static void test_next_question_tells_flies_apart(void **state)
{
    (void)state;
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    const char *seen = "where=mix_surface flies=yes size=small colour=black";
    (void)rank(seen, ranks);
    check_str(ranks[0].of, "fungus_gnat");
    check_str(ranks[1].of, "shore_fly");
    fl_ident_next asked = next(seen);
    check_true(asked.has_question);
    check_true(asked.sign == FL_SIGN_SHAPE || asked.sign == FL_SIGN_WING_SPOTS);
    check_true(asked.information_bits > 0.2);
    int stout = fl_ident_value_find(FL_SIGN_SHAPE, FL_SV("stout_fly"));
    int like_mosquito = fl_ident_value_find(FL_SIGN_SHAPE, FL_SV("mosquito_like"));
    if (asked.sign == FL_SIGN_SHAPE) {
        check_true(asked.prob_first[stout] < 0.5 && asked.prob_first[like_mosquito] > 0.9);
    }
}

static void test_egg_or_prill_asks_to_press(void **state)
{
    (void)state;
    fl_ident_next asked = next("where=in_mix shape=bead size=small colour=clear moves=never");
    check_int(asked.sign, FL_SIGN_PRESSED);
}

/* ---- arithmetic ---- */

/* By hand: Bayes over all specimens with one answer. */
static void test_one_answer_is_bayes(void **state)
{
    (void)state;
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    size_t n = rank("jumps=yes", ranks);
    double all = 0.0;
    double springtails = 0.0;
    for (size_t s = 0; s < fl_ident_specimen_count(); s++) {
        const fl_specimen specimen = fl_ident_specimen_at(s);
        double prior = specimen.share * (specimen.threat == NULL ? 1.0 : specimen.threat->prior);
        /* of the two answers: usual against "against"; springtails sometimes do not jump */
        double jumps = strcmp(specimen.of, "springtail") == 0     ? 1.0 / 1.2
                       : strcmp(specimen.code, "frog_adult") == 0 ? 1.0 / 1.02
                                                                  : 0.02 / 1.02;
        all += prior * jumps;
        springtails += strcmp(specimen.of, "springtail") == 0 ? prior * jumps : 0.0;
    }
    check_close(prob_of(ranks, n, "springtail"), springtails / all, 1e-12, 0.0);
}

static void test_ranking_sums_to_one_and_order_does_not_matter(void **state)
{
    (void)state;
    fl_ident_rank a[FL_SPECIMENS_MAX];
    fl_ident_rank b[FL_SPECIMENS_MAX];
    size_t n = rank("where=roots cottony=yes size=small damage=yellowing", a);
    size_t m = rank("damage=yellowing size=small cottony=yes where=roots", b);
    double sum = 0.0;
    check_int(n, m);
    for (size_t i = 0; i < n; i++) {
        check_str(a[i].of, b[i].of);
        check_close(a[i].prob, b[i].prob, 1e-12, 0.0);
        check_true(i == 0 || a[i].prob <= a[i - 1].prob);
        sum += a[i].prob;
    }
    check_close(sum, 1.0, 1e-12, 0.0);
}

static void test_cannot_tell_moves_nothing(void **state)
{
    (void)state;
    fl_ident_rank a[FL_SPECIMENS_MAX];
    fl_ident_rank b[FL_SPECIMENS_MAX];
    size_t n = rank("where=axil", a);
    (void)rank("where=axil legs=cannot_tell jumps=cannot_tell", b);
    for (size_t i = 0; i < n; i++) {
        check_str(a[i].of, b[i].of);
        check_close(a[i].prob, b[i].prob, 1e-15, 0.0);
    }
    check_true(next("where=mix_surface flies=yes wing_spots=cannot_tell").sign !=
               FL_SIGN_WING_SPOTS);
}

/* I(V; W) = H(V) - H(V | W), computed the other way round from public likelihoods. */
static void test_information_by_the_other_formula(void **state)
{
    (void)state;
    const char *seen = "where=mix_surface flies=yes";
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    fl_sign_answer answers[ANSWERS_MAX];
    size_t n = read_answers(seen, answers);
    (void)rank(seen, ranks);
    fl_ident_next asked = next(seen);
    double weight[2] = {0.0, 0.0};
    double joint[2][FL_SIGN_VALUES_MAX] = {{0.0}};
    for (size_t s = 0; s < fl_ident_specimen_count(); s++) {
        const fl_specimen specimen = fl_ident_specimen_at(s);
        int which = strcmp(specimen.of, ranks[0].of) == 0   ? 0
                    : strcmp(specimen.of, ranks[1].of) == 0 ? 1
                                                            : -1;
        double p = specimen.share * (specimen.threat == NULL ? 1.0 : specimen.threat->prior);
        for (size_t i = 0; i < n; i++) {
            p *= fl_ident_likelihood(s, answers[i].sign, answers[i].value);
        }
        for (int v = 0; which >= 0 && v < fl_ident_value_count(asked.sign); v++) {
            joint[which][v] += p * fl_ident_likelihood(s, asked.sign, v);
        }
        weight[0] += which == 0 ? p : 0.0;
        weight[1] += which == 1 ? p : 0.0;
    }
    double bits = 0.0;
    for (int v = 0; v < fl_ident_value_count(asked.sign); v++) {
        double pv = (joint[0][v] + joint[1][v]) / (weight[0] + weight[1]);
        bits -= pv * log2(pv);
        for (int w = 0; w < 2; w++) {
            double given = joint[w][v] / weight[w];
            bits += weight[w] / (weight[0] + weight[1]) * given * log2(given);
        }
    }
    check_close(asked.information_bits, bits, 1e-9, 1e-12);
    check_true(bits > 0.0 && bits <= 1.0);
}

static void test_own_priors_count(void **state)
{
    (void)state;
    fl_err err = {0};
    double prior[64] = {0.0};
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    size_t count = 0;
    check_true(fl_know_threat_count() <= 64);
    fl_sign_answer fly = {FL_SIGN_FLIES, fl_ident_value_find(FL_SIGN_FLIES, FL_SV("yes"))};
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        prior[i] = strcmp(fl_know_threat(i)->code, "shore_fly") == 0 ? 0.9 : 0.001;
    }
    check_ok(fl_ident_ranking(&fly, 1, prior, ranks, &count, &err), &err);
    check_str(ranks[0].of, "shore_fly");
    prior[0] = 1.5;
    check_true(fl_ident_ranking(&fly, 1, prior, ranks, &count, &err) == FL_EDOMAIN);
    check_status(&err, FL_EDOMAIN);
}

static void test_refuses_nonsense(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    size_t count = 7;
    fl_sign_answer bad = {FL_SIGN_JUMPS, 2};
    check_true(fl_ident_ranking(&bad, 1, NULL, ranks, &count, &err) == FL_EDOMAIN);
    check_status(&err, FL_EDOMAIN);
    bad = (fl_sign_answer){(fl_sign)FL_SIGN_COUNT, 0};
    check_true(fl_ident_ranking(&bad, 1, NULL, ranks, &count, &err) == FL_EDOMAIN);
    check_int(count, 7);
    check_int(fl_ident_value_find(FL_SIGN_JUMPS, FL_SV("perhaps")), -2);
    check_int(fl_ident_value_find(FL_SIGN_JUMPS, FL_SV("cannot_tell")), FL_SIGN_CANNOT_TELL);
    fl_sign_answer many[FL_SIGN_COUNT * 4 + 1] = {{FL_SIGN_WHERE, 0}};
    check_true(fl_ident_ranking(many, FL_SIGN_COUNT * 4 + 1, NULL, ranks, &count, &err) ==
               FL_ETOOBIG);
}

/* When everything was asked there is no question left. */
static void test_no_question_left(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_sign_answer all[FL_SIGN_COUNT];
    fl_ident_next out;
    for (int sign = 0; sign < FL_SIGN_COUNT; sign++) {
        all[sign] = (fl_sign_answer){(fl_sign)sign, FL_SIGN_CANNOT_TELL};
    }
    check_ok(fl_ident_next_question(all, FL_SIGN_COUNT, NULL, &out, &err), &err);
    check_false(out.has_question);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_tables_fit_together),
    cmocka_unit_test(test_answers_of_a_sign_sum_to_one),
    cmocka_unit_test(test_every_row_has_its_answers),
    cmocka_unit_test(test_described_specimens_rank_first),
    cmocka_unit_test(test_jumping_tells_thrips_from_springtails),
    cmocka_unit_test(test_next_question_tells_flies_apart),
    cmocka_unit_test(test_egg_or_prill_asks_to_press),
    cmocka_unit_test(test_one_answer_is_bayes),
    cmocka_unit_test(test_ranking_sums_to_one_and_order_does_not_matter),
    cmocka_unit_test(test_cannot_tell_moves_nothing),
    cmocka_unit_test(test_information_by_the_other_formula),
    cmocka_unit_test(test_own_priors_count),
    cmocka_unit_test(test_refuses_nonsense),
    cmocka_unit_test(test_no_question_left),
};
FL_TEST_MAIN(tests)
