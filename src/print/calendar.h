/* The calendar as text: iCalendar, RFC 5545, by libical, which knows its escaping (section 3.3.11),
 * its lines of at most 75 octets (3.1) and its zones (3.6.5). */
#ifndef FL_PRINT_CALENDAR_H
#define FL_PRINT_CALENDAR_H

#include "app/calendar.h"
#include "base/str.h"

#define FL_CALENDAR_BYTES_MAX ((size_t)16 << 20)

/* FL_EINVAL unless it is the name of a zone that this machine knows ("Europe/Vienna"), or empty. */
fl_status fl_calendar_check_zone(fl_sv zone, fl_err *err) FL_MUST_USE;

/* Appends the whole calendar. `name` is what calendars call it. The zone's rules are in it, so that
 * a round at 18:00 is at 18:00 on either side of a clock change; without a zone it is 18:00
 * wherever the reader is (3.3.5, form 1). The same entries give the same bytes. */
fl_status fl_calendar_write(const fl_calendar_entry *entries, size_t count, fl_sv name, fl_sv zone,
                            fl_str *out, fl_err *err) FL_MUST_USE;

#endif
