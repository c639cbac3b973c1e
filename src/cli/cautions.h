/* The cautions that go with what is mixed, as lines. Apart because the words of core/dip/safety.h
 * and event/meaning.h collide. */
#ifndef FL_CLI_CAUTIONS_H
#define FL_CLI_CAUTIONS_H

#include "core/dip/bleach.h"

/* Prints the cautions of a bleach dip, indented, a line each. */
void fl_print_bleach_cautions(const fl_bleach_mix *mix);

#endif
