/* Letting a phone in: the network's address, the code that is shown, the keeper's word. All of
 * it is the keeper's, and runs on the server's own thread. */
#include "http/api.h"
#include "http/lan.h"
#include "http/pairing.h"
#include "http/problem.h"
#include "print/qr.h"

#define PAIR_PATH "/p"

/* ---- the network ---- */

static void reply_with_lan(fl_exchange *x)
{
    fl_lan_address *all = FL_ARENA_ARRAY(&x->arena, fl_lan_address, FL_LAN_ADDRESSES_MAX);
    const size_t count = fl_lan_addresses(all);
    const fl_sv origin = fl_lan_origin(x->lan, &x->arena);
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_bool(w, "is_open", origin.len > 0);
    if (origin.len > 0) {
        fl_json_put_cstr(w, "address", x->lan->listeners->lan);
        fl_json_put_text(w, "url", origin);
    } else {
        fl_json_put_null(w, "address");
        fl_json_put_null(w, "url");
    }
    fl_json_put_int(w, "port", x->lan->listeners->port);
    fl_json_begin_array(w, "addresses");
    for (size_t i = 0; i < count; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "address", all[i].text);
        fl_json_put_cstr(w, "interface", all[i].interface);
        fl_json_put_bool(w, "is_wireless", all[i].is_wireless);
        fl_json_put_bool(w, "is_private", all[i].is_private);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
}

fl_status fl_api_lan(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    reply_with_lan(x);
    return FL_OK;
}

fl_status fl_api_lan_open(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_doc *doc = NULL;
    (void)app;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status == FL_OK) {
        const fl_sv address = fl_json_text(fl_json_get(fl_json_root(doc), "address"));
        status = fl_lan_open(x->lan, fl_arena_copy_sv(&x->arena, address).ptr, err);
    }
    fl_json_free(doc);
    if (status == FL_OK) {
        reply_with_lan(x);
    }
    return status;
}

fl_status fl_api_lan_close(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    fl_pairing_end(x->pairing, fl_sessions_now_s(x->sessions));
    fl_lan_close(x->lan);
    reply_with_lan(x);
    return FL_OK;
}

/* ---- the offer ---- */

static void put_text_or_null(fl_json_writer *w, const char *key, const char *text)
{
    if (text[0] != '\0') {
        fl_json_put_cstr(w, key, text);
    } else {
        fl_json_put_null(w, key);
    }
}

/* The modules row by row, '1' for black: what a browser draws as rectangles. */
static void put_qr(fl_exchange *x, fl_json_writer *w, const fl_qr *qr)
{
    const size_t n = (size_t)qr->modules;
    char *row = FL_ARENA_ARRAY(&x->arena, char, n);
    fl_json_begin_array(w, "qr");
    for (size_t y = 0; y < n; y++) {
        for (size_t i = 0; i < n; i++) {
            row[i] = qr->bits[y * n + i] != 0 ? '1' : '0';
        }
        fl_json_put_text(w, NULL, (fl_sv){row, n});
    }
    fl_json_end(w);
}

/* `url` and `qr` only when the offer was just made: the key is kept as a hash. */
static void reply_with_pairing(fl_exchange *x, int status, fl_sv url, const fl_qr *qr)
{
    fl_pairing *pairing = x->pairing;
    const int64_t now_s = fl_sessions_now_s(x->sessions);
    const fl_pair_state state = fl_pairing_state(pairing, now_s);
    const bool is_open = state == FL_PAIR_OFFERED || state == FL_PAIR_ASKING;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "state", fl_pair_words[state]);
    put_text_or_null(w, "code", is_open ? pairing->code : "");
    put_text_or_null(w, "name", state == FL_PAIR_OFFERED ? "" : pairing->name);
    fl_json_put_bool(w, "is_typed", pairing->is_typed);
    fl_json_put_int(w, "left_s", is_open ? pairing->until_s - now_s : 0);
    if (qr != NULL) {
        fl_json_put_text(w, "url", url);
        put_qr(x, w, qr);
    } else {
        fl_json_put_null(w, "url");
        fl_json_put_null(w, "qr");
    }
    fl_json_end(w);
    x->reply = fl_reply_json(status, w, &x->arena);
}

fl_status fl_api_pairing(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    reply_with_pairing(x, 200, FL_SV(""), NULL);
    return FL_OK;
}

fl_status fl_api_pairing_offer(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_qr qr;
    char key[FL_PAIR_KEY_MAX];
    (void)app;
    const fl_sv origin = fl_lan_origin(x->lan, &x->arena);
    if (origin.len == 0) {
        return fl_fail(err, FL_EINVAL, "the network is closed: choose an address for phones first");
    }
    fl_pairing_offer(x->pairing, fl_sessions_now_s(x->sessions), key);
    const fl_sv url = fl_arena_printf(&x->arena, "%.*s" PAIR_PATH "#%s", FL_SV_ARG(origin), key);
    const fl_status status = fl_qr_make_bytes(url, &x->arena, &qr, err);
    if (status == FL_OK) {
        reply_with_pairing(x, 201, url, &qr);
    }
    return status;
}

fl_status fl_api_pairing_allow(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    const fl_status status = fl_pairing_allow(x->pairing, fl_sessions_now_s(x->sessions), err);
    if (status == FL_OK) {
        reply_with_pairing(x, 200, FL_SV(""), NULL);
    }
    return status;
}

fl_status fl_api_pairing_end(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    (void)err;
    fl_pairing_end(x->pairing, fl_sessions_now_s(x->sessions));
    x->reply = (fl_reply){.status = 204};
    return FL_OK;
}
