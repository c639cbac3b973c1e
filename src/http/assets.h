/* The files of the web interface: built into the program, or read from a folder while developing
 * (--ui-dir). They hold no data, so everyone who passes the guard may have them. */
#ifndef FL_HTTP_ASSETS_H
#define FL_HTTP_ASSETS_H

#include "http/reply.h"
#include "http/web_assets.h"

#define FL_ASSET_BYTES_MAX ((size_t)16 << 20)

typedef struct fl_assets {
    const fl_web_asset *list; /* sorted by path in byte order */
    size_t count;
    const char *ui_dir; /* NULL: from the list */
} fl_assets;

/* What the build put into the program. */
fl_assets fl_assets_embedded(void);

/* The answer to GET or HEAD of a path that is no route: a file; index.html for a screen of the
 * interface (a path whose last part has no dot); else 404. Packed by gzip for who takes it, with an
 * ETag; files with a hash in their names may be kept for a year. */
fl_reply fl_assets_reply(const fl_assets *assets, const fl_request *request, fl_arena *arena);

/* The same for one file by its path in the interface ("/openapi.json"). */
fl_reply fl_assets_file(const fl_assets *assets, fl_sv path, const fl_request *request,
                        fl_arena *arena);

/* True when Accept-Encoding takes gzip (RFC 9110 section 12.5.3); an absent header does not. */
bool fl_assets_takes_gzip(fl_sv accept_encoding);

/* True for "/chunk-AB12CD34.js": a name that changes with what is in the file. */
bool fl_assets_is_hashed(fl_sv path);

#endif
