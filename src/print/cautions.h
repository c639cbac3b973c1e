/* Inside src/print only: the cautions of what is mixed, as texts. */
#ifndef FL_PRINT_CAUTIONS_H
#define FL_PRINT_CAUTIONS_H

#include "core/dip/bleach.h"
#include "event/words.h"

#define FL_PRINT_CAUTIONS_MAX (FL_AGENT_COUNT * 24)

/* Of the agents in the mask (1u << fl_agent), each caution once; out[FL_PRINT_CAUTIONS_MAX]. */
size_t fl_print_cautions(unsigned agents, unsigned bleach_occasions, const char **out);
/* The occasions of a planned bleach dip. */
unsigned fl_print_bleach_occasions(const fl_bleach_mix *mix);

#endif
