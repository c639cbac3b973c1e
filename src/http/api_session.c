/* Signing in and out. */
#include "http/api.h"
#include "http/problem.h"

static const char *tier_word(fl_tier tier)
{
    return tier == FL_TIER_OWNER ? "owner" : "device";
}

static void reply_with_tier(fl_exchange *x, int status, fl_tier tier)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "tier", tier_word(tier));
    fl_json_end(w);
    x->reply = fl_reply_json(status, w, &x->arena);
}

fl_status fl_api_session_open(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    (void)app;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *root = fl_json_root(doc);
    fl_sv key = fl_json_text(fl_json_get(root, "key"));
    fl_sv name = fl_json_text(fl_json_get(root, "name"));
    status = key.len == 0
                 ? fl_fail(err, FL_EINVAL, "/key: give the key of the sign-in address")
                 : fl_sessions_redeem(x->sessions, key, name, &x->arena, &cookie, &tier, err);
    fl_json_free(doc);
    if (status == FL_EAUTH) {
        x->reply = fl_problem_reply(FL_PROBLEM_KEY_SPENT, NULL, &x->arena);
    } else if (status == FL_OK) {
        reply_with_tier(x, 201, tier);
        fl_reply_add(&x->reply, "Set-Cookie", cookie);
    }
    return status;
}

fl_status fl_api_session_show(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    reply_with_tier(x, 200, x->who.tier);
    return FL_OK;
}

fl_status fl_api_session_room(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "room", fl_sessions_room_tag(x->sessions));
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}

fl_status fl_api_session_end(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_sv cookie = {NULL, 0};
    (void)app;
    fl_status status = fl_sessions_end(x->sessions, x->who.session, &x->arena, &cookie, err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 204};
        fl_reply_add(&x->reply, "Set-Cookie", cookie);
    }
    return status;
}

fl_status fl_api_openapi(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    x->reply = fl_assets_file(x->assets, FL_SV("/openapi.json"), x->request, &x->arena);
    return FL_OK;
}
