/* From the tables of core/dip. */
#include "app/outbreak_caution.h"

#include "core/dip/safety.h"

_Static_assert(FL_OUTBREAK_CAUTIONS_MAX >= FL_CAUTIONS_MAX, "room for all");

size_t fl_outbreak_cautions(fl_agent agent, const char **out)
{
    fl_caution cautions[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(agent, 0, cautions);
    for (size_t i = 0; i < n; i++) {
        out[i] = cautions[i].text;
    }
    return n;
}
