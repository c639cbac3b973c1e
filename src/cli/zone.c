/* The offset from UTC that a new room gets. */
#define _GNU_SOURCE
#include "cli/zone.h"

#include <stdio.h>
#include <time.h>

#include "base/civil.h"
#include "base/shown.h"

fl_status fl_zone_read(fl_sv text, int *minutes, fl_err *err)
{
    char moment[FL_CIVIL_TEXT_MAX + 8];
    int64_t at_s = 0;
    fl_precision precision;
    const int64_t noon_s = 12 * (int64_t)FL_HOUR_S;
    (void)snprintf(moment, sizeof moment, "1970-01-01T12:00:00%.*s",
                   (int)(text.len < 7 ? text.len : 7), text.ptr);
    if (text.len == 0 || text.len > 6 ||
        fl_civil_parse(fl_sv_from_cstr(moment), 0, &at_s, &precision, NULL) != FL_OK) {
        return fl_fail(err, FL_EFORMAT, "--tz \"%.*s\": give an offset such as +01:00 or Z",
                       FL_SHOWN(text));
    }
    *minutes = (int)((noon_s - at_s) / 60);
    return FL_OK;
}

int fl_zone_of_machine(int64_t now_s)
{
    struct tm local;
    time_t now = (time_t)now_s;
    tzset();
    return localtime_r(&now, &local) != NULL ? (int)(local.tm_gmtoff / 60) : 0;
}
