/* Civil dates and UTC seconds, by arithmetic (proleptic Gregorian); no zone data base, no clock.
 * A zone is an offset in minutes east of UTC, given by the caller. */
#ifndef FL_BASE_CIVIL_H
#define FL_BASE_CIVIL_H

#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_DAY_S 86400
#define FL_HOUR_S 3600
#define FL_CIVIL_TEXT_MAX 32

typedef struct fl_civil {
    int year;   /* 1 to 9999 */
    int month;  /* 1 to 12 */
    int day;    /* 1 to 31 */
    int hour;   /* 0 to 23 */
    int minute; /* 0 to 59 */
    int second; /* 0 to 59 */
} fl_civil;

/* How exactly a moment is known. The order is from exact to vague. */
typedef enum fl_precision {
    FL_PRECISION_EXACT = 0,
    FL_PRECISION_HOUR,
    FL_PRECISION_DAY,   /* a date without a time: local noon */
    FL_PRECISION_MONTH, /* the 15th, local noon */
    FL_PRECISION_YEAR,  /* 1 July, local noon */
    FL_PRECISION_COUNT
} fl_precision;

/* Days since 1970-01-01 of a date; month and day are taken as given (asserted valid). */
int64_t fl_civil_days(int year, int month, int day);

/* The civil time of a UTC second at an offset; weekday 0 = Monday to 6 = Sunday. */
fl_civil fl_civil_from_utc(int64_t utc_s, int tz_offset_min);
int fl_civil_weekday(int64_t utc_s, int tz_offset_min);

/* Local noon of the local day of a UTC second. */
int64_t fl_civil_noon(int64_t utc_s, int tz_offset_min);
/* The end of that day: the first second of the next. */
int64_t fl_civil_day_end(int64_t utc_s, int tz_offset_min);

/* Reads "2026-03-01T18:30:00Z", with fraction (cut) and "+01:00" offsets (RFC 3339), or the vague
 * forms "2026-03-01", "2026-03", "2026", which stand for local noon of that day, of the 15th, of
 * 1 July at tz_offset_min. A leap second reads as :59. FL_EFORMAT or FL_EDOMAIN naming the value.
 */
fl_status fl_civil_parse(fl_sv text, int tz_offset_min, int64_t *utc_s, fl_precision *precision,
                         fl_err *err) FL_MUST_USE;

/* "2026-03-01T18:30:00Z" into buffer[FL_CIVIL_TEXT_MAX]; returns buffer. */
const char *fl_civil_format_utc(char *buffer, int64_t utc_s);

/* "2026-03-01" at an offset; returns buffer[FL_CIVIL_TEXT_MAX]. */
const char *fl_civil_format_date(char *buffer, int64_t utc_s, int tz_offset_min);

#endif
