/* Random secrets, and small files of the room's folder that only the keeper may read. */
#ifndef FL_HTTP_SECRET_H
#define FL_HTTP_SECRET_H

#include "base/err.h"
#include "base/hash.h"
#include "base/str.h"

#define FL_SECRET_TEXT_MAX FL_HASH_TEXT_MAX

/* A new secret: 64 hex digits that hold 244 random bits, terminated, into
 * text[FL_SECRET_TEXT_MAX]; returns text. */
const char *fl_secret_make(char *text);

/* Appends the file DIR/NAME to *out. FL_ENOTFOUND: there is none. FL_EFORBIDDEN: others than its
 * owner, who must be this user, may open it; FL_ETOOBIG, FL_EIO. */
fl_status fl_secret_read(const char *dir, const char *name, fl_str *out, fl_err *err) FL_MUST_USE;

/* Writes the whole file, mode 0600: the old one stays until the new one is on the disk. FL_EIO. */
fl_status fl_secret_write(const char *dir, const char *name, fl_sv text, fl_err *err) FL_MUST_USE;

/* The secret kept in DIR/NAME; made when there is none. FL_EFORMAT: the file holds something else;
 * errors of the two above. */
fl_status fl_secret_keep(const char *dir, const char *name, char *text, fl_err *err) FL_MUST_USE;

#endif
