/* All of a keeper's data in open formats with one command.
 *
 * The zip has README.txt, room.json, the journal as JSON Lines (the canonical bytes themselves)
 * with the moment each event was recorded, the photos and readings (blobs/SHA256), the JSON Schemas
 * of all events, and tables/NAME.csv for spreadsheets. Import (app/import.h) reads the journal,
 * room.json, the moments and the blobs; the tables follow from them. Not in it: what belongs to
 * this installation (keys and sessions of the server) and what can be made again (the memo). */
#ifndef FL_APP_EXPORT_H
#define FL_APP_EXPORT_H

#include "app/app.h"

#define FL_EXPORT_FORMAT 1 /* of the zip, in room.json */
#define FL_EXPORT_JOURNAL_BYTES_MAX ((size_t)1 << 30)

typedef struct fl_export_options {
    bool has_bom; /* CSV with a byte order mark, for spreadsheets that need one */
} fl_export_options;

typedef struct fl_exported {
    int64_t n_events, n_blobs, n_files, bytes;
} fl_exported;

/* Writes the zip, then reads every entry back; also while the room is served. `file` appears whole
 * or not at all. FL_ECONFLICT: there is a file of that name; FL_ECORRUPT: the room is damaged;
 * FL_EIO. */
fl_status fl_app_export(fl_app *app, const char *file, const fl_export_options *options,
                        fl_exported *out, fl_err *err) FL_MUST_USE;

#endif
