/* What came home, weighed at the door. */
#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"
#include "view/triage.h"

#define WORTH_MAX 1e6

/* A number of the query, in [0, max]; as it was when it is not there. */
static fl_status read_worth(const fl_request *request, const char *name, double max, double *out,
                            fl_err *err)
{
    fl_sv text = FL_SV("");
    return fl_request_query(request, name, &text)
               ? fl_num_parse_double_in(text, name, 0.0, max, out, err)
               : FL_OK;
}

/* "lots=ID,…", or all that are on trial. What is named and not on trial (any more) goes into
 * `others`. */
static fl_status read_lots(fl_exchange *x, const fl_room *room, fl_triage_asked *asked, fl_err *err)
{
    fl_sv rest = FL_SV("");
    fl_status status = FL_OK;
    *asked = (fl_triage_asked){.n = 0};
    if (!fl_request_query(x->request, "lots", &rest)) {
        for (size_t i = 0; i < room->meaning.n_lots && asked->n < FL_TRIAGE_LOTS_MAX; i++) {
            if (fl_triage_is_on_trial(room, &room->meaning.lots[i])) {
                asked->lots[asked->n++] = &room->meaning.lots[i];
            }
        }
        return FL_OK;
    }
    while (rest.len > 0 && status == FL_OK) {
        const fl_lot *lot = NULL;
        if (asked->n + asked->n_others == FL_TRIAGE_LOTS_MAX) {
            return fl_fail(err, FL_ETOOBIG, "lots: name 1 to %d", FL_TRIAGE_LOTS_MAX);
        }
        status = fl_room_find_lot(room, fl_sv_split(&rest, ','), &lot, err);
        if (status == FL_OK && fl_triage_is_on_trial(room, lot)) {
            asked->lots[asked->n++] = lot;
        } else if (status == FL_OK) {
            asked->others[asked->n_others++] = lot;
        }
    }
    return status;
}

fl_status fl_api_triage(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_triage_asked asked;
    fl_triage_lot *weighed = NULL;
    fl_triage_worth worth = fl_triage_worth_usual();
    fl_status status = read_worth(x->request, "bin_week", WORTH_MAX, &worth.bin_week, err);
    if (status == FL_OK) {
        status = read_worth(x->request, "times_price", WORTH_MAX, &worth.times_price, err);
    }
    if (status == FL_OK) {
        status = read_worth(x->request, "tip_share", 1.0, &worth.tip_share, err);
    }
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = read_lots(x, view.room, &asked, err);
    if (status == FL_OK && asked.n > 0) {
        status =
            fl_triage_ask(view.room, app, asked.lots, asked.n, &worth, &x->arena, &weighed, err);
    }
    if (status == FL_OK) {
        fl_view_triage(&view, NULL, &worth, weighed, &asked);
    }
    return fl_api_end(x, &view, status);
}
