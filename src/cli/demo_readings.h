/* A year of readings for the demo room: two loggers, in a bin of the upper shelf and one of the
 * lower, every half hour; a cold spell in winter, a heat wave in summer, a gap in autumn, a dry
 * last week among the mothers. Made by arithmetic from the day it is opened, so that nothing large
 * is committed, and taken in the ordinary way, a file a quarter. */
#ifndef FL_CLI_DEMO_READINGS_H
#define FL_CLI_DEMO_READINGS_H

#include "cli/session.h"

/* Takes them in; a room without those bins gets none. The session has its snapshot; reads it anew
 * after each file. */
fl_status fl_demo_readings(fl_session *s, fl_err *err) FL_MUST_USE;

#endif
