/* A room from an export (app/export.h): made in a folder of its own, verified there, then put in
 * place, so that what fails leaves no room behind. */
#ifndef FL_APP_IMPORT_H
#define FL_APP_IMPORT_H

#include "app/app.h"

typedef struct fl_imported {
    int64_t n_blobs;
    fl_verified holds; /* what the new room has */
} fl_imported;

/* Makes the room of `file` in `dir`, where there must be none, or one without any event. The
 * journal is kept byte for byte, with the moments of recording; blobs too. Events are checked
 * against their schemas and must be in canonical form, ids unique, references to something recorded
 * before; codes this version does not know are kept (they are the past).
 * FL_ENOTFOUND, FL_EFORMAT, FL_EINVAL, FL_ETOOBIG: of the file, naming entry and line; FL_EINVAL
 * also when it was made by a newer fernlock; FL_ECONFLICT: there is a room in `dir`; FL_EIO. */
fl_status fl_app_import(const char *file, const char *dir, fl_clock clock, fl_imported *out,
                        fl_err *err) FL_MUST_USE;
/* The same, watched. FL_ECANCELLED: there is no room, as before. */
fl_status fl_app_import_watched(const char *file, const fl_room_making *how, fl_imported *out,
                                fl_err *err) FL_MUST_USE;

#endif
