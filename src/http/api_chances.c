/* What a keeper asks about chances and what they lead to: one number opened, when to look and what
 * would help, what each place would cost, what sources have taught. */
#include <math.h>

#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"

#define LOTS_MAX 200 /* named in one address */

/* ?lots=ID,ID,…: ids, short codes or names of lots that are here. */
static fl_status read_lots(fl_exchange *x, const fl_room *room, const fl_lot ***out, size_t *count,
                           fl_err *err)
{
    fl_sv rest = FL_SV("");
    const fl_lot **lots = FL_ARENA_ARRAY(&x->arena, const fl_lot *, LOTS_MAX);
    size_t n = 0;
    if (!fl_request_query(x->request, "lots", &rest) || rest.len == 0) {
        return fl_fail(err, FL_EINVAL, "no lot was named: give lots=ID, several with commas");
    }
    fl_status status = fl_percent_decode(rest, &x->arena, &rest, err); /* commas too */
    while (status == FL_OK && rest.len > 0) {
        const fl_sv name = fl_sv_split(&rest, ',');
        if (n == LOTS_MAX) {
            return fl_fail(err, FL_ETOOBIG, "more than %d lots: give fewer", LOTS_MAX);
        }
        status = fl_room_find_lot(room, name, &lots[n], err);
        if (status != FL_OK) {
            return status;
        }
        if (lots[n]->is_gone) {
            return fl_fail(err, FL_EINVAL, "\"%.*s\" is gone: name lots that are here",
                           FL_SHOWN(name));
        }
        n++;
    }
    if (status == FL_OK) {
        *out = lots;
        *count = n;
    }
    return status;
}

fl_status fl_api_prices(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_lot **lots = NULL;
    size_t n_lots = 0;
    fl_place_price *prices = NULL;
    size_t n = 0;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = read_lots(x, view.room, &lots, &n_lots, err);
    if (status == FL_OK) {
        status = fl_plan_prices(view.room, app, lots, n_lots, &x->arena, &prices, &n, err);
    }
    if (status == FL_OK) {
        fl_view_prices(&view, NULL, prices, n);
    }
    return fl_api_end(x, &view, status);
}

/* ---- sources ---- */

fl_status fl_api_sources(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    return fl_api_end(x, &view, fl_view_sources(&view, NULL, err));
}

fl_status fl_api_source(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_ev_source_set *source = NULL;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_source(view.room, x->param[0], &source, err);
    if (status == FL_OK) {
        status = fl_view_source(&view, NULL, source, err);
    }
    return fl_api_end(x, &view, status);
}

/* ---- one number ---- */

fl_status fl_api_chance(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_lot *lot = NULL;
    const fl_threat *threat = fl_know_threat_find(x->param[1]);
    if (threat == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "there is no threat \"%.*s\"", FL_SHOWN(x->param[1]));
    }
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_lot(view.room, x->param[0], &lot, err);
    if (status == FL_OK) {
        status = fl_view_course(&view, NULL, lot, threat, err);
    }
    return fl_api_end(x, &view, status);
}

/* ---- looks ---- */

static fl_status read_int(const fl_request *request, const char *name, int most, int *out,
                          fl_err *err)
{
    fl_sv text = FL_SV("");
    int64_t value = 0;
    if (!fl_request_query(request, name, &text)) {
        return FL_OK;
    }
    fl_status status = fl_num_parse_int(text, name, 0, most, &value, err);
    *out = status == FL_OK ? (int)value : *out;
    return status;
}

/* The text up to a comma, written plainly or as %2C. */
static fl_sv split_list(fl_sv *rest)
{
    for (size_t i = 0; i + 3 <= rest->len; i++) {
        const fl_sv at = {rest->ptr + i, 3};
        if (rest->ptr[i] == ',') {
            break;
        }
        if (fl_sv_eq_nocase(at, FL_SV("%2c"))) {
            const fl_sv word = {rest->ptr, i};
            *rest = (fl_sv){rest->ptr + i + 3, rest->len - i - 3};
            return word;
        }
    }
    return fl_sv_split(rest, ',');
}

/* "yellow_card,bait" or nothing at all: a mask. */
static fl_status read_devices(const fl_request *request, unsigned *out, fl_err *err)
{
    fl_sv rest = FL_SV("");
    unsigned mask = 0;
    if (!fl_request_query(request, "devices", &rest)) {
        return FL_OK;
    }
    while (rest.len > 0) {
        fl_sv word = split_list(&rest);
        int device = fl_word_find(fl_words_device, FL_DEVICE_COUNT, word);
        if (device < 0) {
            return fl_fail(err, FL_EINVAL,
                           "devices \"%.*s\": give yellow_card, blue_card, potato or bait; several "
                           "with commas",
                           FL_SHOWN(word));
        }
        mask |= 1U << device;
    }
    *out = mask;
    return FL_OK;
}

/* Over the keeper's usual way: every_days, effort, devices, temp_c, looks_most, sealed. */
static fl_status read_options(const fl_request *request, fl_looks_options *o, fl_err *err)
{
    fl_sv text = FL_SV("");
    fl_status status = read_int(request, "every_days", 1000, &o->every_days, err);
    if (status == FL_OK) {
        status = read_int(request, "looks_most", 1000, &o->n_looks, err);
    }
    if (status == FL_OK) {
        status = read_devices(request, &o->devices, err);
    }
    if (status == FL_OK && fl_request_query(request, "temp_c", &text)) {
        status = fl_num_parse_double_in(text, "temp_c", -100.0, 100.0, &o->temp_c, err);
    }
    if (status == FL_OK && fl_request_query(request, "sealed", &text)) {
        o->is_sealed = fl_sv_eq_cstr(text, "true");
    }
    if (status == FL_OK && fl_request_query(request, "effort", &text)) {
        int effort = fl_word_find(fl_words_effort, FL_EFFORT_COUNT, text);
        o->effort = effort < 0 ? o->effort : (fl_effort)effort;
        status = effort >= 0
                     ? FL_OK
                     : fl_fail(err, FL_EINVAL, "effort \"%.*s\": give glance, careful or roots",
                               FL_SHOWN(text));
    }
    return status;
}

typedef fl_status (*looks_view)(const fl_view *v, const char *key, fl_looks *looks,
                                const fl_looks_options *options, fl_err *err);

static fl_status answer_looks(fl_exchange *x, fl_app *app, looks_view write, fl_err *err)
{
    fl_view view;
    const fl_lot *lot = NULL;
    fl_looks *looks = NULL;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_lot(view.room, x->param[0], &lot, err);
    if (status == FL_OK) {
        status = fl_looks_open(view.chances, view.room, lot, 0, &x->arena, &looks, err);
    }
    if (status == FL_OK) {
        fl_looks_options options = fl_looks_usual(looks);
        status = read_options(x->request, &options, err);
        status = status == FL_OK ? write(&view, NULL, looks, &options, err) : status;
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_looks(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    return answer_looks(x, app, fl_view_looks, err);
}

fl_status fl_api_looks_date(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    return answer_looks(x, app, fl_view_release, err);
}
