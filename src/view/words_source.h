/* What a source has taught, in words. Beside view/words.h; the rules there hold here too. */
#ifndef FL_VIEW_WORDS_SOURCE_H
#define FL_VIEW_WORDS_SOURCE_H

#include "view/view.h"
#include "view/words.h"

/* More than one of a kind: "nurseries", "trades with other keepers". */
const char *fl_say_source_kinds(fl_source_kind kind);

/* "3 of 11 purchases here carried fungus gnats; nurseries: about 1 in 6." and what that makes of
 * the next purchase. */
fl_sv fl_say_source_risk(const fl_ev_source_set *source, const fl_source_risk *risk,
                         fl_arena *arena);

/* What the source has taught of every pest with a clock, for the form that is bought there most
 * often (potted when nothing was): what was found first, then what is likeliest. Array in the
 * view's arena. Errors as fl_chances_source_risk. */
fl_status fl_view_source_risks(const fl_view *v, const fl_ev_source_set *source,
                               fl_source_risk **out, size_t *count, fl_err *err) FL_MUST_USE;

/* What came from a source in one form, and how it turned out. */
typedef struct fl_source_form {
    fl_form form;
    int lots, purchases, found, released, gone; /* found: lots that something was found on */
    int64_t plants;
    double cost; /* of all whose cost was told; NAN: of none */
} fl_source_form;
/* Those forms that came, in the order of fl_form; returns how many. */
size_t fl_view_source_forms(const fl_view *v, fl_id source, fl_source_form out[FL_FORM_COUNT]);

/* "Mostly our judgement: 7 of 20 purchases of your own so far." Empty from FL_OWN_PURCHASES on. */
fl_sv fl_say_own_record(int n_purchases, fl_arena *arena);

#endif
