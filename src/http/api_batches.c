/* Batches: neither the gate nor the chances are asked. */
#include "http/api.h"
#include "view/batch.h"

fl_status fl_api_batch(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_batch batch;
    const fl_lot *lot = NULL;
    fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_lot(view.room, x->param[0], &lot, err);
    if (status == FL_OK) {
        fl_batch_of(view.room, lot, &x->arena, &batch);
        fl_view_batch(&view, NULL, &batch);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_batches(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_view_batches(&view, NULL);
    return fl_api_end(x, &view, FL_OK);
}
