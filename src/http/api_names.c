/* For forms and for undoing: the names and words there are, and the journal. */
#include "base/num.h"
#include "http/api.h"
#include "view/names.h"

#define HISTORY_USUAL 100

fl_status fl_api_names(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_view_names(&view, NULL);
    return fl_api_end(x, &view, FL_OK);
}

/* The lot or place of the query; none when there is neither. */
static fl_status read_about(const fl_exchange *x, const fl_room *room, fl_id *about, fl_err *err)
{
    fl_sv text = FL_SV("");
    const fl_lot *lot = NULL;
    const fl_ev_place_set *place = NULL;
    fl_status status = FL_OK;
    if (fl_request_query(x->request, "lot", &text)) {
        status = fl_room_find_lot(room, text, &lot, err);
        *about = lot != NULL ? lot->id : *about;
    } else if (fl_request_query(x->request, "place", &text)) {
        status = fl_room_find_place(room, text, &place, err);
        *about = place != NULL ? place->place : *about;
    }
    return status;
}

fl_status fl_api_history(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_history_of which = {.limit = HISTORY_USUAL};
    fl_sv text = FL_SV("");
    int64_t limit = HISTORY_USUAL;
    fl_status status = FL_OK;
    if (fl_request_query(x->request, "limit", &text)) {
        status = fl_num_parse_int(text, "limit", 1, FL_HISTORY_MAX, &limit, err);
        which.limit = (size_t)limit;
    }
    if (status == FL_OK) {
        status = fl_api_begin_plain(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = read_about(x, view.room, &which.about, err);
    if (status == FL_OK) {
        fl_view_history(&view, NULL, which);
    }
    return fl_api_end(x, &view, status);
}
