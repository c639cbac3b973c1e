/* Files around the data base: the folder, safe creation, and putting a finished file in its place
 * so that it is there whole or not at all. No SQL. Only files of src/store include this. */
#ifndef FL_STORE_FILE_H
#define FL_STORE_FILE_H

#include <stdbool.h>

#include "base/err.h"
#include "base/str.h"

#define FL_FILE_ROOM "room.sqlite"
#define FL_FILE_PATH_MAX 4096

/* "DIR/NAME" into *path (initialised by this call, to be done by the caller also on an error).
 * FL_ETOOBIG when longer than FL_FILE_PATH_MAX, FL_EINVAL for an empty folder. */
fl_status fl_file_join(const char *dir, const char *name, fl_str *path, fl_err *err) FL_MUST_USE;

/* True when something is there under this path. */
bool fl_file_exists(const char *path);

/* True for a file of no bytes. */
bool fl_file_is_empty(const char *path);

/* Makes the folder and missing parents with mode 0700 and makes their names durable. One that is
 * there is left as it is. FL_EIO names the folder. */
fl_status fl_file_make_folder(const char *dir, fl_err *err) FL_MUST_USE;

/* Makes an empty file "PATH.part-N" with mode 0600 that nobody else uses; *part as in
 * fl_file_join. FL_EIO names it. */
fl_status fl_file_make_part(const char *path, fl_str *part, fl_err *err) FL_MUST_USE;

/* Gives a finished part its name, durably; the part's contents are synced first. Never replaces:
 * FL_ECONFLICT when there is a file of that name already (the part stays). */
fl_status fl_file_install(const char *part, const char *path, fl_err *err) FL_MUST_USE;

/* The same, but whatever has the name now gives way in the same moment. */
fl_status fl_file_replace(const char *part, const char *path, fl_err *err) FL_MUST_USE;

/* Gives a file a second name (on a file system without links: a new name), durably. FL_ECONFLICT:
 * the name is taken. */
fl_status fl_file_link(const char *path, const char *second, fl_err *err) FL_MUST_USE;

/* Removes a file; silent when there is none. */
void fl_file_remove(const char *path);

#endif
