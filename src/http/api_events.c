/* Recording. The event's id is its idempotency key; app keeps the promise that goes with it. */
#include "http/api.h"
#include "http/problem.h"
#include "http/rights.h"

/* The event's id, when the text is an event at all; the none id otherwise (app says what is
 * wrong). */
static fl_id id_of(fl_sv json)
{
    fl_json_doc *doc = NULL;
    fl_id id = {{0}};
    if (fl_json_parse(json, &doc, NULL) == FL_OK) {
        fl_sv text = fl_json_text(fl_json_get(fl_json_root(doc), "id"));
        if (fl_id_parse(text, &id, NULL) != FL_OK) {
            id = (fl_id){{0}};
        }
        fl_json_free(doc);
    }
    return id;
}

/* True when there is no key, or it is the event's id. */
static bool key_fits(const fl_request *request, fl_id id)
{
    fl_id key = {{0}};
    const fl_header *header = fl_request_header(request, "Idempotency-Key");
    return header == NULL || (fl_id_parse(header->value, &key, NULL) == FL_OK && fl_id_eq(key, id));
}

fl_status fl_api_events(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    const fl_id id = id_of(x->body);
    fl_recorded result = FL_RECORDED_NEW;
    int64_t position = 0;
    if (!fl_id_is_none(id) && !key_fits(x->request, id)) {
        x->reply = fl_problem_reply(FL_PROBLEM_KEY_MISMATCH, NULL, &x->arena);
        return FL_OK;
    }
    fl_status status = fl_rights_check(x, app, x->body, err);
    if (status == FL_EFORBIDDEN) {
        x->reply = fl_problem_reply(FL_PROBLEM_NOT_ALLOWED, err->message, &x->arena);
    }
    if (status == FL_OK) {
        status = fl_app_record(app, x->body, &result, err);
    }
    if (status == FL_ECONFLICT) {
        x->reply = fl_problem_reply(FL_PROBLEM_KEY_MISMATCH, err->message, &x->arena);
    }
    if (status == FL_OK) {
        status = fl_app_position(app, &position, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_view_recorded(w, NULL, &id, &result, 1, position);
    x->reply = fl_reply_json(result == FL_RECORDED_NEW ? 201 : 200, w, &x->arena);
    return FL_OK;
}
