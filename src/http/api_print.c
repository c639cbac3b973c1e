/* Labels, sheets, cards and the calendar, as files to be kept or printed. */
#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"
#include "print/order.h"

#define OF_MAX 200

/* ---- what was asked ---- */

fl_status fl_api_query(fl_exchange *x, const char *name, fl_sv *out, fl_err *err)
{
    fl_sv raw = FL_SV("");
    if (!fl_request_query(x->request, name, &raw)) {
        *out = FL_SV("");
        return FL_OK;
    }
    char *spaced = FL_ARENA_ARRAY(&x->arena, char, raw.len + 1);
    for (size_t i = 0; i < raw.len; i++) { /* as forms write a space */
        spaced[i] = (char)(raw.ptr[i] == '+' ? ' ' : raw.ptr[i]);
    }
    return fl_percent_decode((fl_sv){spaced, raw.len}, &x->arena, out, err);
}

static fl_status query_int(fl_exchange *x, const char *name, int64_t max, int *out, fl_err *err)
{
    fl_sv text;
    int64_t value = *out;
    fl_status status = fl_api_query(x, name, &text, err);
    if (status == FL_OK && text.len > 0) {
        status = fl_num_parse_int(text, name, 0, max, &value, err);
    }
    *out = (int)value;
    return status;
}

static fl_status query_number(fl_exchange *x, const char *name, const double range[2], double *out,
                              fl_err *err)
{
    fl_sv text;
    fl_status status = fl_api_query(x, name, &text, err);
    if (status == FL_OK && text.len > 0) {
        status = fl_num_parse_double_in(text, name, range[0], range[1], out, err);
    }
    return status;
}

/* "of=CODE,CODE": lots and places by code or id. */
static fl_status query_of(fl_exchange *x, fl_order *order, fl_err *err)
{
    fl_sv rest;
    fl_sv *of = FL_ARENA_ARRAY(&x->arena, fl_sv, OF_MAX);
    fl_status status = fl_api_query(x, "of", &rest, err);
    while (status == FL_OK && rest.len > 0) {
        if (order->n_of == OF_MAX) {
            return fl_fail(err, FL_ETOOBIG, "of: name at most %d", OF_MAX);
        }
        of[order->n_of++] = fl_sv_trim(fl_sv_split(&rest, ','));
    }
    order->of = of;
    return status;
}

