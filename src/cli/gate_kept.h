/* The gate's answer as it is kept with a release or a giving away. */
#ifndef FL_CLI_GATE_KEPT_H
#define FL_CLI_GATE_KEPT_H

#include "cli/session.h"

/* Fills in is_against_gate, answer_json (the answer as the browser and --json give it, in canonical
 * form) and knowledge of a release, from the report. Texts in the session's memory. */
fl_status fl_gate_keep(fl_session *s, const fl_gate_report *report, fl_ev_lot_released *body,
                       fl_err *err) FL_MUST_USE;

#endif
