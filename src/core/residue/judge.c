/* The gate's question about residues, rule by rule. */
#include <math.h>

#include "core/residue/residue.h"

#define UNKNOWN_LEFT 0.10
#define BLOCK_LEFT 0.01
#define CAUTION_LEFT 0.10

#define FL_RESIDUE_WHY_ENTRY(name, word, text) {word, text},
const fl_word fl_words_residue_why[FL_RESIDUE_WHY_COUNT] = {
    FL_RESIDUE_WHY_LIST(FL_RESIDUE_WHY_ENTRY)};
#undef FL_RESIDUE_WHY_ENTRY

double fl_residue_unknown_wait_days(void)
{
    return ceil(FL_RESIDUE_H90_DAYS * log2(1.0 / UNKNOWN_LEFT));
}

/* True where animals eat the plant, walk on it, or soak up what it holds. */
static bool is_sensitive(fl_use use)
{
    return use == FL_USE_INVERTEBRATE || use == FL_USE_AMPHIBIAN;
}

static double days_or_zero(double days)
{
    return days > 0.0 ? days : 0.0;
}

/* How little must be left of an active for a use. */
static double fraction_allowed(const fl_active *active, fl_use use)
{
    fl_residue_flag flag = FL_RESIDUE_FLAG_CAUTION;
    if (use == FL_USE_INVERTEBRATE) {
        flag = active->invertebrates;
    } else if (use == FL_USE_AMPHIBIAN) {
        flag = active->amphibians;
    }
    return flag == FL_RESIDUE_FLAG_BLOCK ? BLOCK_LEFT : CAUTION_LEFT;
}

/* What one known treatment says; a use that is not asked about is always ok. */
static fl_residue_verdict judge_spray(const fl_residue_spray *spray, fl_use use)
{
    fl_active active;
    bool is_known = fl_active_find(spray->active, &active);
    bool is_asked = is_sensitive(use) || use == FL_USE_REPTILE;
    if (!is_known || fl_active_is_systemic(&active)) {
        bool is_ok = !is_sensitive(use);
        return (fl_residue_verdict){.answer = FL_RESIDUE_KNOWN_SYSTEMIC,
                                    .is_ok_for_use = is_ok,
                                    .why = is_known ? FL_RESIDUE_WHY_SYSTEMIC
                                                    : FL_RESIDUE_WHY_UNLISTED,
                                    .wait_days = is_ok ? 0.0 : (double)NAN};
    }
    if (!active.decays) {
        bool is_ok = !is_sensitive(use);
        return (fl_residue_verdict){.answer = FL_RESIDUE_UNKNOWN,
                                    .is_ok_for_use = is_ok,
                                    .why = FL_RESIDUE_WHY_STAYS,
                                    .wait_days = is_ok ? 0.0 : (double)NAN};
    }
    /* one rinse may take nothing off (washoff_low_frac), so the wait does not count it */
    fl_residue_since since = {.days = 0.0};
    fl_residue_left left = {0};
    if (fl_residue_of_active(&active, &since, &left, NULL) != FL_OK) {
        left.days_to_tenth = (double)NAN;
    }
    double slow_end_d = left.days_to_tenth / log2(10.0);
    double needed_days = ceil(slow_end_d * log2(1.0 / fraction_allowed(&active, use)));
    double wait_days = days_or_zero(needed_days - days_or_zero(spray->days_since));
    bool is_gone = wait_days <= 0.0;
    return (fl_residue_verdict){.answer = is_gone ? FL_RESIDUE_KNOWN_CLEAN : FL_RESIDUE_UNKNOWN,
                                .is_ok_for_use = is_gone || !is_asked,
                                .why = is_gone ? FL_RESIDUE_WHY_GONE : FL_RESIDUE_WHY_FADING,
                                .wait_days = is_gone || !is_asked ? 0.0 : ceil(wait_days)};
}

/* How a material must have waited, lived through a trial, or both; unknown in any case but a
 * sealed bag's, in which nothing was grown. Decision 0007. */
