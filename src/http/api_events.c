/* Recording. An event's id is its idempotency key; app keeps the promise that goes with it. */
#include "base/limits.h"
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

/* ---- several in one transaction ---- */

/* What a batch is taken apart into; all in the exchange's arena. */
typedef struct taken {
    fl_sv *jsons;
    fl_id *ids;
    size_t count;
} taken;

static fl_status take_one(fl_exchange *x, const fl_json_value *event, fl_sv *json, fl_id *id,
                          fl_err *err)
{
    fl_str text;
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    fl_status status = fl_json_canonical(event, &text, err);
    if (status == FL_OK) {
        *json = fl_arena_copy_sv(&x->arena, fl_str_sv(&text));
        *id = id_of(*json);
    }
    fl_str_done(&text);
    return status;
}

static fl_status take_apart(fl_exchange *x, taken *out, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *events = fl_json_get(fl_json_root(doc), "events");
    out->count = fl_json_size(events);
    if (fl_json_type_of(events) != FL_JSON_ARRAY || out->count < 1 ||
        out->count > FL_API_BATCH_MAX) {
        status = fl_fail(err, FL_EINVAL, "events: give a list of 1 to %d events", FL_API_BATCH_MAX);
        out->count = 0;
    }
    out->jsons = FL_ARENA_ARRAY(&x->arena, fl_sv, out->count);
    out->ids = FL_ARENA_ARRAY(&x->arena, fl_id, out->count);
    for (size_t i = 0; i < out->count && status == FL_OK; i++) {
        status = take_one(x, fl_json_at(events, i), &out->jsons[i], &out->ids[i], err);
    }
    fl_json_free(doc);
    return status;
}

fl_status fl_api_events_batch(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    taken t = {0};
    int64_t position = 0;
    size_t failed_at = 0;
    fl_err why = {0};
    fl_status status = take_apart(x, &t, err);
    if (status != FL_OK) {
        return status;
    }
    for (size_t i = 0; i < t.count && status == FL_OK; i++) { /* each as if it came alone */
        status = fl_rights_check(x, app, t.jsons[i], err);
    }
    if (status == FL_EFORBIDDEN) {
        x->reply = fl_problem_reply(FL_PROBLEM_NOT_ALLOWED, err->message, &x->arena);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_recorded *results = FL_ARENA_ARRAY(&x->arena, fl_recorded, t.count);
    status = fl_app_record_all(app, t.jsons, t.count, results, &failed_at, &why);
    if (status != FL_OK) {
        (void)fl_fail(err, status, "event %zu of %zu: %s", failed_at + 1, t.count, why.message);
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
    bool is_any_new = false;
    for (size_t i = 0; i < t.count; i++) {
        is_any_new = is_any_new || results[i] == FL_RECORDED_NEW;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_view_recorded(w, NULL, t.ids, results, t.count, position);
    x->reply = fl_reply_json(is_any_new ? 201 : 200, w, &x->arena);
    return FL_OK;
}
