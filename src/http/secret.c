/* Secrets and their files. A file is written beside and renamed, so that a machine that loses power
 * keeps the old one whole. */
#define _GNU_SOURCE
#include "http/secret.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/id.h"

#define PATH_BYTES_MAX 4096

const char *fl_secret_make(char *text)
{
    const fl_id a = fl_id_random();
    const fl_id b = fl_id_random();
    return fl_hash_format(text, fl_hash_link(fl_hash_of(a.b, sizeof a.b), b.b, sizeof b.b));
}

static fl_status make_path(const char *dir, const char *name, const char *suffix, char *path,
                           fl_err *err)
{
    int len = snprintf(path, PATH_BYTES_MAX, "%s/%s%s", dir, name, suffix);
    if (len < 0 || len >= PATH_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "folder %.60s…: the path is too long", dir);
    }
    return FL_OK;
}

static fl_status check_private(int file, const char *path, fl_err *err)
{
    struct stat info;
    if (fstat(file, &info) != 0) {
        return fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    if (!S_ISREG(info.st_mode) || info.st_uid != geteuid() || (info.st_mode & 077) != 0) {
        return fl_fail(err, FL_EFORBIDDEN,
                       "%.150s: others could read it: make it yours alone (chmod 600)", path);
    }
    return FL_OK;
}

static fl_status read_all(int file, const char *path, fl_str *out, fl_err *err)
{
    char block[4096];
    ssize_t got = read(file, block, sizeof block);
    while (got > 0) {
        fl_str_append(out, (fl_sv){block, (size_t)got});
        got = read(file, block, sizeof block);
    }
    if (got < 0) {
        return fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    return out->is_full ? fl_fail(err, FL_ETOOBIG, "%.150s: too big", path) : FL_OK;
}

fl_status fl_secret_read(const char *dir, const char *name, fl_str *out, fl_err *err)
{
    char path[PATH_BYTES_MAX];
    fl_status status = make_path(dir, name, "", path, err);
    if (status != FL_OK) {
        return status;
    }
    int file = open(path, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
    if (file < 0) {
        return fl_fail(err, errno == ENOENT ? FL_ENOTFOUND : FL_EIO, "%.150s: %s", path,
                       strerror(errno));
    }
    status = check_private(file, path, err);
    if (status == FL_OK) {
        status = read_all(file, path, out, err);
    }
    (void)close(file);
    return status;
}

static bool write_all(int file, fl_sv text)
{
    while (text.len > 0) {
        ssize_t put = write(file, text.ptr, text.len);
        if (put <= 0) {
            return false;
        }
        text.ptr += put;
        text.len -= (size_t)put;
    }
    return fsync(file) == 0;
}

/* The name of the file is on the disk only when the folder is. */
static bool sync_folder(const char *dir)
{
    int folder = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool is_done = folder >= 0 && fsync(folder) == 0;
    if (folder >= 0) {
        (void)close(folder);
    }
    return is_done;
}

fl_status fl_secret_write(const char *dir, const char *name, fl_sv text, fl_err *err)
{
    char path[PATH_BYTES_MAX];
    char fresh[PATH_BYTES_MAX];
    fl_status status = make_path(dir, name, "", path, err);
    if (status == FL_OK) {
        status = make_path(dir, name, ".new", fresh, err);
    }
    if (status != FL_OK) {
        return status;
    }
    (void)unlink(fresh); /* one that a crash left behind */
    int file = open(fresh, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    bool is_written = file >= 0 && write_all(file, text);
    bool is_closed = file >= 0 && close(file) == 0;
    if (!is_written || !is_closed || rename(fresh, path) != 0 || !sync_folder(dir)) {
        status = fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
        (void)unlink(fresh);
    }
    return status;
}

static bool is_secret(fl_sv text)
{
    bool is_hex = text.len == FL_SECRET_TEXT_MAX - 1;
    for (size_t i = 0; i < text.len && is_hex; i++) {
        char c = text.ptr[i];
        is_hex = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
    }
    return is_hex;
}

fl_status fl_secret_keep(const char *dir, const char *name, char *text, fl_err *err)
{
    fl_err read_err = {0};
    fl_str held;
    fl_str_init(&held, 4096);
    fl_status status = fl_secret_read(dir, name, &held, &read_err);
    fl_sv found = fl_sv_trim(fl_str_sv(&held));
    if (status == FL_OK && is_secret(found)) {
        memcpy(text, found.ptr, found.len);
        text[found.len] = '\0';
    } else if (status == FL_OK) {
        status = fl_fail(err, FL_EFORMAT, "%.100s/%s: no token in it: delete it to get a new one",
                         dir, name);
    } else if (status == FL_ENOTFOUND) {
        char made[FL_SECRET_TEXT_MAX + 1];
        (void)fl_secret_make(made);
        status = fl_secret_write(dir, name, fl_sv_from_cstr(made), err);
        if (status == FL_OK) {
            memcpy(text, made, FL_SECRET_TEXT_MAX);
        }
    } else if (err != NULL) {
        *err = read_err;
    }
    fl_str_done(&held);
    return status;
}
