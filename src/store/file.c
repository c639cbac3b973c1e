/* POSIX file work of the store. A new data base is built under another name and linked into place,
 * so an empty or half-made room.sqlite can only come from damage, never from us. */
#define _POSIX_C_SOURCE 200809L /* lstat, link, O_CLOEXEC */
#include "store/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PARTS_MAX 1000

static fl_status fail_errno(const char *what, const char *path, fl_err *err)
{
    return fl_fail(err, FL_EIO, "%s %s: %s", what, path, strerror(errno));
}

fl_status fl_file_join(const char *dir, const char *name, fl_str *path, fl_err *err)
{
    fl_str_init(path, FL_FILE_PATH_MAX);
    if (dir == NULL || dir[0] == '\0') {
        return fl_fail(err, FL_EINVAL, "the room's folder has no name: give --room DIR");
    }
    fl_str_append_cstr(path, dir);
    if (dir[strlen(dir) - 1] != '/') {
        fl_str_append_char(path, '/');
    }
    fl_str_append_cstr(path, name);
    if (path->is_full) {
        return fl_fail(err, FL_ETOOBIG, "the folder's name is longer than %d bytes",
                       FL_FILE_PATH_MAX);
    }
    return FL_OK;
}

bool fl_file_exists(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0;
}

bool fl_file_is_empty(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISREG(info.st_mode) && info.st_size == 0;
}

/* Opens, syncs and closes a file or folder. */
static int sync_path(const char *path)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        return -1;
    }
    int rc = fsync(fd);
    /* some file systems cannot sync a folder; then its names are safe without */
    if (rc != 0 && (errno == EINVAL || errno == ENOTSUP)) {
        rc = 0;
    }
    int saved = errno;
    close(fd);
    errno = saved;
    return rc;
}

/* Syncs the folder that holds the path, so that a new name outlives a power cut. */
static int sync_parent(const char *path)
{
    fl_str parent;
    fl_str_init(&parent, FL_FILE_PATH_MAX);
    size_t len = strlen(path);
    while (len > 1 && path[len - 1] == '/') {
        len--;
    }
    while (len > 0 && path[len - 1] != '/') {
        len--;
    }
    if (len == 0) {
        fl_str_append_cstr(&parent, ".");
    } else {
        fl_str_append(&parent, (fl_sv){path, len});
    }
    int rc = sync_path(parent.ptr);
    fl_str_done(&parent);
    return rc;
}

static int make_one(const char *path)
{
    if (mkdir(path, 0700) != 0) {
        return errno == EEXIST ? 0 : -1;
    }
    return sync_parent(path);
}

fl_status fl_file_make_folder(const char *dir, fl_err *err)
{
    fl_str path;
    fl_status status = fl_file_join(dir, "", &path, err);
    if (status != FL_OK) {
        fl_str_done(&path);
        return status;
    }
    for (size_t i = 1; i < path.len; i++) { /* the text ends with '/' */
        if (path.ptr[i] != '/') {
            continue;
        }
        path.ptr[i] = '\0';
        int rc = make_one(path.ptr);
        path.ptr[i] = '/';
        if (rc != 0) {
            status = fail_errno("cannot make the folder", dir, err);
            break;
        }
    }
    struct stat info;
    if (status == FL_OK && (stat(dir, &info) != 0 || !S_ISDIR(info.st_mode))) {
        status = fl_fail(err, FL_EIO, "%s is not a folder: give another with --room DIR", dir);
    }
    fl_str_done(&path);
    return status;
}

fl_status fl_file_make_part(const char *path, fl_str *part, fl_err *err)
{
    fl_str_init(part, FL_FILE_PATH_MAX);
    for (int n = 1; n <= PARTS_MAX; n++) {
        fl_str_clear(part);
        fl_str_appendf(part, "%s.part-%d", path, n);
        if (part->is_full) {
            return fl_fail(err, FL_ETOOBIG, "the path %s is longer than %d bytes", path,
                           FL_FILE_PATH_MAX);
        }
        int fd = open(part->ptr, O_CREAT | O_EXCL | O_RDWR | O_CLOEXEC, 0600);
        if (fd >= 0) {
            close(fd);
            return FL_OK;
        }
        if (errno != EEXIST) {
            return fail_errno("cannot make the file", part->ptr, err);
        }
    }
    return fl_fail(err, FL_EIO, "too many unfinished files %s.part-*: remove them", path);
}

static fl_status taken(const char *path, fl_err *err)
{
    return fl_fail(err, FL_ECONFLICT, "there is a file %s already: choose another name", path);
}

static fl_status sync_name(const char *path, fl_err *err)
{
    return sync_parent(path) == 0 ? FL_OK : fail_errno("cannot write out the folder of", path, err);
}

fl_status fl_file_link(const char *path, const char *second, fl_err *err)
{
    if (link(path, second) != 0) {
        if (errno == EEXIST || fl_file_exists(second)) {
            return taken(second, err);
        }
        if (rename(path, second) != 0) { /* a file system without links */
            return fail_errno("cannot make the file", second, err);
        }
    }
    return sync_name(second, err);
}

fl_status fl_file_install(const char *part, const char *path, fl_err *err)
{
    if (sync_path(part) != 0) {
        return fail_errno("cannot write out the file", part, err);
    }
    fl_status status = fl_file_link(part, path, err);
    if (status == FL_OK) {
        unlink(part);
    }
    return status;
}

fl_status fl_file_replace(const char *part, const char *path, fl_err *err)
{
    if (sync_path(part) != 0) {
        return fail_errno("cannot write out the file", part, err);
    }
    /* what the caller removed beside it must not come back after the new file is there */
    fl_status status = sync_name(path, err);
    if (status == FL_OK && rename(part, path) != 0) {
        status = fail_errno("cannot make the file", path, err);
    }
    return status == FL_OK ? sync_name(path, err) : status;
}

void fl_file_remove(const char *path)
{
    unlink(path);
}