static fl_residue_verdict judge_material(const fl_residue_case *q)
{
    fl_residue_verdict v = {.answer = FL_RESIDUE_UNKNOWN, .is_ok_for_use = true};
    double wait_days =
        ceil(days_or_zero(fl_residue_unknown_wait_days() - days_or_zero(q->days_since)));
    bool has_lived = q->trial == FL_TRIAL_LIVED ||
                     (q->form == FL_FORM_CULTURE && q->days_since >= FL_RESIDUE_TRIAL_DAYS);
    if (q->form == FL_FORM_MIX_BAGGED) {
        v.why = FL_RESIDUE_WHY_NEVER_PLANTED;
    } else if (!is_sensitive(q->use) && q->use != FL_USE_REPTILE) {
        v.why = FL_RESIDUE_WHY_NOT_ASKED;
    } else if (q->use == FL_USE_INVERTEBRATE && has_lived) {
        v.why = FL_RESIDUE_WHY_LIVED_IN;
    } else if (q->form == FL_FORM_MIX_OPEN && is_sensitive(q->use) && !has_lived) {
        v.why = FL_RESIDUE_WHY_NEEDS_TRIAL;
        v.wait_days = (double)NAN;
        v.is_ok_for_use = false;
    } else {
        v.why = wait_days > 0.0 ? FL_RESIDUE_WHY_WAIT_MATERIAL : FL_RESIDUE_WHY_WAITED;
        v.wait_days = wait_days;
        v.is_ok_for_use = wait_days <= 0.0;
    }
    return v;
}

/* What is said when no treatment is known. */
static fl_residue_verdict judge_history(const fl_residue_case *q)
{
    if (q->trial == FL_TRIAL_DIED && is_sensitive(q->use)) {
        return (fl_residue_verdict){.answer = FL_RESIDUE_UNKNOWN,
                                    .why = FL_RESIDUE_WHY_TRIAL_DIED,
                                    .wait_days = (double)NAN};
    }
    if (fl_form_is_material(q->form)) {
        return judge_material(q);
    }
    if (q->is_line_clean || q->form == FL_FORM_TISSUE_CULTURE) {
        return (fl_residue_verdict){.answer = FL_RESIDUE_KNOWN_CLEAN,
                                    .is_ok_for_use = true,
                                    .why = FL_RESIDUE_WHY_RAISED_CLEAN};
    }
    bool is_said_clean = q->label == FL_LABEL_SAYS_CLEAN;
    if (!is_sensitive(q->use)) {
        if (is_said_clean) {
            return (fl_residue_verdict){.answer = FL_RESIDUE_KNOWN_CLEAN,
                                        .is_ok_for_use = true,
                                        .why = FL_RESIDUE_WHY_SAID_CLEAN};
        }
        if (q->use != FL_USE_REPTILE) {
            return (fl_residue_verdict){.answer = FL_RESIDUE_UNKNOWN,
                                        .is_ok_for_use = true,
                                        .why = FL_RESIDUE_WHY_NOT_ASKED};
        }
    }
    if (q->is_only_new_growth) {
        return (fl_residue_verdict){
            .answer = FL_RESIDUE_UNKNOWN, .is_ok_for_use = true, .why = FL_RESIDUE_WHY_WAITED};
    }
    double wait_days =
        ceil(days_or_zero(fl_residue_unknown_wait_days() - days_or_zero(q->days_since)));
    bool has_lived = q->use == FL_USE_INVERTEBRATE && q->trial == FL_TRIAL_LIVED;
    bool wants_growth = is_sensitive(q->use) && !is_said_clean && !q->has_new_growth && !has_lived;
    bool is_ok = wait_days <= 0.0 && !wants_growth;
    fl_residue_why why = wait_days > 0.0 ? FL_RESIDUE_WHY_WAIT
                         : wants_growth  ? FL_RESIDUE_WHY_NEEDS_GROWTH
                                         : FL_RESIDUE_WHY_WAITED;
    return (fl_residue_verdict){.answer = FL_RESIDUE_UNKNOWN,
                                .is_ok_for_use = is_ok,
                                .why = why,
                                .wait_days =
                                    wants_growth && wait_days <= 0.0 ? (double)NAN : wait_days,
                                .wants_new_growth = wants_growth};
}

/* True when a is the harder answer to live with. */
static bool is_worse(const fl_residue_verdict *a, const fl_residue_verdict *b)
{
    if (a->is_ok_for_use != b->is_ok_for_use) {
        return !a->is_ok_for_use;
    }
    if (isnan(a->wait_days) != isnan(b->wait_days)) {
        return isnan(a->wait_days);
    }
    if (a->answer != b->answer) {
        return a->answer > b->answer;
    }
    return a->wait_days > b->wait_days;
}

fl_residue_verdict fl_residue_judge(const fl_residue_case *question)
{
    fl_residue_verdict worst = judge_history(question);
    bool wants_growth = worst.wants_new_growth;
    for (size_t i = 0; i < question->n_sprays; i++) {
        fl_residue_verdict v = judge_spray(&question->sprays[i], question->use);
        if (is_worse(&v, &worst)) {
            worst = v;
        }
    }
    worst.wants_new_growth = wants_growth && !worst.is_ok_for_use;
    return worst;
}
