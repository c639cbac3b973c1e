/* The forms of `fernlock show`; each is the function of one row of the table in cmd_show.c. */
#ifndef FL_CLI_SHOW_H
#define FL_CLI_SHOW_H

#include "cli/compose.h"

/* Option indices of the form `show lot NAME [--threat CODE [--svg FILE]]`. */
enum { FL_SHOW_THREAT, FL_SHOW_SVG };

/* The room: places by kind with their lots. */
fl_status fl_show_room(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_places(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_lots(fl_call *call, fl_err *err) FL_MUST_USE;
/* By plant: what it is quiet enough for, mothers and their cuttings. */
fl_status fl_show_collection(fl_call *call, fl_err *err) FL_MUST_USE;
/* One lot, place, source or plant, by name, code or id. */
fl_status fl_show_lot(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_place(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_source(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_plant(fl_call *call, fl_err *err) FL_MUST_USE;
/* A threat by its code, and all of them; no room is needed. */
fl_status fl_show_threat(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_threats(fl_call *call, fl_err *err) FL_MUST_USE;
/* What happened. */
fl_status fl_show_event(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_history(fl_call *call, fl_err *err) FL_MUST_USE;
fl_status fl_show_conflicts(fl_call *call, fl_err *err) FL_MUST_USE;

#endif
