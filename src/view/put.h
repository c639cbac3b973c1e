/* Small pieces that several answers share. Inside src/view only. */
#ifndef FL_VIEW_PUT_H
#define FL_VIEW_PUT_H

#include "view/view.h"
#include "view/words.h"

/* null for no id. */
void fl_put_id(fl_json_writer *w, const char *key, fl_id id);
/* RFC 3339, UTC; null where there is no date (open, never, INT64_MIN). */
void fl_put_at(fl_json_writer *w, const char *key, int64_t at_s);
/* The civil date in the room's zone; null likewise. */
void fl_put_on(const fl_view *v, const char *key, int64_t at_s);
/* null for an empty text. */
void fl_put_text(fl_json_writer *w, const char *key, fl_sv text);
/* An entry of a word list: `key` its word, `text_key` what a person reads. */
void fl_put_word(fl_json_writer *w, const char *key, const char *text_key, const fl_word *word);
/* The words of the bits of a mask, as an array. */
void fl_put_mask(fl_json_writer *w, const char *key, unsigned mask, const fl_word *words,
                 int count);

/* {"id","code","name"} of a lot; null for NULL. */
void fl_put_lot_ref(const fl_view *v, const char *key, const fl_lot *lot);
/* "family": all that came of the first of the lot's line, itself among them, as cut and split. */
void fl_put_family(const fl_view *v, const fl_lot *lot);
/* {"id","code","name","kind"} of a place; null for none. */
void fl_put_place_ref(const fl_view *v, const char *key, fl_id place);

/* One threat with its chance, numbers and words: {"threat","name","plural","latin","prob",
 * "prob_least","prob_most","chance_text","band_text","in_100_text","text"}, left open for more
 * members: the caller ends it. */
void fl_begin_threat(const fl_view *v, const char *key, const fl_say_threat_args *args);

/* Members of a lot that lists and its own page share; the caller has begun the object. report: the
 * gate for its own use; NULL: it was not asked. */
fl_status fl_put_lot_members(const fl_view *v, const fl_lot *lot, const fl_gate_report *report,
                             fl_err *err) FL_MUST_USE;
/* Asks the gate for the lot's own use when that is a question (in quarantine, held, on the bench);
 * *is_asked says whether. No question without chances. */
fl_status fl_ask_for_lot(const fl_view *v, const fl_lot *lot, fl_gate_report *out, bool *is_asked,
                         fl_err *err) FL_MUST_USE;

/* A lot in a list, as one object. *opens_s: when it could go (now for what needs no gate). */
fl_status fl_put_lot_brief(const fl_view *v, const fl_lot *lot, int64_t *opens_s,
                           fl_err *err) FL_MUST_USE;

/* {"event_id","at","on","effort",…} of a look. */
void fl_put_look(const fl_view *v, const fl_event *event);
/* {"id","at","on","place","lot","threat",…} of a finding. */
void fl_put_finding(const fl_view *v, const fl_finding_now *finding);
/* {"kind","text","at","on","event_id","other_event_id","lot","place"} of a conflict. */
void fl_put_conflict(const fl_view *v, const fl_conflict *conflict);
/* {"id","cause","why","from_on",…} of a hold. */
void fl_put_hold(const fl_view *v, const fl_hold *hold);

/* True when `list` names the id. */
bool fl_ids_have(const fl_id_list *list, fl_id id);

#endif