static fl_status query_paper(fl_exchange *x, fl_paper *out, fl_err *err)
{
    static const char *const papers[] = {"a4", "letter", "a5"};
    fl_sv text;
    fl_status status = fl_api_query(x, "paper", &text, err);
    if (status != FL_OK || text.len == 0) {
        return status;
    }
    for (int i = 0; i < 3; i++) {
        if (fl_sv_eq_cstr(text, papers[i])) {
            *out = (fl_paper)i;
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EINVAL, "paper \"%.*s\": give a4, letter or a5", FL_SHOWN(text));
}

static fl_status read_order(fl_exchange *x, fl_order *order, fl_err *err)
{
    static const double tub[] = {50.0, 200000.0};
    static const double label[] = {0.5, 20.0};
    fl_sv places;
    int kind = fl_word_find(fl_words_order, FL_ORDER_COUNT, x->param[0]);
    if (kind < 0) {
        return fl_fail(err, FL_ENOTFOUND,
                       "there is no sheet \"%.*s\": ask for one of labels, "
                       "test-page, evening, round, place, sitter, outbreak, card, "
                       "pesticides, complaint",
                       FL_SHOWN(x->param[0]));
    }
    order->kind = (fl_order_kind)kind;
    fl_status status = query_of(x, order, err);
    if (status == FL_OK) {
        status = fl_api_query(x, "stock", &order->stock, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "printer", &order->printer, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "from", &order->from, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "to", &order->to, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "places", &places, err);
    }
    if (status == FL_OK) {
        order->has_places = places.len > 0;
        status = query_int(x, "skip", 200, &order->skip, err);
    }
    if (status == FL_OK) {
        status = query_int(x, "copies", FL_ORDER_COPIES_MAX, &order->copies, err);
    }
    if (status == FL_OK) {
        status = query_paper(x, &order->paper, err);
    }
    if (status == FL_OK) {
        status = query_number(x, "tub_ml", tub, &order->tub_ml, err);
    }
    return status == FL_OK ? query_number(x, "label_pct", label, &order->label_pct, err) : status;
}

/* ---- files ---- */

void fl_api_reply_file(fl_exchange *x, const char *content_type, const char *name, fl_sv bytes)
{
    x->reply = (fl_reply){.status = 200, .content_type = content_type, .body = bytes};
    fl_reply_add(&x->reply, "Content-Disposition",
                 fl_arena_printf(&x->arena, "attachment; filename=\"%s\"", name));
}

fl_status fl_api_print(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_str pdf;
    fl_order order = {.app = app};
    fl_status status = read_order(x, &order, err);
    if (status == FL_OK) {
        status = fl_snapshot_take(x->snapshot, app, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_str_init(&pdf, FL_PDF_BYTES_MAX);
    order.room = &x->snapshot->room;
    order.chances = x->snapshot->chances;
    status = fl_order_make(&order, &pdf, err);
    if (status == FL_OK) {
        const char *name =
            fl_arena_printf(&x->arena, "%s.pdf", fl_words_order[order.kind].word).ptr;
        fl_api_reply_file(x, "application/pdf", name, fl_arena_copy_sv(&x->arena, fl_str_sv(&pdf)));
    }
    fl_str_done(&pdf);
    return status;
}

fl_status fl_api_stocks(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_json_writer *w = fl_json_writer_new();
    (void)app;
    (void)err;
    fl_stocks_put(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}

/* ---- the address on a label ---- */

/* True for what a code can be: letters, digits and hyphens, so that it may stand in an address. */
static bool is_code_text(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        const char c = text.ptr[i];
        const bool is_letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (!is_letter && !(c >= '0' && c <= '9') && c != '-') {
            return false;
        }
    }
    return text.len > 0 && text.len < FL_ID_TEXT_MAX;
}

/* True when the request came by a name of the network, not by a number or this computer's own: a
 * label says a name, and a phone is paired at the number. */
static bool is_by_name(const fl_exchange *x)
{
    const fl_sv host = fl_request_value(x->request, "Host");
    const bool is_number =
        host.len > 0 && (host.ptr[0] == '[' || (host.ptr[0] >= '0' && host.ptr[0] <= '9'));
    const size_t len = sizeof "localhost" - 1;
    const fl_sv begin = {host.ptr, host.len < len ? host.len : len};
    return !is_number && !fl_sv_eq_nocase(begin, FL_SV("localhost"));
}

/* What there is, is told to no stranger: to signing in, where the code is kept for afterwards; by a
 * name, to the number where a phone that was let in has its session. */
static void reply_sign_in_first(fl_exchange *x)
{
    const fl_sv origin = is_by_name(x) ? x->lan_origin : FL_SV("");
    const fl_sv code = x->param[0];
    x->reply = (fl_reply){.status = 303};
    fl_reply_add(&x->reply, "Location",
                 is_code_text(code) ? fl_arena_printf(&x->arena, "%.*s/?to=/l/%.*s",
                                                      FL_SV_ARG(origin), FL_SV_ARG(code))
                                    : FL_SV("/"));
}

fl_status fl_api_code(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    char id[FL_ID_TEXT_MAX];
    const fl_lot *lot = NULL;
    const fl_ev_place_set *place = NULL;
    if (x->who.tier == FL_TIER_NONE) {
        reply_sign_in_first(x);
        return FL_OK;
    }
    fl_status status = fl_snapshot_take(x->snapshot, app, err);
    if (status == FL_OK) {
        status = fl_order_find(&x->snapshot->room, x->param[0], &lot, &place, err);
    }
    if (status == FL_OK) {
        const char *folder = lot != NULL ? "lots" : "places";
        (void)fl_id_format(id, lot != NULL ? lot->id : place->place);
        x->reply = (fl_reply){.status = 303};
        fl_reply_add(&x->reply, "Location", fl_arena_printf(&x->arena, "/%s/%s", folder, id));
    }
    return status;
}
