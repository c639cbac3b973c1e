/* Tonight's run sheet as lines: when, what, to which lot, in which tub. */
#ifndef FL_CLI_SHEET_H
#define FL_CLI_SHEET_H

#include "app/evening.h"
#include "cli/session.h"

/* Prints it; nothing when there is no line. */
void fl_print_sheet(fl_session *s, const fl_evening *evening);

#endif
