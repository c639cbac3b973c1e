/* What was found at a look, as it is typed, and what is said after a find. */
#ifndef FL_CLI_FOUND_H
#define FL_CLI_FOUND_H

#include "cli/dates.h"
#include "cli/verb.h"

/* "THREAT[:stage[:count]]@LOT"; the lot may be left out. The code must be a threat's or a
 * look-alike's, the stage one of the threat's. */
fl_status fl_found_read(fl_session *s, fl_sv text, fl_ev_finding *out, fl_err *err) FL_MUST_USE;
/* "WORDS@LOT": not identified. */
fl_status fl_found_read_unknown(fl_session *s, fl_sv text, fl_ev_finding *out,
                                fl_err *err) FL_MUST_USE;

/* FL_EINVAL, listing codes, when the code is neither a threat's nor a look-alike's. */
fl_status fl_found_check_code(fl_sv code, fl_err *err) FL_MUST_USE;

/* The first things to do after a find, and what it means: the hold, and the dates that moved. The
 * snapshot is the one after the find. */
fl_status fl_print_after_find(fl_session *s, fl_id place, const fl_lot_date *before,
                              size_t n_before, fl_err *err) FL_MUST_USE;

#endif
