/* Files beside the room: folders, and files that appear whole or not at all. Used by backup, export
 * and paper; the room file itself is the store's alone. */
#ifndef FL_APP_FILES_H
#define FL_APP_FILES_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/sv.h"

/* "DIR/NAME" in the arena, terminated. */
const char *fl_files_join(fl_arena *arena, const char *dir, const char *name);

/* The part of a path before its last '/' ("." when there is none, "/" for the root's own). */
const char *fl_files_parent(fl_arena *arena, const char *path);

bool fl_files_exist(const char *path);

/* The size of a file in bytes; -1 when it cannot be asked. */
int64_t fl_files_bytes(const char *path);

/* Removes a file; true when it is gone. */
bool fl_files_remove(const char *path);

/* Gives a file another name, in place of whatever has it. FL_EIO. */
fl_status fl_files_rename(const char *from, const char *to, fl_err *err) FL_MUST_USE;

/* Makes the folder and its missing parents (mode 0700); one that is there is fine. FL_EIO names
 * it. */
fl_status fl_files_make_folder(const char *path, fl_err *err) FL_MUST_USE;

/* A new empty folder "DIR/.NAME-XXXXXX" (mode 0700); its path in the arena. FL_EIO. */
fl_status fl_files_make_scratch(const char *dir, const char *name, fl_arena *arena,
                                const char **out, fl_err *err) FL_MUST_USE;
/* Removes a scratch folder with the files in it (not below); silent when something is left. */
void fl_files_remove_scratch(const char *path);

/* The names in a folder, sorted by byte order, without "." and ".."; none for a missing folder.
 * Array in the arena. FL_EIO. */
fl_status fl_files_list(const char *dir, fl_arena *arena, const char ***out, size_t *count,
                        fl_err *err) FL_MUST_USE;

/* A file under construction: "PATH.part-XXXXXX" (mode 0600) until it is finished. */
typedef struct fl_part {
    const char *path; /* what it will be called */
    const char *part; /* what it is called now */
    int fd;           /* open for reading and writing; -1 once closed */
} fl_part;

/* FL_ECONFLICT when there is a file of that name and may_replace is false; FL_EIO. */
fl_status fl_part_begin(const char *path, bool may_replace, fl_arena *arena, fl_part *out,
                        fl_err *err) FL_MUST_USE;
/* For one whose file another library replaced: opens what has the part's name now. FL_EIO. */
fl_status fl_part_reopen(fl_part *part, fl_err *err) FL_MUST_USE;
/* Syncs, closes and gives it its name. Without may_replace a file that came by meanwhile stays:
 * FL_ECONFLICT. On failure the part is gone. */
fl_status fl_part_finish(fl_part *part, bool may_replace, fl_err *err) FL_MUST_USE;
/* Gives it up. Fine after finish. */
void fl_part_drop(fl_part *part);

/* The whole of a file in one go; as fl_part. "-" is standard output. */
fl_status fl_files_write(const char *path, fl_sv bytes, bool may_replace, fl_err *err) FL_MUST_USE;

#endif
