/* The record of pesticides of a span of dates, as JSON and as CSV. */
#include "http/api.h"
#include "view/pesticides.h"

static fl_status read_record(fl_exchange *x, const fl_room *room, fl_pesticides *out, fl_err *err)
{
    fl_sv from, to;
    int64_t from_s = INT64_MIN;
    int64_t to_s = FL_TIME_OPEN;
    fl_status status = fl_api_query(x, "from", &from, err);
    if (status == FL_OK) {
        status = fl_api_query(x, "to", &to, err);
    }
    if (status == FL_OK) {
        status = fl_pesticides_span(room, from, to, &from_s, &to_s, err);
    }
    if (status == FL_OK) {
        fl_pesticides_list(room, from_s, to_s, &x->arena, out);
    }
    return status;
}

fl_status fl_api_pesticides(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_pesticides record;
    fl_status status = fl_api_begin_plain(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = read_record(x, view.room, &record, err);
    if (status == FL_OK) {
        fl_view_pesticides(&view, NULL, &record);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_pesticides_csv(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_csv_out csv;
    fl_pesticides record;
    fl_status status = fl_snapshot_take_room(x->snapshot, app, err);
    if (status == FL_OK) {
        status = read_record(x, &x->snapshot->room, &record, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_csv_out_init(&csv, FL_PESTICIDES_COLUMNS);
    fl_pesticides_csv(&x->snapshot->room, &record, &csv);
    fl_api_reply_file(x, "text/csv; charset=utf-8", "pesticides.csv",
                      fl_arena_copy_sv(&x->arena, fl_str_sv(&csv.text)));
    fl_csv_out_done(&csv);
    return FL_OK;
}
