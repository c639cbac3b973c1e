/* The secret address of the calendar: calendars can send no headers, so what lets them in stands in
 * the address itself. The token reads the calendar and grants nothing else.
 *
 * Only the SHA-256 of the token is kept, in DIR/calendar-feed (0600), and asked for at every
 * request: deleting the file, or making a new address, closes the old one at once. */
#ifndef FL_HTTP_FEED_H
#define FL_HTTP_FEED_H

#include "http/secret.h"

#define FL_FEED_FILE "calendar-feed"
#define FL_FEED_PATH "/feed/"
#define FL_FEED_NAME "/calendar.ics"

/* A new address; the one before it is closed. Its token, terminated, into
 * token[FL_SECRET_TEXT_MAX]: it cannot be asked for again. FL_EIO. */
fl_status fl_feed_open(const char *dir, char *token, fl_err *err) FL_MUST_USE;
/* Closes it; fine when there is none. FL_EIO. */
fl_status fl_feed_close(const char *dir, fl_err *err) FL_MUST_USE;
/* True when there is an address. */
bool fl_feed_is_open(const char *dir);
/* True when the token is that of the address. */
bool fl_feed_takes(const char *dir, fl_sv token);

#endif
