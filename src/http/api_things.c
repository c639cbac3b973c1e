/* One lot, one place, and the gate's answer for one. Lists: api_lists.c. */
#include "base/shown.h"
#include "http/api.h"

fl_status fl_api_lot(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_lot *lot = NULL;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_lot(view.room, x->param[0], &lot, err);
    if (status == FL_OK) {
        status = fl_view_lot(&view, NULL, lot, err);
    }
    return fl_api_end(x, &view, status);
}

/* "amphibian,stock" as a mask; no such parameter: 0, the lot's own use. */
static fl_status read_uses(fl_exchange *x, unsigned *uses, fl_err *err)
{
    fl_sv rest = FL_SV("");
    *uses = 0;
    if (!fl_request_query(x->request, "use", &rest)) {
        return FL_OK;
    }
    const fl_status status = fl_percent_decode(rest, &x->arena, &rest, err); /* commas too */
    if (status != FL_OK) {
        return status;
    }
    do {
        fl_sv word = fl_sv_split(&rest, ',');
        int use = fl_word_find(fl_words_use, FL_USE_COUNT, word);
        if (use < 0) {
            return fl_fail(err, FL_EINVAL,
                           "use \"%.*s\": give stock, plants_only, amphibian, reptile or "
                           "invertebrate; several with commas",
                           FL_SHOWN(word));
        }
        *uses |= 1u << use;
    } while (rest.len > 0);
    return FL_OK;
}

fl_status fl_api_gate(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_gate_report report;
    const fl_lot *lot = NULL;
    unsigned uses = 0;
    fl_status status = read_uses(x, &uses, err);
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_lot(view.room, x->param[0], &lot, err);
    if (status == FL_OK) {
        status = fl_gate_ask(view.chances, view.room, lot, uses, &x->arena, &report, err);
    }
    if (status == FL_OK) {
        fl_view_gate(&view, NULL, &report);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_place(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_ev_place_set *place = NULL;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_place(view.room, x->param[0], &place, err);
    if (status == FL_OK) {
        status = fl_view_place(&view, NULL, place, err);
    }
    return fl_api_end(x, &view, status);
}
