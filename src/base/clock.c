/* The machine's clock and a fixed one. */
#include "base/clock.h"

#include <assert.h>
#include <stddef.h>
#include <time.h>

static int64_t system_now(void *context)
{
    (void)context;
    struct timespec now;
    int base = timespec_get(&now, TIME_UTC);
    assert(base == TIME_UTC);
    (void)base;
    return (int64_t)now.tv_sec;
}

static int64_t fixed_now(void *context)
{
    return *(const int64_t *)context;
}

fl_clock fl_clock_system(void)
{
    return (fl_clock){.now_utc_s = system_now, .context = NULL};
}

fl_clock fl_clock_fixed(int64_t *utc_s)
{
    assert(utc_s != NULL);
    return (fl_clock){.now_utc_s = fixed_now, .context = utc_s};
}
