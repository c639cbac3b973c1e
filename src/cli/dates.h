/* The dates of the lots of a place, before and after something was recorded. */
#ifndef FL_CLI_DATES_H
#define FL_CLI_DATES_H

#include "cli/session.h"

typedef struct fl_lot_date {
    fl_id lot;
    int64_t earliest_s; /* when the gate could open for its own use; FL_GATE_NEVER */
} fl_lot_date;

/* The dates of all lots in quarantine or on hold in the place, by the session's snapshot; array in
 * its memory. Other lots are not asked. */
fl_status fl_dates_of_place(fl_session *s, fl_id place, fl_lot_date **out, size_t *count,
                            fl_err *err) FL_MUST_USE;

/* Prints a line for each lot whose date differs from what it was, in words. */
fl_status fl_print_moved_dates(fl_session *s, fl_id place, const fl_lot_date *before, size_t count,
                               fl_err *err) FL_MUST_USE;

/* Prints the gate's answer in a line for each lot in quarantine in the place, `max` at most. */
fl_status fl_print_answers(fl_session *s, fl_id place, size_t max, fl_err *err) FL_MUST_USE;

#endif
