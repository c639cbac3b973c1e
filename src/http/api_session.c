/* Signing in and out, and a phone's side of pairing: both are POST /api/v1/session, the one address
 * that takes a stranger. */
#include "http/api.h"
#include "http/device.h"
#include "http/pairing.h"
#include "http/problem.h"

static const char *tier_word(fl_tier tier)
{
    return tier == FL_TIER_OWNER ? "owner" : "device";
}

/* The session as its browser sees it: what it may do, and, of a device, what it is called. */
static void reply_with_session(fl_exchange *x, int status, fl_tier tier,
                               const fl_paired_device *device)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "tier", tier_word(tier));
    if (device != NULL && device->label[0] != '\0') {
        fl_json_put_cstr(w, "device", device->label);
        fl_json_put_cstr(w, "name", device->name);
    } else {
        fl_json_put_null(w, "device");
        fl_json_put_null(w, "name");
    }
    fl_json_end(w);
    x->reply = fl_reply_json(status, w, &x->arena);
}

/* 201 with the cookie that was just made: the row that was added last has the highest number. */
static void reply_signed_in(fl_exchange *x, fl_tier tier, fl_sv cookie)
{
    fl_paired_device *all = FL_ARENA_ARRAY(&x->arena, fl_paired_device, FL_SESSIONS_MAX);
    const fl_paired_device *made = NULL;
    const size_t count = fl_devices_list(x->sessions, all);
    for (size_t i = 0; i < count; i++) {
        made = made == NULL || all[i].number > made->number ? &all[i] : made;
    }
    reply_with_session(x, 201, tier, made);
    fl_reply_add(&x->reply, "Set-Cookie", cookie);
}

/* ---- the phone's side of pairing ---- */

static int64_t now_s(const fl_exchange *x)
{
    return fl_sessions_now_s(x->sessions);
}

static void reply_waiting(fl_exchange *x, const char *claim)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "state", fl_pair_words[FL_PAIR_ASKING]);
    fl_json_put_cstr(w, "code", x->pairing->code);
    fl_json_put_cstr(w, "claim", claim);
    fl_json_put_cstr(w, "name", x->pairing->name);
    fl_json_end(w);
    x->reply = fl_reply_json(202, w, &x->arena);
}

static fl_status claim_pairing(fl_exchange *x, fl_sv secret, bool is_typed, fl_sv name, fl_err *err)
{
    char claim[FL_SECRET_TEXT_MAX];
    const bool is_offered = fl_pairing_state(x->pairing, now_s(x)) == FL_PAIR_OFFERED;
    const fl_status status =
        fl_pairing_claim(x->pairing, now_s(x), secret, is_typed, name, claim, err);
    if (status == FL_OK) {
        reply_waiting(x, claim);
        return FL_OK;
    }
    x->reply = fl_problem_reply(
        is_offered && is_typed ? FL_PROBLEM_PAIR_WRONG : FL_PROBLEM_PAIR_SPENT, NULL, &x->arena);
    return status;
}

/* Asked again and again until the keeper has answered. */
static fl_status collect_pairing(fl_exchange *x, fl_sv claim, fl_err *err)
{
    fl_sv cookie = {NULL, 0};
    fl_status status = FL_OK;
    switch ((int)fl_pairing_of_claim(x->pairing, now_s(x), claim)) {
    case FL_PAIR_ASKING:
        reply_waiting(x, fl_arena_copy_sv(&x->arena, claim).ptr);
        break;
    case FL_PAIR_ALLOWED:
        status = fl_sessions_admit(x->sessions, fl_sv_from_cstr(x->pairing->name), &x->arena,
                                   &cookie, err);
        if (status == FL_OK) {
            fl_pairing_join(x->pairing);
            reply_signed_in(x, FL_TIER_DEVICE, cookie);
        }
        break;
    case FL_PAIR_REFUSED:
        x->reply = fl_problem_reply(FL_PROBLEM_PAIR_REFUSED, NULL, &x->arena);
        break;
    default:
        x->reply = fl_problem_reply(FL_PROBLEM_PAIR_SPENT, NULL, &x->arena);
        break;
    }
    return status;
}

/* ---- signing in ---- */

static fl_status redeem(fl_exchange *x, fl_sv key, fl_sv name, fl_err *err)
{
    fl_sv cookie = {NULL, 0};
    fl_tier tier = FL_TIER_NONE;
    const fl_status status =
        fl_sessions_redeem(x->sessions, key, name, &x->arena, &cookie, &tier, err);
    if (status == FL_EAUTH) {
        x->reply = fl_problem_reply(FL_PROBLEM_KEY_SPENT, NULL, &x->arena);
    } else if (status == FL_OK) {
        reply_signed_in(x, tier, cookie);
    }
    return status;
}

fl_status fl_api_session_open(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    (void)app;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *root = fl_json_root(doc);
    const fl_sv key = fl_json_text(fl_json_get(root, "key"));
    const fl_sv code = fl_json_text(fl_json_get(root, "code"));
    const fl_sv claim = fl_json_text(fl_json_get(root, "claim"));
    const fl_sv name = fl_json_text(fl_json_get(root, "name"));
    if (claim.len > 0) {
        status = collect_pairing(x, claim, err);
    } else if (code.len > 0) {
        status = claim_pairing(x, code, true, name, err);
    } else if (key.len == FL_PAIR_KEY_DIGITS) {
        status = claim_pairing(x, key, false, name, err);
    } else if (key.len > 0) {
        status = redeem(x, key, name, err);
    } else {
        status = fl_fail(err, FL_EINVAL, "/key: give the key of the sign-in address");
    }
    fl_json_free(doc);
    return status;
}

fl_status fl_api_session_show(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_paired_device device;
    (void)app;
    (void)err;
    const bool is_listed = fl_devices_of(x->sessions, x->who.session, &device);
    reply_with_session(x, 200, x->who.tier, is_listed ? &device : NULL);
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
