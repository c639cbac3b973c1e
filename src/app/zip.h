/* Zip files, out and in. The only module that includes libzip (zip.h of the system); export and
 * import need no more of it than this.
 *
 * A zip that comes in is a stranger's: opening it judges the whole directory before a byte is
 * unpacked, nothing is ever written under a name from it, and no entry is unpacked beyond what its
 * reader allows. */
#ifndef FL_APP_ZIP_H
#define FL_APP_ZIP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/progress.h"
#include "base/sv.h"

/* ---- writing ---- */

typedef struct fl_zip_out fl_zip_out;

/* Begins an archive that replaces the file at `path`. Every entry is dated local_s, seconds of the
 * clock on the wall (zip files know no zone). FL_EIO. */
fl_status fl_zip_new(const char *path, int64_t local_s, fl_zip_out **out, fl_err *err) FL_MUST_USE;

/* Whom fl_zip_finish tells how far it is: FL_ECANCELLED, and nothing is written. NULL: nobody. */
void fl_zip_watch_out(fl_zip_out *zip, const fl_progress *progress);

/* Adds an entry, deflated; the bytes must stay until finish. */
fl_status fl_zip_add(fl_zip_out *zip, const char *name, fl_sv bytes, fl_err *err) FL_MUST_USE;

/* Bytes that are fetched when they are written and let go after. */
typedef struct fl_zip_source {
    fl_status (*load)(void *context, fl_arena *arena, fl_sv *bytes, fl_err *err);
    void *context; /* must stay until finish */
    size_t size;   /* what load will give */
    bool is_dense; /* packed already (a photo): stored as it is */
} fl_zip_source;
fl_status fl_zip_add_later(fl_zip_out *zip, const char *name, const fl_zip_source *source,
                           fl_err *err) FL_MUST_USE;

/* Writes the archive. What load complained of comes out here. FL_EIO. The zip is done for either
 * way (still to be freed). */
fl_status fl_zip_finish(fl_zip_out *zip, fl_err *err) FL_MUST_USE;
void fl_zip_free(fl_zip_out *zip); /* NULL is fine; without finish nothing is written */

/* ---- reading ---- */

#define FL_ZIP_ENTRIES_MAX 100000
#define FL_ZIP_NAME_MAX 200
/* What all entries may have unpacked: so many times the file's size, plus an allowance. Text packs
 * to a tenth, photos not at all; a bomb to a thousandth or less. */
#define FL_ZIP_RATIO_MAX 100
#define FL_ZIP_ALLOWANCE_BYTES ((int64_t)64 << 20)

typedef struct fl_zip_in fl_zip_in;

/* Opens and judges. FL_ENOTFOUND: no such file. FL_EFORMAT: no zip, or a damaged one. FL_EINVAL: an
 * entry whose name leaves the folder ("../x", "/x", "C:\x"), has a control character, or is there
 * twice; one that is encrypted. FL_ETOOBIG: too many entries, a name too long, or too much to
 * unpack. The message names the entry. */
fl_status fl_zip_open(const char *path, fl_zip_in **out, fl_err *err) FL_MUST_USE;
void fl_zip_close(fl_zip_in *zip); /* NULL is fine */

/* Whom fl_zip_check tells. NULL: nobody. */
void fl_zip_watch_in(fl_zip_in *zip, const fl_progress *progress);

size_t fl_zip_count(const fl_zip_in *zip);
/* Name and unpacked size of an entry, index < count. The name lives as long as the zip. */
const char *fl_zip_name(const fl_zip_in *zip, size_t index);
size_t fl_zip_size(const fl_zip_in *zip, size_t index);
/* The index of a name; FL_EINVAL: the zip has no such entry. */
fl_status fl_zip_need(const fl_zip_in *zip, const char *name, size_t *index,
                      fl_err *err) FL_MUST_USE;

/* Unpacks every entry, keeping nothing, and checks sizes and checksums. FL_EFORMAT names the one
 * that is damaged. */
fl_status fl_zip_check(fl_zip_in *zip, fl_err *err) FL_MUST_USE;

/* Unpacks an entry of at most max bytes into the arena; its checksum is checked. FL_ETOOBIG,
 * FL_EFORMAT (damaged, or not the size it says). */
fl_status fl_zip_read(fl_zip_in *zip, size_t index, size_t max, fl_arena *arena, fl_sv *bytes,
                      fl_err *err) FL_MUST_USE;

#endif
