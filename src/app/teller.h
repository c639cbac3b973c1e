/* Which device told an event. The journal has it as a text; what a text is worth is the server's to
 * say (http/rights.h). */
#ifndef FL_APP_TELLER_H
#define FL_APP_TELLER_H

#include "app/app.h"

/* The `device` of a recorded event; empty when it has none. In the arena. FL_ENOTFOUND: there is no
 * such event. */
fl_status fl_app_teller(fl_app *app, fl_id event, fl_arena *arena, fl_sv *device,
                        fl_err *err) FL_MUST_USE;

#endif
