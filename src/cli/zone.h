/* The offset from UTC that a new room gets. */
#ifndef FL_CLI_ZONE_H
#define FL_CLI_ZONE_H

#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"

/* "+01:00" or "Z" in minutes. FL_EFORMAT naming the text. */
fl_status fl_zone_read(fl_sv text, int *minutes, fl_err *err) FL_MUST_USE;

/* What this machine's clock on the wall is ahead of UTC at that moment, in minutes. */
int fl_zone_of_machine(int64_t now_s);

#endif
