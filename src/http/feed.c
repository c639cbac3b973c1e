/* The token of the calendar's address. */
#include "http/feed.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#define HELD_MAX 200
#define PATH_MAX_BYTES 4200

fl_status fl_feed_open(const char *dir, char *token, fl_err *err)
{
    char secret[FL_SECRET_TEXT_MAX];
    char hex[FL_HASH_TEXT_MAX];
    (void)fl_secret_make(secret);
    (void)fl_hash_format(hex, fl_hash_of(secret, strlen(secret)));
    fl_status status = fl_secret_write(dir, FL_FEED_FILE, fl_sv_from_cstr(hex), err);
    if (status == FL_OK) {
        memcpy(token, secret, sizeof secret);
    }
    return status;
}

fl_status fl_feed_close(const char *dir, fl_err *err)
{
    char path[PATH_MAX_BYTES];
    int len = snprintf(path, sizeof path, "%s/%s", dir, FL_FEED_FILE);
    if (len < 0 || (size_t)len >= sizeof path) {
        return fl_fail(err, FL_ETOOBIG, "folder %.60s…: the path is too long", dir);
    }
    if (remove(path) != 0 && errno != ENOENT) {
        return fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    return FL_OK;
}

bool fl_feed_is_open(const char *dir)
{
    fl_str held;
    fl_str_init(&held, HELD_MAX);
    bool is_open = fl_secret_read(dir, FL_FEED_FILE, &held, NULL) == FL_OK && held.len > 0;
    fl_str_done(&held);
    return is_open;
}

bool fl_feed_takes(const char *dir, fl_sv token)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_str held;
    fl_str_init(&held, HELD_MAX);
    bool takes = fl_secret_read(dir, FL_FEED_FILE, &held, NULL) == FL_OK && held.len > 0;
    (void)fl_hash_format(hex, fl_hash_of(token.ptr, token.len));
    /* hashed once more, so that the comparison's time tells nothing of where they differ */
    takes =
        takes && fl_hash_eq_secret(fl_hash_of(hex, strlen(hex)), fl_hash_of(held.ptr, held.len));
    fl_str_done(&held);
    return takes;
}
