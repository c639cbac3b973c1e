/* Putting lots somewhere: priced first, recorded when it is free or the keeper says so. */
#ifndef FL_CLI_PLACE_PRICE_H
#define FL_CLI_PLACE_PRICE_H

#include "cli/verb.h"

/* Option indices of the form `place LOT… [--in PLACE] [--anyway]`. */
enum { FL_PLACE_IN = FL_OPTION_FIRST, FL_PLACE_ANYWAY };

/* Lists what each place would cost the lots, or puts them into --in. Exit code 1, and nothing is
 * recorded, when it would cost days or break a rule and --anyway is not given; a time of the past
 * (--at) is what happened, and is recorded as it is. */
fl_status fl_place_lots(fl_call *call, fl_err *err) FL_MUST_USE;

/* The same of all that stands in one place: `place join BIN [--in PLACE] [--anyway]`. */
fl_status fl_place_join(fl_call *call, fl_err *err) FL_MUST_USE;

#endif
