/* The list of devices: seen by all that are signed in, changed by the keeper. */
#include "base/civil.h"
#include "http/api.h"
#include "http/device.h"

static void put_moment(fl_json_writer *w, const char *key, int64_t at_s)
{
    char text[FL_CIVIL_TEXT_MAX];
    if (at_s > 0) {
        fl_json_put_cstr(w, key, fl_civil_format_utc(text, at_s));
    } else {
        fl_json_put_null(w, key);
    }
}

static void put_device(const fl_exchange *x, fl_json_writer *w, const fl_paired_device *device)
{
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "id", device->id);
    fl_json_put_cstr(w, "tier", device->tier == FL_TIER_OWNER ? "owner" : "device");
    fl_json_put_cstr(w, "name", device->name);
    if (device->label[0] != '\0') {
        fl_json_put_cstr(w, "label", device->label);
    } else {
        fl_json_put_null(w, "label");
    }
    fl_json_put_bool(w, "is_this", device->number == x->who.session);
    put_moment(w, "made_at", device->made_s);
    put_moment(w, "seen_at", device->seen_s);
    put_moment(w, "ends_at", device->ends_s);
    fl_json_end(w);
}

fl_status fl_api_devices(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    fl_paired_device *all = FL_ARENA_ARRAY(&x->arena, fl_paired_device, FL_SESSIONS_MAX);
    const size_t count = fl_devices_list(x->sessions, all);
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "devices");
    for (size_t i = 0; i < count; i++) {
        put_device(x, w, &all[i]);
    }
    fl_json_end(w);
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}

fl_status fl_api_device_rename(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    (void)app;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status == FL_OK) {
        const fl_sv name = fl_json_text(fl_json_get(fl_json_root(doc), "name"));
        status = fl_devices_rename(x->sessions, x->param[0], name, err);
    }
    fl_json_free(doc);
    return status == FL_OK ? fl_api_devices(x, app, err) : status;
}

/* Of the asker itself: the browser also forgets its cookie. */
fl_status fl_api_device_revoke(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    int number = 0;
    (void)app;
    const fl_status status = fl_devices_revoke(x->sessions, x->param[0], &number, err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
        if (number == x->who.session) {
            fl_reply_add(&x->reply, "Set-Cookie",
                         fl_arena_printf(&x->arena,
                                         "%s=; Max-Age=0; Path=/; HttpOnly; SameSite=Strict",
                                         fl_sessions_cookie_name(x->sessions)));
        }
    }
    return status;
}
