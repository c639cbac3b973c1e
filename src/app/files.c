/* POSIX file work of the use cases. A finished file is linked into place, so a name never stands
 * for half a file. */
#define _POSIX_C_SOURCE 200809L /* mkdtemp, fdopendir, link */
#include "app/files.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static fl_status fail_errno(const char *what, const char *path, fl_err *err)
{
    return fl_fail(err, FL_EIO, "%s %.150s: %s", what, path, strerror(errno));
}

const char *fl_files_join(fl_arena *arena, const char *dir, const char *name)
{
    size_t len = strlen(dir);
    const char *between = len > 0 && dir[len - 1] == '/' ? "" : "/";
    return fl_arena_printf(arena, "%s%s%s", dir, between, name).ptr;
}

const char *fl_files_parent(fl_arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL) {
        return ".";
    }
    size_t len = slash == path ? 1 : (size_t)(slash - path);
    return fl_arena_copy_sv(arena, (fl_sv){path, len}).ptr;
}

bool fl_files_exist(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0;
}

int64_t fl_files_bytes(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 ? (int64_t)info.st_size : -1;
}

bool fl_files_remove(const char *path)
{
    return unlink(path) == 0;
}

fl_status fl_files_rename(const char *from, const char *to, fl_err *err)
{
    return rename(from, to) == 0 ? FL_OK : fail_errno("cannot rename", from, err);
}

fl_status fl_files_make_folder(const char *path, fl_err *err)
{
    fl_arena arena;
    fl_status status = FL_OK;
    struct stat info;
    fl_arena_init(&arena);
    fl_sv text = fl_arena_printf(&arena, "%s/", path);
    char *folder = fl_arena_alloc(&arena, text.len + 1, 1);
    for (size_t i = 0; i < text.len && status == FL_OK; i++) {
        folder[i] = text.ptr[i];
        if (i > 0 && text.ptr[i] == '/' && text.ptr[i - 1] != '/') {
            folder[i] = '\0';
            if (mkdir(folder, 0700) != 0 && errno != EEXIST) {
                status = fail_errno("cannot make the folder", folder, err);
            }
            folder[i] = '/';
        }
    }
    if (status == FL_OK && (stat(path, &info) != 0 || !S_ISDIR(info.st_mode))) {
        status = fl_fail(err, FL_EIO, "%.150s is not a folder: give another", path);
    }
    fl_arena_done(&arena);
    return status;
}

/* ---- folders ---- */

fl_status fl_files_make_scratch(const char *dir, const char *name, fl_arena *arena,
                                const char **out, fl_err *err)
{
    fl_sv text = fl_arena_printf(arena, "%s/.%s-XXXXXX", dir, name);
    char *path = fl_arena_alloc(arena, text.len + 1, 1);
    memcpy(path, text.ptr, text.len);
    if (mkdtemp(path) == NULL) {
        return fail_errno("cannot make the folder", path, err);
    }
    *out = path;
    return FL_OK;
}

