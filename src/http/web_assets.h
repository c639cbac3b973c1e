/* The files of the web interface inside the program; the build makes the table from web/build
 * (tools/embed-web). Without web/build it is empty, and the program still builds. */
#ifndef FL_HTTP_WEB_ASSETS_H
#define FL_HTTP_WEB_ASSETS_H

#include <stddef.h>

typedef struct fl_web_asset {
    const char *path;           /* "/index.html" */
    const unsigned char *begin; /* the file packed by gzip */
    const unsigned char *end;   /* one past the last byte */
    const char *etag;           /* SHA-256 of the unpacked file, lower-case hex, without quotes */
    const char *content_type;
} fl_web_asset;

/* fl_web_asset_count entries, sorted by path in byte order. */
extern const fl_web_asset fl_web_assets[];
extern const size_t fl_web_asset_count;

#endif
