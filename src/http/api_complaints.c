/* Customers' complaints: the list, and one of them answered. They are told as events. */
#include "base/shown.h"
#include "http/api.h"
#include "view/complaint.h"

fl_status fl_api_complaints(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_view_complaints(&view, NULL);
    return fl_api_end(x, &view, FL_OK);
}

fl_status fl_api_complaint(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_complaint complaint;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_event *event = fl_complaint_find(view.room, x->param[0]);
    if (event == NULL) {
        status =
            fl_fail(err, FL_ENOTFOUND, "there is no complaint \"%.*s\"", FL_SHOWN(x->param[0]));
    } else {
        status =
            fl_complaint_ask_event(view.room, app, view.chances, event, &x->arena, &complaint, err);
    }
    if (status == FL_OK) {
        fl_view_complaint(&view, NULL, &complaint);
    }
    return fl_api_end(x, &view, status);
}
