/* What this installation prints with: the address on labels, and each printer's offset. Kept in the
 * room's settings, not in its journal: another machine has other printers. */
#ifndef FL_APP_PAPER_H
#define FL_APP_PAPER_H

#include "app/app.h"

#define FL_SERVE_PORT 8462 /* where `serve` listens when it is not told */
#define FL_PAPER_OFFSET_MAX_MM 20.0

/* The address that labels lead to: the keeper's, else http://HOSTNAME.local:8462. In the arena. */
fl_status fl_paper_base_url(fl_app *app, fl_arena *arena, fl_sv *out, fl_err *err) FL_MUST_USE;
/* Sets it; empty: back to the default. The form is the caller's to check (print/label.h). */
fl_status fl_paper_set_base_url(fl_app *app, fl_sv url, fl_err *err) FL_MUST_USE;

/* How far a printer is off: what it prints is moved so far to the right and down. */
typedef struct fl_printer {
    double x_mm, y_mm;
} fl_printer;

/* Of a printer by its name (any case; empty: the usual one); 0, 0 when nothing was set. */
fl_status fl_paper_printer(fl_app *app, fl_sv name, fl_arena *arena, fl_printer *out,
                           fl_err *err) FL_MUST_USE;
/* FL_EDOMAIN: beyond FL_PAPER_OFFSET_MAX_MM; FL_EINVAL: a name of more than 60 bytes. */
fl_status fl_paper_set_printer(fl_app *app, fl_sv name, fl_printer printer,
                               fl_err *err) FL_MUST_USE;

#endif
