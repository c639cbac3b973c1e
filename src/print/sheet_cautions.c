/* Cautions on paper. Apart because the words of core/dip/safety.h and event/meaning.h collide. */
#include <string.h>

#include "core/dip/safety.h"
#include "print/cautions.h"

size_t fl_print_cautions(unsigned agents, unsigned bleach_occasions, const char **out)
{
    size_t n = 0;
    for (int agent = 0; agent < FL_AGENT_COUNT; agent++) {
        fl_caution caution[FL_CAUTIONS_MAX];
        unsigned occasions = agent == FL_AGENT_BLEACH ? bleach_occasions : 0;
        size_t count = (agents & (1U << agent)) != 0
                           ? fl_dip_cautions((fl_agent)agent, occasions, caution)
                           : 0;
        for (size_t i = 0; i < count; i++) {
            bool was_said = false;
            for (size_t k = 0; k < n; k++) {
                was_said = was_said || strcmp(out[k], caution[i].text) == 0;
            }
            if (!was_said) {
                out[n++] = caution[i].text;
            }
        }
    }
    return n;
}

unsigned fl_print_bleach_occasions(const fl_bleach_mix *mix)
{
    return fl_bleach_occasions(mix);
}
