/* One number of a lot, opened. */
#ifndef FL_CLI_SHOW_CHANCE_H
#define FL_CLI_SHOW_CHANCE_H

#include "cli/verb.h"

/* Prints how the chance of the threat with this code on the lot came to be: text, or JSON with
 * --json; with svg not empty it writes the picture to that file instead. The session's chances must
 * be there. FL_EINVAL for an unknown code, FL_EIO for a file that cannot be written. */
fl_status fl_show_chance(fl_call *call, const fl_lot *lot, fl_sv code, fl_sv svg,
                         fl_err *err) FL_MUST_USE;

#endif
