/* The cautions of an agent as plain texts. Apart from the rest because the words of
 * core/dip/safety.h and event/meaning.h collide. */
#ifndef FL_APP_OUTBREAK_CAUTION_H
#define FL_APP_OUTBREAK_CAUTION_H

#include <stddef.h>

#include "event/words.h"

#define FL_OUTBREAK_CAUTIONS_MAX 24

/* Static texts into out[FL_OUTBREAK_CAUTIONS_MAX]; how many. */
size_t fl_outbreak_cautions(fl_agent agent, const char **out);

#endif
