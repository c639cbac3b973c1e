/* The cautions that go with what is mixed. */
#include "cli/cautions.h"

#include <stdio.h>

#include "core/dip/safety.h"

void fl_print_bleach_cautions(const fl_bleach_mix *mix)
{
    fl_caution caution[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(FL_AGENT_BLEACH, fl_bleach_occasions(mix), caution);
    for (size_t i = 0; i < n; i++) {
        (void)printf("  ! %s\n", caution[i].text);
    }
}
