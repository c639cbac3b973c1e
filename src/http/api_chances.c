/* What a keeper asks about chances and what they lead to: what each place would cost. */
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
    do {
        fl_sv piece = fl_sv_split(&rest, ',');
        fl_sv name = FL_SV("");
        if (n == LOTS_MAX) {
            return fl_fail(err, FL_ETOOBIG, "more than %d lots: give fewer", LOTS_MAX);
        }
        fl_status status = fl_percent_decode(piece, &x->arena, &name, err);
        if (status == FL_OK) {
            status = fl_room_find_lot(room, name, &lots[n], err);
        }
        if (status != FL_OK) {
            return status;
        }
        if (lots[n]->is_gone) {
            return fl_fail(err, FL_EINVAL, "\"%.*s\" is gone: name lots that are here",
                           FL_SHOWN(name));
        }
        n++;
    } while (rest.len > 0);
    *out = lots;
    *count = n;
    return FL_OK;
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
