/* Time comes in from outside: app asks the clock it was given; tests give a fixed one. */
#ifndef FL_BASE_CLOCK_H
#define FL_BASE_CLOCK_H

#include <stdint.h>

typedef struct fl_clock {
    int64_t (*now_utc_s)(void *context);
    void *context;
} fl_clock;

/* The machine's clock. */
fl_clock fl_clock_system(void);

/* Always *utc_s (the caller keeps it alive and may move it). */
fl_clock fl_clock_fixed(int64_t *utc_s);

#endif
