/* Opening and closing a room. The zone offset is a constant of the room: vague times ("2026-03")
 * mean the same wherever and whenever they are read. */
#include "app/app.h"

#include <string.h>

#include "base/alloc.h"
#include "base/num.h"

static const fl_sv setting_tz = {"tz_offset_min", sizeof("tz_offset_min") - 1};

static char *copy_text(const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = fl_alloc(size, 1);
    memcpy(copy, text, size);
    return copy;
}

/* Opens the room's file; a new one has its zone from the moment it appears. */
static fl_status open_file(const char *dir, bool may_create, int tz_offset_min, fl_store **out,
                           fl_err *err)
{
    char buffer[FL_NUM_TEXT_MAX];
    const char *digits = fl_num_format(buffer, tz_offset_min, 6);
    return may_create ? fl_store_open_new(dir, setting_tz, fl_sv_from_cstr(digits), out, err)
                      : fl_store_open(dir, false, out, err);
}

/* Reads the room's zone, or sets it where an earlier fernlock was stopped before it did. */
static fl_status settle_zone(fl_app *app, bool may_create, int tz_offset_min, fl_err *err)
{
    fl_arena arena;
    fl_sv text;
    int64_t value = 0;
    fl_arena_init(&arena);
    fl_status status = fl_store_setting_get(app->store, setting_tz, &arena, &text, err);
    if (status == FL_ENOTFOUND && may_create) {
        char buffer[FL_NUM_TEXT_MAX];
        fl_err_clear(err);
        const char *digits = fl_num_format(buffer, tz_offset_min, 6);
        status = fl_store_setting_put(app->store, setting_tz, fl_sv_from_cstr(digits), err);
        value = tz_offset_min;
    } else if (status == FL_OK) {
        status = fl_num_parse_int(text, "the room's zone", -1080, 1080, &value, err);
    }
    app->tz_offset_min = (int)value;
    fl_arena_done(&arena);
    return status;
}

static fl_status open_app(fl_status opened, const char *dir, fl_clock clock, fl_app *app)
{
    if (opened == FL_OK) {
        app->clock = clock;
        app->blob_bytes_max = FL_ROOM_BLOB_BYTES_MAX;
        app->dir = copy_text(dir);
    }
    return opened;
}

fl_status fl_app_open(const char *dir, bool may_create, int tz_offset_min, fl_clock clock,
                      fl_app *out, fl_err *err)
{
    fl_app app = {0};
    fl_status status =
        open_app(open_file(dir, may_create, tz_offset_min, &app.store, err), dir, clock, &app);
    if (status == FL_OK) {
        status = settle_zone(&app, may_create, tz_offset_min, err);
    }
    if (status != FL_OK) {
        fl_app_close(&app);
        return status;
    }
    *out = app;
    return FL_OK;
}

fl_status fl_app_open_reader(const char *dir, fl_clock clock, fl_app *out, fl_err *err)
{
    fl_app app = {0};
    fl_status status = open_app(fl_store_open_reader(dir, &app.store, err), dir, clock, &app);
    if (status == FL_OK) {
        status = settle_zone(&app, false, 0, err);
    }
    if (status != FL_OK) {
        fl_app_close(&app);
        return status;
    }
    *out = app;
    return FL_OK;
}

void fl_app_close(fl_app *app)
{
    fl_store_close(app->store);
    fl_alloc_free(app->dir);
    *app = (fl_app){0};
}

void fl_app_watch(fl_app *app, const fl_progress *progress)
{
    app->progress = progress;
    fl_store_watch(app->store, progress);
}

int64_t fl_app_now(const fl_app *app)
{
    return app->clock.now_utc_s(app->clock.context);
}

fl_status fl_app_position(fl_app *app, int64_t *position, fl_err *err)
{
    return fl_store_journal_last(app->store, position, err);
}

fl_status fl_app_has_blob(fl_app *app, fl_sv sha256, bool *out, fl_err *err)
{
    fl_hash hash;
    *out = false;
    return fl_hash_parse(sha256.ptr, sha256.len, &hash)
               ? fl_store_blob_exists(app->store, hash, out, err)
               : FL_OK;
}

fl_status fl_app_keep_blob(fl_app *app, fl_hash hash, fl_sv bytes, fl_err *err)
{
    bool is_there = false;
    int64_t count = 0;
    int64_t held = 0;
    fl_status status = fl_store_blob_exists(app->store, hash, &is_there, err);
    if (status == FL_OK) {
        status = fl_store_blob_size(app->store, &count, &held, err);
    }
    if (status == FL_OK && !is_there && held + (int64_t)bytes.len > app->blob_bytes_max) {
        status = fl_fail(err, FL_ETOOBIG,
                         "the room's %lld photos and readings have %lld MB: with this one it would "
                         "be more than %lld MB, which is all it may hold",
                         (long long)count, (long long)(held >> 20),
                         (long long)(app->blob_bytes_max >> 20));
    }
    return status == FL_OK ? fl_store_blob_put(app->store, hash, bytes, err) : status;
}
