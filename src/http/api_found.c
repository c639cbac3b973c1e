/* After a find: what it is, where from, who else, what now. Answers only: a name, a retraction and
 * an accepted proposal are events like any other. */
#include "app/identify.h"
#include "base/shown.h"
#include "http/api.h"
#include "view/view_trace.h"

/* ---- what was found ---- */

fl_status fl_api_found(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_view_found(&view, NULL);
    return fl_api_end(x, &view, FL_OK);
}

/* A finding or an event about an animal, by id or code. */
static fl_status find_question(const fl_room *room, fl_sv text, fl_trace_question *out, fl_err *err)
{
    *out = (fl_trace_question){.from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    out->finding = fl_trace_find_finding(room, text);
    if (out->finding == NULL) {
        out->animal = fl_trace_find_animal(room, text);
    }
    return out->finding != NULL || out->animal != NULL
               ? FL_OK
               : fl_fail(err, FL_ENOTFOUND, "nothing was found under \"%.*s\": give its id or code",
                         FL_SHOWN(text));
}

fl_status fl_api_found_one(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_trace_question q;
    fl_outbreak outbreak;
    fl_outbreak_dates dates;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = find_question(view.room, x->param[0], &q, err);
    if (status == FL_OK) {
        status = fl_outbreak_ask(view.room, view.chances, &q, &x->arena, &outbreak, err);
    }
    if (status == FL_OK) {
        status =
            fl_outbreak_ask_dates(view.room, app, view.chances, &outbreak, &x->arena, &dates, err);
    }
    if (status == FL_OK) {
        status = fl_view_found_one(&view, NULL, &(fl_view_found_args){&q, &outbreak, &dates}, err);
    }
    return fl_api_end(x, &view, status);
}

/* ---- a trace, with a find or without ---- */

/* A parameter of the query, decoded; false when it is not there. */
static fl_status read_text(fl_exchange *x, const char *name, fl_sv *out, bool *is_given,
                           fl_err *err)
{
    fl_sv raw = FL_SV("");
    *is_given = fl_request_query(x->request, name, &raw) && raw.len > 0;
    return *is_given ? fl_percent_decode(raw, &x->arena, out, err) : FL_OK;
}

static fl_status read_threat(fl_exchange *x, const fl_threat **out, fl_err *err)
{
    fl_sv code = FL_SV("");
    bool is_given = false;
    fl_status status = read_text(x, "threat", &code, &is_given, err);
    *out = NULL;
    if (status != FL_OK || !is_given) {
        return status;
    }
    *out = fl_know_threat_find(code);
    return *out != NULL ? FL_OK
                        : fl_fail(err, FL_EINVAL, "threat \"%.*s\": give the code of a threat",
                                  FL_SHOWN(code));
}

static fl_status read_moment(fl_exchange *x, const char *name, const fl_room *room, int64_t *out,
                             fl_err *err)
{
    fl_sv text = FL_SV("");
    fl_precision precision;
    bool is_given = false;
    fl_status status = read_text(x, name, &text, &is_given, err);
    return status == FL_OK && is_given
               ? fl_civil_parse(text, room->tz_offset_min, out, &precision, err)
               : status;
}

static fl_status read_trace_question(fl_exchange *x, const fl_room *room, fl_trace_question *q,
                                     fl_err *err)
{
    fl_sv of = FL_SV("");
    const fl_threat *threat = NULL;
    bool is_given = false;
    fl_status status = read_text(x, "of", &of, &is_given, err);
    if (status == FL_OK && !is_given) {
        status = fl_fail(err, FL_EINVAL, "of is missing: give a finding, a lot or a place");
    }
    if (status == FL_OK) {
        status = read_threat(x, &threat, err);
    }
    if (status == FL_OK) {
        status = fl_trace_find_subject(room, of, threat, q, err);
    }
    if (status == FL_OK) {
        status = read_moment(x, "from", room, &q->from_s, err);
    }
    if (status == FL_OK) {
        status = read_moment(x, "to", room, &q->to_s, err);
    }
    if (status == FL_OK && q->to_s != FL_TIME_OPEN && q->from_s > q->to_s) {
        status = fl_fail(err, FL_EINVAL, "from is after to: give the earlier one first");
    }
    return status;
}

/* What there is to say of the subject: an outbreak, a trace, a pesticide; the others are null. */
static fl_status put_trace(const fl_view *view, const fl_trace_question *q, fl_err *err)
{
    bool is_outbreak = q->finding != NULL || q->animal != NULL;
    bool has_residue = q->lot != NULL && fl_residue_trace_has(view->room, q->lot);
    fl_outbreak outbreak;
    fl_residue_trace residue;
    fl_trace trace;
    fl_status status = FL_OK;
    fl_json_begin_object(view->w, NULL);
    if (is_outbreak) {
        status = fl_outbreak_ask(view->room, view->chances, q, view->arena, &outbreak, err);
    } else if (q->threat != NULL || !has_residue) {
        status = fl_trace_ask(view->room, view->chances, q, view->arena, &trace, err);
    }
    if (status == FL_OK && is_outbreak) {
        status = fl_view_outbreak(view, "outbreak", &outbreak, err);
    } else if (status == FL_OK) {
        fl_json_put_null(view->w, "outbreak");
    }
    if (status == FL_OK && !is_outbreak && (q->threat != NULL || !has_residue)) {
        fl_view_trace(view, "trace", &trace);
    } else if (status == FL_OK) {
        fl_json_put_null(view->w, "trace");
    }
    if (status == FL_OK && has_residue) {
        status = fl_residue_trace_ask(view->room, q->lot, view->arena, &residue, err);
    }
    if (status == FL_OK && has_residue) {
        status = fl_view_residue(view, "residue", &residue, err);
    } else if (status == FL_OK) {
        fl_json_put_null(view->w, "residue");
    }
    fl_json_end(view->w);
    return status;
}

fl_status fl_api_trace(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_trace_question q;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = read_trace_question(x, view.room, &q, err);
    if (status == FL_OK) {
        status = put_trace(&view, &q, err);
    }
    return fl_api_end(x, &view, status);
}

/* ---- what is it ---- */

fl_status fl_api_signs(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    const fl_view view = {.arena = &x->arena, .w = fl_json_writer_new()};
    (void)app;
    (void)err;
    fl_view_signs(&view, NULL);
    x->reply = fl_reply_json(200, view.w, &x->arena);
    return FL_OK;
}

fl_status fl_api_threats(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    const fl_view view = {.arena = &x->arena, .w = fl_json_writer_new()};
    (void)app;
    (void)err;
    fl_view_threats(&view, NULL);
    x->reply = fl_reply_json(200, view.w, &x->arena);
    return FL_OK;
}

#define ANSWERS_MAX ((size_t)FL_SIGN_COUNT)

/* "where:mix_surface,flies:cannot_tell" */
static fl_status read_answers(fl_exchange *x, fl_sign_answer *answers, size_t *n, fl_err *err)
{
    fl_sv rest = FL_SV("");
    bool is_given = false;
    fl_status status = read_text(x, "answers", &rest, &is_given, err);
    *n = 0;
    while (status == FL_OK && rest.len > 0) {
        fl_sv answer = fl_sv_split(&rest, ',');
        if (*n == ANSWERS_MAX) {
            return fl_fail(err, FL_ETOOBIG, "more than %zu answers: one to each question",
                           ANSWERS_MAX);
        }
        status = fl_identify_parse(answer, ':', &answers[*n], err);
        *n += status == FL_OK ? 1 : 0;
    }
    return status;
}

fl_status fl_api_identify(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_sign_answer answers[ANSWERS_MAX];
    fl_ident_rank ranks[FL_SPECIMENS_MAX];
    fl_ident_next next;
    fl_view_ident_args args = {.answers = answers, .ranks = ranks, .next = &next};
    (void)app;
    fl_status status = read_answers(x, answers, &args.n_answers, err);
    if (status == FL_OK) {
        status = fl_ident_ranking(answers, args.n_answers, NULL, ranks, &args.n_ranks, err);
    }
    if (status == FL_OK) {
        status = fl_ident_next_question(answers, args.n_answers, NULL, &next, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_view view = {.arena = &x->arena, .w = fl_json_writer_new()};
    fl_view_ident(&view, NULL, &args);
    x->reply = fl_reply_json(200, view.w, &x->arena);
    return FL_OK;
}