static bool is_dots(const char *name)
{
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

void fl_files_remove_scratch(const char *path)
{
    DIR *dir = opendir(path);
    if (dir == NULL) {
        return;
    }
    for (const struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        if (!is_dots(entry->d_name)) {
            (void)unlinkat(dirfd(dir), entry->d_name, 0);
        }
    }
    (void)closedir(dir);
    (void)rmdir(path);
}

static int compare_names(const void *left, const void *right)
{
    return strcmp(*(const char *const *)left, *(const char *const *)right);
}

fl_status fl_files_list(const char *path, fl_arena *arena, const char ***out, size_t *count,
                        fl_err *err)
{
    DIR *dir = opendir(path);
    if (dir == NULL && errno == ENOENT) {
        *out = NULL;
        *count = 0;
        return FL_OK;
    }
    if (dir == NULL) {
        return fail_errno("cannot read the folder", path, err);
    }
    size_t n = 0;
    size_t cap = 64;
    const char **names = FL_ARENA_ARRAY(arena, const char *, cap);
    for (const struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        if (is_dots(entry->d_name)) {
            continue;
        }
        if (n == cap) {
            const char **more = FL_ARENA_ARRAY(arena, const char *, 2 * cap);
            memcpy(more, names, n * sizeof names[0]);
            names = more;
            cap *= 2;
        }
        names[n++] = fl_arena_copy_sv(arena, fl_sv_from_cstr(entry->d_name)).ptr;
    }
    (void)closedir(dir);
    qsort(names, n, sizeof names[0], compare_names);
    *out = names;
    *count = n;
    return FL_OK;
}

/* ---- files under construction ---- */

static fl_status fail_taken(const char *path, fl_err *err)
{
    return fl_fail(err, FL_ECONFLICT, "there is a file %.150s already: choose another name", path);
}

fl_status fl_part_begin(const char *path, bool may_replace, fl_arena *arena, fl_part *out,
                        fl_err *err)
{
    if (!may_replace && fl_files_exist(path)) {
        return fail_taken(path, err);
    }
    fl_sv text = fl_arena_printf(arena, "%s.part-XXXXXX", path);
    char *part = fl_arena_alloc(arena, text.len + 1, 1);
    memcpy(part, text.ptr, text.len);
    int fd = mkstemp(part);
    if (fd < 0) {
        return fail_errno("cannot write", path, err);
    }
    *out = (fl_part){.path = path, .part = part, .fd = fd};
    return FL_OK;
}

fl_status fl_part_reopen(fl_part *part, fl_err *err)
{
    (void)close(part->fd);
    part->fd = open(part->part, O_RDWR | O_CLOEXEC);
    return part->fd >= 0 ? FL_OK : fail_errno("cannot write", part->path, err);
}

/* So that a new name outlives a power cut; a file system that cannot is no failure. */
static void sync_parent(const char *path)
{
    fl_arena arena;
    fl_arena_init(&arena);
    int fd = open(fl_files_parent(&arena, path), O_RDONLY | O_CLOEXEC);
    if (fd >= 0) {
        (void)fsync(fd);
        (void)close(fd);
    }
    fl_arena_done(&arena);
}

/* A link refuses a name that is taken; where there are no links, a last look must do. */
static int put_in_place(const char *part, const char *path, bool may_replace)
{
    if (may_replace) {
        return rename(part, path);
    }
    if (link(part, path) == 0) {
        return unlink(part);
    }
    if (errno == EEXIST) {
        return -1;
    }
    if (fl_files_exist(path)) {
        errno = EEXIST;
        return -1;
    }
    return rename(part, path);
}

fl_status fl_part_finish(fl_part *part, bool may_replace, fl_err *err)
{
    fl_status status = FL_OK;
    if (fsync(part->fd) != 0 && errno != EINVAL && errno != ENOTSUP) {
        status = fail_errno("cannot write", part->path, err);
    }
    if (close(part->fd) != 0 && status == FL_OK) {
        status = fail_errno("cannot write", part->path, err);
    }
    part->fd = -1;
    if (status == FL_OK && put_in_place(part->part, part->path, may_replace) != 0) {
        status = errno == EEXIST ? fail_taken(part->path, err)
                                 : fail_errno("cannot write", part->path, err);
    }
    if (status == FL_OK) {
        sync_parent(part->path);
    } else {
        (void)unlink(part->part);
    }
    part->part = NULL;
    return status;
}

void fl_part_drop(fl_part *part)
{
    if (part->fd >= 0) {
        (void)close(part->fd);
        part->fd = -1;
    }
    if (part->part != NULL) {
        (void)unlink(part->part);
        part->part = NULL;
    }
}

static fl_status write_all(int fd, fl_sv bytes, const char *path, fl_err *err)
{
    size_t done = 0;
    while (done < bytes.len) {
        ssize_t n = write(fd, bytes.ptr + done, bytes.len - done);
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return fail_errno("cannot write", path, err);
        }
        done += (size_t)n;
    }
    return FL_OK;
}

fl_status fl_files_write(const char *path, fl_sv bytes, bool may_replace, fl_err *err)
{
    fl_arena arena;
    fl_part part;
    if (strcmp(path, "-") == 0) {
        return write_all(STDOUT_FILENO, bytes, "standard output", err);
    }
    fl_arena_init(&arena);
    fl_status status = fl_part_begin(path, may_replace, &arena, &part, err);
    if (status == FL_OK) {
        status = write_all(part.fd, bytes, path, err);
        if (status == FL_OK) {
            status = fl_part_finish(&part, may_replace, err);
        }
        fl_part_drop(&part);
    }
    fl_arena_done(&arena);
    return status;
}
