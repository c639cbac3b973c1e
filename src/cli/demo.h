/* What keeps demo data out of other rooms. */
#ifndef FL_CLI_DEMO_H
#define FL_CLI_DEMO_H

#include "base/err.h"
#include "base/sv.h"

/* FL_EFORBIDDEN when the event would mark a room as a demo: only `fernlock demo` makes one.
 * FL_OK for everything else, also for what is no event: recording says what is wrong with it. */
fl_status fl_demo_refuse(fl_sv json, fl_err *err) FL_MUST_USE;

#endif
