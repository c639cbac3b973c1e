/* How likely a purchase carries a threat: base x kind of source x form. */
#include <math.h>

#include "core/know/know.h"
#include "core/know/scope.h"
#include "data/already_here.h"
#include "data/forms.h"
#include "data/source_kinds.h"

static const struct fl_row_source_kinds *kind_row(const fl_threat *threat, fl_source_kind kind)
{
    const struct fl_row_source_kinds *best = NULL;
    int best_rank = 0;
    for (size_t i = 0; i < fl_rows_source_kinds_count; i++) {
        const struct fl_row_source_kinds *row = &fl_rows_source_kinds[i];
        int rank = fl_scope_rank(threat, row->scope);
        if (rank > best_rank && fl_scope_is(row->kind, fl_words_source_kind[kind].word)) {
            best = row;
            best_rank = rank;
        }
    }
    return best;
}

static const struct fl_row_forms *form_row(const fl_threat *threat, fl_form form)
{
    const struct fl_row_forms *best = NULL;
    int best_rank = 0;
    for (size_t i = 0; i < fl_rows_forms_count; i++) {
        const struct fl_row_forms *row = &fl_rows_forms[i];
        int rank = fl_scope_rank(threat, row->scope);
        if (rank > best_rank && fl_scope_is(row->form, fl_words_form[form].word)) {
            best = row;
            best_rank = rank;
        }
    }
    return best;
}

fl_know_prior fl_know_prior_of(const fl_threat *threat, fl_source_kind kind, fl_form form)
{
    const struct fl_row_source_kinds *by_kind = kind_row(threat, kind);
    const struct fl_row_forms *by_form = form_row(threat, form);
    fl_know_prior prior = {.base = threat->prior,
                           .kind_factor = by_kind ? by_kind->factor : 1.0,
                           .form_factor = 1.0,
                           .grade = FL_GRADE_ASSUMED};
    if (by_form && !isnan(by_form->prior)) {
        /* Given outright: what the bag or heap holds, whoever sold it. */
        prior.prob = by_form->prior;
        prior.kind_factor = 1.0;
        prior.form_factor = prior.base > 0.0 ? prior.prob / prior.base : 1.0;
        return prior;
    }
    prior.form_factor = by_form ? by_form->factor : 1.0;
    if (kind == FL_SOURCE_TISSUE_CULTURE_LAB && form == FL_FORM_TISSUE_CULTURE) {
        prior.kind_factor = 1.0; /* one sealed cup, not two */
    }
    prior.prob = fmin(1.0, prior.base * prior.kind_factor * prior.form_factor);
    return prior;
}

double fl_know_already_here_factor(const fl_threat *threat)
{
    double factor = 1.0;
    int best_rank = 0;
    for (size_t i = 0; i < fl_rows_already_here_count; i++) {
        int rank = fl_scope_rank(threat, fl_rows_already_here[i].scope);
        if (rank > best_rank) {
            factor = fl_rows_already_here[i].factor;
            best_rank = rank;
        }
    }
    return factor;
}
