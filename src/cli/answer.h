/* Answers in text that several commands print: the gate, a lot in a line. Dates and chances are
 * said by view/words.h. */
#ifndef FL_CLI_ANSWER_H
#define FL_CLI_ANSWER_H

#include "app/gate.h"
#include "cli/session.h"

/* "Pilea cadierei (K7F2QX), 3 potted, in bin 3": without a line break. */
void fl_print_lot(fl_session *s, const fl_lot *lot);

/* The gate's answer: in a line, the worst threat, each condition with its date, both dates. */
void fl_print_gate(fl_session *s, const fl_gate_report *report);

/* What an enclosure holds already, and how often a bad release is to be expected at this pace.
 * place none: only the pace. */
fl_status fl_print_totals(fl_session *s, fl_id place, fl_err *err) FL_MUST_USE;

/* "on" for a bench or an open spot, "in" for what encloses. */
const char *fl_place_in(const fl_session *s, fl_id place);

/* The date of something in a few words: "today", "19 March", "not by waiting". */
fl_sv fl_due_word(fl_session *s, int64_t at_s);

#endif
