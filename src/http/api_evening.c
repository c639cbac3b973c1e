/* The evening at the sink, as it is now. */
#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"
#include "view/evening.h"

/* "1,3": tubs that can not be used any more. */
static fl_status read_lost(const fl_request *request, unsigned *lost, fl_err *err)
{
    fl_sv rest = FL_SV("");
    fl_status status = FL_OK;
    if (!fl_request_query(request, "lost", &rest)) {
        return FL_OK;
    }
    while (rest.len > 0 && status == FL_OK) {
        int64_t number = 1;
        status =
            fl_num_parse_int(fl_sv_split(&rest, ','), "lost", 1, FL_BENCH_TUBS_MAX, &number, err);
        *lost |= 1U << (number - 1);
    }
    return status;
}

static fl_status read_options(fl_exchange *x, fl_evening_options *o, fl_err *err)
{
    fl_sv text = FL_SV("");
    fl_precision precision;
    int64_t number = 0;
    fl_status status = read_lost(x->request, &o->tubs_lost, err);
    if (status == FL_OK && fl_request_query(x->request, "tubs", &text)) {
        status = fl_num_parse_int(text, "tubs", 1, FL_BENCH_TUBS_MAX, &number, err);
        o->n_tubs = (int)number;
    }
    if (status == FL_OK && fl_request_query(x->request, "start", &text)) {
        status = fl_percent_decode(text, &x->arena, &text, err);
        if (status == FL_OK) {
            status = fl_civil_parse(text, 0, &o->start_s, &precision, err);
        }
    }
    if (status == FL_OK && fl_request_query(x->request, "tub_ml", &text)) {
        status = fl_num_parse_double(text, "tub_ml", &o->tub_ml, err);
    }
    if (status == FL_OK && fl_request_query(x->request, "label_pct", &text)) {
        status = fl_num_parse_double(text, "label_pct", &o->label_pct, err);
    }
    if (status == FL_OK && fl_request_query(x->request, "all", &text)) {
        o->has_refused = fl_sv_eq_cstr(text, "1");
    }
    return status;
}

fl_status fl_api_evening(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_evening evening;
    fl_evening_options options = fl_evening_options_usual();
    fl_status status = read_options(x, &options, err);
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = fl_evening_make(view.room, view.chances, &options, &x->arena, &evening, err);
    if (status == FL_OK) {
        fl_view_evening(&view, NULL, &evening);
    }
    return fl_api_end(x, &view, status);
}
